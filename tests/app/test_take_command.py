"""A printed pattern is taken in as it is: what is where, and what became of every line."""

from __future__ import annotations

import tomllib
from typing import TYPE_CHECKING

from app.command_line import main
from app.pieces.taken_lines import Became, pattern_of
from app.pieces.taking import file_of, take

if TYPE_CHECKING:
    from pathlib import Path

    import pytest

CAP = """CREW CAP

Sizes: Small (Medium, Large)
Yarn: medium, 100 g to 200 m
Gauge: 20 sts and 28 rnds = 10 cm in stockinette

BRIM
With smaller needle, CO 88 (96, 104) sts.
Place marker and join to work in the round, being careful not to twist.
Rnd 1: *K2, p2; rep from * around.
Rep Rnd 1 until brim measures 5 cm.

CROWN
Note: dpns are handy here.
Rnd 1: *K9 (10, 11), k2tog; rep from *
around. 80 (88, 96) sts.
Rnd 2: Knit.
Rnd 3: wumple the fluffs all k2tog.
Cut yarn, draw through rem sts and fasten off.

FINISHING
Weave in ends.
"""
TWO = """Scarf and tie

Scarf
Cast on 20 sts.
Row 1: k to end.
BO all sts.

Tie
Cast on 4 sts.
Row 1: k5.
"""


def test_what_surrounds_the_rows_is_found() -> None:
    """Title, sizes, gauge and yarn are taken from the lines above the work."""
    taken = take(CAP)
    assert (taken.title, taken.sizes) == ("Crew cap", ("Small", "Medium", "Large"))
    assert taken.gauge.startswith("20 sts and 28 rnds")
    assert taken.yarn == "medium, 100 g to 200 m"
    assert taken.asks == ()


def test_sections_and_notes_are_told_apart() -> None:
    """Headings become sections; notes and finishing are kept and not worked."""
    taken = take(CAP)
    (piece,) = taken.pieces
    assert [section.title for section in piece.sections] == ["Brim", "Crown"]
    notes = [note.text for note in taken.notes]
    assert "Weave in ends." in notes
    assert any(text.startswith("Note:") for text in notes)


def test_a_line_that_the_printer_broke_is_one_row() -> None:
    """A row that runs over two printed lines is one, under the number of its last line."""
    rows = {row.number: row.text for row in file_of(take(CAP)).lines.values()}
    assert rows[16] == "Rnd 1: *K9 (10, 11), k2tog; rep from * around. 80 (88, 96) sts."


def test_every_line_says_what_became_of_it() -> None:
    """Compared lines carry their stitches for each size; the one nobody can read says so."""
    lines = {line.number: line for line in pattern_of(take(CAP)).lines}
    assert lines[16].became is Became.COMPARED
    assert lines[16].stitches == (80, 88, 96)
    assert lines[18].became is Became.UNREAD
    assert lines[18].message
    assert lines[22].became is Became.NOTE


def test_a_new_cast_on_begins_a_new_piece() -> None:
    """Two cast-ons under headings are two pieces, and a fault stays with its line."""
    taken = take(TWO)
    assert [piece.title for piece in taken.pieces] == ["Scarf", "Tie"]
    lines = {line.number: line for line in pattern_of(taken).lines}
    assert lines[5].became is Became.COUNTED
    assert lines[10].became is Became.FAULTY


def test_the_command_writes_a_pattern_file(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """`walesong take` shows the lines, writes the file once, and keeps one that is there."""
    printed, to = tmp_path / "cap.txt", tmp_path / "patterns" / "cap.toml"
    printed.write_text(CAP, encoding="utf-8")
    asked = ["take", str(printed), "--to", str(to)]
    assert main(asked) == 1, "one line cannot be read"
    assert tomllib.loads(to.read_text(encoding="utf-8"))["sizes"] == ["Small", "Medium", "Large"]
    out = capsys.readouterr().out
    assert "=   16     80 88 96  Rnd 1" in out
    assert "sections: Brim, Crown" in out
    assert main(asked) == 3
    assert "--replace" in capsys.readouterr().err
    assert main([*asked, "--replace", "--sizes", "S, M"]) == 2
    assert main([*asked, "--replace", "--sizes", "S, M, L", "--title", "Cap"]) == 1
    assert tomllib.loads(to.read_text(encoding="utf-8"))["title"] == "Cap"
    assert main(["take", str(tmp_path / "nowhere.txt")]) == 3
