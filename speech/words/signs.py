"""
The signs of typed words: which make tokens, which say nothing, and which would change a number.

Only punctuation that cannot belong to a number is dropped. Every other sign is a token of its own
that no form has: "-5", "~5" and "5+5" are then no command, rather than 5.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

_TOKEN: Final = re.compile(
    r"(?P<plain>\d+-\d+/\d+|\d+(?:[.,]\d+)?(?:[/\u2044]\d+)?|[.,]\d+|[¼½¾⅓⅔⅛⅜⅝⅞]|[\"″”?]"
    r"|[^\W\d_]+(?:'[^\W\d_]+)*)|\S"
)  # fmt: skip
_DASHES: Final = "-\N{MINUS SIGN}\N{HYPHEN}\N{NON-BREAKING HYPHEN}\N{FIGURE DASH}\N{EN DASH}\N{EM DASH}\N{SMALL HYPHEN-MINUS}\N{FULLWIDTH HYPHEN-MINUS}"  # noqa: E501 (one sign after the other)
_MINUS: Final = re.compile(rf"(?<!\w)[{_DASHES}](?=\s*\w|\s*[.,]\d)")


def tokens_in(text: str) -> Iterator[re.Match[str]]:
    """Yield the words, numbers and signs of a text in small letters, but harmless punctuation."""
    for found in _TOKEN.finditer(text):
        if found["plain"] is not None or not _harmless(text, found.start()):
            yield found


def has_minus(text: str, words: Sequence[str]) -> bool:
    """Tell whether a minus stands before something, as a dash of any kind or as one of `words`."""
    said = text.casefold().split()
    return _MINUS.search(text) is not None or any(word in said for word in words)


def without_signs(text: str, words: Sequence[str]) -> str:
    """Return a text without the signs that could change a number, and without `words` for minus."""
    kept = list(text)
    for found in _TOKEN.finditer(text.casefold()):
        if found["plain"] is None and len(kept) == len(text):
            kept[found.start()] = " "
    said = "".join(kept)
    return " ".join(word for word in said.split() if word.casefold() not in words)


def _harmless(text: str, at: int) -> bool:
    """Tell punctuation that ends or joins words from what may belong to a number."""
    sign, before, after = text[at], text[at - 1 : at] if at else "", text[at + 1 : at + 2]
    if sign in ".,;:!\N{HORIZONTAL ELLIPSIS}":
        return before.strip() != "" and not after.isdigit()
    if sign in "-\N{HYPHEN}\N{NON-BREAKING HYPHEN}":
        return before.isalnum() and after.isalpha()
    if sign in "([":
        return after.isalpha()
    if sign in ")]":
        return before.isalpha()
    if sign in "'`\N{LEFT SINGLE QUOTATION MARK}\N{LEFT DOUBLE QUOTATION MARK}":
        return not (before.isdigit() or after.isdigit())
    return False
