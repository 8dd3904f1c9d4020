"""
What a list of pieces shows of each, without folding all of them at every start.

A summary is made from a piece's records and kept together with the mark that names their set. It
holds only as long as the journal, which has looked at every record, gives the same mark. What is
kept lies in the user's cache: it may be thrown away at any time and is made again.
"""

from __future__ import annotations

import hashlib
import json
import os
from dataclasses import asdict, dataclass, fields
from functools import cache, partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from app.pieces.on_needle import OnNeedle
from app.pieces.pattern_cache import course_of
from app.resources import KeptText
from app.wall import behind
from engine import evolve, history, soundness
from engine.facts.rounds import in_rounds
from engine.history import fold

if TYPE_CHECKING:
    from collections.abc import Sequence

    from engine.journal.journal import Journal, KeptPiece
    from engine.records import Record
    from engine.state import PieceState

_MOST: Final = 10_000
"""So many pieces are kept at most; a cache is no archive."""


NOT_SHOWN: Final = "A piece that cannot be shown"


@dataclass(frozen=True, slots=True)
class Summary:
    """
    A piece in a few values.

    `begun_wall` is the wall time (ISO 8601, UTC) of its first record; `pattern` is the hash of the
    text that holds now (None: without one), `size` and `pattern_piece` belong to it.
    """

    begun: bool
    name: str
    project: str
    done: int
    finished: bool
    begun_wall: str
    pattern: str | None
    size: str | None
    pattern_piece: str | None
    rounds: bool = False
    """Whether it is worked in rounds where it stands."""


def summary_of(state: PieceState, records: Sequence[Record]) -> Summary:
    """Return the summary of a piece from its state and its records in order."""
    pattern = state.pattern
    return Summary(
        begun=state.begun,
        name=state.name,
        project=state.project,
        done=state.done,
        finished=state.finished,
        begun_wall=records[0].wall if records else "",
        pattern=pattern.sha256 if pattern is not None else None,
        size=pattern.size if pattern is not None else None,
        pattern_piece=state.pattern_piece,
        rounds=behind(lambda: in_rounds(state, course_of(state)), lambda _: False, NOT_SHOWN),
    )


def _nothing(_: str) -> None:
    """Return that nothing can be said of a piece."""


class Summaries:
    """The summaries of the pieces of one journal."""

    def __init__(self, kept: KeptText | None = None, needle: OnNeedle | None = None) -> None:
        """Take up what was kept; without `kept` they last as long as this object."""
        self._kept = kept
        self.needle = needle or OnNeedle()
        """Which piece was gone to last."""
        self._known = _read(kept.load() if kept is not None else None)
        self._new = False
        self.waiting = 0
        """How many pieces are still to be folded, one by one, by whoever lists them."""

    @classmethod
    def beside(cls, journal: Path) -> Summaries:
        """Return the summaries of the journal in a file, kept in the user's cache."""
        name = hashlib.sha256(os.fsencode(journal.absolute())).hexdigest()[:16]
        beside = KeptText(f"{journal.name}.needle", journal.parent)
        return cls(KeptText(f"pieces-{name}.json"), OnNeedle(beside))

    def of(self, journal: Journal, piece: KeptPiece) -> Summary:
        """Return the summary of a piece of the journal; JournalError if it cannot be read."""
        mark, summary = self._known.get(piece.id, ("", None))
        if summary is None or mark != piece.mark or not mark:
            records = journal.records(piece.id)
            summary = summary_of(fold(records), records)
            self.learn(piece, summary)
        return summary

    def knows(self, piece: KeptPiece) -> bool:
        """Tell whether the summary of a piece is there without folding it."""
        return bool(piece.mark) and self._known.get(piece.id, ("", None))[0] == piece.mark

    def shown(self, journal: Journal, piece: KeptPiece) -> Summary | None:
        """Return the summary of a piece; None where it cannot be made, and why is in the log."""
        return behind(partial(self.of, journal, piece), _nothing, NOT_SHOWN)

    def learn(self, piece: KeptPiece, summary: Summary) -> None:
        """
        Take in what was just found out about a piece.

        Where something else was kept under the same mark, nothing that was kept is believed.
        """
        mark, before = self._known.get(piece.id, ("", None))
        if (mark, before) == (piece.mark, summary):
            return
        if mark == piece.mark:
            self._known.clear()
        self._known[piece.id] = piece.mark, summary
        self._new = True

    def save(self) -> None:
        """Keep them for the next start."""
        if self._kept is None or not self._new or len(self._known) > _MOST:
            return
        pieces = {one: [mark, asdict(summary)] for one, (mark, summary) in self._known.items()}
        self._kept.save(json.dumps({"rules": _rules(), "pieces": pieces}))
        self._new = False


@cache
def _rules() -> str:
    """Return what names the rules by which records are folded: other rules, other summaries."""
    together = hashlib.sha256()
    for module in (evolve, history, soundness):
        together.update(Path(str(module.__file__)).read_bytes())
    return together.hexdigest()


def _read(text: str | None) -> dict[str, tuple[str, Summary]]:
    """Return what was kept; nothing where it cannot be read or is of other rules."""
    if text is None:
        return {}
    try:
        kept = json.loads(text)
        if kept["rules"] != _rules():
            return {}
        return {
            str(one): (str(mark), _summary(values))
            for one, (mark, values) in kept["pieces"].items()
        }
    except (ValueError, TypeError, KeyError, AttributeError, RecursionError, OSError):
        return {}


_KINDS: Final = {"begun": bool, "finished": bool, "done": int, "rounds": bool}
_MAY_LACK: Final = frozenset({"pattern", "size", "pattern_piece"})


def _summary(values: dict[str, Any]) -> Summary:
    """Return a summary from plain values; TypeError if they are of other kinds."""
    for field in fields(Summary):
        value = values.get(field.name)
        lacks = value is None and field.name in _MAY_LACK
        if not lacks and type(value) is not _KINDS.get(field.name, str):
            raise TypeError(field.name)
    return Summary(**values)
