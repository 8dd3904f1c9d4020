"""Commands as people say them who look at their knitting meanwhile: pauses, "ehm", repairs, breath.

A hesitant command is spoken in pieces, each by itself, with silence between them: so each piece
falls in pitch and its last word is drawn out, as before a true pause.
"""

from __future__ import annotations

import random
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.signal import lfilter

from bench.sentences import sentences
from bench.voices import RATE, SPEECH_RMS, speak

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
REPAIRS = ("no", "no", "sorry", "i mean")
"""What stands between a wrong number and the right one."""
NOISES = ("breath", "clicks")
"""What is heard in a pause."""
_LEAST_WORDS = 3
_SHORT_S = 0.3
"""Between words that belong together but are not said in one breath."""


@dataclass(frozen=True, slots=True)
class Hesitant:
    """A command in pieces, with the seconds of silence between them, and what it means."""

    pieces: tuple[str, ...]
    silences: tuple[float, ...]
    kind: str
    """"pause", "two pauses", "filler", "twice", "repair", or one of `NOISES`."""
    means: Command | Talk

    @property
    def words(self) -> str:
        """All of it, with a bar for each silence."""
        said = self.pieces[0]
        for silence, piece in zip(self.silences, self.pieces[1:], strict=True):
            said += f" |{silence:.2f}| {piece}"
        return said


def hesitant(book: PhraseBook, seed: int, each: int) -> tuple[Hesitant, ...]:
    """Return `each` hesitant commands for every pause, and for every other kind.

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

    def place_in(words: Sequence[str]) -> int:
        inside = [place for place in range(1, len(words)) if words[place - 1] in tens]
        if inside and dice.random() < 1 / 2:
            return dice.choice(inside)  # where a shorter number ends: the dangerous place
        return dice.randrange(1, len(words))

    made: list[Hesitant] = []
    for pause in PAUSES:
        for _ in range(each):
            one = drawn()
            words = one.words.split()
            made.append(_cut(one, words, place_in(words), (), (pause,), "pause"))
    for kind in NOISES:
        for _ in range(each):
            one = drawn()
            words = one.words.split()
            made.append(_cut(one, words, place_in(words), (), (dice.uniform(0.4, 1.3),), kind))
    for _ in range(each):
        one = drawn()
        words = one.words.split()
        first, second = sorted(dice.sample(range(1, len(words)), 2))
        pieces = (words[:first], words[first:second], words[second:])
        both = (dice.uniform(0.2, 1.2), dice.uniform(0.2, 1.2))
        made.append(Hesitant(tuple(map(" ".join, pieces)), both, "two pauses", one.means))
    for _ in range(each):
        one = drawn()
        words = one.words.split()
        at = dice.randrange(len(words))
        around = (_SHORT_S,) * (2 if at else 1)
        made.append(_cut(one, words, at, (dice.choice(FILLERS),), around, "filler"))
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
        repair = (" ".join(wrong), dice.choice(REPAIRS), " ".join(words[at:]))
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
    for number, one in enumerate(them):
        sound = next(spoken)
        for silence in one.silences:
            between = _between(one.kind, round(silence * RATE), number)
            sound = np.concatenate([sound, between, next(spoken)])
        sounds.append(sound)
    return sounds


def _between(kind: str, length: int, seed: int) -> Sound:
    """Return what is heard in a pause: nothing, a breath drawn, or needles that click."""
    dice = np.random.default_rng(seed)
    quiet = np.zeros(length, dtype=np.float32)
    if kind == "breath":
        long = min(length, round(0.35 * RATE))
        at = int(dice.integers(0, length - long + 1))
        rustle = lfilter([1.0, -0.6], [1.0], dice.standard_normal(long)) * np.hanning(long)
        level = SPEECH_RMS * 10 ** (-dice.uniform(14, 24) / 20)
        quiet[at : at + long] = rustle / np.sqrt(np.mean(rustle**2)) * level
    if kind == "clicks":
        for _ in range(int(dice.integers(1, 4))):
            at = int(dice.integers(0, length))
            ring = np.arange(min(RATE // 20, length - at)) / RATE
            pitches = dice.uniform(1500, 5500, 4)
            knock = sum(np.sin(2 * np.pi * f * ring) * np.exp(-ring * 180) for f in pitches)
            level = SPEECH_RMS * 10 ** (-dice.uniform(-6, 10) / 20)
            quiet[at : at + len(ring)] += np.asarray(knock * level, dtype=np.float32)
    return quiet
