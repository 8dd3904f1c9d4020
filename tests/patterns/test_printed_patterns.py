"""Printed patterns, as plain text, counted by hand line by line: what is counted is right.

`printed/*.txt` are our own, in the manner of many houses; beside each stands a table: the line,
the stitches after it in each size ("-" where it says nothing countable), "wrong" where a number
was put wrong on purpose. `not_yet.txt` lists the lines of which the program says something else
or nothing; whoever mends one takes it off the list, and a new one cannot come in.
`python -m tests.patterns.test_printed_patterns` writes the list.
"""

from __future__ import annotations

import sys
from pathlib import Path

from app.pieces.taken_lines import Became, TakenLine, pattern_of
from app.pieces.taking import take

FOLDER = Path(__file__).with_name("printed")
NOT_YET = FOLDER / "not_yet.txt"


def by_hand(name: str) -> dict[int, tuple[str, bool]]:
    """Return for each line what is on the needle after it, and whether a fault was put in."""
    table = (FOLDER / f"{name}.tsv").read_text(encoding="utf-8").splitlines()
    rows = [line.split("\t") for line in table]
    return {int(row[0]): (row[1], row[2] == "wrong") for row in rows}


def is_right(line: TakenLine, counted: str, *, wrong: bool) -> bool:
    """Whether the program says of a line what was worked out by hand."""
    if wrong:
        return line.became is Became.FAULTY
    if counted == "-":
        return line.became not in {Became.FAULTY, Became.UNREAD}
    if line.became not in {Became.COUNTED, Became.COMPARED}:
        return False
    wanted = [part.strip() for part in counted.split(",")]
    wanted = wanted * len(line.stitches) if len(wanted) == 1 else wanted
    return len(wanted) == len(line.stitches) and all(
        want == "-" or got is None or str(got) == want
        for got, want in zip(line.stitches, wanted, strict=True)
    )


def not_right() -> list[str]:
    """Return the lines of all printed patterns of which something else is said, or nothing."""
    found = []
    for path in sorted(FOLDER.glob("*.txt")):
        if path == NOT_YET:
            continue
        made = pattern_of(take(path.read_text(encoding="utf-8")))
        lines = {line.number: line for line in made.lines}
        for number, (counted, wrong) in by_hand(path.stem).items():
            line = lines.get(number)
            right = counted == "-" if line is None else is_right(line, counted, wrong=wrong)
            if not right:
                found.append(f"{path.stem}:{number} {line.became if line else 'lost'}")
    return found


def test_printed_patterns_are_counted_as_by_hand() -> None:
    """Every line is counted as by hand, and every fault found, but for those that are listed."""
    listed = NOT_YET.read_text(encoding="utf-8").splitlines()
    assert not_right() == listed


if __name__ == "__main__":
    sys.stdout.write("\n".join([*not_right(), ""]))
