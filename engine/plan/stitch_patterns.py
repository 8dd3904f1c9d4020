"""The usual stitch patterns, read from the text of `shared/tables/stitch_patterns.toml`."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from engine.plan.size import Multiple
from engine.toml_text import toml_of

FLIPPED: Final = str.maketrans("kp", "pk")
"""A stitch that is a knit one from one side is a purl one from the other."""


@dataclass(frozen=True, slots=True)
class StitchPattern:
    """A fabric of knit and purl; `rows` as seen from the right side, `plus` balances it flat."""

    name: str
    also: tuple[str, ...]
    rows: tuple[str, ...]
    plus: int = 0

    @property
    def of(self) -> int:
        """The stitches of one repeat."""
        return len(self.rows[0])

    def multiple(self, edge_stitches: int = 0, *, in_round: bool = False) -> Multiple:
        """Return the multiple to cast on, edge stitches included."""
        return Multiple(self.of, (0 if in_round else self.plus) + edge_stitches)

    def fits(self, stitches: int, *, in_round: bool = False) -> bool:
        """Tell whether whole repeats fill so many stitches; flat also with the balancing ones."""
        whole = stitches >= self.of and stitches % self.of == 0
        return whole or self.balanced(stitches, in_round=in_round)

    def balanced(self, stitches: int, *, in_round: bool = False) -> bool:
        """Tell whether both edges of so many stitches look alike, or a round has no seam."""
        plus = 0 if in_round else self.plus
        return stitches >= self.of and (stitches - plus) % self.of == 0

    def seen(self, row: int, column: int) -> str:
        """Return "k" or "p" as seen from the right side; rows from 1, columns from 0."""
        return self.rows[(row - 1) % len(self.rows)][column % self.of]


@dataclass(frozen=True, slots=True)
class StitchPatterns:
    """All of them, and the names that mean different things here and there."""

    known: tuple[StitchPattern, ...]
    doubtful: dict[str, str]

    def named(self, name: str) -> StitchPattern:
        """Return one by any of its names. Raises ValueError, with a sentence, for another name."""
        wanted = " ".join(name.casefold().split())
        if (doubt := self.doubtful.get(wanted)) is not None:
            raise ValueError(doubt)
        for one in self.known:
            if wanted in {one.name, *one.also}:
                return one
        names = ", ".join(one.name for one in self.known)
        raise ValueError(f"No stitch pattern is called '{name.strip()}'; there are {names}.")

    def fitting(
        self, stitches: int, edge_stitches: int, *, in_round: bool
    ) -> tuple[StitchPattern, ...]:
        """Return those whose whole repeats fill a cast-on, with or without its edge stitches."""
        return tuple(
            one
            for one in self.known
            if one.fits(stitches, in_round=in_round)
            or one.fits(stitches - edge_stitches, in_round=in_round)
        )


def read_stitch_patterns(text: str) -> StitchPatterns:
    """Read the table. Raises KeyError or ValueError if it is damaged."""
    data = toml_of(text)
    known = tuple(
        StitchPattern(row["name"], tuple(row["also"]), tuple(row["rows"]), row.get("plus", 0))
        for row in data["stitch"]
    )
    for one in known:
        if {len(row) for row in one.rows} != {one.of} or set("".join(one.rows)) - {"k", "p"}:
            raise ValueError(f"The rows of {one.name} are not of one width, in k and p.")
    return StitchPatterns(known, dict(data["doubtful"]))
