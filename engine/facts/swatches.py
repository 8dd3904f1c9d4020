"""
The knitter's own swatch, as it was counted: what it says of rows, stitches and yarn.

Counts on one needle are of one swatch; of several counts in the same state the last one holds. A
swatch stands for the parts in its own stitch. What she counted goes before what the pattern states.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING, Final

from engine.events import SwatchCounted, SwatchWeighed
from engine.fabric import Fabric
from engine.facts.needles import needle_at, needle_name
from engine.facts.part_stitch import swatched_stitch
from engine.facts.stated_gauge import read_stated_gauge
from engine.forecast.tension import SwatchGauge
from engine.forecast.values import PATTERN_SPREAD, SWATCH_SPREAD, GaugePrior
from engine.plan.gauge import TEN_CM, Count, Gauge, match_gauge
from engine.plan.pieces import Partner
from engine.quantities import Length, number_text

if TYPE_CHECKING:
    from engine.commands import CountSwatch
    from engine.pattern import Course
    from engine.plan.gauge import GaugeMatch, Swatch
    from engine.quantities import Mass
    from engine.state import PieceState, SwatchWeight

_UNWASHED: Final = (Fabric.RESTED, Fabric.ON_NEEDLE)
"""What is measured on the way; on the needle the fabric hangs by half a per cent, no more."""


@dataclass(frozen=True, slots=True)
class Counted:
    """What was counted of one swatch in one state; None: not counted."""

    needle: str
    fabric: Fabric
    stitches: Count | None
    rows: Count | None


def counted(state: PieceState) -> tuple[Counted, ...]:
    """Return what holds of the swatches: stitches and rows of each, by needle and state."""
    found: dict[tuple[str, Fabric], Counted] = {}
    for one in state.swatch_counts:
        key = (one.needle, one.fabric)
        before = found.pop(key, Counted(one.needle, one.fabric, None, None))
        found[key] = Counted(
            one.needle,
            one.fabric,
            _count(one.stitches, one.stitches_over) or before.stitches,
            _count(one.rows, one.rows_over) or before.rows,
        )
    return tuple(found.values())


def _count(number: Fraction | None, over: Length | None) -> Count | None:
    if number is None or over is None or number <= 0 or over.value <= 0:
        return None
    return Count(number, over)


def in_use(state: PieceState) -> tuple[Counted, ...]:
    """Return what was counted of the swatch on the needle in use, else of the last swatch."""
    known = counted(state)
    needle = needle_at(state, state.working)
    mine = tuple(one for one in known if one.needle == needle)
    if mine or not known:
        return mine
    return tuple(one for one in known if one.needle == known[-1].needle)


def gauges(state: PieceState, course: Course) -> tuple[GaugePrior, ...]:
    """
    Return the row gauges known beforehand: of the swatch, else of the pattern, and of the partner.

    Washed and unwashed counts of one swatch share a source.
    """
    part = swatched_stitch(course)
    found = [
        GaugePrior(
            float(one.rows.per(TEN_CM)),
            one.fabric,
            SWATCH_SPREAD,
            part=part,
            needle=one.needle,
            source=f"swatch {one.needle}".strip(),
        )
        for one in counted(state)
        if one.rows is not None
    ]
    stated = read_stated_gauge(course.gauge)
    if not found and stated is not None and stated.rows_per_10cm is not None:
        rows = float(stated.rows_per_10cm)
        found.append(GaugePrior(rows, stated.fabric, PATTERN_SPREAD, part=part, source="pattern"))
    return (*found, *_of_partner(state))


def _of_partner(state: PieceState) -> tuple[GaugePrior, ...]:
    if state.partner is None:
        return ()
    source = f"partner {state.partner.name}"
    known = (
        Partner(source, one.row, one.length.cm, one.fabric).gauge()
        for one in state.partner.readings
    )
    return tuple(prior for prior in known if prior is not None)


# --- washed and unwashed ------------------------------------------------------------------------


def reads_unwashed(state: PieceState, washed: Length) -> Length | None:
    """
    Return what the ruler reads before the wash for a length that is meant washed.

    Washed 26 rows to 10 cm and unwashed 28, 60 cm read 55.7 cm. None unless the swatch in use was
    counted both ways.
    """
    rows = {one.fabric: one.rows for one in in_use(state) if one.rows is not None}
    before = next((rows[fabric] for fabric in _UNWASHED if fabric in rows), None)
    after = rows.get(Fabric.WASHED)
    if before is None or after is None:
        return None
    return Length(washed.value * after.per_cm / before.per_cm, washed.unit)


def tension_gauges(state: PieceState) -> tuple[SwatchGauge, ...]:
    """Return what the hand is compared with: rows and stitches to 10 cm, by state."""
    found = {
        one.fabric: SwatchGauge(
            one.fabric,
            float(one.rows.per(TEN_CM)),
            float(one.stitches.per(TEN_CM)) if one.stitches else None,
        )
        for one in in_use(state)
        if one.rows is not None
    }
    unwashed = next((found[fabric] for fabric in _UNWASHED if fabric in found), None)
    if unwashed is not None:
        for fabric in _UNWASHED:
            alike = SwatchGauge(fabric, unwashed.rows_per_10cm, unwashed.stitches_per_10cm)
            found.setdefault(fabric, alike)
    return tuple(found.values())


def finished_gauge(state: PieceState) -> Counted | None:
    """Return what is counted of the swatch in use as the piece will be: washed, else unwashed."""
    found = {one.fabric: one for one in in_use(state)}
    for fabric in (Fabric.WASHED, *_UNWASHED):
        if fabric in found:
            return found[fabric]
    return None


def weighed(state: PieceState) -> SwatchWeight | None:
    """Return the weighing of the swatch on the needle in use, else the last one; None: never."""
    needle = needle_at(state, state.working)
    mine = [one for one in state.swatch_weights if one.needle == needle]
    return next(reversed(mine or list(state.swatch_weights)), None)


def as_gauge(one: Counted) -> Gauge | None:
    """Return stitches and rows as a gauge; None unless both were counted."""
    if one.stitches is None or one.rows is None:
        return None
    return Gauge(one.stitches, one.rows, one.fabric)


def match_to_pattern(state: PieceState, course: Course, fabric: Fabric) -> GaugeMatch | None:
    """Hold the swatch in use, as counted in a state, against the gauge that the pattern states."""
    mine = next((one for one in in_use(state) if one.fabric is fabric), None)
    gauge = as_gauge(mine) if mine is not None else None
    stated = read_stated_gauge(course.gauge)
    if gauge is None or stated is None or stated.fabric is not fabric:
        return None
    if not stated.stitches_per_10cm or not stated.rows_per_10cm:
        return None
    wanted = Gauge(
        Count(stated.stitches_per_10cm, TEN_CM), Count(stated.rows_per_10cm, TEN_CM), fabric
    )
    return match_gauge(gauge, wanted)


# --- into the journal ---------------------------------------------------------------------------


def count_event(state: PieceState, command: CountSwatch) -> SwatchCounted:
    """Return the event that keeps what the knitter has just counted."""
    return counted_over(
        command.stitches,
        command.rows,
        command.length or TEN_CM,
        command.fabric or Fabric.WASHED,
        needle_name(None, command.text) or known_needle(state),
    )


def counted_over(
    stitches: int | None, rows: int | None, over: Length, fabric: Fabric, needle: str = ""
) -> SwatchCounted:
    """Return the event that keeps counts over one length."""
    return SwatchCounted(
        stitches=None if stitches is None else Fraction(stitches),
        stitches_over=None if stitches is None else over,
        rows=None if rows is None else Fraction(rows),
        rows_over=None if rows is None else over,
        fabric=fabric,
        needle=needle,
    )


def known_needle(state: PieceState) -> str:
    """Return the needle in use by the knitter's own name for it; "" if she named none."""
    needle = needle_at(state, state.working)
    named = {change.needle for change in state.needles}
    named |= {count.needle for count in state.swatch_counts}
    return needle if needle in named else ""


def swatch_events(
    swatch: Swatch | None,
    needle_mm: Fraction | None = None,
    weight: tuple[Mass, int, int] | None = None,
) -> tuple[SwatchCounted | SwatchWeighed, ...]:
    """
    Return the events that keep a swatch of a plan with the piece that is begun from it.

    `weight` is that of the whole swatch, with its stitches and its rows.
    """
    needle = f"{number_text(needle_mm)} mm" if needle_mm is not None else ""
    happened: list[SwatchCounted | SwatchWeighed] = []
    if swatch is not None:
        happened += [
            SwatchCounted(
                gauge.stitches.number,
                gauge.stitches.over,
                gauge.rows.number,
                gauge.rows.over,
                gauge.fabric,
                needle,
            )
            for gauge in (swatch.unwashed, swatch.washed)
            if gauge is not None
        ]
    if weight is not None:
        happened.append(SwatchWeighed(*weight, needle))
    return tuple(happened)
