"""
The steps of a row that was said, put together as the trade writes them.

Where a repeat begins is hardly ever said. Every beginning that is possible gives a row of its own,
with a figure for how unusual it would be to say it so (0: as everybody does); the figures are a
guess, and only decide what is asked about first.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import pairwise
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

_LATER: Final = 1.6
"""Most repeats begin where the row, or what is said after the last repeat, begins."""
_THEN: Final = 1.0
"""More often than not a repeat begins behind "then"; where another beginning fits it is asked."""
_ALIKE: Final = 1.0
"""Two steps of one stitch behind each other ("knit three, knit two") belong to different things."""
_ALIKE_AROUND: Final = 0.5
_BARE_END: Final = 0.5
_MOST_ROWS: Final = 64
_END: Final = "to end"
_AFTER_END: Final = ("bo ", "co ", "turn", "pm")
"""What can stand behind a stitch that is worked to the end."""


class AtomKind(StrEnum):
    """What a few words of a row are."""

    STEP = "step"
    BARE = "bare"
    """A stitch without a number: "knit" to somewhere."""
    STOP = "stop"
    BEGIN = "begin"
    """Here begins a repeat."""
    AGAIN = "again"
    RIB = "rib"
    MORE = "more"
    """The steps before are meant, and how often or how far is said next."""
    SKIP = "skip"
    MAYBE = "maybe"
    """Here a repeat may well begin: "knit one, then ..."."""
    WRONG = "wrong"
    """What was said last is taken back, what follows takes its place."""
    TIMES = "times"


@dataclass(frozen=True, slots=True)
class Atom:
    """A few words of a row: as the trade writes them, what they are of, and their number."""

    kind: AtomKind
    written: str
    key: str
    number: int | None = None


@dataclass(frozen=True, slots=True)
class _Row:
    """A row so far: what is closed, the steps since, and where a repeat was said to begin."""

    closed: tuple[str, ...] = ()
    steps: tuple[Atom, ...] = ()
    begin: int | None = None
    unusual: float = 0.0
    maybe: int | None = None
    """Where "then" was said: as likely as anywhere else a repeat begins there."""
    open_end: bool = False
    """Whether the last thing closed goes to the end of the row."""


def written_rows(atoms: Sequence[Atom]) -> tuple[tuple[str, float], ...]:
    """Return every row that the steps can be, as it is written, and how unusual it would be."""
    rows = [_Row()]
    for at, atom in enumerate(atoms):
        following = atoms[at + 1].kind if at + 1 < len(atoms) else None
        rows = [after for row in rows for after in _with(row, atom, following)][:_MOST_ROWS]
    found: dict[str, float] = {}
    for row in rows:
        for text, unusual in _ended(row):
            if unusual < found.get(text, 99.0):
                found[text] = unusual
    return tuple(sorted(found.items(), key=lambda one: one[1]))


def _with(row: _Row, atom: Atom, following: AtomKind | None) -> Iterator[_Row]:
    """Yield the row with one more atom; nothing where that cannot be."""
    match atom.kind:
        case AtomKind.STEP | AtomKind.BARE:
            if row.steps and row.steps[-1].kind is AtomKind.BARE:
                return
            if row.open_end and not row.steps and not _may_follow(row, atom):
                return
            yield replace(row, steps=(*row.steps, atom))
        case AtomKind.BEGIN:
            if row.begin is None:
                yield replace(row, begin=len(row.steps), maybe=None)
        case AtomKind.AGAIN | AtomKind.RIB | AtomKind.MORE | AtomKind.SKIP:
            yield from _with_mark(row, atom.kind, following)
        case AtomKind.MAYBE:
            yield replace(row, maybe=len(row.steps))
        case AtomKind.WRONG:
            yield from _taken_back(row)
        case AtomKind.STOP:
            yield from _repeated(row, atom.written)
        case AtomKind.TIMES:
            yield from _so_often(row, atom.number or 1)


def _with_mark(row: _Row, kind: AtomKind, following: AtomKind | None) -> Iterator[_Row]:
    """Yield the row with words that only say that something is repeated, or nothing at all."""
    if kind is AtomKind.SKIP or (row.steps and following in {AtomKind.STOP, AtomKind.TIMES}):
        yield row
    elif kind is not AtomKind.MORE and following not in {AtomKind.STOP, AtomKind.TIMES}:
        yield from _repeated(row, _END)


def _taken_back(row: _Row) -> Iterator[_Row]:
    """Yield the row without the last step, and without all since the last repeat."""
    if row.steps and row.begin is None:
        yield replace(row, steps=row.steps[:-1], maybe=None)
        if len(row.steps) > 1:
            yield replace(row, steps=(), maybe=None)


def _may_follow(row: _Row, atom: Atom) -> bool:
    """Tell whether a step may stand behind what goes to the end: only where that is a repeat."""
    return row.closed[-1].startswith("*") or atom.written.startswith(_AFTER_END)


def _repeated(row: _Row, stop: str) -> Iterator[_Row]:
    """Yield the row with its last steps worked again and again up to a stop."""
    if not row.steps:
        return
    if row.steps[-1].kind is AtomKind.BARE:
        *before, bare = row.steps
        if row.begin is None and all(step.kind is AtomKind.STEP for step in before):
            closed = (*row.closed, *(step.written for step in before), f"{bare.written} {stop}")
            yield _Row(closed, unusual=row.unusual, open_end=stop == _END)
        return
    for start, unusual in _starts(row, to_end=True):
        body = ", ".join(step.written for step in row.steps[start:])
        closed = (*row.closed, *(step.written for step in row.steps[:start]))
        yield _Row(
            (*closed, f"*{body}; rep from * {stop}"),
            unusual=row.unusual + unusual,
            open_end=stop == _END,
        )


def _so_often(row: _Row, times: int) -> Iterator[_Row]:
    """Yield the row with its last steps worked so many times in all."""
    if not row.steps or row.steps[-1].kind is AtomKind.BARE:
        return
    for start, unusual in _starts(row, to_end=False):
        if row.begin is None and row.steps[-1].key == "yo" and start + 1 < len(row.steps):
            continue  # "yarn over twice"
        body = ", ".join(step.written for step in row.steps[start:])
        group = Atom(AtomKind.STEP, f"({body}) {times} times", "group")
        yield replace(
            row,
            steps=(*row.steps[:start], group),
            begin=None,
            maybe=None,
            unusual=row.unusual + unusual,
        )


def _starts(row: _Row, *, to_end: bool) -> Iterator[tuple[int, float]]:
    """Yield where the repeat of the last steps may begin, and how unusual that would be."""
    if row.begin is not None:
        if row.begin < len(row.steps):
            yield row.begin, 0.0
        return
    steps = row.steps
    for start in range(len(steps)):
        body = steps[start:]
        alike = sum(one.key == two.key for one, two in pairwise(body))
        unusual = _ALIKE * alike
        if len(body) > 1 and body[0].key == body[-1].key:
            unusual += _ALIKE_AROUND
        if row.maybe is not None:
            unusual += _THEN * (start != row.maybe)
        elif to_end:
            unusual += _LATER * (start > 0)
            if len(body) == 1 < len(steps) and body[0].number is not None:
                continue  # nobody says "purl one, to the end" for a rest of purl
        if row.maybe is None and start and steps[start - 1].key == steps[start].key:
            unusual -= _LATER
        yield start, max(unusual, 0.0)


def _ended(row: _Row) -> Iterator[tuple[str, float]]:
    """Yield the row as it is written; a stitch without a number at its end goes to the end."""
    closed, unusual = [*row.closed], row.unusual
    if row.begin is not None and row.begin < len(row.steps):
        return  # a repeat was begun and never closed
    if row.open_end and row.steps and closed[-1].startswith("*"):
        closed[-1] = closed[-1].removesuffix(f" {_END}")  # before what the last steps need
    for step in row.steps:
        written = step.written
        if step.kind is AtomKind.BARE:
            written, unusual = f"{written} {_END}", unusual + _BARE_END
        closed.append(written)
    if closed:
        yield ", ".join(closed), unusual
