"""What sentences can stand for: the values a phrase book fills in, whatever they are about.

Hearing knows nothing of knitting. A book of phrases is read for a vocabulary, and what is heard is
one of its values. `KNITTING` is ours; a bench reads another domain with one of its own.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from engine.commands import COMMANDS, Command, Feel, Since, Technique, Term
from engine.composing import Shaping, Which
from engine.fabric import Fabric
from engine.stages import Stage
from engine.talk import TALK, AttentionWord, LessonWord, Nth, Screen, Talk

if TYPE_CHECKING:
    from collections.abc import Mapping
    from enum import StrEnum


@dataclass(frozen=True, slots=True, eq=False)
class Vocabulary:
    """The kinds of values that can be said, and what their fields are filled with."""

    groups: Mapping[str, Mapping[str, type[Command | Talk]]]
    """
    By the table of the phrase data ("commands", "talk") the kinds by name.

    A kind is a frozen dataclass with a `name`; the annotation is that of knitting, for which all
    else is typed. What two sentences may say differently without meaning something else is a
    field that is left out of comparing (`field(compare=False)`).
    """
    choices: Mapping[str, type[StrEnum]]
    """By field the values of which one is chosen."""
    wholes: frozenset[str] = frozenset()
    """Fields that are whole numbers."""
    may_end: frozenset[str] = frozenset()
    """Whole numbers that may end a sentence, because their noun stands before them."""

    @property
    def kinds(self) -> dict[str, type[Command | Talk]]:
        """Every kind by its name, in the order of the groups."""
        return {name: kind for group in self.groups.values() for name, kind in group.items()}

    @property
    def slots(self) -> frozenset[str]:
        """Every field that a sentence can have a place for."""
        return frozenset({*self.wholes, *self.choices, "length", "mass", "text"})


KNITTING: Final = Vocabulary(
    groups={"commands": COMMANDS, "talk": TALK},
    choices={
        "since": Since,
        "fabric": Fabric,
        "feel": Feel,
        "word": AttentionWord,
        "stitch": Technique,
        "term": Term,
        "screen": Screen,
        "nth": Nth,
        "which": Which,
        "shaping": Shaping,
        "stage": Stage,
        "lesson": LessonWord,
    },
    wholes=frozenset({"count", "rows", "row", "after", "stitches"}),
    may_end=frozenset({"row"}),
)
