"""
The envelope in which an event is kept: who wrote it, when, after what, under what name.

A record's `id` is the SHA-256 of the canonical JSON of everything else in it, so the same record
has the same name on every device and a changed one gives itself away. `after` names the records
that its writer knew as the newest, and `lamport` is one more than the largest among them: sorting
by (lamport, id) therefore never puts a record before one that it came after. (L. Lamport, Comm.
ACM 21 (1978) 558-565.)
"""

from __future__ import annotations

import hashlib
import json
import re
import secrets
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

from engine.commands import Source
from engine.payload import Json, PayloadError, from_payload, to_payload

if TYPE_CHECKING:
    from collections.abc import Iterable

    from engine.events import Event

SCHEMA: Final = 5
"""
The newest version of the envelope and of the kinds of events in it.

It rises when a kind is added; a kind never changes. A record keeps the version it was written
with, because that is part of the content it is named by.
"""

LARGEST_NUMBER: Final = 2**53 - 1
"""What every reader of JSON can hold exactly (RFC 7493, section 2.2)."""


@dataclass(frozen=True, slots=True)
class Record:
    """
    One event with its circumstances.

    `group` ties together what one command wrote; undo names it. `wall` (ISO 8601, UTC) is for
    display only; pace comes from `monotonic_ms`, which is comparable only within one `writer` (a
    random name per process start).
    """

    after: tuple[str, ...]
    lamport: int
    writer: str
    piece: str
    group: str
    wall: str
    monotonic_ms: int
    source: Source
    event: Event
    schema: int = SCHEMA
    id: str = field(init=False)

    def __post_init__(self) -> None:
        """Name the record by its content."""
        object.__setattr__(self, "after", tuple(sorted(self.after)))
        object.__setattr__(self, "id", hashlib.sha256(canonical(self)).hexdigest())

    @property
    def order(self) -> tuple[int, str]:
        """The key that puts records in one order on every device."""
        return self.lamport, self.id


def canonical(record: Record) -> bytes:
    """
    Return the bytes whose SHA-256 is the record's id: everything in it but the id, as JSON.

    Keys are sorted and there is no white space, as RFC 8785 (JSON Canonicalization Scheme) has it.
    """
    text = json.dumps(_content(record), sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    return text.encode()


def _content(record: Record) -> dict[str, Json]:
    return {
        "schema": record.schema,
        "after": list(record.after),
        "lamport": record.lamport,
        "writer": record.writer,
        "piece": record.piece,
        "group": record.group,
        "wall": record.wall,
        "monotonic_ms": record.monotonic_ms,
        "source": record.source.value,
        "kind": record.event.kind,
        "payload": to_payload(record.event),
    }


def to_json(record: Record) -> dict[str, Json]:
    """Return the record as JSON values, `id` first."""
    return {"id": record.id, **_content(record)}


_SHAPE: Final = {
    "id": str,
    "schema": int,
    "after": list,
    "lamport": int,
    "writer": str,
    "piece": str,
    "group": str,
    "wall": str,
    "monotonic_ms": int,
    "source": str,
    "kind": str,
    "payload": dict,
}
_ID: Final = re.compile(r"[0-9a-f]{64}", re.ASCII)


class NewerSchemaError(PayloadError):
    """The record was written by a newer Walesong."""


def from_json(values: Json) -> Record:
    """
    Return the record that `to_json` wrote.

    Raises:
        NewerSchemaError: it was written by a later version of Walesong.
        PayloadError: it is not a record, or its content no longer matches its id.

    """
    if not isinstance(values, dict):
        message = "A journal record must be an object."
        raise PayloadError(message)
    schema = values.get("schema")
    if isinstance(schema, int) and schema > SCHEMA:
        message = (
            f"This was written by a newer Walesong (schema {schema}, this one reads {SCHEMA})."
        )
        raise NewerSchemaError(message)
    if not _well_formed(values):
        message = "A journal record is incomplete or has a field of the wrong kind."
        raise PayloadError(message)
    try:
        record = Record(
            after=tuple(values["after"]),
            lamport=values["lamport"],
            writer=values["writer"],
            piece=values["piece"],
            group=values["group"],
            wall=values["wall"],
            monotonic_ms=values["monotonic_ms"],
            source=Source(values["source"]),
            event=from_payload(values["kind"], values["payload"]),
            schema=values["schema"],
        )
    except ValueError as error:
        if isinstance(error, PayloadError):
            raise
        message = f"A journal record is damaged ({error})."
        raise PayloadError(message) from error
    if record.id != values["id"]:
        message = "A journal record does not match its own name: it was changed or damaged."
        raise PayloadError(message)
    return record


def _well_formed(values: dict[str, Json]) -> bool:
    return (
        values.keys() == _SHAPE.keys()
        and all(type(values[name]) is shape for name, shape in _SHAPE.items())
        and all(isinstance(before, str) and _ID.fullmatch(before) for before in values["after"])
        and all(0 <= values[name] <= LARGEST_NUMBER for name in ("lamport", "monotonic_ms"))
        and values["schema"] >= 1
    )


def new_name() -> str:
    """Return a random name for a writer, a piece or a group (128 bits, hex)."""
    return secrets.token_hex(16)


def in_order(*histories: Iterable[Record]) -> tuple[Record, ...]:
    """
    Return the records of all the histories, each once: by Lamport number, then by id.

    It is the same order on every device, whatever came there first.
    """
    together = {record.id: record for history in histories for record in history}
    return tuple(sorted(together.values(), key=lambda record: record.order))


def missing(records: Iterable[Record]) -> tuple[str, ...]:
    """Return the ids that the records came after but that are not among them, sorted."""
    known = list(records)
    named = {before for record in known for before in record.after}
    return tuple(sorted(named - {record.id for record in known}))


def heads(records: Iterable[Record]) -> tuple[str, ...]:
    """Return the ids of the records that no other record comes after, sorted."""
    known = list(records)
    followed = {before for record in known for before in record.after}
    return tuple(sorted(record.id for record in known if record.id not in followed))
