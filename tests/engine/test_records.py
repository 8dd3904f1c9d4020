"""Records: named by their content, written as JSON, read back or refused."""

from __future__ import annotations

import json
from dataclasses import replace
from hashlib import sha256
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.events import RowNoted, RowsWorked
from engine.payload import PayloadError
from engine.records import (
    SCHEMA,
    NewerSchemaError,
    canonical,
    from_json,
    heads,
    missing,
    new_name,
    to_json,
)
from tests.made_up import any_record, histories, knitted, record

if TYPE_CHECKING:
    from engine.records import Record


@given(any_record)
def test_round_trip(one: Record) -> None:
    """Every record is the same after it was written as JSON text and read again."""
    again = from_json(json.loads(json.dumps(to_json(one))))
    assert again == one
    assert again.id == one.id
    assert canonical(again) == canonical(one)


@given(any_record)
def test_name_is_the_hash_of_the_content(one: Record) -> None:
    """The id can be checked by anybody with SHA-256 and a JSON reader, without this program."""
    content = to_json(one)
    del content["id"]
    text = json.dumps(content, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    assert one.id == sha256(text.encode()).hexdigest()


_anything = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner),
    max_leaves=5,
)


@given(st.data(), any_record)
def test_a_changed_record_is_refused(data: st.DataObject, one: Record) -> None:
    """Whatever is changed in a record, left out or added: it is refused with a sentence."""
    values = to_json(one)
    place: dict[str, Any] = data.draw(st.sampled_from([values, values["payload"]]))
    name = data.draw(st.sampled_from(sorted(place)) | st.text(max_size=5))
    if name in place and data.draw(st.booleans()):
        del place[name]
    else:
        value = data.draw(_anything)
        # True equals 1 in Python, but is another text in JSON.
        if name in place and json.dumps(place[name]) == json.dumps(value):
            return
        place[name] = value
    with pytest.raises(PayloadError, match=r"\.$"):
        from_json(values)


@given(_anything)
def test_what_is_no_record_is_refused(values: object) -> None:
    """No value of JSON makes the reader stumble: it is refused with a sentence."""
    with pytest.raises(PayloadError, match=r"\.$"):
        from_json(values)


@pytest.mark.parametrize("schema", [SCHEMA + 1, 99])
def test_a_newer_record_is_told_apart(schema: int) -> None:
    """A record of a newer Walesong is called that, even if everything else in it is unknown."""
    values = to_json(knitted(0)[0]) | {"schema": schema, "kind": "knitted_by_moonlight", "moon": 1}
    with pytest.raises(NewerSchemaError, match=f"newer Walesong .schema {schema}"):
        from_json(values)


def test_a_lone_surrogate_is_refused() -> None:
    """Half a character, which no file could hold, is refused when read and when made."""
    values = to_json(knitted(0)[0])
    values["payload"]["name"] = "\ud800"
    with pytest.raises(PayloadError, match="damaged"):
        from_json(values)
    with pytest.raises(UnicodeEncodeError):
        record(RowNoted(1, "note", "\ud800"))


def test_order_of_what_it_came_after_is_nothing() -> None:
    """The same ids in another order are the same record under the same name."""
    one, two = knitted(0)[0], record(RowsWorked("body", 1, 1))
    both = record(RowsWorked("body", 2, 2), [one, two])
    assert len(both.after) == 2
    assert replace(both, after=both.after[::-1]) == both
    values = to_json(both)
    assert from_json(values | {"after": values["after"][::-1]}) == both


@given(histories())
def test_heads_and_missing(history: list[Record]) -> None:
    """Nothing comes after a head, and a history that was not cut lacks nothing."""
    ends = heads(history)
    assert ends
    assert not any(end in one.after for end in ends for one in history)
    assert missing(history) == ()
    cut = [one for one in history if one.id not in ends]
    assert missing([one for one in history if one not in cut]) == tuple(
        sorted({name for one in history if one.id in ends for name in one.after})
    )


def test_random_names_differ() -> None:
    """A new name is 32 hexadecimal digits and not the last one again."""
    names = {new_name() for _ in range(1000)}
    assert len(names) == 1000
    assert all(len(name) == 32 and int(name, 16) >= 0 for name in names)
