"""Which controls a word leads to: by their names, the words to say, and what they are for.

Nothing here knows Kivy.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Iterable

    from app.session.controls import Control
    from speech.words.phrases import PhraseBook

_WORD: Final = re.compile(r"[a-z0-9']+")
_SMALL: Final = frozenset(
    ("a", "an", "the", "i", "is", "it", "do", "how", "to", "my", "of", "in", "what", "me", "can")
)


def found(words: str, controls: Iterable[Control], book: PhraseBook) -> tuple[Control, ...]:
    """
    Return the controls that words lead to, those that are named so first.

    Every word has to begin a word of the name, of a sentence that can be said, or of the help;
    words as small as "the" only count where there are no others. No words find nothing.
    """
    told = _WORD.findall(words.casefold())
    wanted = [word for word in told if word not in _SMALL] or told
    if not wanted:
        return ()
    ranked = []
    for number, control in enumerate(dict.fromkeys(controls)):
        name = _WORD.findall(control.name.casefold())
        more = [*name, *_said(control, book)]
        if all(_begins(word, name) for word in wanted):
            ranked.append((0, number, control))
        elif all(_begins(word, more) for word in wanted):
            ranked.append((1, number, control))
    return tuple(control for _, _, control in sorted(ranked, key=lambda one: one[:2]))


def _begins(word: str, words: Iterable[str]) -> bool:
    return any(one.startswith(word) for one in words)


def _said(control: Control, book: PhraseBook) -> list[str]:
    forms = (form for form in book.all_forms if form.kind is control.kind)
    fixed = {item for form in forms for item in form.items if isinstance(item, str)}
    values = " ".join(str(value) for _, value in control.fixed)
    sentence = book.help.get(control.kind.name, "")
    return [*fixed, *_WORD.findall(f"{values} {sentence}".casefold())]
