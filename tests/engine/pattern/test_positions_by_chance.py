"""Where a row is: compared with walking through random trees of sections row by row."""

from __future__ import annotations

from dataclasses import dataclass

from hypothesis import given, settings
from hypothesis import strategies as st

from app.pieces.pattern_cache import row_reader
from engine.pattern import Course, PatternDocument, Side, read_pattern

_TEXTS = ("k to end", "p to end", "k1, kfb, k to last 2 sts, kfb, k1", "k1, ssk, k to end")
_CHANGES = (0, 0, 2, -1)


@dataclass(frozen=True)
class Written:
    """A section: its numbered rows, how often in all, and a plain stretch or a loop after them."""

    rows: tuple[int, ...]
    times: int
    loop: int | None
    """How many rows the knitter works of a stretch without an end; None: there is none."""


sections = st.builds(
    Written,
    st.lists(st.integers(0, len(_TEXTS) - 1), min_size=1, max_size=5).map(tuple),
    st.integers(1, 7),
    st.one_of(st.none(), st.integers(1, 9)),
)


def course_of(several: list[Written], cast_on: int) -> Course:
    """Return the course of such sections as a pattern file."""
    lines = ['title = "x"', f"cast_on = {cast_on}"]
    for number, section in enumerate(several):
        rows = [f"Row {n}: {_TEXTS[text]}" for n, text in enumerate(section.rows, 1)]
        if section.times > 1:
            rows.append(f"Rep rows 1-{len(section.rows)} {section.times - 1} more times")
        if section.loop is not None:
            rows.append("Work in garter st until piece measures 10 cm")
        quoted = ", ".join(f'"{row}"' for row in rows)
        lines += ["[[section]]", f'id = "s{number}"', f'title = "S{number}"', f"rows = [{quoted}]"]
    document = read_pattern("\n".join(lines), row_reader())
    assert isinstance(document, PatternDocument), document
    return document.course()


def walked(
    several: list[Written], cast_on: int
) -> tuple[list[tuple[str, int, tuple[int, ...] | None, str, int]], dict[str, int]]:
    """Walk row by row: section, row in the section, repeat, what is worked, stitches after it."""
    found: list[tuple[str, int, tuple[int, ...] | None, str, int]] = []
    ended: dict[str, int] = {}
    count = cast_on
    for number, section in enumerate(several):
        inside = 0
        for time in range(1, section.times + 1):
            for row, text in enumerate(section.rows, 1):
                inside += 1
                count += _CHANGES[text]
                repeat: tuple[int, ...] | None = None
                if section.times > 1:
                    repeat = (time, section.times, row, len(section.rows))
                found.append((f"s{number}", inside, repeat, _TEXTS[text], count))
        for _ in range(section.loop or 0):
            inside += 1
            found.append((f"s{number}", inside, None, "k to end", count))
        if section.loop is not None:
            ended[f"s{number}"] = len(found)
    return found, ended


@settings(max_examples=60)
@given(st.lists(sections, min_size=1, max_size=4), st.integers(60, 90))
def test_where_agrees_with_walking(several: list[Written], cast_on: int) -> None:
    """Section, side, repeat, row and count of every row are those found by walking to it."""
    course = course_of(several, cast_on)
    expected, ended = walked(several, cast_on)
    assert course.last_row(ended) == len(expected)
    before = cast_on
    for row, (section, inside, repeat, text, count) in enumerate(expected, 1):
        place = course.where(ended, row)
        told = place.repeat
        assert (place.section, place.row_in_section, str(place.instruction)) == (
            section,
            inside,
            text,
        )
        assert (place.before, place.after) == (before, count)
        assert place.side is (Side.RIGHT if row % 2 else Side.WRONG)
        if repeat is not None and told is not None:
            assert (told.time, told.times, told.row, told.rows) == repeat
        assert (repeat is None) or (told is not None)
        before = count
    assert course.where(ended, len(expected) + 1).finished


@settings(max_examples=60)
@given(st.lists(sections, min_size=1, max_size=4), st.integers(60, 90))
def test_the_next_change_is_the_first_one_a_scan_finds(
    several: list[Written], cast_on: int
) -> None:
    """The next row that differs is the one that looking at every row from here on finds."""
    course = course_of(several, cast_on)
    expected, ended = walked(several, cast_on)
    places = [course.where(ended, row) for row in range(1, len(expected) + 1)]
    for row in range(1, len(expected) + 1):
        scanned = next((p.row for p in places[row - 1 :] if p.shaping or p.different), None)
        told = course.next_change(ended, row)
        assert (None if told is None else told.row) == scanned, row


def test_row_twenty_million_is_found_like_the_first() -> None:
    """A repeat of twenty million rows knows its last row without walking there."""
    rows = '"Row 1: k", "Row 2: p", "Rep rows 1-2 9999999 more times"'
    text = f'title = "x"\ncast_on = 24\nrows = [{rows}]'
    document = read_pattern(text, row_reader())
    assert isinstance(document, PatternDocument)
    course = document.course()
    last = course.where({}, 20_000_000)
    assert last.repeat is not None
    assert (last.repeat.time, last.repeat.row, last.side) == (10_000_000, 2, Side.WRONG)
    assert (last.after, last.finished, course.last_row({})) == (24, False, 20_000_000)
    assert course.where({}, 20_000_001).finished
