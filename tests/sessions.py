"""The practice session: what is said in it, and what a session left in its journal."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from typing import TYPE_CHECKING

from app.language import phrase_book
from app.terminal.knitting import details
from engine.payload import to_payload
from speech.words.understand import understand
from tests.product import SCRIPT

if TYPE_CHECKING:
    from collections.abc import Sequence

    from engine.records import Record

KNITTER = "knitter"


@dataclass(frozen=True)
class Line:
    """A line of the script: whether it is the knitter's, and its words."""

    by_knitter: bool
    says: str

    @property
    def meant(self) -> tuple[str, dict[str, object]]:
        """The name and the values of the command that the line is."""
        said = understand(self.says, phrase_book())[0]
        return said.name, details(said)


def script() -> list[Line]:
    """Return the script of the practice recording."""
    read = tomllib.loads(SCRIPT.read_text(encoding="utf-8"))
    return [Line(line["voice"] == KNITTER, line["says"]) for line in read["line"]]


def payloads(records: Sequence[Record]) -> list[tuple[str, dict[str, object]]]:
    """Return the kind and the content of each event, in order.

    An undo names a group, whose name is new each time; here it has the group's position instead.
    """
    groups = list(dict.fromkeys(record.group for record in records))
    return [
        (
            record.event.kind,
            {
                name: groups.index(str(value)) if name == "group" else value
                for name, value in to_payload(record.event).items()
            },
        )
        for record in records
    ]
