"""The signs of charts: which one a stitch has, seen from the right side, and the key."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from app.printing.chart import NO_STITCH

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from app.printing.chart import Mark
    from engine.pattern.stitches import Stitch

CROSSING: Final = re.compile(
    r"(?:[ct](?P<all>\d+)(?P<way>[fb])|(?P<first>\d+)/(?:\d+/)?\d+ ?(?P<side>[lr])p?[ct]"
    r"|(?P<turn>[lr])t|tw\d+)",
    re.IGNORECASE,
)
"""Crossings of stitches by their usual names."""


@dataclass(frozen=True, slots=True)
class Sign:
    """How a square is marked: `shape` is drawn, `text` stands for it in a chart of letters."""

    shape: str
    text: str
    letters: str = ""


@dataclass(frozen=True, slots=True)
class KeyLine:
    """A sign of the key, how many squares it takes, and what it means."""

    sign: Sign
    width: int
    words: str


@dataclass(frozen=True, slots=True)
class _Known:
    sign: Sign
    right: tuple[str, ...]
    wrong: tuple[str, ...]
    words: str
    words_wrong: str


@dataclass(frozen=True)
class Signs:
    """The signs that the trade has in common, and the sentences of the key."""

    known: tuple[_Known, ...]
    sentences: Mapping[str, str]

    def sign(self, mark: Mark) -> Sign:
        """Return the sign of a mark; what has none is marked by its name."""
        found = self._find(mark)
        if found is not None:
            return found.sign
        if CROSSING.fullmatch(mark.stitch):
            return Sign("crossing", "X", mark.stitch)
        if mark.stitch == NO_STITCH:
            return Sign("empty", " ")
        made = mark.stitch.removeprefix("make ")
        return Sign("letters", "?" if not made.isdigit() else made[-1], made[:4])

    def key(self, marks: Iterable[tuple[Mark, int]], own: Iterable[Stitch]) -> tuple[KeyLine, ...]:
        """Return the lines of the key for marks and how many squares they take.

        `own` are the stitches that the designer has defined.
        """
        meanings: dict[tuple[Sign, int], dict[bool, list[str]]] = {}
        names = {stitch.name: stitch for stitch in own}
        for mark, width in marks:
            sides = meanings.setdefault((self.sign(mark), width), {False: [], True: []})
            words = self._words(mark, names)
            if words not in sides[mark.wrong_side]:
                sides[mark.wrong_side].append(words)
        return tuple(
            KeyLine(sign, width, self._both(sides[False], sides[True]))
            for (sign, width), sides in meanings.items()
        )

    def _both(self, right: list[str], wrong: list[str]) -> str:
        on_right, on_wrong = ", ".join(right), ", ".join(wrong)
        if not wrong or on_right == on_wrong:
            return on_right
        if not right:
            return self.sentences["wrong_only"].format(words=on_wrong)
        return self.sentences["both"].format(right=on_right, wrong=on_wrong)

    def _words(self, mark: Mark, own: Mapping[str, Stitch]) -> str:
        if mark.stitch in own and own[mark.stitch].words:
            return self.sentences["own"].format(name=mark.stitch, words=own[mark.stitch].words)
        made = mark.stitch.removeprefix("make ")
        if made.isdigit():
            return self.sentences["make"].format(count=made)
        if mark.stitch == NO_STITCH:
            return self.sentences["empty"]
        found = self._find(mark)
        if found is None:
            return mark.stitch
        return (found.words_wrong if mark.wrong_side else found.words) or mark.stitch

    def _find(self, mark: Mark) -> _Known | None:
        for name in (mark.stitch, mark.stitch.split(" ")[0]):
            for known in self.known:
                if name in (known.wrong if mark.wrong_side else known.right):
                    return known
        return None


def read_signs(text: str) -> Signs:
    """Read `print/chart.*.toml`. Raises KeyError if it is damaged."""
    data: dict[str, Any] = tomllib.loads(text)
    return Signs(
        tuple(
            _Known(
                Sign(row["shape"], row["text"], row.get("letters", "")),
                tuple(row["right"]),
                tuple(row["wrong"]),
                row.get("words", ""),
                row.get("words_wrong", ""),
            )
            for row in data["sign"]
        ),
        data["sentences"],
    )
