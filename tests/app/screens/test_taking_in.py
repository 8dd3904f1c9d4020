"""A printed pattern is taken in on its screen: by touch, by key, from paste, sheet and file."""

from __future__ import annotations

import os
import tomllib
from typing import TYPE_CHECKING, Any

import pytest

from app.pieces.taken_lines import SIGNS, Became
from engine.talk import Screen
from tests.app.at_the_needle import Needle

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from tests.window_driver import Driver

    Opener = Callable[..., Driver]

pytestmark = pytest.mark.window

ONE, TWO, THREE, ENTER, ESCAPE = 49, 50, 51, 13, 27
CAP = """CREW CAP

Sizes: Small (Medium, Large)

BRIM
CO 88 (96, 104) sts.
Rnd 1: *K2, p2; rep from * around.
CROWN
Rnd 1: *K9 (10, 11), k2tog; rep from * around. 80 (88, 96) sts.
Rnd 2: k500.
Rnd 3: wumple the fluffs all k2tog.
Weave in ends.
"""
TIE = "Hut tie\n\nGauge: 20 sts to 10 cm\n\nCast on 4 sts.\nRow 1: k to end.\nBO all sts.\n"


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Let her patterns and her downloads lie in a folder of the test."""
    monkeypatch.setattr("app.resources.data_folder", lambda: tmp_path)
    monkeypatch.setattr("app.pieces.found_files.usual_folders", lambda: (tmp_path / "downloads",))
    (tmp_path / "downloads").mkdir()
    return tmp_path


def opened(open_window: Opener, screen: str = "desktop") -> tuple[Driver, Any]:
    """Return a window on the screen where patterns are taken in."""
    driver = open_window(situation=Needle("mug-sleeve").say("row done").situation(), screen=screen)
    driver.stage.places.go_to(Screen.TAKE)
    driver.frames(3)
    return driver, driver.stage.overlays[-1]


def copied(monkeypatch: pytest.MonkeyPatch, text: str) -> None:
    """Let a text have been copied elsewhere."""
    monkeypatch.setattr("kivy.core.clipboard.Clipboard.paste", lambda: text)


def settled(driver: Driver, page: Any) -> None:
    """Let frames pass until the page has read its text."""
    for _ in range(2000):
        driver.frames(1)
        if not page.busy:
            break
    assert not page.busy
    driver.frames(3)


def words_of(page: Any) -> str:
    """Return all that the page says."""
    return "\n".join("".join(span.words for span in text.spans) for text in page.paragraphs)


def test_from_begin_to_casting_on(
    open_window: Opener, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Begin leads there; pasted, kept, and Begin stands there with the new pattern chosen."""
    copied(monkeypatch, TIE)
    driver = open_window(situation=Needle("mug-sleeve").say("row done").situation())
    driver.stage.places.go_to(Screen.BEGIN)
    driver.frames(3)
    driver.reach("Take in a pattern")
    (page,) = driver.stage.overlays
    driver.tap(driver.button("1  Paste what was copied"))
    settled(driver, page)
    driver.tap(driver.button("Keep it"))
    assert tomllib.loads((home / "patterns" / "hut-tie.toml").read_text())["title"] == "Hut tie"
    (begin,) = driver.stage.overlays
    assert begin.title == "Begin a piece"
    assert begin.draft.pattern.title == "Hut tie"
    driver.tap(driver.button("Cast on"))
    assert [new.name for new in driver.hands.begun] == ["Hut tie"]


def test_every_line_has_its_sign_and_its_count(
    open_window: Opener, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Counted, compared, unread, faulty and notes are told apart by sign, colour and words."""
    copied(monkeypatch, CAP)
    driver, page = opened(open_window)
    driver.key(ONE)
    settled(driver, page)
    told = words_of(page)
    for sign, words in (
        (SIGNS[Became.COMPARED], "80 (88, 96) sts"),
        (SIGNS[Became.UNREAD], "wumple"),
        (SIGNS[Became.FAULTY], "k500"),
        ("\N{MIDDLE DOT}", "Weave in ends"),
    ):
        assert any(
            line.startswith(f"\N{NO-BREAK SPACE}{sign}\N{NO-BREAK SPACE}") and words in line
            for line in told.split("\n")
        ), words
    assert "Not found: the gauge" in told
    assert not list(home.glob("patterns/*")), "nothing is kept before it is said"


def test_what_was_not_found_is_asked(
    open_window: Opener, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The gauge and the title are put in by touch; sizes that do not go with it are refused."""
    copied(monkeypatch, CAP)
    driver, page = opened(open_window)
    driver.key(ONE)
    settled(driver, page)
    for field, said in (("gauge", "20 sts to 10 cm"), ("title", "Warm cap"), ("sizes", "S, M")):
        driver.tap(page.controls[field])
        line = driver.stage.overlays[-1]
        line.ids.line.text = said
        line.send()
        driver.frames(3)
    assert "3 sizes, 2 names" in page.trouble
    driver.key(ENTER)
    kept = tomllib.loads((home / "patterns" / "warm-cap.toml").read_text())
    assert (kept["gauge"], len(kept["sizes"])) == ("20 sts to 10 cm", 3)


def test_the_same_title_twice_is_asked(
    open_window: Opener, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The first stays until she says otherwise; both can be kept."""
    copied(monkeypatch, TIE)
    driver, page = opened(open_window)
    driver.key(ONE)
    settled(driver, page)
    driver.key(ENTER)
    driver, page = opened(open_window)
    driver.key(ONE)
    settled(driver, page)
    driver.key(ENTER)
    assert "already" in words_of(page)
    driver.tap(page.controls["beside"])
    assert sorted(file.name for file in home.glob("patterns/*")) == [
        "hut-tie-2.toml",
        "hut-tie.toml",
    ]


@pytest.mark.parametrize("text", ["", " \n ", "Good morning", "k1, p1 " * 300_000, "\x00\x01"])
def test_what_is_no_pattern_leaves_the_page_as_it_was(
    open_window: Opener, home: Path, monkeypatch: pytest.MonkeyPatch, text: str
) -> None:
    """Nothing copied, no row, two megabytes, no text: one sentence, and nothing to keep."""
    copied(monkeypatch, text)
    driver, page = opened(open_window)
    driver.key(ONE)
    settled(driver, page)
    assert page.trouble.endswith(".")
    assert page.done_words == ""
    driver.key(ENTER)
    assert not list(home.glob("patterns/*"))


def test_a_file_is_opened_by_its_number(open_window: Opener, home: Path) -> None:
    """The newest file comes first; one that is no pattern is refused with a sentence."""
    folder = home / "downloads"
    for at, (name, content) in enumerate(
        (("old.txt", TIE.encode()), ("scan.pdf", b"%PDF-1.7"), ("picture.png", b"\x89PNG"))
    ):
        (folder / name).write_bytes(content)
        os.utime(folder / name, (1_700_000_000 + at, 1_700_000_000 + at))
    driver, page = opened(open_window)
    driver.key(THREE)
    assert [key for key in page.controls if key.startswith("#")] == ["#1 scan.pdf", "#2 old.txt"]
    driver.key(ONE)
    assert "damaged" in page.trouble
    driver.key(TWO)
    settled(driver, page)
    assert page.taken.title == "Hut tie"


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ("", ""),
        ("  ", ""),
        ("~/missing.txt", "cannot be opened: No such file or directory."),
        ("~", "is a folder; name a file in it."),
        ('"~/old.txt"', ""),
    ],
)
def test_a_file_is_named(
    open_window: Opener, home: Path, monkeypatch: pytest.MonkeyPatch, typed: str, told: str
) -> None:
    """By 0 and its name: nothing typed does nothing, what is no file is one sentence."""
    monkeypatch.setenv("HOME", str(home))
    (home / "old.txt").write_text(TIE, encoding="utf-8")
    driver, page = opened(open_window)
    driver.key(THREE)
    driver.key(ONE - 1)
    (sheet,) = [one for one in driver.stage.overlays if one is not page]
    sheet.ids.line.text = typed
    driver.key(ENTER)
    settled(driver, page)
    assert page.trouble.endswith(told)
    assert bool(page.trouble) == bool(told)
    assert (page.taken is not None) == ("old" in typed)


@pytest.mark.usefixtures("home")
def test_a_sheet_that_is_left_keeps_what_was_typed(
    open_window: Opener, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Escape leads back, the text stays, also after a kill; a huge paste goes past the sheet."""
    driver, page = opened(open_window)
    driver.key(TWO)
    sheet = driver.stage.overlays[-1]
    sheet.sheet.text = TIE
    driver.frames(2)
    driver.key(ESCAPE)
    assert driver.stage.overlays == [page]
    assert "Hut tie" in driver.hands.remembered[-1]
    again = open_window(
        situation=Needle("mug-sleeve").situation(), unfinished=driver.hands.remembered[-1]
    )
    again.stage.places.go_to(Screen.TAKE)
    again.frames(3)
    page = again.stage.overlays[-1]
    again.key(TWO)
    sheet = again.stage.overlays[-1]
    assert sheet.typed == TIE
    again.tap(again.button("Take in"))
    settled(again, page)
    assert page.taken.title == "Hut tie"
    again.key(TWO)
    copied(monkeypatch, "k1, p1 " * 300_000)
    again.stage.overlays[-1].sheet.paste()
    settled(again, page)
    assert "one pattern at a time" in page.trouble


@pytest.mark.usefixtures("home")
@pytest.mark.parametrize("screen", ["phone", "tablet"])
def test_it_can_be_touched_on_small_screens(
    open_window: Opener, monkeypatch: pytest.MonkeyPatch, screen: str
) -> None:
    """Each control is as large as a fingertip needs, and every word fits."""
    copied(monkeypatch, CAP)
    driver, page = opened(open_window, screen)
    driver.tap(driver.button("1  Paste what was copied"))
    settled(driver, page)
    least = driver.stage.look.mm(20) - 1
    assert all(min(control.size) >= least for control in page.controls.values())
    assert all(text.fits for text in page.paragraphs)
