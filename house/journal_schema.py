"""Write the JSON Schema of the journal from the classes it describes: `make schema`.

The schema is for other programs and for people who want their data: it says what a line of an
exported journal looks like, and it cannot drift from the code, because it is made of it.
"""

from __future__ import annotations

import inspect
import json
from dataclasses import fields
from enum import StrEnum
from fractions import Fraction
from pathlib import Path
from types import NoneType, UnionType
from typing import Any, Final, get_args, get_origin, get_type_hints

from engine.commands import Source
from engine.events import EVENTS, Event
from engine.journal.exchange import FORMAT_NAME
from engine.quantities import Length, LengthUnit, Mass, MassUnit
from engine.records import LARGEST_NUMBER, SCHEMA, Record

KEPT_IN: Final = Path(__file__).parent.parent / "shared" / "journal.schema.json"

_NUMBER: Final = r"^-?([0-9]+( [0-9]+/[1-9][0-9]*)?|[0-9]+/[1-9][0-9]*|[0-9]+\.[0-9]+)$"
_ENVELOPE: Final[dict[str, dict[str, Any]]] = {
    "id": {
        "$ref": "#/$defs/id",
        "description": "SHA-256 (hex) of the record without its id, as canonical JSON (RFC 8785).",
    },
    "schema": {"type": "integer", "minimum": 1, "maximum": SCHEMA},
    "after": {
        "type": "array",
        "items": {"$ref": "#/$defs/id"},
        "description": "The newest records that the writer knew, sorted.",
    },
    "lamport": {
        "$ref": "#/$defs/count",
        "description": "One more than the largest among the records it comes after.",
    },
    "writer": {"type": "string", "description": "A random name for each start of the program."},
    "piece": {"type": "string", "description": "The piece of knitting that it is about."},
    "group": {"type": "string", "description": "Common to all that one command wrote."},
    "wall": {"type": "string", "description": "Wall time, ISO 8601 in UTC; for display only."},
    "monotonic_ms": {
        "$ref": "#/$defs/count",
        "description": "Milliseconds of a clock that only goes forward, within one writer.",
    },
    "source": {"enum": [source.value for source in Source]},
    "kind": {"enum": list(EVENTS)},
    "payload": {"type": "object"},
}


def journal_schema() -> dict[str, Any]:
    """Return the schema (draft 2020-12) of one line of an exported journal."""
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": "urn:walesong:journal",
        "title": "A line of a Walesong journal",
        "description": "Made by `make schema` from engine/records.py and engine/events.py.",
        "oneOf": [{"$ref": "#/$defs/heading"}, {"$ref": "#/$defs/record"}],
        "$defs": {
            "heading": _object(
                "The first line.",
                {"format": {"const": FORMAT_NAME}, "schema": {"type": "integer", "minimum": 1}},
            ),
            "record": _record(),
            "id": {"type": "string", "pattern": "^[0-9a-f]{64}$"},
            "count": {"type": "integer", "minimum": 0, "maximum": LARGEST_NUMBER},
            "length": _quantity(Length, LengthUnit),
            "mass": _quantity(Mass, MassUnit),
            **{kind: _payload(event_class) for kind, event_class in EVENTS.items()},
        },
    }


def _record() -> dict[str, Any]:
    shapes = [
        {"properties": {"kind": {"const": kind}, "payload": {"$ref": f"#/$defs/{kind}"}}}
        for kind in EVENTS
    ]
    return _object(_described(Record), _ENVELOPE) | {"oneOf": shapes}


def _payload(event_class: type[Event]) -> dict[str, Any]:
    hints = get_type_hints(event_class)
    contents = {field.name: _value(hints[field.name]) for field in fields(event_class)}
    return _object(_described(event_class), contents)


def _value(hint: Any) -> dict[str, Any]:  # noqa: ANN401 (a type hint is any object)
    if get_origin(hint) is UnionType:
        return {"anyOf": [_value(one) for one in get_args(hint)]}
    simple: dict[object, dict[str, Any]] = {
        NoneType: {"type": "null"},
        bool: {"type": "boolean"},
        int: {"type": "integer", "minimum": 0},
        str: {"type": "string"},
        Fraction: {"type": "string", "pattern": _NUMBER},
        Length: {"$ref": "#/$defs/length"},
        Mass: {"$ref": "#/$defs/mass"},
    }
    if hint in simple:
        return simple[hint]
    if issubclass(hint, StrEnum):
        return {"enum": [one.value for one in hint]}
    raise TypeError(f"The schema has no word for {hint}.")


def _quantity(kind: type, units: type[StrEnum]) -> dict[str, Any]:
    return _object(
        _described(kind),
        {
            "value": {"type": "string", "pattern": _NUMBER},
            "unit": {"enum": [unit.value for unit in units]},
        },
    )


def _object(description: str, properties: dict[str, Any]) -> dict[str, Any]:
    return {
        "description": description,
        "type": "object",
        "properties": properties,
        "required": list(properties),
        "additionalProperties": False,
    }


def _described(kind: type) -> str:
    return inspect.cleandoc(kind.__doc__ or "").replace("\n", " ").replace("  ", " ")


def text() -> str:
    """Return the text of the file: two spaces for each level, as an editor would have it."""
    return json.dumps(journal_schema(), indent=2, ensure_ascii=False) + "\n"


def main() -> None:
    """Write the file."""
    KEPT_IN.write_text(text(), encoding="utf-8", newline="\n")
    print(f"Wrote {KEPT_IN.relative_to(KEPT_IN.parent.parent)}.")


if __name__ == "__main__":
    main()
