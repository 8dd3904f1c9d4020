"""The ways in: the first start, the four places, and the plan that is taken hold of."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, Any

import pytest
from kivy.tests.common import UnitTestTouch

from app.pieces.values import NewPiece
from engine.quantities import Length, LengthUnit, centimetres
from engine.talk import PlanWide, Screen
from tests.app.at_the_needle import Needle

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from tests.living_window import LivingWindow
    from tests.window_driver import Driver

    Opener = Callable[..., Driver]
    Living = Callable[[], LivingWindow]

pytestmark = pytest.mark.window

SPACE, ESCAPE, RIGHT, DOWN = 32, 27, 275, 274
PLAIN = NewPiece("Plain piece")


@pytest.fixture
def live(tmp_path: Path) -> Iterator[Living]:
    """Return what opens the window on one journal in which nobody has begun a piece."""
    from tests.living_window import LivingWindow  # noqa: PLC0415 (imports Kivy)

    opened: list[LivingWindow] = []

    def open_one() -> LivingWindow:
        while opened:
            opened.pop().close()
        opened.append(LivingWindow(tmp_path / "j.walesong", first=PLAIN))
        opened[0].frames(3)
        return opened[0]

    yield open_one
    while opened:
        opened.pop().close()


def test_the_first_row_after_two_touches(live: Living) -> None:
    """Knit now, row done: nothing is asked, one row counts, and is there at the next start."""
    window = live()
    (welcome,) = window.stage.overlays
    window.tap(welcome.ways["now"])
    window.reach("Row done")
    assert window.settle().number == "2"
    again = live()
    assert (again.settle().title, again.board.view.number) == ("Plain piece", "2")
    assert again.stage.overlays == []


def test_what_was_never_knitted_is_in_no_journal(live: Living) -> None:
    """Who casts on a pattern at the first start has one piece, and no empty one beside it."""
    window = live()
    window.key(50)
    page = window.stage.overlays[-1]
    window.tap(page.choices["Mug sleeve"])
    window.tap(window.button("Cast on"))
    window.settle()
    assert [one.name for one in window.stage.situation.pieces] == ["Mug sleeve"]  # type: ignore[union-attr]
    assert live().settle().title.startswith("Mug sleeve")


@pytest.mark.parametrize(("key", "title"), [(50, "Begin a piece"), (51, "Plan from my swatch")])
def test_each_way_has_its_number(open_window: Opener, key: int, title: str) -> None:
    """The numbers of the ways lead where their touches lead."""
    driver = open_window(situation=Needle("mug-sleeve").situation())
    assert driver.stage.overlays
    driver.key(key)
    assert [page.title for page in driver.stage.overlays] == [title]


def test_four_places_on_the_upper_edge(open_window: Opener) -> None:
    """Each of the four leads to its page, there stands marked, and leads back to the board."""
    driver = open_window(situation=Needle("bottle-sleeve").say("4 rows done").situation())
    top = driver.board.top
    assert [way.title for way in driver.board.ways] == ["This piece", "Pieces", "Begin", "Story"]
    for way in driver.board.ways:
        assert way.top > top - driver.stage.look.mm(6)
        assert min(way.size) >= driver.stage.look.mm(20) - 1
    for name, title in (
        ("Pieces", "Your pieces"),
        ("Begin", "Begin a piece"),
        ("Story", "The story of this piece"),
    ):
        driver.tap(driver.button(name))
        (page,) = driver.stage.overlays
        assert page.title == title
        assert [way.rank for way in page.leads if way.title == name] == ["chosen"]
        driver.tap(next(way for way in page.leads if way.title == "This piece"))
        assert driver.stage.overlays == []


def planned(driver: Driver) -> Any:
    """Open the plan with a swatch put in; return its page."""
    driver.stage.places.go_to(Screen.PLAN)
    page = driver.stage.overlays[-1]
    draft = page.draft
    for key, value in (
        ("stitches", 20),
        ("rows", 28),
        ("width", centimetres(24)),
        ("length", centimetres(18)),
    ):
        draft = draft.with_value(key, value)
    page._take(draft)  # as if it had been touched in
    driver.frames(4)
    return page


def test_the_plan_is_dragged(open_window: Opener) -> None:
    """Its right edge makes it wider, its upper one longer; the sums follow when it is let go."""
    driver = open_window(situation=Needle("mug-sleeve").say("row done").situation())
    page = planned(driver)
    driver.scroll_to(page, page.plan)
    for key, by_cm in (("width", 3.0), ("length", 2.0)):
        view = page.plan
        before = page.draft.numbers[key].cm
        x, y = view.to_window(*view._grips()[key])
        touch = UnitTestTouch(x, y)
        touch.touch_down()
        assert view.held == key
        reach = view.per_cm * by_cm
        touch.touch_move(x + (reach / 2 if key == "width" else 0), y + (reach * (key == "length")))
        touch.touch_up()
        driver.frames(3)
        assert float(page.draft.numbers[key].cm - before) == pytest.approx(by_cm, abs=0.5)
    assert page.outline.inside[0] == "54 stitches"  # 27 cm by 20 to 10 cm


def test_the_plan_by_keys_and_words(open_window: Opener) -> None:
    """Arrow keys change it by half a centimetre, and a width that was said stands there."""
    now = Needle("mug-sleeve").say("row done").situation()
    driver = open_window(situation=now)
    page = planned(driver)
    driver.key(RIGHT)
    driver.key(DOWN)
    assert page.draft.numbers["width"] == Length(Fraction(49, 2), LengthUnit.CM)
    assert page.draft.numbers["length"] == Length(Fraction(35, 2), LengthUnit.CM)
    page.wish(PlanWide(centimetres(30)))
    assert page.outline.inside[0] == "60 stitches"


def test_a_width_that_is_typed_stands_on_the_plan(live: Living) -> None:
    """The words open the plan and change it, all the way through the assistant."""
    window = live()
    window.settle("make it 31 cm wide")
    page = window.stage.overlays[-1]
    assert page.title == "Plan from my swatch"
    assert page.draft.numbers["width"] == centimetres(31)


def test_finishing_is_ticked(live: Living) -> None:
    """The whole piece and the pattern's steps; a touch, a number and words tick and are kept."""
    window = live()
    window.settle("cast on mug sleeve")
    window.settle("yes")
    for said in ("4 rows done", "14 rows done", "this part is done", "yes", "5 rows done", "yes"):
        window.settle(said)
    page = window.stage.overlays[-1]
    assert [step.words for step in page.view.steps] == [
        "Sew the side seam with a gap for the handle",
        "Weave in the ends",
        "Wash and dry flat",
    ]
    assert page.drawings[0][0].view.fabric.off
    window.key(49)
    window.settle("step 3 is done")
    assert [step.done for step in page.view.steps] == [True, False, True]
    window.scroll_to(page, page.steps[0])
    window.tap(page.steps[0])
    window.settle()
    assert [step.done for step in page.view.steps] == [False, False, True]
    window.settle("step 9 is done")
    again = live()
    again.settle("show the finishing")
    page = again.stage.overlays[-1]
    assert [step.done for step in page.view.steps] == [False, False, True]
