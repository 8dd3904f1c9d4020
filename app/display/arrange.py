"""Where the parts of the board lie on a screen of any size and text of any size; no Kivy here.

All lengths are millimetres on the screen, from the lower left corner. What has to be read from
afar and what has to be hit with a thumb keeps its size; the drawing takes what is left. If there
is not enough room for everything, the least needed parts are left out, in the order of `_SPARE`;
then "air", the room that large words would like to have in the controls; last of all "count", the
line that a stitch count without notes takes.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Final

from app.display.flow import LEADING

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from app.display.theme import Sizes

_SPARE: Final = ("ways", "notes", "tape", "title", "fabric", "air", "count")
LOW_SCREEN: Final = 95.0
"""mm of height below which a screen is a phone on its side."""
_SMALL_SCREEN: Final = 100.0
_FABRIC_LEAST: Final = 13.0
_FABRIC_WITH_WAYS: Final = 26.0
"""mm of height of the drawing below which the ways to other places give way to it."""
_MOST_FOR_ANSWER: Final = 0.3  # share of the height that a long answer may take
_TAPE: Final = 9.0
_TAPE_LARGE: Final = 13.0
"""mm of height of the tape where its figures are read from afar."""
_WORDS_BESIDE: Final = 27.0  # room that "wrong side" needs beside the numeral
_WORDS_BESIDE_LOW: Final = 46.0
"""The same on a phone on its side: the stitch count and the way to go stand there, too."""
_WORDS_WIDE: Final = 60.0
"""Room beside the numeral where a screen stands on the table, and room for the notes."""
_DIGIT: Final = 0.62  # width of a bold figure by the size of the letters
_LOW_COLUMNS: Final = 2
_MOST_FOR_WORDS: Final = 0.62  # share of the middle that the instruction may take from the drawing
_MOST_WHEN_LARGE: Final = 0.75
_TALL_FOR_TWO_ROWS: Final = 170.0
_WAYS: Final = 4
_WAY_TALL: Final = 23.0
"""mm of height of a way with its picture and its word; no less than a target."""
_WAY_WIDE: Final = 30.0
BROAD: Final = 250.0
"""mm of width from which the ways are broad enough for larger words."""
_CONTROL_ON_TABLE: Final = 1.3
"""Width of a control by a target where its words are read at arm's length."""
_GROWTH_ON_TABLE: Final = 1.5
"""So much the room for words in controls grows, where they are large to begin with."""
_LINE_MOST: Final = 15.0
"""mm of height of a line beside the row: what is large for the eye already grows no more."""
_TITLE_LEAST: Final = 40.0
"""mm of width, by the reader's text size, that title and ear need beside the ways."""


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle: lower left corner, width and height."""

    x: float
    y: float
    width: float
    height: float


def with_hands(room: Box, gap: float) -> tuple[Box, Box, Box]:
    """
    Return where the hands at work, the sentence about them and its number lie, in mm.

    The picture is half as wide again as it is high; it takes what it can of the room.
    """
    shape = 1.5
    if room.width > shape * room.height:
        wide = min(room.width * 0.62, room.height * shape)
        left = Box(room.x, room.y, wide, room.height)
        words = Box(room.x + wide + gap, room.y, room.width - wide - gap, room.height)
        number = max(words.height * 0.14, min(words.height, 7.0))
        top = words.y + words.height - number
        return (
            left,
            Box(words.x, words.y, words.width, words.height - number),
            Box(words.x, top, words.width, number),
        )
    high = min(room.width / shape, room.height * 0.55)
    number = min(max(room.height * 0.065, 5.0), room.height * 0.2)
    picture = Box(room.x, room.y + room.height - high, room.width, high)
    below = room.height - high - number
    return (
        picture,
        Box(room.x, room.y, room.width, below),
        Box(room.x, room.y + below, room.width, number),
    )


def around(boxes: Iterable[Box | None]) -> Box:
    """Return the least rectangle around all boxes that are there; ValueError for none."""
    there = [box for box in boxes if box is not None]
    x, y = min(box.x for box in there), min(box.y for box in there)
    right = max(box.x + box.width for box in there)
    return Box(x, y, right - x, max(box.y + box.height for box in there) - y)


def below(room: Box, ways: tuple[Box, ...]) -> Box:
    """Return a rectangle as far as it lies below the ways to other places."""
    high = min([room.y + room.height, *(way.y for way in ways if way.y > room.y)]) - room.y
    return replace(room, height=high)


@dataclass(frozen=True, slots=True)
class Room:
    """What the board has to fit into: the screen, the reader's text size, figures of the row."""

    width: float
    height: float
    sizes: Sizes
    capital: float
    scale: float = 1.0
    digits: int = 2
    controls: int = 7
    magnify: float = 1.0
    """How much larger than it must be the number of the row is drawn."""
    instruction: Callable[[float], tuple[float, float]] | None = None
    """Height that the whole instruction, and the bit worked now, need in a width; None: a line."""
    roomy: Callable[[float], float] | None = None
    """Height that the whole instruction needs in a width as large as it may be."""
    heard: Callable[[float], float] | None = None
    """Height that what was heard and answered needs in a width, in small letters."""

    def line(self, capital: float) -> float:
        """Height of a line of text with capitals so high, at the reader's text size."""
        return capital * self.scale / self.capital * LEADING

    @property
    def small(self) -> bool:
        """Whether it is a screen for one hand."""
        return min(self.width, self.height) < _SMALL_SCREEN

    @property
    def tape_line(self) -> float:
        """Height of the words of the tape."""
        return self.line(self.sizes.words)

    @property
    def notes_line(self) -> float:
        """Height of a line of what has to be known besides: how many stitches there are."""
        if self.small:
            return self.line(self.sizes.words)
        return min(self.line(self.sizes.far_words), _LINE_MOST)

    @property
    def tape(self) -> float:
        """Height of the tape with the piece that lies along it."""
        return _TAPE if self.small else _TAPE_LARGE

    @property
    def margin(self) -> float:
        """Distance from the edge of the screen."""
        return 1.5 if self.small else 4.0

    @property
    def gap(self) -> float:
        """Distance between two parts."""
        return self.sizes.gap / 2 if self.small else self.sizes.gap

    def words(self, width: float) -> tuple[float, float]:
        """Return the height that the whole instruction and the bit worked now need in a width."""
        if self.instruction is None:
            line = self.sizes.instruction / self.capital * LEADING
            return line, line
        return self.instruction(width)

    @property
    def numeral_width(self) -> float:
        """Width that the number of the row takes."""
        return self.digits * _DIGIT * self.numeral / self.capital

    @property
    def numeral(self) -> float:
        """Height of the number of the row."""
        return self.sizes.numeral * self.magnify

    @property
    def way_width(self) -> float:
        """Width of a way to another place."""
        wide = _WAY_WIDE if self.width >= BROAD else _WAY_TALL
        return max(self.sizes.target, wide * min(self.scale, 1.3))

    def answer(self, width: float, usual: float) -> float:
        """Return the height for what was heard and answered: more than usual if it is long."""
        if self.heard is None:
            return usual
        return max(usual, min(self.heard(width), self.height * _MOST_FOR_ANSWER))

    def control(self, *, air: bool = True) -> tuple[float, float]:
        """Least width and height of a control: a target for a thumb, and room for its words."""
        target = self.sizes.target
        if not air:
            return target, target
        words = self.line(self.sizes.words) + 2 * self.line(self.sizes.small)
        words *= 1.0 if self.small else min(_GROWTH_ON_TABLE / self.scale, 1.0)
        words += 3.0
        wide = 1.0 if self.small else _CONTROL_ON_TABLE
        return target * max(wide, 0.72 * self.scale), max(target, words)


@dataclass(frozen=True, slots=True)
class Arrangement:
    """The parts by name, and the controls in the order of their importance."""

    parts: dict[str, Box]
    controls: tuple[Box, ...]
    beside: bool
    """Whether the words about the row stand beside its number (otherwise below it)."""
    ways: tuple[Box, ...] = ()
    """Where the ways to other places lie, along the upper edge: four, or only the chief one."""
    left_out: tuple[str, ...] = field(default=())


def _ways(room: Room, right: float, top: float, count: int = _WAYS) -> tuple[Box, ...]:
    """Return boxes for so many ways in the upper right corner."""
    wide, gap = room.way_width, room.sizes.gap / 2
    tall = max(_WAY_TALL, room.sizes.target)
    left = right - count * wide - (count - 1) * gap
    return tuple(Box(left + at * (wide + gap), top - tall, wide, tall) for at in range(count))


def arrange(room: Room) -> Arrangement:
    """Return where everything lies."""
    left_out: tuple[str, ...] = ()
    while True:
        arranged = _arrange(room, left_out)
        spare = [name for name in _SPARE if name not in left_out]
        if not spare or _enough(arranged, room):
            return arranged
        left_out = (*left_out, spare[0])


def _arrange(room: Room, left_out: tuple[str, ...]) -> Arrangement:
    if room.width < room.height:
        return _tall(room, left_out)
    if room.height < LOW_SCREEN:
        return _low(room, left_out)
    return _wide(room, left_out)


def _enough(arranged: Arrangement, room: Room) -> bool:
    parts = arranged.parts
    words = parts["instruction"]
    enough = words.height >= room.words(words.width)[1] - 0.01
    if "fabric" in parts:
        least = _FABRIC_WITH_WAYS if arranged.ways and not room.small else _FABRIC_LEAST
        enough = enough and parts["fabric"].height >= least
    return enough and all(box.height > 0 and box.width > 0 for box in parts.values())


class _Column:
    """Boxes stacked from the top down and from the bottom up, with what is left in the middle."""

    def __init__(self, x: float, width: float, low: float, high: float, gap: float) -> None:
        self.x, self.width, self.low, self.high, self.gap = x, width, low, high, gap

    def top(self, height: float) -> Box:
        self.high -= height
        box = Box(self.x, self.high, self.width, height)
        self.high -= self.gap
        return box

    def bottom(self, height: float) -> Box:
        box = Box(self.x, self.low, self.width, height)
        self.low += height + self.gap
        return box

    @property
    def left(self) -> float:
        return self.high - self.low


def _row_of_controls(room: Room, box: Box, count: int) -> tuple[Box, ...]:
    gap = room.gap
    width = (box.width - gap * (count - 1)) / count
    return tuple(Box(box.x + at * (width + gap), box.y, width, box.height) for at in range(count))


def _controls(room: Room, column: _Column, rows: int, *, air: bool) -> tuple[Box, ...]:
    """Take rows of controls from the bottom; the most important one comes first, upper left."""
    gap = room.gap
    least, height = room.control(air=air)
    narrowest = int((column.width + gap) / (room.sizes.target + gap))
    a_row = max(1, int((column.width + gap) / (least + gap)), min(narrowest, 2))
    rows = min(rows, -(-room.controls // a_row))
    a_row = min(a_row, -(-room.controls // rows))
    lines = [_row_of_controls(room, column.bottom(height), a_row) for _ in range(rows)]
    return tuple(box for line in reversed(lines) for box in line)[: max(room.controls, 1)]


def _place_height(room: Room, *, beside: bool) -> float:
    height = room.numeral + 2.0
    return height if beside else height + room.line(room.sizes.words) + 1.0


def _split(room: Room, left: float, width: float) -> tuple[float, float]:
    """Share what is left between the drawing and the instruction, which comes first."""
    whole, bit = room.words(width)
    roomy = (whole * 1.15 if room.roomy is None else room.roomy(width)) + 1.5
    most = _MOST_FOR_WORDS if room.small else _MOST_WHEN_LARGE
    wanted = max(min(roomy, left * most), bit)
    return left - wanted - room.gap, wanted


def _tall(room: Room, left_out: tuple[str, ...]) -> Arrangement:
    margin, gap, sizes = room.margin, room.gap, room.sizes
    column = _Column(margin, room.width - 2 * margin, margin, room.height - margin, gap)
    parts: dict[str, Box] = {}
    air = "air" not in left_out
    controls = _controls(room, column, 2 if room.height >= _TALL_FOR_TWO_ROWS else 1, air=air)
    ways = () if "ways" in left_out else _ways_above(room, column, parts)
    if "title" not in left_out and "title" not in parts:
        parts["title"] = column.top(room.line(sizes.words))
    beside = column.width - room.numeral_width - gap >= _WORDS_BESIDE
    lost = "count" not in left_out and sum(
        name in left_out for name in ("notes", "tape")
    )  # they stand with the place then
    more = min(lost, 1) * room.line(sizes.small) if beside else lost * room.line(sizes.words)
    parts["place"] = column.top(_place_height(room, beside=beside) + more)
    free = column.width - room.numeral_width - gap
    if "ways" not in left_out and not ways and not beside and free >= sizes.target:
        place = parts["place"]
        upper = place.y + place.height
        ways = (
            Box(place.x + column.width - sizes.target, upper - sizes.target, *[sizes.target] * 2),
        )
    usual = (2 if air else 1) * room.line(sizes.words) + 1
    parts["heard"] = column.bottom(room.answer(column.width, usual))
    if "tape" not in left_out:
        parts["tape"] = column.bottom(room.tape + room.tape_line)
    if "notes" not in left_out:
        parts["notes"] = column.bottom(room.notes_line * (2 if room.small else 1))
    _middle(room, column, parts, left_out)
    return Arrangement(parts, controls, beside, ways, left_out)


def _ways_above(room: Room, column: _Column, parts: dict[str, Box]) -> tuple[Box, ...]:
    """Take the uppermost strip for all ways, with the title beside them; () without room."""
    ways = _ways(room, column.x + column.width, column.high)
    left = ways[0].x - column.x - room.gap
    if left < _TITLE_LEAST * room.scale:
        return ()
    strip = column.top(ways[0].height)
    line = room.line(room.sizes.words)
    high = min(2 * line + 1, strip.height)
    parts["title"] = Box(strip.x, strip.y + strip.height - high, left, high)
    return ways


def _middle(room: Room, column: _Column, parts: dict[str, Box], left_out: tuple[str, ...]) -> None:
    if "fabric" in left_out:
        parts["instruction"] = column.top(column.left)
        return
    fabric, instruction = _split(room, column.left, column.width)
    parts["instruction"] = column.top(instruction)
    parts["fabric"] = column.top(fabric)


def _wide(room: Room, left_out: tuple[str, ...]) -> Arrangement:
    margin, gap, sizes = room.margin, room.gap, room.sizes
    column = _Column(margin, room.width - 2 * margin, margin, room.height - margin, gap)
    parts: dict[str, Box] = {}
    controls = _controls(room, column, 1, air="air" not in left_out)
    words = _WORDS_WIDE * max(1.0, min(room.scale, 1.5))
    side = room.numeral_width + gap + words
    ways = () if "ways" in left_out else _ways(room, margin + column.width, column.high)
    taken = column.width - (ways[0].x - margin) + 2 * gap if ways else 0.0
    if ways and column.width - taken - side - 2 * gap < words:  # no room beside the notes
        ways, taken = _ways_above(room, column, parts), 0.0
    if "title" not in left_out and "title" not in parts:
        line = column.top(room.line(sizes.words))
        parts["title"] = Box(line.x, line.y, line.width - taken, line.height)
    usual = min(room.line(sizes.far_words), _LINE_MOST) + 1
    parts["heard"] = column.bottom(room.answer(column.width, usual))
    if "tape" not in left_out:
        parts["tape"] = column.bottom(room.tape + room.tape_line)
    band = column.top(_place_height(room, beside=True))
    parts["place"] = Box(band.x, band.y, min(side, band.width), band.height)
    rest = band.width - side - 2 * gap - taken
    if "notes" not in left_out and rest >= words:
        parts["notes"] = Box(band.x + side + 2 * gap, band.y, rest, band.height)
    _middle(room, column, parts, left_out)
    return Arrangement(parts, controls, beside=True, ways=ways, left_out=left_out)


def _low(room: Room, left_out: tuple[str, ...]) -> Arrangement:
    margin, gap, sizes = room.margin, room.gap, room.sizes
    least, height = room.control(air="air" not in left_out)
    rows = max(1, int((room.height - 2 * margin + gap) / (height + gap)))
    most = _LOW_COLUMNS if rows > 1 else _LOW_COLUMNS + 1  # yes, no and everything
    columns = min(most, -(-room.controls // rows))
    tall = (room.height - 2 * margin - gap * (rows - 1)) / rows
    block = columns * least + (columns - 1) * gap
    x = room.width - margin - block
    controls = tuple(
        Box(
            x + at_column * (least + gap),
            margin + (rows - 1 - at_row) * (tall + gap),
            least,
            tall,
        )
        for at_row in range(rows)
        for at_column in range(columns)
    )[: room.controls]
    column = _Column(margin, x - margin - gap * 1.5, margin, room.height - margin, gap)
    parts: dict[str, Box] = {}
    if "title" not in left_out:
        parts["title"] = column.top(room.line(sizes.words))
    place = _place_height(room, beside=True)
    side = room.numeral_width + gap + _WORDS_BESIDE_LOW * max(room.scale * 0.75, 1.0)
    band = column.top(place)
    fits_beside = band.width - side - gap >= _FABRIC_LEAST and "fabric" not in left_out
    parts["place"] = Box(band.x, band.y, side if fits_beside else band.width, band.height)
    if fits_beside:
        parts["fabric"] = Box(band.x + side + gap, band.y, band.width - side - gap, band.height)
    parts["heard"] = column.bottom(room.answer(column.width, room.line(sizes.words)))
    if "tape" not in left_out and column.left > room.words(column.width)[0] + 25:
        parts["tape"] = column.bottom(room.tape + room.tape_line)
    parts["instruction"] = column.top(column.left)
    return Arrangement(parts, controls, beside=True, left_out=left_out)
