"""A garment is many pieces: each piece of a pattern is cast on by its title, beside its partner."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from app.command_line import main
from app.pieces.casting_on import new_piece
from app.pieces.pattern_cache import course_of
from app.pieces.values import NewPiece
from engine.history import fold
from engine.journal.sqlite import SqliteJournal

if TYPE_CHECKING:
    from pathlib import Path

    from engine.state import PieceState

SLIPOVER = """
title = "Slipover"
[[piece]]
title = "Back"
cast_on = 80
rows = [
  "Work 8 rows in k1, p1 rib",
  "Work in st st until piece measures 12 cm, ending with a WS row",
  "BO all sts",
]
[[piece]]
title = "Left front"
cast_on = 40
rows = [
  "Work 8 rows in k1, p1 rib",
  "Work in st st until same length as back",
  "BO all sts",
]
"""


@pytest.fixture
def slipover(tmp_path: Path) -> Path:
    """Return the pattern as a file."""
    file = tmp_path / "slipover.toml"
    file.write_text(SLIPOVER, encoding="utf-8")
    return file


def knit(tmp_path: Path, words: str, *options: str) -> int:
    """Type words into the journal of this test and return the exit code."""
    lines = tmp_path / "words.txt"
    lines.write_text(words.replace(", ", "\n"), encoding="utf-8")
    journal = tmp_path / "j.walesong"
    return main(["knit", "--typed", str(lines), "--journal", str(journal), *options])


def pieces(tmp_path: Path) -> dict[str, PieceState]:
    """Return the pieces of the journal by name."""
    with SqliteJournal.open_to_read(tmp_path / "j.walesong") as journal:
        states = [fold(journal.records(kept.id)) for kept in journal.pieces()]
    return {state.name: state for state in states}


@pytest.mark.parametrize(
    ("piece", "name", "kept", "cast_on"),
    [
        (None, "Slipover: Back", None, 80),
        ("back", "Slipover: Back", None, 80),
        ("left FRONT", "Slipover: Left front", "Left front", 40),
    ],
)
def test_a_piece_is_named_by_its_title(
    piece: str | None, name: str, kept: str | None, cast_on: int
) -> None:
    """The first one if nothing is said; its stitches are its own."""
    new = new_piece(SLIPOVER, None, piece)
    assert isinstance(new, NewPiece)
    assert (new.name, new.pattern_piece, new.cast_on) == (name, kept, cast_on)
    assert new.project == "Slipover"


def test_the_front_gets_the_rows_of_the_back(tmp_path: Path, slipover: Path) -> None:
    """Cast on beside the back: as long as it means its 34 rows, and that is offered there."""
    back = "8 rows done, 26 rows done, this part is done, yes"
    assert knit(tmp_path, back, "--pattern", str(slipover)) == 0
    beside = ["--same-as", "slipover: back", "--piece", "left front"]
    assert knit(tmp_path, "33 rows done, row done, yes", *beside) == 0
    front = pieces(tmp_path)["Slipover: Left front"]
    assert front.cast_on == 40
    assert [after for _, after in front.ended] == [34]
    assert front.partner is not None
    assert front.partner.name == "Slipover: Back"
    assert course_of(front).where(front.loops_ended, 35).after == 0


def test_its_mirror_image_is_the_other_front(tmp_path: Path, slipover: Path) -> None:
    """Mirrored, the left front's piece of the pattern makes the right front."""
    assert knit(tmp_path, "8 rows done", "--pattern", str(slipover), "--piece", "Left front") == 0
    assert knit(tmp_path, "row done", "--same-as", "Slipover: Left front", "--mirrored") == 0
    right = pieces(tmp_path)["Slipover: Right front"]
    assert (right.done, right.cast_on, right.pattern_piece) == (1, 40, "Left front")


def test_each_piece_is_taken_up_by_itself(tmp_path: Path, slipover: Path) -> None:
    """Back and front go side by side in one journal, each where it was left."""
    front = ["--pattern", str(slipover), "--piece", "Left front"]
    assert knit(tmp_path, "3 rows done", "--pattern", str(slipover)) == 0
    assert knit(tmp_path, "5 rows done", *front) == 0
    assert knit(tmp_path, "row done", "--pattern", str(slipover)) == 0
    assert knit(tmp_path, "row done", *front) == 0
    done = {name: state.done for name, state in pieces(tmp_path).items()}
    assert done == {"Slipover: Back": 4, "Slipover: Left front": 6}


def test_a_piece_that_there_is_not_is_answered_with_those_that_there_are(
    tmp_path: Path, slipover: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """One sentence, and nothing is cast on."""
    assert knit(tmp_path, "", "--pattern", str(slipover), "--piece", "Hood") == 2
    assert "no piece 'Hood'; it has Back, Left front" in capsys.readouterr().err
    assert not (tmp_path / "j.walesong").exists()
    assert knit(tmp_path, "", "--piece", "Hood") == 2
    assert "name one with --pattern" in capsys.readouterr().err


def test_the_summary_needs_no_title_of_a_section(
    tmp_path: Path, slipover: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Without named sections the last line ends with the row."""
    assert knit(tmp_path, "row done", "--pattern", str(slipover)) == 0
    assert "1 row done, working 2\n" in capsys.readouterr().out
