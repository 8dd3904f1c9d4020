"""Numbered steps: "Step 5. Dec row: ..." and "repeat steps 5 and 6 once more"."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

from engine.pattern.lines import LineKind
from engine.pattern.spelling import rows_listed

if TYPE_CHECKING:
    from collections.abc import Sequence

    from engine.pattern.lines import Prepared

_STEP = re.compile(r"\s*(?:(?:step|stage)\s+)?(\d{1,2})\s*[.:)]", re.IGNORECASE)
_STEPS = re.compile(r"(?<![a-z])(?:steps?|stages?) (?=\d)")


def means_steps(words: str) -> bool:
    """Whether words such as "repeat steps 5 and 6" name steps."""
    return _STEPS.search(words) is not None


def steps_meant(words: str, lines: Sequence[Prepared]) -> tuple[Prepared, ...]:
    """
    Return the lines of the steps that are named, of all that stand before; empty if one is not.

    A step is what stands from its number up to the next one. Where numbers begin anew, those that
    came last are meant.
    """
    named = _STEPS.search(words)
    if named is None:
        return ()
    steps: dict[int, list[Prepared]] = {}
    current = 0
    for line in lines:
        found = _STEP.match(str(line.source.value))
        if found is not None and line.part == 0:
            current = int(found.group(1))
            steps[current] = []
        if current:
            steps[current].append(line)
    numbers, _ = rows_listed(words[named.end() :])
    if not all(number in steps for number in numbers):
        return ()
    again = (line for number in numbers for line in steps[number])
    return tuple(_uncounted(line) for line in again if line.kind is not LineKind.COUNT)


def _uncounted(line: Prepared) -> Prepared:
    """Return the line without its stated count, which was that of the first time."""
    cache = {key: value for key, value in line.cache.items() if key != "spec"}
    return replace(line, stated=None, cache=cache)
