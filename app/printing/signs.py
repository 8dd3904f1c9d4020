"""The signs of charts: which one a stitch has, seen from the right side, and the key."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any, Final

from app.printing.squares import NO_STITCH, WAITING
from engine.pattern.crossings import crossing_of
from engine.toml_text import toml_of

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence

    from app.printing.squares import Mark
    from engine.pattern.crossings import Crossing
    from engine.pattern.stitches import Stitch

_TONES: Final = 4
_LETTERS: Final = "abcdefghiknoqrstuwxzBCDFGHIJKPQSTUW"
"""Letters for stitches that have no sign of their own, in a chart of letters."""


@dataclass(frozen=True, slots=True)
class Sign:
    """How a square is marked: `shape` is drawn, `text` stands for it in a chart of letters.

    A `crossing` is drawn as it runs on the right side. `yarn` is the letter of the yarn in a chart
    of several, and `tone` how dark its squares are, 0 to 3.
    """

    shape: str
    text: str
    letters: str = ""
    crossing: Crossing | None = None
    yarn: str = ""
    tone: int = 0


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
    own: Mapping[str, tuple[Stitch, Sign]] = field(default_factory=dict)
    """The stitches that a designer has defined, by name, each with a sign of its own."""
    yarns: tuple[str, ...] = ()
    """The letters of the yarns, where there are several."""

    def with_own(self, own: Iterable[Stitch], yarns: Sequence[str] = ()) -> Signs:
        """Return the signs for a pattern with stitches, and yarns, of its own."""
        free = [
            letter for letter in _LETTERS if letter not in {one.sign.text for one in self.known}
        ]
        free = [letter for letter in free if letter.casefold() not in yarns]
        signs: dict[str, tuple[Stitch, Sign]] = {}
        drawn: set[str] = set()
        for stitch in own:
            text = next((one for one in stitch.name if one in free), free[0] if free else "?")
            if text in free:
                free.remove(text)
            letters = _short(stitch.name)
            if letters in drawn:
                letters = f"{letters[:3]}{len(drawn)}"
            drawn.add(letters)
            signs[stitch.name] = stitch, Sign("letters", text, letters)
        return replace(self, own=signs, yarns=tuple(yarns) if len(yarns) > 1 else ())

    def sign(self, mark: Mark) -> Sign:
        """Return the sign of a mark; what has none is marked by its name."""
        sign = self._plain_sign(mark)
        if mark.yarn not in self.yarns:
            return sign
        number = self.yarns.index(mark.yarn)
        if sign.shape == "blank":  # in a chart of several yarns a knit square names its yarn
            sign = Sign("letters", mark.yarn.upper()[:1], mark.yarn.upper())
        return replace(sign, yarn=mark.yarn, tone=number % _TONES)

    def _plain_sign(self, mark: Mark) -> Sign:
        if mark.stitch in self.own:
            return self.own[mark.stitch][1]
        found = self._find(mark)
        if found is not None:
            return found.sign
        if mark.stitch == NO_STITCH:
            return Sign("empty", " ")
        if mark.stitch == WAITING:
            return Sign(WAITING, ".")
        crossing = _seen(crossing_of(mark.stitch), wrong_side=mark.wrong_side)
        if crossing is not None:
            text = "<>"[not crossing.front] if not crossing.purl else "LR"[not crossing.front]
            return Sign("crossing", text, crossing=crossing)
        made = mark.stitch.removeprefix("make ")
        return Sign("letters", "?" if not made.isdigit() else made[-1], made[:4])

    def key(
        self,
        marks: Iterable[tuple[Mark, int]],
        crossing_words: Callable[[Crossing], str],
    ) -> tuple[KeyLine, ...]:
        """Return the lines of the key for marks and how many squares they take."""
        meanings: dict[tuple[Sign, int], dict[bool, list[str]]] = {}
        names: dict[tuple[Sign, int], dict[str, None]] = {}
        for mark, width in marks:
            sign = self.sign(mark)
            sides = meanings.setdefault((sign, width), {False: [], True: []})
            words = self._words(mark)
            crossing = crossing_of(mark.stitch) if sign.crossing is not None else None
            if crossing is not None:
                names.setdefault((sign, width), {})[mark.stitch.upper()] = None
                words = crossing_words(crossing)
            if words not in sides[mark.wrong_side]:
                sides[mark.wrong_side].append(words)
        return tuple(
            KeyLine(sign, width, self._line(sign, sides, list(names.get((sign, width), ()))))
            for (sign, width), sides in meanings.items()
        )

    def _line(self, sign: Sign, sides: Mapping[bool, list[str]], names: list[str]) -> str:
        words = self._both(sides[False], sides[True])
        if names:
            words = self.sentences["own"].format(name=", ".join(names), words=words)
        if sign.yarn:
            words = self.sentences["yarn"].format(words=words, yarn=sign.yarn.upper())
        return words

    def _both(self, right: list[str], wrong: list[str]) -> str:
        on_right, on_wrong = ", ".join(right), ", ".join(wrong)
        if not wrong or on_right == on_wrong:
            return on_right
        if not right:
            return self.sentences["wrong_only"].format(words=on_wrong)
        return self.sentences["both"].format(right=on_right, wrong=on_wrong)

    def _words(self, mark: Mark) -> str:
        if mark.stitch in self.own:
            name, words = mark.stitch, self.own[mark.stitch][0].words
            sentence = "own" if words else "own_without_words"
            return self.sentences[sentence].format(name=name, words=words)
        made = mark.stitch.removeprefix("make ")
        if made.isdigit():
            return self.sentences["make"].format(count=made)
        if mark.stitch == NO_STITCH:
            return self.sentences["empty"]
        if mark.stitch == WAITING:
            return self.sentences["waiting"]
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


def _short(name: str) -> str:
    """Shorten the name of a stitch to four letters at most, by its words if it has several."""
    words = name.split()
    if len(words) > 1:
        return "".join(word[:1] for word in words)[:4]
    return name[:4]


def _seen(crossing: Crossing | None, *, wrong_side: bool) -> Crossing | None:
    """Return a crossing as the right side shows it: worked on the back, front is behind."""
    if crossing is None or not wrong_side:
        return crossing
    return replace(crossing, front=not crossing.front)


def read_signs(text: str) -> Signs:
    """Read `print/chart.*.toml`. Raises KeyError if it is damaged."""
    data: dict[str, Any] = toml_of(text)
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
