"""A plan becomes a pattern: its rows, worked stitch by stitch by hand, are the fabric."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.pieces.pattern_cache import document_of
from app.pieces.planned_pattern import stitch_patterns
from engine.compose.planned import PlannedPiece, planned_pattern
from engine.pattern import Course, PatternDocument
from engine.plan.shaping import Counting, Rate, shaping_rate
from engine.quantities import centimetres
from tests.engine.plan_by_hand import Stitches

if TYPE_CHECKING:
    from engine.plan.stitch_patterns import StitchPattern

NAMES = [one.name for one in stitch_patterns().known]


def course_of(text: str) -> Course:
    """Return the course that the reader makes of a pattern; it has to add up."""
    document = document_of(text)
    assert isinstance(document, PatternDocument), (document, text)
    course = document.course()
    assert not course.problems, (course.problems, text)
    return course


def planned(
    stitch: StitchPattern,
    cast_on: int,
    *,
    edges: int = 0,
    rate: Rate | None = None,
    rows: int = 60,
    in_round: bool = False,
) -> PlannedPiece:
    """Return a planned piece of 20 cm."""
    length = centimetres(20)
    return PlannedPiece("Try", stitch, cast_on, edges, rows, length, rate, in_round)


def worked(piece: PlannedPiece) -> Stitches:
    """Work its first 60 rows by hand, as the course gives them."""
    course = course_of(planned_pattern(piece))
    needle = Stitches([[] for _ in range(piece.cast_on)], piece.in_round)
    for row in range(1, 61):
        place = course.where({}, row)
        needle.work(str(place.instruction))
        assert len(needle.columns) == place.after
    return needle


@pytest.mark.parametrize("in_round", [False, True])
@pytest.mark.parametrize("name", NAMES)
def test_every_stitch_pattern_gives_its_fabric(name: str, *, in_round: bool) -> None:
    """Column by column and row by row the right side shows what the table draws."""
    stitch = stitch_patterns().named(name)
    edges = 0 if in_round else 2
    legal = stitch.multiple(edges, in_round=in_round)
    piece = planned(stitch, legal.of * 6 + legal.plus, edges=edges, in_round=in_round)
    columns = worked(piece).columns
    outside = piece.edges_outside // 2
    body = columns[outside : len(columns) - outside]
    for number, column in enumerate(body):
        drawn = [row[number % len(row)] for row in stitch.rows]
        assert column == (drawn * 60)[:60], (name, number)


def test_the_words_of_the_common_ones() -> None:
    """The fabrics by their first two rows, as the trade writes them (common practice)."""
    for name, cast_on, first, second in (
        ("garter", 20, "k to end", "k to end"),
        ("stockinette", 20, "k to end", "p to end"),
        ("1x1 rib", 21, "*k1, p1; rep from * to last st, k1", "*p1, k1; rep from * to last st, p1"),
        ("2x2 rib", 22, "*k2, p2; rep from * to last 2 sts, k2",
         "*p2, k2; rep from * to last 2 sts, p2"),
        ("seed", 21, "*k1, p1; rep from * to last st, k1", "*k1, p1; rep from * to last st, k1"),
        ("broken rib", 21, "k to end", "*p1, k1; rep from * to last st, p1"),
    ):  # fmt: skip
        course = course_of(planned_pattern(planned(stitch_patterns().named(name), cast_on)))
        rows = [str(course.where({}, row).instruction) for row in (1, 2)]
        assert rows == [first, second], name


RIBS = [one for one in stitch_patterns().known if len(one.rows) == 1 and one.of > 1]


@settings(max_examples=40)
@given(st.data())
def test_shaping_keeps_the_columns_of_a_rib(data: st.DataObject) -> None:
    """However a rib is shaped, no column turns from knit to purl, and the count is the planned."""
    stitch, in_round = data.draw(st.sampled_from(RIBS)), data.draw(st.booleans())
    repeats, shapings = data.draw(st.integers(4, 12)), data.draw(st.integers(1, 9))
    sign, ends = data.draw(st.sampled_from([-1, 1])), data.draw(st.sampled_from([1, 2]))
    counting, right_side = data.draw(st.sampled_from(list(Counting))), data.draw(st.booleans())
    edges = 0 if in_round and sign < 0 else 2
    legal = stitch.multiple(edges, in_round=in_round)
    cast_on = legal.of * repeats + legal.plus
    change = sign * ends * shapings
    if cast_on + change < edges + 2 * ends + 2 + ends:
        return
    rate = shaping_rate(
        cast_on, cast_on + change, 40, per_shaping=ends, counting=counting,
        right_side_only=right_side and not in_round,
    )  # fmt: skip
    piece = planned(stitch, cast_on, edges=edges, rate=rate, in_round=in_round)
    columns = worked(piece).columns
    assert len(columns) == cast_on + change
    outside = piece.edges_outside // 2
    for column in columns[outside : len(columns) - outside]:
        since = len(column) - column[::-1].index("") if "" in column else 0
        assert len(set(column[since:])) <= 1, column


def test_what_does_not_fit_is_said() -> None:
    """A cast-on that the repeats do not fill, a shaping from elsewhere or too long, an edge."""
    rib = stitch_patterns().named("2x2 rib")
    for piece, words in (
        (planned(rib, 51), "a multiple of 4 plus 2, which 51 is not; 50 or 54 would be"),
        (planned(rib, 50, rate=shaping_rate(60, 50, 20)), "begins with 60 stitches, and 50 are"),
        (planned(rib, 50, rate=shaping_rate(50, 40, 70)), "takes 70 rows, and the piece has 60"),
        (planned(rib, 50, rate=shaping_rate(50, 60, 20)), "plan with edge stitches"),
        (planned(rib, 50, rate=shaping_rate(50, 38, 20, per_shaping=4)), "one end or both"),
        (planned(rib, 10, rate=shaping_rate(10, 2, 20)), "leaves no stitches"),
    ):
        with pytest.raises(ValueError, match=words):
            planned_pattern(piece)


def test_names_that_mean_two_things_are_asked_about() -> None:
    """Moss is another stitch here than there; a name of no stitch gets those that there are."""
    for name, words in (("Moss stitch", "name seed or double moss"), ("rib", "1x1 rib or 2x2"),
                        ("cable", "there are garter, stockinette")):  # fmt: skip
        with pytest.raises(ValueError, match=words):
            stitch_patterns().named(name)
    assert stitch_patterns().named(" UK  moss ").name == "seed"
