"""
From sound to what was meant, stage by stage; each stage has its own reason for refusing.

Sound goes through the gate, which finds a near voice and its end; the voice, with a little of
what is around it, through the closed decoder; its readings through the strict parser; and the
same voice once more through a decoder that also knows everyday words. Only what passes all of
them is a command. Nothing here knows of threads or microphones: `feed` takes samples and returns
what they led to.

A pause is decoded as soon as it begins, before it is long enough to end the utterance, so that
the decision is ready when the pause is. Where it is loud, the part of a voice that far talk cannot
reach is tried by itself.
"""

from __future__ import annotations

import math
import time
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from speech.hearing import joining
from speech.hearing.acceptance_rules import SENTENCES, AcceptanceSettings
from speech.hearing.afterthoughts import SAME, Afterthoughts
from speech.hearing.events import (
    Clipping,
    Dictated,
    Heard,
    Reason,
    RefusedSpeech,
    SoundLevel,
    Span,
    SpeechStarted,
)
from speech.hearing.gate import Gate, Segment
from speech.hearing.her_voice import HerVoice
from speech.hearing.judging import likely_goes_on, may_go_on, value_may_follow
from speech.hearing.row_judge import ROW_FORM
from speech.hearing.sound import RATE
from speech.hearing.verdict import Judge, Verdict, decode
from speech.words.nearest import SAID_ALOUD, near
from speech.words.phrases import Way

if TYPE_CHECKING:
    from collections.abc import Sequence

    from speech.hearing.decoder import Decoder, Model
    from speech.hearing.events import HearingEvent
    from speech.hearing.judging import Meaning
    from speech.hearing.sound import Samples
    from speech.hearing.voice_check import HerNumbers
    from speech.words.phrases import PhraseBook


__all__ = ["Acceptance", "AcceptanceSettings"]

_BEFORE_HOLD_S = 0.2
"""A hand may press a little later than the mouth opens."""


class Acceptance:
    """Follows one stream of sound; to be used by one thread, which also made it."""

    def __init__(
        self,
        model: Model,
        book: PhraseBook,
        fillers: Sequence[str],
        settings: AcceptanceSettings | None = None,
        *,
        attention: str | None = None,
    ) -> None:
        """
        Prepare the decoders, which takes some tenths of a second.

        Args:
            model: the loaded speech model.
            book: what can be said.
            fillers: everyday words, for the second opinion.
            settings: the rules, if not the usual ones.
            attention: the word that has to come before every command, if any.

        """
        self._settings = settings or AcceptanceSettings()
        self._book = book
        self._model = model
        self._everyday = tuple(word for word in fillers if model.knows(word))
        self._free: Decoder | None = None
        self.answers = False
        """Whether a question stands, so that short answers are listened for."""
        self.dictating = False
        """Whether the next utterance is to be written down freely."""
        self._her = HerVoice(self._settings.voice)
        self._held_since: int | None = None
        self._judges: dict[str | None, Judge] = {}
        self._told_clipping_s = -math.inf
        self._clipped = False  # the last utterance was
        self._heard = 0  # samples of the stream so far
        self._afterthoughts = Afterthoughts(book, self._settings, self._between)
        self.listen_for(attention)
        self.reset()

    def listen_for(self, attention: str | None) -> None:
        """Listen for commands with an attention word before each, or without one."""
        self.attention = attention
        self._judges = {one: made for one, made in self._judges.items() if one in {None, attention}}
        self._judge = self._judge_for(attention)

    def expect_row(self, saying: str | None) -> None:
        """Take more of the row of which these words are said (None: none is being said)."""
        for judge in self._judges.values():
            judge.saying = saying

    def _judge_for(self, attention: str | None) -> Judge:
        """Return who judges with this attention word; it is made once."""
        if attention not in self._judges:
            self._judges[attention] = Judge(
                self._model, self._book, self._everyday, self._settings, attention
            )
        return self._judges[attention]

    def reset(self) -> None:
        """Forget what was half heard, for instance after the machine has slept."""
        self._afterthoughts.forget()
        self._forget_sound()

    def _forget_sound(self) -> None:
        self._gate = Gate(self._settings.gate)
        self._kept: Samples = np.zeros(0, dtype=np.float32)
        self._kept_most = round((self._settings.row_longest_s + 2.0) * RATE)
        self._begun = self._heard
        self._told_level = self._heard
        self._speaking = False
        self._judged: dict[tuple[int, int], Verdict] = {}
        self._afterthoughts.forget_judged()
        self._waiting: Segment | None = None  # a voice that is not decided yet
        self._ready_at = 0.0  # the audio time at which all judging so far would be done

    def start_over(self) -> None:
        """Begin a new stream: another recording, perhaps another knitter."""
        self._heard = 0
        self._told_clipping_s, self._clipped = -math.inf, False
        self._her.forget()
        self._held_since = None
        self.dictating = False
        self.reset()

    def skip(self, samples: int) -> None:
        """
        Let time pass without listening: so many samples are thrown away.

        What was decided before may still be gone on with: a tick is shorter than a pause.
        """
        self._heard += samples
        self._forget_sound()

    @property
    def book(self) -> PhraseBook:
        """What is listened for."""
        return self._book

    @property
    def heard_s(self) -> float:
        """Seconds of sound so far."""
        return self._heard / RATE

    @property
    def knitter_db(self) -> float | None:
        """How loud the knitter's commands are at their loudest, once that is known."""
        return self._her.level_db

    def know(self, numbers: HerNumbers) -> None:
        """Use what a voice check has learned of the knitter's voice."""
        self._her.know(numbers)

    def hold(self) -> None:
        """Take everything from now on for one utterance, until `release`: a key is held to talk."""
        self._gate.forget(but_s=_BEFORE_HOLD_S)
        self._done()
        self._afterthoughts.forget()
        self._held_since = self._heard

    def release(self) -> tuple[HearingEvent, ...]:
        """End the utterance that `hold` began, and tell what it was; if nothing was held: ()."""
        if self._held_since is None:
            return ()
        begun = time.perf_counter()
        since, self._held_since = self._held_since - self._begun, None
        near_voice, whole = self._gate.segment(), self._whole(since)
        if self.dictating:
            return tuple(self._dictate(near_voice or whole))
        segment, verdict = self._judge_held([one for one in (near_voice, whole) if one])
        return tuple(self._act(verdict, segment, segment.start, segment.end, begun, held=True))

    def _whole(self, since: int) -> Segment:
        """Return all sound since a sample, whether there is a voice in it or not."""
        now = self._heard - self._begun
        level, room = self._gate.level_db, self._gate.room_db
        return Segment(since, now, level, room, 0.0, since, now, 0.0)

    def _judge_held(self, segments: Sequence[Segment]) -> tuple[Segment, Verdict]:
        """
        Judge what was said while held: the voice or else all of it.

        No word has to come first, though it may; nor has she to be as loud as usual.
        """
        tried: list[tuple[Segment, Verdict]] = []
        for attention in dict.fromkeys((None, self.attention)):
            for segment in segments:
                if segment.seconds < self._settings.gate.shortest_s:
                    verdict = Verdict("", reason=Reason.TOO_SHORT)
                else:
                    verdict = self._heard_by(self._judge_for(attention), segment)
                if verdict.meaning is not None:
                    return segment, verdict
                tried.append((segment, verdict))
        return tried[0]

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
            happened.append(SoundLevel(self._gate.level_db, self._gate.room_db))
        if self._held_since is not None:
            if self._heard - self._held_since > settings.gate.longest_s * RATE:
                since, self._held_since = self._held_since - self._begun, None  # a key that hangs
                happened.append(self._too_long(self._whole(since)))
            return happened
        begun = time.perf_counter()
        segment = self._gate.segment()
        if segment is None:
            self._speaking, self._waiting = False, None
            return happened
        row = joining.says_row(self._judged.values())
        segment = joining.with_waiting(self._waiting, segment, settings, row=row)
        self._waiting = None if self.dictating else segment
        if not self._speaking and segment.silent_s < settings.decoded_after_s:
            self._speaking = True
            happened.append(SpeechStarted((self._begun + segment.start) / RATE))
        if segment.seconds > joining.longest_s(settings, row=row) * (2 if self.dictating else 1):
            happened.append(self._too_long(segment))
        elif self.dictating:
            if segment.silent_s >= settings.dictation_ends_s:
                happened += self._dictate(segment)
        else:
            happened += self._consider(segment, begun)
        return happened

    def _too_long(self, segment: Segment) -> RefusedSpeech:
        self._gate.forget()
        self._done()
        self._afterthoughts.forget()
        return self._refused(Verdict("", reason=Reason.TOO_LONG), segment)

    # --- one utterance ------------------------------------------------------------------------

    def _consider(self, segment: Segment, begun: float) -> list[HearingEvent]:
        """Judge a pause as soon as it begins, and act when it is long enough."""
        settings = self._settings
        verdict = None
        if segment.silent_s >= settings.decoded_after_s:
            alone = self._judged_once(segment.start, segment.end, segment)
            verdict = self._with_before(alone, segment.start, segment.end, segment)
            if segment.next_start is not None:
                return self._gone_on(verdict, segment, begun)
            if segment.silent_s >= self._needed(verdict, segment):
                return self._act(verdict, segment, segment.start, segment.end, begun)
        if self._loud(segment) and segment.core_silent_s >= settings.ends_after_s:
            core = self._judged_once(segment.core_start, segment.core_end, segment)
            core = self._with_before(core, segment.core_start, segment.core_end, segment)
            needed = self._needed(core, segment)
            if core.meaning is not None and segment.silent_s < settings.decoded_after_s:
                # Somebody is still speaking behind the core; it may be the knitter.
                needed += settings.still_speaking_s * may_go_on(core.meaning.form, self._book)
            if core.meaning is not None and segment.core_silent_s >= needed:
                longer = self._goes_on_behind(core, core.meaning, segment)
                if longer is not None:
                    return self._act(longer, segment, segment.core_start, segment.end, begun)
                return self._act(core, segment, segment.core_start, segment.core_end, begun)
        self._ready_at = max(self._ready_at, self.heard_s) + time.perf_counter() - begun
        return []

    def _gone_on(self, verdict: Verdict, segment: Segment, begun: float) -> list[HearingEvent]:
        """
        Deal with a voice behind which another one has begun before the pause was long enough.

        Half a number is not acted on then: whoever is answered while she speaks is not heard.
        """
        meaning = verdict.meaning
        if meaning is None or not likely_goes_on(verdict.words, meaning.form, self._book):
            return self._act(verdict, segment, segment.start, segment.end, begun)
        unsaid = replace(verdict, meaning=None, candidates=(), reason=Reason.NOT_A_COMMAND)
        self._keep_piece(unsaid, segment.start, segment.end)
        self._gate.take(segment)
        self._done()
        return []

    def _goes_on_behind(self, core: Verdict, meaning: Meaning, segment: Segment) -> Verdict | None:
        """
        Return what was said if it went on more softly behind the core; None if it did not.

        The end of a number ("row thirty four") is often so soft that far talk could reach it.
        """
        behind_s = (segment.end - segment.core_end) / RATE
        if behind_s < self._settings.goes_on_behind_s or not may_go_on(meaning.form, self._book):
            return None
        whole = self._judged_once(segment.core_start, segment.end, segment)
        if whole.reason is Reason.UNSURE:
            return whole if meaning.said in whole.candidates else None
        if whole.meaning is None or whole.meaning.said == meaning.said:
            return None
        if whole.words.startswith(core.words):
            return whole
        if whole.meaning.said.name != meaning.said.name:
            return None
        both = (meaning.said, whole.meaning.said)
        return Verdict(core.words, candidates=both, reason=Reason.UNSURE)

    def _needed(self, verdict: Verdict, segment: Segment) -> float:
        """Return how long a pause has to be to end an utterance that says this."""
        settings = self._settings
        if verdict.meaning is None:
            row = joining.says_row(self._judged.values())
            return settings.row_goes_on_s if row else settings.refused_after_s
        form = verdict.meaning.form
        if form is ROW_FORM:
            return settings.row_goes_on_s
        if likely_goes_on(verdict.words, form, self._book):
            return settings.likely_goes_on_s
        if not may_go_on(form, self._book):
            return settings.goes_on_s if self._loud(segment) else settings.ends_after_s
        return settings.goes_on_in_noise_s if self._loud(segment) else settings.goes_on_s

    def _judged_once(self, start: int, end: int, segment: Segment) -> Verdict:
        """Judge the sound between two samples, once."""
        for (other_start, other_end), verdict in self._judged.items():
            if abs(other_start - start) <= SAME and abs(other_end - end) <= SAME:
                return verdict
        verdict = self._judged_anew(start, end, segment)
        self._judged[start, end] = verdict
        return verdict

    def _with_before(self, alone: Verdict, start: int, end: int, segment: Segment) -> Verdict:
        """Judge a piece together with what was decided before it, if they may be one."""

        def judge(voice: Samples, room: Samples) -> Verdict:
            stands_out = segment.peak_db - segment.room_db
            return self._judge.judge(voice, room, stands_out=stands_out, answers=self.answers)

        return self._afterthoughts.judge(alone, (self._begun + start, self._begun + end), judge)

    def _keep_piece(self, verdict: Verdict, start: int, end: int) -> None:
        """Remember what was decided, for what may follow it."""
        _, room = self._cut(start, end)
        self._afterthoughts.keep(verdict, (self._begun + start, self._begun + end), room)

    def _between(self, start: int, end: int) -> Samples:
        """Return the sound between two samples of the stream, as far as it is kept."""
        first = self._heard - len(self._kept)
        return self._kept[max(start - first, 0) : max(end - first, 0)]

    def _judged_anew(self, start: int, end: int, segment: Segment) -> Verdict:
        if end - start < self._settings.gate.shortest_s * RATE:
            return Verdict("", reason=Reason.TOO_SHORT)
        if self._her.far_away(segment.peak_db):
            return Verdict("", reason=Reason.TOO_QUIET)
        verdict = self._heard_by(self._judge, segment, start, end)
        short = verdict.meaning is not None and verdict.meaning.form.way is Way.ANSWER
        voice, since_s = self._cut(start, end)[0], (self._begun + start) / RATE
        if short and not self._her.answers(segment.peak_db, voice, since_s):
            return replace(verdict, meaning=None, candidates=(), reason=Reason.NOT_HERS)
        return verdict

    def _heard_by(
        self, judge: Judge, segment: Segment, start: int | None = None, end: int | None = None
    ) -> Verdict:
        """Have a segment, or a part of it, judged."""
        voice, room = self._cut(
            segment.start if start is None else start, segment.end if end is None else end
        )
        stands_out = segment.peak_db - segment.room_db
        return judge.judge(voice, room, stands_out=stands_out, answers=self.answers)

    def _loud(self, segment: Segment) -> bool:
        return segment.peak_db - segment.room_db < self._settings.judging.loud_room

    def _act(
        self,
        verdict: Verdict,
        segment: Segment,
        start: int,
        end: int,
        begun: float,
        *,
        held: bool = False,
    ) -> list[HearingEvent]:
        """End the utterance and tell what it was."""
        happened: list[HearingEvent] = []
        if self._clips(self._kept[max(self._kept_at(start), 0) : max(self._kept_at(end), 0)]):
            happened.append(Clipping((self._begun + start) / RATE))
        begins = start if verdict.begins is None else verdict.begins - self._begun
        voice, _ = self._cut(start, end)
        self._keep_piece(verdict, start, end)
        self._gate.take(segment)
        waited = max(self._ready_at - self.heard_s, 0.0) + time.perf_counter() - begun
        self._done()
        span = self._span(begins, end, waited, segment)
        if verdict.meaning is None:
            happened.append(self._refusal(verdict, span))
            if verdict.words:
                self._her.talked(span.end_s)
        else:
            span = replace(span, pitch_hz=self._her.learn(segment.peak_db, voice))
            more = not held and value_may_follow(verdict.words, verdict.meaning.form, self._book)
            said = Heard(verdict.candidates, verdict.words, span, verdict.mends, goes_on=more)
            happened.append(said)
        return happened

    def _clips(self, voice: Samples) -> bool:
        """Tell whether a voice is too loud, if that is to be told: once until it was better."""
        settings = self._settings
        if len(voice) == 0:
            return False
        before = self._clipped
        share = float(np.mean(np.abs(voice) >= settings.clips_at))
        self._clipped = share > settings.clipped_share
        recently = self.heard_s - self._told_clipping_s < settings.clipping_every_s
        if not self._clipped or before or recently:
            return False
        self._told_clipping_s = self.heard_s
        return True

    def _done(self) -> None:
        self._speaking = False
        self._judged = {}
        self._afterthoughts.forget_judged()
        self._waiting = None
        self._ready_at = 0.0

    def _dictate(self, segment: Segment) -> list[HearingEvent]:
        begun = time.perf_counter()
        self.dictating = False
        self._afterthoughts.forget()
        self._gate.take(segment)
        self._done()
        if self._free is None:
            self._free = self._model.free()
        voice, _ = self._cut(segment.start, segment.end)
        found = decode(self._free, voice)
        span = self._span(segment.start, segment.end, time.perf_counter() - begun, segment)
        if not found:
            return [self._refusal(Verdict("", reason=Reason.NO_WORDS), span)]
        return [Dictated(found[0].words, span)]

    def _cut(self, start: int, end: int) -> tuple[Samples, Samples]:
        """Return what lies between two samples with its padding, and the second before it."""
        begin = max(self._kept_at(start) - round(self._settings.padding_before_s * RATE), 0)
        stop = max(self._kept_at(end) + round(self._settings.padding_after_s * RATE), 0)
        return self._kept[begin:stop], self._kept[max(begin - RATE, 0) : begin]

    def _kept_at(self, sample: int) -> int:
        """Return where a sample of the stream is in the kept ones."""
        return sample - (self._heard - len(self._kept) - self._begun)

    def _span(self, start: int, end: int, compute_s: float, segment: Segment) -> Span:
        return Span(
            start_s=(self._begun + start) / RATE,
            end_s=(self._begun + end) / RATE,
            decided_s=self.heard_s,
            compute_s=compute_s,
            level_db=segment.peak_db,
            room_db=segment.room_db,
        )

    def _refused(self, verdict: Verdict, segment: Segment) -> RefusedSpeech:
        return self._refusal(verdict, self._span(segment.start, segment.end, 0.0, segment))

    def _refusal(self, verdict: Verdict, span: Span) -> RefusedSpeech:
        reason = verdict.reason or Reason.NOT_A_COMMAND
        like = near(verdict.words, self._book, SAID_ALOUD) if verdict.words else None
        may = verdict.candidates, verdict.mends, verdict.doubted
        return RefusedSpeech(reason, SENTENCES[reason], verdict.words, like, span, *may)
