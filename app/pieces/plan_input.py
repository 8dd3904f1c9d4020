"""Read what `walesong plan` is given: counts, gauges, multiples, ease and shaping."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import TYPE_CHECKING

from app import resources
from app.language import shipped_phrases
from app.pieces.values import PlanInputError
from engine.facts.needles import THICKEST_MM, THINNEST_MM
from engine.plan.counts import CountSystem, tex
from engine.plan.gauge import TEN_CM, Count, Gauge
from engine.plan.size import Ease, Multiple
from engine.plan.tables import read_needles
from engine.quantities import (
    Length,
    LengthUnit,
    Mass,
    MassUnit,
    number_text,
    parse_length,
    parse_mass,
    parse_number,
)
from speech.words.understand import read_quantity

if TYPE_CHECKING:
    from engine.fabric import Fabric


def length(text: str) -> Length:
    """Read "24 cm", "9 1/2 in", "an inch and a half"."""
    found = parse_length(text) or read_quantity(text, shipped_phrases())
    if not isinstance(found, Length) or found.value <= 0:
        raise PlanInputError(f"'{text}' is no length; write it like 24 cm or 9 1/2 in.")
    return found


def mass(text: str) -> Mass:
    """Read "28 g", "1 3/4 oz", "an ounce and a half"."""
    found = parse_mass(text) or read_quantity(text, shipped_phrases())
    if not isinstance(found, Mass) or found.value <= 0:
        raise PlanInputError(f"'{text}' is no weight; write it like 28 g or 1 3/4 oz.")
    return found


def gauge(text: str) -> tuple[Count, Count]:
    """Read "20x28" (over 10 cm), "20x28/4in" or "32/13.8cm x 41/15cm": stitches by rows."""
    halves = re.split("[x\N{MULTIPLICATION SIGN}]", text.casefold())
    if len(halves) != 2:  # noqa: PLR2004 (stitches and rows)
        raise PlanInputError(
            f"'{text}' is no gauge; write stitches x rows: 20x28, 20x28/4in, 30/14cm x 40/15cm."
        )
    stitches, rows = (_count(half, text) for half in halves)
    over = stitches[1] or rows[1] or TEN_CM
    return Count(stitches[0], stitches[1] or over), Count(rows[0], rows[1] or over)


def _count(half: str, text: str) -> tuple[Fraction, Length | None]:
    number, _, over = half.partition("/")
    value = parse_number(number)
    if value is None or value <= 0:
        raise PlanInputError(f"'{text}' is no gauge: '{half.strip()}' is no count.")
    return value, length(over) if over.strip() else None


def as_gauge(counts: tuple[Count, Count], fabric: Fabric) -> Gauge:
    """Return a gauge of counts of stitches and rows in a state."""
    return Gauge(counts[0], counts[1], fabric)


def multiple(text: str) -> Multiple:
    """Read "4", "4+2": a multiple of 4 plus 2."""
    found = re.fullmatch(r"\s*(\d{1,4})\s*(?:\+\s*(\d{1,4}))?\s*", text, re.ASCII)
    if found is None or int(found[1]) == 0:
        raise PlanInputError(f"'{text}' is no multiple; write it like 4 or 4+2.")
    return Multiple(int(found[1]), int(found[2] or 0))


def ease(text: str) -> Ease:
    """Read "-5%", "5% smaller", "+10 %", "5 cm", "1 in smaller"."""
    trimmed = text.strip().replace("\N{MINUS SIGN}", "-").removesuffix("larger").strip()
    if trimmed.endswith("smaller"):
        trimmed = "-" + trimmed.removesuffix("smaller").strip()
    if trimmed.endswith("%"):
        value = parse_number(trimmed.removesuffix("%").strip().removeprefix("+"))
        if value is not None and value > -100:  # noqa: PLR2004 (nothing would be left)
            return Ease(percent=value)
    else:
        extra = parse_length(trimmed.removeprefix("+"))
        if extra is not None:
            return Ease(extra=extra)
    raise PlanInputError(f"'{text}' is no ease; write 5% smaller or 5 cm larger.")


def needle(text: str) -> Fraction:
    """Read "4.5", "4.5 mm", "US 7" or "UK 7" as millimetres."""
    named = text.strip().casefold()[:2]
    if named in {"us", "uk"}:
        table = read_needles(resources.text("shared/tables/needles.toml"))
        sizes = table.by_us(text) if named == "us" else table.by_uk(text)
        if len(sizes) == 1:
            return sizes[0]
        if sizes:
            either = " or ".join(f"{number_text(mm)} mm" for mm in sizes)
            raise PlanInputError(f"'{text}' can be {either}; write the millimetres.")
    found = parse_length(text)
    value = parse_number(text) if found is None else Fraction(found.to(LengthUnit.MM).value)
    if value is None or not THINNEST_MM <= value <= THICKEST_MM:
        raise PlanInputError(
            f"'{text}' is no needle; write 4.5 mm, from {THINNEST_MM} to {THICKEST_MM} mm, or US 7."
        )
    return value


def ball(text: str) -> tuple[Mass, Length]:
    """Read the band of a ball, "100 g, 200 m", "50g/125yd", or of a cone, "500 g, Nm 28/2"."""
    if (cone := _CONE.fullmatch(text)) and (weight := parse_mass(cone["mass"])):
        run = _run_of(weight, cone)
        if run is not None:
            return weight, run
    parts = [part.strip() for part in re.split(r"[,/;=]|\bto\b", text) if part.strip()]
    if len(parts) == 2:  # noqa: PLR2004 (weight and length)
        weight, run = parse_mass(parts[0]), parse_length(parts[1])
        if weight and run and weight.value > 0 and run.value > 0:
            return weight, run
    raise PlanInputError(f"'{text}' is no ball; write it like '100 g, 200 m'.")


_CONE = re.compile(
    r"\s*(?P<mass>[^,;=]+?)\s*[,;=]\s*(?:(?P<before>nm|ne|nek)\s*(?P<count>[\d.]{1,6})(?:/(?P<plies>\d{1,2}))?"
    r"|(?P<fineness>[\d.]{1,6})\s*(?P<behind>tex|dtex|den(?:ier)?))\s*",
    re.ASCII | re.IGNORECASE,
)
_SYSTEMS = {
    "nm": CountSystem.NM, "ne": CountSystem.NE_COTTON, "nek": CountSystem.NEK_WORSTED,
    "tex": CountSystem.TEX, "dtex": CountSystem.DTEX, "den": CountSystem.DENIER,
    "denier": CountSystem.DENIER,
}  # fmt: skip


def _run_of(weight: Mass, cone: re.Match[str]) -> Length | None:
    """Return how long a cone's yarn is by its count; "Nm 28/2" is two plies of Nm 28."""
    count = parse_number(cone["count"] or cone["fineness"])
    plies = int(cone["plies"] or 1)
    if count is None or count <= 0 or weight.value <= 0 or plies < 1:
        return None
    system = _SYSTEMS[(cone["before"] or cone["behind"]).casefold()]
    grams = weight.to(MassUnit.G).value
    return Length(1000 * grams / (tex(count, system) * plies), LengthUnit.M)


_PAIR = r"\s*(\d{1,4})\s*[x\u00d7]\s*(\d{1,4})\s*"


def weighed(text: str) -> tuple[Mass, int, int]:
    """Read a weighed swatch: "7 g = 30x40" is 7 g for 30 stitches by 40 rows."""
    left, _, right = text.partition("=")
    found = re.fullmatch(_PAIR, right, re.ASCII)
    if found is None or int(found[1]) * int(found[2]) == 0:
        raise PlanInputError(
            f"'{text}' is no weighed swatch; write it like '7 g = 30x40' (stitches by rows)."
        )
    return mass(left), int(found[1]), int(found[2])


def shaping(text: str) -> tuple[int, int, int]:
    """Read "60-38/108": from 60 to 38 stitches over 108 rows."""
    found = re.fullmatch(r"\s*(\d{1,5})\s*-\s*(\d{1,5})\s*/\s*(\d{1,6})\s*", text, re.ASCII)
    if found is None:
        raise PlanInputError(
            f"'{text}' is no shaping; write stitches from, to and rows like 60-38/108."
        )
    return int(found[1]), int(found[2]), int(found[3])


def evenly(text: str) -> tuple[int, int]:
    """Read "51+4" (4 increases in 51 stitches) or "80-8" (8 decreases); negative: decreases."""
    found = re.fullmatch(r"\s*(\d{1,5})\s*([+-])\s*(\d{1,5})\s*", text, re.ASCII)
    if found is None or int(found[3]) == 0:
        raise PlanInputError(
            f"'{text}' is no evenly spaced row; write 51+4 for increases or 80-8 for decreases."
        )
    change = int(found[3])
    return int(found[1]), change if found[2] == "+" else -change
