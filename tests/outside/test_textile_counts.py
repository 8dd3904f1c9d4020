"""Yarn counts against the definitions and handbook constants."""

from __future__ import annotations

from fractions import Fraction

import pint
import pytest

from engine.plan.counts import CountSystem, tex
from engine.plan.yarn import Ball
from engine.quantities import Length, LengthUnit, Mass, MassUnit, grams

SYSTEM = CountSystem


@pytest.mark.parametrize(
    ("count", "denier", "nm", "nek"),
    [
        # Definitions of ISO 1144 and the customary hanks; recomputed apart from this project.
        (10, 90, 100, "88.5812"),
        (20, 180, 50, "44.2906"),
        (50, 450, 20, "17.7162"),
        (100, 900, 10, "8.8581"),
        (200, 1800, 5, "4.4291"),
        (500, 4500, 2, "1.7716"),
    ],
)
def test_table(count: int, denier: int, nm: int, nek: str) -> None:
    """The table of counts comes out, exactly where it is exact."""
    assert tex(count, SYSTEM.TEX) == count
    assert tex(10 * count, SYSTEM.DTEX) == count
    assert tex(denier, SYSTEM.DENIER) == count
    assert tex(nm, SYSTEM.NM) == count
    assert float(tex(Fraction(nek), SYSTEM.NEK_WORSTED)) == pytest.approx(count, rel=4e-5)


@pytest.mark.parametrize(
    ("system", "constant"),
    [
        (SYSTEM.NEK_WORSTED, "885.8118711723534"),
        (SYSTEM.NE_COTTON, "590.5412474482356"),
    ],
)
def test_constants(system: CountSystem, constant: str) -> None:
    """Each indirect count is its constant over tex (handbooks print 590.5 for cotton)."""
    assert float(tex(1, system)) == pytest.approx(float(constant), rel=1e-9)


def test_worsted_constant_is_exact() -> None:
    """The worsted constant is exactly 32399455/36576."""
    assert tex(1, SYSTEM.NEK_WORSTED) == Fraction(32399455, 36576)


@pytest.mark.parametrize(
    ("mass", "length", "expected"),
    [
        (grams(100), Length(Fraction(200), LengthUnit.M), "500"),
        (grams(50), Length(Fraction(125), LengthUnit.YD), "437.445"),
        (Mass(Fraction(7, 2), MassUnit.OZ), Length(Fraction(220), LengthUnit.YD), "493.236"),
    ],
)
def test_ball_bands(mass: Mass, length: Length, expected: str) -> None:
    """The tex of usual ball bands, recomputed apart from this project."""
    assert 1000 * Ball(mass, length).grams_per_metre == pytest.approx(float(expected), abs=6e-4)


def test_pint_agrees() -> None:
    """The general unit package agrees on tex, denier, dtex and the cotton count (its "Ne")."""
    registry: pint.UnitRegistry[float] = (
        pint.UnitRegistry()
    )  # the full one: this is the second opinion
    for name, system in (("denier", SYSTEM.DENIER), ("dtex", SYSTEM.DTEX)):
        theirs = registry.Quantity(7, name).to("tex").magnitude
        assert theirs == pytest.approx(float(tex(7, system)), rel=1e-9)
    cotton = registry.Quantity(20, "Ne").to("km/kg").magnitude
    assert 1000 / cotton == pytest.approx(float(tex(20, SYSTEM.NE_COTTON)), rel=1e-9)


def test_nothing_is_refused() -> None:
    """A yarn of no weight is refused."""
    with pytest.raises(ValueError, match="more than nothing"):
        tex(0, SYSTEM.NM)
