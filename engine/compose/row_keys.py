"""
A row that is put together of keys: knit, purl, how often, where a repeat begins and ends.

What was touched is kept as it was touched, so that the last key can always be taken back; what it
means follows from it, and is written as the trade writes a row. A key that could mean two things,
or nothing, is not taken: the reason is returned in its place.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

STEPS: Final = ("k", "p", "k2tog", "ssk", "yo", "sl", "m1")
"""The keys of steps, each called as the trade writes it."""
STAR: Final = "star"
TO_END: Final = "end"
TO_LAST: Final = "last"
DIGITS: Final = tuple("1234567890")
KEYS: Final = (*STEPS, STAR, TO_END, TO_LAST, *DIGITS)
MOST_KEYS: Final = 300
"""A row has so many keys at most: written, it is shorter than a row may be (`engine.limits`)."""
MOST_TIMES: Final = 9999
_COUNTED: Final = frozenset(("k", "p", "sl"))
"""Steps that have their number behind them; the others are worked so many times."""
_TWICE: Final = 2
_NOT_SAID: Final = "\N{HORIZONTAL ELLIPSIS}"


class Misplaced(StrEnum):
    """Why a key is not taken, or why a row is not whole."""

    EMPTY = "empty"
    STEP_FIRST = "step_first"
    NO_SUCH_NUMBER = "no_such_number"
    AT_ITS_END = "at_its_end"
    HOW_MANY_LEFT = "how_many_left"
    REPEAT_IS_OPEN = "repeat_is_open"
    NOTHING_REPEATED = "nothing_repeated"
    WHERE_FROM = "where_from"
    TOO_LONG = "too_long"


@dataclass(frozen=True, slots=True)
class Step:
    """One of `STEPS`, `count` times; `typed`: by its number, and not touched so often."""

    key: str
    count: int = 1
    typed: bool = False

    @property
    def text(self) -> str:
        """The step as the trade writes it."""
        if self.key in _COUNTED:
            return f"{self.key}{self.count}"
        if self.count == 1:
            return self.key
        return f"{self.key} twice" if self.count == _TWICE else f"{self.key} {self.count} times"


class Far(StrEnum):
    """How far steps are worked."""

    ONCE = "once"
    OPEN = "open"
    """They are to be repeated, but nobody has said how far."""
    TO_END = "end"
    TO_LAST = "last"


@dataclass(frozen=True, slots=True)
class Stretch:
    """
    Steps that are worked once, or again and again as `far` says; `left` stitches remain then.

    `starred`: where they begin was marked; otherwise it is one step.
    """

    steps: tuple[Step, ...] = ()
    far: Far = Far.ONCE
    left: int = 0
    starred: bool = False


@dataclass(frozen=True, slots=True)
class KeyedRow:
    """A row of keys that were touched, one of `KEYS` each."""

    keys: tuple[str, ...] = ()
    stretches: tuple[Stretch, ...] = ()

    def and_key(self, key: str) -> KeyedRow | Misplaced:
        """Return the row with one more key, or why it cannot be."""
        if len(self.keys) >= MOST_KEYS:
            return Misplaced.TOO_LONG
        last = self.stretches[-1] if self.stretches else Stretch()
        if last.far is Far.TO_END:
            return Misplaced.AT_ITS_END
        if key in DIGITS:
            changed = _with_digit(last, int(key))
        elif last.far is Far.TO_LAST and not last.left:
            return Misplaced.HOW_MANY_LEFT
        elif key == STAR:
            changed = _with_star(last)
        elif key in (TO_END, TO_LAST):
            changed = _repeated(last, Far(key))
        elif key in STEPS:
            changed = _with_step(last, key)
        else:
            raise ValueError(f"There is no key '{key}'.")
        if isinstance(changed, Misplaced):
            return changed
        return KeyedRow((*self.keys, key), (*self.stretches[:-1], *changed))

    def without_last(self) -> KeyedRow:
        """Return the row as it was before the last key."""
        return row_of(self.keys[:-1])

    @property
    def lacks(self) -> Misplaced | None:
        """Why the row is not whole yet; None: it can be handed over."""
        if not self.stretches:
            return Misplaced.EMPTY
        last = self.stretches[-1]
        if last.far is Far.OPEN:
            return Misplaced.REPEAT_IS_OPEN
        return Misplaced.HOW_MANY_LEFT if last.far is Far.TO_LAST and not last.left else None

    @property
    def text(self) -> str:
        """The row as the trade writes it: "*k2, p2; rep from * to last 2 sts, k2"."""
        return ", ".join(filter(None, map(_text, self.stretches)))

    @property
    def once(self) -> str:
        """The row with a repeat that is still open worked once: what it takes so far."""
        last = self.stretches[-1] if self.stretches else Stretch()
        if last.far is not Far.OPEN:
            return self.text
        return replace(
            self, stretches=(*self.stretches[:-1], replace(last, far=Far.ONCE, starred=False))
        ).text


def row_of(keys: Sequence[str]) -> KeyedRow:
    """Return the row that keys make; those that cannot be (of a damaged file) are left out."""
    row = KeyedRow()
    for key in keys:
        longer = row.and_key(key) if key in KEYS else row
        row = longer if isinstance(longer, KeyedRow) else row
    return row


def _with_digit(last: Stretch, digit: int) -> tuple[Stretch, ...] | Misplaced:
    if last.far is Far.TO_LAST:
        left = last.left * 10 + digit
        if not 0 < left <= MOST_TIMES:
            return Misplaced.NO_SUCH_NUMBER
        return (replace(last, left=left),)
    if not last.steps:
        return Misplaced.STEP_FIRST
    *before, step = last.steps
    if not step.typed and step.count > 1:  # the last of them was touched anew, and has the number
        before, step = [*before, replace(step, count=step.count - 1)], Step(step.key)
    count = step.count * 10 + digit if step.typed else digit
    if not 0 < count <= MOST_TIMES:
        return Misplaced.NO_SUCH_NUMBER
    return (replace(last, steps=(*before, replace(step, count=count, typed=True))),)


def _with_star(last: Stretch) -> tuple[Stretch, ...] | Misplaced:
    if last.far is Far.OPEN:
        return Misplaced.REPEAT_IS_OPEN
    begun = Stretch(far=Far.OPEN, starred=True)
    return (last, begun) if last.steps else (begun,)


def _with_step(last: Stretch, key: str) -> tuple[Stretch, ...]:
    if last.far is Far.TO_LAST:
        return (last, Stretch((Step(key),)))
    *before, step = last.steps or (Step(""),)
    if step.key == key and not step.typed:
        return (replace(last, steps=(*before, replace(step, count=step.count + 1))),)
    return (replace(last, steps=(*last.steps, Step(key))),)


def _repeated(last: Stretch, far: Far) -> tuple[Stretch, ...] | Misplaced:
    if last.far is Far.OPEN:
        return (replace(last, far=far),) if last.steps else Misplaced.NOTHING_REPEATED
    if last.far is not Far.ONCE or not last.steps:
        return Misplaced.NOTHING_REPEATED
    *before, step = last.steps
    many = step.typed or step.count > 1
    if many and before:  # "k2, p2, to end": p2 alone, or both?
        return Misplaced.WHERE_FROM
    again = Stretch((step,), far, starred=many)
    return (Stretch(tuple(before)), again) if before else (again,)


def _text(stretch: Stretch) -> str:
    steps = ", ".join(_texts(stretch))
    if stretch.far is Far.ONCE:
        return steps
    if stretch.far is Far.OPEN:
        return f"*{steps}"
    left = "st" if stretch.left == 1 else f"{stretch.left or _NOT_SAID} sts"
    far = "to end" if stretch.far is Far.TO_END else f"to last {left}"
    return f"*{steps}; rep from * {far}" if stretch.starred else f"{steps} {far}"


def _texts(stretch: Stretch) -> Iterator[str]:
    for step in stretch.steps:
        alone = stretch.far in (Far.TO_END, Far.TO_LAST) and not stretch.starred
        yield step.key if alone else step.text
