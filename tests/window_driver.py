"""Drives the real window where nobody sees it: touches, keys, frames, pictures.

Used by the tests of the screens, by the benchmark of the window and by the pictures of the README.
Kivy must not have been imported before this module, except by it.
"""

# ruff: noqa: E402 (Kivy reads its settings when it is imported)

from __future__ import annotations

import logging
import os
import queue
import time
from dataclasses import replace
from typing import TYPE_CHECKING, Any

if "KIVY_WINDOW" not in os.environ:
    os.environ.update(
        KIVY_NO_ARGS="1",
        KIVY_NO_CONFIG="1",
        KIVY_NO_CONSOLELOG="1",
        KIVY_NO_FILELOG="1",
        KIVY_LOG_MODE="PYTHON",
        KIVY_WINDOW="sdl2",
        KIVY_CLIPBOARD="sdl2",
        SDL_VIDEODRIVER="offscreen",
    )

logging.getLogger("kivy").addHandler(logging.NullHandler())
logging.getLogger("kivy").propagate = False

from kivy.config import Config

Config.set("graphics", "width", "1280")
Config.set("graphics", "height", "800")
Config.set("graphics", "multisamples", "0")
Config.set("graphics", "maxfps", "0")
Config.set("kivy", "exit_on_escape", "0")
for _name in list(Config["input"]):
    Config.remove_option("input", _name)

from kivy.app import App
from kivy.base import EventLoop
from kivy.core.window import Window
from kivy.metrics import Metrics
from kivy.tests.common import UnitTestTouch

from app.session.settings import Settings
from app.window.desk import Desk, Hands, Notice, furnish
from app.window.screens.stage import Stage
from app.wording import reply_wording

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from pathlib import Path

    from kivy.uix.widget import Widget

    from app.pieces.values import NewPiece
    from app.session.situation import Situation
    from engine.commands import Command, Source
    from engine.talk import Talk

MM_PER_INCH = 25.4
A_FINGER_S = 0.09
"""Longer than Kivy waits (55 ms) to see whether a touch begins to scroll."""

SCREENS = {
    "desktop": (1280, 800, 96),
    "laptop": (1366, 768, 112),
    "phone": (1080, 2340, 420),
    "phone on its side": (2340, 1080, 420),
    "small phone": (750, 1334, 326),
    "tablet": (1620, 2160, 264),
    "tablet on its side": (2160, 1620, 264),
    # 360 by 640 of Android's units of 1/160 inch, the least that its guidelines count with (from
    # memory), and a tablet of 13 inches.
    "least phone": (720, 1280, 320),
    "least phone on its side": (1280, 720, 320),
    "large tablet": (1600, 2560, 232),
    "large tablet on its side": (2560, 1600, 232),
}
"""Name: width and height in pixels, pixels per inch."""


def coarse(width: int, height: int, dpi: float) -> tuple[int, int, float]:
    """Return a screen of the same millimetres with fewer pixels: it is drawn much faster."""
    less = max(dpi / 160, 1.0)
    return round(width / less), round(height / less), dpi / less


class Helper:
    """Stands where the assistant does and writes down what it is handed."""

    def __init__(self) -> None:
        self.taken_up: list[str] = []
        self.begun: list[NewPiece] = []
        self.kept: list[tuple[Settings, str]] = []
        self.submitted: list[tuple[Command | Talk, Source]] = []
        self.held: list[bool] = []
        self.checks_ended = 0
        self.phrases_trouble = ""
        self.words: list[str] = []
        self.remembered: list[str] = []

    def for_the_window(self) -> Hands:
        """Return what the window calls."""
        return Hands(
            submit=self.submit,
            typed=self.typed,
            take_up=self.taken_up.append,
            cast_on=lambda new, _: self.begun.append(new),
            keep=self.keep,
            hold=self.held.append,
            end_voice_check=self.end_voice_check,
            phrases_trouble=lambda: self.phrases_trouble,
            remember=self.remembered.append,
        )

    def keep(self, settings: Settings, keys: str) -> str:
        """Write down what was chosen."""
        self.kept.append((settings, keys))
        return ""

    def end_voice_check(self) -> None:
        """Count it."""
        self.checks_ended += 1

    def submit(self, said: Command | Talk, source: Source) -> None:
        """Write down what was handed over."""
        self.submitted.append((said, source))

    def typed(self, words: str) -> None:
        """Write down what was typed."""
        self.words.append(words)


class Driver:
    """A running window of a size in pixels and a density, and hands that touch it."""

    def __init__(
        self,
        desk: Desk | None = None,
        screen: str = "desktop",
        settings: Settings | None = None,
        situation: Situation | None = None,
        *,
        fine: bool = False,
        unfinished: str = "",
    ) -> None:
        self.hands = Helper()
        self.inbox: queue.SimpleQueue[Situation | Notice] = queue.SimpleQueue()
        self.desk = desk or self._furnish(settings or Settings(), unfinished)
        width, height, dpi = SCREENS[screen] if fine else coarse(*SCREENS[screen])
        EventLoop.ensure_window()
        Window.size = (width, height)
        Metrics.dpi = dpi
        if situation is not None:
            self.inbox.put(situation)
        self.stage = Stage(replace(self.desk, inbox=self.inbox) if desk is None else self.desk)
        self.stage.look.px_per_mm = dpi / MM_PER_INCH
        self.stage._run_prepare()
        if EventLoop.status != "started":
            EventLoop.start()
        self.frames(3)

    def _furnish(self, settings: Settings, unfinished: str) -> Desk:
        return furnish(
            self.hands.for_the_window(),
            self.inbox,
            wording=reply_wording,
            settings=settings,
            unfinished=unfinished,
        )

    @property
    def board(self) -> Any:
        """The working board."""
        return self.stage.board

    # --- what can be done ---------------------------------------------------------------------

    @staticmethod
    def frames(count: int = 1) -> None:
        """Let the window draw so many frames."""
        for _ in range(count):
            EventLoop.idle()

    def show(self, situation: Situation) -> None:
        """Put a situation into the window's inbox, as the assistant does."""
        self.inbox.put(situation)
        self.frames(2)

    def key(self, code: int, *, held_for: int = 1) -> None:
        """Press a key; `held_for` more than one sends so many key-downs before the key-up."""
        for _ in range(held_for):
            Window.dispatch("on_key_down", code, 0, None, [])
        Window.dispatch("on_key_up", code, 0)
        self.frames(2)

    def tap(self, widget: Widget) -> None:
        """Touch the middle of a widget, as long as a finger does where touching may also scroll."""
        x, y = widget.to_window(*widget.center)
        touch = UnitTestTouch(x, y)
        touch.touch_down()
        self.frames(1)
        if _scrolls(widget):
            end = time.monotonic() + A_FINGER_S
            while time.monotonic() < end:
                self.frames(1)
        touch.touch_up()
        self.frames(2)

    def button(self, title: str) -> Any:
        """Return the control on top with that name; LookupError if there is none."""
        for widget in self.widgets():
            if getattr(widget, "title", None) == title and hasattr(widget, "rank"):
                return widget
        raise LookupError(title)

    def reach(self, title: str) -> None:
        """Touch the control with that name, by way of "Everything" and scrolling if need be."""
        try:
            control = self.button(title)
        except LookupError:
            self.tap(self.button("Everything"))
            try:
                control = self.button(title)
            except LookupError:
                self.stage.overlays[-1].search(title)
                self.frames(2)
                control = self.button(title)
        top = self.stage.overlays[-1] if self.stage.overlays else None
        if top is not None and hasattr(top, "scroll"):
            self.scroll_to(top, control)
        self.tap(control)

    def scroll_to(self, page: Any, widget: Widget) -> None:
        """Bring a widget into view, if the page is longer than the screen."""
        self._settle(page, widget)
        page.bring_into_view(widget)
        self._settle(page, widget)

    def _settle(self, page: Any, widget: Widget) -> None:
        """Let frames pass until a widget stays where it is: laying a page out takes some.

        A page that still glides takes a touch for the wish to stop it.
        """
        places: list[tuple[int, int]] = []
        while (
            len(places) < 3 or len(set(places[-3:])) > 1 or abs(page.scroll.effect_y.velocity) > 1
        ):
            assert len(places) < 500, "it never comes to rest"
            self.frames(1)
            x, y = widget.to_window(*widget.center)
            places.append((round(x), round(y)))

    def widgets(self) -> Iterator[Any]:
        """Yield every widget, those on top first."""
        yield from _walk(Window.children)

    def picture(self, path: Path) -> None:
        """Write what is shown to a PNG."""
        self.frames(2)
        self.stage.root.export_to_png(str(path))

    def pixels(self) -> tuple[int, int, bytes]:
        """Return width, height and RGBA bytes of what is shown, top row first."""
        self.frames(1)
        image = self.stage.root.export_as_image()
        texture = image.texture
        return texture.width, texture.height, texture.pixels

    def close(self) -> None:
        """Close the window as the user does; the next one starts afresh."""
        self.stage.dispatch("on_stop")
        for child in list(Window.children):
            Window.remove_widget(child)
        App._running_app = None
        EventLoop.status = "started"


def _scrolls(widget: Widget) -> bool:
    """Whether a widget lies on something that scrolls."""
    around = widget.parent
    while around is not None and around is not around.parent:
        if hasattr(around, "scroll_timeout"):
            return True
        around = around.parent
    return False


def _walk(widgets: Iterable[Any]) -> Iterator[Any]:
    for widget in widgets:
        yield from _walk(widget.children)
        yield widget
