"""What written patterns cost: checking them, finding a row, memory. Prints a table."""

from __future__ import annotations

import gc
import time
import tracemalloc
from typing import TYPE_CHECKING

from app import resources
from engine.pattern import PatternDocument, RowReader, read_pattern

if TYPE_CHECKING:
    from collections.abc import Callable

SIZES = 10
# One pattern repeat of 20 different rows with graded numbers, shaping and lace in them.
_LACE = "K2, *k1, yo, k{n}, sl1, k2tog, psso, k{n}, yo; rep from * to last 3 sts, k3"


def pattern_text(rows: int, sizes: int) -> str:
    """Return a pattern of so many written rows, each of them different, that adds up."""
    names = ", ".join(f'"{number}"' for number in range(sizes))
    cast_on = _graded([5 + 40 * (size + 3) for size in range(sizes)])
    lines = []
    for row in range(1, rows + 1):
        if row % 4 == 1:
            text = _LACE.format(n=3 if row % 8 == 1 else 1) if row % 8 == 1 else "k to end"
        elif row % 4 == 3:
            text = f"k{_graded([size + row % 7 + 1 for size in range(sizes)])}, p to end"
        else:
            text = f"k{row % 11 + 1}, p to last {row % 13 + 2} sts, k to end"
        lines.append(f'"Row {row}: {text}"')
    body = ",\n".join(lines)
    return f'title = "bench"\nsizes = [{names}]\ncast_on = "{cast_on}"\nrows = [\n{body}\n]\n'


def _graded(numbers: list[int]) -> str:
    first, *rest = map(str, numbers)
    return f"{first} ({', '.join(rest)})" if rest else first


def timed(work: Callable[[], object], times: int = 3) -> float:
    """Return the seconds of computing (not of waiting for others) of the fastest run."""
    best = float("inf")
    for _ in range(times):
        gc.collect()
        start = time.process_time()
        work()
        best = min(best, time.process_time() - start)
    return best


def checked(text: str, reader: RowReader) -> PatternDocument:
    """Read and check a pattern; nothing of the pattern is known from before."""
    document = read_pattern(text, reader)
    assert isinstance(document, PatternDocument), document[:3]
    assert all(verdict.ok for verdict in document.check()), document.check()[0].problems[:3]
    return document


def main() -> None:
    """Print the table."""
    grammar = resources.text("shared/rows.lark")
    words = resources.text("shared/words.toml")
    compiled = timed(lambda: RowReader(grammar, words).read("k to end"))
    print(f"{'the grammar, compiled once':52} {compiled * 1000:9.0f} ms")
    reader = RowReader(grammar, words)
    reader.read("k to end")  # the grammar is compiled once in the life of the product
    text = pattern_text(2000, SIZES)
    seconds = timed(lambda: checked(text, reader))
    print(f"{'2,000 rows x 10 sizes read and checked':52} {seconds * 1000:9.0f} ms  target 1000")
    for rows in (200, 2000, 20_000):
        growing = pattern_text(rows, 1)
        once = timed(lambda growing=growing: checked(growing, reader), 2)  # type: ignore[misc]
        label = f"{rows:,} rows, one size"
        print(f"{label:52} {once * 1000:9.0f} ms  {once / rows * 1e6:6.0f} us a row")
    document = checked(pattern_text(20_000, 1), reader)
    course = document.course()
    _where("where, row 20,000 of 20,000 written rows", lambda: course.where({}, 20_000))
    _where("next change from row 10,000", lambda: course.next_change({}, 10_000))
    rows_text = '"Row 1: k", "Row 2: p", "Rep rows 1-2 9999999 more times"'
    long = read_pattern(f'title = "long"\ncast_on = 24\nrows = [{rows_text}]', reader)
    assert isinstance(long, PatternDocument)
    endless = long.course()
    _where("where, row 20 million of a repeat", lambda: endless.where({}, 20_000_000))
    _where("next change from row 10 million", lambda: endless.next_change({}, 10_000_000))
    tracemalloc.start()
    kept = read_pattern(text, reader)
    assert isinstance(kept, PatternDocument)
    kept.check()
    size, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    print(f"{'memory kept for 2,000 rows x 10 sizes':52} {size / 1e6:9.1f} MB")
    print(f"{'memory at its peak':52} {peak / 1e6:9.1f} MB")


def _where(label: str, look: Callable[[], object]) -> None:
    look()
    times = 200
    seconds = timed(lambda: [look() for _ in range(times)]) / times
    print(f"{label:52} {seconds * 1000:9.3f} ms  target 1")


if __name__ == "__main__":
    main()
