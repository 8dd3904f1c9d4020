"""Nothing that is wanted now is hidden: yes and no, the arrow, the stitch count, the way to go."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from app.session.settings import Settings
from tests.app.at_the_needle import Needle

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.window_driver import Driver

    Opener = Callable[..., Driver]

pytestmark = pytest.mark.window
TAB, ESCAPE = 9, 27


@pytest.mark.parametrize("screen", ["desktop", "tablet", "phone", "phone on its side"])
def test_yes_and_no_stand_above_the_line(open_window: Opener, screen: str) -> None:
    """While a question stands, the line to type into hides neither answer; closed, all is back."""
    needle = Needle("bottle-sleeve").say("20 rows done", "i'm really on row 18")
    driver = open_window(situation=needle.situation(), screen=screen)
    driver.key(TAB)
    driver.frames(3)
    line = driver.stage.overlays[-1]
    for title in ("Yes", "No"):
        assert driver.button(title).y >= line.top - 1, title
    driver.tap(driver.button("Yes"))
    assert driver.hands.submitted[-1][0].name == "yes"
    driver.key(ESCAPE)
    driver.frames(2)
    assert driver.board.y == 0
    assert driver.board.height == driver.stage.stage.height


@pytest.mark.parametrize("screen", ["desktop", "laptop", "tablet", "phone on its side"])
def test_a_wrong_side_keeps_its_arrow(open_window: Opener, screen: str) -> None:
    """The arrow stands beside "wrong side", on one line with it."""
    driver = open_window(situation=Needle().say("9 rows done").situation(), screen=screen)
    driver.frames(3)
    lines = [
        "".join(run.words for run in line.runs) for line in driver.board.ids.place.flowed.lines
    ]
    assert "wrong\u00a0side\u00a0\N{RIGHTWARDS ARROW}" in lines
    assert driver.board.ids.place.fits


@pytest.mark.parametrize(
    ("screen", "scale"),
    [("phone on its side", 1.0), ("phone on its side", 2.0), ("phone", 2.0), ("desktop", 2.0)],
)
def test_count_and_way_to_go_are_never_lost(open_window: Opener, screen: str, scale: float) -> None:
    """The stitch count and how far it is are on every board, at any text size."""
    driver = open_window(
        situation=Needle().say("9 rows done").situation(),
        screen=screen,
        settings=Settings(text_scale=scale),
    )
    driver.frames(3)
    ids = driver.board.ids
    seen = ""
    for name in ("place", "notes", "tape_words"):
        if ids[name].height > 1:
            assert ids[name].fits, name
            seen += " ".join(span.words for span in ids[name].all_spans)
    assert "54 stitches" in seen
    assert "16.5 cm" in seen
