"""The nearest thing that can be said, for words that are no command: a hint, never acted on."""

from __future__ import annotations

from difflib import SequenceMatcher
from typing import TYPE_CHECKING

from speech.words.numbers import amounts
from speech.words.phrases import Slot, Way
from speech.words.understand import EVERY_WAY, example, tokens_of, unit_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from speech.words.phrases import Form, PhraseBook

SAID_ALOUD = frozenset({Way.SPOKEN, Way.ANSWER})
_NUMBER = "#"
_LIKE_ENOUGH = 0.55
"""Of 1, the mean of alike words and alike letters; below it a hint would only mislead."""
_FULLER = 0.05
"""What is said goes before its short cut for the keyboard, if both are about as near."""


def near(words: str, book: PhraseBook, ways: frozenset[Way] | set[Way] = EVERY_WAY) -> str | None:
    """Return an example of the form nearest to the words, or None if none is near."""
    form = nearest(words, book, ways)
    return None if form is None else example(form, book)


def nearest(
    words: str, book: PhraseBook, ways: frozenset[Way] | set[Way] = EVERY_WAY
) -> Form | None:
    """Return the form nearest to the words, or None if none is near."""
    said = tuple(_plain(words, book))
    if all(word == _NUMBER for word in said):
        return None
    by_word = SequenceMatcher(None, "", said, autojunk=False)
    by_letter = SequenceMatcher(None, "", " ".join(said), autojunk=False)
    likest, best = _LIKE_ENOUGH, None
    for form in book.all_forms:
        if form.way not in ways or Slot("text") in form.items:
            continue
        known = tuple(_plain(example(form, book), book))
        by_word.set_seq1(known)
        by_letter.set_seq1(" ".join(known))
        fuller = 0 if form.way is Way.TYPED else _FULLER
        if (by_word.ratio() + by_letter.quick_ratio()) / 2 + fuller <= likest:
            continue
        like = (by_word.ratio() + by_letter.ratio()) / 2 + fuller
        if like > likest:
            likest, best = like, form
    return best


def _plain(words: str, book: PhraseBook) -> Iterator[str]:
    """Yield the words, every number as one sign and every unit by its symbol."""
    tokens = tokens_of(words, book)
    at = 0
    while at < len(tokens):
        number = next(amounts(tokens, at, book.numbers), None)
        if number is not None:
            yield _NUMBER
            at = number[1]
            continue
        unit = unit_of(tokens[at], book)
        yield unit.value if unit is not None else tokens[at]
        at += 1
