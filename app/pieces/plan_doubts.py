"""What is asked before a plan is believed: one sentence for each doubt."""

from __future__ import annotations

from typing import TYPE_CHECKING

from app.pieces.plan_words import both, counted, percent
from engine.plan.believable import About, doubts, gauge_doubts, refuse_gauge
from engine.quantities import number_text

if TYPE_CHECKING:
    from collections.abc import Iterator

    from engine.plan.believable import PlanDoubt
    from engine.plan.gauge import Gauge, Swatch
    from engine.plan.wish import Wish


def doubt_lines(wish: Wish) -> Iterator[str]:
    """Give a question for everything in a wish that no hand knits."""
    for doubt in doubts(wish):
        yield _question(doubt, wish)


def swatch_question(swatch: Swatch) -> str:
    """Return a question, or a refusal, about a swatch that can hardly be; "" if it can."""
    for gauge in (swatch.washed, swatch.unwashed):
        if gauge is None:
            continue
        try:
            refuse_gauge(gauge)
        except ValueError as error:
            return str(error)
        for doubt in gauge_doubts(gauge):
            return _gauge_question(doubt.about, gauge)
    return ""


def _gauge_question(about: About, gauge: Gauge) -> str:
    said = _gauge_text(gauge)
    if about is About.SWAPPED:
        return f"{said}: rows are usually more than stitches. Is it the other way round?"
    if about is About.SHAPE:
        return f"{said}: stitches are hardly ever of that shape. Were they counted right?"
    which = "finer than the thinnest" if about is About.TOO_FINE else "coarser than the thickest"
    return f"{said} is {which} needles knit. Were they counted right?"


def _question(doubt: PlanDoubt, wish: Wish) -> str:
    if doubt.gauge is not None:
        return _gauge_question(doubt.about, doubt.gauge)
    match doubt.about:
        case About.EDGES:
            edges = counted(wish.edge_stitches, "edge stitch", "edge stitches")
            return f"{edges}: a seam takes one or two on each side. Are there so many?"
        case About.EASE:
            off = wish.width.cm / wish.around.cm - 1 if wish.around else 0.0
            word = "larger" if off > 0 else "smaller"
            return f"That is {percent(off)} {word} than what it goes around. Is that meant?"
        case About.SIZE:
            return f"{both(wish.width)} by {both(wish.length)} is very large. Is that meant?"
        case About.BALL:
            return f"A ball of {wish.ball.mass if wish.ball else ''} is very heavy. Is that meant?"
        case About.YARN:
            return "That band's yarn is much too thick or thin for the swatch. Is it that yarn?"
        case About.WEIGHED:
            return "The swatch weighs much more or less than its stitches can. Is the weight right?"
        case About.BALLS:
            return f"{wish.have} balls in hand: are there so many?"
        case other:
            raise ValueError(f"A doubt about {other} needs a gauge.")


def _gauge_text(gauge: Gauge) -> str:
    """Write a gauge as it was counted: "28 stitches and 20 rows to 10 cm"."""
    stitches, rows = gauge.stitches, gauge.rows
    over = f" to {stitches.over}" if stitches.over == rows.over else ""
    wide = "" if over else f" to {stitches.over}"
    high = "" if over else f" to {rows.over}"
    return (
        f"{number_text(stitches.number)} stitches{wide} and "
        f"{number_text(rows.number)} rows{high}{over}"
    )
