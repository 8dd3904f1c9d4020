"""Tries files and histories with slips in them for ten minutes, and prints what went wrong.

FUZZ_MINUTES says for how long, FUZZ_SEED with which dice. Exit code 1 if anything was raised, took
more than two seconds of computing, or the process grew beyond 300 MB above what it begins with.
"""

from __future__ import annotations

import os
import resource
import signal
import sys
import time
import traceback
from collections import Counter
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


def _hangs(*_: object) -> None:
    raise HangsError


def _megabytes() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def main() -> int:
    """Try for so many minutes and print the table."""
    minutes = float(os.environ.get("FUZZ_MINUTES") or 10)
    seed = os.environ.get("FUZZ_SEED") or "0"
    wall.RAISES = True
    signal.signal(signal.SIGPROF, _hangs)
    for name, target in TARGETS.items():  # what is loaded once counts for nobody
        for turn in range(3):
            target(Random(f"{name} {turn}"))
    dice = Random(seed)
    end, base = time.monotonic() + minutes * 60, _megabytes()
    tried, raised, slow, large = Counter[str](), Counter[str](), Counter[str](), Counter[str]()
    longest: dict[str, float] = {}
    kinds: dict[str, tuple[int, str]] = {}
    while time.monotonic() < end:
        name = dice.choices(list(SHARES), list(SHARES.values()))[0]
        own = f"{seed} {sum(tried.values())}"
        tried[name] += 1
        before, high = time.process_time(), _megabytes()
        signal.setitimer(signal.ITIMER_PROF, HANGS_AFTER_S)
        try:
            TARGETS[name](Random(own))
        except (Exception, HangsError) as error:  # noqa: BLE001 (this is what is looked for)
            raised[name] += 1
            frame = traceback.extract_tb(error.__traceback__)[-1]
            kind = f"{name}: {type(error).__name__} at {frame.filename}:{frame.lineno}: {error}"
            kind = kind[:200]
            kinds[kind] = kinds.get(kind, (0, own))[0] + 1, own
        finally:
            signal.setitimer(signal.ITIMER_PROF, 0)
        took = time.process_time() - before
        longest[name] = max(longest.get(name, 0.0), took)
        if took > MOST_CPU_S:
            slow[name] += 1
            print(f"  {took:.1f} s: {name}, dice '{own}'", flush=True)
        if _megabytes() - base > MOST_MB and _megabytes() > high:
            large[name] += 1
            print(f"  {_megabytes():.0f} MB: {name}, dice '{own}'", flush=True)
    print(f"{'what':22} {'tried':>8} {'raised':>7} {'> 2 s':>6} {'large':>6} {'longest':>8}")
    for name in TARGETS:
        print(f"{name:22} {tried[name]:8} {raised[name]:7} {slow[name]:6} {large[name]:6} "
              f"{longest.get(name, 0):7.1f} s")  # fmt: skip
    print(
        f"{sum(tried.values())} in all; {base:.0f} MB at the beginning, {_megabytes():.0f} MB most"
    )
    for kind, (times, own) in sorted(kinds.items(), key=lambda one: -one[1][0])[:KEPT]:
        print(f"  {times} x {kind} (dice '{own}')")
    return 1 if raised or slow or large else 0


if __name__ == "__main__":
    sys.exit(main())
