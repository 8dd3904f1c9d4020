"""Taking in a printed pattern: pasted, typed or opened, every line marked, kept in her library."""

from __future__ import annotations

import os
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from kivy.clock import Clock

from app.display.flow import TextSpan
from app.display.taken_view import MOST_LINES, key_spans, line_spans
from app.pieces.found_files import found_files
from app.pieces.pattern_texts import Unreadable, pattern_text
from app.pieces.take_in import Answers, TakenIn, free_title, keep, place_of, take_in
from app.window.screens.pages import Page

if TYPE_CHECKING:
    from collections.abc import Callable

    from app.pieces.found_files import FoundFile
    from app.window.screens.control import Control
    from app.window.screens.kit import Kit

_FIELDS: Final = {"title": "its_title", "sizes": "sizes", "gauge": "gauge"}
"""What is found in a text or asked, and how it is called."""
_FACT: Final = 44.0
_FILE: Final = 60.0
"""mm of width of what is found, and of a file with its name."""
_ONE: Final = 49
"""The key 1: the ways and the files go by their numbers."""
_ENTER: Final = frozenset((13, 271))


@dataclass(frozen=True, slots=True)
class Calls:
    """
    What the page calls.

    `write` opens the sheet to type on, `paste` returns what was copied, `ask` asks for one line
    (title, what stands there, what takes the answer), `taken` is told of a text that is taken in,
    `kept` where the pattern is now.
    """

    write: Callable[[], None]
    paste: Callable[[], str]
    ask: Callable[[str, str, Callable[[str], None]], None]
    taken: Callable[[str], None]
    kept: Callable[[Path], None]


class TakePage(Page):
    """Ways to a text, what was found in it, what is asked, and its lines."""

    def __init__(
        self, kit: Kit, calls: Calls, close: Callable[[], None], **properties: Any
    ) -> None:
        """Build the page with nothing taken in."""
        self.kit, self._calls = kit, calls
        super().__init__(kit.look, close, title=kit.words("take", "title"), **properties)
        self.controls: dict[str, Control] = {}
        self.text = ""
        self.answers = Answers()
        self.taken: TakenIn | None = None
        self.trouble = ""
        self.files: tuple[FoundFile, ...] | None = None
        self.busy = False
        self._same_title = False
        self._soon = Clock.create_trigger(self._read, 0.05)
        self._write()

    def show(self) -> None:
        """Show the page as it was left."""
        self._write()

    # --- where a text comes from ----------------------------------------------------------------

    def take(self, text: str) -> None:
        """Take a text in; the page says so before the work begins."""
        self.text, self.answers, self.files = text, Answers(), None
        self.busy, self.trouble, self._same_title = True, "", False
        self._calls.taken(text)
        self._write()
        self._soon()

    def open(self, path: Path) -> None:
        """Take in the text of a file."""
        found = pattern_text(path)
        if isinstance(found, Unreadable):
            self._refuse(found.sentence)
        else:
            self.take(found)

    def _paste(self) -> None:
        text = self._calls.paste()
        if text.strip():
            self.take(text)
        else:
            self._refuse(self.kit.words("take", "nothing_copied"))

    def _list_files(self) -> None:
        self.files, self.trouble = found_files(), ""
        self._write()

    def _name_file(self) -> None:
        words = self.kit.words
        self._calls.ask(words("take", "which_file"), "", self._open_named)

    def _open_named(self, said: str) -> None:
        """Open the file of a name that was typed or pasted; nothing typed asks for nothing."""
        name = said.strip().strip("\"'")
        if name:
            self.open(Path(os.path.expanduser(name)))  # noqa: PTH111 (an unknown ~name stays as it is)

    def _refuse(self, sentence: str) -> None:
        """Say why nothing was taken in; what was there before stays."""
        self.trouble = sentence
        self._write()

    # --- reading it ---------------------------------------------------------------------------

    def _read(self, *_: object) -> None:
        self.busy = False
        found = take_in(self.text, self.answers)
        self.taken = None if isinstance(found, Unreadable) else found
        self.trouble = found.sentence if isinstance(found, Unreadable) else ""
        self._write()

    def _ask(self, field: str) -> None:
        name = self.kit.words("take", _FIELDS[field])
        self._calls.ask(name, self._value(field), partial(self._answer, field))

    def _answer(self, field: str, said: str) -> None:
        """Take what she says of the pattern, unless it does not go with it."""
        answers = replace(self.answers, **{field: said.strip()})
        found = take_in(self.text, answers)
        if isinstance(found, Unreadable):
            self._refuse(found.sentence)
        else:
            self.answers, self.taken, self.trouble, self._same_title = answers, found, "", False
            self._write()

    def _value(self, field: str) -> str:
        if self.taken is None:
            return ""
        found = {
            "title": self.taken.title,
            "sizes": ", ".join(self.taken.sizes),
            "gauge": self.taken.gauge,
        }
        return found[field]

    # --- keeping it ---------------------------------------------------------------------------

    def done(self) -> None:
        """Keep the pattern, unless one of that title is kept already: then it is asked."""
        if self.taken is None or self.busy or self.taken.pattern.problems:
            return
        if place_of(self.taken.title).exists():
            self._same_title = True
            self._write()
            self.scroll.scroll_y = 1
        else:
            self._keep(replacing=False)

    def _keep(self, *, replacing: bool) -> None:
        if self.taken is None:
            return
        kept = keep(self.taken, replacing=replacing)
        if isinstance(kept, Unreadable):
            self._refuse(kept.sentence)
            return
        self.text, self.taken, self.answers, self._same_title = "", None, Answers(), False
        self.trouble = ""
        self._write()
        self._calls.kept(kept)

    def _keep_beside(self) -> None:
        """Keep it under the first title that is free."""
        if self.taken is None:
            return
        title = free_title(self.taken.title)
        if self.taken.own:
            kept = keep(self.taken, place_of(title))
            if isinstance(kept, Unreadable):
                self._refuse(kept.sentence)
            else:
                self.taken, self._same_title = None, False
                self._write()
                self._calls.kept(kept)
            return
        renamed = take_in(self.text, replace(self.answers, title=title))
        if isinstance(renamed, TakenIn):
            self.taken = renamed
            self._keep(replacing=False)

    # --- keys ---------------------------------------------------------------------------------

    def turn(self, code: int) -> bool:
        """Choose a way or a file by its number, another by 0, keep by Enter; other keys scroll."""
        at = code - _ONE
        numbered = [one for key, one in self.controls.items() if key.startswith("#")]
        if 0 <= at < len(numbered):
            numbered[at].dispatch("on_release")
            return True
        if code == _ONE - 1 and "other" in self.controls:
            self._name_file()
            return True
        if code in _ENTER and self.done_words:
            self.done()
            return True
        return super().turn(code)

    # --- writing ------------------------------------------------------------------------------

    def _write(self) -> None:
        words, sizes = self.kit.words, self.look.theme.sizes
        self.clear()
        self.controls = {}
        can_keep = self.taken is not None and not self.busy and not self.taken.pattern.problems
        self.done_words = words("take", "keep") if can_keep else ""
        if self.trouble:
            self.add_text([TextSpan(self.trouble, "alert", bold=True)], sizes.far_words)
        if self.busy:
            self.add_text([TextSpan(words("take", "busy"), bold=True)], sizes.far_words)
        elif self.files is not None:
            self._write_files(self.files)
        else:
            if self.taken is not None:
                self._write_taken(self.taken)
            self._write_ways()
        self.lay()

    def _write_ways(self) -> None:
        words, sizes = self.kit.words, self.look.theme.sizes
        if self.taken is None:
            self.add_text([TextSpan(words("take", "how"))], sizes.words)
        else:
            self.add_text([TextSpan(words("take", "another"), bold=True)], sizes.far_words)
        shelf = self.add_shelf()
        rank = "plain" if self.taken is not None else "strong"
        ways = {"paste": self._paste, "write": self._calls.write, "open": self._list_files}
        for number, (key, act) in enumerate(ways.items(), 1):
            self._numbered(number, words("take", key), self.control_on(
                shelf, f"{number}  {words('take', key)}", act, rank=rank,
            ))  # fmt: skip

    def _numbered(self, number: int, name: str, control: Control) -> None:
        self.controls[f"#{number} {name}"] = control

    def _write_files(self, files: tuple[FoundFile, ...]) -> None:
        words, sizes = self.kit.words, self.look.theme.sizes
        told = words("take", "files" if files else "no_files")
        self.add_text([TextSpan(told, bold=True)], sizes.far_words)
        shelf = self.add_shelf()
        shelf.broad = _FILE
        for number, one in enumerate(files, 1):
            control = self.control_on(
                shelf, f"{number}  {one.path.name}", partial(self.open, one.path)
            )
            control.remark = one.path.parent.name
            self._numbered(number, one.path.name, control)
        other = self.control_on(
            shelf, f"0  {words('take', 'other_file')}", self._name_file, rank="strong"
        )
        self.controls["other"] = other
        back = self.control_on(shelf, words("take", "back"), self._back)
        self.controls["back"] = back

    def _back(self) -> None:
        self.files, self.trouble = None, ""
        self._write()

    def _write_taken(self, taken: TakenIn) -> None:
        words, sizes = self.kit.words, self.look.theme.sizes
        if self._same_title:
            self._write_same_title(taken)
        if taken.own:
            self.add_text([TextSpan(taken.title, bold=True)], sizes.far_words)
        else:
            self._write_facts(taken)
        for key, names in (("pieces", taken.pieces), ("sections", taken.sections)):
            if names:
                said = words("take", key, names=", ".join(names))
                self.add_text([TextSpan(said, "soft")], sizes.words)
        for problem in taken.pattern.problems:
            self.add_text([TextSpan(problem.message, "alert", bold=True)], sizes.words)
        self.add_text(key_spans(taken, words), sizes.words)
        if not taken.right and not taken.pattern.problems:
            self.add_text([TextSpan(words("take", "not_all"), "soft")], sizes.words)
        for line in taken.pattern.lines[:MOST_LINES]:
            self.add_text(line_spans(line, words), sizes.words)
        more = len(taken.pattern.lines) - MOST_LINES
        if more > 0:
            self.add_text([TextSpan(words("take", "more", count=more), "soft")], sizes.words)

    def _write_facts(self, taken: TakenIn) -> None:
        words, sizes = self.kit.words, self.look.theme.sizes
        shelf = self.add_shelf()
        shelf.broad = _FACT
        for field, name in _FIELDS.items():
            if field == "sizes" and not taken.sizes:
                continue
            control = self.control_on(shelf, words("take", name), partial(self._ask, field))
            missing = field in taken.asks
            control.remark = self._value(field) or words("take", "empty")
            control.rank = "chosen" if missing else "plain"
            self.controls[field] = control
        if taken.asks:
            asked = ", ".join(words("take", f"missing_{one}") for one in taken.asks)
            self.add_text([TextSpan(words("take", "asks", what=asked), bold=True)], sizes.words)

    def _write_same_title(self, taken: TakenIn) -> None:
        words, sizes = self.kit.words, self.look.theme.sizes
        told = words("take", "same_title", title=taken.title)
        self.add_text([TextSpan(told, "alert", bold=True)], sizes.far_words)
        shelf = self.add_shelf()
        beside = words("take", "beside", title=free_title(taken.title))
        self.controls["beside"] = self.control_on(shelf, beside, self._keep_beside, rank="strong")
        self.controls["replace"] = self.control_on(
            shelf, words("take", "replace"), partial(self._keep, replacing=True)
        )
