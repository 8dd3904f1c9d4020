"""Every screen that exists: how large its words are, how they stand out, that nothing is cut."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from app.display.theme import AT_LEAST_TEXT
from app.session.settings import PALETTES, Settings
from engine.talk import Screen
from tests.screen_audit import SCREENS_SHOWN, audited, on_table, opened, screen_classes

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.window_driver import Driver

    Opener = Callable[..., Driver]

pytestmark = pytest.mark.window

A_PIXEL = 0.3
"""mm: letters are drawn in whole pixels."""
ON_TABLE, IN_HAND = (2.7, 6.0), (2.2, 2.2)
"""mm of capitals: of any text at all, and of what a screen is looked at for.

In the hand, where there is no room for both, all the words come before large ones.
"""
FOR_LARGER_SCREENS = {"class", "lesson"}
"""A class board is for the screen of a room; words of the lessons are too small on a phone yet."""
AS_LARGE_AS_FITS = {
    *("board, the hands", "board, no microphone", "first start", "story", "plan", "class"),
}
"""Screens with a line whose words are larger than 4 mm, but shrink where all do not fit."""
CONTROL = 0.9
"""Words in a control may be so much smaller than any other."""


def test_no_screen_escapes_the_audit(open_window: Opener) -> None:
    """Every class of a screen is shown by the audit, and every screen that can be asked for."""
    driver = open_window()
    seen = {type(opened(driver, name)).__name__ for name in SCREENS_SHOWN}
    seen |= {"PracticeBand", "MicrophoneBand"}  # "board, practice" and "board, microphone refused"
    assert seen == screen_classes()
    assert {screen.value for screen in Screen} <= set(SCREENS_SHOWN)


@pytest.mark.parametrize(
    ("screen", "scale"),
    [("desktop", 1.0), ("phone", 2.0)],  # the others, and every palette, by `make audit`
)
def test_words_are_large_and_whole(open_window: Opener, screen: str, scale: float) -> None:
    """On every screen no word is cut, covered or too small, and every target is for a thumb."""
    driver = open_window(screen=screen, settings=Settings(text_scale=scale))
    any_text, important = ON_TABLE if on_table(driver) else IN_HAND
    for name in SCREENS_SHOWN:
        if screen == "phone" and name in FOR_LARGER_SCREENS:
            continue
        found = audited(driver, name, pixels=False)
        where = f"{name} on {screen} at {scale}: {found}"
        assert not found.faults, where
        least = 2.2 if name in {"lesson", "class"} else any_text  # their controls hold long phrases
        assert found.text.value >= least * CONTROL - A_PIXEL, where
        assert found.target.value >= 20.0 - A_PIXEL, where
        if scale == 1.0:
            least = min(important, 4.0) if name in AS_LARGE_AS_FITS else important
            assert found.important.value >= least - A_PIXEL, where


@pytest.mark.parametrize("palette", PALETTES[1:2])
def test_words_stand_out_on_the_pixels(open_window: Opener, palette: str) -> None:
    """In every theme each word of every screen is drawn at 7:1 or more on what is around it."""
    driver = open_window(settings=Settings(palette=palette))
    for name in SCREENS_SHOWN:
        found = audited(driver, name)
        assert found.contrast.value >= AT_LEAST_TEXT, (name, palette, found.contrast)
