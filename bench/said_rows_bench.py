"""
Rows that are said, as typed text: how many are understood, asked about, or taken wrongly.

    python -m bench.said_rows_bench ROWS.tsv [--failing]

Each line of the file: stitches before, the words, stitches after ("impossible", or "?" where two
readings are possible), and, for people, the row as it is written. With `--failing` the lines that
were not understood or taken wrongly are printed.
"""

from __future__ import annotations

import sys
from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING

from app.language import phrase_book
from app.pieces.pattern_cache import course_of
from engine.composing import Composing, SayRow
from engine.judging.decision import Accepted
from engine.judging.said_rows import judge_said
from engine.said_events import RowSaid
from engine.state import PieceState
from speech.words.said_rows import understood

if TYPE_CHECKING:
    from collections.abc import Sequence


def outcome_of(
    candidates: Sequence[object], before: int, after: str, *, helped: bool = True
) -> tuple[str, str]:
    """
    Return "right", "asked" or "wrong" with what was understood, on a needle of `before` stitches.

    Without the needle's help the first reading is all there is.
    """
    rows = [one for one in candidates if isinstance(one, Composing)]
    if not rows:
        return "asked", "not understood"
    state = PieceState(cast_on=before, begun=True)
    course = course_of(state)
    decision = judge_said(state, course, rows if helped else rows[:1], course_of)
    if not isinstance(decision, Accepted):
        return "asked", type(decision).__name__
    said = decision.events[0] if decision.events else None
    if not isinstance(said, RowSaid):
        return "asked", type(said).__name__
    made = course_of(PieceState(cast_on=before, said=(said,)))
    got = made.where({}, 1).after
    return ("right" if str(got) == after else "wrong"), f"{said.text} -> {got}"


def main(path: Path, *, failing: bool) -> None:
    """Print the table, and with `failing` every line that was not right."""
    table: dict[str, Counter[str]] = {"counted": Counter(), "impossible": Counter(), "?": Counter()}
    alone: Counter[str] = Counter()
    for line in path.read_text(encoding="utf-8").splitlines():
        before, words, after, written = line.split("\t")
        found = understood(f"this row: {words}", phrase_book())
        found = tuple(one for one in found if not isinstance(one, SayRow) or one.text != words)
        result, how = outcome_of(found, int(before), after)
        group = after if after in table else "counted"
        if group == "?" and result != "asked":
            result = "taken"
        table[group][result] += 1
        if group == "counted":
            alone[outcome_of(found, int(before), after, helped=False)[0]] += 1
        if failing and (result in {"wrong", "taken"} or (group == "counted" and result == "asked")):
            print(f"{result:6} {before:>4} {words} | {written} ({after}) | {how}")
    for group, counts in table.items():
        shares = ", ".join(
            f"{name} {count} ({100 * count / counts.total():.1f} %)"
            for name, count in counts.most_common()
        )
        print(f"{group:11} {counts.total():4}: {shares}")
    print(f"counted, the first reading alone: {dict(alone)}")


if __name__ == "__main__":
    main(Path(sys.argv[1]), failing="--failing" in sys.argv)
