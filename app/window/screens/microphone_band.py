"""The band across the top while the microphone is not allowed, with the way to where it can be."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from kivy.properties import BooleanProperty
from kivy.uix.boxlayout import BoxLayout

from app.window.screens.control import Control

if TYPE_CHECKING:
    from collections.abc import Callable

    from app.window.screens.kit import Kit


class MicrophoneBand(BoxLayout):
    """One control, there while `shown`; `open_settings` is called when it is touched."""

    shown = BooleanProperty(False)

    def __init__(self, kit: Kit, open_settings: Callable[[], None], **properties: Any) -> None:
        """Build the band without any height."""
        super().__init__(size_hint_y=None, height=0.0, **properties)
        self._look = kit.look
        self.control = Control(
            look=kit.look,
            title=kit.words("microphone", "settings"),
            remark=kit.words("microphone", "why"),
            rank="ask",
        )
        self.control.bind(on_release=lambda *_: open_settings())
        kit.look.follow(self)
        self.bind(shown=self.look_changed)

    def look_changed(self, *_: object) -> None:
        """Take up the new look."""
        look = self._look
        self.clear_widgets()
        tall = look.mm(look.theme.sizes.target) * max(1.0, look.text_scale * 0.75)
        self.height = tall + look.mm(2) if self.shown else 0.0
        self.padding = look.mm(1)
        if self.shown:
            self.add_widget(self.control)
