"""Beginning a piece: pattern, size, swatch; what follows from them stands below as it is put in."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING, Any

from app.display.flow import TextSpan
from app.pieces.library import own_folder
from app.pieces.plan_words import both
from app.resources import said_path
from app.session.controls import Answer, Asks, Entry
from app.session.draft import Draft, Field, fields_of, plan_of, wrong_with
from app.window.screens.pad import entry_words
from app.window.screens.pages import Page
from engine.quantities import Length, Mass

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from app.pieces.library import Shelved
    from app.window.screens.control import Control
    from app.window.screens.kit import Kit

_FIELDS = ("stitches", "rows", "width", "length", "needle", "ball", "lot", "name")


class BeginPage(Page):
    """Chooses what to knit; what was chosen stays when the page is closed."""

    def __init__(
        self,
        kit: Kit,
        ask: Callable[[Field, str, Callable[[Answer], None]], None],
        cast_on: Callable[[Draft], None],
        close: Callable[[], None],
        changed: Callable[[Draft], None] = lambda _: None,
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

        """
        self.kit, self._ask, self._cast_on, self._changed = kit, ask, cast_on, changed
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
        self.wrong = ""
        """Why what was put in last cannot be taken."""

    def show(self, library: Sequence[Shelved], kept: Draft | None = None) -> None:
        """
        Show the patterns at hand; the first one that can be knitted is chosen to begin with.

        What was chosen before, here or before a kill (`kept`), stands there again.
        """
        self.library = library
        if kept is not None and self.draft == Draft():
            self.draft = kept
        if self.draft.pattern is None and not self.draft.values:
            self._choose(next((one for one in library if one.document is not None), None))
        else:
            self._write()

    def done(self) -> None:
        """Cast on, if what is chosen can be knitted."""
        if self.draft.ready():
            chosen, self.draft = self.draft, Draft()
            self.wrong = ""
            self._changed(self.draft)
            self._cast_on(chosen)

    # --- choosing -----------------------------------------------------------------------------

    def _choose(self, pattern: Shelved | None) -> None:
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

    # --- writing ------------------------------------------------------------------------------

    def _write(self) -> None:
        words, sizes = self.kit.words, self.look.theme.sizes
        kept = self.scroll.scroll_y
        self.clear()
        self.choices, self.fields = {}, {}
        self._heading("which")
        shelf = self.add_shelf()
        for pattern in (*self.library, None):
            name = pattern.title if pattern is not None else words("begin", "without")
            self.choices[name] = self.control_on(
                shelf,
                name,
                partial(self._choose, pattern),
                rank="chosen" if pattern == self.draft.pattern else "plain",
            )
        where = words("begin", "own_files", folder=said_path(own_folder()))
        self.add_text([TextSpan(where, "soft")], sizes.words)
        self._write_pattern()
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
        lines = plan_of(self.draft)
        if lines:
            self._heading("plan")
            for line in lines:
                self.add_text([TextSpan(line)], sizes.words)
        self.lay()
        self.scroll.scroll_y = kept

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
        self._heading("facts")
        course = draft.course
        if course is not None and course.cast_on is not None:
            count = words("begin", "cast_on", count=course.cast_on)
            self.add_text([TextSpan(count, bold=True)], sizes.words)
        for text in (document.gauge, document.needle, document.yarn):
            if text:
                self.add_text([TextSpan(text)], sizes.words)
        for key, text in document.facts:
            said = words("begin", "value", name=key, value=text)
            self.add_text([TextSpan(said, "soft")], sizes.words)
        for caution in document.cautions:
            self.add_text([TextSpan(caution, "alert")], sizes.words)

    def _heading(self, key: str) -> None:
        sizes = self.look.theme.sizes
        self.add_text([TextSpan(self.kit.words("begin", key), bold=True)], sizes.far_words)


def _shown(value: Answer) -> str:
    if isinstance(value, Length):
        return both(value)
    if isinstance(value, Mass | str):
        return str(value)
    return entry_words(Entry(Asks.NUMBER, str(value)))
