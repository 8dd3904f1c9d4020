"""Reads 1,000 lines of up to 4,000 characters made by chance, and prints what the slowest cost.

ROWS_SEED says with which dice. Exit code 1 if a line takes more than 0.2 s of computing.
"""

from __future__ import annotations

import json
import os
import re
import sys
import time
from pathlib import Path
from random import Random

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from app.pieces.pattern_cache import row_reader
from engine.limits import LONGEST_LINE
from engine.pattern import PatternDocument, read_pattern

LINES = 1_000
MOST_CPU_S = 0.2
WORDS = (Path(__file__).parent.parent / "tests/patterns/modern/lines.txt").read_text("utf-8")


def _cost(line: str) -> float:
    text = f'title = "x"\ncast_on = 40\nrows = [{json.dumps(line)}]\n'
    begun = time.process_time()
    document = read_pattern(text, row_reader())
    if isinstance(document, PatternDocument):
        document.check()
    return time.process_time() - begun


def _line(dice: Random, words: list[str], lines: list[str]) -> str:
    kind = dice.randrange(5)
    if kind == 0:  # words of the trade in any order
        made = "".join(dice.choice(words) + dice.choice((" ", " ", ", ", ". ")) for _ in range(900))
    elif kind == 1:  # one word over and over
        made = (dice.choice(words) + dice.choice((" ", ", ", "", "; ", " ("))) * 4_000
    elif kind == 2:  # right lines, one after the other
        made = " ".join(dice.choice(lines) for _ in range(80))
    elif kind == 3:  # two or three words over and over
        made = (" ".join(dice.choices(words, k=dice.randint(2, 3))) + dice.choice(" ,.")) * 2_000
    else:  # any signs
        made = "".join(dice.choices('0123456789 kp()[]*,.;:-/"½ stnd', k=LONGEST_LINE))
    return f"{dice.choice(('', 'Row 1: '))}{made}"[: dice.randint(1, LONGEST_LINE)]


def main() -> int:
    """Read the lines and print the table."""
    dice = Random(os.environ.get("ROWS_SEED") or "0")
    lines = [line.split(" | ")[1] for line in WORDS.splitlines() if line[0] != "#"]
    words = sorted(set(re.findall(r"\S+", " ".join(lines))))
    _cost("Row 1: knit")  # the grammar is loaded once for all
    costs = []
    for _ in range(LINES):
        line = _line(dice, words, lines)
        costs.append((_cost(line), line))
    costs.sort(reverse=True)
    mean = sum(cost for cost, _ in costs) / LINES
    print(
        f"{LINES} lines: {mean * 1e3:.1f} ms in the mean, 99 of 100 under "
        f"{costs[LINES // 100][0] * 1e3:.0f} ms, slowest {costs[0][0]:.2f} s"
    )
    for cost, line in costs[:5]:
        print(f"  {cost:.2f} s  {len(line):4} characters  {line[:60]!r}")
    return 0 if costs[0][0] <= MOST_CPU_S else 1


if __name__ == "__main__":
    sys.exit(main())
