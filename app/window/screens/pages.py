"""A long page over the board: paragraphs, controls and drawings under each other that scroll."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from kivy.uix.boxlayout import BoxLayout
from kivy.uix.scrollview import ScrollView

from app.window.screens.control import Control
from app.window.screens.overlay import Overlay, Shelf
from app.window.screens.panels import Panels
from app.window.screens.text import Text

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from kivy.uix.widget import Widget

    from app.display.flow import TextSpan
    from app.window.look import Look
    from app.window.screens.panels import Panel


_TURNS: Final = {32: 0.9, 281: 0.9, 280: -0.9, 274: 0.2, 273: -0.2, 279: 1e6, 278: -1e6}
"""Keys that scroll (space, page down and up, down, up, end, home), by heights of the screen."""


class _Scroll(ScrollView):
    """Scrolls; what can be taken hold of on the page gets its touches first."""

    holds: Any = None

    def on_touch_down(self, touch: Any) -> bool:
        """Hand a touch to what is taken hold of by it; any other may scroll."""
        view = self.holds
        if view is not None and self.collide_point(*touch.pos):
            touch.push()
            touch.apply_transform_2d(self.to_local)
            held = bool(view.grip_at(*touch.pos)) and view.on_touch_down(touch)
            touch.pop()
            if held:
                return True
        return bool(super().on_touch_down(touch))


class Page(Overlay):
    """An overlay whose content is a column that scrolls."""

    def __init__(self, look: Look, close: Callable[[], None], **properties: Any) -> None:
        """Build an empty page."""
        super().__init__(look, close, **properties)
        self.column = BoxLayout(orientation="vertical", size_hint=(None, None))
        self.column.bind(minimum_height=self.column.setter("height"))
        self.scroll = _Scroll(
            do_scroll_x=False,
            bar_width=look.mm(1.2),
            bar_color=look.line,
            scroll_type=["bars", "content"],
            size_hint=(None, None),
        )
        self.scroll.add_widget(self.column)
        self.add_widget(self.scroll)
        self.paragraphs: list[Text] = []
        self.shelves: list[Shelf] = []
        self.drawings: list[tuple[Widget, float]] = []
        self.panels: list[Panels] = []
        self.bind(size=self.lay, bar=self.lay, margin=self.lay)

    # --- putting things on it -----------------------------------------------------------------

    def clear(self) -> None:
        """Take everything off the page."""
        self.column.clear_widgets()
        self.scroll.holds = None
        self.paragraphs, self.shelves, self.drawings, self.panels = [], [], [], []

    def add_text(self, spans: list[TextSpan], capital: float) -> Text:
        """Add a paragraph."""
        paragraph = Text(
            look=self.look,
            spans=spans,
            capital=capital,
            least=self.look.theme.sizes.small,
            size_hint=(None, None),
            valign="top",
        )
        self.paragraphs.append(paragraph)
        self.column.add_widget(paragraph)
        return paragraph

    def add_shelf(self) -> Shelf:
        """Add a shelf for controls."""
        shelf = Shelf(self.look)
        self.shelves.append(shelf)
        self.column.add_widget(shelf)
        return shelf

    def add_drawing(self, drawing: Widget, height: float) -> None:
        """Add a drawing that is as wide as the page and so many mm high."""
        drawing.size_hint = (None, None)
        self.drawings.append((drawing, height))
        self.column.add_widget(drawing)

    def add_panels(self, panels: Sequence[Panel]) -> None:
        """Add panels, beside each other where there is room."""
        group = Panels(self.look, panels)
        self.panels.append(group)
        self.column.add_widget(group)

    def control_on(
        self, shelf: Shelf, title: str, touched: Callable[[], None], *, rank: str = "plain"
    ) -> Control:
        """Add a control that calls `touched` to a shelf."""
        control = Control(look=self.look, title=title, rank=rank)
        control.bind(on_release=lambda *_: touched())
        shelf.put(control)
        return control

    def bring_into_view(self, part: Widget) -> None:
        """Scroll to a part of the page, if the page is longer than the screen."""
        if self.column.height > self.scroll.height:
            self.scroll.scroll_to(part, animate=False)
            self.scroll.scroll_y = min(max(self.scroll.scroll_y, 0.0), 1.0)
            # What still glides or springs back would carry the page to where it was.
            self.scroll.effect_y.velocity = 0
            self.scroll.effect_y.value = self.scroll.effect_y.max * self.scroll.scroll_y

    def to_top(self) -> None:
        """Scroll to its beginning."""
        self.scroll.scroll_y = 1

    def turn(self, code: int) -> bool:
        """Scroll by the keys that scroll everywhere."""
        step = _TURNS.get(code)
        if step is None:
            return False
        hidden = self.column.height - self.scroll.height
        if hidden > 0:
            at = self.scroll.scroll_y - step * self.scroll.height / hidden
            self.scroll.scroll_y = min(max(at, 0.0), 1.0)
        return True

    # --- laying it out ------------------------------------------------------------------------

    def look_changed(self) -> None:
        """Lay the page out in the new look."""
        super().look_changed()
        self.lay()

    def lay(self, *_: object) -> None:
        """Give every part its place and height."""
        look, sizes = self.look, self.look.theme.sizes
        side, edge = self.margin, look.mm(1.5)
        self.scroll.pos = (side, edge)
        self.scroll.size = (
            max(self.width - side - edge, 1),
            max(self.height - self.bar - 3 * edge - look.mm(1.2), 1),
        )
        self.scroll.bar_color = look.line
        wide = self.scroll.width - max(side - edge, look.mm(2.5))
        self.column.width = wide
        self.column.spacing = look.mm(sizes.gap)
        above = look.mm(sizes.gap)
        for paragraph in self.paragraphs:
            heads = paragraph.capital >= sizes.far_words and paragraph is not self.paragraphs[0]
            paragraph.valign = "bottom" if heads else "top"
            paragraph.width = wide
            paragraph.height = paragraph.height_for(wide) + 1 + (above if heads else 0)
        for shelf in self.shelves:
            scale = look.text_scale * look.grown
            least = sizes.target * max(1.0, 1.25 * scale)
            shelf.least = max(least, shelf.broad * scale)
            shelf.tall = max(sizes.target, 5 + 13.0 * scale) + shelf.more
        for group in self.panels:
            group.size = (wide, group.height_for(wide))
        for drawing, height in self.drawings:
            drawing.size = (wide, look.mm(height))
