"""Kill somebody who knits, cut and flip bits in her journal, many times over; look for losses.

    make kill-loop                       runs it for ten minutes (MINUTES=2 for less)
    python bench/kill_loop.py --help     other lengths, and a failure played again by its seed

Every trial asserts what the quick tests assert (`tests/durability`): nothing acknowledged is ever
lost to a kill, and a damaged journal is read exactly, refused, or mended, but never read wrongly.
Ends with status 1 and the seed of the trial at the first failure.
"""

from __future__ import annotations

import argparse
import os
import sys
import tempfile
import time
import traceback
from collections import Counter
from pathlib import Path
from random import Random

from engine.journal.on_disk import beside
from tests.durability.damage import journal_of, killed_journal_of, opened_after, work
from tests.durability.kills import check, kill

_KILLS_A_JOURNAL = 40
_DAMAGE_A_KILL = 10


def main() -> int:
    """Go on until the time is up."""
    parser = argparse.ArgumentParser(description="Kill, cut and flip, and look for losses.")
    minutes = float(os.environ.get("KILL_MINUTES") or 10)
    parser.add_argument("--minutes", type=float, default=minutes)
    parser.add_argument("--seed", type=int, default=int(time.time()))
    arguments = parser.parse_args()
    ends = time.monotonic() + 60 * arguments.minutes
    outcomes: Counter[str] = Counter()
    seed = arguments.seed
    while time.monotonic() < ends:
        try:
            outcomes += _round(seed, ends)
        except AssertionError:
            traceback.print_exc()
            print(f"LOST with --seed {seed}; before that: {dict(outcomes)}")
            return 1
        seed += 1
    for outcome, times in sorted(outcomes.items()):
        print(f"{times:>8} {outcome}")
    return 0


def _round(seed: int, ends: float) -> Counter[str]:
    """Kill over one journal again and again, with trials of damage in between."""
    dice = Random(seed)
    outcomes: Counter[str] = Counter()
    with tempfile.TemporaryDirectory(prefix="walesong-kills-") as name:
        folder = Path(name)
        records = work(dice.choice([5, 30, 200]))
        whole, killed = journal_of(records, folder), killed_journal_of(records, folder)
        targets = {
            "file": (whole, whole),
            "log": (killed, beside(killed, "-wal")),
            "file under a log": (killed, killed),
        }
        acknowledged = kept = 0
        for _ in range(_KILLS_A_JOURNAL):
            if time.monotonic() > ends:
                break
            acknowledged = max(acknowledged, kill(folder / "kills.walesong", "sleeve", dice))
            kept = check(folder / "kills.walesong", {"sleeve": acknowledged})
            outcomes["kills"] += 1
            for _ in range(_DAMAGE_A_KILL):
                target = dice.choice(sorted(targets))
                path, damaged = targets[target]
                outcomes[f"{target}: {opened_after(path, damaged, dice, records)}"] += 1
        outcomes["rows acknowledged, none lost"] += acknowledged
        outcomes["rows kept"] += kept
    return outcomes


if __name__ == "__main__":
    sys.exit(main())
