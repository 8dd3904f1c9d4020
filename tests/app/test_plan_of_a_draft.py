"""What the planner answers while a piece is begun on the screen."""

from __future__ import annotations

import pytest

from app.session.draft import Draft, plan_of, wrong_with
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
