"""
What happens to a window on a device that is carried about, and what the window does then.

Another program comes in front and goes, the device is turned, memory runs short, the back key is
pressed, the microphone is refused, edges of the screen are covered. On a desktop none of it occurs.
"""

from __future__ import annotations

import gc
from typing import TYPE_CHECKING, Any

from kivy.clock import Clock
from kivy.core.window import Window
from kivy.uix.relativelayout import RelativeLayout

from app.display.safe_area import kept_free
from app.session.keys import ESCAPE
from app.window.screens.microphone_band import MicrophoneBand

if TYPE_CHECKING:
    from app.window.screens.stage import Stage

_INSETS_LATER_S = 0.4
"""After a turn the system tells the new edges only when its own bars have moved."""


class Pocket:
    """Follows the device from the window's start to its end."""

    def __init__(self, stage: Stage) -> None:
        """Prepare; nothing is followed before `start`."""
        self._stage, self._device = stage, stage.desk.device
        self.band = MicrophoneBand(stage.kit, self._device.open_settings)

    def start(self) -> None:
        """Follow the device; the stage has been built."""
        stage = self._stage
        room = RelativeLayout()  # in it the stage's corner is 0, 0, whatever edges are kept free
        stage.root.remove_widget(stage.stage)
        stage.root.add_widget(room)
        room.add_widget(stage.stage)
        stage.root.add_widget(self.band, index=len(stage.root.children))
        stage.bind(on_pause=self._paused, on_resume=self._resumed)
        if stage.board is not None:
            stage.board.bind(view=self._listening)
        Window.bind(on_memorywarning=self._ease, size=self._turned)
        # Bound after the stage has taken up its keys, so it is asked before the stage.
        Clock.schedule_once(lambda _: Window.bind(on_key_down=self._key), 0)
        Window.clearcolor = stage.look.page
        stage.look.bind(page=self._colour)
        self._take_up()

    def stop(self) -> None:
        """Let go of the window's events."""
        Window.unbind(on_memorywarning=self._ease, size=self._turned, on_key_down=self._key)

    def _colour(self, _look: Any, colour: Any) -> None:
        Window.clearcolor = colour

    def _paused(self, *_: object) -> None:
        self._stage.desk.hands.paused()

    def _resumed(self, *_: object) -> None:
        self._stage.desk.hands.resumed()
        self._take_up()

    def _take_up(self, *_: object) -> None:
        """Take up what may have been changed meanwhile: edges, letters, the permission."""
        self._stage.look.scale_text(of_device=self._device.font_scale())
        self._keep_free()
        self._listening()

    def _turned(self, *_: object) -> None:
        self._keep_free()
        Clock.schedule_once(self._keep_free, _INSETS_LATER_S)

    def _keep_free(self, *_: object) -> None:
        free = kept_free(self._device.surroundings())
        self._stage.root.padding = [free.left, free.top, free.right, free.bottom]

    def _listening(self, *_: object) -> None:
        """Offer the system's settings as long as the microphone is refused."""
        view = self._stage.board.view if self._stage.board is not None else None
        self.band.shown = view is not None and view.ear == "lost" and self._device.refused()

    def _ease(self, *_: object) -> None:
        """Give up what can be built again: memory runs short, and the system ends the largest."""
        stage = self._stage
        for name, page in list(stage.pages.items()):
            if page not in stage.overlays:
                del stage.pages[name]
        gc.collect()

    def _key(self, _window: Any, code: int, *_: object) -> bool:
        """Leave by the back key where it has nothing to close, as everywhere on such a device."""
        stage = self._stage
        if code != ESCAPE or stage.overlays or stage.places.learning is not None:
            return False
        return self._device.leave()
