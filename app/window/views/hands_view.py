"""The hands at work on the canvas: strands of yarn, needles and fingers, what lies behind first."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from kivy.animation import Animation
from kivy.clock import Clock
from kivy.graphics import Color, Ellipse, Line
from kivy.properties import BooleanProperty, NumericProperty, ObjectProperty

from app.drawings.hands.between import between
from app.drawings.hands.painting import BOTTOM, LEFT, RIGHT, TOP, painted
from app.drawings.hands.strands import Part
from app.session.settings import YarnHand
from app.window.views.story_view import Drawn

if TYPE_CHECKING:
    from collections.abc import Sequence

    from app.display.theme import Colour
    from app.drawings.hands.album import HandsShown
    from app.drawings.hands.painting import Layer
    from app.window.look import Look

_RIM: Final = 0.035
"""Half of what the edges stand out beyond a strand, in stitch widths."""
_NEXT: Final = [0.96, 0.73, 0.24, 1.0]
"""The stitch that is worked, in every theme; its edges tell it from its ground."""
_MARGIN: Final = 0.95
"""Room around the picture, in stitch widths: thick strands reach beyond their middle."""
_BLEND: Final = {Part.OLD: 0.55, Part.FABRIC: 0.22, Part.TAIL: 0.5}
"""How much of the wool's colour is in what is not worked now."""


class HandsView(Drawn):
    """Draws one picture of the hands as large as fits."""

    hands: HandsShown | None = ObjectProperty(None, allownone=True)
    behind = BooleanProperty(False)
    """Whether it is seen from the other side of the work."""
    share = NumericProperty(1.0)
    """How far the hands have come from the picture `since` to the one that is shown."""
    since: HandsShown | None = None
    other_hand = BooleanProperty(False)
    """Whether it is drawn for who knits with the other hand than the settings say."""

    def __init__(self, **properties: object) -> None:
        """Draw anew whenever something else is shown; however much changes, once a frame."""
        self._soon = Clock.create_trigger(self._redraw_now, -1)
        super().__init__(**properties)
        self.fbind("hands", self.redraw)
        self.fbind("behind", self.redraw)
        self.fbind("share", self.redraw)

    def redraw(self, *_: object) -> None:
        """Draw everything before the next frame."""
        self._soon()

    def _redraw_now(self, *_: object) -> None:
        # By a name of its own: the clock keeps a method by its name, and `redraw` would be ours.
        super().redraw()

    def move(self, since: HandsShown, seconds: float) -> None:
        """Have the hands move from another picture to the one that is shown."""
        self.since, self.share = since, 0.0
        Animation(share=1.0, duration=seconds).start(self)

    def still(self) -> None:
        """Show the picture without any motion."""
        Animation.cancel_all(self)
        self.share = 1.0

    def draw(self, look: Look, wool: Colour) -> None:
        """Draw the pose; the canvas is open."""
        if self.hands is None:
            return
        pose = self.hands.pose(YarnHand(look.yarn_hand))
        if pose is None:
            return
        if self.since is not None and self.share < 1:
            was = self.since.pose(YarnHand(look.yarn_hand))
            pose = between(was, pose, self.share) if was is not None else pose
        if look.left_handed is not self.other_hand:
            pose = pose.mirrored()
        if self.behind:
            pose = pose.from_behind()
        wide, high = RIGHT - LEFT + 2 * _MARGIN, TOP - BOTTOM + 2 * _MARGIN
        scale = min(self.width / wide, self.height / high)
        brush = _Brush(look, wool, scale, (self.center_x, self.center_y))
        for layer in painted(pose):
            brush.paint(layer)


class _Brush:
    def __init__(self, look: Look, wool: Colour, scale: float, middle: tuple[float, float]) -> None:
        self.look, self.scale = look, scale
        self.x = middle[0] - scale * (LEFT + RIGHT) / 2
        self.y = middle[1] - scale * (BOTTOM + TOP) / 2
        page, yarn = list(look.page), list(look.tinted(wool))
        self.inks = {
            Part.YARN: yarn,
            Part.NEXT: _NEXT,
            Part.FULL: list(look.needle),
            Part.FREE: list(look.needle),
            Part.HOOK: list(look.needle),
            Part.HAND: _mixed(page, list(look.ink), 0.16),
            Part.ARROW: list(look.strong),
            **{part: _mixed(page, yarn, share) for part, share in _BLEND.items()},
        }

    def paint(self, layer: Layer) -> None:
        """Draw the edges of a layer, then its fillings."""
        for stroke in layer:
            half = (stroke.thick / 2 + _RIM) * self.scale
            arrow = stroke.part is Part.ARROW
            Color(*(self.look.page if arrow else self.look.ink))
            self._line(stroke.line, half)
            for closed, end in ((stroke.starts, stroke.line[0]), (stroke.ends, stroke.line[-1])):
                if closed:
                    self._dot(end, half)
        for stroke in layer:
            half = max(stroke.thick / 2 - _RIM, 0.03) * self.scale
            Color(*self.inks[stroke.part])
            self._line(stroke.filling, half)
            for cut, end in zip(stroke.cut, (stroke.filling[0], stroke.filling[-1]), strict=True):
                if not cut:
                    self._dot(end, half)

    def _line(self, points: Sequence[tuple[float, float]], half: float) -> None:
        flat = [v for x, y in points for v in (self.x + x * self.scale, self.y + y * self.scale)]
        Line(points=flat, width=max(half, 1.01), cap="none", joint="round")

    def _dot(self, point: tuple[float, float], half: float) -> None:
        x, y = self.x + point[0] * self.scale, self.y + point[1] * self.scale
        Ellipse(pos=(x - half, y - half), size=(2 * half, 2 * half))


def _mixed(one: list[float], two: list[float], share: float) -> list[float]:
    return [a + (b - a) * share for a, b in zip(one[:3], two[:3], strict=True)] + [1.0]
