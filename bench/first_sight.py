"""
What is read of printed patterns at first sight: `python bench/first_sight.py FOLDER...`.

A folder holds NAME.txt, as printed, and NAME.counts: "# right" or "# slip: LINE what" first, then
for each line its number, the stitches after it in each size ("?" where that is not known, "note"
for a line that works nothing) and how many rows that is, parted by tabs. Prints how many lines are
right, refused, on trust, set aside, false alarms and silently wrong, how many whole patterns are
right, how many slips found; with `--lines` every line that is not right.
"""

from __future__ import annotations

import sys
import time
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from app.pieces.taken_lines import Became, TakenLine, pattern_of
from app.pieces.taking import take


def by_hand(path: Path) -> tuple[int | None, dict[int, str]]:
    """Return on which line the slip stands (None: no slip), and the counts of each line."""
    slip: int | None = None
    counts: dict[int, str] = {}
    for row in path.read_text(encoding="utf-8").splitlines():
        if row.startswith("#"):
            words = row.removeprefix("#").split()
            if words and words[0].rstrip(":") == "slip":
                slip = int(words[1].rstrip(":,"))
            continue
        number, *rest = row.split("\t")
        if number.strip().isdigit():
            said = (rest[0] if rest else "-").replace(",", " ").replace("?", "-").split()
            counts[int(number)] = "-" if said in (["note"], []) else ",".join(said)
    return slip, counts


def verdict(line: TakenLine | None, counted: str) -> str:
    """Return what became of a line, held against the count by hand."""
    if line is None:
        return "right" if counted == "-" else "set aside"
    match line.became:
        case Became.UNREAD:
            return "refused"
        case Became.FAULTY:
            return "false alarm"
        case Became.TRUSTED if counted != "-":
            return "on trust"
        case Became.COUNTED | Became.COMPARED if counted != "-":
            wanted = [part.strip() for part in counted.split(",")]
            wanted = wanted * len(line.stitches) if len(wanted) == 1 else wanted
            same = len(wanted) == len(line.stitches) and all(
                want == "-" or got is None or str(got) == want
                for got, want in zip(line.stitches, wanted, strict=True)
            )
            return "right" if same else "silently wrong"
        case _ if set(counted) - set("-,"):
            return "set aside"
        case _:
            return "right"


def main(arguments: list[str]) -> int:
    """Print the table."""
    each_line = "--lines" in arguments
    for folder in (Path(one) for one in arguments if not one.startswith("-")):
        total: Counter[str] = Counter()
        files = right_files = slips = found_slips = 0
        begun = time.process_time()
        for path in sorted(folder.glob("*.counts")):
            slip, counts = by_hand(path)
            made = pattern_of(take(path.with_suffix(".txt").read_text(encoding="utf-8")))
            lines = {line.number: line for line in made.lines}
            seen: Counter[str] = Counter()
            for number, counted in counts.items():
                line = lines.get(number)
                kind = verdict(line, counted)
                if number == slip:
                    kind = "right" if kind == "false alarm" else f"slip {kind}"
                elif (
                    slip is not None and number > slip and kind in {"false alarm", "silently wrong"}
                ):
                    kind = "after the slip"
                seen[kind] += 1
                if each_line and kind != "right":
                    got = ",".join(map(str, line.stitches)) if line else "lost"
                    print(f"{path.stem}:{number} {kind}: {counted} by hand, {got}")
                    print(f"    {line.text if line else ''}")
                    if line and line.message:
                        print(f"    -> {line.message}")
            total.update(seen)
            files += 1
            if slip is None:
                right_files += seen.total() == seen["right"]
            else:
                slips += 1
                found_slips += (
                    line := lines.get(slip)
                ) is not None and line.became is Became.FAULTY
        lines_there = total.total() or 1
        shares = ", ".join(
            f"{kind} {count} ({100 * count / lines_there:.0f} %)"
            for kind, count in total.most_common()
        )
        seconds = time.process_time() - begun
        print(f"{folder.name}: {files} patterns, {total.total()} lines, {seconds:.1f} s: {shares}")
        print(
            f"  right to the last line {right_files} of {files - slips}, slips found "
            f"{found_slips} of {slips}"
        )
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
