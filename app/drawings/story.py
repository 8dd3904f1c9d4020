"""The story of a piece as values: length against rows, what was felt and noted; no Kivy here."""

from __future__ import annotations

from dataclasses import dataclass
from math import floor, log10
from typing import TYPE_CHECKING

from engine.answering.hand_answer import report
from engine.answering.yarn_answer import weighings, yarn_forecast
from engine.facts.distance import RowsExactly, distance, target
from engine.facts.work import rows_needed
from engine.forecast.pace import usual_row
from engine.forecast.values import RowsLeft
from engine.forecast.yarn import YarnForecast
from engine.plan.rounding import length_in
from engine.quantities import LengthUnit

if TYPE_CHECKING:
    from collections.abc import Sequence

    from engine.forecast.pace import RowStamp
    from engine.pattern import Course
    from engine.state import PieceState


@dataclass(frozen=True, slots=True)
class Point:
    """A length read after a row; `aside`: the fabric under it was ripped back."""

    row: int
    length: float
    aside: bool = False


@dataclass(frozen=True, slots=True)
class Story:
    """
    Length against rows, in `unit`.

    `cone` is the first and the last row at which the piece may be long enough (None: not to be
    said); `felt` are rows with how tight (1), loose (-1) or even (0) they felt, `noted` rows
    with something to read below.
    """

    unit: LengthUnit
    points: tuple[Point, ...]
    done: int
    target: float | None
    cone: tuple[int, int] | None
    felt: tuple[tuple[int, int], ...]
    noted: tuple[int, ...]

    @property
    def last_row(self) -> int:
        """The last row that the chart has to show."""
        rows = [self.done, *(point.row for point in self.points), 10]
        return max([*rows, self.cone[1] if self.cone else 0])

    @property
    def longest(self) -> float:
        """The greatest length that the chart has to show."""
        return max([*(point.length for point in self.points), self.target or 0.0, 1.0])

    @property
    def last(self) -> Point | None:
        """The last length that still holds."""
        holding = [point for point in self.points if not point.aside]
        return holding[-1] if holding else None


@dataclass(frozen=True, slots=True)
class Curve:
    """
    Something against rows: what was seen, a smooth line through it, and a band around the line.

    `points` are (row, value); `band` is (row, low, high); `reach` are the rows between which the
    value comes to nothing (the yarn is used up), None if that is not known. `felt` and `noted` are
    as in a `Story`.
    """

    points: tuple[tuple[int, float], ...]
    smooth: tuple[tuple[int, float], ...] = ()
    band: tuple[tuple[int, float, float], ...] = ()
    reach: tuple[int, int] | None = None
    needed: int | None = None
    done: int = 0
    felt: tuple[tuple[int, int], ...] = ()
    noted: tuple[int, ...] = ()

    @property
    def last_row(self) -> int:
        """The last row that the drawing has to show."""
        rows = [10, self.done, self.needed or 0, *(row for row, _ in self.points)]
        rows += [row for row, _ in self.felt]
        return max([*rows, self.reach[1] if self.reach else 0])


def felt_in(state: PieceState) -> tuple[tuple[int, int], ...]:
    """Return the rows with how they felt: tight (1), loose (-1) or even (0)."""
    return tuple((one.row, _FEEL[one.feel.value]) for one in state.hand)


def noted_in(state: PieceState) -> tuple[int, ...]:
    """Return the rows with something to read about them."""
    return tuple(sorted({note.row for note in state.notes}))


def hand_curve(state: PieceState, course: Course) -> Curve | None:
    """
    Return by how many per cent the fabric is looser (+) or tighter (-) than the swatch.

    None where nothing can be drawn: no swatch to compare with and nothing felt.
    """
    found = report(state, course)
    felt, noted = felt_in(state), noted_in(state)
    if found is None:
        return Curve((), done=state.done, felt=felt, noted=noted) if felt else None
    points = found.points
    return Curve(
        points=tuple((one.look.row, one.look.deviation * 100) for one in points),
        smooth=tuple((one.look.row, one.smooth * 100) for one in points),
        band=tuple((one.look.row, one.low * 100, one.high * 100) for one in points),
        done=state.done,
        felt=felt,
        noted=noted,
    )


def yarn_curve(state: PieceState, course: Course, scale_g: float | None = None) -> Curve | None:
    """
    Return the yarn that is left, in grams, and how far it reaches; None if never weighed.

    `scale_g` is the step of the scale in grams; None: it is learnt.
    """
    seen = weighings(state)
    if not seen:
        return None
    found, needed = yarn_forecast(state, course, scale_g), rows_needed(state, course)
    reach = (
        (state.done + found.low, state.done + found.high)
        if isinstance(found, YarnForecast)
        else None
    )
    return Curve(
        points=tuple((one.row, one.grams) for one in seen),
        reach=reach,
        needed=state.done + needed[1] if needed is not None else None,
        done=state.done,
    )


def hours_curve(stamps: Sequence[RowStamp], done: int) -> tuple[Curve, str] | None:
    """
    Return the knitting time against rows and its unit ("min" or "h"); None if it is not known.

    What lies between two tellings counts as knitting, but never longer than a row may take at the
    usual pace with a pause: nights and meals are no knitting.
    """
    usual = usual_row(stamps)
    if usual is None:
        return None
    points, seconds, highest = [(0, 0.0)], 0.0, 0
    last: RowStamp | None = None
    for stamp in stamps:
        rows = max(stamp.row - highest, 0)
        if not rows:
            last = stamp
            continue
        took = rows * usual
        if last is not None and last.writer == stamp.writer:
            took = min(stamp.seconds - last.seconds, rows * usual * _WITH_PAUSES)
        seconds += max(took, 0.0)
        highest, last = stamp.row, stamp
        points.append((highest, seconds))
    unit, size = ("h", 3600.0) if seconds >= _IN_HOURS_S else ("min", 60.0)
    scaled = tuple((row, value / size) for row, value in points if row <= max(done, 1))
    return Curve(points=scaled, done=done), unit


_WITH_PAUSES = 3.0
_IN_HOURS_S = 5400.0
_FEEL = {"tight": 1, "loose": -1, "even": 0}


def story_of(state: PieceState, course: Course, chosen: LengthUnit | None = None) -> Story:
    """Return the story of a piece up to now; in the unit that was chosen, or as was measured."""
    wanted = target(state, course)
    from_row = wanted.from_row if wanted else 0
    fitting = [one for one in state.lengths if one.from_row == from_row]
    told = [one.length.unit for one in fitting] or ([wanted.length.unit] if wanted else [])
    unit = chosen or (told[-1] if told else LengthUnit.CM)
    ahead = distance(state, course)
    cone = None
    if isinstance(ahead, RowsLeft):
        cone = (state.done + ahead.low, state.done + ahead.high)
    elif isinstance(ahead, RowsExactly):
        cone = (state.done + ahead.rows, state.done + ahead.rows)
    return Story(
        unit=unit,
        points=tuple(
            Point(one.row, float(one.length.to(unit).value), one.aside) for one in fitting
        ),
        done=state.done,
        target=float(length_in(wanted.length, unit).value) if wanted else None,
        cone=cone,
        felt=felt_in(state),
        noted=noted_in(state),
    )


def round_step(reach: float, parts: int = 5) -> float:
    """Return a round distance (1, 2 or 5 times a power of ten) that divides a reach."""
    rough = max(reach / parts, 1e-9)
    power = 10 ** floor(log10(rough))
    for times in (1, 2, 5, 10):
        if times * power >= rough:
            return float(times * power)
    return float(10 * power)
