"""A piece that was made up becomes a pattern on its screen: beside each other, saved, printed."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from app.language import phrase_book
from app.pieces.library import patterns
from engine.talk import Screen
from speech.words.said_rows import understood
from tests.app.test_row_keys import MadeUp

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from tests.app.at_the_needle import Needle
    from tests.window_driver import Driver

    Opener = Callable[..., Driver]

pytestmark = pytest.mark.window

RIB = "this row knit two purl two to the last two knit two"


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Let her patterns and pages lie in a folder of the test."""
    monkeypatch.setattr("app.resources.data_folder", lambda: tmp_path)
    return tmp_path


def knitted(*sentences: str) -> MadeUp:
    """Return a piece of which these rows were said and knitted."""
    needle = MadeUp()
    for words in sentences:
        needle.hear(understood(words, phrase_book(), saying=needle.talk.saying))
    return needle


def opened(open_window: Opener, needle: Needle) -> tuple[Driver, Any]:
    """Return a window on the pattern of a piece."""
    driver = open_window(situation=needle.situation())
    driver.stage.places.go_to(Screen.PATTERN)
    driver.frames(3)
    return driver, driver.stage.overlays[-1]


def words_of(page: Any) -> str:
    """Return all that the page says."""
    return "\n".join("".join(span.words for span in text.spans) for text in page.paragraphs)


def test_saved_it_is_among_her_patterns(open_window: Opener, home: Path) -> None:
    """Each row stands beside the pattern's; saved twice it is there once, and reads as knitted."""
    driver, page = opened(open_window, knitted(RIB, "row done", "this row knit", "row done"))
    assert "1  *k2, p2; rep from * to last 2 sts, k2" in words_of(page)
    assert "\N{RIGHTWARDS ARROW}" in words_of(page)
    driver.tap(driver.button("Save the pattern"))
    assert "Saved among your patterns as A mat" in words_of(page)
    driver.key(ord("1"))
    (file,) = (home / "patterns").iterdir()
    (mine,) = [one for one in patterns() if one.name == file.stem]
    assert mine.document is not None
    assert mine.document.course().cast_on == 50


def test_another_one_of_the_name_stays(open_window: Opener, home: Path) -> None:
    """Gone on with and saved again it is a second pattern; the first is not written over."""
    needle = knitted(RIB, "row done")
    driver, page = opened(open_window, needle)
    page.save()
    first = {file.name: file.read_bytes() for file in (home / "patterns").iterdir()}
    needle.hear(understood("this row knit", phrase_book()))
    needle.say("row done")
    driver.show(needle.situation())
    driver.stage.places.go_to(Screen.PATTERN)
    page.save()
    after = {file.name: file.read_bytes() for file in (home / "patterns").iterdir()}
    assert len(after) == 2
    assert first.items() <= after.items()
    assert "A mat 2" in words_of(page)


def test_printed_it_is_a_page(open_window: Opener, home: Path) -> None:
    """Print writes the page; where that cannot be, one sentence says why and nothing is lost."""
    _, page = opened(open_window, knitted(RIB, "row done"))
    page.print_out()
    (file,) = (home / "printed").iterdir()
    assert "A mat" in file.read_text(encoding="utf-8")
    file.unlink()
    (home / "printed").rmdir()
    (home / "printed").write_text("in the way", encoding="utf-8")
    page.print_out()
    assert "could not be written" in words_of(page)


def test_a_folder_in_the_way_is_a_sentence(open_window: Opener, home: Path) -> None:
    """Where nothing can be written, saving says so and the page stays."""
    (home / "patterns").write_text("in the way", encoding="utf-8")
    _, page = opened(open_window, knitted(RIB, "row done"))
    page.save()
    assert "cannot be written" in words_of(page)


def test_before_the_first_row_there_is_nothing_to_write(open_window: Opener, home: Path) -> None:
    """Without a row, or with rows only counted, the page says what to do and saves nothing."""
    _, page = opened(open_window, MadeUp().say("2 rows done"))
    assert "become a pattern" in words_of(page)
    driver, page = opened(open_window, MadeUp())
    assert "become a pattern" in words_of(page)
    with pytest.raises(LookupError):
        driver.button("Save the pattern")
    page.save()
    assert not (home / "patterns").exists()
