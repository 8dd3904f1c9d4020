"""`walesong restore`: a backup or dated copy back in place, nothing of the old one lost."""

from __future__ import annotations

import shutil
from typing import TYPE_CHECKING

import pytest

from app.command_line import main
from app.pieces.journal_files import read_journal
from app.session.clock import SetClock
from app.session.dated_copies import begin_copy
from engine.journal.copying import dated_copy
from engine.journal.on_disk import COPIES, LAST, beside, dated_copies
from engine.journal.sqlite import SqliteJournal
from tests.made_up import CAP, knitted

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from engine.records import Record


def _journal(path: Path, records: Iterable[Record]) -> Path:
    with SqliteJournal.open(path) as journal:
        journal.append(tuple(records))
    return path


@pytest.fixture
def own(tmp_path: Path) -> Path:
    """Return a journal of forty rows with a dated copy of its first thirty."""
    path = _journal(tmp_path / "hut.walesong", knitted(30))
    assert dated_copy(path, "2026-01-10") is not None
    return _journal(path, knitted(40))


def _damage(path: Path) -> None:
    content = bytearray(path.read_bytes())
    content[4096:] = bytes(len(content) - 4096)
    path.write_bytes(content)


def test_the_newest_dated_copy_takes_the_place_of_a_damaged_journal(
    own: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The damage's sentence names the copy; one command puts it back, the damaged one stays."""
    _damage(own)
    damaged = own.read_bytes()
    assert main(["replay", str(own)]) == 4
    assert '"walesong restore" puts the copy of 2026-01-10 in place' in capsys.readouterr().err
    assert main(["restore", "--into", str(own)]) == 0
    said = capsys.readouterr().out
    kept = own.with_name("hut.before-1.walesong")
    assert f'holds the 31 records of "{dated_copies(own)[0]}" now' in said
    assert f'kept as "{kept}"' in said
    assert read_journal(own) == tuple(knitted(30))
    assert kept.read_bytes() == damaged


@pytest.mark.parametrize("empty", [False, True])
def test_where_the_journal_is_gone_its_copy_is_offered_and_nothing_begun(
    own: Path, capsys: pytest.CaptureFixture[str], *, empty: bool
) -> None:
    """A journal that was there and is not any more is not begun anew over the head of its copy."""
    own.write_bytes(b"") if empty else own.unlink()
    assert main(["knit", "--typed", "/dev/null", "--silent", "--journal", str(own)]) == 4
    said = capsys.readouterr().err
    assert f'The journal "{own}" is gone' in said
    assert '"walesong restore" puts the copy of 2026-01-10 in place' in said
    assert main(["restore", "--into", str(own)]) == 0
    assert read_journal(own) == tuple(knitted(30))
    own.unlink()
    shutil.rmtree(beside(own, COPIES))
    with SqliteJournal.open(own) as journal:  # as the sentence says: to begin anew
        assert journal.records() == ()


def test_a_whole_journal_is_not_set_back_by_itself(
    own: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Without a name nothing that only the whole journal holds is given up."""
    assert main(["restore", "--into", str(own)]) == 1
    assert "holds 10 records more than the copy of 2026-01-10" in capsys.readouterr().err
    assert read_journal(own) == tuple(knitted(40))


def test_a_named_backup_is_restored_and_the_present_journal_kept(
    own: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Restored from either kind of backup; what only the present one held comes back by merging."""
    lines = tmp_path / "copy.jsonl"
    main(["backup", str(dated_copies(own)[0]), "--to", str(lines)])
    for number, backup in enumerate((dated_copies(own)[0], lines), 1):
        assert main(["restore", str(backup), "--into", str(own)]) == 0
        assert "10 records are only there" in capsys.readouterr().out
        assert read_journal(own) == tuple(knitted(30))
        kept = own.with_name(f"hut.before-{number}.walesong")
        assert main(["merge", str(kept), "--into", str(own)]) == 0
        assert read_journal(own) == tuple(knitted(40))


def test_nobody_else_may_have_it_open(own: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A Walesong that is running is not robbed of its file: one sentence, and all is as it was."""
    copy = dated_copies(own)[0]
    with SqliteJournal.open(own) as journal:
        assert main(["restore", str(copy), "--into", str(own)]) == 4
        assert "Another program has the journal" in capsys.readouterr().err
        assert journal.records() == tuple(knitted(40))
    assert {file.name for file in own.parent.iterdir()} >= {own.name}
    assert not own.with_name("hut.before-1.walesong").exists()


def test_a_damaged_backup_is_not_put_in_place(own: Path, tmp_path: Path) -> None:
    """A backup that is not whole, or is a letter, is refused and the journal is as it was."""
    bad = _journal(tmp_path / "bad.walesong", knitted(60))
    _damage(bad)
    letter = tmp_path / "letter.txt"
    letter.write_text("Dear hut crew,")
    for wrong in (bad, letter, own, tmp_path / "none.walesong"):
        assert main(["restore", str(wrong), "--into", str(own)]) == 4
    assert read_journal(own) == tuple(knitted(40))


def test_where_nothing_was_copied_it_says_so(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Without a dated copy the command asks for a backup's name."""
    assert main(["restore", "--into", str(tmp_path / "new.walesong")]) == 1
    assert "There is no dated copy" in capsys.readouterr().err


# --- the dated copies ----------------------------------------------------------------------------


def test_a_copy_a_day(own: Path) -> None:
    """A second copy of one day is not made, and none under what is no date."""
    assert dated_copy(own, "2026-01-10") is None
    assert dated_copy(own, "..") is None
    assert dated_copy(own, "2026-01-11") is not None
    assert [copy.stem for copy in dated_copies(own)] == ["2026-01-11", "2026-01-10"]
    assert read_journal(dated_copies(own)[0]) == tuple(knitted(40))


def test_copies_are_kept_in_rotation_and_the_largest_stays(tmp_path: Path) -> None:
    """After a fortnight the seven newest are there, and the one that held far more than these."""
    path = _journal(tmp_path / "hut.walesong", [*knitted(300), *knitted(300, CAP)])
    assert dated_copy(path, "2026-01-01") is not None
    path.unlink()
    beside(path, LAST).unlink()  # so that it is not known to be gone
    _journal(path, knitted(3))
    for day in range(2, 16):
        assert dated_copy(path, f"2026-01-{day:02}") is not None
    names = [copy.stem for copy in dated_copies(path)]
    assert names == [*(f"2026-01-{day:02}" for day in range(15, 8, -1)), "2026-01-01"]


def test_what_a_killed_copy_left_goes_with_the_next(own: Path) -> None:
    """A copy that was half made is never taken for one, and is cleared away."""
    folder = dated_copies(own)[0].parent
    (folder / "2026-01-12.walesong-part").write_bytes(b"half")
    assert [copy.stem for copy in dated_copies(own)] == ["2026-01-10"]
    dated_copy(own, "2026-01-13")
    assert [file.name for file in sorted(folder.iterdir())] == [
        "2026-01-10.walesong",
        "2026-01-13.walesong",
    ]


def test_it_is_made_while_the_journal_is_in_use(own: Path) -> None:
    """The copy holds what is only in the log so far, and whoever writes need not wait for it."""
    with SqliteJournal.open(own) as journal:
        journal.append(knitted(50))
        thread = begin_copy(own, SetClock(date="2026-02-01T18:00:00Z"))
        journal.append(knitted(51))
        thread.join()
    copy = beside(own, "-copies") / "2026-02-01.walesong"
    assert set(knitted(50)) <= set(read_journal(copy))


def test_no_copy_takes_the_last_room(own: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where little room is left it is kept for the rows to come."""
    usage = shutil.disk_usage(own.parent)._replace(free=9 * own.stat().st_size)
    monkeypatch.setattr("shutil.disk_usage", lambda _: usage)
    assert dated_copy(own, "2026-01-11") is None
    assert [copy.stem for copy in dated_copies(own)] == ["2026-01-10"]
