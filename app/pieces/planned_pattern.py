"""From a plan and a stitch pattern to a pattern that can be knitted: written, and read again."""

from __future__ import annotations

from typing import TYPE_CHECKING

from app import resources
from app.pieces.pattern_cache import document_to_knit
from engine.compose.planned import PlannedPiece, planned_pattern, said_length
from engine.compose.written_pattern import quoted
from engine.pattern import PatternDocument, PatternError
from engine.plan.gauge import TEN_CM
from engine.plan.rounding import gauge_to_ten_centimetres
from engine.plan.stitch_patterns import StitchPattern, StitchPatterns, read_stitch_patterns
from engine.quantities import number_text

if TYPE_CHECKING:
    from engine.plan.piece import PiecePlan
    from engine.plan.shaping import Rate
    from engine.plan.wish import Wish


def stitch_patterns() -> StitchPatterns:
    """Return the usual stitch patterns."""
    return read_stitch_patterns(resources.text("shared/tables/stitch_patterns.toml"))


def pattern_of_plan(
    title: str,
    plan: PiecePlan,
    wish: Wish,
    stitch: StitchPattern,
    *,
    rate: Rate | None = None,
    in_round: bool = False,
) -> str:
    """
    Return the text of the pattern of a plan, which the reader has counted.

    Raises:
        ValueError: the stitch pattern or the shaping does not fit; the sentence says why.

    """
    piece = PlannedPiece(
        title,
        stitch,
        plan.cast_on.stitches,
        plan.cast_on.edge_stitches,
        plan.length.rows,
        said_length(plan.length.length),
        rate,
        in_round,
    )
    text = planned_pattern(piece, _head(wish, stitch))
    document = document_to_knit(text)
    if not isinstance(document, PatternDocument):
        raise ValueError(f"What comes out cannot be read: {document[0]}")  # noqa: TRY004 (no type)
    try:
        problems = document.course().problems
    except PatternError as error:
        problems = (error.problem,)
    if problems:
        raise ValueError(f"What comes out does not add up: {problems[0]}")
    return text


def _head(wish: Wish, stitch: StitchPattern) -> list[str]:
    gauge = wish.swatch.finished
    counts = (gauge.stitches.per(TEN_CM), gauge.rows.per(TEN_CM))
    sts, rows = (number_text(gauge_to_ten_centimetres(count)) for count in counts)
    state = gauge.fabric.value.replace("_", " ")
    head = [f"gauge = {quoted(f'{sts} sts and {rows} rows to 10 cm in {stitch.name}, {state}')}"]
    if wish.needle_mm is not None:
        head.append(f"needle = {quoted(f'{number_text(wish.needle_mm)} mm')}")
    return head
