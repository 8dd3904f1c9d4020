"""The window on a device that is carried about: put away, killed, turned, short of memory."""

from __future__ import annotations

import queue
import shutil
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from app.display.safe_area import Edges, Surroundings
from app.session.situation import Ear
from app.window.desk import Device, Hands, furnish
from app.wording import reply_wording
from engine.talk import Screen
from tests.app.at_the_needle import Needle
from tests.sessions import script

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from app.session.situation import Situation
    from app.window.pocket import Pocket
    from tests.living_window import LivingWindow
    from tests.window_driver import Driver

pytestmark = pytest.mark.window

ESCAPE, SPACE = 27, 32
HEADSET = 1073742085
"""What the toolkit makes of a headset's key: SDL's code for "audio, play"."""
PORTRAIT, LANDSCAPE = (360, 640), (640, 360)


class Carried:
    """A window on a device that writes down what it is asked and told."""

    def __init__(self) -> None:
        """Open the window as a phone's."""
        from app.window.pocket import Pocket  # noqa: PLC0415 (imports Kivy)
        from tests.window_driver import Driver  # noqa: PLC0415 (imports Kivy)

        self.told: list[str] = []
        self.refused = False
        self.around = Surroundings()
        self.scale = 1.0
        device = Device(
            refused=lambda: self.refused,
            open_settings=lambda: self.told.append("settings"),
            leave=self._leave,
            surroundings=lambda: self.around,
            font_scale=lambda: self.scale,
        )
        hands = Hands(
            paused=lambda: self.told.append("paused"),
            resumed=lambda: self.told.append("resumed"),
            submit=lambda said, _: self.told.append(said.name),
        )
        inbox: queue.SimpleQueue[Any] = queue.SimpleQueue()
        desk = furnish(hands, inbox, wording=reply_wording, device=device)
        self.driver: Driver = Driver(desk, "small phone")
        self.driver.inbox = inbox
        self.pocket: Pocket = Pocket(self.driver.stage)
        self.pocket.start()
        self.driver.frames(2)

    def _leave(self) -> bool:
        self.told.append("left")
        return True

    def show(self, situation: Situation) -> None:
        """Show a situation, and no page over it."""
        self.driver.show(situation)
        self.driver.stage.close_all()
        self.driver.frames(2)

    def close(self) -> None:
        """Close the window."""
        self.pocket.stop()
        self.driver.close()


@pytest.fixture
def carried() -> Iterator[Carried]:
    """Return the window of a phone with a bottle sleeve on the needle."""
    one = Carried()
    one.show(Needle("bottle-sleeve").say("9 rows done").situation())
    yield one
    one.close()


def turn(driver: Driver, size: tuple[int, int]) -> None:
    """Turn the device."""
    from kivy.core.window import Window  # noqa: PLC0415

    Window.size = size
    driver.frames(4)


# --- put away and taken out ----------------------------------------------------------------------


def test_put_away_and_taken_out(carried: Carried) -> None:
    """The program stays, is told both, and draws what it drew."""
    stage, before = carried.driver.stage, carried.driver.pixels()
    assert stage.dispatch("on_pause") is True
    stage.dispatch("on_resume")
    assert carried.told == ["paused", "resumed"]
    assert carried.driver.pixels() == before


def test_a_graphics_card_that_forgot_everything(carried: Carried) -> None:
    """After a pause the card may have to be told all again: the picture is the same."""
    from kivy.graphics.context import get_context  # noqa: PLC0415

    for screen in (Screen.BOARD, Screen.PATTERN, Screen.STORY):
        carried.driver.stage.places.go_to(screen)
        for page in carried.driver.stage.overlays:
            page.scroll.bar_width = 0  # it fades
        carried.driver.frames(4)
        before = np.frombuffer(carried.driver.pixels()[2], dtype=np.uint8).astype(int)
        get_context().reload()
        carried.driver.frames(3)
        after = np.frombuffer(carried.driver.pixels()[2], dtype=np.uint8).astype(int)
        assert (np.abs(after - before) > 8).mean() < 0.001, screen


def test_killed_and_started_again_at_every_step(tmp_path: Path) -> None:
    """After each line of the session the board built from the journal alone is the one that was."""
    from tests.living_window import LivingWindow  # noqa: PLC0415 (imports Kivy)

    (tmp_path / "0").mkdir()
    window: LivingWindow = LivingWindow(tmp_path / "0" / "j.walesong")
    said = [line.says for line in script() if line.by_knitter]
    for step, words in enumerate(said, 1):
        window.settle(words)
        window.stage.close_all()
        shown = window.settle()
        window.stage.dispatch("on_pause")
        killed = tmp_path / str(step)
        shutil.copytree(tmp_path / str(step - 1), killed, ignore=shutil.ignore_patterns("*-copies"))
        window.close()
        window = LivingWindow(killed / "j.walesong")
        again = window.settle()
        for name in ("title", "number", "side", "done_words", "bits", "fabric", "tape", "facts"):
            was, now = getattr(shown, name, None), getattr(again, name, None)
            assert now == was, (words, name)
    window.close()


# --- turned, and covered -------------------------------------------------------------------------


def test_turned_on_every_screen_nothing_is_lost(carried: Carried) -> None:
    """The screen that is open stays, within the edges of the device, and so it is turned back."""
    driver = carried.driver
    turn(driver, PORTRAIT)
    for screen in Screen:
        driver.stage.close_all()
        driver.stage.places.go_to(screen)
        driver.frames(4)
        page = driver.stage.overlays[-1] if driver.stage.overlays else driver.board
        before = driver.pixels()
        turn(driver, LANDSCAPE)
        shown = driver.stage.overlays[-1] if driver.stage.overlays else driver.board
        assert shown is page
        assert (shown.width, shown.height) == LANDSCAPE
        turn(driver, PORTRAIT)
        driver.frames(3)
        assert driver.pixels()[:2] == before[:2]
        assert (shown.width, shown.height) == PORTRAIT
        assert carried.told == []


def test_what_is_being_typed_stays_when_turned(carried: Carried) -> None:
    """The line, its words and the place of the cursor are there in both positions."""
    driver = carried.driver
    driver.stage._type("Note", lambda _: None, "typed", "")
    line = driver.stage.overlays[-1]
    line.ids.line.text = "blue yarn ends"
    turn(driver, LANDSCAPE)
    turn(driver, PORTRAIT)
    assert driver.stage.overlays[-1] is line
    assert line.typed == "blue yarn ends"


@pytest.mark.parametrize(
    ("size", "covered"),
    [(PORTRAIT, Edges(0, 40, 0, 24)), (LANDSCAPE, Edges(40, 0, 0, 24))],
)
def test_nothing_lies_under_bars_cut_outs_and_corners(
    carried: Carried, size: tuple[int, int], covered: Edges
) -> None:
    """Every screen keeps the edges free that the system names, in both positions."""
    wide, high = size
    carried.around = Surroundings(size, Edges(0, 0, wide, high), covered, (30.0,) * 4)
    driver = carried.driver
    turn(driver, size)
    for screen in Screen:
        driver.stage.close_all()
        driver.stage.places.go_to(screen)
        driver.frames(4)
        for widget in driver.stage.root.children:
            for one in (widget, *widget.children):
                x, y = one.to_window(*one.pos)
                assert x >= covered.left - 1, (screen, one)
                assert y >= covered.bottom - 1, (screen, one)
                assert x + one.width <= wide - covered.right + 1, (screen, one)
                assert y + one.height <= high - covered.top + 1, (screen, one)


def test_letters_of_the_device_and_her_own_choice_both_count(carried: Carried) -> None:
    """Doubled for the whole device they double here; more than the screens can hold is not done."""
    stage = carried.driver.stage
    for of_device, chosen, wanted in ((2.0, 1.0, 2.0), (1.3, 1.5, 1.95), (2.0, 1.5, 2.0)):
        carried.scale = of_device
        stage.dispatch("on_pause")
        stage.dispatch("on_resume")
        stage.look.scale_text(chosen)
        assert stage.look.text_scale == pytest.approx(wanted)


# --- keys, memory, the microphone ----------------------------------------------------------------


def test_the_back_key_closes_what_is_open_and_then_leaves(carried: Carried) -> None:
    """On a page it goes back to the board; on the board it leaves, and counts nothing."""
    driver = carried.driver
    driver.stage.places.go_to(Screen.SETTINGS)
    driver.key(ESCAPE)
    assert (driver.stage.overlays, carried.told) == ([], [])
    driver.key(ESCAPE)
    assert carried.told == ["left"]


def test_a_headsets_key_counts_a_row_once_and_can_be_taught(carried: Carried) -> None:
    """Held long it counts one row, on a page none; taught something else it does that."""
    driver = carried.driver
    driver.key(HEADSET, held_for=5)
    assert carried.told == ["rows_done"]
    driver.stage.places.go_to(Screen.SETTINGS)
    driver.key(HEADSET)
    assert carried.told == ["rows_done"]
    driver.stage.places.learn(HEADSET, driver.desk.controls.by_key["undo"])
    driver.stage.close_all()
    driver.key(HEADSET)
    assert carried.told == ["rows_done", "undo"]


def test_short_of_memory_it_gives_up_what_it_can_build_again(carried: Carried) -> None:
    """Pages that nobody sees go, the one that is seen stays; each opens again as it was."""
    from kivy.core.window import Window  # noqa: PLC0415

    driver = carried.driver
    for screen in (Screen.STORY, Screen.PATTERN, Screen.WORDS):
        driver.stage.places.go_to(screen)
        driver.frames(2)
    seen = driver.stage.overlays[-1]
    Window.dispatch("on_memorywarning")
    assert driver.stage.pages == {"words": seen}
    assert driver.stage.overlays == [seen]
    driver.stage.places.go_to(Screen.STORY)
    driver.frames(2)
    assert driver.stage.overlays[-1] is driver.stage.pages["story"]


def test_a_refused_microphone_leads_to_the_settings(carried: Carried) -> None:
    """As long as it is refused one large control leads there; touch counts meanwhile."""
    driver, needle = carried.driver, Needle("bottle-sleeve").say("9 rows done")
    assert carried.pocket.band.height == 0
    carried.refused = True
    carried.show(needle.situation(ear=Ear.LOST))
    assert carried.pocket.band.height >= driver.stage.look.mm(20)
    driver.tap(driver.button("Allow the microphone"))
    assert carried.told == ["settings"]
    driver.tap(driver.button("Row done"))
    assert carried.told == ["settings", "rows_done"]
    carried.refused = False
    driver.stage.dispatch("on_resume")
    driver.frames(2)
    assert carried.pocket.band.height == 0
