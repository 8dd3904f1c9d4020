"""A plan in words, as the terminal prints it: lengths in both units, caveats where they belong."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, assert_never

from engine.plan.gauge import GaugeAdvice, GaugeMatch
from engine.plan.piece import Caveat, PiecePlan
from engine.plan.rounding import companion, worked_out
from engine.plan.shaping import Counting, EvenSpacing, Layout, Rate, ShapingTimes
from engine.plan.tables import CategoryAnswer, CategoryFit, FibreCare, NeedleSize
from engine.plan.yarn import Basis
from engine.quantities import Length, LengthUnit, number_text

if TYPE_CHECKING:
    from collections.abc import Iterator

    from engine.plan.wish import Wish
    from engine.plan.yarn import YarnNeed

_IMPERIAL = {LengthUnit.IN, LengthUnit.YD}


def both(length: Length) -> str:
    """Write a length in its own unit with the other system's beside it: "24 cm (9 1/2 in)"."""
    ruler = LengthUnit.IN if length.unit in _IMPERIAL else LengthUnit.CM
    other = companion(length.to(ruler), fine=True)
    return f"{worked_out(length, fine=True)} ({other})"


def counted(number: int, one: str, many: str | None = None) -> str:
    """Write a number with its word: "1 row", "50 stitches"."""
    return f"{number} {one if number == 1 else many or one + 's'}"


def percent(value: Fraction | float) -> str:
    """Write a share as whole per cent, without a sign."""
    return f"{abs(float(value)) * 100:.0f} %"


def piece_lines(plan: PiecePlan, wish: Wish) -> Iterator[str]:
    """Give the lines of a plan."""
    yield from _width_lines(plan, wish)
    yield from _length_lines(plan)
    if plan.match is not None:
        yield from _match_lines(plan.match, plan.other_needle)
    if plan.category is not None:
        yield _category_line(plan.category)
    yield from _yarn_lines(plan, wish)
    for caveat in plan.caveats:
        yield f"Note: {caveat_words(caveat)}"


def _width_lines(plan: PiecePlan, wish: Wish) -> Iterator[str]:
    cast_on = plan.cast_on
    fitted = ""
    if wish.multiple and (wish.multiple.of > 1 or wish.multiple.plus):
        plus = f" plus {wish.multiple.plus}" if wish.multiple.plus else ""
        fitted = f", a multiple of {wish.multiple.of}{plus}"
    yield f"Cast on {counted(cast_on.stitches, 'stitch', 'stitches')}{fitted}."
    edge = ""
    if cast_on.edge_stitches:
        taken = counted(cast_on.edge_stitches, "edge stitch", "edge stitches")
        edge = f", without the {taken} that the seam takes"
    yield f"Finished width {both(cast_on.width)}{edge}; wanted {both(cast_on.wanted)}."
    if cast_on.others:
        others = " or ".join(f"{count} for {both(width)}" for count, width in cast_on.others)
        yield f"The nearest others: {others}."
    if plan.width_in_hand is not None:
        yield f"Before the wash that width reads {both(plan.width_in_hand)}."


def _length_lines(plan: PiecePlan) -> Iterator[str]:
    length = plan.length
    rows = counted(length.rows, "row")
    yield f"Work {rows}: {both(length.length)} finished; wanted {both(length.wanted)}."
    if length.in_hand is not None:
        yield f"Before the wash the ruler reads {both(length.in_hand)} for them."


def _match_lines(match: GaugeMatch, other: NeedleSize | None) -> Iterator[str]:
    more = "more" if match.stitch_difference > 0 else "fewer"
    off = f"{percent(match.stitch_difference)} {more} stitches than the pattern"
    to = f", that is {number_text(other.mm)} mm" if other else ""
    step = f"{number_text(match.needle_step_mm)} mm"
    match match.advice:
        case GaugeAdvice.AS_PATTERN:
            yield "The swatch fits the pattern's gauge."
        case GaugeAdvice.ROWS_ONLY:
            rows = "more" if match.row_difference > 0 else "fewer"
            yield (
                f"The stitches fit, but there are {percent(match.row_difference)} {rows} rows: go "
                "by the ruler, not by the pattern's rows, and work the shaping out again."
            )
        case GaugeAdvice.NEEDLE_UP:
            yield (
                f"The swatch has {off}: it is tighter and the piece would come out narrower. "
                f"Try a needle {step} thicker{to}, and swatch again."
            )
        case GaugeAdvice.NEEDLE_DOWN:
            yield (
                f"The swatch has {off}: it is looser and the piece would come out wider. "
                f"Try a needle {step} thinner{to}, and swatch again."
            )
        case GaugeAdvice.OTHER_YARN:
            yield (
                f"The swatch has {off}: too far for another needle alone. Take a yarn nearer to "
                "the pattern's, and swatch again."
            )
        case _:
            assert_never(match.advice)


def _category_line(answer: CategoryAnswer) -> str:
    names = [f"{category.number} ({category.name})" for category in answer.categories]
    match answer.fit:
        case CategoryFit.ONE:
            return f"By its stitches the yarn is of category {names[0]}."
        case CategoryFit.SEVERAL:
            return f"By its stitches the yarn could be of category {' or '.join(names)}."
        case CategoryFit.BETWEEN:
            return f"By its stitches the yarn lies between categories {' and '.join(names)}."
        case CategoryFit.FINER_THAN_ALL:
            return f"By its stitches the yarn is finer than any category; nearest is {names[0]}."
        case _:
            assert_never(answer.fit)


def _metres(need: YarnNeed, wish: Wish) -> str:
    """Write the yarn in metres, with yards first where plan or ball are in inches or yards."""
    metres = _range(f"{need.low_m:.0f}", f"{need.high_m:.0f}", "m")
    units = {wish.width.unit, wish.length.unit, *([wish.ball.length.unit] if wish.ball else [])}
    if not units & _IMPERIAL:
        return metres
    ends = (Length(Fraction(end), LengthUnit.M) for end in (need.low_m, need.high_m))
    low, high = (number_text(companion(end).value) for end in ends)
    return f"{_range(low, high, 'yd')}, {metres}"


def _range(low: str, high: str, unit: str) -> str:
    """Write two ends, or the one figure that they are."""
    return f"about {low} {unit}" if low == high else f"{low} to {high} {unit}"


def _yarn_lines(plan: PiecePlan, wish: Wish) -> Iterator[str]:
    need = plan.need
    if need is None:
        return
    basis = {
        Basis.LOOP_GEOMETRY: "from the gauge alone, for stockinette; ribs and cables take more",
        Basis.WEIGHED_SWATCH: "from the weighed swatch",
    }[need.basis]
    yield f"Yarn: {_metres(need, wish)} ({basis})."
    if plan.buy is not None:
        yield f"Take {counted(plan.buy.balls, 'ball')} of one dye lot: enough with a tenth in hand."


def caveat_words(caveat: Caveat) -> str:
    """Return the sentence for a caveat."""
    match caveat:
        case Caveat.NOT_WASHED:
            return "the swatch was not washed; the finished piece will differ. Wash the swatch."
        case Caveat.NOT_COUNTED_UNWASHED:
            return (
                "the swatch was not counted before its wash, so what to read on the needle is "
                "not known."
            )
        case Caveat.WIDTH_OFF:
            return "no cast-on that fits comes nearer than half a centimetre to the width wanted."
        case Caveat.LOTS_MIXED:
            return (
                "the balls are of different dye lots; knit them in turn, two rows each, or keep "
                "one for the rib."
            )
        case Caveat.YARN_SHORT:
            return "the balls in hand may not be enough."
        case _:
            assert_never(caveat)


def care_lines(fibres: tuple[FibreCare, ...]) -> Iterator[str]:
    """Give the care of the fibres named on the band; the label on the yarn goes first."""
    for fibre in fibres:
        felting = " It felts with heat, wet and rubbing, for good." if fibre.felts else ""
        yield f"Care of {fibre.name}: wash {fibre.wash}; dry {fibre.dry}.{felting}"
    if fibres:
        yield "The label on the yarn goes first; with several fibres, the mildest of them."


def rate_lines(rate: Rate) -> Iterator[str]:
    """Give the shaping, naming how it is counted and on which side it falls."""
    if rate.shapings == 0:
        still = counted(rate.stitches_from, "stitch stays as it is", "stitches stay as they are")
        yield f"{still} for {counted(rate.rows, 'row')}."
        return
    change = "decrease" if rate.stitches_to < rate.stitches_from else "increase"
    following = rate.counting is Counting.NEXT_AND_FOLLOWING
    said = ["on the next row"] if following else []
    for step in rate.steps:
        said.append(_step_words(step, first=not said))
    steps = ", then ".join(said)
    yield f"From {rate.stitches_from} to {rate.stitches_to}: {change} {steps}."
    if not following and any(step.every > 1 < step.times for step in rate.steps):
        yield '(Counted so that "every 4th row" is three plain rows and one that shapes.)'
    if rate.right_side_only:
        yield "Row 1 of these is a right-side row, and so is every row that shapes."
    shaping = counted(rate.shapings, "shaping row")
    each = counted(rate.per_shaping, "stitch", "stitches")
    yield f"That is {shaping} of {each} in {counted(rate.rows, 'row')}."
    if rate.left_over:
        left = counted(rate.left_over, "plain row is", "plain rows are")
        yield f"{left} left at the end."


def _step_words(step: ShapingTimes, *, first: bool) -> str:
    """Say "every 4th row 5 times" as a person does where it is every row, or once."""
    if step.times == 1:
        if not first:
            return f"once more {counted(step.every, 'row')} later"
        return "on the next row" if step.every == 1 else f"on the {_ordinal(step.every)} row"
    if step.every == 1:
        return f"in each of the next {step.times} rows" if first else f"{step.times} rows in turn"
    return f"every {_ordinal(step.every)} row {step.times} times"


def spacing_line(spacing: EvenSpacing) -> str:
    """Give one evenly spaced row, naming its layout."""
    layouts = {
        Layout.BETWEEN: "flat, a plain section at both ends",
        Layout.CENTRED: "flat, half a section at both ends",
        Layout.ROUND: "in the round",
    }
    gaps = ", ".join(str(gap) for gap in spacing.gaps)
    rest = f", {spacing.rest} left after the last" if spacing.rest else ""
    kind = "increase" if spacing.stitches_after > spacing.stitches_before else "decrease"
    return (
        f"{spacing.stitches_before} to {spacing.stitches_after} ({layouts[spacing.layout]}): "
        f"plain stitches before each {kind}: {gaps}{rest}."
    )


def _ordinal(number: int) -> str:
    if number % 100 in {11, 12, 13}:
        return f"{number}th"
    return f"{number}{ {1: 'st', 2: 'nd', 3: 'rd'}.get(number % 10, 'th') }"
