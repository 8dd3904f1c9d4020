"""The figures in the tables of rests, things for children and care, as their bodies print them."""

from __future__ import annotations

import re
import tomllib
from fractions import Fraction

import pytest

from app import resources
from engine.forecast.breaks import LONGEST_MINUTES, SHORTEST_MINUTES
from engine.forecast.yarn import rows_kept_back
from engine.plan.advice_tables import read_breaks, read_child_rules
from engine.plan.tables import read_care
from engine.quantities import Length, LengthUnit

BREAKS = read_breaks(resources.text("shared/tables/breaks.toml"))
CHILD = {one.topic: one for one in read_child_rules(resources.text("shared/tables/safety.toml"))}
CARE = read_care(resources.text("shared/tables/care.toml"))


@pytest.mark.parametrize(
    ("body", "figures"),
    [
        # HSE, guidance L26 to regulation 4 of the DSE Regulations 1992 (the figures second hand)
        ("Health and Safety Executive", ["5 to 10 minutes", "50 to 60 minutes"]),
        # Galinsky and others, Ergonomics 43 (2000) 622-638: CDC's own record of it
        ("National Institute for Occupational Safety", ["five extra minutes in each hour"]),
        # Galinsky and others, American Journal of Industrial Medicine 50 (2007) 519
        ("National Institute for Occupational Safety", ["four extra five-minute breaks a day"]),
        ("Ministry of Labour, Ontario", ["5 minutes per hour"]),
        ("Stanford University", ["half a minute to a minute every ten", "two minutes"]),
        ("University of New South Wales", ["one or two minutes every half hour"]),
    ],
)
def test_rests_as_published(body: str, figures: list[str]) -> None:
    """Each body with its own figures; all of it is about office work, and the file says so."""
    said = " ".join(one.says for one in BREAKS.published if body in one.body)
    for figure in figures:
        assert figure in said
    assert "none about knitting" in resources.text("shared/tables/breaks.toml")


def test_the_usual_rest_lies_within_what_is_published() -> None:
    """From every ten minutes (Stanford) to every hour (HSE, NIOSH, Ontario), half an hour usual."""
    assert (SHORTEST_MINUTES, LONGEST_MINUTES) == (10, 60)
    assert SHORTEST_MINUTES <= BREAKS.every_minutes <= LONGEST_MINUTES


def test_the_cylinder_for_small_parts() -> None:
    """16 CFR 1501.4: 1.25 in wide, 1 to 2.25 in deep; the inches govern, the print cuts the mm."""
    figure = CHILD["small parts, under three years"].figure
    printed = {"1.25": "31.7", "2.25": "57.1", "1": "25.4"}
    for inches, mm in printed.items():
        exact = Length(Fraction(inches), LengthUnit.IN).to(LengthUnit.MM).value
        assert 0 <= exact - Fraction(mm) < Fraction(1, 10)
        assert mm in figure
    assert "1.25 in" in figure
    assert "2.25 in" in figure


def test_cords_as_published() -> None:
    """EN 14682 as the Finnish authority Tukes states it; 16 CFR 1120 for the United States."""
    europe = CHILD["hoods and necks, European Union"]
    assert {"7", "134", "14"} <= set(re.findall(r"\d+", europe.figure))
    assert "does not cover gloves, hats, bonnets and scarves" in europe.note
    states = CHILD["hoods and necks, United States"].figure
    assert "2T to 12" in states
    assert "2T to 16" in states
    three = Length(Fraction(3), LengthUnit.IN).to(LengthUnit.MM).value
    assert "3 in (75 mm)" in states
    assert abs(three - 75) < 2  # the print rounds 76.2 down
    assert "12 months" in CHILD["infant sleep"].figure


def test_care_stays_below_what_the_symbols_allow() -> None:
    """
    GINETEX's table of care symbols: hand wash at most 40 degrees, irons at 110, 150 and 200.

    What is advised is that or milder, wool at most 30; a fibre that cannot be ironed has none.
    """
    for fibre in CARE:
        degrees = [int(found) for found in re.findall(r"(\d+) (?:or \d+ )?°C", fibre.wash)]
        degrees += [int(found) for found in re.findall(r"or (\d+) °C", fibre.wash)]
        assert all(one <= 40 for one in degrees), fibre.name
        assert fibre.iron_c in {0, 110, 150, 200}, fibre.name
    wool = next(one for one in CARE if one.name == "wool")
    assert wool.felts
    assert "30 °C" in wool.wash


def test_felting_is_of_animal_fibres_only() -> None:
    """Greeff and Schlink, WCGALP 2002: felting is a unique property of animal fibres."""
    data = tomllib.loads(resources.text("shared/tables/care.toml"))["fibre"]
    assert all(row["animal"] for row in data if row["felts"])


def test_the_yarn_kept_back_covers_a_sewn_bind_off() -> None:
    """
    A measured sewn bind-off took 56 cm of yarn along 12 cm, 4.67 widths (a knitter's page).

    Kept back are four widths and 30 cm, in rows of four widths each: more than that.
    """
    width, measured = 12.0, 56.0
    assert measured / width == pytest.approx(4.67, abs=0.01)
    assert rows_kept_back(width) * 4 * width >= measured
