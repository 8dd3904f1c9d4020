"""A piece that is finished: all of it drawn and measured, and what is left to do with it."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Any, Final

from app.display.finished_view import finished_view
from app.display.flow import TextSpan
from app.drawings.whole import whole_of
from app.session.controls import phrase_of
from app.window.screens.pages import Page
from app.window.screens.picture_control import emblem_control
from app.window.views.fabric_view import FabricView
from app.window.views.measured_view import MeasuredView
from engine.talk import StepDone

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from app.display.finished_view import FinishedView
    from app.session.controls import Control as Spec
    from app.session.situation import Situation
    from app.window.screens.control import Control
    from app.window.screens.kit import Kit

_DRAWN: Final = 0.42
"""Share of the height that the drawing takes."""
_DRAWN_LEAST: Final = 30.0
_SHAPE: Final = 0.62
"""Height of the drawing by its width at most: a narrow page leaves no gap around it."""
_WIDEST: Final = 118.0
_DIGITS: Final = range(49, 58)
_ACTIONS: Final = ("knit_same_again", "measure", "measure_width", "show_story", "show_pieces")


class FinishedPage(Page):
    """The piece off its needle, its measures beside the plan, and steps to tick."""

    def __init__(
        self,
        kit: Kit,
        tick: Callable[[StepDone], None],
        act: Callable[[Spec], None],
        close: Callable[[], None],
        **properties: Any,
    ) -> None:
        """Build an empty page; `show` fills it."""
        self.kit, self._tick, self._act = kit, tick, act
        super().__init__(kit.look, close, title=kit.words("finished", "title"), **properties)
        self.view: FinishedView | None = None
        self.steps: list[Control] = []
        self.actions: Mapping[str, Control] = {}

    def show(self, situation: Situation) -> None:
        """Show the piece of a situation."""
        state, course, sizes = situation.state, situation.course, self.look.theme.sizes
        words = self.kit.words.in_rounds() if situation.in_rounds else self.kit.words
        kept = self.scroll.scroll_y
        view = self.view = finished_view(state, course, words, self.kit.length_unit)
        self.title = view.name or words("finished", "title")
        self.clear()
        fabric = FabricView(
            look=self.look,
            wool=self.look.theme.wool_for(state.piece),
            fabric=whole_of(state, course),
            whole=True,
            numbered=False,
        )
        drawing = MeasuredView(self.look, fabric)
        sides = {one.key: one.short for one in view.measures}
        drawing.upward, drawing.across = sides["length"], sides["width"]
        self.add_drawing(drawing, _DRAWN_LEAST)
        self.add_text([TextSpan(view.made, bold=True)], sizes.far_words)
        if not state.finished:
            self.add_text([TextSpan(words("finished", "not_yet"), "soft")], sizes.words)
        self._write_steps(view)
        self.add_text([TextSpan(words("finished", "measures"), bold=True)], sizes.far_words)
        for one in view.measures:
            self.add_text([TextSpan(one.words, "alert" if one.off else "ink")], sizes.words)
        shelf = self.add_shelf()
        self.actions = {}
        for key in _ACTIONS:
            spec = self.kit.controls.by_key[key]
            rank = "strong" if key == "knit_same_again" else "plain"
            control = self.control_on(shelf, spec.name, partial(self._act, spec), rank=rank)
            control.phrase = phrase_of(spec, self.kit.book)
            self.actions = {**self.actions, key: control}
        self.lay()
        self.scroll.scroll_y = kept

    def _write_steps(self, view: FinishedView) -> None:
        words, sizes = self.kit.words, self.look.theme.sizes
        heading = words("finished", "steps" if view.left else "none_left")
        self.add_text([TextSpan(heading, bold=True)], sizes.far_words)
        said = phrase_of(self.kit.controls.by_key["step_done"], self.kit.book)
        shelf = self.add_shelf()
        self.steps = []
        for number, step in enumerate(view.steps, 1):
            control = emblem_control(
                self.look,
                "ticked" if step.done else "open",
                step.words,
                aside=True,
                rank="chosen" if step.done else "plain",
                rim=3.0,
                align="left",
                capital=sizes.far_words,
            )
            control.phrase = said.replace("\N{HORIZONTAL ELLIPSIS}", str(number), 1)
            control.bind(on_release=lambda _, number=number: self._tick(StepDone(number)))
            shelf.put(control)
            self.steps.append(control)

    def turn(self, code: int) -> bool:
        """Tick a step by its number; other keys scroll."""
        number = code - _DIGITS.start + 1
        if code in _DIGITS and number <= len(self.steps):
            self._tick(StepDone(number))
            return True
        return super().turn(code)

    def lay(self, *_: object) -> None:
        """Give the steps room for a sentence."""
        if self.drawings:
            room = self.scroll.height / self.look.px_per_mm * _DRAWN
            room = min(room, self.column.width / self.look.px_per_mm * _SHAPE)
            self.drawings[0] = (self.drawings[0][0], max(room, _DRAWN_LEAST))
        super().lay()
        if self.shelves:
            least = min(_WIDEST * max(1.0, self.look.text_scale * 0.7),
                        self.column.width / self.look.px_per_mm)  # fmt: skip
            self.shelves[0].least = least
            self.shelves[0].tall = max(
                self.look.theme.sizes.target, 15.0 * self.look.text_scale * self.look.grown
            )
