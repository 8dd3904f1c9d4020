"""Patterns in the notation of today's houses: counted for every size, and each fault is found.

The files in `modern/` are our own, written by hand from the pattern file's description alone, each
in the manner of another kind of publisher. What is right was worked out by hand, row by row and
size by size, and stands behind the row as a comment, which the reader cannot see:

* `#> 88 96 104`: the stitches after the row in each size; `-` if the size leaves the row out,
* `#! - -2 -`: a fault seeded in the row, by size: how many stitches are over (positive) or short
  (negative), computed minus stated for a stated count; `?` if no number says it; `-` where the
  row is right.

One value alone is for all sizes.
"""

from __future__ import annotations

import argparse
import contextlib
import io
import json
import re
import tomllib
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from app.pieces.pattern_cache import row_reader
from app.terminal import check_command
from engine.pattern import PatternDocument, read_pattern

FOLDER = Path(__file__).with_name("modern")
FILES = sorted(FOLDER.glob("*.toml"))
COUNT = re.compile(r"#>\s*([-\d ]+)$")
FAULT = re.compile(r"#!\s*([-+?\d ]+)$")
STATED = re.compile(r'(?<![\w½¼¾.])(\d+)[-\s\d\[\](),:;/]*(?:sts|stitches)\b[^"\w]*",')
TARGET = re.compile(r"\b(?:until|to|leave)\b[^.:(=\[\u2013\u2014]*$", re.IGNORECASE)

UNREAD: dict[str, str] = {
    "buttonhole-waistcoat": '"working a buttonhole every 16th row" while rows go on to a length',
    "fault-small-bear": '"m1 after every st"',
    "fault-pot-holder": '"k the A sts and sl the B sts"',
    "house-bootees": '"inc 1 st at end of row for 1st and 2nd sizes only" within a row',
    "house-cable-cushion": '"work as row 3, but", stitches passed over one at a time',
    "house-dishcloth-mitred": "a starred i-cord repeated until it measures so much",
    "house-edging": '"rows 1-8 of Points", a section named by its title',
    "house-elephant": '"inc in first and last st", "cast off these 12 sts"',
    "house-lamp-sleeve": "brioche increases and decreases, double knitting parted",
    "house-log-cabin": '"BO until 1 st rem. 1 st": the stated count is taken for what is bound off',
    "house-star-cushion": '"make star over next 33 sts", "dropping 1 loop of each double yo"',
    "lace-cowl": "a star over whole rounds with a round after it",
    "one-colour-yoke": '"until there are 76 sts after the cast-off", a body in halves',
    "seamless-raglan": '"k to 3 sts past marker A", short rows over the beginning of the round',
    "plain-vest": '"mark this st", "at center V" while picking up, "then rem 7 sts" bound off',
    "top-down-cardigan": '"place all sts to next marker on scrap yarn", without a number',
    "toe-up-wrapped-heel": '"until all heel sts have been worked", with wraps beyond them',
    "bias-shawl-two-colours": "an i-cord cast-off that ends with three stitches",
    "baby-yoke-cardigan": "a buttonhole row on every 12th row until a length keeps the count",
    "flap-heel-us": '"k9 to center of heel", past the end of the round',
    "two-sided-cosy": '"cast on 41 sts and work exactly as given for ..., but do not break yarn"',
}
"""Files that are not yet read as they should be, with what stands in the way."""

UNCOMPARED: frozenset[tuple[str, int]] = frozenset({("house-baby-cardigan", 26)})
"""Stated counts (file, line) that are not yet compared with what is on the needle."""


@dataclass(frozen=True, slots=True)
class Expected:
    """What a file's comments say, for one of its sizes."""

    counts: dict[int, int | None] = field(default_factory=dict)
    faults: dict[int, str] = field(default_factory=dict)


def by_size(values: str, sizes: int) -> list[str]:
    """Return one value for each size."""
    given = values.split()
    assert len(given) in {1, sizes}, values
    return given * sizes if len(given) == 1 else given


def expectations(path: Path) -> list[Expected]:
    """Return what the comments of a file say, one entry for each size."""
    text = path.read_text(encoding="utf-8")
    number = len(tomllib.loads(text).get("sizes", [None]))
    expected = [Expected() for _ in range(number)]
    for line_number, line in enumerate(text.splitlines(), start=1):
        if (found := COUNT.search(line)) is not None:
            for size, value in enumerate(by_size(found[1], number)):
                expected[size].counts[line_number] = None if value == "-" else int(value)
        elif (found := FAULT.search(line)) is not None:
            for size, value in enumerate(by_size(found[1], number)):
                if value != "-":
                    expected[size].faults[line_number] = value
        else:
            assert "#>" not in line, line
            assert "#!" not in line, line
    return expected


@cache
def verdicts() -> dict[str, list[dict[str, Any]]]:
    """Return what `walesong check --json` says of all files, by file and size."""
    parser = argparse.ArgumentParser()
    check_command.add_parser(parser.add_subparsers())
    options = parser.parse_args(["check", "--json", *map(str, FILES)])
    out = io.StringIO()
    with contextlib.redirect_stdout(out):
        code = options.run(options)
    assert code != 0, "files with faults were among them"
    said: dict[str, list[dict[str, Any]]] = {}
    for line in out.getvalue().splitlines():
        verdict = json.loads(line)
        said.setdefault(Path(verdict["file"]).stem, []).append(verdict)
    return said


def disagreements(path: Path) -> list[str]:
    """Return in what the check of a file differs from its comments."""
    expected = expectations(path)
    said = verdicts()[path.stem]
    if len(said) != len(expected):
        return [f"{len(said)} verdicts for {len(expected)} sizes"]
    return [
        f"{verdict['size']}: {difference}"
        for one, verdict in zip(expected, said, strict=True)
        for difference in size_differences(one, verdict)
    ]


def size_differences(expected: Expected, verdict: dict[str, Any]) -> list[str]:
    """Return in what the verdict on one size differs from the comments."""
    found: list[str] = []
    if verdict["ok"] != (not expected.faults):
        found.append(f"ok is {verdict['ok']}")
    missed = dict(expected.faults)
    for problem in verdict["problems"]:
        wanted = missed.pop(problem["line"], None)
        if wanted is None or (wanted != "?" and problem["off_by"] != int(wanted)):
            found.append(f"line {problem['line']}: {problem['off_by']} {problem['message']}")
    found.extend(
        f"line {line}: a fault of {off_by} is not found" for line, off_by in missed.items()
    )
    found.extend(f"line {note['line']}: {note['message']}" for note in verdict["warnings"])
    last = {entry["line"]: entry for entry in verdict["counts"]}
    stop = min(expected.faults, default=10_000)
    for line, stitches in expected.counts.items():
        entry = last.get(line)
        if line < stop and (entry and entry["stitches"]) != stitches:
            found.append(f"line {line}: {entry and entry['stitches']}, not {stitches}")
    return found


@pytest.mark.parametrize(
    "path", [path for path in FILES if path.stem not in UNREAD], ids=lambda path: path.stem
)
def test_every_row_is_counted_as_by_hand_and_every_fault_is_found(path: Path) -> None:
    """The check says of every row and size what was worked out by hand, and nothing else."""
    assert disagreements(path) == []


@pytest.mark.parametrize("name", UNREAD)
def test_what_is_not_yet_read_is_listed_and_nothing_more(name: str) -> None:
    """A file listed as not yet read is still not read: once it is, it leaves the list."""
    assert disagreements(FOLDER / f"{name}.toml") != [], f"{name} is read now: take it off the list"


@pytest.mark.parametrize("name", [path.stem for path in FILES if path.stem not in UNREAD])
def test_every_problem_has_a_place_and_a_sentence(name: str) -> None:
    """A problem names line and column within the file and says one whole sentence."""
    lines = (FOLDER / f"{name}.toml").read_text(encoding="utf-8").splitlines()
    for verdict in verdicts()[name]:
        for problem in verdict["problems"]:
            assert 1 <= problem["line"] <= len(lines)
            assert 1 <= problem["column"] <= len(lines[problem["line"] - 1])
            assert problem["message"][-1] == "."
            assert problem["message"][-2] != "."


@pytest.mark.parametrize(
    "path",
    [path for path in FILES if path.stem not in UNREAD and not path.stem.startswith("fault-")],
    ids=lambda path: path.stem,
)
def test_every_stated_count_is_compared(path: Path) -> None:
    """Three stitches too many stated behind any row of the first size are found at that row."""
    lines = path.read_text(encoding="utf-8").splitlines()
    counts = expectations(path)[0].counts
    for line_number, stitches in counts.items():
        row = lines[line_number - 1]
        stated = [found for found in STATED.finditer(row) if int(found[1]) == stitches]
        if not stitches or not stated or "(unchecked)" in row:
            continue
        place = stated[-1].span(1)
        if TARGET.search(row[: place[0]]):
            continue
        changed = row[: place[0]] + str(stitches + 3) + row[place[1] :]
        text = "\n".join([*lines[: line_number - 1], changed, *lines[line_number:]])
        document = read_pattern(text, row_reader())
        assert isinstance(document, PatternDocument)
        problems = document.check()[0].problems
        found = (line_number, -3) in {(each.line, each.off_by) for each in problems}
        assert found != ((path.stem, line_number) in UNCOMPARED), changed


@dataclass(frozen=True, slots=True)
class Line:
    """One written line: the stitches before and after it; none after if it is wrong.

    `doubtful` lines have two meanings, or one that is not known: they must not be counted.
    """

    number: int
    before: int
    words: str
    after: int | None
    read: bool
    doubtful: bool = False


def single_lines() -> list[Line]:
    """Return the lines of `lines.txt`; a question mark in front: not yet read as it should be."""
    found = []
    text = (FOLDER / "lines.txt").read_text(encoding="utf-8")
    for number, line in enumerate(text.splitlines(), start=1):
        if not line.startswith("#"):
            before, words, after = line.removeprefix("? ").split(" | ")
            found.append(
                Line(
                    number=number,
                    before=int(before),
                    words=words,
                    after=None if after in {"-", "refused"} else int(after),
                    read=not line.startswith("? "),
                    doubtful=after == "refused",
                )
            )
    return found


def line_is_counted(line: Line) -> bool:
    """Return whether a line alone in a pattern is read and leaves the count worked out by hand."""
    text = "\n".join(
        [
            'title = "One line"',
            f"cast_on = {line.before}",
            f"in_the_round = {json.dumps('rnd' in line.words.casefold())}",
            f"rows = [{json.dumps(line.words, ensure_ascii=False)}]",
        ]
    )
    document = read_pattern(text, row_reader())
    if not isinstance(document, PatternDocument):
        return line.doubtful
    verdict = document.check()[0]
    if line.after is None:
        return not verdict.ok
    counted = verdict.counts[-1].stitches if verdict.counts else line.before
    return verdict.ok and counted == line.after


def test_a_line_leaves_the_stitches_worked_out_by_hand(subtests: pytest.Subtests) -> None:
    """Each wording of a line leaves the count worked out by hand, or is refused if it cannot be.

    A line with a question mark in front is not yet read; once it is, the mark goes.
    """
    for line in single_lines():
        with subtests.test(place=f"lines.txt:{line.number}", line=line.words):
            assert line_is_counted(line) == line.read
