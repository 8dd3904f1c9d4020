"""The board at arm's length, measured in millimetres on the screen."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from app.session.settings import Settings
from app.session.situation import Ear
from tests.app.at_the_needle import Needle

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.window_driver import Driver

    Opener = Callable[..., Driver]

pytestmark = pytest.mark.window
LARGE = ["desktop", "laptop", "tablet", "tablet on its side"]


def capital_mm(driver: Driver, text: Any) -> float:
    """Return how high the capitals of a text are drawn."""
    look = driver.stage.look
    return float(text.flowed.size * look.theme.fonts.capital / look.px_per_mm)


@pytest.mark.parametrize("screen", LARGE)
def test_the_board_is_read_at_arms_length(open_window: Opener, screen: str) -> None:
    """The number is 20 mm high, the instruction 10 and the words of the tape 4 (0.2 for pixels)."""
    driver = open_window(situation=Needle().say("9 rows done").situation(), screen=screen)
    driver.frames(3)
    ids = driver.board.ids
    assert capital_mm(driver, ids.numeral) >= 19.8
    assert capital_mm(driver, ids.instruction) >= 9.8
    assert capital_mm(driver, ids.tape_words) >= 3.8


@pytest.mark.parametrize("screen", LARGE)
def test_larger_text_makes_number_and_row_larger(open_window: Opener, screen: str) -> None:
    """At 200 % the number and the row have grown, and what was heard does not rival the row."""
    now = Needle().say("9 rows done").situation()
    sizes = []
    for scale in (1.0, 2.0):
        driver = open_window(situation=now, screen=screen, settings=Settings(text_scale=scale))
        driver.frames(3)
        ids = driver.board.ids
        sizes.append([capital_mm(driver, one) for one in (ids.numeral, ids.instruction, ids.heard)])
    assert sizes[1][0] > sizes[0][0]
    assert sizes[1][1] > sizes[0][1]
    assert sizes[1][2] < 0.75 * sizes[1][1]


@pytest.mark.parametrize("screen", [*LARGE, "phone"])
def test_the_instruction_stands_under_the_number(open_window: Opener, screen: str) -> None:
    """Nothing lies between the number and the row, and both begin at the same edge."""
    driver = open_window(situation=Needle().say("9 rows done").situation(), screen=screen)
    driver.frames(3)
    ids, mm = driver.board.ids, driver.stage.look.px_per_mm
    assert ids.instruction.x == pytest.approx(ids.numeral.x)
    assert 0 <= ids.numeral.y - ids.instruction.top <= 4 * mm
    assert ids.instruction.valign == "top"


@pytest.mark.parametrize("screen", [*LARGE, "phone", "phone on its side"])
def test_what_the_listening_lacks_is_a_band(open_window: Opener, screen: str) -> None:
    """A lost microphone is a band over the whole top, in large letters; back, the band is gone."""
    needle = Needle().say("9 rows done")
    now = needle.situation(ear=Ear.LOST, trouble="The microphone is gone.")
    driver = open_window(situation=now, screen=screen)
    driver.frames(3)
    band, board = driver.board.ids.band, driver.board
    assert band.width == pytest.approx(board.width)
    assert band.top == pytest.approx(board.top)
    assert band.words == "Microphone lost"
    assert band.fits
    assert capital_mm(driver, band) >= 5.5
    assert all(
        box.y + box.height <= (band.y - board.y) / driver.stage.look.px_per_mm + 0.01
        for box in (*board.arrangement.parts.values(), *board.arrangement.controls)
    )
    driver.show(needle.situation())
    driver.frames(2)
    assert board.ids.band.height <= 1
