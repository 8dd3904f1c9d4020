"""What the voices of the speech benchmark say: every spoken form, with numbers drawn by a seed."""

from __future__ import annotations

import random
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from engine.quantities import LengthUnit, MassUnit
from speech.words.numbers import say_quantity, say_whole
from speech.words.phrases import PhraseBook, Slot, Way
from speech.words.sampler import FEW
from speech.words.understand import understand

if TYPE_CHECKING:
    from engine.commands import Command
    from engine.talk import Talk
    from speech.words.phrases import Form


@dataclass(frozen=True, slots=True)
class Sentence:
    """A sentence and what it means."""

    words: str
    means: Command | Talk


def sentences(book: PhraseBook, seed: int, numbers_each: int = 3) -> tuple[Sentence, ...]:
    """Return every form that can be spoken at any time, those with numbers several times."""
    dice = random.Random(seed)
    found: dict[str, Sentence] = {}
    for form in book.all_forms:
        if form.way is not Way.SPOKEN:
            continue
        for _ in range(1 if form.fixed else numbers_each):
            words = fill(form, book, dice)
            for word, said in book.aliases.items():
                assert word not in words.split() or said  # voices say the trade's own word
            found[words] = Sentence(words, understand(words, book)[0])
    return tuple(found.values())


def fill(form: Form, book: PhraseBook, dice: random.Random) -> str:
    """Say a form with values drawn as they come up in knitting."""
    said: list[str] = []
    for item in form.items:
        match item:
            case str():
                said.append(item)
            case Slot(field="count") if {"piece", "pattern"} & set(form.items):
                said.append(say_whole(dice.randint(2, FEW), book.numbers))
            case Slot(field="count" | "rows") if "stitches" not in form.items:
                said.append(
                    say_whole(dice.choice([*range(2, 21), dice.randint(21, 60)]), book.numbers)
                )
            case Slot(field="count" | "rows" | "row" | "after" | "stitches"):
                largest = dice.choice([60, 120, 120, 250])
                with_and = dice.random() < 0.5
                said.append(say_whole(dice.randint(2, largest), book.numbers, with_and=with_and))
            case Slot(field="length"):
                said.append(_length(book, dice))
            case Slot(field="mass"):
                one, many = book.units[MassUnit.G][:2]
                said.append(say_quantity(Fraction(dice.randint(2, 120)), one, many, book.numbers))
            case Slot(field=field):
                ways = [way for ways in book.choices[field].values() for way in ways]
                said.append(" ".join(dice.choice(ways)))
    return " ".join(said)


def _length(book: PhraseBook, dice: random.Random) -> str:
    if dice.random() < 0.5:
        one, many = book.units[LengthUnit.CM][:2]
        value = Fraction(dice.randint(2, 70)) + dice.choice(
            [Fraction(0), Fraction(0), Fraction(1, 2)]
        )
        if dice.random() < 0.25:
            value = Fraction(dice.randint(20, 700), 10)
    else:
        one, many = book.units[LengthUnit.IN][:2]
        value = Fraction(dice.randint(4, 200), 8)
    return say_quantity(value, one, many, book.numbers)
