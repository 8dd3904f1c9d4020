"""Pieces that are to be alike, in words: what is wanted, what each is, what is odd about one."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, Final

from app.pieces.plan_words import counted
from engine.batch.alike import Odd
from engine.batch.control import FEWEST, Rule
from engine.batch.tolerance import allowed, holding
from engine.plan.rounding import worked_out
from engine.quantities import Length, LengthUnit, number_text
from engine.stages import Trait

if TYPE_CHECKING:
    from engine.batch.alike import Batch, Oddity, PieceBeside, TraitChart
    from engine.batch.piece_traits import PieceTraits
    from engine.batch.tolerance import Difference

NAMES: Final = {
    Trait.ROWS: "rows",
    Trait.LENGTH: "length",
    Trait.WIDTH: "width",
    Trait.WEIGHT: "weight",
    Trait.STITCH_GAUGE: "stitches to 10 cm",
    Trait.ROW_GAUGE: "rows to 10 cm",
}
_MORE: Final = {
    Trait.ROWS: ("more", "fewer"),
    Trait.LENGTH: ("longer", "shorter"),
    Trait.WIDTH: ("wider", "narrower"),
    Trait.WEIGHT: ("heavier", "lighter"),
    Trait.STITCH_GAUGE: ("more", "fewer"),
    Trait.ROW_GAUGE: ("more", "fewer"),
}
RULES: Final = {
    Rule.BEYOND_LIMIT: "beyond the limit",
    Rule.TWO_OF_THREE: "two of three in a row beyond two sigma on one side",
    Rule.FOUR_OF_FIVE: "four of five in a row beyond one sigma on one side",
    Rule.EIGHT_ON_ONE_SIDE: "eight in a row on one side of the middle",
    Rule.RANGE: "a jump from the piece before beyond the limit of the ranges",
}
CHART_SOURCE: Final = (
    "Limits: NIST/SEMATECH e-Handbook 6.3.2.2 (mean range / 1.128, three sigma; ranges: 3.267 "
    "times their mean). Run rules: Western Electric (1956), as in 6.3.2 there. Where nothing has "
    "changed one of them is still broken about once in ninety pieces (Champ and Woodall, 1987)."
)
_INCHES: Final = {LengthUnit.IN, LengthUnit.YD}
_FINE: Final = {True: Fraction(1, 8), False: Fraction(1, 10)}


def unit_of(batch: Batch) -> LengthUnit:
    """Return the unit in which she measures these pieces."""
    known = [batch.reference] if batch.reference is not None else []
    known += [one.traits for one in batch.pieces]
    return next((one.unit for one in known if one.length or one.width), LengthUnit.CM)


def said(trait: Trait, value: float, unit: LengthUnit) -> str:
    """Write a trait in her unit: "8.1 cm", "12.1 g", "22"."""
    if trait in {Trait.LENGTH, Trait.WIDTH}:
        return length_said(value, unit)
    if trait is Trait.WEIGHT:
        return f"{value:.1f} g"
    return f"{value:.0f}" if trait is Trait.ROWS else f"{value:.1f}"


def length_said(cm: float, unit: LengthUnit) -> str:
    """Write centimetres in her unit, to eighths of an inch or tenths of a centimetre."""
    if unit in _INCHES:
        inches = round(Fraction(cm) / Fraction(254, 100) / Fraction(1, 8)) * Fraction(1, 8)
        return f"{number_text(inches, LengthUnit.IN)} in"
    return f"{cm:.1f} cm"


def name_of(piece: PieceTraits) -> str:
    """Return what a piece is called here: by number and name, and who made it."""
    made = f" ({piece.maker})" if piece.maker else ""
    return f"{piece.name}{made}"


def wanted_line(batch: Batch) -> str:
    """Say what the pieces are held against, and how far each trait may be off."""
    unit = unit_of(batch)
    parts = []
    for trait, value in batch.wanted:
        off = allowed(holding(trait, value, unit, batch.own), value)
        if trait in {Trait.LENGTH, Trait.WIDTH}:
            tolerance = holding(trait, value, unit, batch.own).length
            room = str(worked_out(tolerance, fine=True)) if tolerance is not None else "nothing"
        elif trait is Trait.WEIGHT:
            room = f"{off:.1f} g"
        else:
            room = f"{off:g}"
        rest = " (the middle of them)" if trait in batch.from_rest else ""
        parts.append(
            f"{NAMES[trait]} {said(trait, value, unit)}{rest}"
            + (f" ± {room}" if off else ", equal")
        )
    return "Wanted: " + "; ".join(parts) + "." if parts else "Nothing is known to compare with."


def difference_words(one: Difference, unit: LengthUnit) -> str:
    """Say by how much a trait is off: "2 rows more (52 for 50)", "0.7 cm longer"."""
    more = _MORE[one.trait][0 if one.by > 0 else 1]
    pair = f"({said(one.trait, one.mine, unit)} for {said(one.trait, one.wanted, unit)})"
    if one.trait is Trait.ROWS:
        return f"{counted(round(abs(one.by)), 'row')} {more} {pair}"
    if one.trait in {Trait.STITCH_GAUGE, Trait.ROW_GAUGE}:
        return f"{abs(one.by):.1f} {more} {NAMES[one.trait]} {pair}"
    return f"{said(one.trait, abs(one.by), unit)} {more} {pair}"


def oddity_words(one: Oddity) -> str:
    """Say what else is odd: "2 of them in the body", "another needle from row 30: 5 mm"."""
    match one.odd:
        case Odd.STITCHES:
            return f"{counted(abs(one.by), 'stitch', 'stitches')} {_more(one.by)} cast on"
        case Odd.PART:
            return f"{counted(abs(one.by), 'row')} {_more(one.by)} in the part {one.text!r}"
        case Odd.NEEDLE_AT:
            named = f": {one.text}" if one.text else ""
            return f"new needle at row {one.row}{named}"
        case Odd.OTHER_NEEDLE:
            return f"another needle: {one.text}"
        case Odd.OTHER_LOT:
            return f"another dye lot: {one.text}"
        case Odd.MANY_LOTS:
            return f"another dye lot from row {one.row}: {one.text}"
        case Odd.TIGHT:
            return f"felt tight in {counted(one.by, 'row')}, first in row {one.row}"
        case Odd.LOOSE:
            return f"felt loose in {counted(one.by, 'row')}, first in row {one.row}"
        case Odd.SLOW:
            return f"took {one.by} minutes longer than usual"
        case Odd.QUICK:
            return f"took {-one.by} minutes less than usual"


def _from_parts(parts: list[Oddity]) -> str:
    """Say from which parts more or fewer rows come."""
    if len(parts) == 1:
        return f", from the part {parts[0].text!r}"
    return "".join(f", {_signed(one.by)} in {one.text!r}" for one in parts)


def _signed(by: int) -> str:
    return f"{by:+d}".replace("-", "\N{MINUS SIGN}")


def _more(by: int) -> str:
    return "more" if by > 0 else "fewer"


def odd_line(one: PieceBeside, unit: LengthUnit) -> str:
    """Say what is odd about a piece, in one line."""
    parts = [odd for odd in one.oddities if odd.odd is Odd.PART]
    from_parts = _from_parts(parts)
    rows_told = any(off.trait is Trait.ROWS for off in one.beyond)
    beyond = [
        difference_words(off, unit) + (from_parts if off.trait is Trait.ROWS else "")
        for off in one.beyond
    ]
    besides = [oddity_words(odd) for odd in one.oddities if not rows_told or odd not in parts]
    return f"{name_of(one.traits)}: {'; '.join([*beyond, *besides])}."


def chart_lines(one: TraitChart, unit: LengthUnit) -> list[str]:
    """Say what a chart says: its middle, its limits, and the pieces that break a rule."""
    trait, chart = one.trait, one.chart
    what = "minutes" if trait is None else NAMES[trait]
    maker = f" by {one.maker}" if one.maker else ""

    def value(number: float) -> str:
        return f"{number:.0f} min" if trait is None else fine(trait, number, unit)

    head = f"Chart of {what}, {len(one.values)} pieces{maker}: "
    if chart.coarse:
        return [f"{head}read in steps too coarse for limits; tolerances only."]
    head += f"middle {value(chart.centre)}, limits {value(chart.low)} to {value(chart.high)}"
    if not chart.signals:
        return [f"{head}; all within, no rule broken."]
    told: dict[int, list[str]] = {}
    for signal in chart.signals:
        told.setdefault(signal.place, []).append(RULES[signal.rule])
    return [
        f"{head}.",
        *(f"  {one.pieces[place].name}: {', '.join(rules)}." for place, rules in told.items()),
    ]


def fine(trait: Trait, number: float, unit: LengthUnit) -> str:
    """Write a limit more finely than a reading: a limit is no reading."""
    if trait is Trait.WEIGHT:
        return f"{number:.2f} g"
    if unit in _INCHES:
        return f"{number / 2.54:.2f} in"
    return f"{number:.2f} cm"


def makers_line(batch: Batch) -> str:
    """Say of whom there are too few pieces for a chart; "" if of nobody."""
    made: dict[str, int] = {}
    for one in batch.pieces:
        made[one.traits.maker] = made.get(one.traits.maker, 0) + 1
    few = [f"{maker or 'one maker'}: {many}" for maker, many in made.items() if many < FEWEST]
    if not few:
        return ""
    return f"No chart below {FEWEST} pieces of one maker ({', '.join(few)}): tolerances only."


def batch_lines(batch: Batch) -> list[str]:
    """Return a batch as lines for a terminal: what is wanted, a table, what is odd, the charts."""
    unit = unit_of(batch)
    many = counted(len(batch.pieces), "piece")
    lines = [f"{batch.title}: {many} off the needles."]
    if not batch.pieces:
        return lines
    if batch.reference is not None:
        lines.append(f"Beside {name_of(batch.reference)}.")
    lines += [wanted_line(batch), "", *table(batch), ""]
    odd = [one for one in batch.pieces if one.odd]
    if odd:
        lines.append(f"Odd, {len(odd)} of {len(batch.pieces)}:")
        lines += [f"  {odd_line(one, unit)}" for one in odd]
    else:
        lines.append("None is odd.")
    unmeasured = [one.traits.name for one in batch.pieces if one.traits.length is None]
    if unmeasured:
        lines.append(f"Not measured washed yet: {', '.join(unmeasured)}.")
    for chart in batch.charts:
        lines += chart_lines(chart, unit)
    if batch.charts:
        lines.append(CHART_SOURCE)
    few = makers_line(batch)
    return [*lines, few] if few else lines


_HEAD: Final = ("piece", "rows", "length", "width", "weight", "sts/10", "rows/10", "min", "")


def table(batch: Batch) -> list[str]:
    """Return a line a piece with what is known of it; a star marks an odd one."""
    unit = unit_of(batch)
    rows: list[tuple[str, ...]] = [_HEAD]
    for one in batch.pieces:
        cells = [name_of(one.traits)]
        for trait in Trait:
            value = one.traits.value(trait)
            cells.append("-" if value is None else said(trait, value, unit))
        minutes = one.traits.minutes
        cells.append("-" if minutes is None else f"{minutes:.0f}")
        rows.append((*cells, "*" if one.odd else ""))
    wide = [max(len(row[at]) for row in rows) for at in range(len(_HEAD))]
    return [
        "  ".join(
            cell.ljust(wide[at]) if at == 0 else cell.rjust(wide[at]) for at, cell in enumerate(row)
        ).rstrip()
        for row in rows
    ]


def tolerance_words(trait: Trait, length: Length | None, number: Fraction | None) -> str:
    """Say what a tolerance that was just set is."""
    if length is not None:
        return f"{NAMES[trait]} may differ by {length}"
    if number is None:
        return f"{NAMES[trait]} have to be equal"
    unit = {Trait.WEIGHT: " %", Trait.ROWS: " rows"}.get(trait, "")
    return f"{NAMES[trait]} may differ by {number_text(number)}{unit}"
