"""A knitter's own phrases: in her data folder, beside those that come with Walesong."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from app import household, resources
from speech.understand import understand_heard

if TYPE_CHECKING:
    from collections.abc import Iterator


@pytest.fixture(autouse=True)
def _without_own_phrases() -> Iterator[None]:
    """Begin and end without a file of her own."""
    path = resources.data_folder() / household.OWN_PHRASES
    path.parent.mkdir(parents=True, exist_ok=True)
    path.unlink(missing_ok=True)
    household.own_phrases.cache_clear()
    yield
    path.unlink(missing_ok=True)
    household.own_phrases.cache_clear()


def write(text: str | bytes) -> None:
    """Write her file."""
    data = text if isinstance(text, bytes) else text.encode()
    (resources.data_folder() / household.OWN_PHRASES).write_bytes(data)
    household.own_phrases.cache_clear()


def test_her_phrases_are_understood() -> None:
    """A phrase in her file is understood beside the others."""
    write('[commands.undo]\nsay = ["scratch that one"]')
    assert household.own_phrases()[1] == ""
    assert [one.name for one in understand_heard("scratch that one", household.phrase_book())] == [
        "undo"
    ]


@pytest.mark.parametrize(
    "data", [b"[commands.undo", b'[commands.undo]\nsay = ["row done"]', b"\xff"]
)
def test_a_bad_file_is_told_and_left_out(data: bytes) -> None:
    """What is wrong with her file is one sentence, and everything else still works."""
    write(data)
    book, trouble = household.own_phrases()
    assert book == household.shipped_phrases()
    assert trouble.startswith("Your own phrases in")
    assert "\n" not in trouble


def test_without_a_file_nothing_is_missing() -> None:
    """Nobody has to have phrases of her own."""
    assert household.own_phrases() == (household.shipped_phrases(), "")
