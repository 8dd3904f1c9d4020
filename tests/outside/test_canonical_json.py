"""Canonical JSON as RFC 8785 (JSON Canonicalization Scheme) writes it, as far as records go."""

from __future__ import annotations

from engine.events import RowNoted
from engine.records import SCHEMA, canonical
from tests.made_up import record


def test_strings_of_the_rfc() -> None:
    """The string of the RFC's worked example (sections 3.2.2 to 3.2.4) is written as it says."""
    sample = "\u20ac$\u000f\u000aA'\u0042\u0022\u005c\\\"/"
    expected = '"€$\\u000f\\nA\'B\\"\\\\\\\\\\"/"'
    content = canonical(record(RowNoted(1, "note", sample)))
    assert f'"text":{expected}}}'.encode() in content


def test_control_characters() -> None:
    """The five short escapes are used, lower-case digits for the rest (section 3.2.2.2)."""
    content = canonical(record(RowNoted(1, "note", "\b\t\n\f\r\x00\x1f\x7f")))
    assert b'"\\b\\t\\n\\f\\r\\u0000\\u001f\x7f"' in content


def test_members_are_sorted_and_nothing_is_between_them() -> None:
    """Names in order of their code units (section 3.2.3), no white space (section 3.2.1)."""
    content = canonical(record(RowNoted(3, "note", "twisted"))).decode()
    assert content.startswith('{"after":[],"group":"')
    assert '"payload":{"about":"note","row":3,"text":"twisted"},"piece":"' in content
    assert f'","schema":{SCHEMA},"source":"key","wall":"' in content
    assert " " not in content
