"""Rounds where a piece is worked in rounds: the same sentences, with round said for row."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from speech.words.templates import Template

_ROW: Final = re.compile(r"\b([Rr])ow(s?)\b")


@lru_cache(maxsize=512)
def in_rounds(sentence: Template) -> Template:
    """Return a sentence about rounds; what it quotes to be said is said of rows all the same."""
    return sentence if _quotes(sentence.words) else sentence.reworded(_rounds)


def _rounds(words: str) -> str:
    return _ROW.sub(r"\1ound\2", words)


def _quotes(words: str) -> bool:
    return '"' in words or "\N{LEFT DOUBLE QUOTATION MARK}" in words or "really on row" in words
