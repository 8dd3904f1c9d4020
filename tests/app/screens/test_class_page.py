"""The class board on the screen: letters measured in its pixels, both hands, pedal and quiet."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest

from app import resources
from app.display.class_board import px_per_mm
from app.lessons.leading import Leading, LessonNow, heard
from app.lessons.lesson import read_lesson
from app.session.settings import Settings
from app.session.situation import Ear
from engine.talk import Screen
from tests.app.at_the_needle import Needle

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path
    from typing import Any

    from tests.window_driver import Driver

    Opener = Callable[..., Driver]

pytestmark = pytest.mark.window

LESSON = read_lesson(resources.text("shared/lessons/1-first-stitches.toml"))
PEDAL_ON, PEDAL_BACK = 281, 280


def on_board(open_window: Opener, step: int, *words: str, **how: Any) -> tuple[Driver, Any]:
    """Open the class board at a step, after words; return the window and the page."""
    leading, said = Leading(LESSON, at=step, in_class=True), ()
    for one in words:
        leading, said = heard(leading, one)  # type: ignore[assignment]
    now = replace(Needle("mug-sleeve").situation(), lesson=LessonNow(leading, said))
    driver = open_window(situation=now, **how)
    driver.stage.close_all()
    driver.stage.places.go_to(Screen.CLASS)
    page = driver.stage.overlays[-1]
    for view in page.hands:
        view.still()
    driver.frames(4)
    return driver, page


def capital_px(driver: Driver, text: Any) -> int:
    """Return how high the first letter of a line is drawn, in pixels of the picture."""
    width, height, pixels = driver.pixels()
    image = np.frombuffer(pixels, dtype=np.uint8).reshape(height, width, 4)[..., :3].astype(int)
    x, y = text.to_window(text.x, text.y)
    first = text.flowed.lines[0].runs[0]
    wide = int(0.5 * text.flowed.size)
    top = height - round(y + text.height)
    box = image[top : top + round(text.height), round(x + first.x) : round(x + first.x) + wide]
    page = image[top + 1, width - 2]
    inked = np.abs(box - page).sum(axis=2).max(axis=1) > 120
    return int(np.flatnonzero(inked)[-1] - np.flatnonzero(inked)[0] + 1)


@pytest.mark.parametrize(("inches", "metres"), [(55, 5), (86, 5), (55, 3), (120, 8)])
def test_capitals_are_as_high_as_the_last_row_needs(
    open_window: Opener, inches: int, metres: int
) -> None:
    """A hundredth of the distance, measured on the pixels: 50 mm at 5 m, for any screen told."""
    settings = Settings(class_screen=inches, class_distance=metres)
    driver, page = on_board(open_window, 3, settings=settings)  # "In": a capital first
    line = page.texts[-1]
    assert "".join(span.words for span in line.all_spans).startswith("In")
    to_mm = px_per_mm(page.width, page.height, inches, 0)
    high = capital_px(driver, line) / to_mm
    assert high == pytest.approx(10 * metres, abs=1.5 / to_mm)
    assert not page.note.words
    assert all(text.fits for text in page.texts)


def test_a_screen_too_small_says_how_far_it_reads(open_window: Opener) -> None:
    """The letters are as large as fit, and the distance told is that of their pixels."""
    driver, page = on_board(open_window, 3, screen="tablet on its side")
    assert page.note.words.startswith("This screen is too small for 5 m: it can be read from")
    told = float(page.note.words.split()[-2])
    to_mm = page.to_mm
    assert capital_px(driver, page.texts[-1]) / to_mm / 10 == pytest.approx(told, abs=0.1)


def test_left_handers_see_the_mirror_image_beside_it(open_window: Opener) -> None:
    """Whichever hand is set, both are drawn, each the other's mirror image."""
    for left in (False, True):
        settings = Settings(class_screen=55, left_handed=left)
        _, page = on_board(open_window, 4, settings=settings)
        drawn = [
            [round(x - view.center_x) for one in _lines(view) for x in one.points[::2]]
            for view in page.hands
        ]
        assert drawn[0] == [-x for x in drawn[1]]
        assert len(drawn[0]) > 100
        assert page.hands[0].right <= page.hands[1].x + 1


def _lines(view: Any) -> list[Any]:
    from kivy.graphics import Line  # noqa: PLC0415 (only in a window)

    return [one for one in view.canvas.children if isinstance(one, Line)]


def test_what_may_be_seen_is_chosen_by_touch(open_window: Opener) -> None:
    """The pictures stand beside each other; the one that is touched is the one that is meant."""
    driver, page = on_board(open_window, 8, "17", settings=Settings(class_screen=55))
    assert len(page.choices) == 2
    driver.tap(page.choices[1])
    assert driver.hands.submitted[-1][0].nth == "second"  # type: ignore[union-attr]


def test_a_pedal_leads_the_class_and_nobody_is_listened_to(tmp_path: Path) -> None:
    """The class board stops the listening; the pedal of rows is ready, that of undo is back."""
    from tests.living_window import LivingWindow  # noqa: PLC0415 (imports Kivy)

    window = LivingWindow(tmp_path / "journal.sqlite")
    window.assistant.typed_and_answered("show the class board")
    window.frames(3)
    assert window.stage.overlays[-1] is window.stage.pages["class"]

    def step() -> int:
        window.assistant.typed_and_answered("slower")
        window.frames(3)
        now = window.stage.situation
        assert now is not None
        assert now.lesson is not None
        assert now.ear is Ear.PAUSED
        assert now.state.done == 0
        return now.lesson.leading.at

    for _ in range(10):  # over the step that counts, too
        window.key(PEDAL_ON)
    assert step() == 10
    window.key(PEDAL_BACK)
    assert step() == 9
    window.close()
