"""The fabric picture for print: the same placed stitches as on the screen, drawn in lines."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

from app.drawings.fabric import DrawnFabric, DrawnRow, mirrored
from app.drawings.lay_out import ROW_HEIGHT, lay_out
from app.drawings.picture import Ink
from app.drawings.sheet import MARGIN_X, MARGIN_Y, Tile
from app.drawings.strands import STRANDS
from app.printing.shapes import Anchor, Area, CurveShape, Drawing, Plain, Shape, Stamped, Words

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from app.drawings.fabric import DrawnStitch
    from app.drawings.picture import Picture, Quad
    from app.drawings.strands import Strand

_WIDEST_MM: Final = 150.0
_HIGHEST_MM: Final = 110.0
_STITCH_MM: Final = 3.4
_NUMBERS: Final = 9.0
_BEHIND: Final = 0.45
_EDGE: Final = 0.38
"""How dark the edge of a strand is, as a share of its wool's lightness."""
_GROUND: Final = 0.5
"""How dark the shade between the stitches is."""
_FAINT: Final = "#c4c4c4"


def draw_fabric(
    rows: tuple[DrawnRow, ...],
    describes: str,
    wools: Callable[[tuple[str, ...]], tuple[str, ...]],
    *,
    left_handed: bool = False,
) -> Drawing:
    """
    Draw rows of fabric, the lowest first; `left_handed` draws them the other way round.

    `wools` gives the colour of each yarn by its letter. What print must tell apart stays apart on a
    printer without colours: every strand has its dark edge.
    """
    fabric = DrawnFabric(rows)
    picture = lay_out(mirrored(fabric) if left_handed else fabric)
    widest = picture.right - picture.left
    high = picture.top - picture.bottom
    stitch = min(_STITCH_MM, (_WIDEST_MM - 2 * _NUMBERS) / widest, _HIGHEST_MM / high)
    sheet = _Sheet(picture, stitch, fabric.colours)
    drawn = [quad for quad in picture.quads if quad.tile in STRANDS]
    drawn_in = wools(fabric.colours or ("",))
    shapes: list[Shape] = [*sheet.grounds(drawn, _darker(drawn_in[0], _GROUND))]
    shapes += [sheet.placed(quad) for quad in drawn]
    marks = [*sheet.numbers()]
    used = dict.fromkeys((quad.tile, sheet.tone(quad)) for quad in drawn)
    stamps = {
        _name(tile, tone): _stamp(tile, None if tone is None else drawn_in[tone], stitch)
        for tile, tone in used
    }
    return Drawing(sheet.width, sheet.height, (*shapes, *marks), describes, stamps)


def cut_out(rows: tuple[DrawnRow, ...], stitches: int) -> tuple[DrawnRow, ...]:
    """Return the rows that grow out of the rightmost stitches of the first one."""
    cut: list[DrawnRow] = []
    kept: dict[int, int] = {}
    for row in rows:
        below = kept
        count = len(row.stitches)
        if not cut:
            chosen = list(range(max(count - stitches, 0), count))
        else:
            chosen = [at for at, one in enumerate(row.stitches) if _grows(one, below)]
        kept = {old: new for new, old in enumerate(chosen)}
        first = min(below, default=0)
        new = tuple(
            replace(
                row.stitches[at],
                out_of=tuple(below[column] for column in row.stitches[at].out_of) if cut else (),
                beside=row.stitches[at].beside - first,
            )
            for at in chosen
        )
        cut.append(DrawnRow(row.number, new, row.leftwards))
    return tuple(cut)


def _grows(stitch: DrawnStitch, below: dict[int, int]) -> bool:
    """Whether a stitch stands on the stitches that are kept below it."""
    if stitch.out_of:
        return all(column in below for column in stitch.out_of)
    return bool(below) and min(below) - 0.5 <= stitch.beside <= max(below) + 0.5


class _Sheet:
    def __init__(self, picture: Picture, stitch: float, colours: tuple[str, ...]) -> None:
        self.picture = picture
        self.colours = colours
        self.stitch = stitch
        self.width = (picture.right - picture.left) * stitch + 2 * _NUMBERS
        self.height = (0.5 - picture.bottom) * stitch

    def x(self, x: float) -> float:
        return _NUMBERS + (x - self.picture.left) * self.stitch

    def y(self, y: float) -> float:
        """Return where a height lies: 0 is the top of the last row, upwards is positive."""
        return (0.4 - y) * self.stitch

    def tone(self, quad: Quad) -> int | None:
        """Return in which tone a stitch is printed; None if it is not worked in its row."""
        if quad.ink is Ink.IDLE:
            return None
        return self.colours.index(quad.colour) if quad.colour in self.colours else 0

    def placed(self, quad: Quad) -> Stamped:
        """Return the stamp of a stitch; one that leans is sheared."""
        x0, y0, x1, _, _, _, x3, y3 = quad.corners
        lean = (x3 - x0) / (y3 - y0)
        tall = round((y3 - y0) * (1 - 2 * MARGIN_Y) / ROW_HEIGHT, 6)
        lean_drawn = -lean * tall if abs(lean) > 1e-6 else 0  # noqa: PLR2004 (rounding)
        foot_y = y0 + (y3 - y0) * MARGIN_Y
        foot_x = x0 + (x1 - x0) * MARGIN_X + lean * (foot_y - y0)
        wide = round((x1 - x0) * (1 - 2 * MARGIN_X), 6)
        return Stamped(
            _name(quad.tile, self.tone(quad)),
            (wide, 0, lean_drawn, tall, self.x(foot_x), self.y(foot_y)),
        )

    def grounds(self, quads: Sequence[Quad], shade: str) -> Iterator[Area]:
        """Draw the shade behind each row, so that no paper shows between its stitches."""
        rows: dict[float, list[Quad]] = {}
        for quad in quads:
            if quad.ink is not Ink.IDLE:
                rows.setdefault(round(quad.corners[1], 2), []).append(quad)
        for low, row in rows.items():
            high = max(quad.corners[7] for quad in row)
            inset = (high - low) * MARGIN_Y
            left, right = _ends(row, 0, 2)
            top_left, top_right = _ends(row, 6, 4)
            y0, y1 = self.y(low + inset), self.y(high - inset)
            corners = ((left, y0), (right, y0), (top_right, y1), (top_left, y1))
            yield Area(tuple((self.x(x), y) for x, y in corners), shade, "", 0)

    def numbers(self) -> list[Shape]:
        """Draw the number of every fifth row, at the side where it begins."""
        numbers: list[Shape] = []
        size = min(2.6, self.stitch)
        for mark in self.picture.marks:
            if mark.number != 1 and mark.number % 5 and len(self.colours) == 1:
                continue
            anchor = Anchor.START if mark.at_right else Anchor.END
            x = self.x(mark.x) + (1.5 if mark.at_right else -1.5)
            numbers.append(Words(x, self.y(mark.y) + size * 0.36, mark.text, size, anchor))
        return numbers


def _ends(row: Sequence[Quad], left: int, right: int) -> tuple[float, float]:
    """Return where the outermost stitches of a row are sure to lie, at their foot or their top."""
    middles = [(quad.corners[left] + quad.corners[right]) / 2 for quad in row]
    return min(middles) - 0.3, max(middles) + 0.3


def _name(tile: Tile, tone: int | None) -> str:
    return tile.value if tone == 0 else f"{tile.value}-{'idle' if tone is None else tone}"


def _stamp(tile: Tile, wool: str | None, stitch: float) -> tuple[Plain, ...]:
    """Return a stitch in millimetres, its lower left corner at the origin."""
    strands = STRANDS[tile]
    curves: list[Plain] = []
    for strand in strands:
        points = tuple((x * stitch, -y * ROW_HEIGHT * stitch) for x, y in strand.points)
        width = _thickness(strand) * stitch
        four = (points[0], points[1], points[2], points[3])
        if wool is None:
            curves += [CurveShape(four, width, _FAINT), CurveShape(four, width * 0.8, "#ffffff")]
        else:
            curves += [
                CurveShape(four, width, _darker(wool, _EDGE)),
                CurveShape(four, width * 0.66, _darker(wool, 1 - _BEHIND * (1 - strand.shade))),
            ]
    return tuple(curves)


def _thickness(strand: Strand) -> float:
    return strand.half * (1 + strand.thin)


def _darker(wool: str, share: float) -> str:
    """Return a colour at so much of its lightness: a strand that lies behind, or its edge."""
    red, green, blue = (int(int(wool[at : at + 2], 16) * share) for at in (1, 3, 5))
    return f"#{red:02x}{green:02x}{blue:02x}"
