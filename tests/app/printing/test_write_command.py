"""`walesong write`: what it writes, what it refuses, and that a refusal changes nothing."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

import pytest

from app import resources
from app.terminal import write_command
from tests.app.printing.made_up import DEMO, VEST, WRONG

if TYPE_CHECKING:
    from pathlib import Path


def run(*arguments: str | Path) -> int:
    """Run the sub-command with these arguments."""
    top = argparse.ArgumentParser(prog="walesong")
    write_command.add_parser(top.add_subparsers())
    options = top.parse_args(["write", *map(str, arguments)])
    code: int = options.run(options)
    return code


@pytest.mark.parametrize("ending", ["html", "md", "pdf", "HTML", "markdown"])
def test_the_ending_says_the_form(tmp_path: Path, ending: str) -> None:
    """Each form is written, to the file that was named and nothing beside it."""
    out = tmp_path / f"cap.{ending}"
    assert run(resources.path("shared/patterns/crew-cap.toml"), "--to", out) == 0
    assert list(tmp_path.iterdir()) == [out]
    start = {"html": b"<!DOCTYPE", "md": b"# Crew cap", "pdf": b"%PDF-", "markdown": b"# Crew cap"}
    assert out.read_bytes().startswith(start[ending.casefold()])


@pytest.mark.parametrize("name", DEMO)
def test_every_demo_pattern_is_written_without_a_remark(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], name: str
) -> None:
    """Their figures agree with each other and with the tables."""
    source = resources.path(f"shared/patterns/{name}.toml")
    assert run(source, "--to", tmp_path / "out.html") == 0
    assert capsys.readouterr().err == ""


def refused(capsys: pytest.CaptureFixture[str], code: int, *arguments: str | Path) -> str:
    """Run it, expect this exit code and one sentence, and return the sentence."""
    assert run(*arguments) == code
    said = capsys.readouterr()
    assert said.out == ""
    lines = [line for line in said.err.splitlines() if line.startswith("walesong write: ")]
    assert len(lines) == 1
    assert lines[0].endswith(".")
    return lines[0]


def test_what_cannot_be_done_is_said_in_one_sentence(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Missing file, odd ending, missing folder, unknown size, a text that is none."""
    cap = resources.path("shared/patterns/crew-cap.toml")
    odd = tmp_path / "odd.toml"
    odd.write_bytes(b"\xff\xfe\x00")
    out = tmp_path / "out.md"
    assert "cannot be opened" in refused(capsys, 3, tmp_path / "none.toml", "--to", out)
    assert ".html, .md and .pdf" in refused(capsys, 2, cap, "--to", tmp_path / "out.doc")
    assert "no folder" in refused(capsys, 3, cap, "--to", tmp_path / "no" / "out.md")
    assert "has S, M, L, not 'XL'" in refused(capsys, 2, cap, "--to", out, "--size", "XL")
    assert "UTF-8" in refused(capsys, 3, odd, "--to", out)
    assert "cannot be opened" in refused(capsys, 3, tmp_path, "--to", out)
    mug = resources.path("shared/patterns/mug-sleeve.toml")
    assert "one size without a name" in refused(capsys, 2, mug, "--to", out, "--size", "M")
    folder = tmp_path / "folder.md"
    folder.mkdir()
    assert "cannot be written" in refused(capsys, 3, cap, "--to", folder)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["folder.md", "odd.toml"]


def test_a_pattern_that_does_not_add_up_is_refused_with_its_problems(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """What was there before stays; the problem names line, row, size and number."""
    source, out = tmp_path / "wrong.toml", tmp_path / "out.html"
    source.write_text(WRONG, encoding="utf-8")
    out.write_text("what was there", encoding="utf-8")
    assert run(source, "--to", out) == 1
    said = capsys.readouterr().err
    assert "Row 2, size M" in said
    assert "1 stitch" in said
    assert out.read_text(encoding="utf-8") == "what was there"


def test_it_is_written_with_a_warning_only_when_told_so(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """With the flag the sheet warns; for a size that adds up no flag is needed."""
    source, out = tmp_path / "wrong.toml", tmp_path / "out.md"
    source.write_text(WRONG, encoding="utf-8")
    assert run(source, "--to", out, "--despite-problems") == 0
    assert "Do not knit from this sheet" in out.read_text(encoding="utf-8")
    assert run(source, "--to", out, "--size", "s") == 3
    assert "--replace" in capsys.readouterr().err
    assert run(source, "--to", out, "--size", "s", "--replace") == 0
    assert "Do not knit" not in out.read_text(encoding="utf-8")
    assert capsys.readouterr().err == ""


def test_a_file_that_is_no_pattern_is_pointed_at(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """What cannot be read is named with line and column, and nothing is written."""
    source, out = tmp_path / "x.toml", tmp_path / "out.md"
    source.write_text('title = "x"\ncast_on = 4\nrows = ["Row 1: frobnicate"]\n', encoding="utf-8")
    assert run(source, "--to", out) == 1
    assert "x.toml:3:" in capsys.readouterr().err
    assert not out.exists()


def test_without_the_extra_a_pdf_is_refused_and_the_rest_works(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """One clear sentence names the library; HTML and Markdown never need it."""
    monkeypatch.setattr(write_command, "find_spec", lambda _name: None)
    cap = resources.path("shared/patterns/crew-cap.toml")
    assert "pip install reportlab" in refused(capsys, 3, cap, "--to", tmp_path / "out.pdf")
    assert run(cap, "--to", tmp_path / "out.html") == 0


def test_contradictions_are_told_but_do_not_keep_the_sheet(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A needle number that no table has is remarked on, once."""
    source = tmp_path / "vest.toml"
    source.write_text(VEST.replace('"3.75 mm"', '"3.75 mm (US 6)"'), encoding="utf-8")
    assert run(source, "--to", tmp_path / "out.md", "--left-handed") == 0
    said = capsys.readouterr()
    assert said.err.splitlines() == ["walesong write: note: 3.75 mm is US 5, not US 6."]
