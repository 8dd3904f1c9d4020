"""Listen to two hours of sound, as fast as it is decoded, and watch the memory.

The whole chain listens (source, gate, decoder, second opinion, assistant, journal): the practice
recording, a quiet room, and talk without a word in it beside a fan take turns, until so many hours
of sound have gone through. Memory is looked at once a round; its slope is a least-squares line over
the second half, when caches are full. Run from the checkout:

    make soak                               two hours of sound
    make soak HOURS=0.5                     less (or: python bench/soak_bench.py --hours 0.5)

Ends with status 1 if the memory grows by more than 5 MB an hour of sound, or if the listening
has failed.
"""

from __future__ import annotations

import argparse
import gc
import os
import statistics
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

import numpy as np
import psutil

from app.wiring import composition
from app.wiring.hearing import acceptance, practice
from app.wiring.practice import PRACTICE
from speech.hearing.events import Dictated, Failed, Heard, HearingEvent, RefusedSpeech
from speech.hearing.listener import Listener
from speech.hearing.sound import RATE
from tests.sessions import script

if TYPE_CHECKING:
    from speech.hearing.sound import Samples

MB = 1 << 20
ALLOWED_MB_PER_HOUR = 5.0
ROOM_S = 60.0
NAMES = ("recording", "quiet room", "talk and fan")


class Turns:
    """A source that plays sounds one after the other, and says what is done after each."""

    def __init__(self, sounds: list[Samples], seconds: float) -> None:
        """Play the sounds in turn until there were so many seconds."""
        self.hears_room = False
        self._sounds = sounds
        self._seconds = seconds
        self._at = 0
        self._turn = 0
        self.played_s = 0.0
        self.memory: list[tuple[float, float]] = []
        """Hours of sound, and megabytes, after each turn."""

    def open(self) -> None:
        """Begin."""

    def close(self) -> None:
        """End."""

    @property
    def playing(self) -> str:
        """What is played now."""
        return NAMES[self._turn % len(NAMES)]

    @property
    def ended(self) -> bool:
        """Whether it was enough."""
        return self.played_s >= self._seconds

    def read(self, timeout_s: float) -> Samples | None:
        """Return the next 50 ms."""
        del timeout_s
        if self.ended:
            return None
        sound = self._sounds[self._turn % len(self._sounds)]
        piece = sound[self._at : self._at + RATE // 20]
        self._at += len(piece)
        self.played_s += len(piece) / RATE
        if self._at >= len(sound):
            self._at, self._turn = 0, self._turn + 1
            if self._turn % len(self._sounds) == 0:
                gc.collect()
                used = psutil.Process().memory_info().rss / MB
                self.memory.append((self.played_s / 3600, used))
        return piece


def sounds() -> list[Samples]:
    """Return what is played in turn."""
    dice = np.random.default_rng(5)
    whole = np.concatenate(list(practice(PRACTICE, paced=False).pieces))
    silence = np.zeros(RATE, dtype=np.float32)
    count = round(ROOM_S * RATE)
    quiet = (dice.standard_normal(count) * 1e-3).astype(np.float32)
    # Talk without a word in it: the recording backwards, in a room with a fan.
    fan = np.cumsum(dice.standard_normal(len(whole)))
    fan -= np.convolve(fan, np.full(400, 1 / 400), mode="same")
    loud = (whole[::-1] + 0.01 * fan / np.abs(fan).mean()).astype(np.float32)
    return [np.concatenate([whole, silence]), quiet, loud]


def slope(points: list[tuple[float, float]]) -> float:
    """Return how many megabytes an hour of sound adds, over the second half."""
    half = points[len(points) // 2 :] if len(points) >= 6 else points[1:]
    if len(half) < 2:
        return float("nan")
    return statistics.linear_regression(*zip(*half, strict=True)).slope


def main() -> int:
    """Listen, and print the memory as it goes and its slope at the end."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    hours = float(os.environ.get("SOAK_HOURS") or 2)
    parser.add_argument("--hours", type=float, default=hours, help="of sound")
    hours = parser.parse_args().hours
    heard, refused, failed = Counter[str](), Counter[str](), Counter[str]()
    turns = Turns(sounds(), hours * 3600)
    with tempfile.TemporaryDirectory() as folder:
        helper = composition.assistant(
            Path(folder, "j.walesong"), None, lambda _: None, composition.silence("").voice
        )

        def take(event: HearingEvent) -> None:
            heard[turns.playing] += isinstance(event, Heard | Dictated)
            refused[turns.playing] += isinstance(event, RefusedSpeech)
            failed[turns.playing] += isinstance(event, Failed)
            helper.heard_and_answered(event)

        listener = Listener(turns, lambda: acceptance(None), take)
        helper.listen_with(listener)
        helper.start()
        begun, used = time.perf_counter(), time.process_time()
        listener.start()
        told = 0
        print(f"{'hours of sound':>15}{'memory, MB':>12}{'heard':>8}{'refused':>9}{'took, s':>9}")
        while not listener.wait(1.0):
            if len(turns.memory) >= told + max(1, round(hours * 3)):
                told = len(turns.memory)
                _row(turns, heard, refused, begun)
        used = time.process_time() - used
        helper.stop()
    _row(turns, heard, refused, begun)
    rounds = len(turns.memory)
    commands = sum(line.by_knitter for line in script())
    growth = slope(turns.memory)
    first = turns.memory[0][1] if turns.memory else float("nan")
    print(
        f"\n{'':<16}{'heard':>8}{'refused':>9}   a round; {commands} commands are in the recording"
    )
    for name in NAMES:
        print(f"{name:<16}{heard[name] / rounds:>8.1f}{refused[name] / rounds:>9.1f}")
    print(
        f"\n{turns.played_s / 3600:.2f} h of sound; share of one core {used / turns.played_s:.3f}."
    )
    print(f"Memory after the first round {first:.0f} MB; slope {growth:+.2f} MB an hour of sound.")
    grown = growth > ALLOWED_MB_PER_HOUR
    print("The memory grows." if grown else "The memory does not grow.")
    return 1 if grown or failed.total() else 0


def _row(turns: Turns, heard: Counter[str], refused: Counter[str], begun: float) -> None:
    hours, memory = turns.memory[-1] if turns.memory else (turns.played_s / 3600, float("nan"))
    print(
        f"{hours:>15.2f}{memory:>12.1f}{heard.total():>8}{refused.total():>9}"
        f"{time.perf_counter() - begun:>9.0f}",
        flush=True,
    )


if __name__ == "__main__":
    sys.exit(main())
