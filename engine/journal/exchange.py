"""
Journals as lines of JSON, and two journals brought together.

The lines are JSON Lines (https://jsonlines.org): UTF-8, one record a line, in front a line that
says what they are; `shared/journal.schema.json` describes both. Order and repetition mean nothing,
so two files may simply be joined end to end. A line that cannot be read is pointed at by its
number, and every other line still counts.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import TYPE_CHECKING, BinaryIO, Final

from engine.journal.errors import DiskError, NameTakenError, NotAJournalError
from engine.journal.on_disk import holds_something, keep_beside, replacing
from engine.journal.sqlite_errors import speaking
from engine.payload import PayloadError
from engine.records import SCHEMA, Record, from_json, in_order, missing, to_json
from engine.soundness import sentences, set_aside

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from pathlib import Path

    from engine.journal.journal import Gap, Journal
    from engine.payload import Json

FORMAT_NAME: Final = "walesong journal"
"""What the heading of a file of lines calls it."""


@dataclass(frozen=True, slots=True)
class BadLine:
    """A line (counted from 1) that was left out, and why, in one sentence."""

    number: int
    why: str

    def __str__(self) -> str:
        """Point at the line."""
        return f"Line {self.number}: {self.why}"


@dataclass(frozen=True, slots=True)
class JournalReading:
    """
    What a file holds: records in order, each once, and the lines left out.

    `gap` is what a journal lacks of what was acknowledged.
    """

    records: tuple[Record, ...]
    bad_lines: tuple[BadLine, ...]
    gap: Gap | None = None

    @property
    def missing(self) -> tuple[str, ...]:
        """The ids that records here came after but that are not here."""
        return missing(self.records)


@dataclass(frozen=True, slots=True)
class TakenIn:
    """
    What a journal gained: how many records were new to it and how many it had.

    `missing` are the ids of records that others came after and that it still does not have;
    `refused` says of each record that was not taken in why it cannot be.
    """

    new: int
    known: int
    missing: tuple[str, ...]
    refused: tuple[str, ...] = ()


# --- records and lines ---------------------------------------------------------------------------


def to_lines(records: Iterable[Record]) -> Iterator[bytes]:
    """Return the heading and one line for each record in the one order, each with its line end."""
    yield _line({"format": FORMAT_NAME, "schema": SCHEMA})
    for record in in_order(records):
        yield _line(to_json(record))


def _line(values: Json) -> bytes:
    return json.dumps(values, ensure_ascii=False, separators=(",", ":")).encode() + b"\n"


def from_lines(lines: Iterable[bytes]) -> JournalReading:
    """
    Return what the lines hold; white lines and headings in the middle are passed over.

    Raises NotAJournalError when there is neither a heading nor a single record.
    """
    records: list[Record] = []
    bad_lines: list[BadLine] = []
    headed = False
    for number, line in enumerate(lines, 1):
        text = line.removeprefix(b"\xef\xbb\xbf") if number == 1 else line
        if not text.strip():
            continue
        try:
            values = _values(text)
            if isinstance(values, dict) and values.get("format") == FORMAT_NAME:
                headed = True
            else:
                records.append(from_json(values))
        except PayloadError as error:
            bad_lines.append(BadLine(number, str(error)))
    if not headed and not records:
        raise NotAJournalError("These lines are not a journal.")
    return JournalReading(in_order(records), tuple(bad_lines))


def _values(text: bytes) -> Json:
    try:
        return json.loads(text.decode())
    except UnicodeDecodeError as error:
        raise PayloadError("It is damaged: it is not text in UTF-8.") from error
    except (ValueError, RecursionError) as error:
        raise PayloadError("It is cut off or damaged: it is not one value of JSON.") from error


# --- files ---------------------------------------------------------------------------------------


def write_file(records: Iterable[Record], to: Path, *, replace: bool = False) -> Path | None:
    """
    Write the records as lines, and read them back before the file has its name.

    With `replace` an older file of lines gives way; where it holds anything that the new one does
    not it is kept beside, and its new name returned (else None).
    Raises a `JournalError` when `to` is a file of another kind or is not to be replaced, or when
    the lines could not be written.
    """
    wanted = {record.id: record for record in records}
    kept = None
    with speaking(to):
        if holds_something(to) or to.is_dir():
            with to.open("rb") as old:
                if f'"{FORMAT_NAME}"'.encode() not in old.readline(_HEADING_BYTES):
                    raise NotAJournalError(f'The file "{to}" is something else.')
            if not replace:
                raise NameTakenError(f'There is a file "{to}" already.')
            earlier = read_file(to)
            if earlier.bad_lines or any(one.id not in wanted for one in earlier.records):
                kept = keep_beside(to, "before")
        with replacing(to) as part:
            with part.open("wb") as file:
                file.writelines(to_lines(wanted.values()))
            if {one.id for one in read_file(part).records} != wanted.keys():
                raise DiskError(f'The lines in "{to}" did not read back whole.')
    return kept


_HEADING_BYTES: Final = 200


LONGEST_LINE: Final = 16_000_000
"""More bytes than a record can have: four million letters of a pattern, each escaped."""


def _bounded(file: BinaryIO) -> Iterator[bytes]:
    """Return the lines of a file; of one that is too long, its beginning, which is no JSON."""
    whole = True
    while line := file.readline(LONGEST_LINE):
        if whole:
            yield line
        whole = line.endswith(b"\n")


def read_file(path: Path) -> JournalReading:
    """Return what a file of lines holds; a `JournalError` when it cannot be read or is not one."""
    with speaking(path), path.open("rb") as file:
        try:
            return from_lines(_bounded(file))
        except NotAJournalError as error:
            raise NotAJournalError(f'The file "{path}" is not a journal.') from error


# --- two journals --------------------------------------------------------------------------------


def take_in(journal: Journal, records: Iterable[Record]) -> TakenIn:
    """
    Add to a journal what it does not have, all or none; `JournalError` as from `append`.

    What is beyond all bounds (`engine.soundness`) is not taken in.
    """
    own = journal.records()
    known = {record.id for record in own}
    offered = in_order(records)
    aside = set_aside(in_order(own, offered))
    new = [record for record in offered if record.id not in known and record.id not in aside]
    refused = [record for record in offered if record.id in aside and record.id not in known]
    journal.append(new, brought=True)
    return TakenIn(
        len(new),
        len(offered) - len(new) - len(refused),
        missing((*own, *new)),
        sentences(refused, aside),
    )
