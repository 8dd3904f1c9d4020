"""
Rows that are said aloud: right, asked about or wrong, with and without the needle's help.

    python -m bench.spoken_rows_bench [ROWS.tsv] [--voices N] [--talk] [--failing]

Rows are made by chance (3 to 25 steps) or taken from a file as `bench.said_rows_bench` has it, and
said by voices that nothing was tuned on; with `--talk` three people talk 20 dB below. The sound
goes through the row's own decoder, without the gate. Rows that the typed words would not decide
(asked, "?" or impossible) are left out, as the bench of the typed rows counts them.
"""

from __future__ import annotations

import sys
import time
from collections import Counter
from pathlib import Path
from random import Random

import numpy as np

from app import resources
from app.language import phrase_book
from bench.said_rows_bench import outcome_of
from bench.voices import HELD_APART, speak
from engine.composing import SayRow
from speech.hearing.row_judge import RowJudge
from speech.hearing.vosk_decoder import VoskModel
from speech.words.numbers import say_whole
from speech.words.said_rows import understood

_TALK_BELOW_DB = 20.0


def made_up(count: int) -> list[tuple[int, str, str]]:
    """Return rows by chance: stitches before, the words, stitches after."""
    dice = Random(20_261_201)
    numbers = phrase_book().numbers

    def amount(most: int) -> tuple[int, str]:
        number = dice.randint(1, most)
        return number, say_whole(number, numbers)

    def step() -> tuple[int, int, str]:
        kind = dice.random()
        if kind < 0.7:
            number, words = amount(dice.choice([3, 6, 20]))
            return number, number, f"{dice.choice(['knit', 'purl'])} {words}"
        return dice.choice(
            [(2, 1, "knit two together"), (2, 1, "slip slip knit"), (0, 1, "yarn over"),
             (0, 1, "make one"), (2, 1, "purl two together"), (1, 1, "slip one"),
             (1, 2, "knit front and back")]
        )  # fmt: skip

    rows: list[tuple[int, str, str]] = []
    while len(rows) < count:
        steps = [step() for _ in range(dice.choice([2, 3, 4, 5, 6, 8, 10, 12, 16, 20, 24]))]
        takes, leaves = sum(one[0] for one in steps), sum(one[1] for one in steps)
        words = ", ".join(one[2] for one in steps)
        shape = dice.random()
        if shape < 0.45:
            times = dice.randint(2, 8)
            end, said_end = amount(6)
            words = f"{words}, to the last {said_end}, knit {said_end}"
            if len(steps) > 6 or not takes:
                continue
            rows.append((takes * times + end, words, str(leaves * times + end)))
        elif shape < 0.75:
            end, said_end = amount(9)
            middle = dice.randint(5, 60)
            words = f"{words}, knit to the last {said_end}, purl {said_end}"
            rows.append((takes + middle + end, words, str(leaves + middle + end)))
        elif takes:
            rows.append((takes, words, str(leaves)))
    return rows


def main() -> None:
    """Print the table."""
    arguments = [one for one in sys.argv[1:] if not one.startswith("--")]
    files = [Path(one) for one in arguments if one.endswith(".tsv")]
    several = int(arguments[-1]) if "--voices" in sys.argv else 3
    voices = [one for one in HELD_APART if one.there()][:several]
    book = phrase_book()
    if files:
        lines = [line.split("\t") for line in files[0].read_text(encoding="utf-8").splitlines()]
        rows = [(int(line[0]), line[1], line[2]) for line in lines]
    else:
        rows = made_up(300)
    decided: list[tuple[int, str, str]] = []
    for before, words, after in rows:
        found = understood(f"this row: {words}", book)
        found = tuple(one for one in found if not isinstance(one, SayRow) or one.text != words)
        if outcome_of(found, before, after)[0] == "right":
            decided.append((before, words, after))
    print(f"{len(rows)} rows, {len(decided)} of them decided when typed; "
          f"voices {', '.join(one.name for one in voices)}")  # fmt: skip
    judge = RowJudge(VoskModel(resources.model_folder()), book)
    helped: Counter[str] = Counter()
    alone: Counter[str] = Counter()
    noise = _talk() if "--talk" in sys.argv else None
    computing, heard_s = 0.0, 0.0
    for number, (before, words, after) in enumerate(decided):
        voice = voices[number % len(voices)]
        clip = speak(voice, [f"this row, {words}"])[0]
        if noise is not None:
            start = number * 16_000 % (len(noise) - len(clip))
            clip = clip + noise[start : start + len(clip)]
        padded = np.concatenate([np.zeros(4_800, np.float32), clip, np.zeros(3_200, np.float32)])
        begun = time.process_time()
        read = judge.read(padded, None)
        computing, heard_s = computing + time.process_time() - begun, heard_s + len(padded) / 16_000
        candidates = read[0] if read is not None else ()
        result, how = outcome_of(candidates, before, after)
        helped[result] += 1
        alone[outcome_of(candidates, before, after, helped=False)[0]] += 1
        if "--failing" in sys.argv and result != "right":
            heard = read[1].words if read is not None else ""
            print(f"{result:6} {voice.name} {before} {words} -> {after} | {heard} | {how}")
    for name, counts in (("with the needle", helped), ("without", alone)):
        shares = ", ".join(
            f"{what} {100 * count / counts.total():.1f} %" for what, count in counts.most_common()
        )
        print(f"{name:16} {counts.total()}: {shares}")
    print(f"{computing / max(heard_s, 0.1):.2f} of a core while a row is read")


def _talk() -> np.ndarray[tuple[int, ...], np.dtype[np.float32]]:
    """Return people talking, made of the voices that may be tuned on, 20 dB below the knitter."""
    from bench.voices import SPEECH_RMS, TUNED_ON  # noqa: PLC0415 (only for talk)

    said = ["well i told him that it would rain again on the weekend and nobody believed a word",
            "two of them went down to the village and came back with three loaves of bread",
            "if you ask me the whole thing could have been done a good deal sooner"]  # fmt: skip
    voices = [one for one in TUNED_ON if one.there()][:3]
    length = 60 * 16_000
    mixed = np.zeros(length, np.float32)
    for shift, voice in enumerate(voices):
        line = np.concatenate(speak(voice, said))
        mixed += np.resize(np.roll(line, shift * 7_000), length)
    level = float(np.sqrt(np.mean(mixed**2)))
    return np.asarray(mixed * (SPEECH_RMS * 10 ** (-_TALK_BELOW_DB / 20) / level), np.float32)


if __name__ == "__main__":
    main()
