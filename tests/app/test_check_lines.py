"""`walesong check` shows what became of every row, says what would mend it, and mends it."""

from __future__ import annotations

import io
import json
from typing import TYPE_CHECKING

import pytest

from app.command_line import main
from app.pieces.pattern_cache import document_to_check
from app.pieces.taken_lines import Became, lines_of
from engine.pattern import PatternDocument

if TYPE_CHECKING:
    from pathlib import Path

CAP = """title = "Cap"  # of the crew
sizes = ["S", "M"]
cast_on = "40 (48)"
rows = [
  "Rnd 1: *K2, p2; rep from * around.",
  "Rnd 2: knit, change to larger needles. 40 (48) sts.",
  "Rnd 3: knit to last 2 sts, bumple. 39 (47) sts.",
  "Taking care of the wumpets.",
  "Rnd 4: knit 39",
  "Weave in ends.",
]
"""


@pytest.fixture
def cap(tmp_path: Path) -> Path:
    """Return the file of a cap with a row that nobody can read."""
    file = tmp_path / "cap.toml"
    file.write_text(CAP, encoding="utf-8")
    return file


def answering(monkeypatch: pytest.MonkeyPatch, *answers: str) -> None:
    """Let somebody at the keyboard answer so, and then go away."""
    monkeypatch.setattr("sys.stdin", io.StringIO("".join(f"{one}\n" for one in answers)))


def test_every_row_says_what_became_of_it() -> None:
    """Counted, compared, set aside, not read, not adding up: each row once, with its counts."""
    document = document_to_check(CAP)
    assert isinstance(document, PatternDocument)
    lines = {line.number: line for line in lines_of(document)}
    assert {number: line.became for number, line in lines.items()} == {
        5: Became.COUNTED,
        6: Became.COMPARED,
        7: Became.UNREAD,
        8: Became.ASIDE,
        9: Became.FAULTY,
        10: Became.ASIDE,
    }
    assert lines[5].counts == "40 48"
    assert lines[6].aside == ("change to larger needles",)


def test_the_command_marks_the_rows(cap: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """`--lines` prints the sign of each row, also as JSON."""
    assert main(["check", "--lines", str(cap)]) == 1
    out = capsys.readouterr().out
    assert "+    5        40 48  Rnd 1: *K2, p2; rep from * around." in out
    assert "?    7" in out
    assert "set aside: change to larger needles" in out
    assert main(["check", "--lines", "--json", "--size", "S", str(cap)]) == 1
    said = json.loads(capsys.readouterr().out)
    assert [line["became"] for line in said["lines"]][:2] == ["counted", "counted and compared"]


def test_a_refused_row_is_told_once_with_what_can_be_read_there(
    cap: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Two sizes, one message: the words with which the row adds up, and that it is no note."""
    main(["check", str(cap)])
    out = capsys.readouterr().out
    assert out.count("'bumple' cannot be read here") == 1
    assert "it adds up with: k2tog, p2tog, ssk, ssp, skp" in out
    assert "In its place it adds up with: k," not in out, "knit would leave 40"
    assert "It is no note: it names 'Rnd'" in out


def test_what_is_wrong_in_one_size_names_it(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A problem of one size among two is said with the name of that size."""
    file = tmp_path / "cap.toml"
    file.write_text('title = "C"\nsizes = ["S", "M"]\ncast_on = "4 (5)"\nrows = ["Row 1: k4"]\n')
    main(["check", str(file)])
    assert "(size M)" in capsys.readouterr().out


def test_mending_walks_through_and_keeps_a_copy(cap: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The word she chose stands in the row; all else is the designer's, and the old file stays."""
    answering(monkeypatch, "1", "n", "w", "y", "9")
    assert main(["check", "--mend", str(cap)]) == 1, "she says no at the end"
    assert cap.read_text(encoding="utf-8") == CAP
    answering(monkeypatch, "1", "y")
    assert main(["check", "--mend", str(cap)]) == 0
    assert cap.read_text(encoding="utf-8") == CAP.replace("bumple", "k2tog")
    assert cap.with_name("cap.toml.before").read_text(encoding="utf-8") == CAP


def test_an_interrupted_mending_changes_nothing(cap: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Who goes away before the end finds the file as it was, and no copy."""
    answering(monkeypatch, "1")
    assert main(["check", "--mend", str(cap)]) == 1
    assert cap.read_text(encoding="utf-8") == CAP
    assert [file.name for file in cap.parent.iterdir()] == ["cap.toml"]


def test_a_row_is_written_anew_or_taken_on_trust(
    cap: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Both ways lead to a file without an unread row; a second copy spares the first."""
    answering(monkeypatch, "what?", "u", "39 (47)", "y")
    assert main(["check", "--mend", str(cap)]) == 0
    assert "That is none of them." in capsys.readouterr().out
    assert "bumple. 39 (47) sts. (unchecked) (39 (47) sts)" in cap.read_text(encoding="utf-8")
    cap.write_text(CAP, encoding="utf-8")
    answering(monkeypatch, "w", 'Rnd 3: knit to last 2 sts, k2tog. "39"', "q", "y")
    main(["check", "--mend", str(cap)])
    assert cap.with_name("cap.toml.before-2").exists()
    assert isinstance(document_to_check(cap.read_text(encoding="utf-8")), PatternDocument)


def test_words_that_name_no_stitch_can_become_a_note(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A row without any word of the work becomes the note of the row after it."""
    file = tmp_path / "tie.toml"
    rows = ['  "Row 1: k to end",', '  "Mind = the (wumpets",', '  "Row 2: k to end",']
    lines = ['title = "Tie"', "cast_on = 4", "rows = [", *rows, "]", ""]
    file.write_text("\n".join(lines), encoding="utf-8")
    answering(monkeypatch, "n", "y")
    assert main(["check", "--mend", str(file)]) == 0
    assert file.read_text(encoding="utf-8").split("\n")[3:5] == [
        rows[0],
        '  { text = "Row 2: k to end", note = "Mind = the (wumpets" },',
    ]


def test_a_file_that_is_no_pattern_is_not_asked_about(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """What is wrong with the file itself is said, and nothing is written."""
    file = tmp_path / "no.toml"
    file.write_text("title = ", encoding="utf-8")
    assert main(["check", "--mend", str(file)]) == 1
    assert str(file) in capsys.readouterr().out
    assert main(["check", "--mend", "--json", str(file)]) == 2
