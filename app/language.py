"""The phrases that are understood, read once: those of the product and the knitter's own."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

from app import resources
from app.reading import text_of
from speech.words.phrases import PhraseBook, PhraseError, read_phrases, with_own_phrases
from speech.words.row_language import read_row_language

OWN_PHRASES = "phrases.toml"
"""A knitter's own phrases, in her data folder: the same form as the phrases that come with it."""


@cache
def shipped_phrases() -> PhraseBook:
    """Return the phrases that come with Walesong."""
    rows = read_row_language(resources.text("shared/phrases/rows.en.toml"))
    return replace(read_phrases(resources.text("shared/phrases/en.toml")), rows=rows)


@cache
def own_phrases() -> tuple[PhraseBook, str]:
    """Return all phrases, and why the knitter's own are left out ("" if they are in)."""
    path = resources.data_folder() / OWN_PHRASES
    try:
        return with_own_phrases(shipped_phrases(), text_of(path)), ""
    except FileNotFoundError:
        return shipped_phrases(), ""
    except (OSError, UnicodeDecodeError):
        return shipped_phrases(), f"Your own phrases in '{path}' cannot be read."
    except PhraseError as error:
        return shipped_phrases(), f"Your own phrases in '{path}' are left out: {error}"


def phrase_book() -> PhraseBook:
    """Return all phrases that are understood."""
    return own_phrases()[0]
