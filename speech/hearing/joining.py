"""What belongs together though a pause lies between: pure rules over the pieces of one utterance.

People who look at their knitting while they speak pause inside a number, or before its unit. So
what was refused is judged again together with what follows it soon, and what was taken is mended
if what follows completes it. A command close behind a refused piece is doubted: it may be the end
of something else.

A piece by itself is often read with an end that it has not ("what does" as "what lost"), because
the decoder knows only whole sentences. So the whole need not begin with the likeliest reading of
the piece: one that is nearly as likely will do.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from speech.hearing.events import Reason
from speech.hearing.judging import may_go_on
from speech.hearing.row_judge import ROW_FORM
from speech.hearing.sound import RATE
from speech.words.phrases import Way
from speech.words.sampler import UNKNOWN

if TYPE_CHECKING:
    from collections.abc import Iterable

    from speech.hearing.acceptance_rules import AcceptanceSettings
    from speech.hearing.gate import Segment
    from speech.hearing.sound import Samples
    from speech.hearing.verdict import Verdict
    from speech.words.phrases import PhraseBook

_OPEN = frozenset(
    {
        Reason.NOT_A_COMMAND,
        Reason.NO_WORDS,
        Reason.ONLY_AN_ANSWER,
        Reason.NO_ATTENTION_WORD,
        Reason.UNSURE,
    }
)
"""Refused for these reasons, something may be a part of a command."""


@dataclass(frozen=True, slots=True)
class JoiningSettings:
    """The rules of joining, in seconds."""

    within_s: float = 1.65
    """What follows a piece later than this does not belong to it."""
    longest_s: float = 8.0
    """Both together are no longer than this, silence between them left out."""
    between_s: float = 0.3
    """So much of the silence between them is kept."""
    doubted_within_s: float = 0.9
    """A command that follows a refused piece so soon is doubted."""
    begins_within: float = 8.0
    """A refused piece may be all readings that come so near to its likeliest."""


@dataclass(frozen=True, slots=True, eq=False)
class Piece:
    """What was decided last, with its sound: more may follow it."""

    readings: tuple[str, ...]
    """What it may be the beginning of; of a command only its own words."""
    start: int
    """In samples of the stream, as the end."""
    end: int
    voice: Samples
    """With what is kept of the silence around it."""
    room: Samples
    accepted: bool = False
    longer: Piece | None = None
    """The same together with the refused piece before it, if both may be the beginning of one."""


def kept(
    verdict: Verdict,
    book: PhraseBook,
    rules: JoiningSettings,
    span: tuple[int, int],
    sound: tuple[Samples, Samples],
) -> Piece | None:
    """
    Return what was decided as a piece that may be gone on with; None if it is closed.

    Args:
        verdict: what it was judged to be.
        book: what can be said.
        rules: the rules.
        span: from which sample of the stream to which it was said.
        sound: its voice, and the room before it.

    """
    if verdict.meaning is not None:
        going_on = may_go_on(verdict.meaning.form, book)
        return Piece((verdict.reading,), *span, *sound, accepted=True) if going_on else None
    spoken = verdict.reading.replace(UNKNOWN, "").strip()
    if verdict.reason not in _OPEN or not verdict.readings or not spoken:
        return None
    least = verdict.readings[0].score - rules.begins_within
    begins = [one.words for one in verdict.readings if one.score >= least]
    return Piece(tuple(one for one in begins if UNKNOWN not in one), *span, *sound)


def says_row(verdicts: Iterable[Verdict]) -> bool:
    """Whether what was judged of an utterance so far is a row."""
    return any(one.meaning is not None and one.meaning.form is ROW_FORM for one in verdicts)


def longest_s(settings: AcceptanceSettings, *, row: bool) -> float:
    """Return for how many seconds somebody may speak without being held to talk to others."""
    return settings.row_longest_s if row else settings.gate.longest_s


def with_waiting(
    earlier: Segment | None, segment: Segment, settings: AcceptanceSettings, *, row: bool
) -> Segment:
    """
    Return the voice to be judged next, where another one was not decided yet.

    A louder voice hides none before it; but steps of a row are one, however soft some of them are.
    """
    if earlier is None or segment.start <= earlier.start:
        return segment
    gap_s = (segment.start - earlier.end) / RATE
    if row and gap_s <= settings.row_goes_on_s:
        return replace(segment, start=earlier.start, core_start=earlier.core_start)
    if gap_s > settings.gate.bridged_s:
        return replace(earlier, next_start=segment.start)
    return segment


def belongs(before: Piece, alone: Verdict, start: int, end: int, rules: JoiningSettings) -> bool:
    """Whether what lies between two samples is to be judged together with the piece before it."""
    gap_s = (start - before.end) / RATE
    long_s = len(before.voice) / RATE + (end - start) / RATE
    if not 0 <= gap_s <= rules.within_s or long_s > rules.longest_s:
        return False
    if alone.meaning is not None:
        # Two commands, one after the other; but a place alone is an answer only while one is asked.
        return not before.accepted or alone.meaning.form.way is Way.ANSWER
    return alone.reason in _OPEN


def together(before: Piece, voice: Samples) -> Samples:
    """Return the sound of both, one behind the other."""
    return np.concatenate([before.voice, voice])


def begins_like(reading: str, before: Piece) -> bool:
    """Whether what both pieces are begins with what the first one may be, and says more."""
    return any(reading.startswith(f"{one} ") for one in before.readings)


def joined(before: Piece, alone: Verdict, whole: Verdict) -> Verdict | None:
    """
    Return what a piece and the one before it are as one; None if they are not one.

    Args:
        before: what was decided before.
        alone: what the new piece is by itself.
        whole: what both are.

    """
    longer = alone.meaning is None or len(whole.words.split()) > len(alone.words.split())
    sure = whole.meaning is not None
    asked = whole.reason is Reason.UNSURE and bool(whole.candidates)
    if longer and (sure or asked) and begins_like(whole.reading, before):
        return replace(whole, begins=before.start, mends=before.accepted)
    return None


def doubted(before: Piece, alone: Verdict, start: int, rules: JoiningSettings) -> Verdict:
    """
    Return what a piece is by itself that begins at a sample; close to a refused one a doubt.

    Its candidates stay: whoever knows the piece can ask.
    """
    soon = (start - before.end) / RATE <= rules.doubted_within_s
    if alone.meaning is not None and not before.accepted and soon:
        return replace(alone, meaning=None, reason=Reason.UNSURE, doubted=True)
    return alone
