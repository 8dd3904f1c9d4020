"""The JSON Schema of the journal: current, and of one mind with the code."""

from __future__ import annotations

import json
from functools import cache
from typing import TYPE_CHECKING, Any

from hypothesis import assume, given
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from app import resources
from engine.events import EVENTS
from engine.journal.exchange import to_lines
from engine.payload import PayloadError, from_payload, to_payload
from engine.records import to_json
from house import journal_schema
from tests.made_up import any_event, any_record, knitted

if TYPE_CHECKING:
    from engine.events import Event
    from engine.records import Record


@cache
def _validator(definition: str | None = None) -> Draft202012Validator:
    schema = json.loads(resources.text("shared/journal.schema.json"))
    if definition is not None:
        schema = {"$ref": f"#/$defs/{definition}", "$defs": schema["$defs"]}
    return Draft202012Validator(schema)


def test_is_current() -> None:
    """The file in `shared` is what the classes say today; `make schema` writes it anew."""
    assert resources.text("shared/journal.schema.json") == journal_schema.text()


def test_is_a_schema() -> None:
    """It keeps the rules of JSON Schema, draft 2020-12, as another library checks them."""
    Draft202012Validator.check_schema(journal_schema.journal_schema())


def test_describes_every_line_of_an_export() -> None:
    """The heading and every record that we write fit the schema."""
    for line in to_lines(knitted(3)):
        _validator().validate(json.loads(line))


@given(any_record)
def test_describes_any_record(one: Record) -> None:
    """Whatever a record holds, it fits the schema, and no longer once a member is missing."""
    values = to_json(one)
    assert _validator().is_valid(values)
    for name in values:
        assert not _validator().is_valid({k: v for k, v in values.items() if k != name})


_instead = (
    st.none()
    | st.booleans()
    | st.integers(-3, 3)
    | st.sampled_from(["", "cm", "on_needle", "1/0", "4 3/8", "4,5", "x"])
    | st.just({"value": "1", "unit": "cm"})
    | st.just({"value": "1", "unit": "stone"})
)


@given(any_event, st.sampled_from(sorted(EVENTS)), st.data())
def test_agrees_with_the_reader(event: Event, other_kind: str, data: st.DataObject) -> None:
    """A payload with anything in a wrong place is refused by the schema exactly if by the code."""
    kind = data.draw(st.sampled_from([event.kind, other_kind]))
    payload: dict[str, Any] = to_payload(event)
    payload[data.draw(st.sampled_from(sorted(payload)))] = data.draw(_instead)
    try:
        again = to_payload(from_payload(kind, payload))
        # "4,5" can be read, but is never written: the record would have another name.
        assume(again == payload)
        readable = True
    except PayloadError:
        readable = False
    assert _validator(kind).is_valid(payload) == readable
