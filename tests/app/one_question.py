"""
A talk walked at random, beside a model of one rule: a yes answers what was asked last.

The model knows nothing of how the talk is kept. It listens: what was said last is the question
that stands, anything else that was said ends it, and so do records of another device and time.
What a yes then does must be what the words of that question say, and the board must show just that
question.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from app import resources
from app.language import phrase_book
from app.pieces.casting_on import new_piece
from app.pieces.values import NewPiece
from app.session.assistant import Assistant
from app.session.clock import SetClock
from app.session.conversation import Conversation
from app.session.ports import Silent
from engine.commands import Source
from engine.journal.memory import MemoryJournal
from engine.replies import Say
from engine.talk import No, Yes
from speech.hearing.events import Dictated, Heard, Reason, RefusedSpeech, SoundLevel, Span
from speech.words.understand import understand

if TYPE_CHECKING:
    from collections.abc import Sequence

    from app.session.situation import Situation
    from app.session.trace import Happening
    from engine.commands import Command
    from engine.events import Event
    from engine.replies import Reply
    from engine.state import PieceState
    from engine.talk import Talk

SPAN = Span(0.0, 1.0, 1.2, 0.01)
ASKS = frozenset({say for say in Say if say.startswith("ask_")} | {Say.SAY_HOW_MEASURED})
WANTS_MORE = frozenset({Say.ASK_AFTER, Say.SAY_HOW_MEASURED})
"""Questions that a yes does not answer."""


class SharedJournal(MemoryJournal):
    """A journal in memory that several threads open, one after the other, as they would a file."""

    def __init__(self, kept: dict[str, bytes]) -> None:
        """Open what is kept."""
        super().__init__()
        self._kept = kept

    def close(self) -> None:
        """Leave what is kept to the others."""


def sleeve(name: str = "bottle-sleeve") -> NewPiece:
    """Return a piece of a pattern that comes with Walesong, ready to be cast on."""
    new = new_piece(resources.text(f"shared/patterns/{name}.toml"), None)
    assert isinstance(new, NewPiece)
    return new


@dataclass
class Talked:
    """What one thing that came in led to."""

    said: tuple[Reply, ...] = ()
    """What was sounded, in its order."""
    hint: str = ""
    """The sentence shown beside words that were typed and not understood."""
    events: tuple[Event, ...] = ()


@dataclass
class Walk:
    """The assistant, and the model of which question stands."""

    kept: dict[str, bytes] = field(default_factory=dict)
    clock: SetClock = field(default_factory=SetClock)
    voice: Silent = field(default_factory=Silent)
    shown: list[Situation] = field(default_factory=list)
    told: list[Happening] = field(default_factory=list)
    asked: Reply | str | None = None
    """The question that was said or shown last, by the model; a string is a hint that asks."""
    asked_ms: int = 0
    noting: bool = False
    """Whether the next words that are typed or dictated are a note."""

    def __post_init__(self) -> None:
        """Cast on, and knit a little, so that numbers can be doubted."""
        piece = ""
        for name in ("mug-sleeve", "bottle-sleeve"):
            talk = Conversation.begin(SharedJournal(self.kept), sleeve(name), self.clock)
            piece = talk.piece
            for words in ("20 rows done", "measure 6 cm on the needle", "yes"):
                talk.hear(understand(words, phrase_book()), Source.TYPED)
        self.assistant = Assistant(
            lambda: Conversation(SharedJournal(self.kept), piece, self.clock),
            phrase_book(),
            self.shown.append,
            self.voice,
            self.clock,
        )
        self.assistant.observe(self.told.append)
        self.assistant.start()
        assert self.assistant.ready(), self.assistant.failed
        self.assistant.typed_and_answered("show the board")

    @property
    def now(self) -> Situation:
        """What is shown now."""
        return self.shown[-1]

    def settle(self) -> None:
        """Wait until everything that came in is dealt with."""
        self.assistant.heard_and_answered(SoundLevel(-50.0, -50.0))

    # --- what can come in ---------------------------------------------------------------------

    def types(self, words: str) -> list[str]:
        """Type words."""
        meant = understand(words, phrase_book())
        answer = meant[0] if meant and not self.noting else None
        self.noting = False
        return self._step(lambda: self.assistant.typed_and_answered(words), answer)

    def touches(self, said: Command | Talk, source: Source) -> list[str]:
        """Touch or key something."""
        return self._step(lambda: self.assistant.submit(said, source), said)

    def says(self, candidates: tuple[Command | Talk, ...], words: str) -> list[str]:
        """Say something that is heard as one of several things."""
        heard = Heard(candidates, words, SPAN)
        return self._step(lambda: self.assistant.heard_and_answered(heard), candidates[0])

    def mumbles(self, maybe: tuple[Command | Talk, ...]) -> list[str]:
        """Say something that could have been several things, or nothing known at all."""
        reason = Reason.UNSURE if maybe else Reason.NOT_A_COMMAND
        event = RefusedSpeech(reason, "Not a whole command.", "the soup", None, SPAN, maybe)
        return self._step(lambda: self.assistant.heard_and_answered(event), None)

    def dictates(self, text: str) -> list[str]:
        """Speak the text of a note, or what the listening still takes for one."""
        meant = () if self.noting else understand(text, phrase_book())
        self.noting = False
        event = Dictated(text, SPAN)
        return self._step(
            lambda: self.assistant.heard_and_answered(event), meant[0] if meant else None
        )

    def waits(self, ms: int) -> list[str]:
        """Let time pass; after three quarters of a minute nobody answers any more."""
        self.clock.ms += ms
        if self.clock.ms - self.asked_ms > 45_000:
            self.asked = None
        return self._step(lambda: None, None)

    def merges(self, rows: str) -> list[str]:
        """Have another device knit on, and bring its records in."""
        other = Conversation(SharedJournal(self.kept), self.now.state.piece, self.clock)
        other.hear(understand(rows, phrase_book()), Source.KEY)
        self.asked = None
        return self._step(self.assistant.merged, None)

    def takes_up(self, at: int) -> list[str]:
        """Touch a piece of the list."""
        pieces = SharedJournal(self.kept).pieces()
        self.asked = None
        return self._step(lambda: self.assistant.take_up(pieces[at % len(pieces)].id), None)

    # --- the rule -----------------------------------------------------------------------------

    def _step(self, act: object, said: Command | Talk | None) -> list[str]:
        before, asked = self.now.state, self.asked
        answered, told = len(self.voice.answered), len(self.told)
        assert callable(act)
        act()
        self.settle()
        news = self.told[told:]
        talked = Talked(
            said=tuple(one for replies in self.voice.answered[answered:] for one in replies),
            hint=" ".join(
                one.line.why for one in news if one.line and one.outcome is None and one.line.why
            ),
            events=tuple(
                record.event for one in news if one.outcome for record in one.outcome.written
            ),
        )
        wrong = self._listen(talked)
        if isinstance(said, Yes):
            wrong += _wrong_yes(asked, talked, before, self.now)
        if isinstance(said, No) and (talked.events or self.now.state.piece != before.piece):
            wrong.append("a no has written something")
        return wrong

    def _listen(self, talked: Talked) -> list[str]:
        """Take note of what was asked last; return what is wrong with it."""
        wrong: list[str] = []
        questions = [one for one in talked.said if one.say in ASKS]
        if len(questions) > 1:
            wrong.append("two questions at once")
        if questions and talked.said[-1] is not questions[-1]:
            wrong.append("something was said after the question")
        if talked.said:
            self.asked = questions[-1] if questions else None
            self.asked_ms = self.clock.ms
        if "?" in talked.hint and not questions:
            self.asked = talked.hint
        says = {one.say for one in talked.said}
        if Say.SPEAK_THE_NOTE in says:
            self.noting = True
        elif questions or says & {Say.NOT_LISTENING, Say.WELCOME_BACK, Say.ALL_DONE}:
            self.noting = False
        shown = self.now.question
        if shown != self.asked:
            kind = "a question is shown that is not the last" if shown else "the last is not shown"
            wrong.append(kind)
        return wrong

    def close(self) -> None:
        """End it."""
        self.assistant.stop()


def _wrong_yes(
    asked: Reply | str | None, talked: Talked, before: PieceState, now: Situation
) -> list[str]:
    """Return what a yes did that the question did not say."""
    moved = now.state.piece != before.piece
    if asked is None or isinstance(asked, str) or asked.say in WANTS_MORE:
        if talked.events or moved:
            return ["a yes to nothing, or to a hint, has done something"]
        return []
    if not talked.events and not moved:
        return []
    return [] if _as_asked(asked, talked.events, now.state) else ["a yes has done something else"]


def _as_asked(  # noqa: PLR0911 (one case a question)
    asked: Reply, events: Sequence[Event], after: PieceState
) -> bool:
    """Tell whether events are what the words of a question say."""
    values = dict(asked.values)
    kinds = {event.kind for event in events}
    text = " ".join(map(repr, events))
    match asked.say:
        case Say.ASK_ROWS_DONE:
            return after.done == values["row"]
        case Say.ASK_WORKING:
            return after.working == values["row"]
        case Say.ASK_LENGTH | Say.ASK_LENGTH_AGAIN:
            return repr(values["length"]) in text or "NeedleChanged" in text
        case Say.ASK_STITCHES:
            return f"count={values['count']}" in text or f"after={values['count']}" in text
        case Say.ASK_MASS:
            return repr(values["mass"]) in text
        case Say.ASK_ROW_OF_MISTAKE:
            return f"row={values['row']}," in text
        case Say.ASK_PART_DONE | Say.ASK_PART_EARLY | Say.ASK_PART_ENDS:
            return kinds == {"loop_ended"}
        case Say.ASK_FINISH | Say.ASK_FINISH_EARLY | Say.ASK_FINISH_BEFORE_PART:
            return kinds == {"piece_finished"}
        case Say.ASK_HOW_MEASURED:
            return kinds == {"measuring_agreed"}
        case Say.ASK_SWATCH | Say.ASK_SWATCH_STITCHES | Say.ASK_SWATCH_ROWS:
            return kinds == {"swatch_counted"}
        case (
            Say.ASK_PIECE
            | Say.ASK_PIECE_OF_NAME
            | Say.ASK_CAST_ON
            | Say.ASK_CAST_ON_FAULTY
            | Say.ASK_CAST_ON_ODD
        ):
            return after.name == values["title"]
        case _:
            return True
