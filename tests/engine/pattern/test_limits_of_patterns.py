"""No pattern file, however strange, asks for more than a knitter could; each limit is a sentence.

The files in tests/hostile are patterns of this house with a slip put in by chance.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from app.pieces.pattern_cache import document_to_check, row_reader
from engine.limits import (
    LONGEST_TEXT,
    MOST_PROBLEMS,
    MOST_SIZES,
    STEPS_OF_PATTERN,
    Allowance,
    TooMuchWorkError,
    spend,
)
from engine.pattern import PatternDocument, PatternError, Problem, read_pattern

HOSTILE = Path(__file__).parents[2] / "hostile"
TOO_MUCH = "more than is ever knitted"


def pattern(*rows: str, more: str = "", cast_on: str = "30") -> str:
    """Return a pattern file of these rows."""
    written = ", ".join(f'"{row}"' for row in rows)
    return f'title = "Cap"\ncast_on = "{cast_on}"\n{more}\nrows = [{written}]\n'


def problems_of(text: str) -> list[Problem]:
    """Return everything that is wrong with a pattern in any size."""
    document = document_to_check(text)
    if not isinstance(document, PatternDocument):
        return list(document)
    return [problem for verdict in document.check() for problem in verdict.problems]


def given_again(times: int) -> str:
    """Return sections of which each means the one before it twice."""
    sections = ['title = "Chain"\ncast_on = 3\n[[section]]\ntitle = "T0"\nrows = ["Row 1: k3"]\n']
    for number in range(1, times + 1):
        again = f'"Work as given for T{number - 1}"'
        sections.append(f'[[section]]\ntitle = "T{number}"\nrows = [{again}, {again}]\n')
    return "".join(sections)


@pytest.mark.parametrize("file", sorted(HOSTILE.glob("*.toml")), ids=lambda file: file.stem)
def test_a_pattern_with_a_slip_is_found_wrong(file: Path) -> None:
    """Each file is found wrong in a sentence with its line, and costs no more than is allowed."""
    found = problems_of(file.read_text(encoding="utf-8"))
    assert found
    assert all(problem.line and problem.message for problem in found)


@pytest.mark.parametrize(
    ("text", "line", "sentence"),
    [
        pytest.param("a" + ".a" * 100_000 + " = 1", 1, "at most 40 parts", id="dotted key"),
        pytest.param("\n".join(f"k{n} = 1" for n in range(60_000)), 50_001, "keys and values",
                     id="keys and values"),
        pytest.param("x = " + "[" * 5000, 1, "nested too deeply", id="nesting"),
        pytest.param('rows = ["' + '\\"' * 400_000, 1, "not a TOML file", id="quotes"),
        pytest.param('rows = ["""' + "k1, " * 9000, 1, "has no end", id="three quotes"),
        pytest.param("rows = ['''" + "k1, " * 9000, 1, "has no end", id="three single quotes"),
        pytest.param("cast_on = " + "1" * 5000, 1, "at most 200 digits", id="digits of a value"),
        pytest.param("#" * (LONGEST_TEXT + 1), None, "too long", id="length"),
        pytest.param(f'note = "{"a" * 30_000}"', 1, "at most 20,000 characters", id="one text"),
        pytest.param(pattern(f"Row 1: k{'1' * 3000}"), 4, "more than 12 digits", id="digits"),
        pytest.param(pattern(f"Row 1: k{'1' * 10_000}"), 4, "too long", id="length of a row"),
        pytest.param(pattern("Rnd 4294967296: k"), 4, "numbered up to 100,000", id="row number"),
        pytest.param(pattern("Rows 1-999999: k"), 4, "numbered up to 100,000", id="range of rows"),
        pytest.param(pattern("Row 1: k", "Rep row 1 999999999 times"), 4, TOO_MUCH, id="rows"),
        pytest.param(pattern("Row 1: k1, m1, k to end", "Rep row 1 until there are 900000 sts"),
                     4, TOO_MUCH, id="rows until"),
        pytest.param(pattern("Row 1: (k1, pm) 29 times, k1", "Rep row 1 9999999 times"),
                     4, "more than 4,000 markers", id="markers"),
        pytest.param(given_again(40), None, TOO_MUCH, id="lines given again"),
        pytest.param("title = 'x'\n" + "[[piece]]\ntitle = 'p'\nrows = ['k']\n" * 300, 603,
                     "at most 200 parts", id="pieces"),
    ],
)  # fmt: skip
def test_a_limit_is_told_with_its_place(text: str, line: int | None, sentence: str) -> None:
    """What no knitter could mean is one sentence that names the limit and the line."""
    found = problems_of(text)
    told = [problem for problem in found if sentence in problem.message]
    assert told, found[:3]
    assert line is None or told[0].line == line


def test_two_hundred_thousand_unknown_keys_are_not_all_told() -> None:
    """A file full of keys that mean nothing is told the first hundred of them."""
    found = problems_of("\n".join(f"k{number} = 1" for number in range(20_000)))
    assert len(found) == MOST_PROBLEMS


def test_number_words_without_end_are_read_in_one_go() -> None:
    """A row of forty "twenty one" is read or refused without trying every way to part it."""
    assert problems_of(pattern("Row 1: k " + "twenty one " * 40))


def test_what_people_knit_is_far_below_the_limits() -> None:
    """Twenty million rows, and a thousand stitches in a hundred sizes, are counted."""
    long = document_to_check(pattern("Row 1: k", "Row 2: p", "Rep rows 1-2 9999999 more times"))
    assert isinstance(long, PatternDocument)
    assert long.check()[0].ok
    assert long.course().last_row({}) == 20_000_000
    names = ", ".join(f'"{number}"' for number in range(MOST_SIZES))
    counts = [1000 + 2 * size for size in range(MOST_SIZES)]
    cast_on = f"{counts[0]} ({', '.join(map(str, counts[1:]))})"
    rows = [f"Row {row}: *k1, p1; rep from * to end" for row in range(1, 101)]
    wide = document_to_check(pattern(*rows, more=f"sizes = [{names}]", cast_on=cast_on))
    assert isinstance(wide, PatternDocument)
    assert all(verdict.ok for verdict in wide.check())
    assert wide.allowance.left > STEPS_OF_PATTERN // 2


def test_a_course_that_is_not_whole_is_not_given_out() -> None:
    """Nobody knits by a pattern whose counting was given up."""
    document = read_pattern(pattern("Row 1: k", "Rep row 1 999999999 times"), row_reader())
    assert isinstance(document, PatternDocument)
    with pytest.raises(PatternError, match=TOO_MUCH):
        document.course()


def test_steps_are_counted_against_the_allowance_around() -> None:
    """Work within an allowance ends where it is used up; work outside of one never does."""
    allowance = Allowance(10)
    with allowance.used():
        spend(10)
        with pytest.raises(TooMuchWorkError):
            spend()
    spend(10**9)


@pytest.mark.parametrize(
    "row",
    [
        "Knit 10 (12) rows.",
        "Knit 10 (12, 14, 16) rows.",
        "Purl 2 (3) rows",
        "Knit 10 (12) rows, ending with a WS row",
        "Rows 1 to 4 (6): knit",
        "Rows 1 to 4 (6, 8, 10): knit",
    ],
)
def test_numbers_that_are_not_those_of_the_sizes_are_found(row: str) -> None:
    """As many numbers as sizes have to stand wherever a number is for each size."""
    text = pattern(row, more='sizes = ["A", "B", "C"]', cast_on="30 (36, 42)")
    found = problems_of(text)
    assert any("the pattern has 3 sizes" in problem.message for problem in found), found


def test_numbers_that_are_those_of_the_sizes_are_counted() -> None:
    """The same words with a number for each size add up."""
    text = pattern("Knit 10 (12, 14) rows.", more='sizes = ["A", "B", "C"]', cast_on="30 (36, 42)")
    document = read_pattern(text, row_reader())
    assert isinstance(document, PatternDocument)
    assert [document.course(size).last_row({}) for size in "ABC"] == [10, 12, 14]


def test_nothing_changes_in_rows_without_end_is_soon_known() -> None:
    """Rows that come again until a length is reached are looked at twice, not a million times."""
    text = pattern(
        "Row 1: p2tog twice [2 sts]",
        "Row 2: *k2, p2; rep from * to last 2 sts, k2",
        "Rep last 2 rows until piece measures 6 cm",
    )
    document = read_pattern(text, row_reader(), in_spite=True)
    assert isinstance(document, PatternDocument)
    with Allowance(2_000).used():
        assert document.course().next_change({}, 6) is None
