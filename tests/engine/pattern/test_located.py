"""TOML with places: the tree is the standard reader's, the places are those of the text."""

from __future__ import annotations

import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.pattern.problems import PatternError
from engine.pattern.toml_positions import Array, Node, Table, Value, read_toml

SAMPLE = '''\
# a pattern
title = "A \\u00bd cap"   # said once
sizes = ["S", 'M', """
L"""]
"quoted key" = -4.5
cast_on = 88
plain.dotted = true
[gauge]
stitches = 20
[[section]]
rows = [
  "k1",  # a note
  { text = "p2", note = "x, y" },
]
[[section]]
rows = []
'''


def bare(node: Node) -> object:
    """Return the plain Python value of a node."""
    match node:
        case Value():
            return node.value
        case Table():
            return {key: bare(item) for key, item in node.entries.items()}
        case Array():
            return [bare(item) for item in node.items]


def test_values_are_those_of_the_standard_reader() -> None:
    """Stand-ins change nothing about the values themselves."""
    assert bare(read_toml(SAMPLE)) == tomllib.loads(SAMPLE)


def test_places_are_where_the_text_has_them() -> None:
    """Keys and values know the line and column at which they stand in the text."""
    tree = read_toml(SAMPLE)
    assert tree.place("title") == (2, 1)
    title = tree.entries["title"]
    assert isinstance(title, Value)
    assert (title.line, title.column) == (2, 9)
    assert title.place(2) == (2, 12)  # the escaped half begins here
    assert title.place(3) == (2, 18)  # and the blank after it stands here
    sizes = tree.entries["sizes"]
    assert isinstance(sizes, Array)
    large = sizes.items[2]
    assert isinstance(large, Value)
    assert large.place(0) == (4, 1)
    assert tree.place("quoted key") == (5, 1)


@pytest.mark.parametrize(
    ("text", "line", "column"),
    [
        ("a = 1\na = 2\n", 2, 1),
        ("a = \n", 1, 5),
        ("a = [1, 2\n", 2, 1),
        ('a = "x\nb = 1', 1, 7),
        ("a = " + "[" * 3000, 1, 45),
        ("title = Cap\n", 1, 9),
    ],
)
def test_what_is_not_toml_is_pointed_at(text: str, line: int, column: int) -> None:
    """A slip in the file itself is one sentence with its place."""
    with pytest.raises(PatternError) as caught:
        read_toml(text)
    assert (caught.value.problem.line, caught.value.problem.column) == (line, column)


PLAIN = st.recursive(
    st.one_of(
        st.integers(-(10**12), 10**12),
        st.booleans(),
        st.text(st.characters(codec="utf-8", exclude_characters="\ue000")),
    ),
    lambda inner: st.lists(inner, max_size=4),
    max_leaves=8,
)


def written(value: object) -> str:
    """Write a value in TOML."""
    match value:
        case bool():
            return str(value).lower()
        case int():
            return str(value)
        case str():
            escaped = "".join(
                c if c.isprintable() and c not in '"\\' else f"\\U{ord(c):08X}" for c in value
            )
            return f'"{escaped}"'
        case list():
            return "[" + ", ".join(written(item) for item in value) + "]"
        case _:
            raise AssertionError(value)


@given(st.dictionaries(st.from_regex(r"\A[a-z_-]{1,8}\Z"), PLAIN, max_size=5))
def test_any_values_come_back(tree: dict[str, object]) -> None:
    """Whatever is written as TOML is read back the same."""
    text = "\n".join(f"{key} = {written(value)}" for key, value in tree.items())
    assert bare(read_toml(text)) == tree


@given(st.text(max_size=80))
def test_any_text_is_read_or_refused(text: str) -> None:
    """No text crashes the reader; it agrees with the standard reader on what is TOML."""
    try:
        expected: object = tomllib.loads(text.replace("\ue000", "?"))
    except tomllib.TOMLDecodeError:
        with pytest.raises(PatternError):
            read_toml(text)
        return
    try:
        assert bare(read_toml(text)) == expected
    except PatternError:
        assert "\ue000" in text
