"""Journals as lines, and brought together: nothing is lost, and order means nothing."""

from __future__ import annotations

import json
from itertools import permutations
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.events import RowsWorked
from engine.journal import exchange
from engine.journal.errors import NameTakenError, NotAJournalError, UnreachableJournalError
from engine.journal.exchange import (
    from_lines,
    read_file,
    take_in,
    to_lines,
    write_file,
)
from engine.journal.memory import MemoryJournal
from engine.journal.sqlite import SqliteJournal
from engine.records import SCHEMA, in_order, to_json
from tests.made_up import CAP, any_record, histories, knitted, record

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path
    from random import Random

    from engine.records import Record


def _ordered(records: list[Record]) -> tuple[Record, ...]:
    return tuple(sorted(set(records), key=lambda one: one.order))


# --- lines ---------------------------------------------------------------------------------------


@given(st.lists(any_record, max_size=6))
def test_lines_hold_everything(records: list[Record]) -> None:
    """What was written as lines is read from them, whatever is in it, and writes the same lines."""
    lines = list(to_lines(records))
    reading = from_lines(lines)
    assert reading.records == _ordered(records)
    assert reading.bad_lines == ()
    assert list(to_lines(reading.records)) == lines
    assert all(line.count(b"\n") == 1 and line.endswith(b"\n") for line in lines)


def test_the_heading_says_what_it_is() -> None:
    """The first line is an object with the name of the format and the schema."""
    (heading,) = to_lines([])
    assert json.loads(heading) == {"format": "walesong journal", "schema": SCHEMA}
    assert from_lines([heading]).records == ()


@given(histories(), st.randoms(use_true_random=False))
def test_lines_may_be_shuffled_repeated_and_joined(history: list[Record], dice: Random) -> None:
    """Two exports joined end to end, with Windows line ends and a mark in front, are one."""
    half = len(history) // 2
    lines = [*to_lines(history[:half]), *to_lines(history[half:]), *to_lines(history), b"\r\n"]
    dice.shuffle(lines)
    lines = [line.replace(b"\n", b"\r\n") for line in lines]
    lines[0] = b"\xef\xbb\xbf" + lines[0]
    reading = from_lines(lines)
    assert reading.records == _ordered(history)
    assert reading.bad_lines == ()


DAMAGE: dict[str, Callable[[bytes], bytes]] = {
    "cut off": lambda line: line[: len(line) // 2],
    "not text": lambda line: line.replace(b'"group"', b'"gr\xffup"'),
    "not JSON": lambda _: b"Row 12: k2, p2\n",
    "another value": lambda _: b"[12, 13]\n",
    "deep": lambda _: b"[" * 100_000 + b"\n",
    "a long number": lambda _: b"9" * 10_000 + b"\n",
    "not a number": lambda line: line.replace(b'"lamport":2', b'"lamport":NaN'),
    "changed": lambda line: line.replace(b'"lamport":2', b'"lamport":5'),
    "incomplete": lambda line: line.replace(b'"lamport":2,', b""),
    "newer": lambda line: line.replace(f'"schema":{SCHEMA}'.encode(), b'"schema":77'),
}


OF_LIMITS: dict[str, tuple[Callable[[bytes], bytes], str]] = {
    "depth": (lambda _: b'{"a":' * 90 + b"1" + b"}" * 90, "nested more than 40 deep"),
    "values": (lambda _: b"[" + b"0," * 4_000 + b"0]\n", "more than 2,000 values"),
    "digits": (lambda line: line.replace(b'"last":2', b'"last":' + b"9" * 20), "than 16 digits"),
    "no whole": (lambda line: line.replace(b'"last":2', b'"last":2e99'), '"2e99" is no number'),
    "quotes": (lambda _: b'{"a":"' + b'\\"' * 500_000, "not one value of JSON"),
    "a long name": (lambda line: line.replace(b"rows_worked", b"x" * 9_000), "is not an event"),
    "a full field": (
        lambda line: line.replace(b'"last":2', b'"last":' + b"[" * 30 + b'"abc"' + b"]" * 30),
        'The field "last"',
    ),
}


@pytest.mark.parametrize("limit", OF_LIMITS)
def test_a_line_beyond_a_limit_says_which(limit: str) -> None:
    """A line that no record can be is one bad line; one short sentence says what is too much."""
    slip, says = OF_LIMITS[limit]
    records = knitted(4)
    lines = list(to_lines(records))
    lines[3] = slip(lines[3])
    (bad,) = from_lines(lines).bad_lines
    assert bad.number == 4
    assert says in bad.why
    assert len(bad.why) < 200


def test_no_more_lines_are_read_than_a_file_can_have(monkeypatch: pytest.MonkeyPatch) -> None:
    """The line at which reading stops is named with the limit, and what came before it counts."""
    monkeypatch.setattr(exchange, "MOST_RECORD_LINES", 3)
    reading = from_lines(to_lines(knitted(4)))
    assert reading.records == tuple(knitted(1))
    assert [str(bad) for bad in reading.bad_lines] == [
        "Line 4: Only 3 lines are read, none from here on."
    ]


def test_of_many_bad_lines_the_first_are_told() -> None:
    """A film brought in as a journal does not fill the screen: a hundred lines, then how many."""
    lines = [*to_lines(knitted(2)), *[b"Row 12: k2, p2\n"] * 250]
    told = from_lines(lines).left_out
    assert len(told) == 101
    assert told[0].startswith("Line 5: ")
    assert told[-1] == "150 more lines were left out."


@pytest.mark.parametrize("damage", DAMAGE)
def test_a_damaged_line_is_pointed_at(damage: str) -> None:
    """The line is named by its number with a reason, every other line counts, and the gap shows."""
    records = knitted(4)
    lines = list(to_lines(records))
    lines[2] = DAMAGE[damage](lines[2])
    reading = from_lines(lines)
    (bad,) = reading.bad_lines
    assert str(bad).startswith("Line 3: ")
    assert str(bad).endswith(".")
    assert ("newer" in bad.why) == (damage == "newer")
    assert reading.records == tuple(records[:1] + records[2:])
    assert reading.missing == (records[1].id,)


@given(histories(), st.data())
def test_cut_anywhere(history: list[Record], data: st.DataObject) -> None:
    """A file cut off at any byte after its heading gives its whole lines and names the broken."""
    heading, *lines = to_lines(history)
    text = b"".join(lines)
    left = data.draw(st.integers(0, len(text)))
    reading = from_lines([heading, *text[:left].splitlines(keepends=True)])
    ends = [len(b"".join(lines[:number])) for number in range(1, len(lines) + 1)]
    whole = sum(end - 1 <= left for end in ends)  # The last line end is not needed.
    assert reading.records == _ordered(history)[:whole]
    cut_inside = left > 0 and left not in {place for end in ends for place in (end - 1, end)}
    assert [bad.number for bad in reading.bad_lines] == ([whole + 2] if cut_inside else [])


def test_lines_without_heading() -> None:
    """Records without their heading are still records; text without either is refused."""
    lines = list(to_lines(knitted(2)))[1:]
    assert from_lines(lines).records == tuple(knitted(2))
    for lines in ([], [b"\n"], [b"Dear hut crew,\n"], [b"{}\n"]):
        with pytest.raises(NotAJournalError, match="not a journal"):
            from_lines(lines)


# --- files ---------------------------------------------------------------------------------------


def test_files(tmp_path: Path) -> None:
    """A journal is written to a file and read again; an older one is replaced if that was said."""
    file = tmp_path / "hut.jsonl"
    write_file(knitted(2), file)
    with pytest.raises(NameTakenError):
        write_file(knitted(3), file)
    write_file(knitted(3), file, replace=True)
    assert read_file(file).records == tuple(knitted(3))
    assert [found.name for found in tmp_path.iterdir()] == ["hut.jsonl"]


def test_a_line_without_end_is_one_bad_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A line longer than any record is pointed at and not read whole; what follows it counts."""
    monkeypatch.setattr(exchange, "LONGEST_RECORD", 2_000)
    file = tmp_path / "hut.jsonl"
    first, *others = to_lines(knitted(2))
    file.write_bytes(b"".join([first, b'{"id":"' + b"a" * 9_000 + b'"}\n', *others]))
    reading = read_file(file)
    assert reading.records == tuple(knitted(2))
    assert [bad.number for bad in reading.bad_lines] == [2]


def test_files_of_another_kind_are_left_alone(tmp_path: Path) -> None:
    """Writing lines over a letter, or reading one, is refused; so is a place that is not there."""
    letter = tmp_path / "letter.txt"
    letter.write_text("Dear hut crew,")
    with pytest.raises(NotAJournalError, match=r"letter\.txt. is something else"):
        write_file(knitted(2), letter)
    with pytest.raises(NotAJournalError, match=r"letter\.txt. is not a journal"):
        read_file(letter)
    with pytest.raises(UnreachableJournalError):
        write_file(knitted(2), tmp_path / "none" / "hut.jsonl")
    with pytest.raises(UnreachableJournalError):
        read_file(tmp_path / "none.jsonl")
    assert letter.read_text() == "Dear hut crew,"
    assert [found.name for found in tmp_path.iterdir()] == ["letter.txt"]


# --- two journals --------------------------------------------------------------------------------


@given(st.lists(histories(5), min_size=3, max_size=3))
def test_union_in_any_order(several: list[list[Record]]) -> None:
    """However histories are brought together, and however often, the records are the same."""
    expected = _ordered([one for history in several for one in history])
    for one, two, three in permutations(several):
        assert in_order(one, in_order(two, three)) == expected
        assert in_order(in_order(one, two), three, one) == expected
    assert in_order() == ()


def test_two_devices(tmp_path: Path) -> None:
    """Each gains what only the other had, and doing it again changes nothing."""
    common = knitted(2)
    at_home = record(RowsWorked("body", 3, 4), common)
    in_the_hut = record(RowsWorked("body", 3, 3), common)
    with SqliteJournal.open(tmp_path / "home.walesong") as home:
        hut = MemoryJournal()
        home.append([*common, at_home])
        hut.append([*common, in_the_hut, *knitted(1, CAP)])
        gained = [take_in(home, hut.records()), take_in(hut, home.records())]
        assert [(one.new, one.known, one.missing) for one in gained] == [(3, 3, ()), (1, 6, ())]
        assert set(home.records()) == {*common, at_home, in_the_hut, *knitted(1, CAP)}
        assert home.records() == hut.records()
        assert take_in(home, hut.records()).new == take_in(hut, home.records()).new == 0


def test_what_is_missing_is_told() -> None:
    """Records whose past is not there are taken in, and the gap is named until it is filled."""
    records = knitted(4)
    journal = MemoryJournal()
    assert take_in(journal, records[3:]).missing == (records[2].id,)
    assert take_in(journal, records[:2]).missing == (records[2].id,)
    assert take_in(journal, records[2:3]).missing == ()
    assert journal.records() == tuple(records)


def test_nobody_has_to_use_this_program() -> None:
    """An export is read with nothing but a JSON reader: a line is one record, id and all."""
    text = b"".join(to_lines(knitted(2))).decode()
    values = [json.loads(line) for line in text.splitlines()]
    assert values[1:] == [to_json(one) for one in knitted(2)]
