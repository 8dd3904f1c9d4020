"""The hands at work on the board: another picture at every move, large, on every screen."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

import pytest

from app.session.settings import Settings, YarnHand
from tests.app.at_the_needle import Needle

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.window_driver import Driver

    Opener = Callable[..., Driver]

pytestmark = pytest.mark.window


def lines(driver: Driver) -> list[list[float]]:
    """Return every line that the picture of the hands is drawn of."""
    from kivy.graphics import Line  # noqa: PLC0415 (only in a window)

    return [one.points for one in driver.board.ids.hands.canvas.children if isinstance(one, Line)]


@pytest.mark.parametrize("screen", ["desktop", "phone", "tablet"])
def test_the_hands_have_the_board_while_a_stitch_is_shown(open_window: Opener, screen: str) -> None:
    """The picture takes the place of number, fabric and tape, and the next row gives it back."""
    needle = Needle("bottle-sleeve").say("7 rows done", "how do i knit")
    driver = open_window(situation=needle.situation(), screen=screen)
    ids = driver.board.ids
    assert ids.hands.height > driver.board.height / 4
    assert ids.fabric.opacity == ids.numeral.opacity == 0
    assert ids.instruction.y + ids.instruction.height <= ids.hands.y + ids.hands.height
    driver.show(needle.say("row done").situation())
    assert ids.hands.opacity == 0
    assert ids.numeral.opacity == 1


def test_every_move_draws_another_picture_within_its_place(open_window: Opener) -> None:
    """In, round, through and off are four pictures, and none is drawn over the words."""
    needle = Needle("bottle-sleeve").say("7 rows done", "how do i knit")
    driver = open_window(situation=needle.situation())
    seen = []
    for _ in range(5):
        seen.append(lines(driver))
        hands = driver.board.ids.hands
        xs = [x for points in seen[-1] for x in points[::2]]
        ys = [y for points in seen[-1] for y in points[1::2]]
        assert hands.x <= min(xs) <= max(xs) <= hands.right
        assert hands.y <= min(ys) <= max(ys) <= hands.top
        driver.show(needle.say("next bit").situation())
    assert all(one != two for one, two in itertools.pairwise(seen))


def test_hands_are_drawn_as_she_knits(open_window: Opener) -> None:
    """Left-handed it is the mirror image; with the yarn in the other hand another picture."""
    now = Needle("bottle-sleeve").say("7 rows done", "how do i knit", "next bit").situation()
    drawn = {}
    for name, settings in (
        ("right", Settings()),
        ("mirrored", Settings(left_handed=True)),
        ("other hand", Settings(yarn_hand=YarnHand.LEFT)),
    ):
        driver = open_window(situation=now, settings=settings)
        middle = driver.board.ids.hands.center_x
        drawn[name] = [[x - middle for x in points[::2]] for points in lines(driver)]
    right, mirrored = drawn["right"], drawn["mirrored"]
    assert [[-x for x in points] for points in mirrored] == [pytest.approx(one) for one in right]
    assert drawn["other hand"] != right
