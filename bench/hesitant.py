"""Commands as people say them who look at their knitting meanwhile: with pauses, "ehm", repairs.

A hesitant command is spoken in pieces, each by itself, with silence between them: so each piece
falls in pitch and its last word is drawn out, as before a true pause.
"""

from __future__ import annotations

import random
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from bench.sentences import sentences
from bench.voices import RATE, speak

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bench.noise import Sound
    from bench.sentences import Sentence
    from bench.voices import Voice
    from engine.commands import Command
    from engine.talk import Talk
    from speech.words.phrases import PhraseBook

PAUSES = (0.15, 0.3, 0.45, 0.6, 0.8, 1.0, 1.3, 1.6, 2.0)
"""Seconds of silence inside a command."""
FILLERS = ("um", "er", "ehm", "let me see")
_LEAST_WORDS = 3
_SHORT_S = 0.3
"""Between words that belong together but are not said in one breath."""


@dataclass(frozen=True, slots=True)
class Hesitant:
    """A command in pieces, with the seconds of silence between them, and what it means."""

    pieces: tuple[str, ...]
    silences: tuple[float, ...]
    kind: str
    """"pause", "filler", "repair" or "twice"."""
    means: Command | Talk

    @property
    def words(self) -> str:
        """All of it, with a bar for each silence."""
        said = self.pieces[0]
        for silence, piece in zip(self.silences, self.pieces[1:], strict=True):
            said += f" |{silence:.2f}| {piece}"
        return said


def hesitant(book: PhraseBook, seed: int, each: int) -> tuple[Hesitant, ...]:
    """Return `each` hesitant commands for every pause, and for fillers, repairs and repetitions.

    Two of three have a number, for those are what people hesitate in.
    """
    dice = random.Random(seed)
    numbers = book.numbers.everything - {book.numbers.and_word, book.numbers.of, "a", "an"}
    known = [one for one in sentences(book, seed) if len(one.words.split()) >= _LEAST_WORDS]
    counted = [one for one in known if numbers & {*one.words.split()}]
    plain = [one for one in known if one not in counted]
    tens = [*book.numbers.tens, book.numbers.hundred]

    def drawn() -> Sentence:
        return dice.choice(counted if dice.random() < 2 / 3 else plain)

    made: list[Hesitant] = []
    for pause in PAUSES:
        for _ in range(each):
            one = drawn()
            words = one.words.split()
            at = dice.randrange(1, len(words))
            inside = [place for place in range(1, len(words)) if words[place - 1] in tens]
            if inside and dice.random() < 1 / 2:
                at = dice.choice(inside)  # where a shorter number ends: the dangerous place
            made.append(_cut(one, words, at, (), (pause,), "pause"))
    for _ in range(each):
        one = drawn()
        words = one.words.split()
        at = dice.randrange(len(words))
        silences = (_SHORT_S, _SHORT_S) if at else (_SHORT_S,)
        made.append(_cut(one, words, at, (dice.choice(FILLERS),), silences, "filler"))
    for _ in range(each):
        one = drawn()
        words = one.words.split()
        at = dice.randrange(1, len(words))
        made.append(_cut(one, [*words[:at], *words[at - 1 :]], at, (), (_SHORT_S,), "twice"))
    for _ in range(each):
        one = dice.choice(counted)
        words = one.words.split()
        at = next(place for place, word in enumerate(words) if word in numbers)
        other = dice.choice(book.numbers.tens)
        if other == words[at]:
            other = book.numbers.teens[1]
        wrong = [*words[:at], other]
        repair = (" ".join(wrong), "no", " ".join(words[at:]))
        made.append(Hesitant(repair, (_SHORT_S, _SHORT_S), "repair", one.means))
    return tuple(made)


def _cut(
    one: Sentence,
    words: Sequence[str],
    at: int,
    between: tuple[str, ...],
    silences: tuple[float, ...],
    kind: str,
) -> Hesitant:
    parts = (" ".join(words[:at]), *between, " ".join(words[at:]))
    return Hesitant(tuple(part for part in parts if part), silences, kind, one.means)


def said(voice: Voice, them: Sequence[Hesitant]) -> list[Sound]:
    """Return how each sounds: 16 kHz, mono, without the room."""
    texts = [piece for one in them for piece in one.pieces]
    spoken = iter(speak(voice, texts))
    sounds: list[Sound] = []
    for one in them:
        sound = next(spoken)
        for silence in one.silences:
            quiet = np.zeros(round(silence * RATE), dtype=np.float32)
            sound = np.concatenate([sound, quiet, next(spoken)])
        sounds.append(sound)
    return sounds
