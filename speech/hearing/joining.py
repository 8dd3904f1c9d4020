"""What belongs together though a pause lies between: pure rules over two pieces of one utterance.

People who look at their knitting while they speak pause inside a number, or before its unit. So
what was refused is judged again together with what follows it soon, and what was taken is mended
if what follows completes it. A command close behind a refused piece is doubted: it may be the end
of something else.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from speech.hearing.events import Reason
from speech.hearing.judging import may_go_on
from speech.hearing.sound import RATE
from speech.words.sampler import UNKNOWN

if TYPE_CHECKING:
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

    within_s: float = 1.5
    """What follows a piece later than this does not belong to it."""
    longest_s: float = 8.0
    """Both together are no longer than this, silence between them left out."""
    between_s: float = 0.3
    """So much of the silence between them is kept."""
    doubted_within_s: float = 0.9
    """A command that follows a refused piece so soon is doubted."""


@dataclass(frozen=True, slots=True, eq=False)
class Piece:
    """What was decided last, with its sound: more may follow it."""

    words: str
    accepted: bool
    start: int
    """In samples of the stream, as the end."""
    end: int
    voice: Samples
    """With what is kept of the silence around it."""
    room: Samples


def kept(
    verdict: Verdict, book: PhraseBook, start: int, end: int, sound: tuple[Samples, Samples]
) -> Piece | None:
    """Return what was decided as a piece that may be gone on with; None if it is closed."""
    accepted = verdict.meaning is not None
    if verdict.meaning is not None:
        going_on = may_go_on(verdict.meaning.form, book)
    else:
        going_on = verdict.reason in _OPEN and bool(verdict.words.replace(UNKNOWN, "").strip())
    return Piece(verdict.words, accepted, start, end, *sound) if going_on else None


def belongs(before: Piece, alone: Verdict, start: int, end: int, rules: JoiningSettings) -> bool:
    """Whether what lies between two samples is to be judged together with the piece before it."""
    gap_s = (start - before.end) / RATE
    long_s = len(before.voice) / RATE + (end - start) / RATE
    if not 0 <= gap_s <= rules.within_s or long_s > rules.longest_s:
        return False
    if alone.meaning is not None:
        return not before.accepted  # two commands, one after the other
    return alone.reason in _OPEN


def together(before: Piece, voice: Samples) -> Samples:
    """Return the sound of both, one behind the other."""
    return np.concatenate([before.voice, voice])


def judged(
    before: Piece,
    alone: Verdict,
    whole: Verdict,
    start: int,
    rules: JoiningSettings,
    *,
    attention: str | None = None,
) -> Verdict:
    """
    Return what counts of a piece and of what both are together.

    Args:
        before: what was decided before.
        alone: what the new piece is by itself.
        whole: what both are.
        start: the sample of the stream where the new piece begins.
        rules: the rules.
        attention: the word that comes before every command, if any.

    """
    words = before.words.removeprefix(f"{attention} ") if attention else before.words
    begins = whole.words != words and f"{whole.words} ".startswith(f"{words} ")
    longer = alone.meaning is None or len(whole.words.split()) > len(alone.words.split())
    sure = whole.meaning is not None
    asked = whole.reason is Reason.UNSURE and bool(whole.candidates)
    if begins and longer and (sure or asked):
        return replace(whole, joined=True, mends=before.accepted)
    soon = (start - before.end) / RATE <= rules.doubted_within_s
    if alone.meaning is not None and not before.accepted and soon:
        return replace(alone, meaning=None, candidates=(), reason=Reason.UNSURE)
    return alone
