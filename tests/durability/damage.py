"""One trial each of damage to a journal: the quick tests do some, the long loop does thousands."""

from __future__ import annotations

import shutil
from typing import TYPE_CHECKING

from engine.events import PatternKept, RowNoted
from engine.journal.carving import carved
from engine.journal.errors import DamagedJournalError, JournalError, NewerJournalError
from engine.journal.on_disk import beside
from engine.journal.salvage import mend
from engine.journal.sqlite import SqliteJournal
from tests.made_up import knitted, record

if TYPE_CHECKING:
    from pathlib import Path
    from random import Random

    from engine.records import Record


def work(rows: int) -> list[Record]:
    """Return a piece with a pattern text longer than a page, rows, and notes."""
    records = knitted(rows)
    records.append(record(PatternKept("0" * 64, "k2, p2 to end\n" * 700), records))
    records.append(record(RowNoted(3, "note", "the lantern's edge"), records))
    return records


def journal_of(records: list[Record], folder: Path) -> Path:
    """Return a closed journal of the records, in one file."""
    path = folder / "whole.walesong"
    with SqliteJournal.open(path) as journal:
        journal.append(records[: len(records) // 2])
        for one in records[len(records) // 2 :]:
            journal.append([one])
    return path


def killed_journal_of(records: list[Record], folder: Path) -> Path:
    """Return a journal as a kill leaves it: the last third is only in the log, one by one."""
    path, in_file = folder / "killed.walesong", len(records) * 2 // 3
    with SqliteJournal.open(folder / "running.walesong") as journal:
        journal.append(records[:in_file])
    with SqliteJournal.open(folder / "running.walesong") as journal:
        for one in records[in_file:]:
            journal.append([one])
        for suffix in ("", "-wal"):
            shutil.copy(beside(journal.path, suffix), beside(path, suffix))
    return path


def cut(file: Path, dice: Random) -> None:
    """Cut the file off at any length."""
    with file.open("r+b") as opened:
        opened.truncate(dice.randrange(file.stat().st_size))


def flip(file: Path, dice: Random) -> None:
    """Turn over one bit, or a few."""
    content = bytearray(file.read_bytes())
    for _ in range(dice.choice([1, 1, 1, 8])):
        content[dice.randrange(len(content))] ^= 1 << dice.randrange(8)
    file.write_bytes(content)


def opened_after(path: Path, damaged: Path, dice: Random, records: list[Record]) -> str:
    """
    Damage a copy of the journal, open it, and if it is refused mend it; say what came of it.

    `damaged` is which of its files. Asserts that nothing wrong is ever read: an opened journal
    holds an exact prefix of what was written, a refused one is left as it was, and a mended one
    holds only records that were written, with the damaged file kept beside.
    """
    suffix = damaged.name.removeprefix(path.name)
    folder = path.parent / "trial"
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir()
    copy = folder / path.name
    for other in ("", "-wal"):
        if beside(path, other).exists():
            shutil.copy(beside(path, other), beside(copy, other))
    dice.choice([cut, flip])(beside(copy, suffix), dice)
    before = {file.name: file.read_bytes() for file in folder.iterdir()}
    refusal: JournalError | None = None
    found: tuple[Record, ...] = ()
    try:
        with SqliteJournal.open(copy) as journal:
            found = journal.records()
    except JournalError as error:
        refusal = error
    if refusal is not None:
        after = {file.name: file.read_bytes() for file in folder.iterdir()}
        after.pop(f"{copy.name}-shm", None)
        assert after == before, f"refused but changed: {refusal!r}"
        return _mended(copy, before, refusal, records)
    assert found == tuple(records[: len(found)]), "not a prefix of what was written"
    return "whole" if len(found) == len(records) else "a prefix"


def _mended(
    copy: Path, before: dict[str, bytes], refusal: JournalError, records: list[Record]
) -> str:
    if not isinstance(refusal, DamagedJournalError):
        # Not a single record is to be found in it any more, or its format seems to be newer.
        left = [*carved(copy), *carved(beside(copy, "-wal"))]
        assert not left or isinstance(refusal, NewerJournalError)
        return f"refused ({type(refusal).__name__})"
    mended = mend(copy)
    for name, content in before.items():
        kept = mended.kept.with_name(name.replace(copy.name, mended.kept.name))
        assert kept.read_bytes() == content, "the damaged file was not kept as it was"
    with SqliteJournal.open(copy) as journal:
        found = journal.records()
        assert set(found) <= set(records), "a record that was never written"
        assert len(found) == mended.saved
        if lost := set(records) - set(found):
            followed = {before for one in found for before in one.after}
            assert set(mended.missing) == followed & {one.id for one in lost}
        journal.append(records)
        assert journal.records() == tuple(records)
    return "mended whole" if mended.saved == len(records) else "mended in part"
