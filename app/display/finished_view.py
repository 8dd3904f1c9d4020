"""What is shown of a piece that is finished: its size beside its plan, and what is left to do."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from app.session.finishing import FinishingStep, steps_of
from engine.facts.stated_gauge import read_stated_gauge
from engine.facts.swatches import finished_gauge
from engine.plan.rounding import length_in, worked_out
from engine.quantities import Length, LengthUnit

if TYPE_CHECKING:
    from app.display.screen_words import ScreenWording
    from engine.pattern import Course
    from engine.state import PieceState

_NEAR_CM: Final = 0.5
_NEAR_LONG_CM: Final = 1.0
_LONG_CM: Final = 30.0
"""So near is the same: 0.5 cm up to 30 cm, 1 cm beyond it (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Compared:
    """A measure beside its plan, each None where it is not known; `words` says it all."""

    key: str
    reached: Length | None
    planned: Length | None
    words: str
    short: str
    """The same beside an arrow; "" where nothing is known."""
    off: bool
    """Whether it is farther from its plan than hands and rulers differ."""


@dataclass(frozen=True, slots=True)
class FinishedView:
    """All that is shown of a finished piece beside its drawing."""

    name: str
    made: str
    measures: tuple[Compared, ...]
    steps: tuple[FinishingStep, ...]

    @property
    def left(self) -> int:
        """How many steps are not done yet."""
        return sum(not step.done for step in self.steps)


def finished_view(
    state: PieceState, course: Course, words: ScreenWording, unit: LengthUnit | None = None
) -> FinishedView:
    """Return what is shown of a piece; lengths in `unit`, or as they were measured."""
    made = words("finished", "rows", rows=state.done)
    if state.cast_on:
        made = words("finished", "rows_of", rows=state.done, count=state.cast_on)
    read = [one.length for one in state.lengths if not one.aside and one.row >= state.done]
    wide = [one.width for one in state.widths if not one.aside]
    found = (
        ("length", read[-1] if read else None, state.target or course.target),
        ("width", wide[-1] if wide else None, _planned_width(state, course)),
    )
    measures = tuple(_compared(key, got, plan, words, unit) for key, got, plan in found)
    return FinishedView(state.name, made, measures, steps_of(state))


def _planned_width(state: PieceState, course: Course) -> Length | None:
    """Return how wide the cast-on is by the washed swatch, else by the gauge of the pattern."""
    own, stated = finished_gauge(state), read_stated_gauge(course.gauge)
    stitches = stated.stitches_per_10cm if stated is not None else None
    if own is not None and own.stitches is not None:
        stitches = own.stitches.per_cm * 10
    if not state.cast_on or not stitches:
        return None
    return worked_out(Length(state.cast_on / stitches * 10, LengthUnit.CM))


def _compared(
    key: str,
    reached: Length | None,
    planned: Length | None,
    words: ScreenWording,
    unit: LengthUnit | None,
) -> Compared:
    name = words("finished", key)
    goal = length_in(planned, unit or (reached.unit if reached else None)) if planned else None
    if reached is None:
        said = words("finished", "not_measured" if goal else "unknown", name=name, planned=goal)
        short = words("finished", "planned", planned=goal) if goal else ""
        return Compared(key, None, planned, said, short, off=False)
    read = length_in(reached, unit)
    if planned is None or goal is None:
        said = words("finished", "read", name=name, read=read)
        return Compared(key, reached, None, said, str(read), off=False)
    apart = float(reached.to(LengthUnit.CM).value - planned.to(LengthUnit.CM).value)
    near = _NEAR_CM if float(planned.to(LengthUnit.CM).value) <= _LONG_CM else _NEAR_LONG_CM
    off = abs(apart) > near
    verdict = ("over" if apart > 0 else "under") if off else "as_planned"
    said = words("finished", verdict, name=name, read=read, planned=goal)
    return Compared(key, reached, planned, said, str(read), off=off)
