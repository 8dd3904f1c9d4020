"""
From sound to what was meant, stage by stage; each stage has its own reason for refusing.

Sound goes through the gate, which finds a near voice and its end; the voice, with a little of
what is around it, through the closed decoder; its words through the strict parser; and the same
voice once more through a decoder that also knows everyday words. Only what passes all of them is
a command. Nothing here knows of threads or microphones: `feed` takes samples and returns what
they led to.
"""

from __future__ import annotations

import time
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from speech.events import (
    Clipping,
    Dictated,
    Heard,
    Level,
    Reason,
    Refused,
    Span,
    SpeechStarted,
)
from speech.gate import Gate, GateSettings
from speech.sampler import UNKNOWN, cover_sentences, recheck_sentences
from speech.sound import RATE
from speech.understand import near, understand_heard

if TYPE_CHECKING:
    from collections.abc import Sequence

    from speech.decoder import Decoder, Model
    from speech.events import HearingEvent
    from speech.gate import Segment
    from speech.phrases import PhraseBook
    from speech.sound import Samples


@dataclass(frozen=True, slots=True)
class AcceptanceSettings:
    """The rules of acceptance; times in seconds, levels in dB below full scale."""

    gate: GateSettings = field(default_factory=GateSettings)
    quiet_ends_s: float = 0.25
    """So long a silence ends an utterance."""
    padding_s: float = 0.15
    """So much of what is around an utterance is decoded with it."""
    looks_every_s: float = 0.05
    """How often the gate is looked at."""
    level_every_s: float = 0.2
    """How often the level is told."""
    clips_at: float = 0.985
    """Samples beyond this are clipped."""
    clipped_share: float = 0.01
    """An utterance with a larger share of clipped samples is too loud."""


SENTENCES = {
    Reason.TOO_SHORT: "Too short for a command.",
    Reason.TOO_LONG: "Too long for a command.",
    Reason.TOO_QUIET: "Too quiet: far away, or not meant for me.",
    Reason.NO_WORDS: "None of the words I know.",
    Reason.NOT_A_COMMAND: "Not a whole command.",
    Reason.OTHER_WORDS: "It sounded like something else.",
    Reason.ONLY_AN_ANSWER: "There is no question to answer.",
    Reason.NO_ATTENTION_WORD: "The attention word did not come first.",
}


class Acceptance:
    """Follows one stream of sound; to be used by one thread, which also made it."""

    def __init__(
        self,
        model: Model,
        book: PhraseBook,
        fillers: Sequence[str],
        settings: AcceptanceSettings | None = None,
    ) -> None:
        """
        Prepare the decoders, which takes some tenths of a second.

        Args:
            model: the loaded speech model.
            book: what can be said.
            fillers: everyday words, for the second opinion.
            settings: the rules, if not the usual ones.

        """
        self._settings = settings or AcceptanceSettings()
        self._book = book
        self._model = model
        commands = cover_sentences(book)
        everyday = [word for word in fillers if model.knows(word)]
        self._decoder: Decoder = model.closed((*commands, UNKNOWN))
        self._second: Decoder = model.closed((*recheck_sentences(commands, everyday), UNKNOWN))
        self._free: Decoder | None = None
        self.answers = False
        """Whether a question stands, so that short answers are listened for."""
        self.dictating = False
        """Whether the next utterance is to be written down freely."""
        self._restart(0)

    def _restart(self, at: int) -> None:
        self._gate = Gate(self._settings.gate)
        kept_s = self._settings.gate.longest_s + 2.0
        self._kept: Samples = np.zeros(0, dtype=np.float32)
        self._kept_most = round(kept_s * RATE)
        self._begun = at
        self._heard = at  # samples of the stream so far
        self._looked = at
        self._told_level = at
        self._speaking = False

    def reset(self) -> None:
        """Forget what was half heard, for instance after Walesong itself has spoken."""
        self._restart(self._heard)

    def skip(self, samples: int) -> None:
        """Let time pass without listening: so many samples are thrown away."""
        self._restart(self._heard + samples)

    @property
    def heard_s(self) -> float:
        """Seconds of sound so far."""
        return self._heard / RATE

    def feed(self, samples: Samples) -> tuple[HearingEvent, ...]:
        """Take in samples (mono, at `sound.RATE`) and return what they led to."""
        happened: list[HearingEvent] = []
        step = max(round(self._settings.looks_every_s * RATE), 1)
        for at in range(0, len(samples), step):
            happened += self._piece(samples[at : at + step])
        return tuple(happened)

    def _piece(self, samples: Samples) -> list[HearingEvent]:
        settings = self._settings
        self._gate.feed(samples)
        self._heard += len(samples)
        self._kept = np.concatenate([self._kept, samples])[-self._kept_most :]
        happened: list[HearingEvent] = []
        if self._heard - self._told_level >= settings.level_every_s * RATE:
            self._told_level = self._heard
            happened.append(Level(self._gate.level_db, self._gate.room_db))
        segment = self._gate.segment()
        if segment is None:
            self._speaking = False
            return happened
        if not self._speaking and segment.silent_s < settings.quiet_ends_s:
            self._speaking = True
            happened.append(SpeechStarted((self._begun + segment.start) / RATE))
        if segment.seconds > settings.gate.longest_s:
            self._gate.forget()
            self._speaking = False
            happened.append(self._refused(Reason.TOO_LONG, "", segment, 0.0))
        elif segment.silent_s >= settings.quiet_ends_s:
            self._gate.take(segment)
            self._speaking = False
            happened += self._decide(segment)
        return happened

    # --- one utterance ------------------------------------------------------------------------

    def _decide(self, segment: Segment) -> list[HearingEvent]:
        begun = time.perf_counter()
        settings = self._settings
        if segment.seconds < settings.gate.shortest_s:
            return [self._refused(Reason.TOO_SHORT, "", segment, begun)]
        voice = self._cut(segment)
        happened: list[HearingEvent] = []
        if float(np.mean(np.abs(voice) >= settings.clips_at)) > settings.clipped_share:
            happened.append(Clipping((self._begun + segment.start) / RATE))
        if self.dictating:
            self.dictating = False
            return [*happened, self._dictated(voice, segment, begun)]
        self._decoder.feed(voice)
        found = self._decoder.finish()
        words = next((self._plain(one.words) for one in found), "")
        if not words:
            return [*happened, self._refused(Reason.NO_WORDS, "", segment, begun)]
        meant = understand_heard(words, self._book, asked=self.answers)
        if not meant:
            answers = understand_heard(words, self._book, asked=True)
            reason = Reason.ONLY_AN_ANSWER if answers else Reason.NOT_A_COMMAND
            return [*happened, self._refused(reason, words, segment, begun)]
        self._second.feed(voice)
        again = self._second.finish()
        other = next((self._plain(one.words) for one in again), "")
        if other != words:
            return [*happened, self._refused(Reason.OTHER_WORDS, words, segment, begun)]
        return [*happened, Heard(meant, words, self._span(segment, begun))]

    def _plain(self, words: str) -> str:
        """Return heard words in the words of the phrases: "pearl" is purl."""
        text = f" {words} "
        for word, said in self._book.aliases.items():
            text = text.replace(f" {' '.join(said)} ", f" {word} ")
        return text.strip()

    def _dictated(self, voice: Samples, segment: Segment, begun: float) -> HearingEvent:
        if self._free is None:
            self._free = self._model.free()
        self._free.feed(voice)
        found = self._free.finish()
        text = found[0].words if found else ""
        if not text:
            return self._refused(Reason.NO_WORDS, "", segment, begun)
        return Dictated(text, self._span(segment, begun))

    def _cut(self, segment: Segment) -> Samples:
        """Return the samples of a segment with its padding."""
        first = self._heard - len(self._kept)  # the stream's place where the kept samples begin
        padding = round(self._settings.padding_s * RATE)
        start = self._begun + segment.start - padding - first
        end = self._begun + segment.end + padding - first
        return self._kept[max(start, 0) : max(end, 0)]

    def _span(self, segment: Segment, begun: float) -> Span:
        return Span(
            start_s=(self._begun + segment.start) / RATE,
            end_s=(self._begun + segment.end) / RATE,
            decided_s=self._heard / RATE,
            compute_s=time.perf_counter() - begun if begun else 0.0,
        )

    def _refused(self, reason: Reason, words: str, segment: Segment, begun: float) -> Refused:
        like = near(words, self._book) if words else None
        return Refused(reason, SENTENCES[reason], words, like, self._span(segment, begun))
