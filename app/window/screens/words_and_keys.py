"""Words and keys: for every command what to say, what to type and which key or pedal gives it."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

from app.display.flow import TextSpan
from app.session.keys import Doing
from app.window.screens.pages import Page
from speech.words.phrases import Way

if TYPE_CHECKING:
    from collections.abc import Callable

    from app.session.controls import Control
    from app.window.screens.kit import Kit
    from app.window.screens.text import Text


class WordsAndKeys(Page):
    """The whole language on one page, made from the phrase data and the key map."""

    def __init__(self, kit: Kit, close: Callable[[], None], **properties: Any) -> None:
        """Build the page."""
        self.kit = kit
        words = kit.words
        super().__init__(kit.look, close, title=words("screens", "words_and_keys"), **properties)
        sizes = kit.look.theme.sizes
        self.column.padding = (0, 0, 0, kit.look.mm(4))
        self.entries: dict[str, Text] = {}
        for title, group in kit.controls.groups:
            self.add_text([TextSpan(title, "ink", bold=True)], sizes.far_words)
            shown: set[str] = set()
            for control in group:
                name = control.kind.name
                if name not in shown and name not in self.entries:
                    shown.add(name)
                    self.entries[name] = self.add_text(self._entry(control), sizes.words)
        self.held = self.add_text(self._held(Doing.TALK.value), sizes.words)
        self.lay()

    def _held(self, doing: str) -> list[TextSpan]:
        """Return what is held to talk, by which keys, and what it is for."""
        keys, words = self.kit.keys, self.kit.words
        named = [one.key for one in keys.bindings.values() if one.bound is Doing.TALK]
        return [
            TextSpan(words("doings", doing), "ink", bold=True),
            TextSpan("\n"),
            TextSpan(words("screens", "keys", keys=", ".join(named)), "good"),
            TextSpan("\n"),
            TextSpan(words("doings", f"{doing}_help"), "soft"),
        ]

    def _entry(self, control: Control) -> list[TextSpan]:
        """Return what to say (bold), what to type, the keys, and what it is for."""
        book, words = self.kit.book, self.kit.words
        name = control.kind.name
        spans: list[TextSpan] = []
        for at, form in enumerate(book.written[name]):
            spans.append(TextSpan(" \N{MIDDLE DOT} " if at else "", "soft"))
            spans.append(TextSpan(_plain(form), "ink", bold=True))
        if not book.written[name]:
            typed = next(form for form in book.all_forms if form.kind is control.kind)
            spans.append(
                TextSpan(words("screens", "typed", words=_plain(typed.text)), "ink", bold=True)
            )
        answers = sorted(
            {
                form.text
                for form in book.all_forms
                if form.kind is control.kind and form.way is Way.ANSWER
            },
            key=len,
        )
        if answers:
            said = " \N{MIDDLE DOT} ".join(_plain(one) for one in answers[:3])
            spans += [TextSpan("\n"), TextSpan(words("screens", "answers", words=said), "ink")]
        keys = [
            key
            for other in self.kit.controls.by_key.values()
            if other.kind is control.kind
            for key in self.kit.keys.keys_of(other)
        ]
        if keys:
            named = ", ".join(dict.fromkeys(keys))
            spans += [TextSpan("\n"), TextSpan(words("screens", "keys", keys=named), "good")]
        spans += [TextSpan("\n"), TextSpan(book.help[name], "soft")]
        return spans


def _plain(form: str) -> str:
    """Write a form as one sentence to say: "(i'm|i am) on row {row}" is "i'm on row …"."""
    words = re.sub(r"\[[^\]]*\] ?", "", form)
    words = re.sub(r"\(([^|)]*)[^)]*\)", r"\1", words)
    return re.sub(r"\{[^}]*\}", "\N{HORIZONTAL ELLIPSIS}", words).strip()
