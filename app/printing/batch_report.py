"""The report on pieces that are to be alike, and on their order: for somebody who did not knit."""

from __future__ import annotations

import csv
import io
from decimal import Decimal
from operator import attrgetter
from typing import TYPE_CHECKING, Final

from app.pieces import batch_words as words
from app.pieces.order_words import order_lines
from app.pieces.order_words import table as order_table
from app.printing.piece_plots import band_plot, limits_plot
from app.printing.report import Report, ReportPart, ReportTable
from engine.batch.alike import CHARTED
from engine.batch.costs import costs_of
from engine.batch.tolerance import allowed, holding
from engine.stages import Trait

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from app.pieces.order_view import OrderView
    from app.printing.shapes import Drawing
    from engine.batch.alike import Batch, PieceBeside, TraitChart
    from engine.batch.costs import Costs, Prices
    from engine.quantities import LengthUnit

    _Write = Callable[[float], str]

_HEAD: Final = (
    "Piece", "Rows", "Length", "Width", "Weight", "Stitches to 10 cm", "Rows to 10 cm", "Minutes",
)  # fmt: skip
_READ: Final = (
    "Each dot is a piece, in the order in which they were made; a ring is one that is not like the "
    "others. The grey band is how far a piece may be off and still be the same."
)
_FEWEST_DRAWN: Final = 2


def batch_report(
    batches: Sequence[Batch], order: OrderView | None, made: str, prices: Prices | None = None
) -> Report:
    """Return the report; `made` is the day on which it is made; with `prices` the costs, too."""
    title = order.state.name if order is not None else batches[0].title
    parts = [_order_part(order)] if order is not None else []
    parts += [_part(one) for one in batches if one.pieces]
    if prices is not None:
        parts.append(_costs_part([one for one in batches if one.pieces], prices))
    return Report(title, made, tuple(parts))


def _order_part(order: OrderView) -> ReportPart:
    table = order_table(order)
    lines = [one for one in order_lines(order) if one and one not in table]
    return ReportPart("The order", tuple(lines), (_order_counts(order),))


def _order_counts(order: OrderView) -> ReportTable:
    rows = [
        (
            one.line.title,
            str(one.line.count),
            str(one.line.spares),
            str(one.knitted),
            str(one.packed),
            str(one.rejected),
        )
        for one in order.lines
    ]
    head = ("Pieces", "Ordered", "Spares", "Knitted", "Packed", "Rejected")
    return ReportTable(head, tuple(rows))


def _part(batch: Batch) -> ReportPart:
    unit = words.unit_of(batch)
    odd = [one for one in batch.pieces if one.odd]
    beside = f"Beside {words.name_of(batch.reference)}." if batch.reference is not None else ""
    told = [words.odd_line(one, unit) for one in odd] or ["None is odd."]
    sentences = [f"{len(batch.pieces)} pieces off the needles.", beside, words.wanted_line(batch)]
    charts = [line for chart in batch.charts for line in words.chart_lines(chart, unit)]
    return ReportPart(
        batch.title,
        tuple(one for one in (*sentences, *told, *charts, words.makers_line(batch)) if one),
        (ReportTable(_HEAD, tuple(_row(one, unit) for one in batch.pieces)),),
        tuple(_drawings(batch, unit)),
        (_READ, words.CHART_SOURCE) if batch.charts else (_READ,),
    )


def _row(one: PieceBeside, unit: LengthUnit) -> tuple[str, ...]:
    cells = [words.name_of(one.traits) + (" *" if one.odd else "")]
    for trait in Trait:
        value = one.traits.value(trait)
        cells.append("" if value is None else words.said(trait, value, unit))
    minutes = one.traits.minutes
    return (*cells, "" if minutes is None else f"{minutes:.0f}")


def _short(one: PieceBeside, place: int) -> str:
    return str(one.traits.number or place + 1)


def _drawings(batch: Batch, unit: LengthUnit) -> list[Drawing]:
    wanted, found = dict(batch.wanted), []
    for trait in CHARTED:
        known = [
            (_short(one, place), value, any(off.trait is trait for off in one.beyond))
            for place, one in enumerate(batch.pieces)
            if (value := one.traits.value(trait)) is not None
        ]
        if len(known) >= _FEWEST_DRAWN:
            band = None
            if trait in wanted:
                off = allowed(holding(trait, wanted[trait], unit, batch.own), wanted[trait])
                band = wanted[trait] - off, wanted[trait], wanted[trait] + off
            title = words.NAMES[trait].capitalize()
            found.append(band_plot(title, known, band, _writer(trait, unit)))
    timed = [
        (_short(one, place), one.traits.minutes, False)
        for place, one in enumerate(batch.pieces)
        if one.traits.minutes is not None
    ]
    if len(timed) >= _FEWEST_DRAWN:
        found.append(band_plot("Minutes at the needles", timed, None, lambda n: f"{n:.0f} min"))
    for chart in batch.charts:
        if not chart.chart.coarse:
            found += _chart(chart, unit)
    return found


def _writer(trait: Trait | None, unit: LengthUnit) -> _Write:
    if trait is None:
        return lambda number: f"{number:.0f} min"
    return lambda number: words.fine(trait, number, unit)


def _chart(one: TraitChart, unit: LengthUnit) -> list[Drawing]:
    what = "minutes" if one.trait is None else words.NAMES[one.trait]
    maker = f", {one.maker}" if one.maker else ""
    told = {signal.place for signal in one.chart.signals}
    names = [str(piece.number or place + 1) for place, piece in enumerate(one.pieces)]
    values = [(names[at], value, at in told) for at, value in enumerate(one.values)]
    ranges = [
        (names[at], value, value > one.chart.range_high)
        for at, value in enumerate(one.chart.ranges, 1)
    ]
    chart, write = one.chart, _writer(one.trait, unit)
    return [
        limits_plot(
            f"Chart of {what}{maker}", values, (chart.low, chart.centre, chart.high), write
        ),
        limits_plot(
            f"From piece to piece: {what}{maker}",
            ranges,
            (None, chart.mean_range, chart.range_high),
            write,
        ),
    ]


# --- costs ----------------------------------------------------------------------------------------

_COST_HEAD: Final = ("Count", "Yarn", "Hours", "Together", "Margin", "Price", "Each")
_COST_NOTE: Final = (
    "Yarn is what the pieces weigh, without ends, swatches and rejected pieces; hours are those at "
    "the needles, without finishing. Taxes are not in it."
)


def _costs_part(batches: Sequence[Batch], prices: Prices) -> ReportPart:
    each = [(one, costs_of([piece.traits for piece in one.pieces], prices)) for one in batches]
    money = prices.currency.plain
    rows = [(one.title, str(len(costs.pieces)), *_amounts(costs)) for one, costs in each]
    if len(each) > 1:
        sums = [
            sum((part(costs) for _, costs in each), Decimal(0))
            for part in (_yarn, _hours, _whole, _margin, _price)
        ]
        count = str(sum(len(costs.pieces) for _, costs in each))
        rows.append(("together", count, *map(money, sums), ""))
    return ReportPart(
        "What it costs",
        tuple(cost_sentences(each, prices)),
        (ReportTable((f"In {prices.currency.code}", *_COST_HEAD), tuple(rows)),),
        notes=(_COST_NOTE,),
    )


def cost_sentences(each: Sequence[tuple[Batch, Costs]], prices: Prices) -> Iterator[str]:
    """Give the prices that were entered, and of which pieces something is not known."""
    money = prices.currency.said
    if prices.yarn is not None:
        yield f"Yarn: {money(prices.yarn[0])} for {prices.yarn[1]}."
    if prices.hour is not None:
        yield f"An hour: {money(prices.hour)}."
    if prices.margin is not None:
        yield f"Margin: {(prices.margin * 100).normalize():f} %."
    for one, costs in each:
        if prices.yarn is not None and all(piece.yarn is None for piece in costs.pieces):
            yield f"{one.title}: none was weighed, so the yarn is not in it."
        if prices.hour is not None and all(piece.hours is None for piece in costs.pieces):
            yield f"{one.title}: none was timed, so the hours are not in it."
        if costs.reckoned:
            yield (
                f"{one.title}: {costs.reckoned} of {len(costs.pieces)} were not weighed or timed; "
                "they are reckoned by the mean of the others."
            )


def _amounts(costs: Costs) -> tuple[str, ...]:
    amounts = (costs.yarn, costs.hours, costs.whole, costs.margin, costs.price, costs.each)
    return tuple(map(costs.prices.currency.plain, amounts))


_yarn, _hours, _whole, _margin, _price = (
    attrgetter(name) for name in ("yarn", "hours", "whole", "margin", "price")
)


# --- lines for a table program --------------------------------------------------------------------

_CSV_HEAD: Final = (
    "batch", "piece", "number", "maker", "made", "rows", "stitches", "length_cm", "width_cm",
    "weight_g", "stitches_to_10_cm", "rows_to_10_cm", "minutes", "needles", "dye_lots", "odd",
)  # fmt: skip


def batch_csv(batches: Sequence[Batch], prices: Prices | None = None) -> str:
    """
    Return a line a piece (RFC 4180), lengths in centimetres and weights in grams.

    With `prices` there are three columns more; what is reckoned by the others is left empty.
    """
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow([*_CSV_HEAD, *(("yarn_cost", "hours_cost", "currency") if prices else ())])
    for batch in batches:
        unit = words.unit_of(batch)
        for one in batch.pieces:
            row = _csv_row(batch, one, unit)
            if prices is not None:
                row += _csv_costs(one, prices)
            writer.writerow([*map(_harmless, row)])
    return out.getvalue()


def _csv_costs(one: PieceBeside, prices: Prices) -> list[str]:
    (cost,) = costs_of([one.traits], prices).pieces
    return [*("" if part is None else str(part) for part in (cost.yarn, cost.hours)),
            prices.currency.code]  # fmt: skip


def _harmless(cell: str) -> str:
    """Return a cell that no table program takes for a formula."""
    return f"'{cell}" if cell[:1] in {"=", "+", "-", "@"} else cell


def _csv_row(batch: Batch, one: PieceBeside, unit: LengthUnit) -> list[str]:
    traits = one.traits
    numbers = [
        traits.value(trait)
        for trait in (Trait.LENGTH, Trait.WIDTH, Trait.WEIGHT, Trait.STITCH_GAUGE, Trait.ROW_GAUGE)
    ]
    return [
        batch.title,
        traits.name,
        str(traits.number or ""),
        traits.maker,
        traits.ended,
        str(traits.rows or ""),
        str(traits.stitches or ""),
        *("" if number is None else f"{number:.2f}" for number in numbers),
        "" if traits.minutes is None else f"{traits.minutes:.0f}",
        "; ".join(f"{needle} from row {row}" for row, needle in traits.needles),
        "; ".join(lot for _, lot in traits.lots),
        words.odd_line(one, unit) if one.odd else "",
    ]
