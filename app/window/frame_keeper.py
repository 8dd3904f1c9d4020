"""Keeps where the window lies, and fills the whole screen at Alt and Enter, or lets go of it."""

from __future__ import annotations

from contextlib import suppress
from typing import Any, Final

from kivy.core.window import Window

from app.display.window_frame import WindowFrame, frame_file, write_frame

_ENTER: Final = 13


class FrameKeeper:
    """Follows the window from its start to its end."""

    def __init__(self, *, whole: bool) -> None:
        """Begin with what the window was opened as."""
        self.whole = whole

    def start(self) -> None:
        """Follow the window; its keys are looked at before the screens see them."""
        Window.bind(on_maximize=self._filled, on_restore=self._freed, on_key_down=self._key)

    def stop(self) -> None:
        """Keep where the window lies; what cannot be kept is only less convenient."""
        Window.unbind(on_maximize=self._filled, on_restore=self._freed, on_key_down=self._key)
        wide, high = (int(side) for side in Window.system_size)
        frame = WindowFrame(wide, high, max(Window.left, 0), max(Window.top, 0), whole=self.whole)
        with suppress(OSError):
            path = frame_file()
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(write_frame(frame), encoding="utf-8")

    def _filled(self, *_: object) -> None:
        self.whole = True

    def _freed(self, *_: object) -> None:
        self.whole = False

    def _key(self, _window: Any, code: int, _scan: int, _text: str | None, modifiers: Any) -> bool:
        if code != _ENTER or "alt" not in modifiers:
            return False
        Window.fullscreen = False if Window.fullscreen else "auto"
        return True
