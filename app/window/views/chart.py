"""What all drawings against rows share: axes, words along them, marks, dashes; Kivy's canvas."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kivy.graphics import Color, Line, Mesh, Rectangle

from app.drawings.story import round_step
from app.window.screens.text import picture_of, width_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kivy.uix.widget import Widget

    from app.window.look import Look


class Chart:
    """One drawing: rows to the right, values upwards, both in figures large enough to read."""

    def __init__(
        self, where: Widget, look: Look, rows: float, values: tuple[float, float], unit: str
    ) -> None:
        """Take the measures; `values` are the least and the greatest that have to be shown."""
        self.look, self.unit, self.rows = look, unit, rows
        self.low, self.high = values
        self.size = round(look.letters(look.theme.sizes.small))
        self.gap = look.mm(1.0)
        self.letters = look.theme.fonts.capital * self.size
        self.told = round(look.letters(look.theme.sizes.words))
        """Height of what a sign says, in pixels: larger than the figures of the axes."""
        self._said: list[tuple[float, float, float, float]] = []
        """Left, bottom, right and top of what signs say, so that nothing is said over it."""
        self.step = round_step(self.high - self.low, 4)
        widest = max(
            width_of(self._figure(value), self.size, bold=False) for value in (self.low, self.high)
        )
        self.left = where.x + widest + 2 * self.gap
        self.bottom = where.y + self.letters + 4 * self.gap
        self.right = where.right - self.gap
        self.top = where.top - self.told * look.theme.fonts.capital - 2 * self.gap
        self.per_row = (self.right - self.left) / (rows * 1.04)
        self.per_value = (self.top - self.bottom) / max((self.high - self.low) * 1.08, 1e-9)

    def _figure(self, value: float) -> str:
        return f"{round(value / self.step) * self.step:g} {self.unit}"

    def at(self, row: float, value: float) -> tuple[float, float]:
        """Return where a row and value lie."""
        return (
            self.left + row * self.per_row,
            self.bottom + (value - self.low) * self.per_value,
        )

    def words(
        self,
        text: str,
        x: float,
        y: float,
        *,
        ink: str,
        align: float = 0.0,
        bold: bool = False,
        size: int = 0,
    ) -> None:
        """Write words on a line at y; `align` 0 begins at x, 0.5 is centred, 1 ends there."""
        size = size or self.size
        picture = picture_of(text, size, bold)
        fonts = self.look.theme.fonts
        Color(*getattr(self.look, ink))
        left = self._left(x, align, picture.width)
        Rectangle(
            texture=picture,
            pos=(round(left), round(y - fonts.descent * size)),
            size=picture.size,
        )

    def says(self, text: str, x: float, y: float, *, ink: str, align: float = 0.0) -> None:
        """
        Write what a sign means, at its place; nothing for a sign that is not there.

        It stays beside the numbers of the axis, in two lines where one is too wide; only above
        the drawing, where no number stands, may it begin further left.
        """
        if not text:
            return
        above = y >= self.top
        least = 0.0 if above else self.left + self.gap
        lines = [text] if above else self._lines(text)
        wide = max(picture_of(line, self.told, True).width for line in lines)
        left = max(self._left(x, align, wide), least)
        tall = self.told * self.look.theme.fonts.capital * 1.6
        y -= tall * (len(lines) - 1)
        high = tall * len(lines)
        for step in (0, 1, -1, 2, -2, 3, -3):
            low = y + step * tall
            box = (left, low, left + wide, low + high)
            inside = self.bottom <= low and box[3] <= self.top + self.gap
            if (inside or not step) and not any(_share(box, other) for other in self._said):
                break
        else:
            box = (left, y, left + wide, y + high)
        self._said.append(box)
        if box[1] < self.top - tall / 2:  # what is drawn behind the words does not cross them
            Color(*self.look.page[:3], 0.86)
            Rectangle(pos=(left, box[1] - tall * 0.2), size=(wide, high))
        for below, line in enumerate(reversed(lines)):
            self.words(line, left, box[1] + below * tall, ink=ink, bold=True, size=self.told)

    def keep_clear(self, x: float, y: float, side: float) -> None:
        """Keep words off a mark around a place."""
        half = side / 2
        self._said.append((x - half, y - half, x + half, y + half))

    def _lines(self, text: str) -> list[str]:
        """Break words that are wider than the drawing where both lines are as short as can be."""
        if picture_of(text, self.told, True).width <= self.right - self.left - self.gap:
            return [text]
        words = text.split(" ")
        broken = [[" ".join(words[:at]), " ".join(words[at:])] for at in range(1, len(words))]
        return min(broken, key=lambda pair: max(map(len, pair)), default=[text])

    def _left(self, x: float, align: float, wide: float) -> float:
        return float(min(max(x - align * wide, 0), self.right - wide + self.gap))

    def axes(self) -> None:
        """Draw the lines of round values and number both axes."""
        look = self.look
        thin = max(look.mm(0.15), 1)
        half = self.letters / 2
        value = -(-self.low // self.step) * self.step
        while value <= self.high * 1.02 + 1e-9:
            _, y = self.at(0, value)
            Color(*look.line[:3], 0.35)
            Line(points=[self.left, y, self.right, y], width=thin)
            if value or self.low < 0:
                figure = f"{round(value, 6):g} {self.unit}"
                self.words(figure, self.left - self.gap, y - half, ink="soft", align=1.0)
            value += self.step
        rows = max(round_step(self.rows, 6), 1)
        row = 0.0
        while row <= self.rows:
            x, _ = self.at(row, self.low)
            y = self.bottom - half * 2 - 2 * self.gap
            self.words(f"{row:.0f}", x, y, ink="soft", align=0.5)
            row += rows
        Color(*look.ink)
        _, zero = self.at(0, max(self.low, min(0.0, self.high)))
        Line(points=[self.left, self.top, self.left, self.bottom], width=thin)
        Line(points=[self.left, zero, self.right, zero], width=thin)

    def done_line(self, row: int, words: str, *, align: float = 0.5) -> None:
        """Draw the row that is done, with what it is on top."""
        x, _ = self.at(row, self.low)
        Color(*self.look.good)
        Line(points=[x, self.bottom, x, self.top], width=max(self.look.mm(0.25), 1))
        self.says(words, x, self.top + self.gap * 0.6, ink="good", align=align)

    def dashes(self, y: float, ink: str) -> None:
        """Draw a dashed line across."""
        Color(*getattr(self.look, ink))
        dash = self.look.mm(2)
        x = self.left
        while x < self.right:
            Line(points=[x, y, min(x + dash, self.right), y], width=max(self.look.mm(0.3), 1))
            x += 2 * dash

    def wedge(
        self, start: tuple[float, float], first: tuple[float, float], far: tuple[float, float]
    ) -> None:
        """Draw what lies between two lines from one point: between them it will be."""
        look = self.look
        Color(*look.band[:3], 0.45)
        Mesh(vertices=[*start, 0, 0, *first, 0, 0, *far, 0, 0], indices=[0, 1, 2], mode="triangles")
        Color(*look.band)
        for end in (first, far):
            Line(points=[*start, *end], width=max(look.mm(0.25), 1))

    def ribbon(self, edges: Sequence[tuple[float, float, float]]) -> None:
        """Draw a band along rows: (row, low, high) for each."""
        vertices: list[float] = []
        for row, low, high in edges:
            for value in (low, high):
                vertices += [*self.at(row, min(max(value, self.low), self.high)), 0, 0]
        if len(edges) > 1:
            Color(*self.look.band[:3], 0.30)
            Mesh(vertices=vertices, indices=list(range(len(edges) * 2)), mode="triangle_strip")

    def felt(self, felt: Sequence[tuple[int, int]], y: float, names: tuple[str, str]) -> None:
        """
        Mark rows that felt tight (pointing up), loose (pointing down) or even (a dash).

        `names` are the words for tight and for loose, written at the last row that felt so.
        """
        side, thick = self.look.mm(1.3), max(self.look.mm(0.4), 1)
        strong: list[float] = []
        soft: list[float] = []
        for at, feel in sorted({(self._column(row, side), feel) for row, feel in felt}):
            if feel:
                strong += [at - side, y, 0, 0, at + side, y, 0, 0]
                strong += [at, y + feel * side * 1.8, 0, 0]
            else:
                left, right, top = at - side, at + side, y + thick
                soft += [left, y, 0, 0, right, y, 0, 0, right, top, 0, 0]
                soft += [left, y, 0, 0, right, top, 0, 0, left, top, 0, 0]
        self._triangles(strong, "alert")
        self._triangles(soft, "soft")
        for feel, name in zip((1, -1), names, strict=True):
            rows = [row for row, felt_so in felt if felt_so == feel]
            if rows:
                x = self._column(max(rows), side) + side + self.gap
                self.says(name, x, y + side * (0.4 if feel > 0 else -1.6), ink="alert")

    def noted(self, rows: Sequence[int], words: str) -> None:
        """Mark rows with something to read about them, along the foot; the last says so."""
        side = self.look.mm(1.1)
        low, high = self.bottom - side / 2, self.bottom + side / 2
        corners: list[float] = []
        for at in sorted({self._column(row, side) for row in rows}):
            left, right = at - side / 2, at + side / 2
            corners += [left, low, 0, 0, right, low, 0, 0, right, high, 0, 0]
            corners += [left, low, 0, 0, right, high, 0, 0, left, high, 0, 0]
        self._triangles(corners, "ink")
        if rows:
            x = self._column(max(rows), side) + side
            self.says(words, x, self.bottom + self.gap, ink="ink")

    def _column(self, row: int, wide: float) -> float:
        """Return where the mark of a row stands; marks that would overlap share one place."""
        at, _ = self.at(row, self.low)
        return round(at / wide) * wide if self.per_row < wide else at

    def _triangles(self, corners: list[float], ink: str) -> None:
        """Draw all of them at once, however many there are."""
        if corners:
            Color(*getattr(self.look, ink))
            Mesh(vertices=corners, indices=list(range(len(corners) // 4)), mode="triangles")


def _share(
    one: tuple[float, float, float, float], other: tuple[float, float, float, float]
) -> bool:
    """Whether two boxes lie over each other."""
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]
