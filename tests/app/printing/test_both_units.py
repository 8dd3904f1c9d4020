"""Free text in both units: what is converted, what is left alone, how it is set."""

from __future__ import annotations

import pytest

from app.printing.both_units import in_both_units, typeset
from app.printing.measured import computed, graded_measure, read_measurement
from engine.quantities import centimetres, inches


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("until piece measures 16.5 cm from", "until piece measures 16.5 cm (6½ in) from"),
        ("measures 13 (14, 15) cm", "measures 13 (14, 15) cm / 5 (5½, 6) in"),
        ('7" from cast on', '7" (18 cm) from cast on'),
        ("6 (7, -) cm", "6 (7, -) cm / 2⅜ (2¾, -) in"),
        ("100 g to 200 m", "100 g (3½ oz) to 200 m (219 yd)"),
        ("50 g to 125 yds", "50 g (1¾ oz) to 125 yds (114 m)"),
        ("a tail of 1 1/2 in", "a tail of 1½ in (3.8 cm)"),
        ("12 g", "12 g (½ oz)"),
        # A length behind a weight is no conversion of it: both get their companion.
        ("100 g (220 yd)", "100 g (3½ oz) (220 yd (201 m))"),
        ("100 g / 220 yd", "100 g (3½ oz) / 220 yd (201 m)"),
    ],
)
def test_a_figure_gets_its_companion(text: str, expected: str) -> None:
    """In the other system, rounded, for every size where there are several."""
    assert in_both_units(text) == expected


@pytest.mark.parametrize(
    "text",
    [
        "24 cm, 9½ in",
        "4 in (10 cm)",
        "10 cm/4 in",
        "13 (14, 15) cm / 5 (5½, 6) in",
        "4.5 mm (US 7)",
        "k3 in next st",
        "rep 3 in a row",
        "2 in the next stitch",
        "m1, k9, yo",
        "C4F, 1/2 RC, 2/1 LPC",
        "Row 1/2",
        "",
    ],
)
def test_what_has_both_or_is_no_length_is_left_alone(text: str) -> None:
    """A figure with its companion stays, and so do needles, stitches and plain words."""
    assert in_both_units(text) == text


def test_converting_again_changes_nothing() -> None:
    """A text that was converted is left alone the second time."""
    for text in ("5 cm", "3 (4, 5) in", "100 g to 200 m", "about 2 1/4 in, then 8 cm"):
        once = in_both_units(text)
        assert in_both_units(once) == once


def test_fractions_are_set_as_print_has_them() -> None:
    """Halves, quarters, eighths and thirds become one sign; others and crossings stay."""
    assert typeset("9 1/2 in, 3/4 of it, 5-3/8, 2/7, 10 2/3") == "9½ in, ¾ of it, 5⅜, 2/7, 10⅔"
    assert typeset("1/2 rc, 1/2 LT") == "1/2 rc, 1/2 LT"


def test_a_measurement_is_read_for_every_size_or_not_at_all() -> None:
    """One figure stands for all sizes, a dash for a size without it; words are no measurement."""
    three = read_measurement("44 (-, 52) cm", 3)
    assert three is not None
    assert [str(one) for one in three] == ["44 cm (17¼ in)", "None", "52 cm (20½ in)"]
    assert read_measurement("26 cm", 3) == read_measurement("26 (26, 26) cm", 3)
    assert read_measurement("about the hips", 1) is None
    assert read_measurement("44 (48) cm", 3) is None
    assert read_measurement("20 cm wide", 1) is None
    assert read_measurement("20 cm, 30 cm", 1) is None


def test_a_measurement_of_all_sizes_in_one_line() -> None:
    """The sizes stand in brackets, first in the designer's unit."""
    values = read_measurement("20 (22, 23.5) cm", 3)
    assert values is not None
    assert graded_measure(values) == "20 (22, 23.5) cm / 7¾ (8¾, 9¼) in"
    assert graded_measure([computed(centimetres(8))]) == "8 cm (3⅛ in)"
    assert str(computed(inches(9))) == "9 in (23 cm)"


def test_inches_in_old_books_are_inches_too() -> None:
    """Both "ins." and "in." may end with a dot that is no full stop."""
    assert in_both_units("rib for 3 ins.") == "rib for 3 ins (7.5 cm)."
    assert in_both_units("12½ ins. from beg.") == "12½ ins. (32 cm) from beg."
    assert in_both_units("work 4 in. in rib") == "work 4 in. (10 cm) in rib"
