"""
One wall around every answer, drawing, print and screen.

A fault of ours in one of them becomes a sentence that names what could not be done; the counting
goes on. What happened is written to a log beside the journal: where in the program it was, never
what was said, kept or read. While `RAISES` is set, as tests do, a fault is raised instead.
"""

from __future__ import annotations

import traceback
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Final, TypeVar

from app import resources
from engine.journal.errors import JournalError
from engine.limits import STEPS_OF_ANSWER, Allowance, TooMuchWorkError

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

Made = TypeVar("Made")

RAISES = False
"""Whether a fault is raised instead of told: the switch that tests set."""

LOG: Final = "faults.log"
_LONGEST_LOG: Final = 200_000
"""Bytes after which the log begins anew: the latest faults are those that matter."""
_OWN: Final = ("app", "engine", "speech")

_place: list[Path] = []
_journal: list[Path] = []


def keep_beside(journal: Path) -> None:
    """Write faults to a log beside this journal from now on."""
    _place[:] = [journal.parent]
    _journal[:] = [journal]


def kept_in() -> Path | None:
    """Return the journal beside which faults are written; None before one is opened."""
    return _journal[0] if _journal else None


def behind(
    what: Callable[[], Made], instead: Callable[[str], Made], subject: str, steps: int | None = None
) -> Made:
    """
    Return what is made, or what is told instead of it where that goes wrong.

    `subject` says what cannot be done, as the beginning of a sentence ("Piece 3 cannot be drawn");
    `instead` gets the whole sentence. The making may take so many `steps` (those of an answer).
    """
    try:
        with Allowance(STEPS_OF_ANSWER if steps is None else steps).used():
            return what()
    except Exception as error:  # noqa: BLE001 (this is the wall)
        return instead(sentence_of(error, subject))


def sentence_of(error: Exception, subject: str) -> str:
    """
    Return the sentence about a fault, after writing it to the log.

    Raises:
        Exception: the fault itself, where faults are raised.

    """
    if isinstance(error, JournalError):
        return str(error)
    if isinstance(error, TooMuchWorkError):
        return f"{subject}: this asks for more work than any knitting does."
    if RAISES:
        raise error
    where = _write_down(error, subject)
    return f"{subject}: something went wrong inside Walesong{where}. What is kept is not changed."


def _write_down(error: Exception, subject: str) -> str:
    """Write to the log where a fault was; return the words that say where to look, if it could."""
    frames = [
        f"  {frame.filename.rpartition('/')[2]}:{frame.lineno} {frame.name}"
        for frame in traceback.extract_tb(error.__traceback__)[-_FRAMES:]
    ]
    # Not the words of the error: they may repeat what is hers.
    head = f"{datetime.now(UTC).isoformat(timespec='seconds')} {subject}"
    text = "\n".join([head, f"  {type(error).__name__}", *frames]) + "\n"
    try:
        folder = _place[0] if _place else resources.data_folder()
        folder.mkdir(parents=True, exist_ok=True)
        log = folder / LOG
        full = log.exists() and log.stat().st_size > _LONGEST_LOG
        with log.open("w" if full else "a", encoding="utf-8") as file:
            file.write(text)
    except OSError:
        return ""
    return f" (see {LOG})"


_FRAMES: Final = 12
