"""
What "work as set" goes on with: rows that can be worked again over the stitches that are there.

A row that places a marker or has words in it is worked again without them; one that binds off,
picks up or lays aside is not worked again at all. Where a repeat does not fit the stitches any
more, "as set" is all that can be said truly.
"""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

from engine.pattern.notation import (
    Along,
    BindOff,
    CastOn,
    Group,
    Hold,
    Item,
    JoinRound,
    Marker,
    MarkerMove,
    PickUp,
    Remark,
    TakeUp,
    TurnWork,
)
from engine.pattern.routines import AS_SET, named_only

if TYPE_CHECKING:
    from engine.pattern.tree import Routine

_NOT_TURNED = re.compile(r"\b(?:do not|don't|without) turn|^slid(?:e|ing)\b", re.IGNORECASE)
ONCE = (BindOff, Hold, JoinRound, PickUp, TakeUp, TurnWork)
"""Steps after which the needle is another one, so that a row is not worked like that twice."""


def worked_again(items: tuple[Item, ...]) -> tuple[Item, ...] | None:
    """Return a row as it is worked when it comes again; None if it is worked only once."""
    again: list[Item] = []
    changed = False
    for item in items:
        if isinstance(item, (CastOn, *ONCE)):
            return None
        if isinstance(item, Remark) or (
            isinstance(item, Marker) and item.move is not MarkerMove.SLIP
        ):
            changed = True
            continue
        if isinstance(item, Group | Along):
            body = worked_again(item.body)
            if body is None:
                return None
            if body is not item.body:
                item, changed = replace(item, body=body), True  # noqa: PLW2901
        again.append(item)
    return tuple(again) if changed else items


def slides(items: tuple[Item, ...]) -> bool:
    """Whether the work is not turned after a row: "k4, do not turn, slide sts to other end"."""
    worked = False
    for item in items:
        if not isinstance(item, Remark | Marker):
            worked = True
        elif worked and isinstance(item, Remark) and _NOT_TURNED.search(item.text):
            return True
    return False


def goes_on_over(chosen: Routine, stitches: int) -> bool:
    """Whether every row of a routine can be worked over so many stitches."""
    return all(spec.fits is None or spec.fits.fits(stitches) for spec in chosen.specs)


def fits_any_count(chosen: Routine) -> bool:
    """Whether the rows of a routine fit however many stitches are taken away or made."""
    return all(
        spec.fits is None or (spec.fits.only is None and spec.fits.modulus == 1)
        for spec in chosen.specs
    )


def over_any_count(chosen: Routine) -> Routine:
    """Return the routine by its name alone: how its rows lie over these stitches nobody says."""
    return named_only(chosen.name or AS_SET)
