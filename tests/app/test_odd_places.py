"""Journals and patterns named by links, pipes and the like: found where they lie, or refused."""

from __future__ import annotations

import os
import stat
import sys
from threading import Thread
from typing import TYPE_CHECKING

import pytest

from app import language, resources
from app.command_line import main
from app.pieces import library
from app.pieces.journal_files import default_journal, read_journal
from engine.journal.copying import dated_copy
from engine.journal.on_disk import beside
from engine.journal.sqlite import SqliteJournal
from tests.made_up import CAP, knitted

if TYPE_CHECKING:
    from pathlib import Path

needs_links = pytest.mark.skipif(sys.platform == "win32", reason="links need rights there")
needs_pipes = pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="there are no pipes")


@pytest.fixture
def linked(tmp_path: Path) -> Path:
    """Return a link to a journal of three rows, with a dated copy, that lies in another folder."""
    card = tmp_path / "card"
    card.mkdir()
    with SqliteJournal.open(card / "work.walesong") as journal:
        journal.append(knitted(3))
    assert dated_copy(card / "work.walesong", "2026-01-10") is not None
    link = tmp_path / "hut.walesong"
    link.symlink_to(card / "work.walesong")
    return link


@needs_links
def test_a_link_to_a_journal_stays_one(linked: Path, tmp_path: Path) -> None:
    """What is put in the place of the journal goes where the link leads; the link is kept."""
    other = tmp_path / "other.walesong"
    with SqliteJournal.open(other) as journal:
        journal.append(knitted(2, CAP))
    assert main(["restore", str(other), "--into", str(linked)]) == 0
    assert linked.is_symlink()
    assert read_journal(linked.resolve()) == tuple(knitted(2, CAP))
    assert read_journal(linked.resolve().with_name("work.before-1.walesong")) == tuple(knitted(3))
    assert main(["backup", str(other), "--to", str(linked), "--replace"]) == 0
    assert linked.is_symlink()


@needs_links
def test_what_lies_beside_a_journal_is_found_through_a_link(
    linked: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The copies and the note of the last row are those of the file that the link leads to."""
    assert main(["restore", "--list", "--into", str(linked)]) == 0
    assert "2026-01-10.walesong" in capsys.readouterr().out
    words = linked.with_name("words.txt")
    words.write_text("row done\n", encoding="utf-8")
    assert main(["knit", "--silent", "--typed", str(words), "--journal", str(linked)]) == 0
    assert beside(linked.resolve(), "-last").is_file()
    assert [file.name for file in linked.parent.glob("hut.walesong*")] == [linked.name]
    monkeypatch.setattr(resources, "data_folder", lambda: linked.parent)
    linked.rename(linked.with_name("journal.walesong"))
    assert default_journal().name == "work.walesong"


@needs_links
def test_a_link_that_leads_around_in_a_circle_is_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """It is one sentence, and the link is as it was."""
    link = tmp_path / "hut.walesong"
    link.symlink_to(link)
    assert main(["knit", "--silent", "--typed", os.devnull, "--journal", str(link)]) == 4
    assert "cannot be opened" in capsys.readouterr().err
    assert link.is_symlink()


@needs_pipes
@pytest.mark.parametrize("name", ["pipe.walesong", "pipe.jsonl"])
def test_a_device_or_a_pipe_is_never_replaced(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], name: str
) -> None:
    """A backup to one would put a file in the place of what all the system may need."""
    own, pipe = tmp_path / "hut.walesong", tmp_path / name
    with SqliteJournal.open(own) as journal:
        journal.append(knitted(3))
    os.mkfifo(pipe)
    assert main(["backup", str(own), "--to", str(pipe), "--replace"]) == 4
    assert main(["restore", str(own), "--into", str(pipe)]) == 4
    assert main(["knit", "--silent", "--typed", os.devnull, "--journal", str(pipe)]) == 4
    assert capsys.readouterr().err.count("a device or a pipe") == 3
    assert main(["restore", str(own), "--into", str(tmp_path)]) == 4
    assert not list(tmp_path.parent.glob(f"{tmp_path.name}-*"))
    assert stat.S_ISFIFO(pipe.stat().st_mode)
    assert [file.name for file in tmp_path.glob("pipe*")] == [name]


@needs_pipes
def test_a_pipe_in_her_folder_of_patterns_stops_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of a pipe nobody knows when it ends: it is no pattern, and the shelf does not wait for it."""
    monkeypatch.setattr(resources, "data_folder", lambda: tmp_path)
    (tmp_path / "patterns").mkdir()
    pipe = tmp_path / "patterns" / "sleeve.toml"
    os.mkfifo(pipe)
    writer = Thread(target=pipe.write_text, args=('title = "Out of a pipe"\n',), daemon=True)
    writer.start()  # it lets go of whoever should read all the same
    assert "Out of a pipe" not in {one.title for one in library.patterns()}
    assert "sleeve" not in {one.name for one in library.patterns()}
    pipe.read_text(encoding="utf-8")
    writer.join()


@pytest.mark.parametrize("name", ["settings.toml", "keys.toml", "phrases.toml"])
def test_the_terminal_tells_what_of_her_files_is_left_out(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    name: str,
) -> None:
    """Who knits in the terminal hears of an unreadable file, too; it stays as it is."""
    monkeypatch.setattr(resources, "data_folder", lambda: tmp_path)
    language.own_phrases.cache_clear()
    (tmp_path / name).write_bytes(b"\xff = 3")
    own = str(tmp_path / "hut.walesong")
    assert main(["knit", "--silent", "--typed", os.devnull, "--journal", own]) == 0
    assert name.partition(".")[0] in capsys.readouterr().err
    assert main(["words"]) == 0
    assert "read" in capsys.readouterr().out.splitlines()[-1]
    assert (tmp_path / name).read_bytes() == b"\xff = 3"


@pytest.mark.parametrize("name", ["n" * 300, "n" * 250])
def test_a_name_that_no_disk_takes_is_one_sentence(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], name: str
) -> None:
    """Whether the name itself or one beside it is too long: nothing is raised at her."""
    own, long = tmp_path / "hut.walesong", str(tmp_path / name)
    with SqliteJournal.open(own) as journal:
        journal.append(knitted(3))
    assert main(["backup", str(own), "--to", long]) == 4
    assert "is too long" in capsys.readouterr().err
    assert main(["restore", str(own), "--into", long]) in {3, 4}
    assert main(["merge", "--into", long, str(own)]) in {3, 4}
    assert capsys.readouterr().err.count("too long") == 2


@pytest.mark.skipif(sys.platform != "linux", reason="elsewhere names are text")
def test_a_journal_whose_name_is_no_text_can_be_knitted(tmp_path: Path) -> None:
    """On Linux a name is any bytes; what lies on an old card opens all the same."""
    own = tmp_path / os.fsdecode(b"\xe9.walesong")
    words = tmp_path / "words.txt"
    words.write_text("row done\n", encoding="utf-8")
    assert main(["knit", "--silent", "--typed", str(words), "--journal", str(own)]) == 0
    assert len(read_journal(own)) == 3
