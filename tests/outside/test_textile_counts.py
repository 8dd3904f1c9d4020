"""Yarn counts against the definitions and handbook constants."""

from __future__ import annotations

from fractions import Fraction

import pint
import pytest

from engine.plan.counts import CountSystem, band_tex, convert_count, tex
from engine.quantities import Length, LengthUnit, Mass, MassUnit, grams

SYSTEM = CountSystem


@pytest.mark.parametrize(
    ("count", "denier", "nm", "nek", "per_100_g", "yards_per_pound"),
    [
        # Definitions of ISO 1144 and the customary hanks; recomputed apart from this project.
        (10, 90, 100, "88.5812", 10_000, "49605.465"),
        (20, 180, 50, "44.2906", 5000, "24802.732"),
        (50, 450, 20, "17.7162", 2000, "9921.093"),
        (100, 900, 10, "8.8581", 1000, "4960.546"),
        (200, 1800, 5, "4.4291", 500, "2480.273"),
        (500, 4500, 2, "1.7716", 200, "992.109"),
    ],
)
def test_table(
    count: int, denier: int, nm: int, nek: str, per_100_g: int, yards_per_pound: str
) -> None:
    """The table of counts comes out, exactly where it is exact."""
    assert convert_count(count, SYSTEM.TEX, SYSTEM.DENIER) == denier
    assert convert_count(count, SYSTEM.TEX, SYSTEM.DTEX) == 10 * count
    assert convert_count(count, SYSTEM.TEX, SYSTEM.NM) == nm
    assert convert_count(count, SYSTEM.TEX, SYSTEM.METRES_PER_100_G) == per_100_g
    assert float(convert_count(count, SYSTEM.TEX, SYSTEM.NEK_WORSTED)) == pytest.approx(
        float(nek), abs=5e-5
    )
    assert float(convert_count(count, SYSTEM.TEX, SYSTEM.YARDS_PER_POUND)) == pytest.approx(
        float(yards_per_pound), abs=5e-4
    )


@pytest.mark.parametrize(
    ("system", "constant"),
    [
        (SYSTEM.NEK_WORSTED, "885.8118711723534"),
        (SYSTEM.NE_COTTON, "590.5412474482356"),
        (SYSTEM.LINEN_LEA, "1653.5154928550598"),
        (SYSTEM.YARDS_PER_POUND, "496054.648"),
    ],
)
def test_constants(system: CountSystem, constant: str) -> None:
    """Each indirect count is its constant over tex (handbooks print 590.5 for cotton)."""
    assert float(convert_count(1, SYSTEM.TEX, system)) == pytest.approx(float(constant), rel=1e-9)


def test_worsted_constant_is_exact() -> None:
    """The worsted constant is exactly 32399455/36576."""
    assert convert_count(1, SYSTEM.TEX, SYSTEM.NEK_WORSTED) == Fraction(32399455, 36576)


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
    assert float(band_tex(mass, length)) == pytest.approx(float(expected), abs=6e-4)


@pytest.mark.parametrize("source", list(CountSystem))
@pytest.mark.parametrize("target", list(CountSystem))
def test_there_and_back(source: CountSystem, target: CountSystem) -> None:
    """A count taken to another system and back is the same count."""
    value = Fraction(37, 3)
    assert convert_count(convert_count(value, source, target), target, source) == value


def test_pint_agrees() -> None:
    """The general unit package agrees on tex, denier, dtex and the cotton count (its "Ne")."""
    registry: pint.UnitRegistry[float] = (
        pint.UnitRegistry()
    )  # the full one: this is the second opinion
    one = registry.Quantity(1, "tex")
    for name, system in (("denier", SYSTEM.DENIER), ("dtex", SYSTEM.DTEX)):
        assert one.to(name).magnitude == pytest.approx(
            float(convert_count(1, SYSTEM.TEX, system)), rel=1e-9
        )
    cotton = registry.Quantity(20, "Ne").to("km/kg").magnitude
    assert cotton == pytest.approx(float(convert_count(20, SYSTEM.NE_COTTON, SYSTEM.NM)), rel=1e-9)


def test_nothing_is_refused() -> None:
    """A yarn of no weight or length is refused."""
    with pytest.raises(ValueError, match="more than nothing"):
        tex(0, SYSTEM.NM)
    with pytest.raises(ValueError, match="some weight"):
        band_tex(grams(0), Length(Fraction(200), LengthUnit.M))
