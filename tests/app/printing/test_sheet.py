"""What stands on the sheet beside the rows: units, materials, abbreviations, cautions, notes."""

from __future__ import annotations

import pytest

from app.pieces.pattern_cache import document_of
from app.printing.as_html import as_html
from app.printing.as_markdown import as_markdown
from app.printing.compose import compose
from app.printing.data import print_data
from engine.pattern import PatternDocument
from tests.app.printing.made_up import DEMO, composed, document, html

# What the demo patterns use, written down by hand from their files.
SLEEVE = ["k", "p", "rep", "RS", "st(s)", "WS", "*"]
CAP = ["beg", "k", "k2tog", "p", "pm", "rem", "rep", "rnd", "st(s)", "*"]


@pytest.mark.parametrize("name", DEMO)
def test_only_the_abbreviations_that_are_used_are_explained(name: str) -> None:
    """The list is exactly what a reader of the file finds in it."""
    signs = [one.sign for one in composed(name).sheet.abbreviations]
    assert signs == (CAP if name == "crew-cap" else SLEEVE)


def test_abbreviations_of_the_designer_and_of_lace_are_explained() -> None:
    """A stitch that the designer defines has her own words; spelled-out words are not listed."""
    vest = {one.sign: one.means for one in composed("vest").sheet.abbreviations}
    assert vest["mb2"].startswith("make a small bobble")
    assert "wyif" in vest
    assert "yo" not in vest
    lace = {one.sign: one.means for one in composed("lace").sheet.abbreviations}
    assert {"yo", "ssk", "k2tog", "sk2p", "pfb", "c4f"} <= set(lace)
    assert "slip the next 2 to a cable needle" in lace["c4f"]
    assert "kfb" not in lace


def test_measurements_of_all_sizes_stand_in_both_units() -> None:
    """The cap: 44, 48 and 52 cm are 17 1/4, 19 and 20 1/2 in (rounded to a quarter)."""
    found = composed("crew-cap").sheet.measurements
    assert found is not None
    assert found.columns == ("S", "M", "L")
    assert dict(found.lines)["Around"] == ("44 cm (17¼ in)", "48 cm (19 in)", "52 cm (20½ in)")
    assert dict(found.lines)["Depth"] == ("20 cm (7¾ in)", "22 cm (8¾ in)", "23.5 cm (9¼ in)")


# The figures that designers' tables print for these sizes, both given in the files.
@pytest.mark.parametrize(
    ("name", "width", "length"),
    [
        ("mug-sleeve", "24 cm (9½ in)", "8 cm (3⅛ in)"),
        ("bottle-sleeve", "26 cm (10¼ in)", "18 cm (7 in)"),
        ("lantern-sleeve", "32 cm (12½ in)", "14 cm (5½ in)"),
    ],
)
def test_measurements_that_state_both_units_keep_both(name: str, width: str, length: str) -> None:
    """The designer's own two figures are printed, not one of them converted."""
    found = composed(name).sheet.measurements
    assert found is not None
    lines = dict(found.lines)
    assert lines["Sewn width"] == (width,)
    assert lines["Length"] == (length,)


def test_measurements_that_contradict_themselves_are_told_to_the_designer() -> None:
    """24 cm and 12 in on one line are a slip; it is named, and the sheet is still made."""
    text = 'title = "x"\ncast_on = 4\nrows = ["Row 1: k to end"]\n'
    read = document_of(text + '[measurements]\nwidth = "24 cm, 12 in"\n')
    assert not isinstance(read, tuple)
    made = compose(read, print_data())
    assert made.remarks == ("Width: 24 cm and 12 in are not the same length.",)


def test_many_sizes_stand_in_one_line() -> None:
    """Columns for twelve sizes fit on no page; the trade's brackets do."""
    sizes = ", ".join(f'"{n}"' for n in range(1, 13))
    chest = f"80 ({', '.join(str(80 + 5 * n) for n in range(1, 12))}) cm"
    read = document_of(
        f'title = "x"\nsizes = [{sizes}]\ncast_on = 4\nrows = ["Row 1: k to end"]\n'
        f'[measurements]\nchest = "{chest}"\n'
    )
    assert not isinstance(read, tuple)
    found = compose(read, print_data()).sheet.measurements
    assert found is not None
    assert len(found.columns) == 1
    line = dict(found.lines)["Chest"]
    assert line[0].startswith(f"{chest} / 31½ (")
    assert len(line) == 1


def test_needles_are_named_in_millimetres_us_and_old_uk() -> None:
    """3.75 mm is US 5 and old UK 9; US 6 is 4 mm and old UK 8 (three of four tables agree)."""
    vest, lace = (dict(composed(name).sheet.materials)["Needle"] for name in ("vest", "lace"))
    assert vest[0] == "3.75 mm (US 5, old UK 9)"
    assert lace[0] == "US 6 (4 mm, old UK 8)"
    assert dict(composed("mug-sleeve").sheet.materials)["Needle"][0] == "4.5 mm (US 7, old UK 7)"


def test_a_needle_number_that_contradicts_the_table_is_told() -> None:
    """5 mm is US 8; a file that says US 9 gets a remark and keeps its words."""
    read = document_of(
        'title = "x"\ncast_on = 4\nneedle = "5 mm (US 9)"\nrows = ["Row 1: k to end"]\n'
    )
    assert not isinstance(read, tuple)
    made = compose(read, print_data())
    assert made.remarks == ("5 mm is US 8, not US 9.",)
    assert dict(made.sheet.materials)["Needle"][0] == "5 mm (old UK 6, US 9)"


def test_the_gauge_is_given_in_both_units_and_4_inches_are_not_10_cm() -> None:
    """20 to 10 cm are 20.32 to 4 in; 22 and 30 to 4 in are 21.65 and 29.53 to 10 cm."""
    assert "20¼ sts and 28½ rows to 4 in" in composed("mug-sleeve").sheet.gauge[1]
    assert "21¾ sts and 29½ rows to 10 cm" in composed("vest").sheet.gauge[1]
    assert "28½ rounds" in composed("crew-cap").sheet.gauge[1]


def test_yarn_for_the_chosen_size_in_both_units() -> None:
    """100 g are 3 1/2 oz, 200 m are 219 yd, and the size's own amount stands alone."""
    yarn = dict(composed("crew-cap", "M").sheet.materials)["Yarn"][0]
    assert yarn == "Medium (category 4), 100 g (3½ oz) to 200 m (219 yd); 55 g (2 oz)"


@pytest.mark.parametrize("name", DEMO)
def test_the_cautions_of_the_pattern_stand_before_its_rows(name: str) -> None:
    """They are on the sheet word for word, above the instructions."""
    page = html(name)
    for caution in document(name).cautions:
        assert caution in page
        assert page.index(caution) < page.index("Instructions</h2>")


def test_lanterns_with_a_flame_are_warned_of_in_title_and_text() -> None:
    """The sleeve for battery lanterns says so in its name and names every danger."""
    sheet = composed("lantern-sleeve").sheet
    assert "battery lanterns only" in sheet.title
    text = " ".join(sheet.cautions)
    for word in ("flame", "gas", "fuel", "hot bulbs", "vents", "charging", "skin"):
        assert word in text


def test_rules_for_small_children_only_where_the_pattern_is_for_them() -> None:
    """A baby's vest names the small-parts rule and its authority; a mug's sleeve does not."""
    vest = " ".join(composed("vest").sheet.cautions)
    assert "16 CFR 1501.4" in vest
    assert "check the rules where you live" in vest
    assert "drawstrings" not in vest
    for name in DEMO:
        assert "CFR" not in " ".join(composed(name).sheet.cautions)


@pytest.mark.parametrize("name", [*DEMO, "vest", "lace"])
def test_nothing_is_called_safe(name: str) -> None:
    """The sheet promises no safety, reminds of rests once, and leaves pain to a professional."""
    page = html(name).casefold()
    for word in (" safe", "compliant", "prevents", "cures"):
        assert word not in page
    assert page.count("rest your hands") == 1
    assert "ask a doctor or physiotherapist" in page


def test_care_goes_by_the_fibre_that_the_yarn_names() -> None:
    """Cotton in the vest and wool in the lace have their care; the demo names no fibre."""
    assert composed("vest").sheet.care[0].startswith("Cotton: wash")
    assert "felts" in composed("lace").sheet.care[0]
    assert composed("mug-sleeve").sheet.care == ()


def test_open_parts_say_about_how_many_rows_they_take() -> None:
    """16.5 cm at 28 rows to 10 cm are 46 rows when the last one is a wrong-side row."""
    rows = [row for part in composed("bottle-sleeve").sheet.pieces[0].parts for row in part.rows]
    assert [row.about for row in rows if row.about] == ["about 46 rows in all"]
    rounds = [row for part in composed("crew-cap").sheet.pieces[0].parts for row in part.rows]
    assert [row.about for row in rounds if row.about] == [
        "about 11 rounds in all",
        "about 36 (39, 42) rounds in all",
    ]


def test_the_designer_stands_below_the_title_and_colours_among_the_materials() -> None:
    """Who made it comes first; letters of yarns are explained where the yarn is named."""
    text = """title = "Star"
designer = "The hut crew"
materials = "5 buttons."
cast_on = 8
rows = ["Row 1: k2 A, pm, k6 B", "Work until piece measures 5 cm"]
[colours]
A = "natural"
B = "red"
"""
    read = document_of(text)
    assert isinstance(read, PatternDocument), read
    sheet = compose(read, print_data()).sheet
    assert sheet.byline == "Designed by The hut crew."
    assert dict(sheet.materials)["Colours"] == ("A natural, B red",)
    assert dict(sheet.materials)["Also needed"] == ("5 buttons, stitch markers, tape measure",)
    assert sheet.facts == ()
    assert sheet.measurements is None
    page = as_html(sheet, "")
    assert page.index("<h1>") < page.index(sheet.byline) < page.index("One size.")
    assert "Designed by The hut crew." in as_markdown(sheet).splitlines()[2]


def test_abbreviations_in_every_spelling_are_explained() -> None:
    """Glued to its stitch, with dots, or with a hyphen, it is the same abbreviation."""
    wording = print_data().wording

    def signs(text: str) -> set[str]:
        return {one.sign for one in wording.abbreviations_in(text)}

    assert "tbl" in signs("*k1tbl, p1*")
    assert "psso" in signs("sl.1, K.1, p.s.s.o., K. to end")
    assert "St st" in signs("proceed in st.-st.")
    assert {"N", "eor"} <= signs("N1: k; dec eor")
    assert "N" not in signs("n1")
