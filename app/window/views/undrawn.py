"""A drawing that goes wrong: a sentence stands in its place, and the rest of the window goes on."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kivy.graphics import Color, Rectangle

from app.display.flow import TextSpan, fit
from app.wall import behind
from app.window.screens.text import picture_of, width_of

if TYPE_CHECKING:
    from collections.abc import Callable

    from kivy.uix.widget import Widget

    from app.window.look import Look


def drawn_or_told(view: Widget, look: Look | None, draw: Callable[[], None]) -> None:
    """Draw a view; where that fails, write the sentence about it in its place."""

    def told(sentence: str) -> None:
        view.canvas.clear()
        if look is not None and min(view.size) > 1:
            write(view, look, sentence)

    behind(draw, told, "This cannot be drawn")


def write(view: Widget, look: Look, sentence: str) -> None:
    """Write a sentence in the middle of a view, as large as fits."""
    sizes = look.theme.sizes
    most = round(look.letters(sizes.words))
    least = round(look.letters(sizes.small, scaled=False))
    spans = [TextSpan(sentence, "alert")]
    flowed = fit(spans, tuple(view.size), (min(least, most), most), width_of)
    pitch = flowed.height / max(len(flowed.lines), 1)
    top = view.center_y + flowed.height / 2
    with view.canvas:
        Color(*look.alert)
        for at, line in enumerate(flowed.lines, 1):
            for run in line.runs:
                picture = picture_of(run.words, round(flowed.size), False)
                where = (round(view.center_x - line.width / 2 + run.x), round(top - at * pitch))
                Rectangle(texture=picture, pos=where, size=picture.size)
