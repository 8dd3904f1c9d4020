"""A piece that is made up, as a pattern: what is written beside what was knitted; save, print."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any, Final

from app.display.flow import TextSpan
from app.resources import said_path
from app.window.screens.pages import Page

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from app.pieces.pattern_from import FromPiece, RowBeside
    from app.session.situation import Situation
    from app.window.screens.kit import Kit
    from engine.state import PieceState

_ONE: Final = 49
"""The key 1."""
_MOST_ROWS: Final = 400
"""So many rows are shown, the last ones; the others are written all the same."""


class WrittenPage(Page):
    """The rows of a piece without a pattern, as they were knitted and as they are written."""

    def __init__(
        self,
        kit: Kit,
        open_file: Callable[[Path], None],
        close: Callable[[], None],
        **properties: Any,
    ) -> None:
        """Build an empty page; `show` fills it. `open_file` shows a file that was written."""
        self.kit, self._open_file = kit, open_file
        super().__init__(kit.look, close, title=kit.words("screens", "pattern"), **properties)
        self.state: PieceState | None = None
        self.found: FromPiece | None = None
        self.told, self._off = "", False

    def show(self, situation: Situation) -> None:
        """Write the piece of a situation out, and show it."""
        from app.pieces.pattern_from import pattern_from  # noqa: PLC0415 (the reader of patterns)

        self.state, self.told = situation.state, ""
        state = situation.state
        self.found = pattern_from(state) if state.done and state.said else None
        self._write()

    def save(self) -> None:
        """Keep the pattern in her library, beside what is there; the same one is kept once."""
        from app.pieces.pattern_from import pattern_from  # noqa: PLC0415
        from app.pieces.pattern_texts import Unreadable  # noqa: PLC0415
        from app.pieces.take_in import free_title, keep_text, place_of  # noqa: PLC0415
        from app.reading import text_of  # noqa: PLC0415

        state, found = self.state, self.found
        if state is None or found is None or found.document is None:
            return
        title = state.name or self.kit.words("begin", "without_name")
        there = place_of(title)
        text = pattern_from(replace(state, name=title)).text
        try:
            kept: Path | Unreadable = there
            if not there.exists() or text_of(there) != text:
                title = free_title(title)
                text = pattern_from(replace(state, name=title)).text
                kept = keep_text(text, place_of(title))
        except (OSError, UnicodeDecodeError) as error:
            kept = Unreadable(f"{there} cannot be read: {error}.")
        self._off = isinstance(kept, Unreadable)
        self.told = (
            kept.sentence
            if isinstance(kept, Unreadable)
            else self.kit.words("written", "saved", title=title, path=said_path(kept))
        )
        self._write()

    def print_out(self) -> None:
        """Write the printed pattern and show it with what the device shows pages with."""
        from app.printing.written_out import write_out  # noqa: PLC0415 (only when it is wanted)

        if self.found is None or self.found.document is None:
            return
        words = self.kit.words
        try:
            path = write_out(self.found.document, None, left_handed=self.look.left_handed)
        except OSError as error:
            self.told = words("pattern", "not_printed", why=error.strerror or str(error))
            self._off = True
        else:
            self.told, self._off = words("pattern", "printed", path=said_path(path)), False
            self._open_file(path)
        self._write()

    def turn(self, code: int) -> bool:
        """Save by the key 1, print by the key 2; other keys scroll."""
        if code not in (_ONE, _ONE + 1):
            return super().turn(code)
        (self.save if code == _ONE else self.print_out)()
        return True

    def _write(self) -> None:
        words, sizes, found = self.kit.words, self.look.theme.sizes, self.found
        self.clear()
        if found is None:
            self.add_text([TextSpan(words("pattern", "none"))], sizes.words)
            self.add_text([TextSpan(words("written", "no_row"), "soft")], sizes.words)
            self.lay()
            return
        if found.why:
            self.add_text(
                [TextSpan(words("written", "faulty", why=found.why), "alert")], sizes.words
            )
            self.lay()
            return
        self.add_text([TextSpan(words("written", "how"), bold=True)], sizes.far_words)
        shelf = self.add_shelf()
        save = self.control_on(shelf, words("written", "save"), self.save, rank="strong")
        printing = self.control_on(shelf, words("pattern", "print"), self.print_out)
        for number, control in enumerate((save, printing), 1):
            control.remark = words("keyed", "letter", key=number)
        if self.told:
            ink = "alert" if self._off else "good"
            self.add_text([TextSpan(self.told, ink, bold=True)], sizes.words)
        hidden = len(found.rows) - _MOST_ROWS
        if hidden > 0:
            self.add_text([TextSpan(words("written", "more", count=hidden), "soft")], sizes.words)
        for one in reversed(found.rows[-_MOST_ROWS:]):
            self.add_text(self._row(one), sizes.words)
        self.lay()

    def _row(self, one: RowBeside) -> list[TextSpan]:
        words = self.kit.words
        knitted = words("written", "knitted", row=one.row, text=one.knitted)
        written = words("written", "written", label=one.label, text=one.written)
        return [TextSpan(knitted), TextSpan("\n"), TextSpan(written, "good")]
