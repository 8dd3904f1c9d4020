"""Everything that can be done: found by a word, or by its group; steps of the hands are drawn."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Any, Final

from kivy.uix.boxlayout import BoxLayout

from app.display.finding import found
from app.display.flow import TextSpan
from app.session.controls import phrase_of, speakable
from app.window.screens.control import Control
from app.window.screens.pages import Page

if TYPE_CHECKING:
    from collections.abc import Callable

    from app.drawings.fabric import DrawnFabric
    from app.session.controls import Control as Spec
    from app.window.screens.kit import Kit
    from app.window.screens.overlay import Shelf

_HEAD: Final = 48.0
"""mm of width that the head of a group needs at least, and a drawn step."""
_STEP: Final = 40.0
_DRAWN: Final = 26.0
"""mm of height that the drawing of a step takes above its name."""


class Everything(Page):
    """The other screens, a word to find by, and the groups, each of which opens at a touch."""

    def __init__(
        self,
        kit: Kit,
        act: Callable[[Spec], None],
        type_words: Callable[[], None],
        ask_text: Callable[[str, str, Callable[[str], None]], None],
        close: Callable[[], None],
        **properties: Any,
    ) -> None:
        """Build the page; `type_words` opens a line to type into, `ask_text` one that finds."""
        self.kit, self._act, self._type, self._ask = kit, act, type_words, ask_text
        title = kit.words("screens", "everything_title")
        super().__init__(kit.look, close, title=title, **properties)
        self.buttons: dict[str, Control] = {}
        self.wanted, self.unfolded = "", ""
        self._show()

    @property
    def all_controls(self) -> list[Spec]:
        """Every control once, in the order of the groups."""
        groups = self.kit.controls.groups
        return list(dict.fromkeys(spec for _, group in groups for spec in group))

    def search(self, words: str) -> None:
        """Show what words lead to; no words show the groups again."""
        self.wanted, self.unfolded = words.strip(), ""
        self._show()

    def unfold(self, title: str) -> None:
        """Open a group, or close it where it is open."""
        self.wanted, self.unfolded = "", "" if self.unfolded == title else title
        self._show()

    def group_of(self, spec: Spec) -> str:
        """Return the title of the group in which a control stands."""
        return next(title for title, group in self.kit.controls.groups if spec in group)

    def _show(self) -> None:
        words, sizes = self.kit.words, self.look.theme.sizes
        self.clear()
        self.buttons = {}
        shelf = self.add_shelf()
        find = words("everything", "find")
        self.buttons["find"] = self.control_on(shelf, find, self._find, rank="chosen")
        self.buttons["find"].remark = words("everything", "find_how")
        typing = words("screens", "type_title")
        self.buttons["type"] = self.control_on(shelf, typing, self._type, rank="strong")
        if self.wanted:
            self._show_found()
        else:
            for spec in self.kit.controls.screens:
                self._put(shelf, spec, rank="strong")
            shelf = self.add_shelf()
            shelf.broad = _HEAD
            for title, group in self.kit.controls.groups:
                opened = title == self.unfolded
                head = self.control_on(
                    shelf, title, partial(self.unfold, title), rank="chosen" if opened else "plain"
                )
                head.remark = _listed(self._not_screens(group))
                self.buttons[title] = head
            for title, group in self.kit.controls.groups:
                if title == self.unfolded:
                    self._put_all(self._not_screens(group))
        self.add_text([TextSpan(words("everything", "said"), "soft")], sizes.words)
        self.lay()

    def _not_screens(self, group: tuple[Spec, ...]) -> list[Spec]:
        return [spec for spec in group if spec not in self.kit.controls.screens]

    def _show_found(self) -> None:
        words, sizes = self.kit.words, self.look.theme.sizes
        controls = found(self.wanted, self.all_controls, self.kit.book)
        sentence = "found" if controls else "not_found"
        told = words("everything", sentence, words=self.wanted)
        self.add_text([TextSpan(told, bold=True)], sizes.far_words)
        self._put_all(controls)
        back = words("everything", "back")
        self.buttons["back"] = self.control_on(self.add_shelf(), back, partial(self.search, ""))

    def _put_all(self, specs: Any) -> None:
        """Put controls on a shelf; those of which the hands' step can be drawn on their own."""
        drawn = {spec.key: fabric for spec in specs if (fabric := _step(spec)) is not None}
        plain = [spec for spec in specs if spec.key not in drawn]
        if plain:
            shelf = self.add_shelf()
            for spec in plain:
                self._put(shelf, spec)
        if drawn:
            shelf = self.add_shelf()
            shelf.more, shelf.broad = _DRAWN, _STEP
            for spec in specs:
                if spec.key in drawn:
                    self._put(shelf, spec, drawn[spec.key])

    def _put(
        self, shelf: Shelf, spec: Spec, fabric: DrawnFabric | None = None, *, rank: str = "plain"
    ) -> None:
        button = Control(look=self.look, title=spec.name, rank=rank)
        button.bind(on_release=lambda *_: self._act(spec))
        button.phrase = phrase_of(spec, self.kit.book)
        button.spoken = speakable(spec, self.kit.book)
        self.buttons[spec.key] = button
        if fabric is None:
            shelf.put(button)
            return
        from app.window.views.fabric_view import FabricView  # noqa: PLC0415 (only when unfolded)

        card = BoxLayout(orientation="vertical")
        wool = self.look.wool or self.look.theme.wool_for("")
        picture = FabricView(look=self.look, wool=wool, fabric=fabric)
        picture.size_hint_y = _DRAWN / self.look.theme.sizes.target
        card.add_widget(picture)
        card.add_widget(button)
        shelf.put(card)

    def _find(self) -> None:
        self._ask(self.kit.words("everything", "find"), self.wanted, self.search)


def _listed(specs: list[Spec]) -> str:
    """Name the first few of a group."""
    named = ", ".join(spec.name.lower() for spec in specs[:_NAMED])
    return f"{named} \N{HORIZONTAL ELLIPSIS}" if len(specs) > _NAMED else named


_NAMED: Final = 3


def _step(spec: Spec) -> DrawnFabric | None:
    """Return the step of the hands that a control shows, as a piece of fabric; None for others."""
    from engine.commands import HowTo, Technique  # noqa: PLC0415 (the page opens sooner)

    technique = dict(spec.fixed).get("stitch")
    if spec.kind is not HowTo or not isinstance(technique, Technique):
        return None
    if technique in {
        Technique.CAST_ON,
        Technique.PICK_UP,
        Technique.BIND_OFF,
    }:
        return None
    from app.drawings.shown import stitch_drawn  # noqa: PLC0415 (brings the reader of patterns)
    from engine.show_how import shown  # noqa: PLC0415

    return stitch_drawn(shown(technique).items[0], made=True)
