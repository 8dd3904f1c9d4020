"""Beginning a piece: patterns as cards, the size and what it needs, and the plan as an outline."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING, Any, Final

from kivy.clock import Clock

from app.display.flow import TextSpan
from app.display.needs import needs_of
from app.display.plan_outline import changed_by, one_step, outline_of_plan
from app.pieces.library import own_folder
from app.pieces.plan_words import both
from app.printing.shelf_card import ShelfCard, card_of, said_for
from app.resources import said_path
from app.session.controls import Answer, Asks, Entry, phrase_of
from app.session.draft import Draft, Field, fields_of, plan_of, sums_of, wrong_with
from app.window.screens.needs import LINE, Needs
from app.window.screens.pad import entry_words
from app.window.screens.pages import Page
from app.window.screens.panels import Panel
from app.window.screens.picture_control import PictureControl, emblem_control
from app.window.views.fabric_view import FabricView
from app.window.views.measured_view import MeasuredView
from app.window.views.outline_view import OutlineView, PlanView
from engine.quantities import Length, Mass
from engine.talk import PlanLong, PlanWide

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from app.display.plan_outline import PlanOutline
    from app.display.theme import Colour
    from app.pieces.library import Shelved
    from app.window.screens.control import Control
    from app.window.screens.kit import Kit
    from app.window.screens.overlay import Shelf

_FIELDS: Final = ("stitches", "rows", "width", "length", "stitch", "needle", "ball", "lot", "name")
_CARD: Final = (56.0, 34.0)
"""mm of width of a card at the least, and of height of its picture."""
_WORDS: Final = 12.0
"""mm of height of the words under a card's picture, on a screen in the hand."""
_OUTLINE: Final = 62.0
_PLAN: Final = 74.0
_ARROWS: Final = {276: ("width", -1), 275: ("width", 1), 274: ("length", -1), 273: ("length", 1)}
"""Keys (left, right, down, up) that change the plan while it is shown."""


class BeginPage(Page):
    """Chooses what to knit; what was chosen stays when the page is closed."""

    def __init__(
        self,
        kit: Kit,
        ask: Callable[[Field, str, Callable[[Answer], None]], None],
        cast_on: Callable[[Draft], None],
        close: Callable[[], None],
        changed: Callable[[Draft], None] = lambda _: None,
        take_in: Callable[[], None] = lambda: None,
        **properties: Any,
    ) -> None:
        """
        Build an empty page.

        Args:
            kit: what every screen is built with.
            ask: asks for a number or a text, over the page; it gets what stands there already.
            cast_on: begins the piece.
            close: takes the page away.
            changed: is told of every change, to keep it.
            take_in: leads to where a printed pattern is taken in.

        """
        self.kit, self._ask, self._cast_on, self._changed = kit, ask, cast_on, changed
        self._take_in = take_in
        super().__init__(
            kit.look,
            close,
            title=kit.words("screens", "begin"),
            done_words=kit.words("begin", "go"),
            **properties,
        )
        self.draft = Draft()
        self.library: Sequence[Shelved] = ()
        self.choices: dict[str, Control] = {}
        self.fields: dict[str, Control] = {}
        self.planning = False
        """Whether the plan comes first, and the arrow keys change it."""
        self.plan: PlanView | None = None
        self.outline: PlanOutline | None = None
        self.wrong = ""
        """Why what was put in last cannot be taken."""
        self._undrawn: list[tuple[FabricView, Shelved]] = []
        self._dragged: Draft | None = None
        self._draw_soon = Clock.create_trigger(self._draw_one, 0)

    def show(
        self, library: Sequence[Shelved], kept: Draft | None = None, *, planning: bool = False
    ) -> None:
        """
        Show the patterns at hand; the first one that can be knitted is chosen to begin with.

        What was chosen before, here or before a kill (`kept`), stands there again. `planning` puts
        the plan first, and no pattern is chosen for her.
        """
        self.library, self.planning = library, planning
        self.title = self.kit.words(*(("plan", "title") if planning else ("screens", "begin")))
        if kept is not None and self.draft == Draft():
            self.draft = kept
        if self.draft.pattern is None and not self.draft.values and not planning:
            self.choose(next((one for one in library if one.document is not None), None))
        else:
            self._write()

    def wish(self, wish: PlanWide | PlanLong) -> None:
        """Take a width or a length that was said."""
        key = "width" if isinstance(wish, PlanWide) else "length"
        self._take(self.draft.with_value(key, wish.length))

    def done(self) -> None:
        """Cast on, if what is chosen can be knitted."""
        if self.draft.ready():
            chosen, self.draft = self.draft, Draft()
            self.wrong = ""
            self._changed(self.draft)
            self._cast_on(chosen)
        else:
            self.wrong = self.draft.trouble
            self._write()

    # --- choosing -----------------------------------------------------------------------------

    def choose(self, pattern: Shelved | None) -> None:
        """Take a pattern, in its first size."""
        sizes = pattern.document.sizes if pattern is not None and pattern.document else ()
        self._take(replace(self.draft, pattern=pattern, size=sizes[0] if sizes else None))

    def _choose_size(self, size: str) -> None:
        self._take(replace(self.draft, size=size))

    def _put_in(self, field: Field) -> None:
        def answered(value: Answer) -> None:
            self.wrong = wrong_with(field.key, str(value)) if field.asks is Asks.TEXT else ""
            if self.wrong:
                self._write()
            else:
                self._take(self.draft.with_value(field.key, value))

        before = self.draft.numbers.get(field.key)
        self._ask(field, "" if before is None else str(before), answered)

    def _take(self, draft: Draft) -> None:
        self.draft = draft
        self._changed(draft)
        self._write()

    # --- the plan in hand ---------------------------------------------------------------------

    def _drag(self, key: str, by_cm: float) -> None:
        """Follow the finger: only the outline and its words change until it is let go."""
        if self.outline is None or self.plan is None:
            return
        unit = self.kit.length_unit
        before = self.outline.width if key == "width" else self.outline.length
        self._dragged = self.draft.with_value(key, changed_by(before, by_cm, unit))
        self._show_plan(self._outlined(self._dragged))

    def _drop(self) -> None:
        dragged, self._dragged = self._dragged, None
        if dragged is not None:
            self._take(dragged)

    def turn(self, code: int) -> bool:
        """Change the plan by the arrow keys while it comes first; other keys scroll."""
        if self.planning and code in _ARROWS and self.outline is not None:
            key, steps = _ARROWS[code]
            before = self.outline.width if key == "width" else self.outline.length
            after = one_step(before, steps, self.kit.length_unit)
            self._take(self.draft.with_value(key, after))
            return True
        return super().turn(code)

    def _outlined(self, draft: Draft) -> PlanOutline:
        card = self._card(draft)
        start = (card.width, card.height) if card is not None else (None, None)
        return outline_of_plan(draft, sums_of(draft), self.kit.words, start, self.kit.length_unit)

    def _show_plan(self, outline: PlanOutline) -> None:
        if self.plan is None:
            return
        wide, tall = (float(one.cm) for one in (outline.width, outline.length))
        stitches, rows = (self.draft.numbers.get(key) for key in ("stitches", "rows"))
        if isinstance(stitches, int) and isinstance(rows, int):
            self.plan.gauge = [stitches / 10, rows / 10]
        self.plan.corners = [(0, 0), (wide, 0), (wide, tall), (0, tall)]
        around = self.plan.parent
        if isinstance(around, MeasuredView):
            inside = " \N{MIDDLE DOT} ".join((outline.across, *outline.inside[:1]))
            around.across = inside
            around.upward = outline.upward

    @staticmethod
    def _card(draft: Draft) -> ShelfCard | None:
        if draft.pattern is None or draft.pattern.document is None:
            return None
        return card_of(draft.pattern.text, draft.size)

    # --- writing ------------------------------------------------------------------------------

    def _write(self) -> None:
        kept = self.scroll.scroll_y
        self.clear()
        self.choices, self.fields, self.plan, self._undrawn = {}, {}, None, []
        parts = [self._write_patterns, self._write_pattern, self._write_plan]
        for part in reversed(parts) if self.planning else parts:
            part()
        self.lay()
        self.scroll.scroll_y = kept
        self._draw_soon()

    def _write_patterns(self) -> None:
        words, sizes = self.kit.words, self.look.theme.sizes
        self._heading("which")
        shelf = self.cards = self.add_shelf()
        for pattern in self.library:
            view = FabricView(look=self.look, wool=self._wool(pattern), numbered=False)
            rank = "chosen" if pattern == self.draft.pattern else "bare"
            card = PictureControl(self.look, view, title=pattern.title, rank=rank)
            self._add_choice(shelf, pattern.title, card, partial(self.choose, pattern))
            self._undrawn.append((view, pattern))
        name = words("begin", "without")
        rank = "chosen" if self.draft.pattern is None else "bare"
        card = emblem_control(self.look, "begin", name, rank=rank)
        self._add_choice(shelf, name, card, partial(self.choose, None))
        name = words("begin", "take")
        self._add_choice(
            shelf, name, emblem_control(self.look, "pattern", name, rank="bare"), self._take_in
        )
        where = words("begin", "own_files", folder=said_path(own_folder()))
        self.add_text([TextSpan(where, "soft")], sizes.words)

    def _add_choice(
        self, shelf: Shelf, name: str, card: PictureControl, touched: Callable[[], None]
    ) -> None:
        card.capital, card.least = self.look.theme.sizes.far_words, self.look.theme.sizes.small
        card.bind(on_release=lambda *_: touched())
        shelf.put(card)
        self.choices[name] = card

    def _wool(self, pattern: Shelved | None) -> Colour:
        return self.look.theme.wool_for(pattern.name if pattern is not None else "")

    def _draw_one(self, *_: object) -> None:
        """Draw the fabric of one card between two frames; the others wait for the next."""
        if self._undrawn:
            view, pattern = self._undrawn.pop(0)
            if pattern.document is not None:
                sizes = pattern.document.sizes
                chosen = self.draft.size if pattern == self.draft.pattern else None
                view.fabric = card_of(pattern.text, chosen or (sizes[0] if sizes else None)).fabric
            self._draw_soon()

    def _write_plan(self) -> None:
        words, sizes = self.kit.words, self.look.theme.sizes
        self._heading("swatch")
        self.add_text([TextSpan(words("begin", "swatch_why"), "soft")], sizes.words)
        shelf = self.add_shelf()
        names = {
            **{key: words("begin", key) for key in _FIELDS},
            "cast_on": words("begin", "cast_on_field"),
        }
        for field in fields_of(self.draft, names):
            control = self.control_on(shelf, field.name, partial(self._put_in, field))
            value = self.draft.numbers.get(field.key)
            control.remark = words("begin", "empty") if value is None else _shown(value)
            control.rank = "plain" if value is None else "chosen"
            self.fields[field.key] = control
        if self.wrong:
            self.add_text([TextSpan(self.wrong, "alert", bold=True)], sizes.words)
        self._write_outline()

    def _write_outline(self) -> None:
        """Write the plan: the outline that can be taken hold of, and what follows beside it."""
        words = self.kit.words
        self.outline = self._outlined(self.draft)
        self.plan = PlanView(
            self._drag, self._drop, look=self.look, wool=self._wool(self.draft.pattern)
        )
        self.scroll.holds = self.plan
        view = MeasuredView(self.look, self.plan)
        self._show_plan(self.outline)
        said = {
            key: phrase_of(self.kit.controls.by_key[f"plan_{key}"], self.kit.book)
            for key in ("wide", "long")
        }
        drag = [TextSpan(words("plan", "drag", **said), "soft")]
        lines = plan_of(self.draft)
        spans = [TextSpan(f"{line}\n") for line in lines] or drag
        heading = words("begin", "plan")
        self.add_panels(
            [
                Panel(self.look, heading, drag if lines else [], view, _PLAN),
                Panel(self.look, " ".join(self.outline.inside), spans, None, 0.0),
            ]
        )

    def _write_pattern(self) -> None:
        words, sizes, draft = self.kit.words, self.look.theme.sizes, self.draft
        if draft.pattern is None:
            return
        document = draft.pattern.document
        if draft.trouble:
            problem = words("begin", "problem", sentence=draft.trouble)
            self.add_text([TextSpan(problem, "alert", bold=True)], sizes.words)
        if document is None:
            return
        if document.sizes:
            self._heading("size")
            shelf = self.add_shelf()
            for size in document.sizes:
                rank = "chosen" if size == draft.size else "plain"
                self.choices[size] = self.control_on(
                    shelf, size, partial(self._choose_size, size), rank=rank
                )
        self._write_size(draft.pattern)
        for caution in document.cautions:
            self.add_text([TextSpan(caution, "alert")], sizes.words)

    def _write_size(self, pattern: Shelved) -> None:
        """Write the size chosen, drawn with its measures, and beside it what it needs."""
        words, draft, document = self.kit.words, self.draft, pattern.document
        card, course, wool = self._card(draft), draft.course, self._wool(pattern)
        if document is None or card is None:
            return
        said = partial(said_for, document, size=draft.size)
        told = [TextSpan(f"{words('begin', 'value', name=key, value=said(text))}\n", "soft")
                for key, text in document.facts]  # fmt: skip
        if course is not None and course.cast_on is not None:
            count = words("begin", "cast_on", count=course.cast_on)
            told.insert(0, TextSpan(f"{count}\n", bold=True))
        if document.gauge:
            told.append(TextSpan(document.gauge))
        drawing = None
        if card.outline:
            outline = OutlineView(
                look=self.look,
                wool=wool,
                corners=list(card.outline),
                gauge=[card.stitches_per_cm, card.rows_per_cm],
            )
            drawing = MeasuredView(self.look, outline)
            width = both(card.width) if card.width is not None else ""
            around = words("needs", "around", width=width)
            drawing.across = around if card.in_the_round and width else width
            drawing.upward = str(card.height) if card.height is not None else ""
        heading = words("needs", "size")
        if draft.size:
            heading = words("needs", "size_named", size=draft.size)
        needs = needs_of(document, course, said, card.rows, card.minutes, words)
        tall = len(needs) * LINE * self.look.text_scale
        self.add_panels(
            [
                Panel(self.look, heading, [], drawing, _OUTLINE),
                Panel(
                    self.look, words("needs", "title"), told, Needs(self.look, wool, needs), tall
                ),
            ]
        )

    def _heading(self, key: str) -> None:
        sizes = self.look.theme.sizes
        self.add_text([TextSpan(self.kit.words("begin", key), bold=True)], sizes.far_words)

    def lay(self, *_: object) -> None:
        """Give the cards more room than controls."""
        super().lay()
        cards = getattr(self, "cards", None)
        if cards is None or cards not in self.shelves:
            return
        scale = max(1.0, self.look.text_scale)
        words = _WORDS * scale * self.look.grown
        room = self.column.width / self.look.px_per_mm
        cards.least = min(_CARD[0] * min(scale, 1.4), room)
        cards.tall = _CARD[1] + words
        for card in cards.children:
            card.words_tall = words


def _shown(value: Answer) -> str:
    if isinstance(value, Length):
        return both(value)
    if isinstance(value, Mass | str):
        return str(value)
    return entry_words(Entry(Asks.NUMBER, str(value)))
