"""What others have published on rests and on things for children, read from `shared/tables`.

Texts for a caution, each with who says it. None of the advice on rests is about knitting, and none
of this says that anything is harmless: rules differ by country and change.
"""

from __future__ import annotations

from dataclasses import dataclass

from engine.toml_text import toml_of


@dataclass(frozen=True, slots=True)
class Advice:
    """What a body says, and where or how that was seen."""

    body: str
    says: str
    source: str


@dataclass(frozen=True, slots=True)
class BreakAdvice:
    """The reminder's usual minutes, the wording, and what others have published."""

    every_minutes: int
    shortest_minutes: int
    longest_minutes: int
    pause_minutes: tuple[int, int]
    often: str
    stop: str
    published: tuple[Advice, ...]


@dataclass(frozen=True, slots=True)
class ChildRule:
    """A published figure on things for small children: what it is about, what it says, who says."""

    about: str
    topic: str
    figure: str
    source: str
    note: str


def read_breaks(text: str) -> BreakAdvice:
    """Read `tables/breaks.toml`. Raises KeyError or ValueError if it is damaged."""
    data = toml_of(text)
    usual, care = data["default"], data["care"]
    return BreakAdvice(
        usual["every_minutes"],
        usual["shortest_minutes"],
        usual["longest_minutes"],
        (usual["pause_minutes"][0], usual["pause_minutes"][1]),
        care["say_often"],
        care["stop"],
        tuple(
            Advice(row["body"], row["says"], row.get("source") or row.get("seen", ""))
            for row in data["advice"]
        ),
    )


def read_child_rules(text: str) -> tuple[ChildRule, ...]:
    """Read `tables/safety.toml`. Raises KeyError or ValueError if it is damaged."""
    return tuple(
        ChildRule(about, row["topic"], row["figure"], row["source"], row.get("note", ""))
        for about, rows in toml_of(text).items()
        for row in (rows if isinstance(rows, list) else [rows])
    )
