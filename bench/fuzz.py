"""Tries files and histories with slips in them for ten minutes, and prints what went wrong.

FUZZ_MINUTES says for how long, FUZZ_SEED with which dice, FUZZ_PROCESSES how many try at once (left
out: one for each core). Exit code 1 if anything was raised, took more than two seconds of
computing, or a process grew beyond 300 MB above what it begins with.
"""

from __future__ import annotations

import os
import resource
import signal
import sys
import time
import traceback
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from itertools import repeat
from multiprocessing import get_context
from pathlib import Path
from random import Random

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from app import wall
from tests.by_chance import TARGETS

SHARES = {"patterns checked": 40, "patterns printed": 3, "knitted and changed": 7,
          "her own files": 20, "sound files": 20, "histories": 30}  # fmt: skip
MOST_CPU_S = 2.0
HANGS_AFTER_S = 20.0
MOST_MB = 300.0
KEPT = 40


class HangsError(BaseException):
    """It was given up; no handler for errors takes this."""


@dataclass
class Tried:
    """What came of it: by target how often, the longest in seconds; by kind of error how often."""

    tried: Counter[str] = field(default_factory=Counter)
    raised: Counter[str] = field(default_factory=Counter)
    slow: Counter[str] = field(default_factory=Counter)
    large: Counter[str] = field(default_factory=Counter)
    longest: dict[str, float] = field(default_factory=dict)
    kinds: Counter[str] = field(default_factory=Counter)
    dice: dict[str, str] = field(default_factory=dict)
    base_mb: float = 0.0
    most_mb: float = 0.0

    def add(self, other: Tried) -> None:
        """Take in what another process tried."""
        for name in ("tried", "raised", "slow", "large", "kinds"):
            getattr(self, name).update(getattr(other, name))
        for name, took in other.longest.items():
            self.longest[name] = max(took, self.longest.get(name, 0.0))
        self.dice |= other.dice
        self.base_mb = max(self.base_mb, other.base_mb)
        self.most_mb = max(self.most_mb, other.most_mb)


def _hangs(*_: object) -> None:
    raise HangsError


def _megabytes() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def _try(seed: str, minutes: float) -> Tried:
    """Try for so many minutes with the dice of a seed."""
    wall.RAISES = True
    signal.signal(signal.SIGPROF, _hangs)
    for name, target in TARGETS.items():  # what is loaded once counts for nobody
        for turn in range(3):
            target(Random(f"{name} {turn}"))
    dice = Random(seed)
    found = Tried(base_mb=_megabytes())
    end = time.monotonic() + minutes * 60
    while time.monotonic() < end:
        name = dice.choices(list(SHARES), list(SHARES.values()))[0]
        _one(found, name, f"{seed} {found.tried.total()}")
    found.most_mb = _megabytes()
    return found


def _one(found: Tried, name: str, own: str) -> None:
    """Try one target with its own dice."""
    found.tried[name] += 1
    before, high = time.process_time(), _megabytes()
    signal.setitimer(signal.ITIMER_PROF, HANGS_AFTER_S)
    try:
        TARGETS[name](Random(own))
    except (Exception, HangsError) as error:  # noqa: BLE001 (this is what is looked for)
        found.raised[name] += 1
        frame = traceback.extract_tb(error.__traceback__)[-1]
        kind = f"{name}: {type(error).__name__} at {frame.filename}:{frame.lineno}: {error}"[:200]
        found.kinds[kind] += 1
        found.dice[kind] = own
        if found.kinds[kind] == 1:
            print(f"  raised: {kind} (dice '{own}')", flush=True)
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
    took = time.process_time() - before
    found.longest[name] = max(found.longest.get(name, 0.0), took)
    if took > MOST_CPU_S:
        found.slow[name] += 1
        print(f"  {took:.1f} s: {name}, dice '{own}'", flush=True)
    if _megabytes() - found.base_mb > MOST_MB and _megabytes() > high:
        found.large[name] += 1
        print(f"  {_megabytes():.0f} MB: {name}, dice '{own}'", flush=True)


def main() -> int:
    """Try for so many minutes and print the table."""
    minutes = float(os.environ.get("FUZZ_MINUTES") or 10)
    seed = os.environ.get("FUZZ_SEED") or "0"
    processes = int(os.environ.get("FUZZ_PROCESSES") or os.cpu_count() or 1)
    found = Tried()
    with ProcessPoolExecutor(processes, get_context("spawn")) as pool:
        seeds = [seed if number == 0 else f"{seed}.{number}" for number in range(processes)]
        for one in pool.map(_try, seeds, repeat(minutes)):
            found.add(one)
    print(f"{'what':22} {'tried':>8} {'raised':>7} {'> 2 s':>6} {'large':>6} {'longest':>8}")
    for name in TARGETS:
        print(f"{name:22} {found.tried[name]:8} {found.raised[name]:7} {found.slow[name]:6} "
              f"{found.large[name]:6} {found.longest.get(name, 0):7.1f} s")  # fmt: skip
    print(
        f"{found.tried.total()} in all; {found.base_mb:.0f} MB at the beginning, "
        f"{found.most_mb:.0f} MB most"
    )
    for kind, times in found.kinds.most_common(KEPT):
        print(f"  {times} x {kind} (dice '{found.dice[kind]}')")
    return 1 if found.raised or found.slow or found.large else 0


if __name__ == "__main__":
    sys.exit(main())
