"""What one voice said: cleaned where it is loud, decoded, parsed strictly, and heard once more.

The second hearing is by a decoder that also knows everyday words: what fits those clearly better
than the command is none.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from engine.composing import SayRow
from speech.hearing.cleaning import cleaned
from speech.hearing.events import Reason
from speech.hearing.judging import Meaning, candidates, meanings, rivals, stitched, together, unlike
from speech.hearing.row_judge import RowJudge
from speech.hearing.sound import at_pace
from speech.words.phrases import Way
from speech.words.sampler import UNKNOWN, cover_sentences, recheck_sentences

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from engine.commands import Command
    from engine.talk import Talk
    from speech.hearing.acceptance_rules import AcceptanceSettings
    from speech.hearing.decoder import Decoder, Hypothesis, Model
    from speech.hearing.sound import Samples
    from speech.words.phrases import PhraseBook


@dataclass(frozen=True, slots=True)
class Verdict:
    """
    What one piece of sound was judged to be: a meaning, or a reason for refusing it.

    Refused because a value is unsure, the `candidates` are what it may have been.
    """

    words: str
    meaning: Meaning | None = None
    candidates: tuple[Command | Talk, ...] = ()
    reason: Reason | None = None
    begins: int | None = None
    """At which sample of the stream, if it is of a piece together with what was said before it."""
    mends: bool = False
    """Whether that one was taken for a command, and this replaces it."""
    doubted: bool = False
    """Whether it is a command, but may be the end of something else."""
    readings: tuple[Hypothesis, ...] = ()
    """What was read, the likeliest first, without the attention word."""

    @property
    def reading(self) -> str:
        """What counts of what was read: of a command its own words, else the likeliest."""
        if self.meaning is not None:
            return self.meaning.reading
        return self.readings[0].words if self.readings else self.words


class Judge:
    """Judges one voice after another; to be used by one thread, which also made it."""

    def __init__(
        self,
        model: Model,
        book: PhraseBook,
        everyday: Sequence[str],
        settings: AcceptanceSettings,
        attention: str | None,
    ) -> None:
        """Make the two decoders, with an attention word before every command or without one."""
        self._book = book
        self._settings = settings
        self._attention = attention
        commands = cover_sentences(book, attention=attention)
        self._ours = frozenset(word for sentence in commands for word in sentence.split())
        self._first: Decoder = model.closed((*commands * settings.commands_weigh, UNKNOWN))
        self._rows = RowJudge(model, book)
        self.saying: str | None = None
        """The words so far of the row that is being said; None: none is."""
        self._second: Decoder = model.closed((*recheck_sentences(commands, everyday), UNKNOWN))

    def judge(self, voice: Samples, room: Samples, *, stands_out: float, answers: bool) -> Verdict:
        """
        Return what a voice said.

        Args:
            voice: the voice with its padding.
            room: the sound just before it, to know the noise by.
            stands_out: how many dB the voice is above what is unsteady in the room, such as talk.
            answers: whether short answers count.

        """
        over = min(stands_out, above(voice, room))
        if over < self._settings.judging.loud_room:
            voice = cleaned(voice, room)
        found = decode(self._first, voice)
        if not found:
            return Verdict("", reason=Reason.NO_WORDS)
        verdict = self._judged(voice, found, over, answers=answers)
        return replace(verdict, readings=tuple(self._after_attention(found)))

    def _judged(
        self, voice: Samples, found: tuple[Hypothesis, ...], over: float, *, answers: bool
    ) -> Verdict:
        rules = self._settings.judging
        said = meanings(found, self._book, attention=self._attention)
        row = self._row(found, said, voice)
        if row is not None:
            return row
        if not said:
            return self._no_command(found, self._plain(found[0].words))
        others = rivals(said, rules, over)
        if others and over < rules.loud_room:
            views = [said, *(self._read(at_pace(voice, pace)) for pace in rules.paces)]
            if clearer := together(views, rules):
                said, others = clearer, ()
        meaning, words = said[0], self._plain(said[0].words)
        if meaning.form.way is Way.ANSWER and not answers:
            return Verdict(words, reason=Reason.ONLY_AN_ANSWER)
        if stitched(said, found[0].score, rules, over) or _another(meaning, others):
            return Verdict(words, reason=Reason.UNSURE)
        second = [one for one in decode(self._second, voice) if self._speaks_against(meaning, one)]
        if unlike(meaning, second, rules, over):
            return Verdict(words, reason=Reason.OTHER_WORDS)
        possible = candidates(said, rules)
        if others:
            return Verdict(words, candidates=possible, reason=Reason.UNSURE)
        return Verdict(words, meaning, possible)

    def _speaks_against(self, meaning: Meaning, reading: Hypothesis) -> bool:
        """
        Whether a reading among everyday words says something else: those, or another command.

        What is stitched of our own words and is no command ("rows done" for "row done") does not;
        but where it is all of the command and more, somebody has gone on in words that may be none
        of ours: "stop listening to him" is read as "stop listening thirteen".
        """
        if not self._ours >= {*reading.words.split()}:
            return True
        if reading.score <= meaning.score:
            return False
        if found := meanings([reading], self._book, attention=self._attention):
            return found[0].said != meaning.said
        return f" {meaning.reading} " in f" {reading.words}"

    def _after_attention(self, found: Sequence[Hypothesis]) -> Iterator[Hypothesis]:
        for one in found:
            if self._attention is None:
                yield one
            elif one.words.startswith(f"{self._attention} "):
                yield replace(one, words=one.words.removeprefix(f"{self._attention} "))

    def _row(
        self, found: Sequence[Hypothesis], said: Sequence[Meaning], voice: Samples
    ) -> Verdict | None:
        """Return what is said of a row, where it begins like one or one is being said."""
        sure = bool(said) and said[0].score == found[0].score
        only_opener = sure and isinstance(said[0].said, SayRow)
        if sure and not only_opener:
            return None
        if not self._rows.opened(found, self._attention) and (self.saying is None or said):
            return None
        read = self._rows.read(voice, self.saying)
        if read is None:
            return None
        candidates, meaning = read
        return Verdict(self._plain(meaning.words), meaning, candidates)

    def _read(self, voice: Samples) -> tuple[Meaning, ...]:
        return meanings(decode(self._first, voice), self._book, attention=self._attention)

    def _no_command(self, found: Sequence[Hypothesis], words: str) -> Verdict:
        if all(one.words == UNKNOWN for one in found):
            return Verdict("", reason=Reason.NO_WORDS)
        if self._attention is not None and not words.startswith(self._attention):
            return Verdict(words, reason=Reason.NO_ATTENTION_WORD)
        return Verdict(words, reason=Reason.NOT_A_COMMAND)

    def _plain(self, words: str) -> str:
        """Return heard words in the words of the phrases: "pearl" is purl."""
        text = f" {words} "
        for word, said in self._book.aliases.items():
            text = text.replace(f" {' '.join(said)} ", f" {word} ")
        return text.strip()


def _another(meaning: Meaning, others: Sequence[Meaning]) -> bool:
    """Whether one of the others is another command, not the same one with another value."""
    return any(other.said.name != meaning.said.name for other in others)


def above(voice: Samples, room: Samples) -> float:
    """Return how much louder a voice is than the room before it in dB; inf if that was silent."""
    if len(voice) == 0 or len(room) == 0:
        return math.inf
    noise = float(np.mean(np.square(room)))
    power = float(np.mean(np.square(voice))) - noise
    return math.inf if noise == 0 else 10 * math.log10(max(power / noise, 1e-6))


def decode(decoder: Decoder, voice: Samples) -> tuple[Hypothesis, ...]:
    """Return the readings of one utterance."""
    decoder.feed(voice)
    return decoder.finish()
