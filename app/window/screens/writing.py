"""A sheet to type or paste a whole text on; what is not handed over yet is kept."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from kivy.clock import Clock
from kivy.core.clipboard import Clipboard
from kivy.uix.textinput import TextInput

from app.window.screens.overlay import Overlay

if TYPE_CHECKING:
    from collections.abc import Callable

    from app.window.screens.kit import Kit

MOST_TYPED: Final = 20_000
"""Characters that the sheet holds; a longer text that is pasted is handed over as it is."""


class _Sheet(TextInput):
    """Takes what is pasted; a text too long for the sheet goes past it."""

    too_long: Callable[[str], None]

    def paste(self) -> None:
        """Put the clipboard's text in, or hand it on."""
        text = pasted()
        if len(text) + len(self.text) > MOST_TYPED:
            self.too_long(text)
        else:
            self.delete_selection()
            self.insert_text(text)


class Writing(Overlay):
    """The sheet, with what hands its text over at the right of the bar."""

    def __init__(
        self,
        kit: Kit,
        sent: Callable[[str], None],
        changed: Callable[[str], None],
        close: Callable[[], None],
        kept: tuple[str, str],
        **properties: Any,
    ) -> None:
        """Build the sheet; `kept` is under which name its text is kept, and what it was before."""
        self._sent = sent
        self.kept_as, before = kept
        self.sheet = _Sheet(
            text=before,
            multiline=True,
            font_name="Walesong",
            background_normal="",
            background_active="",
            size_hint=(None, None),
        )
        self.sheet.too_long = self._hand_over
        self.sheet.bind(text=lambda _, text: changed(text))
        super().__init__(
            kit.look,
            close,
            title=kit.words("take", "sheet"),
            close_words=kit.words("screens", "close"),
            done_words=kit.words("take", "sheet_done"),
            **properties,
        )
        self.add_widget(self.sheet)
        self.bind(size=self._lay, bar=self._lay, margin=self._lay)
        self._lay()

    @property
    def typed(self) -> str:
        """What stands on the sheet: the keys belong to it, and it is kept when it is closed."""
        return str(self.sheet.text)

    def focus(self) -> None:
        """Put the cursor onto the sheet, once it is on the screen."""
        Clock.schedule_once(lambda *_: setattr(self.sheet, "focus", True), 0)

    def done(self) -> None:
        """Hand the text over."""
        self._hand_over(self.typed)

    def close(self) -> None:
        """Take the sheet away."""
        self.sheet.focus = False
        super().close()

    def look_changed(self) -> None:
        """Take up the new look."""
        super().look_changed()
        self._lay()

    def _hand_over(self, text: str) -> None:
        self.sheet.focus = False
        self._sent(text)

    def _lay(self, *_: object) -> None:
        look, edge = self.look, self.look.mm(1.5)
        sheet = self.sheet
        sheet.font_size = round(look.letters(look.theme.sizes.words))
        sheet.foreground_color = sheet.cursor_color = look.ink
        sheet.background_color = look.panel
        sheet.padding = [edge * 1.4] * 4
        sheet.pos = (self.margin, edge)
        tall = self.height - self.bar - 3 * edge - look.mm(2.5)
        sheet.size = (max(self.width - 2 * self.margin, 1), max(tall, 1))


def pasted() -> str:
    """Return the text that was copied elsewhere; "" where there is none."""
    text = Clipboard.paste()
    return text.replace("\r\n", "\n").replace("\r", "\n") if isinstance(text, str) else ""
