"""A row that grows on the needle: short, only where it tells something, and never in the way."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest

from app.session.settings import Settings
from app.window.motion import LASTS_S, eased, stillness_wanted
from tests.app.at_the_needle import Needle

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from tests.window_driver import Driver

    Opener = Callable[..., Driver]

A_MOMENT = LASTS_S / 3


def moving(driver: Driver) -> bool:
    """Whether the fabric asks for frames."""
    from kivy.clock import Clock  # noqa: PLC0415 (only in a window)

    move = driver.board.ids.fabric.__self__._move
    return any(event.get_callback() == move for event in Clock.get_events())


def fabric(driver: Driver) -> Any:
    """Return the drawing of the knitting."""
    return driver.board.ids.fabric


def test_no_motion_lasts_longer_than_a_fifth_of_a_second() -> None:
    """It begins fast, ends slowly, and is over within 200 ms."""
    assert LASTS_S <= 0.2
    assert eased(0.0) == 0.0
    assert 0.5 < eased(LASTS_S / 2) < 1.0
    assert eased(LASTS_S) == eased(9.0) == 1.0


@pytest.mark.window
def test_a_row_grows_while_its_number_stands_there(open_window: Opener) -> None:
    """The next number is shown at once; the fabric sinks by one row and then asks for no frame."""
    needle = Needle("bottle-sleeve").say("9 rows done")
    driver = open_window(situation=needle.situation())
    driver.stage.look.moves = True
    driver.frames(2)
    assert not moving(driver)
    driver.stage.show(needle.say("row done").situation())
    assert driver.board.view.number == driver.board.ids.numeral.words == "11"
    fabric(driver)._redraw()
    assert moving(driver)
    heights = [fabric(driver)._lift.y]
    again = True
    for _ in range(3):
        again = fabric(driver)._move(A_MOMENT)
        heights.append(fabric(driver)._lift.y)
    assert heights == sorted(heights, reverse=True)
    assert heights[0] > heights[1] > heights[-1] == 0
    assert again is False


@pytest.mark.window
@pytest.mark.parametrize("words", ["ripped back one row", "4 rows done", "which row now"])
def test_nothing_else_moves(open_window: Opener, words: str) -> None:
    """What takes rows away, many rows at once and questions move nothing."""
    needle = Needle("bottle-sleeve").say("9 rows done")
    driver = open_window(situation=needle.situation())
    driver.stage.look.moves = True
    driver.stage.show(needle.say(words).situation())
    assert not moving(driver)


@pytest.mark.window
def test_motion_is_switched_off_in_the_settings(open_window: Opener) -> None:
    """With motion off a row is just there."""
    needle = Needle("bottle-sleeve").say("9 rows done")
    driver = open_window(situation=needle.situation(), settings=Settings(motion=False))
    driver.stage.show(needle.say("row done").situation())
    assert not moving(driver)
    driver.stage.places._choose(replace(Settings(), motion=True))
    driver.stage.show(needle.say("row done").situation())
    assert moving(driver) is driver.stage.look.moves


@pytest.mark.window
def test_a_repeat_that_closes_shines_for_a_moment(open_window: Opener) -> None:
    """The last row of a repeat lights its rows; the light goes out with the motion."""
    needle = Needle("bottle-sleeve").say("8 rows done")
    views = []
    driver = open_window(situation=needle.situation())
    driver.stage.look.moves = True
    for _ in range(2):
        driver.stage.show(needle.say("row done").situation())
        fabric(driver)._redraw()
        views.append((driver.board.view.closes, fabric(driver)._glow is not None))
    assert sorted(views) == [(0, False), (2, True)]
    if fabric(driver)._glow is not None:
        fabric(driver)._move(LASTS_S)
        assert fabric(driver)._glow.a == 0


@pytest.mark.parametrize(
    ("version", "line", "still"),
    [
        ("gtk-3.0", "gtk-enable-animations=0", True),
        ("gtk-4.0", "gtk-enable-animations = false", True),
        ("gtk-4.0", "gtk-enable-animations=1", False),
        ("gtk-3.0", "gtk-theme-name=Plain", False),
    ],
)
def test_a_desktop_that_asks_for_stillness_is_heard(
    tmp_path: Path, version: str, line: str, *, still: bool
) -> None:
    """What GTK's settings say of animations holds for Walesong, too."""
    (tmp_path / version).mkdir()
    (tmp_path / version / "settings.ini").write_text(f"[Settings]\n{line}\n", encoding="utf-8")
    assert stillness_wanted(tmp_path) is still
    assert not stillness_wanted(tmp_path / "nothing here")
