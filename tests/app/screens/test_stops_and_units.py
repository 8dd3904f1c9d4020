"""What must stop her hands, the chosen unit, and keys that turn pages, in the real window."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from app import resources
from app.display.theme import contrast, read_theme
from app.session.settings import Settings
from engine.quantities import LengthUnit
from tests.app.at_the_needle import Needle

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.window_driver import Driver

    Opener = Callable[..., Driver]

pytestmark = pytest.mark.window
PAGE_DOWN = 281


@pytest.mark.parametrize("screen", ["desktop", "tablet", "phone", "phone on its side"])
@pytest.mark.parametrize("words", [("i count 53 stitches", "yes"), ("dropped stitch",)])
def test_what_stops_her_hands_is_the_largest(
    open_window: Opener, screen: str, words: tuple[str, ...]
) -> None:
    """A short count and a dropped stitch stand larger than anything else, in the warning colour."""
    needle = Needle("bottle-sleeve").say("7 rows done", words[0])
    if needle.talk.question is not None:
        needle.say(*words[1:])
    driver = open_window(situation=needle.situation(), screen=screen)
    driver.frames(3)
    ids = driver.board.ids
    stop = ids.stop
    head = stop.flowed.lines[0]
    assert stop.fits
    assert {run.span.ink for run in head.runs} == {"alert"}
    letters = stop.flowed.size * head.scale
    for name in ("numeral", "place", "instruction", "notes", "heard", "title"):
        other = ids[name]
        if other.flowed is not None and other.height > 1:
            scale = max(line.scale for line in other.flowed.lines)
            assert letters > scale * other.flowed.size, name
    driver.show(needle.say("row done").situation())
    driver.frames(2)
    assert stop.height <= 1
    assert ids.numeral.words == "9"


def test_the_warning_colour_has_its_contrast() -> None:
    """In every light the warning colour stands 7:1 off the page (WCAG 2.2, 1.4.6)."""
    theme = read_theme(resources.text("shared/theme.toml"))
    for palette in theme.palettes.values():
        assert contrast(palette.alert, palette.page) >= 7.0


def test_the_tape_follows_the_chosen_unit(open_window: Opener) -> None:
    """Inches chosen, a target given in centimetres is drawn and worded in inches; and back."""
    needle = Needle("bottle-sleeve").say("9 rows done")
    driver = open_window(situation=needle.situation(), settings=Settings(length_unit=LengthUnit.IN))
    tape = driver.board.view.tape
    assert tape.unit is LengthUnit.IN
    assert "cm" not in tape.words
    assert " in" in tape.words
    driver.stage.places._choose(Settings())
    assert driver.board.view.tape.unit is LengthUnit.CM
    assert "16.5 cm" in driver.board.view.tape.words


def test_page_down_on_the_settings_turns_the_page(open_window: Opener) -> None:
    """Page Down on the settings goes further down on them and counts nothing; Page Up goes back."""
    driver = open_window(situation=Needle().say("row done").situation(), screen="phone")
    driver.reach("Settings")
    driver.frames(3)
    page = driver.stage.overlays[-1]
    driver.hands.submitted.clear()
    driver.key(PAGE_DOWN)
    assert driver.hands.submitted == []
    assert page.scroll.scroll_y < 1
    driver.key(PAGE_DOWN - 1)
    assert page.scroll.scroll_y == 1
