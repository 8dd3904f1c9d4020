"""
Pieces that are to be alike: each beside the reference, and what is odd about an odd one.

The reference is a piece, or what was planned. What of it is not known is taken from the middle of
the others, if there are enough of them. One maker's pieces, twenty or more, make a chart.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from statistics import median
from typing import TYPE_CHECKING, Final

from engine.batch.control import FEWEST, IndividualsChart, individuals
from engine.batch.tolerance import Difference, compare
from engine.stages import Trait

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from engine.batch.piece_traits import PieceTraits
    from engine.state import Tolerance

_FEWEST_OTHERS: Final = 3
"""So many others at least have a middle that a piece is held against."""
_SLOW: Final = 1.5
"""Who takes half as long again, or a third less, is told (common practice, no source)."""
CHARTED: Final = (Trait.LENGTH, Trait.WIDTH, Trait.WEIGHT)


class Odd(StrEnum):
    """What can be odd about a piece besides a trait beyond its tolerance; each has a sentence."""

    STITCHES = "stitches"
    PART = "part"
    NEEDLE_AT = "needle_at"
    OTHER_NEEDLE = "other_needle"
    OTHER_LOT = "other_lot"
    MANY_LOTS = "many_lots"
    TIGHT = "tight"
    LOOSE = "loose"
    SLOW = "slow"
    QUICK = "quick"


@dataclass(frozen=True, slots=True)
class Oddity:
    """What is odd: `by` how much more (fewer: below zero), `row` and `text` where it applies."""

    odd: Odd
    by: int = 0
    row: int = 0
    text: str = ""


@dataclass(frozen=True, slots=True)
class PieceBeside:
    """
    A piece beside the reference; `differences` of what is known of both.

    `oddities` are what she should know besides; `odd` is whether the piece is not like the others.
    """

    traits: PieceTraits
    differences: tuple[Difference, ...]
    oddities: tuple[Oddity, ...]

    @property
    def beyond(self) -> tuple[Difference, ...]:
        """The traits that are not the same."""
        return tuple(one for one in self.differences if not one.within)

    @property
    def odd(self) -> bool:
        """Whether it is not like the others."""
        return bool(self.beyond or self.oddities)


@dataclass(frozen=True, slots=True)
class TraitChart:
    """The chart of one trait (None: minutes at the needles) of the pieces of one maker."""

    maker: str
    trait: Trait | None
    values: tuple[float, ...]
    pieces: tuple[PieceTraits, ...]
    chart: IndividualsChart


@dataclass(frozen=True, slots=True)
class Batch:
    """
    Pieces beside their reference, in the order in which they were made.

    `wanted` are the values they are held against; `from_rest` those of them that are the middle of
    the pieces and not of the reference. `own` are the knitter's tolerances. Of an order, `order`
    is its id and `first` the first number of its line.
    """

    title: str
    reference: PieceTraits | None
    pieces: tuple[PieceBeside, ...]
    wanted: tuple[tuple[Trait, float], ...]
    from_rest: frozenset[Trait]
    own: tuple[Tolerance, ...]
    charts: tuple[TraitChart, ...]
    order: str = ""
    first: int | None = None


def batch_of(
    title: str,
    reference: PieceTraits | None,
    pieces: Sequence[PieceTraits],
    own: Iterable[Tolerance] = (),
) -> Batch:
    """Return finished pieces compared; `reference` may be one of them, or a plan, or None."""
    own, rest = (*own,), []
    wanted: dict[Trait, float] = {}
    for trait in Trait:
        known = reference.value(trait) if reference is not None else None
        others = [value for one in pieces if (value := one.value(trait)) is not None]
        if known is None and len(others) >= _FEWEST_OTHERS:
            known = median(others)
            rest.append(trait)
        if known is not None:
            wanted[trait] = known
    usual = _usual_minutes(pieces)
    compared = tuple(
        PieceBeside(one, _differences(one, wanted, own), _oddities(one, reference, pieces, usual))
        for one in pieces
    )
    return Batch(
        title,
        reference,
        compared,
        tuple(wanted.items()),
        frozenset(rest),
        own,
        charts_of(pieces),
    )


def _differences(
    piece: PieceTraits, wanted: dict[Trait, float], own: tuple[Tolerance, ...]
) -> tuple[Difference, ...]:
    found = []
    for trait, value in wanted.items():
        mine = piece.value(trait)
        if mine is not None:
            found.append(compare(trait, mine, value, piece.unit, own))
    return tuple(found)


def charts_of(pieces: Sequence[PieceTraits]) -> tuple[TraitChart, ...]:
    """Return the charts of every maker with enough pieces, of what was measured of them."""
    found = []
    makers = dict.fromkeys(one.maker for one in pieces)
    for maker in makers:
        mine = sorted(
            (one for one in pieces if one.maker == maker),
            key=lambda one: (one.ended, one.number or 0),
        )
        for trait in (*CHARTED, None):
            known = [(one, value) for one in mine if (value := _charted(one, trait)) is not None]
            if len(known) >= FEWEST:
                values = tuple(value for _, value in known)
                of = tuple(one for one, _ in known)
                found.append(TraitChart(maker, trait, values, of, individuals(values)))
    return tuple(found)


def _charted(piece: PieceTraits, trait: Trait | None) -> float | None:
    return piece.minutes if trait is None else piece.value(trait)


# --- what is odd besides -------------------------------------------------------------------------


def _usual_minutes(pieces: Sequence[PieceTraits]) -> float | None:
    known = [one.minutes for one in pieces if one.minutes]
    return median(known) if len(known) > _FEWEST_OTHERS else None


def _oddities(
    piece: PieceTraits,
    reference: PieceTraits | None,
    pieces: Sequence[PieceTraits],
    usual: float | None,
) -> tuple[Oddity, ...]:
    """Return what is odd besides the traits; tight and loose rows only explain other things."""
    like = reference if reference is not None and reference.piece else _middle_one(pieces)
    found: list[Oddity] = []
    planned = reference.stitches if reference is not None else None
    if like is None and piece.stitches and planned and piece.stitches != planned:
        found.append(Oddity(Odd.STITCHES, piece.stitches - planned))
    if like is not None and like != piece:
        if piece.stitches and like.stitches and piece.stitches != like.stitches:
            found.append(Oddity(Odd.STITCHES, piece.stitches - like.stitches))
        found += _parts(piece, like)
    found += _needles(piece, like)
    found += _lots(piece, like)
    if usual is not None and piece.minutes:
        if piece.minutes > _SLOW * usual:
            found.append(Oddity(Odd.SLOW, round(piece.minutes - usual)))
        elif piece.minutes < usual / _SLOW:
            found.append(Oddity(Odd.QUICK, round(piece.minutes - usual)))
    for odd, rows in ((Odd.TIGHT, piece.tight), (Odd.LOOSE, piece.loose)):
        if found and rows:
            found.append(Oddity(odd, len(rows), rows[0]))
    return tuple(found)


def _middle_one(pieces: Sequence[PieceTraits]) -> PieceTraits | None:
    """Return a piece with the usual number of rows, to compare the parts with."""
    known = [one for one in pieces if one.rows is not None]
    if len(known) < _FEWEST_OTHERS:
        return None
    usual = median(one.rows for one in known if one.rows is not None)
    # Of those with the usual rows the one like most others, so that none of them seems odd.
    near = [one for one in known if abs((one.rows or 0) - usual) < 1] or known
    return max(near, key=lambda one: sum(_made(one) == _made(other) for other in near))


def _made(piece: PieceTraits) -> tuple[object, ...]:
    """Return what a piece was made with."""
    needles = tuple(needle for _, needle in piece.needles)
    return piece.stitches, needles, tuple(sorted({lot for _, lot in piece.lots}))


def _parts(piece: PieceTraits, like: PieceTraits) -> list[Oddity]:
    """Return the parts that have other rows, where both have the same parts."""
    mine, theirs = dict(piece.parts), dict(like.parts)
    if list(mine) != list(theirs) or piece.rows == like.rows:
        return []
    return [
        Oddity(Odd.PART, rows - theirs[title], text=title)
        for title, rows in mine.items()
        if rows != theirs[title]
    ]


def _needles(piece: PieceTraits, like: PieceTraits | None) -> list[Oddity]:
    mine = [needle for _, needle in piece.needles]
    theirs = [needle for _, needle in like.needles] if like is not None else []
    if mine == theirs:
        return []
    changes = [(row, needle) for row, needle in piece.needles if row > 1]
    if changes:
        return [Oddity(Odd.NEEDLE_AT, row=row, text=needle) for row, needle in changes]
    if len(mine) == len(theirs) == 1:
        return [Oddity(Odd.OTHER_NEEDLE, text=mine[0])]
    return []


def _lots(piece: PieceTraits, like: PieceTraits | None) -> list[Oddity]:
    mine = list(dict.fromkeys(lot for _, lot in piece.lots))
    theirs = {lot for _, lot in like.lots} if like is not None else set()
    if len(mine) > 1:
        row = next(row for row, lot in piece.lots if lot == mine[1])
        return [Oddity(Odd.MANY_LOTS, row=row, text=mine[1])]
    if mine and theirs and mine[0] not in theirs:
        return [Oddity(Odd.OTHER_LOT, text=mine[0])]
    return []
