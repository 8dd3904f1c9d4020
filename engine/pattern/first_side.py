"""
The lines of a first side that a second one is worked to match.

A piece is divided where stitches are laid aside within or after a row; the second side begins where
the yarn is joined to them. "Complete to match first side" means the lines between the two.
"""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import takewhile
from typing import TYPE_CHECKING

from engine.pattern import phrases as ph
from engine.pattern.lines import LineKind, Prepared, prepare
from engine.pattern.notation import (
    BindOff,
    Group,
    Hold,
    HoldWhich,
    InStitch,
    Item,
    Remark,
    TakeUp,
    TurnWork,
    Work,
)
from engine.pattern.row_text import amount_text

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

_A_SIDE = re.compile(
    r"\b(?:first|other|opposite|left|right|1st)(?: (?:neck|shoulder|front|back))?"
    r" (?:side|half|shoulder|neck edge|neck|part)\b"
)


def means_first_side(words: str) -> bool:
    """Whether the words of "complete to match first side" name a side of the piece."""
    return _A_SIDE.search(words) is not None


def first_side(own: Sequence[Prepared], said: Prepared) -> tuple[Prepared, ...]:
    """
    Return the lines that are worked again for the second side; empty where that is not clear.

    `own` are the lines of the piece before the line `said`. The row that divides the work has its
    counterpart in the row that begins the second side; where none is written it is mirrored.
    """
    joined = _last(own, _joins)
    joins_itself = any(_taken(phrase) for phrase in said.phrases)
    if joins_itself:
        joined = len(own)
    if joined is None:
        return ()
    divided = _last(own[:joined], _divides)
    if divided is None:
        return ()
    lines = tuple(own[divided + 1 : joined])
    after = own[joined + 1 :]
    begun = _stitches(_items(own[joined])) if not joins_itself else ()
    head = _stitches(_items(own[divided]))
    worked = [line for line in after if line.kind is not LineKind.REMARK]
    if len(worked) == 1 and worked[0].kind is LineKind.ROW and head and not begun:
        begun = _stitches(_items(worked[0]))
    elif worked:
        return ()
    if bool(begun) is bool(head) or not lines:
        shoulder = _bound_first(own[divided], head, begun) if lines else None
        return (shoulder, *lines) if shoulder is not None else lines
    if begun:
        return ()
    mirrored = _mirrored(own[divided], head)
    return (mirrored, *lines) if mirrored is not None else ()


def _last(lines: Sequence[Prepared], holds: Callable[[Prepared], bool]) -> int | None:
    return next((n for n in range(len(lines) - 1, -1, -1) if holds(lines[n])), None)


def _items(line: Prepared) -> tuple[Item, ...]:
    return line.row.items if line.row is not None else ()


def _taken(item: object) -> bool:
    return isinstance(item, TakeUp) and not item.beside


def _joins(line: Prepared) -> bool:
    return any(_taken(item) for item in _items(line))


def _divides(line: Prepared) -> bool:
    items = _items(line)
    rest = any(isinstance(item, Hold) and item.which is HoldWhich.REST for item in items)
    turned = any(isinstance(item, TurnWork) for item in items)
    return rest or (turned and any(isinstance(item, Hold) for item in items))


def _stitches(items: tuple[Item, ...]) -> tuple[Item, ...]:
    """Return what is worked in a row before it is turned or the rest is laid aside."""
    worked = takewhile(lambda item: not isinstance(item, TurnWork), items)
    return tuple(item for item in worked if not isinstance(item, Hold | TakeUp | Remark))


def _bound_first(
    divided: Prepared, head: tuple[Item, ...], begun: tuple[Item, ...]
) -> Prepared | None:
    """
    Return the row that binds off what the dividing row bound off before it came to the neck.

    The second side is joined at the neck: its shoulder is bound off on the way back. None where
    nothing was, or where the second side has begun with it.
    """
    first = head[0] if head else None
    if not isinstance(first, BindOff) or first.amount is None:
        return None
    if any(isinstance(item, BindOff) and item.amount == first.amount for item in begun):
        return None
    words = f"bo {amount_text(first.amount)} sts at beg of next row"
    phrases = (
        ph.Bracket((first, ph.PhrasePlace(ph.ChangePlace.BEGINNING))),
        ph.Schedule(first=1, times=(1,)),
    )
    return prepare(divided.source, ph.PhraseLine(words, phrases, sizes=divided.line.sizes))


def _mirrored(divided: Prepared, head: tuple[Item, ...]) -> Prepared | None:
    """Return the row of the second side that is the mirror of the one that divides the work."""
    if not all(isinstance(item, Work | Group | InStitch) for item in head):
        return None
    line = replace(divided.line, phrases=tuple(reversed(head)), heading=None)
    return prepare(divided.source, line)
