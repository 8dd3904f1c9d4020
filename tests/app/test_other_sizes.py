"""From one knitted piece to every size of a table: stitches kept, counts right, the rest told."""

from __future__ import annotations

import tomllib
from fractions import Fraction
from typing import TYPE_CHECKING

import pytest

from app import resources
from app.command_line import main
from app.pieces.pattern_cache import course_of, document_of
from app.pieces.sized_pattern import read_course
from engine.compose.all_sizes import in_brackets, merged
from engine.compose.resized import Knitted, Resized, resized
from engine.compose.written_pattern import WrittenLine, WrittenSection, pattern_text
from engine.pattern import Course, PatternDocument
from tests.app.test_pattern_from import CREW_CAP, MUG_SLEEVE
from tests.app.test_pattern_from import knitted as said

if TYPE_CHECKING:
    from pathlib import Path

    from engine.state import PieceState

ROWS_PER_CM = Fraction(28, 10)
SHAPED = "this row knit one slip slip knit, knit to the last three, knit two together, knit one"
PLAIN = ("this row purl", "row done", "this row knit", "row done", "this row purl", "row done")
TAPERED = ("cast on sixty stitches", *((SHAPED, "row done", *PLAIN) * 6))


def knitted(path: Path, name: str, sentences: tuple[str, ...]) -> PieceState:
    """Return a piece that was made up by saying these sentences; its journal is closed again."""
    talk = said(path, name, sentences)
    talk.close()
    return talk.state


def piece_of(path: Path, name: str, sentences: tuple[str, ...]) -> Knitted:
    """Return a piece that was made up by saying these sentences, at 28 rows to 10 cm."""
    state = knitted(path / "made.db", name, sentences)
    return Knitted(state, course_of(state), ROWS_PER_CM)


def course_over(piece: Knitted, cast_on: int, larger: Fraction) -> tuple[Resized, Course]:
    """Return the piece over another cast-on, as the reader reads it; it has to add up."""
    made = resized(piece, cast_on, larger)
    assert made is not None
    head = ['title = "Other"', f"cast_on = {cast_on}"]
    head += ["in_the_round = true"] if piece.in_round else []
    course = read_course(pattern_text(head, made.sections))
    assert course is not None, made.sections
    return made, course


@pytest.mark.parametrize(("size", "cast_on"), [("M", 96), ("L", 104)])
def test_the_crown_of_another_size_is_the_shipped_one(
    tmp_path: Path, size: str, cast_on: int
) -> None:
    """From the cap invented in S, M and L close round by round as their pattern has it."""
    piece = piece_of(tmp_path, "Crew cap", CREW_CAP)
    made, course = course_over(piece, cast_on, Fraction(cast_on, 88))
    document = document_of(resources.text("shared/patterns/crew-cap.toml"))
    assert isinstance(document, PatternDocument)
    shipped = document.course(size)

    def crown(one: Course, ends: tuple[int, ...]) -> list[tuple[str, int | None]]:
        ended = {loop.id: row for loop, row in zip(one.loops, ends, strict=True)}
        first = ends[-1] + 1
        rows = [one.where(ended, row) for row in range(first, first + (cast_on - 8) // 4 - 1)]
        return [(str(row.instruction), row.after) for row in rows]

    assert crown(course, made.ends) == crown(shipped, (11, 40))
    assert crown(course, made.ends)[-1][1] == 8


def test_a_tapered_piece_keeps_its_share_of_the_stitches(tmp_path: Path) -> None:
    """60 to 48 stitches in 21 rows become 90 to 72 in half as many rows more, on the same side."""
    piece = piece_of(tmp_path, "Tapered", TAPERED)
    made, course = course_over(piece, 90, Fraction(3, 2))
    places = [course.where({}, row) for row in range(1, made.rows + 1)]
    shaping = [place.row for place in places if place.before != place.after]
    assert (places[0].before, places[-1].after) == (90, 72)
    assert len(shaping) == 9
    assert shaping[-1] - shaping[0] == pytest.approx(20 * 1.5, abs=1)
    assert {row % 2 for row in shaping} == {1}
    assert {str(p.instruction) for p in places if p.row % 2 == 0} == {"p to end"}


def test_every_size_of_the_head_table_by_independent_arithmetic(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Cast-ons are worked out from the table's inches anew: those within 3 %, and no others."""
    knitted(tmp_path / "made.db", "Crew cap", CREW_CAP)
    file = tmp_path / "caps.toml"
    code = main(
        ["pattern-from", "Crew cap", "--journal", str(tmp_path / "made.db"), "--sizes", "head",
         "--ease", "7.5% smaller", "--gauge", "20x28", "--within", "3%", "--to", str(file)]
    )  # fmt: skip
    assert code == 0
    table = tomllib.loads(resources.text("shared/tables/sizes.toml"))["head_trade"]["row"]
    expected, missed = [], []
    for row in table:
        wanted = row["inches"] * 2.54 * 0.925
        count = min(range(8, 200, 8), key=lambda n: abs(n / 2 - wanted))  # 2 stitches to 1 cm
        if abs(count / 2 - wanted) <= 0.03 * wanted:
            expected.append(count)
        else:
            missed.append(row["name"])
    assert missed == ["toddler", "child"]
    document = document_of(file.read_text(encoding="utf-8"))
    assert isinstance(document, PatternDocument)
    courses = [document.course(size) for size in document.sizes]
    assert [one.cast_on for one in courses] == expected
    assert not any(one.problems for one in courses)
    told = capsys.readouterr().err
    assert "toddler (16 in (40.6 cm)): not written" in told
    assert "the nearest are 72 for 36 cm" in told
    assert "80 for 40 cm" in told
    page = tmp_path / "caps.md"
    assert main(["write", str(file), "--to", str(page)]) == 0
    printed = page.read_text(encoding="utf-8")
    assert "| Around | 28 cm (11 in) | 32 cm (12½ in) | 48 cm (19 in) | 52 cm (20½ in) |" in printed


def test_a_rib_with_edges_keeps_its_multiple(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The mug sleeve's 4 plus 2 holds in every size of the hands' table that is written."""
    knitted(tmp_path / "made.db", "Mug sleeve", MUG_SLEEVE)
    arguments = ["pattern-from", "Mug sleeve", "--journal", str(tmp_path / "made.db"), "--edges",
                 "2", "--sizes", "hand", "--ease", "8% smaller", "--gauge", "20x28"]  # fmt: skip
    assert main(arguments) == 0
    document = document_of(capsys.readouterr().out)
    assert isinstance(document, PatternDocument)
    counts = [document.course(size).cast_on or 0 for size in document.sizes]
    assert counts == [22, 26, 34, 34]
    assert all(count % 4 == 2 for count in counts)


@pytest.mark.parametrize(
    ("more", "words"),
    [
        (["--sizes", "chest", "--ease", "0%", "--gauge", "20x28"], "No size table is called"),
        (["--sizes", "head"], "need --sizes and --ease"),
        (["--ease", "0%"], "need --sizes and --ease"),
        (["--sizes", "head", "--ease", "0%"], "say --gauge"),
        (["--sizes", "foot", "--ease", "0%", "--gauge", "1x2"], "no size of the table"),
    ],
)
def test_what_is_missing_is_said(
    tmp_path: Path, more: list[str], words: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """No such table, no ease, no gauge, nothing that fits: one sentence, nothing written."""
    knitted(tmp_path / "made.db", "Crew cap", CREW_CAP)
    file = tmp_path / "out.toml"
    journal = ["--journal", str(tmp_path / "made.db"), "--to", str(file)]
    assert main(["pattern-from", "Crew cap", *journal, *more]) in {1, 2}
    assert words in capsys.readouterr().err
    assert not file.exists()


def test_sizes_are_merged_line_by_line() -> None:
    """What is alike is written once with brackets, what some sizes only have says so."""
    small = ["Row 1: k5", "Next row: k2tog"]
    large = ["Row 1: k7", "Next row: k3", "Next row: k2tog"]
    written = [
        [WrittenSection("a", "A", [WrittenLine(text) for text in rows])]
        for rows in (small, large, large)
    ]
    (section,) = merged(["S", "M", "L"], written)
    assert [line.text for line in section.lines] == [
        "Row 1: k5 (7, 7)", "Sizes M and L only: Next row: k3", "Next row: k2tog",
    ]  # fmt: skip
    assert in_brackets([4, 4, 4]) == "4"
