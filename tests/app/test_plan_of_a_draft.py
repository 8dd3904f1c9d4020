"""What the planner answers while a piece is begun on the screen."""

from __future__ import annotations

import pytest

from app.pieces.planned_pattern import stitch_patterns
from app.session.draft import Draft, new_piece_of, plan_of, wrong_with
from engine.quantities import centimetres


def draft(stitches: int, rows: int, **more: str) -> Draft:
    """Return a draft of a piece of 24 by 8 cm with this swatch to 10 cm."""
    values = (("stitches", stitches), ("rows", rows), ("width", centimetres(24)))
    return Draft(values=(*values, ("length", centimetres(8)), *more.items()))


def test_a_swatch_the_wrong_way_round_is_asked_about_first() -> None:
    """28 stitches and 20 rows: the question stands before the plan, 20 and 28 are planned."""
    assert plan_of(draft(28, 20))[0].endswith("Is it the other way round?")
    assert plan_of(draft(20, 28))[0] == "Cast on 48 stitches."


def test_a_swatch_that_cannot_be_has_no_plan() -> None:
    """200 stitches and 2 rows are of no swatch: one sentence, and nothing to cast on."""
    (only,) = plan_of(draft(200, 2))
    assert "cannot be of one swatch" in only


@pytest.mark.parametrize(
    ("needle", "wrong"),
    [("US 7", False), ("4.5", False), ("uk 7", False), ("US 17", True), ("77 mm", True)],
)
def test_needles_by_number_are_read_on_the_screen(needle: str, wrong: bool) -> None:  # noqa: FBT001
    """A number that names one needle is taken, one that names two is asked about."""
    assert bool(wrong_with("needle", needle)) is wrong
    if not wrong:
        assert plan_of(draft(20, 28, needle=needle))[0] == "Cast on 48 stitches."


def test_a_stitch_pattern_is_begun_with_its_rows() -> None:
    """With a stitch pattern put in, the plan takes its multiple and the piece has its rows."""
    ribbed = draft(20, 28, stitch="2x2 rib")
    lines = plan_of(ribbed)
    assert lines[0] == "Cast on 50 stitches, a multiple of 4 plus 2."
    assert lines[-1] == "Its rows are written in 2x2 rib."
    new = new_piece_of(ribbed, plain_name="Plain piece", taken=(), count_every=12)
    assert (new.cast_on, new.name) == (50, "Plain piece")
    assert new.pattern is not None
    assert "Row 1 (RS): *k2, p2; rep from * to last 2 sts, k2" in new.pattern


def test_a_stitch_pattern_that_cannot_be_written_is_said_and_not_begun() -> None:
    """Without a size, or over a cast-on that it does not fill: a sentence, and nothing is begun."""
    open_size = Draft(values=(("stitch", "garter"),))
    assert not open_size.ready()
    assert open_size.trouble == "To write garter as rows, put in your swatch, width and length."
    own = draft(20, 28, stitch="2x2 rib").with_value("cast_on", 51)
    assert not own.ready()
    assert "50 or 54 would be" in own.trouble
    assert plan_of(own)[-1] == own.trouble
    assert wrong_with("stitch", "moss") == own_words("moss")


def own_words(name: str) -> str:
    """Return the sentence of the table for a name that means two things."""
    return stitch_patterns().doubtful[name]
