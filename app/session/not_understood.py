"""What may have been meant: words that are not understood, and utterances in doubt."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Final

from engine.commands import Command, RidgesDone, RowsDone, WeighYarn
from engine.judging.doubts import can_tell_apart
from engine.quantities import MassUnit
from engine.talk import No, Yes
from speech.hearing import events as hearing
from speech.hearing.acceptance_rules import SENTENCES
from speech.words.nearest import nearest
from speech.words.numbers import LARGEST, say_whole
from speech.words.understand import (
    example,
    readings,
    said_without_minus,
    understand,
    understand_heard,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from app.session.conversation import Conversation
    from app.session.inbox import Message
    from app.session.outcome import Outcome
    from engine.commands import Source
    from engine.talk import Talk
    from speech.words.phrases import PhraseBook

    Act = Callable[[Sequence[Command | Talk], Source], Outcome]

_UNKNOWN: Final = 'These words are not known. Ask "what can I say now" for those that are.'


_BELOW: Final = "There is nothing less than none: say it without the minus."
_BELOW_ROWS: Final = 'No rows are less than none. For rows taken out say "ripped back {rows}".'


@dataclass(frozen=True, slots=True)
class Guess:
    """Why words are not understood, and the words with what they say that may be meant (None)."""

    why: str
    meant: tuple[str, Command | Talk] | None = None


def guess(words: str, book: PhraseBook) -> Guess:
    """
    Return what may be meant by words that are no command.

    It is asked about only where nothing in it is made up: the numbers of an example are not hers.
    """
    below = said_without_minus(words, book) or said_without_minus(f"{words} rows done", book)
    if below is not None:
        return Guess(_less_than_none(below, book))
    weighed = f"{words} {book.units[MassUnit.G][1]}"
    for one in readings(weighed, book):
        if isinstance(one.said, WeighYarn) and isinstance(one.form.items[0], str):
            return Guess(f'Did you mean "{weighed}"?', (weighed, one.said))  # the number is hers
    form = nearest(words, book)
    if form is None:
        return Guess(_UNKNOWN)
    known = example(form, book)
    meant = understand(known, book)
    if not form.fixed or not meant or isinstance(meant[0], Yes | No):
        return Guess(f'Not known; known is, for instance, "{known}".')
    return Guess(f'Did you mean "{known}"?', (known, meant[0]))


def taken_for(message: Message, talk: Conversation, book: PhraseBook, *, trying: bool) -> Message:
    """
    Return what an utterance is to be taken for, which only who knows the talk can tell.

    `trying`: the voice is being tried, and nothing that is said is meant.
    """
    noting = talk.dialogue.dictating
    match message:
        case hearing.RefusedSpeech() if not trying and not noting and _can_ask(message, talk):
            # Only the number is in doubt: who knows the piece picks the possible one, or asks.
            how = message.mends, message.doubted
            return hearing.Heard(message.maybe, message.words, message.span, *how)
        case hearing.Dictated(text, span) if not noting:
            # A question came, or another piece: it is no note any more, but may be an answer.
            meant = understand_heard(text, book, asked=talk.question is not None)
            if meant:
                return hearing.Heard(meant, text, span)
            reason = hearing.Reason.NOT_A_COMMAND
            return hearing.RefusedSpeech(reason, SENTENCES[reason], text, None, span)
        case _:
            return message


def _can_ask(message: hearing.RefusedSpeech, talk: Conversation) -> bool:
    """Say whether what may have been said can be told apart by asking: each is a number."""
    meant = [one for one in message.maybe if isinstance(one, Command)]
    enough = len(meant) == len(message.maybe) >= (1 if message.doubted else 2)
    return enough and can_tell_apart(talk.state, meant)


def acting(message: hearing.Heard, talk: Conversation) -> Act:
    """Return what acts on an utterance: it is new, mends the last one, or is in doubt."""
    if message.mends:
        return talk.mend
    return partial(talk.hear, doubted=message.doubted)


def _less_than_none(below: Command | Talk, book: PhraseBook) -> str:
    """Return why a number below nothing is refused, and how it is said what may be meant."""
    match below:
        case RowsDone(count) | RidgesDone(count):
            rows = count * (2 if isinstance(below, RidgesDone) else 1)
            said = say_whole(min(rows, LARGEST), book.numbers)
            return _BELOW_ROWS.format(rows=f"{said} {'row' if rows == 1 else 'rows'}")
        case _:
            return _BELOW
