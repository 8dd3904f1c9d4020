"""`walesong backup` and `walesong merge`: work is copied whole, and two devices come together."""

from __future__ import annotations

import json
import shutil
from fractions import Fraction
from typing import TYPE_CHECKING

import pytest

from app import language
from app.command_line import main
from app.pieces.journal_files import read_journal
from app.session.clock import SetClock
from app.session.conversation import Conversation
from engine.commands import Since, Source
from engine.events import (
    LoopEnded,
    Measured,
    PartnerNamed,
    PieceBegun,
    Recounted,
    RippedBack,
    RowsWorked,
)
from engine.fabric import Fabric
from engine.history import fold
from engine.journal.exchange import FORMAT_NAME, to_lines
from engine.journal.on_disk import beside
from engine.journal.sqlite import SqliteJournal
from engine.quantities import Length, LengthUnit
from engine.records import in_order
from speech.words.understand import understand
from tests.by_chance import ASKED
from tests.made_up import knitted, record

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from engine.records import Record

COMMON = knitted(4)
AT_HOME = record(RowsWorked("body", 5, 6), COMMON)
IN_THE_HUT = record(RowsWorked("body", 5, 5), COMMON, wall="2026-01-11T09:00:00Z")


def _journal(path: Path, records: Iterable[Record]) -> Path:
    with SqliteJournal.open(path) as journal:
        journal.append(tuple(records))
    return path


@pytest.fixture
def home(tmp_path: Path) -> Path:
    """Return the journal of the device at home."""
    return _journal(tmp_path / "home.walesong", [*COMMON, AT_HOME])


@pytest.fixture
def hut(tmp_path: Path) -> Path:
    """Return the journal of the device in the hut, which does not know of the one at home."""
    return _journal(tmp_path / "hut.walesong", [*COMMON, IN_THE_HUT])


@pytest.mark.parametrize("name", ["copy.walesong", "copy.jsonl"])
def test_a_backup_holds_everything(
    home: Path, name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A copy of either kind gives the same records, also after it replaced an older one."""
    copy = tmp_path / name
    for more in ((), ("--replace",)):
        assert main(["backup", str(home), "--to", str(copy), *more]) == 0
        assert capsys.readouterr().out == f'All 6 records of "{home}" are in "{copy}".\n'
    assert read_journal(copy) == read_journal(home)
    assert {file.name for file in tmp_path.iterdir()} == {
        "home.walesong",
        "home.walesong-last",
        name,
    }


def test_an_export_is_lines_of_json(home: Path, tmp_path: Path) -> None:
    """The ending .jsonl asks for lines that any program can read, with their heading."""
    copy = tmp_path / "copy.jsonl"
    main(["backup", str(home), "--to", str(copy)])
    heading, *lines = copy.read_text("utf-8").splitlines()
    assert json.loads(heading)["format"] == FORMAT_NAME
    assert {json.loads(line)["id"] for line in lines} == {one.id for one in [*COMMON, AT_HOME]}


def test_without_a_name_it_is_ones_own(
    home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A lost device: the backup merged on the new one, and backed up again, is the same work."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "new device"))
    assert main(["merge", str(home)]) == 0
    again = tmp_path / "again.walesong"
    assert main(["backup", "--to", str(again)]) == 0
    assert read_journal(again) == read_journal(home)


def test_two_devices_are_merged(home: Path, hut: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Both ways round each has everything, and both name the rows that they disagree on."""
    for into, other in ((home, hut), (hut, home)):
        before = other.read_bytes()
        assert main(["merge", str(other), "--into", str(into)]) == 0
        said = capsys.readouterr().out
        assert "1 of 6 records were new." in said or "1 of 7 records were new." in said
        assert "two devices disagree, 5 or 6 rows done" in said
        assert '"really on row 7"' in said
        assert other.read_bytes() == before
    assert read_journal(home) == read_journal(hut) == in_order([*COMMON, AT_HOME, IN_THE_HUT])


def test_merged_again_nothing_is_new(
    home: Path, hut: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """What was settled stays settled: a second merge adds nothing and names no disagreement."""
    main(["merge", str(hut), "--into", str(home)])
    with SqliteJournal.open(home) as journal:
        journal.append([record(Recounted(6), journal.records())])
    capsys.readouterr()
    assert main(["merge", str(hut), "--into", str(home)]) == 0
    assert capsys.readouterr().out == f'"{hut}": 0 of 6 records were new.\n'
    assert fold(read_journal(home)).done == 6


def test_a_gap_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Records whose past is not there are kept, and it is said that something is missing."""
    late = _journal(tmp_path / "late.walesong", COMMON[3:])
    into = tmp_path / "new.walesong"
    assert main(["merge", str(late), "--into", str(into)]) == 0
    assert "1 that others came after are still missing" in capsys.readouterr().out
    assert read_journal(into) == tuple(COMMON[3:])


def test_a_line_that_cannot_be_read_is_pointed_at(
    home: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A cut line is named by its number, by merge and by replay; every other line counts."""
    copy = tmp_path / "copy.jsonl"
    main(["backup", str(home), "--to", str(copy)])
    lines = copy.read_bytes().splitlines(keepends=True)
    copy.write_bytes(b"".join([*lines[:2], lines[2][:50] + b"\n", *lines[3:]]))
    for words in (
        ["merge", str(copy), "--into", str(tmp_path / "n.walesong")],
        ["replay", str(copy)],
    ):
        capsys.readouterr()
        assert main(words) == 0
        said = capsys.readouterr()
        assert said.err.startswith(f"walesong {words[0]}: {copy}: Line 3: It is cut off")
    assert len(read_journal(tmp_path / "n.walesong")) == 5


def test_wrong_files_change_nothing(
    home: Path, hut: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A wrong name among several, a letter, itself as its backup: a sentence, all as it was."""
    letter = tmp_path / "letter.txt"
    letter.write_text("Dear hut crew,")
    before = {file: file.read_bytes() for file in tmp_path.iterdir()}
    for words in (
        ["merge", str(hut), str(letter), "--into", str(home)],
        ["merge", str(tmp_path / "none.walesong"), "--into", str(home)],
        ["backup", str(tmp_path / "none.walesong"), "--to", str(tmp_path / "copy.walesong")],
        ["backup", str(letter), "--to", str(tmp_path / "copy.walesong")],
        ["backup", str(home), "--to", str(home)],
        ["backup", str(home), "--to", str(letter)],
        ["backup", str(home), "--to", str(tmp_path / "no folder" / "copy.jsonl")],
    ):
        assert main(words) == 4, words
        said = capsys.readouterr()
        assert said.out == ""
        assert said.err.startswith(f"walesong {words[0]}: ")
        assert said.err.count("\n") == 1
    assert {file: file.read_bytes() for file in tmp_path.iterdir()} == before


@pytest.mark.parametrize("name", ["copy.walesong", "copy.jsonl"])
def test_a_backup_is_not_replaced_by_a_slip(
    home: Path, name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Without --replace an older backup stays; with it what only that one held is kept beside."""
    big = _journal(tmp_path / "big.walesong", knitted(40))
    copy = tmp_path / name
    assert main(["backup", str(big), "--to", str(copy)]) == 0
    before = copy.read_bytes()
    capsys.readouterr()
    assert main(["backup", str(home), "--to", str(copy)]) == 4
    assert "--replace" in capsys.readouterr().err
    assert copy.read_bytes() == before
    assert main(["backup", str(home), "--to", str(copy), "--replace"]) == 0
    assert f'What was there held more; it is kept as "{tmp_path}' in capsys.readouterr().out
    assert read_journal(copy) == read_journal(home)
    kept = tmp_path / name.replace("copy", "copy.before-1")
    assert read_journal(kept) == tuple(knitted(40))


def test_a_log_that_was_left_is_not_played_into_the_copy(home: Path, tmp_path: Path) -> None:
    """A copy to where a killed Walesong left its log reads back as the copy, all of it."""
    copy = tmp_path / "copy.walesong"
    killed = tmp_path / "killed.walesong"
    with SqliteJournal.open(killed) as journal:
        journal.append(knitted(70))
        for suffix in ("", "-wal"):
            shutil.copy(beside(killed, suffix), beside(copy, suffix))
    assert main(["backup", str(home), "--to", str(copy)]) == 4
    assert main(["backup", str(home), "--to", str(copy), "--replace"]) == 0
    assert read_journal(copy) == read_journal(home)
    assert not beside(copy, "-wal").exists()
    assert read_journal(tmp_path / "copy.before-1.walesong") == tuple(knitted(70))


def test_a_log_without_its_file_is_not_played_either(home: Path, tmp_path: Path) -> None:
    """The same where only the log is left of what was there."""
    copy = tmp_path / "copy.walesong"
    with SqliteJournal.open(tmp_path / "killed.walesong") as journal:
        journal.append(knitted(70))
        shutil.copy(beside(journal.path, "-wal"), beside(copy, "-wal"))
    assert main(["backup", str(home), "--to", str(copy)]) == 4
    assert main(["backup", str(home), "--to", str(copy), "--replace"]) == 0
    assert read_journal(copy) == read_journal(home)
    assert beside(tmp_path / "copy.before-1.walesong", "-wal").stat().st_size > 0


def test_hostile_lines_are_set_aside_and_the_rest_can_be_asked(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Lines of nonsense are named one by one, and what was taken in of others is still knitted."""
    nonsense = [
        record(PieceBegun("P", "P", None, None, 10**12, Length(Fraction(0), LengthUnit.M), 12)),
        record(
            PartnerNamed("\n\n", "\N{BALL OF YARN}", 50, finished=True, mirrored=True), wall="\0"
        ),
        record(RippedBack(27, lifeline=True), wall="2026-13-45"),
        record(LoopEnded("body", 57), wall="garbage"),
        record(
            Measured(
                0,
                Length(Fraction(10**8), LengthUnit.YD),
                Since.MARKER,
                9,
                Fabric.WASHED,
                assumed=False,
            )
        ),
        record(RowsWorked("", 10**15, 10**15 + 1)),
    ]
    hostile = tmp_path / "hostile.jsonl"
    lines = [*to_lines([*nonsense, *knitted(2)]), b'{"a":' * 9_000 + b"\n", b"[" + b"0," * 9_000]
    hostile.write_bytes(b"".join(lines))
    into = tmp_path / "own.walesong"
    assert main(["merge", str(hostile), "--into", str(into)]) == 0
    told = capsys.readouterr().err.splitlines()
    assert sum(": Line " in one for one in told) == 2
    assert sum(": Record " in one for one in told) == 3
    with SqliteJournal.open(into) as journal:
        talk = Conversation(journal, knitted(0)[0].piece, SetClock())
        assert talk.greet()
        asked = [understand(words, language.phrase_book()) for words in ASKED]
        for meant in filter(None, asked):
            talk.hear(meant, Source.TYPED)
            assert not talk.fault
