"""How soon an answer is heard, and how long the microphone is closed for it.

Everything is real but the air: PulseAudio plays into a loudspeaker that is recorded. Run from the
checkout:

    python bench/answer_bench.py [--times 20]
"""

from __future__ import annotations

import argparse
import shutil
import statistics
import sys
import time
from dataclasses import dataclass, field
from pathlib import Path
from threading import Event
from typing import TYPE_CHECKING

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

import numpy as np

from app import resources
from app.wording import reply_wording
from engine.pattern.headings import Side
from engine.replies import Reply, Say, Tone, reply
from speech.speaking.answer_queue import Speaking
from speech.speaking.answers import Answers
from speech.speaking.devices import best_devices
from speech.speaking.turns import Limits
from tests.virtual_loudspeaker import MISSING, RATE_HZ, virtual_loudspeaker

if TYPE_CHECKING:
    from tests.virtual_loudspeaker import VirtualLoudspeaker

LOUD = 0.003
REPLIES: dict[str, Reply] = {
    "a tick": reply(Say.TICK, Tone.HEARD),
    "next row differs": reply(Say.TICK, Tone.NEXT_DIFFERS),
    "44 done": reply(Say.ROWS_DONE, row=44),
    "working 49, right side": reply(Say.WORKING, row=49, side=Side.RIGHT),
}


@dataclass
class Ears:
    """Ears that note when they were closed and opened."""

    closed_s: float = 0.0
    opened_s: float = 0.0
    opened: Event = field(default_factory=Event)

    def mute(self) -> None:
        """Note the time."""
        self.closed_s = time.monotonic()

    def unmute(self) -> None:
        """Note the time."""
        self.opened_s = time.monotonic()
        self.opened.set()


@dataclass(frozen=True)
class Timing:
    """Seconds after an answer was asked for; the sound as it is in the recording."""

    closed: float
    heard: float
    silent: float
    opened: float


def measure(answers: Answers, ears: Ears, loudspeaker: VirtualLoudspeaker, answer: Reply) -> Timing:
    """Ask for one answer and return when what happened."""
    ears.opened.clear()
    with loudspeaker.recording() as recorder:
        # The recording lags behind by what has not been handed over yet: ten milliseconds at most.
        samples_before = len(recorder.samples())
        asked = time.monotonic()
        answers.answer([answer])
        ears.opened.wait(30)
        time.sleep(0.1)
        loud = np.flatnonzero(np.abs(recorder.samples()) > LOUD)
    first, last = ((int(at) - samples_before) / RATE_HZ for at in (loud[0], loud[-1]))
    return Timing(ears.closed_s - asked, first, last, ears.opened_s - asked)


def stopping(answers: Answers, ears: Ears, loudspeaker: VirtualLoudspeaker) -> float:
    """Return how many seconds a long answer is still heard after it was broken off."""
    ears.opened.clear()
    with loudspeaker.recording() as recorder:
        answers.answer(
            [reply(Say.WELCOME_BACK, title="The long sleeve " * 8, row=1, side=Side.RIGHT)]
        )
        time.sleep(0.8)
        asked_at = len(recorder.samples())
        answers.hush()
        ears.opened.wait(30)
        time.sleep(0.2)
        loud = np.flatnonzero(np.abs(recorder.samples()) > LOUD)
    return max(0.0, (int(loud[-1]) - asked_at) / RATE_HZ)


def table(rows: list[tuple[str, list[Timing]]]) -> None:
    """Print medians and the slowest of each reply, in milliseconds."""
    print(f"{'answer':26}{'closed':>8}{'heard':>16}{'sounds for':>12}{'opens after sound':>19}")
    for name, timings in rows:
        heard = [1000 * timing.heard for timing in timings]
        print(
            f"{name:26}"
            f"{1000 * statistics.median(timing.closed for timing in timings):8.1f}"
            f"{statistics.median(heard):9.0f} ({max(heard):3.0f})"
            f"{1000 * statistics.median(timing.silent - timing.heard for timing in timings):12.0f}"
            f"{1000 * statistics.median(timing.opened - timing.silent for timing in timings):19.0f}"
        )


def wording_us() -> float:
    """Return how many microseconds the words of a reply take."""
    wording, answer = reply_wording(), REPLIES["working 49, right side"]
    began = time.perf_counter()
    for _ in range(2000):
        wording.spoken(answer)
    return (time.perf_counter() - began) / 2000 * 1e6


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--times", type=int, default=20, help="how often each answer is given")
    times = parser.parse_args().times
    missing = [*MISSING, *(name for name in ("espeak-ng",) if shutil.which(name) is None)]
    if missing:
        print(f"Not measured: this machine lacks {', '.join(missing)}.")
        return
    files = {tone: resources.data(f"assets/tones/{tone.value}.wav") for tone in Tone}
    with virtual_loudspeaker() as loudspeaker:
        choice = best_devices(files)
        ears = Ears()
        speaking = Speaking(choice.device, ears)
        answers = Answers(speaking, reply_wording())
        print(f"{choice.sentence} Milliseconds after an answer is asked for, {times} times each:")
        print("median (slowest).\n")
        table(
            [
                (name, [measure(answers, ears, loudspeaker, answer) for _ in range(times)])
                for name, answer in REPLIES.items()
            ]
        )
        stops = [1000 * stopping(answers, ears, loudspeaker) for _ in range(min(times, 5))]
        stopped = f"{statistics.median(stops):.0f} ({max(stops):.0f}) ms"
        print(f"\nHeard after it was broken off: {stopped}.")
        speaking.close()
    limits = Limits()
    print(f"Words of a reply: {wording_us():.0f} microseconds.")
    print(f"Closed {limits.tail_s:g} s beyond a reported end, {limits.cap_s:g} s at the most.")


if __name__ == "__main__":
    main()
