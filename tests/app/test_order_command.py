"""`walesong order` and `walesong demo order`: an order from its first word to the last piece."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING

import pytest

from app.command_line import main
from app.pieces.order_view import order_view
from app.pieces.order_words import chance_words, order_lines
from app.pieces.orders import order_called, orders
from app.session.clock import SetClock
from app.session.demo_order import demo_order
from app.session.opening import resume
from engine.journal.memory import MemoryJournal
from engine.journal.sqlite import SqliteJournal
from engine.stages import Stage

if TYPE_CHECKING:
    from pathlib import Path

NOW = datetime(2026, 2, 1, 12, tzinfo=UTC)
WALL = "2026-02-01T12:00:00Z"


def told(path: Path, *words: str, code: int = 0) -> None:
    """Give a command of an order, which has to end with the code."""
    assert main(["order", "--journal", str(path), *words]) == code, words


@pytest.fixture
def hut(tmp_path: Path) -> Path:
    """Return a journal with a small order in it."""
    path = tmp_path / "journal.walesong"
    told(path, "begin", "The hut", "--due", "2026-03-01")
    mug = ["--rows", "22", "--stitches", "50", "--length", "8 cm", "--weight", "12 g"]
    told(path, "add", "12", "Mug sleeve", "--colour", "grey", *mug)
    told(path, "add", "2", "Crew cap", "--size", "M", "--spares", "0")
    return path


def state_of(path: Path, name: str | None = None) -> str:
    """Return the order as it is shown."""
    with SqliteJournal.open_to_read(path) as journal:
        return "\n".join(order_lines(order_view(journal, order_called(journal, name), WALL)))


def test_an_order_from_the_first_word_on(hut: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Counts, crew, stages, a measured piece and a rejected one come out as they were said."""
    told(hut, "give", "the cook", "1-6", "14")
    told(hut, "hours", "the cook", "4.5")
    told(hut, "yarn", "2", "100 g", "--colour", "grey", "--lot", "4107")
    told(hut, "mark", "knitted", "1-3")
    told(hut, "measured", "1", "--length", "8.1 cm", "--weight", "12.2 g", "--minutes", "55")
    told(hut, "reject", "2", "--why", "felted")
    capsys.readouterr()
    told(hut)
    shown = capsys.readouterr().out
    assert "The hut: 14 pieces ordered and 1 spare. Due 2026-03-01" in shown
    assert "Mug sleeve, grey   1-13       12       1     11" in shown
    assert "the cook: 2 knitted, 5 to begin, 4.5 hours a week." in shown
    assert "Given to nobody yet: 8 pieces." in shown
    assert "Rejected: Mug sleeve 2 (felted); knitted anew." in shown
    assert "2 balls of 100 g of lot 4107 suffice with a chance of" in shown
    assert "Hours left: not known; no Crew cap, M was timed" in shown
    assert "To start next: Mug sleeve 2 (the cook), which was rejected." in shown
    told(hut, "undo")
    assert "Rejected" not in state_of(hut)
    capsys.readouterr()
    told(hut, "next")
    assert capsys.readouterr().out == "To start next: Crew cap 14 (the cook).\n"


def test_what_cannot_be_is_refused_with_its_remedy(
    hut: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """No such number, a stage that is doubted, nothing to measure: a sentence, and nothing kept."""
    before = state_of(hut)
    capsys.readouterr()
    for words, sentence in {
        ("mark", "washed", "16"): "The hut has pieces 1 to 15, not 16.",
        ("mark", "washed", "3"): "Mug sleeve 3: it is not even begun. Nothing was kept; if so, add",
        ("measured", "3"): "what does it measure?",
        ("reject", "3"): "Mug sleeve 3: it is not even begun.",
        ("add", "0", "Mug sleeve"): "how many of what?",
        ("undo", "--order", "The inn"): "There is no order 'The inn'; there are: The hut.",
    }.items():
        told(hut, *words, code=2 if "--order" in words else 1)
        assert sentence in capsys.readouterr().err
    for words in (
        ("mark", "ironed", "3"), ("mark", "washed", "three"), ("hours", "the cook", "300"),
        ("begin", "Another", "--due", "soon"), ("yarn", "2", "heavy"), ("give", "the cook", "9-3"),
    ):  # fmt: skip
        with pytest.raises(SystemExit):
            main(["order", "--journal", str(hut), *words])
    assert state_of(hut) == before
    told(hut, "mark", "washed", "3", "--sure")
    told(hut, "mark", "washed", "3", code=1)
    told(hut, "mark", "knitted", "3", code=1)


def test_without_an_order_it_says_how_to_take_one(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A journal that is not there is not made, one without an order names the command."""
    path = tmp_path / "journal.walesong"
    told(path, code=3)
    assert not path.exists()
    SqliteJournal.open(path).close()
    capsys.readouterr()
    told(path, code=2)
    assert 'walesong order begin "NAME"' in capsys.readouterr().err


def test_the_demo_is_half_done_and_its_order_no_piece(tmp_path: Path) -> None:
    """31 of 66 pieces are knitted; the piece on the needle is one, and the order is not listed."""
    path = tmp_path / "demo.walesong"
    assert main(["demo", "order", "--journal", str(path)]) == 0
    assert main(["demo", "order", "--journal", str(path)]) == 3
    with SqliteJournal.open(path) as journal:
        view = order_view(journal, orders(journal)[0], SetClock().wall())
        talk = resume(journal, SetClock(), None)
        assert talk is not None
        names = {one.name for one in talk.pieces()}
    assert (view.knitted, view.state.count, view.spares) == (31, 60, 6)
    assert view.state.name not in names
    assert len(names) == 35


def test_the_demo_says_everything_there_is_to_say() -> None:
    """Hours, day, chance, yarn, what is dry and what is next stand in the demo's order."""
    journal = MemoryJournal()
    pieces, book = demo_order(NOW)
    journal.append(pieces)
    journal.append(book, brought=True)
    view = order_view(journal, orders(journal)[0], WALL)
    shown = "\n".join(order_lines(view))
    for words in (
        "Knitting left: ", "Ready at this pace: 2026-", "with a chance of", "To start next: ",
        "Yarn, grey: ", "Yarn, blue: ", "feel whether dry: 20.", "the warden: 20 knitted",
    ):  # fmt: skip
        assert words in shown
    assert view.state.piece(20).stage is Stage.WASHED
    again = MemoryJournal()
    again.append((*reversed(book), *reversed(pieces)), brought=True)
    assert order_view(again, orders(again)[0], WALL) == view, "in whatever order it comes"


def test_nothing_is_told_as_certain() -> None:
    """A chance is never said to be all or none."""
    said = [chance_words(one) for one in (0.0, 0.004, 0.5, 0.996, 1.0)]
    assert said == ["under 1 in 100"] * 2 + ["50 in 100"] + ["over 99 in 100"] * 2


def test_two_devices_give_the_same_numbers(hut: Path, tmp_path: Path) -> None:
    """Lines added apart are both there after a merge; the new numbers are shown and asked about."""
    other = tmp_path / "other.walesong"
    assert main(["merge", str(hut), "--into", str(other)]) == 0
    told(hut, "add", "3", "Bottle sleeve", "--spares", "0")
    told(hut, "mark", "begun", "16")
    told(other, "add", "2", "Lantern sleeve", "--spares", "0")
    told(other, "mark", "begun", "16")
    assert main(["merge", str(other), "--into", str(hut)]) == 0
    shown = state_of(hut)
    assert "Bottle sleeve" in shown
    assert "Lantern sleeve" in shown
    assert shown.count("Two devices gave the numbers 16 to 1") == 1
    told(hut, "settle")
    assert "Two devices gave" not in state_of(hut)
    told(hut, "settle", code=1)
    told(hut, "mark", "begun", "1")
    told(other, "mark", "begun", "1")
    assert main(["merge", str(other), "--into", str(hut)]) == 0
    assert "Mug sleeve 1 was begun on two devices at once" in state_of(hut)
    told(hut, "settle", "2", code=1)
    told(hut, "settle", "1")
    assert "two devices" not in state_of(hut)
