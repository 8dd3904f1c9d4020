"""Written rows worked stitch by stitch, without the reader; the tests of plans compare with it."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

_FLIPPED = {"k": "p", "p": "k"}
TWO_INTO_ONE = frozenset({"k2tog", "ssk", "p2tog", "ssp"})


@dataclass
class Stitches:
    """Live stitches from the right edge to the left, each with what its column shows on the RS."""

    columns: list[list[str]]
    in_round: bool = False
    rows: int = 0
    shaped: set[int] = field(default_factory=set)

    def work(self, text: str) -> None:
        """Work one written row; AssertionError where it does not use exactly what there is."""
        self.rows += 1
        wrong = not self.in_round and self.rows % 2 == 0
        waiting = self.columns[::-1] if wrong else self.columns[:]
        done: list[list[str]] = []
        for step in _steps(text, len(waiting)):
            if step == "m1":
                done.append([""])
                continue
            if step in TWO_INTO_ONE:
                waiting.pop(0)
                done.append([*waiting.pop(0), ""])
                continue
            sign = _FLIPPED[step] if wrong else step
            done.append([*waiting.pop(0), sign])
        assert not waiting, (text, len(waiting))
        self.columns = done[::-1] if wrong else done


def _steps(text: str, stitches: int) -> list[str]:
    """Return the single steps of a row over so many stitches."""
    text = re.sub(r" \(\d+ sts\)$", "", text)
    found: list[str] = []
    for part in re.split(r",\s*(?![^*]*; rep)", text):
        used = sum(_takes(step) for step in found)
        if part.startswith("*"):
            body, where = part[1:].split("; rep from * to ")
            unit = [one for step in body.split(", ") for one in _single(step)]
            room = stitches - used - _last(where)
            assert room % len(unit) == 0, part
            found += unit * (room // len(unit))
        elif " to " in part:
            step, where = part.split(" to ")
            found += [step] * (stitches - used - _last(where))
        else:
            found += _single(part)
    return found


def _takes(step: str) -> int:
    return 0 if step == "m1" else 2 if step in TWO_INTO_ONE else 1


def _last(where: str) -> int:
    if where == "end":
        return 0
    number = re.fullmatch(r"last (?:(\d+) sts|st)", where)
    assert number, where
    return int(number[1] or 1)


def _single(step: str) -> list[str]:
    if step in TWO_INTO_ONE or step == "m1":
        return [step]
    return [step[0]] * int(step[1:])
