"""A knitter's own phrases: in her data folder, beside those that come with Walesong."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from app import language, resources
from app.command_line import main
from app.wiring.hearing import acceptance
from app.wiring.phrase_trial import heard_apart
from speech.words.phrases import with_own_phrases
from speech.words.understand import understand, understand_heard

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from speech.hearing.acceptance import Acceptance
    from speech.words.phrases import PhraseBook


@pytest.fixture(autouse=True)
def _without_own_phrases() -> Iterator[None]:
    """Begin and end without a file of her own."""
    path = resources.data_folder() / language.OWN_PHRASES
    path.parent.mkdir(parents=True, exist_ok=True)
    path.unlink(missing_ok=True)
    language.own_phrases.cache_clear()
    yield
    path.unlink(missing_ok=True)
    language.own_phrases.cache_clear()


def write(text: str | bytes) -> None:
    """Write her file."""
    data = text if isinstance(text, bytes) else text.encode()
    (resources.data_folder() / language.OWN_PHRASES).write_bytes(data)
    language.own_phrases.cache_clear()


def test_her_phrases_are_understood() -> None:
    """A phrase in her file is understood beside the others."""
    write('[commands.undo]\nsay = ["scratch that one"]')
    assert language.own_phrases()[1] == ""
    assert [one.name for one in understand_heard("scratch that one", language.phrase_book())] == [
        "undo"
    ]


@pytest.mark.parametrize(
    "data", [b"[commands.undo", b'[commands.undo]\nsay = ["row done"]', b"\xff"]
)
def test_a_bad_file_is_told_and_left_out(data: bytes) -> None:
    """What is wrong with her file is one sentence, and everything else still works."""
    write(data)
    book, trouble = language.own_phrases()
    assert book == language.shipped_phrases()
    assert trouble.startswith("Your own phrases in")
    assert "\n" not in trouble


def test_the_list_of_words_says_where_her_phrases_go(capsys: pytest.CaptureFixture[str]) -> None:
    """The place of her file, and what is wrong with it, stand at the end of `walesong words`."""
    path = str(resources.data_folder() / language.OWN_PHRASES)

    def last_line() -> str:
        assert main(["words"]) == 0
        return capsys.readouterr().out.splitlines()[-1]

    assert last_line() == f"Phrases of your own go into '{path}'."
    write('[commands.undo]\nsay = ["scratch that one"]')
    assert last_line() == f"Your own phrases in '{path}' are among them."
    write('[commands.undo]\nsay = ["scratch"]')
    assert "too short" in last_line()


def test_without_a_file_nothing_is_missing() -> None:
    """Nobody has to have phrases of her own."""
    assert language.own_phrases() == (language.shipped_phrases(), "")


SOUNDS_ALIKE = """
[commands.how_long]
say = ["how fore left"]
[commands.undo]
say = ["scratch that one"]
"""


@pytest.mark.model
@pytest.mark.voice
def test_a_phrase_that_sounds_like_another_command_can_only_be_typed() -> None:
    """Her phrases are tried aloud at the first start; one that is confused is named, and typed."""
    write(SOUNDS_ALIKE)
    told: list[str] = []
    listening = acceptance(None, tell=told.append)
    assert len(told) == 1
    assert "'how fore left'" in told[0]
    assert "scratch that one" not in told[0]
    listened = {form.text for form in listening.book.spoken()}
    assert "scratch that one" in listened
    assert "how fore left" not in listened
    assert [one.name for one in understand("how fore left", language.phrase_book())] == ["how_long"]


@pytest.mark.model
@pytest.mark.voice
def test_what_was_tried_is_not_tried_again(tmp_path: Path) -> None:
    """The second start takes the findings of the first, until her phrases change."""
    made: list[PhraseBook] = []

    def listening(book: PhraseBook) -> Acceptance:
        made.append(book)
        return acceptance(None)

    kept = resources.KeptText("tried.json", tmp_path)
    book = with_own_phrases(language.shipped_phrases(), SOUNDS_ALIKE)
    first = heard_apart(book, language.shipped_phrases(), listening, kept)
    assert heard_apart(book, language.shipped_phrases(), listening, kept) == first
    assert len(made) == 1
    kept.save("damaged")
    assert heard_apart(book, language.shipped_phrases(), listening, kept) == first
    assert len(made) == 2
    other = with_own_phrases(
        language.shipped_phrases(), '[commands.undo]\nsay = ["scratch that one"]'
    )
    assert heard_apart(other, language.shipped_phrases(), listening, kept) == (other, "")
    assert len(made) == 3


def test_without_a_program_that_speaks_nothing_is_tried(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """On a telephone her phrases are listened for as they are."""
    monkeypatch.setenv("PATH", str(tmp_path))
    book = with_own_phrases(language.shipped_phrases(), SOUNDS_ALIKE)

    def listening(_: PhraseBook) -> Acceptance:
        raise AssertionError("nothing is to be heard")

    kept = resources.KeptText("tried.json", tmp_path)
    assert heard_apart(book, language.shipped_phrases(), listening, kept) == (book, "")
