"""Disks that are full, read-only or forbidden: one sentence, and nothing is lost."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from engine.journal.errors import DiskError, DiskFullError, ReadOnlyJournalError
from engine.journal.exchange import write_file
from engine.journal.sqlite import SqliteJournal
from tests.durability.kills import ROOT, last_row
from tests.made_up import CAP, knitted

if TYPE_CHECKING:
    from collections.abc import Iterator

if sys.platform == "win32":
    pytest.skip("these disks are made with the means of POSIX systems", allow_module_level=True)

import resource

NOBODY = 65534

# --- full ----------------------------------------------------------------------------------------


@contextmanager
def _no_file_longer_than(size: int) -> Iterator[None]:
    """Have the system refuse to let any file of this process grow beyond `size` bytes."""
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))


def test_no_room_for_the_log(tmp_path: Path) -> None:
    """When the log may not grow, nothing of the batch is kept and the journal goes on later."""
    path = tmp_path / "full.walesong"
    with SqliteJournal.open(path) as journal:
        journal.append(knitted(3))
        with (
            _no_file_longer_than(60_000),
            pytest.raises((DiskFullError, DiskError)) as refused,
        ):
            journal.append(knitted(1000, CAP))
        assert str(refused.value).count(". ") == 1
        assert journal.records() == tuple(knitted(3))
        journal.append(knitted(10, CAP))
    with SqliteJournal.open(path) as journal:
        assert set(journal.records()) == {*knitted(3), *knitted(10, CAP)}


@pytest.mark.parametrize("what", ["backup", "lines"])
def test_no_room_for_a_copy(tmp_path: Path, what: str) -> None:
    """A copy that does not fit is taken away again, and the one before it stays."""
    copy = tmp_path / "copy"
    with SqliteJournal.open(tmp_path / "full.walesong") as journal:
        journal.append(knitted(3))
        _copy(journal, copy, what)
        before = copy.read_bytes()
        journal.append(knitted(200))
        with (
            _no_file_longer_than(50_000),
            pytest.raises((DiskFullError, DiskError)),
        ):
            _copy(journal, copy, what)
        assert copy.read_bytes() == before
        assert not list(tmp_path.glob("*-part*"))
        assert journal.records() == tuple(knitted(200))


def _copy(journal: SqliteJournal, copy: Path, what: str) -> None:
    if what == "backup":
        journal.backup(copy, replace=True)
    else:
        write_file(journal.records(), copy, replace=True)


@pytest.fixture
def own_disk(tmp_path: Path) -> list[str]:
    """Return the command in front of another that gives it a small disk of its own in `tmp_path`.

    It exists only for that command, in a namespace of its own, so nothing is left behind.
    """
    if shutil.which("unshare") is None:
        pytest.skip("this system has no unshare")
    prefix = ["unshare", "--user", "--map-root-user", "--mount", "sh", "-c"]
    trial = subprocess.run(
        [*prefix, 'mount -t tmpfs -o size=400k tmpfs "$0"', str(tmp_path)],
        check=False,
        capture_output=True,
    )
    if trial.returncode != 0:
        pytest.skip("this system does not let a user mount a disk of memory")
    return prefix


def test_a_real_disk_that_is_full(tmp_path: Path, own_disk: list[str]) -> None:
    """On a full disk a command is refused, and after room is made the same journal goes on."""
    script = """
    mount -t tmpfs -o size=400k tmpfs "$0" && head -c 150k /dev/zero > "$0/ballast" || exit 77
    exec "$1" -c '
import subprocess, sys
from pathlib import Path
from tests.durability.kills import check, last_row, start
disk = Path(sys.argv[1])
path = disk / "full.walesong"
with start(path, "sleeve", "900") as knitter:
    said = full = ""
    while not full.startswith("full"):
        said += full
        full = knitter.stdout.readline()
        assert full, said
    print(full.strip())
    before = last_row(said)
    (disk / "ballast").unlink()
    knitter.stdin.write(chr(10))
    knitter.stdin.flush()
    after = knitter.stdout.readline()
    assert after.startswith("row"), after
    knitter.kill()
    rest = after + knitter.stdout.read()
print(before, last_row(rest))
check(path, {"sleeve": last_row(rest)})
' "$0"
    """
    done = subprocess.run(
        [*own_disk, script, str(tmp_path), sys.executable],
        cwd=ROOT,
        check=False,
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stderr
    sentence, rows = done.stdout.splitlines()
    assert "no room left" in sentence
    assert "Free some space" in sentence
    before, after = map(int, rows.split())
    assert 10 < before < after


# --- read-only -----------------------------------------------------------------------------------


@contextmanager
def _as_nobody() -> Iterator[None]:
    """Do without the rights of root, for whom no folder is read-only."""
    if os.geteuid() != 0:
        yield
        return
    os.setegid(NOBODY)
    os.seteuid(NOBODY)
    try:
        yield
    finally:
        os.seteuid(0)
        os.setegid(0)


@pytest.fixture
def folder() -> Iterator[Path]:
    """Return a folder that everybody may reach (pytest's own is closed to others)."""
    with tempfile.TemporaryDirectory() as name:
        made = Path(name)
        made.chmod(0o777)
        yield made
        made.chmod(0o777)


def test_a_read_only_folder(folder: Path) -> None:
    """A journal can neither be begun nor gone on with there, but it can be read."""
    path = folder / "hut.walesong"
    with SqliteJournal.open(path) as journal:
        journal.append(knitted(3))
    path.chmod(0o444)
    folder.chmod(0o555)
    before = path.read_bytes()
    names = {file.name for file in folder.iterdir()}
    with _as_nobody():
        for wanted in (path, folder / "new.walesong"):
            with pytest.raises(ReadOnlyJournalError, match="Allow writing there"):
                SqliteJournal.open(wanted)
        with SqliteJournal.open_to_read(path) as journal:
            assert journal.records() == tuple(knitted(3))
    assert path.read_bytes() == before
    assert {file.name for file in folder.iterdir()} == names


def test_a_read_only_file(folder: Path) -> None:
    """A journal whose file alone is read-only is refused when it is opened, not rows later."""
    path = folder / "hut.walesong"
    with SqliteJournal.open(path) as journal:
        journal.append(knitted(3))
    path.chmod(0o444)
    with _as_nobody(), pytest.raises(ReadOnlyJournalError):
        SqliteJournal.open(path)
    with _as_nobody(), SqliteJournal.open_to_read(path) as journal:
        assert journal.records() == tuple(knitted(3))


def test_a_file_that_may_not_be_read(folder: Path) -> None:
    """A journal that belongs to somebody else is refused with a sentence."""
    path = folder / "hut.walesong"
    with SqliteJournal.open(path) as journal:
        journal.append(knitted(3))
    path.chmod(0)
    with _as_nobody(), pytest.raises(ReadOnlyJournalError, match="may not be used"):
        SqliteJournal.open(path)


def test_a_killed_journal_in_a_read_only_folder(folder: Path) -> None:
    """Where its log cannot be played, a journal is not shown without its last rows."""
    path = folder / "hut.walesong"
    with SqliteJournal.open(path) as journal:
        journal.append(knitted(3))
        killed = folder / "killed.walesong"
        for suffix in ("", "-wal"):
            shutil.copy(f"{path}{suffix}", f"{killed}{suffix}")
    folder.chmod(0o555)
    with _as_nobody(), pytest.raises(ReadOnlyJournalError, match="read-only"):
        SqliteJournal.open_to_read(killed)


def test_a_read_only_disk(tmp_path: Path, own_disk: list[str]) -> None:
    """On a disk that is mounted read-only the same holds, for root too."""
    script = """
    mount -t tmpfs tmpfs "$0" || exit 77
    "$1" -m tests.durability.knitter "$0/hut.walesong" sleeve 5
    mount -o remount,bind,ro "$0" || exit 78
    "$1" -m tests.durability.knitter "$0/hut.walesong" sleeve 5
    "$1" -m tests.durability.knitter "$0/new.walesong" sleeve 5
    "$1" -c '
import sys
from pathlib import Path
from engine.journal.sqlite import SqliteJournal
with SqliteJournal.open_to_read(Path(sys.argv[1])) as journal:
    print("rows read", len(journal.records()))
' "$0/hut.walesong"
    """
    done = subprocess.run(
        [*own_disk, script, str(tmp_path), sys.executable],
        cwd=ROOT,
        check=False,
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stderr
    *written, refused, refused_new, read = done.stdout.splitlines()
    for sentence in (refused, refused_new):
        assert sentence.startswith("refused: ")
        assert "Allow writing there" in sentence
    assert read == f"rows read {last_row(done.stdout)}"
    assert len(written) == 6
