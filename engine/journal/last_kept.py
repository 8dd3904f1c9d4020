"""
What was acknowledged last, noted in a small file beside the journal.

A log that was cut off looks whole to SQLite: what is gone leaves no trace in it. So after every
commit the number of records and the name of the last one are noted beside. The journal comes first
and is synced, the note after it and is not: a note that a power failure took is an older one, and
says too little, never too much. Writing it costs a few microseconds.
"""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass
from hashlib import sha256
from typing import TYPE_CHECKING, BinaryIO, Final

from engine.journal.journal import Gap
from engine.journal.on_disk import LAST, beside

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from engine.journal.journal import Tally
    from engine.records import Record

_BYTES: Final = 512
"""One sector: it is written whole or not at all; the sum in front tells a torn one anyway."""
_SUM: Final = 16


@dataclass(frozen=True, slots=True)
class LastKept:
    """How many records there were when the one with this `id` was acknowledged, and when."""

    records: int
    piece: str
    lamport: int
    id: str
    wall: str


class LastKeptFile:
    """The note beside the journal `path`; where it cannot be written the journal goes on."""

    def __init__(self, path: Path) -> None:
        """Name the file; it is opened at the first note."""
        self._path = beside(path, LAST)
        self._file: BinaryIO | None = None

    def note(self, records: int, last: Record) -> None:
        """Note the record that is on the disk now as the last of so many."""
        line = _line(records, last)
        if len(line) > _BYTES:
            return
        with suppress(OSError):
            if self._file is None:
                self._path.touch()
                self._file = self._path.open("r+b", buffering=0)
            self._file.seek(0)
            self._file.write(line.ljust(_BYTES))

    def close(self) -> None:
        """Let go of the file."""
        if self._file is not None:
            with suppress(OSError):
                self._file.close()
            self._file = None


def last_kept(path: Path) -> LastKept | None:
    """Return what is noted beside the journal `path`; None if nothing is, or it is torn."""
    try:
        content = beside(path, LAST).read_bytes()[:_BYTES].rstrip()
        if sha256(content[_SUM:]).hexdigest()[:_SUM].encode() != content[:_SUM]:
            return None
        records, lamport, name, wall, piece = content[_SUM:].decode().split(" ", 4)
        return LastKept(int(records), piece, int(lamport), name, wall)
    except (OSError, ValueError):
        return None


def _line(records: int, last: Record) -> bytes:
    wall = last.wall.replace(" ", "_")
    content = f"{records} {last.lamport} {last.id} {wall} {last.piece}".encode()
    return sha256(content).hexdigest()[:_SUM].encode() + content


def gap(noted: LastKept | None, tallies: Mapping[str, Tally], *, last_is_there: bool) -> Gap | None:
    """Return what the journal lacks of what was noted beside it; None if nothing."""
    there = sum(tally.count for tally in tallies.values())
    if noted is None or (last_is_there and there >= noted.records):
        return None
    since = max((tally.wall for tally in tallies.values() if tally.wall <= noted.wall), default="")
    return Gap(max(noted.records - there, 1), since, noted.wall)
