"""Several sizes of one piece written as one pattern: "k9 (10, 11)", "Sizes M and L only: ..."."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from engine.compose.written_pattern import WrittenLine, WrittenSection

_NUMBER = re.compile(r"(?<![\w.])\d+(?:\.\d+)?(?![\w.])|(?<=\b[kp])\d+\b")


def in_brackets(values: Sequence[object]) -> str:
    """Return values of all sizes, smallest first: "88 (96, 104)"; one where they are the same."""
    texts = [str(value) for value in values]
    if len(set(texts)) == 1:
        return texts[0]
    return f"{texts[0]} ({', '.join(texts[1:])})"


def merged(
    sizes: Sequence[str], written: Sequence[Sequence[WrittenSection]]
) -> list[WrittenSection]:
    """
    Return the sections of all sizes as one; each size has the same number of them.

    A step that is alike but for its numbers is written once; one that some sizes only have says so.
    """
    return [
        replace(alike[0], lines=list(_lines(sizes, [section.lines for section in alike])))
        for alike in zip(*written, strict=True)
    ]


def _lines(sizes: Sequence[str], written: Sequence[Sequence[WrittenLine]]) -> Iterator[WrittenLine]:
    """Merge from the top; where sizes differ, those with the most before them go on first."""
    at = [0] * len(sizes)
    while True:
        left = [len(lines) - place for lines, place in zip(written, at, strict=True)]
        if not any(left):
            return
        most = left.index(max(left))
        now = {number: written[number][at[number]] for number in range(len(sizes)) if left[number]}
        wanted = _skeleton(now[most])
        group = [number for number, line in now.items() if _skeleton(line) == wanted]
        if len(group) < len(sizes):
            group = [number for number in group if left[number] == left[most]]
        line = _together([now[number] for number in group])
        if len(group) < len(sizes):
            names = [sizes[number] for number in group]
            line = replace(line, text=f"{_only(names)}: {line.text}")
        yield line
        for number in group:
            at[number] += 1


def _only(names: Sequence[str]) -> str:
    if len(names) == 1:
        return f"Size {names[0]} only"
    return f"Sizes {', '.join(names[:-1])} and {names[-1]} only"


def _skeleton(line: WrittenLine) -> tuple[str, str, int | None]:
    return _NUMBER.sub("#", line.text), line.note, line.stitches


def _together(lines: Sequence[WrittenLine]) -> WrittenLine:
    """Return lines that differ in numbers only as one."""
    numbers = [_NUMBER.findall(line.text) for line in lines]
    columns = iter(zip(*numbers, strict=True))
    text = _NUMBER.sub(lambda _: in_brackets(next(columns)), lines[0].text)
    return replace(lines[0], text=text)
