"""Rows and whole pieces that another part of the pattern has given, called by its name."""

from __future__ import annotations

import json

import pytest

from app.pieces.pattern_cache import row_reader
from engine.pattern import PatternDocument, SizeVerdict, read_pattern

BACK = ("Row 1: *k1, p1; rep from * to end.", "Row 2: k1, k2tog, k to end.", "Row 3: k")


def verdict(
    second: str, *lines: str, first: str = "Back", rows: tuple[str, ...] = BACK
) -> SizeVerdict:
    """Return what the check says of two pieces of 40 stitches: titles, and their rows."""
    text = ['title = "Two pieces"']
    for title, written in ((first, rows), (second, lines)):
        text += ["[[piece]]", f"title = {json.dumps(title)}", "cast_on = 40"]
        text += [f"rows = {json.dumps(written, ensure_ascii=False)}"]
    document = read_pattern("\n".join(text), row_reader())
    assert isinstance(document, PatternDocument), document
    return document.check()[0]


def last(said: SizeVerdict) -> int | None:
    """Return the stitches after the last line; everything has to be right."""
    assert said.ok, said.problems
    return said.counts[-1].stitches


@pytest.mark.parametrize(
    ("title", "line"),
    [
        ("Strip 1 (make 3)", "Work as for Strip 1."),
        ("Strip 1, make 3", "Work as for Strip 1."),
        ("Sleeve (both alike)", "Work as for sleeves."),
        ("Sleeves [make 2]", "Work as for sleeves."),
    ],
)
def test_a_piece_is_named_without_how_often_it_is_made(title: str, line: str) -> None:
    """The title says also how many are made; who means the piece does not repeat that."""
    assert last(verdict("Other", line, first=title)) == 39


def test_a_piece_is_not_taken_for_one_whose_number_begins_alike() -> None:
    """Strip 12 is another strip than strip 1."""
    said = verdict("Other", "Work as for Strip 12.", first="Strip 1 (make 3)")
    assert "not clear" in said.problems[0].message


@pytest.mark.parametrize(
    ("line", "after"),
    [
        ("Work Rows 1 and 2 of Back rib for 2½ in, ending with a WS row.", None),
        ("Work Rows 1 and 3 of Back for 2½ in.", 40),
        ("Work Rows 1 and 3 of the back 4 times (40 sts)", 40),
        ("Work Row 2 of Back 4 times.", 36),
        ("Work Rows 1-3 of Back. 39 sts", 39),
        ("Work rows 1 and 3 of back for 7 rows.", 40),
    ],
)
def test_rows_of_another_piece_are_worked_by_number(line: str, after: int | None) -> None:
    """They are taken from there, whatever numbers the piece has itself."""
    assert last(verdict("Sleeve", line)) == after
    own = ("Row 1: k.", "Row 2: k1, k2tog, k to end.", "Row 3: k.")
    assert last(verdict("Sleeve", *own, "Rep rows 1-3 of Sleeve once more.")) == 38


def test_rows_of_a_piece_that_does_not_have_them_are_refused() -> None:
    """Neither are rows of its own taken instead, nor those of a piece that is not there."""
    own = ("Row 1: k.", "Row 9: k.")
    said = verdict("Sleeve", *own, "Work rows 1 and 9 of Back.")
    assert "no row 9 of 'back'" in said.problems[0].message
    said = verdict("Sleeve", *own, "Work rows 1 and 9 of Front 3 times.")
    assert "of 'front'" in said.problems[0].message
    said = verdict("Sleeve", "Rows 1-4: work rows 1 and 3 of Back.")
    assert "stand elsewhere" in said.problems[0].message


def test_rows_of_a_stitch_pattern_are_not_those_of_the_piece() -> None:
    """By its name the rows of the stitch pattern are meant."""
    text = """
title = "Lattice"
cast_on = 40
[[stitch_pattern]]
name = "Hut lattice"
rows = ["Row 1: k", "Row 2: k2tog, k to end"]
[[section]]
title = "Body"
rows = ["Row 1: p", "Row 2: p", "Work rows 1-2 of Hut lattice 3 times."]
"""
    document = read_pattern(text, row_reader())
    assert isinstance(document, PatternDocument)
    assert last(document.check()[0]) == 37


PICKED_UP = "with rem st on needle, pick up and k 10 sts along left edge of first square"
SQUARE = (
    "Row 1 (WS): k.",
    "Row 2 (RS): k9, s2kp, k to end. (19 sts)",
    "Row 3: k.",
    "Row 4: k8, s2kp, k to end. (17 sts)",
    "Row 5 and every WS row: k.",
    "Cont to dec 2 sts at centre of every RS row in this manner until 3 sts rem.",
    "Next row (WS): k.",
    "Next row: cdd. (1 st)",
    f"Second square: {PICKED_UP}, cast on 10 sts. (21 sts)",
)


def squares(*lines: str) -> SizeVerdict:
    """Return what the check says of these lines after the first square."""
    text = f"title = 'Squares'\ncast_on = 21\nrows = {json.dumps((*SQUARE, *lines))}"
    document = read_pattern(text, row_reader())
    assert isinstance(document, PatternDocument), document
    return document.check()[0]


def test_a_second_module_goes_on_like_the_first() -> None:
    """After the rows by number come the lines that followed them in the first one."""
    assert last(squares("Rep Rows 1-5.", "Cont as for first square until 1 st rem.")) == 1
    assert last(squares("Work as for first square until 1 st remains.", "Fasten off.")) == 0


def test_a_second_module_that_ends_otherwise_is_found() -> None:
    """The stitches that are said to remain are compared; what is not clear is refused."""
    said = squares("Rep Rows 1-5.", "Cont as for first square until 3 sts rem.")
    assert "1 stitch" in said.problems[0].message
    said = squares("Rep Rows 1-5.", "Knit 2 rows.", "Cont as for first square.")
    assert "not clear" in said.problems[0].message
    said = squares("Work as for first triangle.")
    assert "not clear" in said.problems[0].message
