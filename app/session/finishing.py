"""
What is left to do with a piece that is off the needle, step by step, and what of it is done.

The steps are the pattern's own words, else the usual ones. That a step is done is a note on the
piece, as any other: it is kept with it, told with it, and taken back like it.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Final

from app import resources
from app.session.designers_words import finishing
from engine.commands import NoteRow
from engine.replies import Reply, Say, Tone, reply
from engine.toml_text import toml_of

if TYPE_CHECKING:
    from engine.state import PieceState

_WORDS: Final = "shared/phrases/finishing.en.toml"


@dataclass(frozen=True, slots=True)
class FinishingStep:
    """A step of the finishing in words, and whether it was noted as done."""

    words: str
    done: bool


@cache
def _data() -> dict[str, list[str]]:
    data = toml_of(resources.text(_WORDS))["finishing"]
    return {name: [str(word) for word in words] for name, words in dict(data).items()}


def steps_of(state: PieceState) -> tuple[FinishingStep, ...]:
    """Return the steps of the finishing of a piece, in their order."""
    said = [str(dict(one.values)["instruction"].text) for one in finishing(state)]  # type: ignore[union-attr]
    steps = [step for line in said for step in _parted(line)] or _data()["usual"]
    return tuple(FinishingStep(step, done=_is_done(state, step)) for step in steps)


def note_of(step: FinishingStep) -> str:
    """Return the note that says that a step is done; of one that is, that it is not."""
    done, undone = _data()["notes"]
    return f"{undone if step.done else done}: {step.words}"


def step_noted(state: PieceState, number: int) -> NoteRow | Reply:
    """Return what notes that a step is done, or that it is not after all; else a refusal."""
    steps = steps_of(state)
    if not 1 <= number <= len(steps):
        return reply(Say.NO_SUCH_STEP, Tone.NOT_HEARD, count=len(steps))
    return NoteRow(None, note_of(steps[number - 1]))


def _is_done(state: PieceState, step: str) -> bool:
    done, undone = (f"{word}: {step}" for word in _data()["notes"])
    told = [note.text for note in state.notes if note.text in {done, undone}]
    return bool(told) and told[-1] == done


def _parted(line: str) -> list[str]:
    """Part a line where another thing to do begins: after a comma, with a word for doing it."""
    doing = "|".join(_data()["doing"])
    parts = re.split(rf"[,;]\s+(?:and\s+)?(?=(?:{doing})\b)", line, flags=re.IGNORECASE)
    return [part[:1].upper() + part[1:] for part in (one.strip(" .") for one in parts) if part]
