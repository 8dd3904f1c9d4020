"""The hands at work for print: how the stitches of a pattern are made, move by move."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from app.drawings.hands.album import drawn_moves
from app.drawings.hands.painting import BOTTOM, LEFT, RIGHT, TOP, painted
from app.drawings.hands.strands import Part
from app.printing.shapes import INK, PAPER, SOFT, Drawing, PathShape
from app.printing.sheet import HandsSheet, Illustration
from app.wording import reply_wording
from engine.pattern.instruction import Instruction
from engine.pattern.notation import BindOff, CastOn, Work

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from app.drawings.hands.painting import Flat, Layer
    from app.drawings.hands.strands import Pose
    from app.session.settings import YarnHand
    from engine.pattern.notation import Item
    from engine.pattern.stitches import Stitch

_MM: Final = 5.2
"""A stitch width on paper."""
_MARGIN: Final = 0.5
"""Around the picture, in stitch widths."""
_RIM: Final = 0.09
_FILLS: Final = {
    Part.FABRIC: PAPER,
    Part.OLD: "#d4d4d4",
    Part.NEXT: "#8c8c8c",
    Part.YARN: "#4a4a4a",
    Part.TAIL: "#b4b4b4",
    Part.FULL: "#f2f2f2",
    Part.FREE: "#f2f2f2",
    Part.HOOK: "#f2f2f2",
    Part.HAND: "#e9e9e9",
    Part.ARROW: INK,
}
"""In greys as unlike as can be: the yarn that is worked is dark, the stitch that is worked next."""


def hands_sheets(
    stitches: Iterable[Stitch], hand: YarnHand, *, left_handed: bool
) -> tuple[HandsSheet, ...]:
    """
    Return how casting on, these stitches and binding off are made.

    A stitch that is not drawn is left out: its words are in the abbreviations.
    """
    items: list[Item] = [CastOn((1,)), *(Work(stitch) for stitch in stitches), BindOff((1,))]
    return tuple(
        HandsSheet(title, tuple(_moves(item, hand, left_handed=left_handed)))
        for item in items
        if drawn_moves(item) and (title := _title(item))
    )


def _title(item: Item) -> str:
    said = reply_wording().rows.say(Instruction((item,)))
    return said[:1].upper() + said[1:]


def _moves(item: Item, hand: YarnHand, *, left_handed: bool) -> Iterator[Illustration]:
    words = reply_wording().hands
    if words is None:
        return
    told = [one for one in words.told_of(Instruction((item,))) if one.move >= 0]
    title = f"{_title(item)}. "
    for sentence, draw in zip(told, drawn_moves(item), strict=True):
        pose = draw(hand)
        said = sentence.words.removeprefix(title)
        drawing = draw_pose(pose.mirrored() if left_handed else pose, said)
        yield Illustration(drawing, (said,))


def draw_pose(pose: Pose, describes: str) -> Drawing:
    """Return one picture of the hands in greys; `describes` says in words what it shows."""
    wide, high = (RIGHT - LEFT + 2 * _MARGIN) * _MM, (TOP - BOTTOM + 2 * _MARGIN) * _MM
    shapes = [shape for layer in painted(pose) for shape in _layer(layer)]
    return Drawing(wide, high, tuple(shapes), describes)


def _layer(layer: Layer) -> Iterator[PathShape]:
    for stroke in layer:
        edge = PAPER if stroke.part is Part.ARROW else SOFT if stroke.part is Part.HAND else INK
        rounded = stroke.starts and stroke.ends
        points = tuple(map(_placed, stroke.line))
        yield PathShape(points, (stroke.thick + _RIM) * _MM, edge, rounded)
        for closed, end in ((stroke.starts, points[:1]), (stroke.ends, points[-1:])):
            if closed and not rounded:
                yield PathShape((*end, *end), (stroke.thick + _RIM) * _MM, edge)
    for stroke in layer:
        thick = (stroke.thick - _RIM) * _MM if stroke.part is not Part.ARROW else stroke.thick * _MM
        filling, ink = tuple(map(_placed, stroke.filling)), _FILLS[stroke.part]
        rounded = not any(stroke.cut)
        yield PathShape(filling, thick, ink, rounded)
        for cut, end in zip(stroke.cut, (filling[:1], filling[-1:]), strict=True):
            if not cut and not rounded:
                yield PathShape((*end, *end), thick, ink)


def _placed(point: Flat) -> Flat:
    x, y = point
    return round((x - LEFT + _MARGIN) * _MM, 1), round((TOP - y + _MARGIN) * _MM, 1)
