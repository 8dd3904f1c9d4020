"""What people say who correct themselves: "row one hundred and, no, ninety seven", a word twice."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

    from speech.words.phrases import PhraseBook

_NO = "no"


def repaired(words: str, book: PhraseBook) -> Iterator[str]:
    """
    Yield what words may say once they are repaired; nothing if there is nothing to repair.

    A word that is said twice counts once, but a digit does not: "two two"
    may be a number. What stands behind "no" replaces the number before it.
    """
    tokens = words.split()
    digits = {*book.numbers.ones, *book.numbers.zeros}
    once = tokens[:1] + [
        word for before, word in pairwise(tokens) if word != before or word in digits
    ]
    if once != tokens:
        yield " ".join(once)
    if once.count(_NO) != 1:
        return
    at = once.index(_NO)
    behind, first = once[at + 1 :], at
    numbers = book.numbers.everything
    while first > 0 and once[first - 1] in numbers:
        first -= 1
    if first < at and behind and behind[0] in numbers:
        yield " ".join([*once[:first], *behind])
