"""Schematic and fabric picture: to scale, with the right measurements, from the same stitches."""

from __future__ import annotations

from collections import Counter
from fractions import Fraction
from itertools import pairwise

import pytest

from app.drawings.fabric import DrawnRow, DrawnStitch, Seen
from app.pieces.pattern_cache import document_of
from app.printing.as_html import as_html
from app.printing.compose import compose
from app.printing.data import print_data
from app.printing.fabric_drawing import cut_out, draw_fabric
from app.printing.outline import Outline, outline_of
from app.printing.shapes import Area, CurveShape, LineShape, Stamped, Words
from app.printing.walked import WalkedDatum, datum_of, walk
from engine.facts.stated_gauge import read_stated_gauge
from engine.pattern import PatternDocument
from tests.app.printing.made_up import composed, document


def outline(name: str, size: str | None = None, piece: str | None = None) -> Outline:
    """Return the outline of a piece."""
    whole = document(name)
    gauge = read_stated_gauge(whole.gauge)
    assert gauge is not None
    found = outline_of(walk(whole.course(size, piece), gauge.rows_per_10cm), gauge)
    assert found is not None
    return found


# Rows as worked out by hand for these sleeves: 28 rows to 10 cm.
@pytest.mark.parametrize(
    ("name", "stitches", "rows"),
    [("mug-sleeve", 50, 22), ("bottle-sleeve", 54, 50), ("lantern-sleeve", 66, 40)],
)
def test_a_sleeve_is_a_rectangle_of_its_stitches_and_rows(
    name: str, stitches: int, rows: int
) -> None:
    """The rows that the gauge gives are those of the plan for the mug, the bottle, the lantern."""
    found = outline(name)
    assert [level.width for level in found.levels] == [stitches, stitches]
    assert found.levels[-1].rows == rows
    assert found.width(stitches).value == Fraction(stitches, 2)


def test_the_schematic_is_to_scale() -> None:
    """Width by height of the drawn outline is width by height of the piece."""
    for name in ("mug-sleeve", "bottle-sleeve", "lantern-sleeve"):
        figure = composed(name).sheet.pieces[0].schematic
        assert figure is not None
        area = next(one for one in figure.drawing.shapes if isinstance(one, Area))
        xs = [x for x, _ in area.points]
        ys = [y for _, y in area.points]
        drawn = (max(xs) - min(xs)) / (max(ys) - min(ys))
        found = outline(name)
        real = (found.widest / 2) / (found.levels[-1].rows / 2.8)
        assert drawn == pytest.approx(real, rel=1e-6)


def test_a_cap_is_drawn_flat_and_measured_around() -> None:
    """It is half as wide as around, has all sizes' measurements, and narrows to its crown."""
    figure = composed("crew-cap").sheet.pieces[0].schematic
    assert figure is not None
    words = [one.text for one in figure.drawing.shapes if isinstance(one, Words)]
    assert "44 (48, 52) cm around" in words
    assert "17¼ (19, 20½) in around" in words
    assert "20 (22, 23.5) cm" in words
    area = next(one for one in figure.drawing.shapes if isinstance(one, Area))
    xs, ys = [x for x, _ in area.points], [y for _, y in area.points]
    found = outline("crew-cap", "S")
    real = (found.widest / 2 / 2) / (found.levels[-1].rows / 2.8)
    assert (max(xs) - min(xs)) / (max(ys) - min(ys)) == pytest.approx(real, rel=1e-6)
    assert found.levels[-1].width == 8


def test_heights_of_parts_add_up_to_the_whole() -> None:
    """Brim, body and crown of the cap are 4, 9 and 7 cm of its 20 cm."""
    found = outline("crew-cap", "S")
    assert [float(stage.top - stage.bottom) for stage in found.stages] == [4, 9, 7]
    assert found.height.value == 20


def test_where_stitches_are_divided_the_outline_ends() -> None:
    """A neck bound off in the middle ends the drawing with a dashed line and a sentence."""
    figure = composed("vest").sheet.pieces[0].schematic
    assert figure is not None
    assert any(isinstance(one, LineShape) and one.dash == 2 for one in figure.drawing.shapes)
    assert any("divided" in caption for caption in figure.captions)
    bold = [one.text for one in figure.drawing.shapes if isinstance(one, Words) and one.bold]
    assert bold
    assert all(text.endswith(" in") for text in bold), "the pattern's own unit comes first"


@pytest.mark.parametrize(
    ("text", "where", "for_length", "expected"),
    [
        (
            "until piece measures 16.5 cm from cast-on edge",
            "from cast-on edge",
            False,
            WalkedDatum.CAST_ON,
        ),
        ("until piece measures 5 in", "", False, WalkedDatum.CAST_ON),
        ("work even until armhole measures 4 in", "", False, WalkedDatum.ARMHOLE),
        ("work for 5 cm", "", True, WalkedDatum.HERE),
        ("until piece measures 3 in from underarm", "from underarm", False, WalkedDatum.HERE),
        ("until border measures 2 cm", "", False, WalkedDatum.HERE),
    ],
)
def test_a_length_is_measured_from_where_it_says(
    text: str, where: str, *, for_length: bool, expected: WalkedDatum
) -> None:
    """From the cast-on unless the line names an armhole, another place, or its own length."""
    assert datum_of(text, where, for_length=for_length) is expected


def test_the_fabric_has_every_stitch_of_the_piece() -> None:
    """The mug's sleeve: 50 stitches by 22 rows, and both edges of 50."""
    figure = composed("mug-sleeve").sheet.pieces[0].fabric
    assert figure is not None
    stamped = [one for one in figure.drawing.shapes if isinstance(one, Stamped)]
    assert len(stamped) == 50 * 22 + 2 * 50
    purls = sum(one.stamp == "purl" for one in stamped)
    # Eight rib rows with 24 purls each, and the two seam stitches of seven wrong-side rows.
    assert purls == 8 * 24 + 7 * 2


def test_a_part_of_a_wide_fabric_is_cut_out_stitch_by_stitch() -> None:
    """What stands on the right half of a cap's stitches is half of every round."""
    rows = walk(document("crew-cap").course("S"), Fraction(28)).drawn(60)
    half = cut_out(rows, 44)
    assert [len(row.stitches) * 2 for row in half] == [len(row.stitches) for row in rows]
    for below, row in pairwise(half):
        for stitch in row.stitches:
            assert all(0 <= column < len(below.stitches) for column in stitch.out_of)


def test_a_left_handers_fabric_is_the_mirror_image() -> None:
    """Every stitch lies as far from the other edge, and there are as many."""
    right, left = (
        composed("mug-sleeve", left_handed=hand).sheet.pieces[0].fabric for hand in (False, True)
    )
    assert right is not None
    assert left is not None
    lefts, rights = (
        [
            (one.stamp, one.matrix[4], one.matrix[5])
            for one in figure.drawing.shapes
            if isinstance(one, Stamped)
        ]
        for figure in (left, right)
    )
    ends = min(x for _, x, _ in rights) + max(x for _, x, _ in rights)
    turned = Counter((stamp, round(ends - x, 2), round(y, 2)) for stamp, x, y in lefts)
    assert turned == Counter((stamp, round(x, 2), round(y, 2)) for stamp, x, y in rights)


def _wools(letters: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(one.hex for one in print_data().wools.of("any title", "", letters))


def test_a_yarn_has_the_colour_that_the_pattern_names() -> None:
    """A is natural and B red by the words; a word that nobody knows leaves it to the wools."""
    wools = print_data().wools
    said = [wools.words[word] for word in ("natural", "red")]
    assert list(wools.of("x", "A natural, B dark red", ("A", "B"))) == said
    assert wools.of("x", "A natural, B dusk", ("A", "B"))[0] == wools.theme.wool_for("x")
    assert wools.of("x", "", ("",)) == (wools.theme.wool_for("x"),)


def test_yarns_are_told_apart_without_colours() -> None:
    """Each yarn has a lightness of its own in print, and every row names its yarns."""
    first = DrawnRow(
        1, tuple(DrawnStitch(Seen.KNIT, (at,), colour="ab"[at % 2]) for at in range(6))
    )
    drawing = draw_fabric((first,), "six stitches", _wools)
    greys = {
        name: {curve.ink for curve in curves if isinstance(curve, CurveShape)}
        for name, curves in drawing.stamps.items()
    }
    assert set(greys) == {"knit", "knit-1"}
    assert greys["knit"] != greys["knit-1"]
    words = [shape.text for shape in drawing.shapes if isinstance(shape, Words)]
    assert words == ["1 B A"]


def test_what_is_not_worked_in_a_short_row_is_only_outlined() -> None:
    """Stitches that a short row leaves alone are drawn faintly in that row."""
    short = DrawnRow(1, tuple(DrawnStitch(Seen.KNIT, (at,), idle=at < 2) for at in range(5)))
    drawing = draw_fabric((short,), "a short row", _wools)
    stamped = [shape.stamp for shape in drawing.shapes if isinstance(shape, Stamped)]
    assert (stamped.count("knit"), stamped.count("knit-idle")) == (3, 2)


def test_pieces_of_one_outline_share_a_schematic() -> None:
    """Back and front are drawn once, with both their titles; the sleeve has its own."""
    text = """title = "Jumper"
gauge = "20 sts and 28 rows to 10 cm"
[[piece]]
title = "Back"
cast_on = 60
rows = ["Row 1: k to end", "Rows 2-40: work in st st", "Bind off all sts"]
[[piece]]
title = "Front"
cast_on = 60
rows = ["Work as given for Back"]
[[piece]]
title = "Sleeve"
cast_on = 40
rows = ["Row 1: k to end", "Rows 2-40: work in st st", "Bind off all sts"]
"""
    read = document_of(text)
    assert isinstance(read, PatternDocument), read
    sheet = compose(read, print_data()).sheet
    assert [names for names, _ in sheet.schematics] == ["Back, Front", "Sleeve"]
    page = as_html(sheet, "")
    assert "<h2>Schematic: Back, Front</h2>" in page
    assert page.count("<h2>Schematic") == 2


def test_the_widest_width_of_a_schematic_stands_clear_of_its_line() -> None:
    """Its words end above the dashed line that it measures."""
    text = """title = "Sleeve"
gauge = "20 sts and 28 rows to 10 cm"
cast_on = 40
rows = [
  "Inc 1 st each end of next and every foll 6th row to 60 sts", "Work 10 rows in st st",
  "Dec 1 st each end of every row until 20 sts rem", "Bind off all sts",
]
"""
    read = document_of(text)
    assert isinstance(read, PatternDocument), read
    (piece,) = compose(read, print_data()).sheet.pieces
    assert piece.schematic is not None
    shapes = piece.schematic.drawing.shapes
    (line,) = [one for one in shapes if isinstance(one, LineShape) and one.dash]
    inside = [one for one in shapes if isinstance(one, Words) and 0 < line.y1 - one.y < 10]
    assert "30 cm" in " ".join(one.text for one in inside)
    assert all(line.y1 - one.y > 1 for one in inside)
