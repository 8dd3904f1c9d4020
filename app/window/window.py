"""
Opening the window: what Kivy has to be told before it is imported, and a machine without a display.

This module does not import Kivy until a window is wanted.
"""

from __future__ import annotations

import logging
import os
import sys
from typing import TYPE_CHECKING, Final

from app.display.window_frame import kept_frame

if TYPE_CHECKING:
    from app.display.window_frame import WindowFrame
    from app.window.desk import Desk

NO_DISPLAY: Final = (
    "There is no display to open a window on. Start Walesong from the desktop, or use "
    "'walesong knit' to knit in the terminal."
)

_FRAMES: Final = "30"  # a second: plenty for a board, and half the power


class NoDisplayError(Exception):
    """There is no display; the sentence says what to do."""

    def __init__(self) -> None:
        """Say so."""
        super().__init__(NO_DISPLAY)


def prepare_kivy(frame: WindowFrame | None = None) -> None:
    """
    Tell Kivy, before its first import, to leave the command line, log and settings alone.

    The window opens as it lay when it was closed; the first time (None) it fills the screen.
    """
    quiet = {
        "KIVY_NO_ARGS": "1",
        "KIVY_NO_CONFIG": "1",
        "KIVY_NO_FILELOG": "1",
        "KIVY_NO_CONSOLELOG": "1",
        "KIVY_LOG_MODE": "PYTHON",
        "KIVY_WINDOW": "sdl2",
        "KIVY_CLIPBOARD": "sdl2",
    }
    if sys.platform.startswith("linux") and not hasattr(sys, "getandroidapilevel"):
        # Without this, SDL falls back to an invisible screen and the window runs for nobody.
        quiet["SDL_VIDEODRIVER"] = "wayland,x11"
    for name, value in quiet.items():
        os.environ.setdefault(name, value)
    log = logging.getLogger("kivy")
    log.addHandler(logging.NullHandler())
    log.propagate = False
    from kivy.config import Config  # noqa: PLC0415 (the environment comes first)

    Config.set("kivy", "exit_on_escape", "0")
    Config.set("graphics", "maxfps", _FRAMES)
    if frame is None or frame.whole:
        Config.set("graphics", "window_state", "maximized")  # it is read from across the room
    if frame is not None:
        Config.set("graphics", "position", "custom")
        for name in ("width", "height", "left", "top"):
            Config.set("graphics", name, str(getattr(frame, name)))
    Config.set("input", "mouse", "mouse,disable_multitouch")


def run_window(desk: Desk) -> None:
    """
    Open the window and stay until it is closed.

    Raises:
        NoDisplayError: there is no display; nothing was opened.

    """
    frame = kept_frame()
    prepare_kivy(frame)
    from kivy.core.window import Window  # noqa: PLC0415

    if Window is None:
        raise NoDisplayError
    from kivy.base import ExceptionManager  # noqa: PLC0415
    from kivy.clock import Clock  # noqa: PLC0415

    from app.window.frame_keeper import FrameKeeper  # noqa: PLC0415
    from app.window.pocket import Pocket  # noqa: PLC0415
    from app.window.screens.stage import Stage  # noqa: PLC0415
    from app.window.screens.unbroken import Unbroken  # noqa: PLC0415

    stage = Stage(desk)
    keeper = FrameKeeper(whole=frame is None or frame.whole)
    pocket = Pocket(stage)

    def started(_: object) -> None:
        # After the screens have taken up their keys, so that Alt and Enter is no row that is done.
        # Nothing is returned: what is true would keep the stage from hearing that it has started.
        pocket.start()
        Clock.schedule_once(lambda _: keeper.start(), 0)

    def stopped(_: object) -> None:
        keeper.stop()
        pocket.stop()

    stage.bind(on_start=started, on_stop=stopped)
    handler = Unbroken(stage.tell_fault)
    ExceptionManager.add_handler(handler)
    try:
        stage.run()
    finally:
        ExceptionManager.remove_handler(handler)
