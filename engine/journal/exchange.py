"""
Journals as lines of JSON, and two journals brought together.

The lines are JSON Lines (https://jsonlines.org): UTF-8, one record a line, in front a line that
says what they are; `shared/journal.schema.json` describes both. Order and repetition mean nothing,
so two files may simply be joined end to end. A line that cannot be read is pointed at by its
number, and every other line still counts.
"""

from __future__ import annotations

import json
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, BinaryIO, Final, NoReturn

from engine.journal.errors import DiskError, NameTakenError, NotAJournalError
from engine.journal.on_disk import holds_something, keep_beside, replacing
from engine.journal.sqlite_errors import speaking
from engine.limits import (
    DEEPEST_NESTING,
    LONGEST_RECORD,
    MOST_DIGITS_IN_RECORD,
    MOST_LINES_TOLD,
    MOST_RECORD_LINES,
    MOST_VALUES_IN_RECORD,
)
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
    def left_out(self) -> tuple[str, ...]:
        """What is told of the lines left out: of the first by number and reason, then how many."""
        told = [str(bad) for bad in self.bad_lines[:MOST_LINES_TOLD]]
        more = len(self.bad_lines) - len(told)
        return (*told, f"{more:,} more lines were left out.") if more > 0 else (*told,)

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
        if number > MOST_RECORD_LINES:
            why = f"Only {MOST_RECORD_LINES:,} lines are read, none from here on."
            bad_lines.append(BadLine(number, why))
            break
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


_QUOTED: Final = re.compile(rb'"(?:[^"\\]++|\\.)*+"?', re.DOTALL)
_BRACKET: Final = re.compile(rb"[\[{\]}]")


def _values(line: bytes) -> Json:
    _look_at(line)
    try:
        return _JSON.decode(line.decode().strip())
    except UnicodeDecodeError as error:
        raise PayloadError("It is damaged: it is not text in UTF-8.") from error
    except PayloadError:
        raise
    except (ValueError, RecursionError) as error:
        raise PayloadError("It is cut off or damaged: it is not one value of JSON.") from error


def _look_at(line: bytes) -> None:
    """Raise PayloadError where a line is longer, fuller or deeper than a record can be."""
    if len(line) > LONGEST_RECORD:
        raise PayloadError(f"It has more than {LONGEST_RECORD:,} bytes.")
    bare = _QUOTED.sub(b"", line)  # what stands in quotes is one value
    if sum(bare.count(sign) for sign in (b",", b"[", b"{", b"]", b"}")) > MOST_VALUES_IN_RECORD:
        raise PayloadError(f"It has more than {MOST_VALUES_IN_RECORD:,} values.")
    depth = 0
    for bracket in _BRACKET.findall(bare):
        depth += 1 if bracket in b"[{" else -1
        if depth > DEEPEST_NESTING:
            raise PayloadError(f"It is nested more than {DEEPEST_NESTING} deep.")


def _integer(digits: str) -> int:
    if len(digits.lstrip("-")) > MOST_DIGITS_IN_RECORD:
        raise PayloadError(f"A number has more than {MOST_DIGITS_IN_RECORD} digits.")
    return int(digits)


def _no_number(text: str) -> NoReturn:
    raise PayloadError(f'"{text[:20]}" is no number of a record: they are whole.')


_JSON: Final = json.JSONDecoder(
    parse_int=_integer, parse_float=_no_number, parse_constant=_no_number
)


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
        if to.exists() and not (to.is_file() or to.is_dir()):
            raise NotAJournalError(f'"{to}" is a device or a pipe.')
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


def _bounded(file: BinaryIO) -> Iterator[bytes]:
    """Return the lines of a file; of one that is too long, as much as shows that it is."""
    whole = True
    while line := file.readline(LONGEST_RECORD + 1):
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
