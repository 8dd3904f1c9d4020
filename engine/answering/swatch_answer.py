"""What is answered when a swatch was counted: the counts, and how they fit the pattern's gauge."""

from __future__ import annotations

from typing import TYPE_CHECKING, assert_never

from engine.fabric import Fabric
from engine.facts.swatches import match_to_pattern
from engine.plan.gauge import TEN_CM, GaugeAdvice, GaugeMatch
from engine.quantities import Length, LengthUnit
from engine.replies import Reply, Say, Tone, reply

if TYPE_CHECKING:
    from engine.commands import CountSwatch
    from engine.pattern import Course
    from engine.state import PieceState


def swatch_counted(state: PieceState, course: Course, command: CountSwatch) -> tuple[Reply, ...]:
    """Read the counts back, and say what to do where the pattern states another gauge."""
    fabric = command.fabric or Fabric.WASHED
    match = match_to_pattern(state, course, fabric)
    return (_noted(command, fabric), *((_advice(match),) if match is not None else ()))


def _noted(command: CountSwatch, fabric: Fabric) -> Reply:
    length = command.length or TEN_CM
    stitches, rows = command.stitches or 0, command.rows or 0
    if not rows:
        return reply(
            Say.SWATCH_STITCHES, Tone.HEARD, stitches=stitches, length=length, fabric=fabric
        )
    if not stitches:
        return reply(Say.SWATCH_ROWS, Tone.HEARD, rows=rows, length=length, fabric=fabric)
    return reply(
        Say.SWATCH_NOTED, Tone.HEARD, stitches=stitches, rows=rows, length=length, fabric=fabric
    )


def _advice(match: GaugeMatch) -> Reply:
    percent = round(abs(match.stitch_difference) * 100)
    step = Length(match.needle_step_mm, LengthUnit.MM)
    match match.advice:
        case GaugeAdvice.AS_PATTERN:
            return reply(Say.GAUGE_FITS)
        case GaugeAdvice.ROWS_ONLY:
            rows = round(abs(match.row_difference) * 100)
            return reply(Say.GAUGE_ROWS_DIFFER, percent=rows)
        case GaugeAdvice.NEEDLE_UP:
            return reply(Say.GAUGE_NEEDLE_UP, percent=percent, length=step)
        case GaugeAdvice.NEEDLE_DOWN:
            return reply(Say.GAUGE_NEEDLE_DOWN, percent=percent, length=step)
        case GaugeAdvice.OTHER_YARN:
            return reply(Say.GAUGE_OTHER_YARN, percent=percent)
        case _:
            assert_never(match.advice)
