"""A picture of the board without a screen: what the window would show, as a PNG."""

from __future__ import annotations

import os
import queue
from typing import TYPE_CHECKING

from app import wording
from app.window.desk import Hands, Notice, furnish
from app.window.window import prepare_kivy

if TYPE_CHECKING:
    from pathlib import Path

    from app.session.situation import Situation

SIZE = (1280, 800)
"""Width and height of the picture in pixels."""
_FRAMES = 4
"""Frames until everything is laid out."""


class PictureError(RuntimeError):
    """The picture could not be drawn; the sentence says why."""


def draw_board(situation: Situation, path: Path, size: tuple[int, int] = SIZE) -> None:
    """
    Draw the board as it shows `situation` and write it to `path`.

    A process has one window, so this is for programs without one.

    Raises:
        PictureError: there is no way to draw here, or the file cannot be written.

    """
    if "DISPLAY" not in os.environ and "WAYLAND_DISPLAY" not in os.environ:
        os.environ.setdefault("SDL_VIDEODRIVER", "offscreen")
    prepare_kivy()
    from kivy.config import Config  # noqa: PLC0415 (after its environment)

    Config.set("graphics", "width", str(size[0]))
    Config.set("graphics", "height", str(size[1]))
    try:
        from kivy.core.window import Window  # noqa: PLC0415
    except SystemExit as error:
        raise PictureError(_NO_DRAWING) from error
    if Window is None:
        raise PictureError(_NO_DRAWING)
    from kivy.base import EventLoop  # noqa: PLC0415

    from app.window.screens.stage import Stage  # noqa: PLC0415

    inbox: queue.SimpleQueue[Situation | Notice] = queue.SimpleQueue()
    inbox.put(situation)

    desk = furnish(Hands(), inbox, wording=wording.reply_wording)
    stage = Stage(desk)
    EventLoop.ensure_window()
    stage._run_prepare()  # noqa: SLF001 (Kivy's own recipe for driving an app by hand)
    try:
        EventLoop.start()
        for _ in range(_FRAMES):
            EventLoop.idle()
        path.parent.mkdir(parents=True, exist_ok=True)
        if not stage.root.export_to_png(str(path)) and not path.exists():
            raise PictureError(f"{path} cannot be written.")
    except OSError as error:
        raise PictureError(f"{path} cannot be written ({error.strerror}).") from error
    finally:
        stage.dispatch("on_stop")


_NO_DRAWING = "No picture of the board: the graphics libraries are missing (run `make run`)."
