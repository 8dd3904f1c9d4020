"""`walesong batch`: pieces of a journal compared, and what it says to who has none."""

from __future__ import annotations

import csv
from dataclasses import replace
from datetime import UTC, datetime
from decimal import Decimal
from typing import TYPE_CHECKING

import pytest

from app import resources
from app.command_line import main
from app.language import phrase_book
from app.pieces.casting_on import new_piece
from app.pieces.values import NewPiece
from app.session.clock import SetClock
from app.session.conversation import Conversation
from app.session.demo_order import demo_order
from engine.commands import Source
from engine.journal.sqlite import SqliteJournal
from engine.replies import Say
from speech.words.understand import understand

if TYPE_CHECKING:
    from pathlib import Path

    from engine.replies import Reply

NOW = datetime(2026, 2, 1, 12, tzinfo=UTC)


@pytest.fixture
def demo(tmp_path: Path) -> Path:
    """Return a journal with the demo's order in it."""
    path = tmp_path / "demo.walesong"
    pieces, book = demo_order(NOW)
    with SqliteJournal.open(path) as journal:
        journal.append(pieces)
        journal.append(book, brought=True)
    return path


def say(talk: Conversation, *sentences: str) -> tuple[Reply, ...]:
    """Type sentences, each of which must be understood; return the last answer."""
    replies: tuple[Reply, ...] = ()
    for words in sentences:
        meant = understand(words, phrase_book())
        assert meant, words
        replies = talk.hear(meant, Source.TYPED).replies
    return replies


def two_mug_sleeves(path: Path) -> None:
    """Knit two mug sleeves in a journal, the second on another needle and two rows longer."""
    new = new_piece(resources.text("shared/patterns/mug-sleeve.toml"), None)
    assert isinstance(new, NewPiece)
    clock = SetClock()
    with SqliteJournal.open(path) as journal:
        first = Conversation.begin(journal, replace(new, lot="4107"), clock)
        say(first, "needle 4.5 mm")
        finish(first, 18, "measure 8 cm washed")
        other = replace(new, name="Mug sleeve 2", partner=first.piece, lot="4107")
        second = first.cast_on(other, Source.KEY)
        say(second, "needle 5 mm")
        finish(second, 20, "measure 9 cm washed")


def finish(talk: Conversation, body_ends: int, length: str) -> None:
    """Knit a mug sleeve whose body ends after a row, wash and measure it."""
    say(talk, f"{body_ends} rows done", "this part is done")
    if talk.question is not None:
        say(talk, "yes")
    say(talk, "4 rows done", "this piece is finished", "yes", length)
    assert talk.state.finished


def test_the_odd_one_of_the_demo_is_said_in_words(
    demo: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Two rows longer, from the body, by a new needle: in one line; no other piece is odd."""
    assert main(["batch", "--journal", str(demo)]) == 0
    told = capsys.readouterr().out
    odd = [line for line in told.splitlines() if line.startswith("  Bottle sleeve")]
    sentence = (
        "  Bottle sleeve 31 (the guide): 2 rows more (52 for 50), from the part 'Body'; 1.4 cm "
        "longer (19.4 cm for 18.0 cm); 2.0 g heavier (30.0 g for 28.0 g); new needle at row 30: "
        "5 mm; felt loose in 3 rows, first in row 31."
    )
    assert odd == [sentence]
    assert told.count("None is odd.") == 3
    assert "Chart of length, 20 pieces by the warden: middle 7.96 cm" in told
    assert "No chart below 20 pieces of one maker (the guide: 6): tolerances only." in told
    assert "e-Handbook 6.3.2.2" in told


def test_pieces_without_an_order_are_compared_with_the_first(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Same pattern and size is enough; her tolerance and a weight are kept for the next time."""
    path = tmp_path / "journal.walesong"
    two_mug_sleeves(path)
    assert main(["batch", "--journal", str(path)]) == 0
    told = capsys.readouterr().out
    assert "Beside Mug sleeve." in told
    assert "  Mug sleeve 2: 2 rows more (24 for 22), from the part 'Body'; 1.0 cm longer" in told
    assert "another needle: 5 mm" in told
    wider = ["--tolerance", "length 1 cm", "--tolerance", "rows 2"]
    assert main(["batch", "Mug sleeve 2", "--journal", str(path), *wider]) == 0
    assert "longer" not in capsys.readouterr().out
    weigh = ["--weigh", "Mug sleeve 2", "12.3 g"]
    assert main(["batch", "--journal", str(path), *weigh]) == 0
    assert capsys.readouterr().out == "Mug sleeve 2 weighs 12.3 g.\n"
    assert main(["batch", "--journal", str(path)]) == 0
    told = capsys.readouterr().out
    assert "length 8.0 cm ± 1 cm" in told
    assert "12.3 g" in told
    assert "more (24" not in told


def test_her_tolerance_and_what_it_was_made_with_are_in_same_as_the_first(tmp_path: Path) -> None:
    """While knitting, another needle and lot are told; a width within her tolerance is not."""
    path = tmp_path / "journal.walesong"
    two_mug_sleeves(path)
    limits = ["--tolerance", "width 0.2 cm"]
    assert main(["batch", "Mug sleeve", "--journal", str(path), *limits]) == 0
    with SqliteJournal.open(path) as journal:
        first = next(one for one in journal.pieces() if one.name == "Mug sleeve")
        talk = Conversation(journal, first.id, SetClock())
        say(talk, "measure 24 cm wide washed")
        new = new_piece(resources.text("shared/patterns/mug-sleeve.toml"), None)
        assert isinstance(new, NewPiece)
        third = talk.cast_on(
            replace(new, name="Mug sleeve 3", partner=talk.piece, lot="4108"), Source.KEY
        )
        say(third, "10 rows done", "measure 24.3 cm wide washed")
        told = [one.say for one in say(third, "same as the first")]
        assert told == [Say.SAME_ROWS_LEFT, Say.PARTNER_WIDER, Say.PARTNER_LOT]
        say(third, "measure 24.1 cm wide washed")
        told = [one.say for one in say(third, "same as the first")]
        assert told == [Say.SAME_ROWS_LEFT, Say.PARTNER_LOT]


def test_what_cannot_be_compared_is_said(
    tmp_path: Path, demo: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """No journal, no such piece, no such tolerance, a piece on the needles: one sentence each."""
    nowhere = tmp_path / "none.walesong"
    assert main(["batch", "--journal", str(nowhere)]) == 3
    assert not nowhere.exists()
    assert main(["batch", "scarf", "--journal", str(demo)]) == 2
    assert "There is no piece or order 'scarf'" in capsys.readouterr().err
    assert main(["batch", "--journal", str(demo), "--weigh", "Crew cap, M 4", "55 g"]) == 1
    assert "is not off the needles yet" in capsys.readouterr().err
    assert main(["batch", "--journal", str(demo), "--weigh", "Crew cap, M", "heavy"]) == 2
    capsys.readouterr()
    for wrong in ("colour 3", "length much", "weight -3 %"):
        with pytest.raises(SystemExit):
            main(["batch", "--journal", str(demo), "--tolerance", wrong])
        assert "tolerance" in capsys.readouterr().err


def test_the_report_tells_what_it_costs(
    demo: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """With prices every form has the costs; sums are those of the lines; without, none has."""
    prices = ["--currency", "eur", "--yarn-price", "8.90 for 100 g", "--hour-price", "12,50",
              "--margin", "15 %"]  # fmt: skip
    for form in ("html", "pdf", "csv"):
        words = ["batch", "--journal", str(demo), "--to", str(tmp_path / f"r.{form}")]
        assert main([*words, *prices]) == 0
    page = (tmp_path / "r.html").read_text("utf-8")
    assert "What it costs" in page
    assert "Yarn: EUR 8.90 for 100 g." in page
    assert "Margin: 15 %." in page
    table = page[page.index("What it costs") :]
    yarn = [line.split("</td>")[1] for line in table.split('<th scope="row">')[1:]]
    amounts = [Decimal(one.rpartition(">")[2].replace(",", "")) for one in yarn]
    assert sum(amounts[:-1]) == amounts[-1] > 0
    rows = list(csv.DictReader((tmp_path / "r.csv").read_text("utf-8").splitlines()))
    assert {row["currency"] for row in rows} == {"EUR"}
    known = [Decimal(row["yarn_cost"]) for row in rows if row["yarn_cost"]]
    assert 0 < sum(known) <= amounts[-1]
    assert (tmp_path / "r.pdf").read_bytes().startswith(b"%PDF")
    plain = tmp_path / "plain.html"
    assert main(["batch", "--journal", str(demo), "--to", str(plain)]) == 0
    assert "costs" not in plain.read_text("utf-8")
    capsys.readouterr()
    for wrong, sentence in (
        (["--hour-price", "12"], "in which currency"),
        (["--margin", "5 %", "--currency", "EUR"], "a margin on what"),
        (["--hour-price", "12", "--currency", "EUR"], "prices are for a report"),
    ):
        assert main(["batch", "--journal", str(demo), *wrong]) == 2
        assert sentence in capsys.readouterr().err
    for wrong in (["--currency", "XXQ"], ["--yarn-price", "nine"], ["--hour-price", "-3"]):
        with pytest.raises(SystemExit):
            main(["batch", "--journal", str(demo), *wrong])
