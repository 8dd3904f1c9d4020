"""
Numbers that only say again how the stitches lie: together they must be as many as there are.

"14 sts on first, 15 on second, 15 on third needle", "232 sts: 66 sts each for front and back, 50
sts for each sleeve". Such words change nothing and are set aside, but a number in them that cannot
be right is told.
"""

from __future__ import annotations

import itertools
import re

from engine.pattern.notation import amount_for
from engine.pattern.spelling import amount_of

_AMOUNT = r"\d+(?: ?[(\[{][\d ,:;/|-]+[)\]}])?"
_ON_NEEDLES = re.compile(
    r"^(?:(?:re)?arrange|divide|(?:re)?distribute|split)\b"
    rf"|^{_AMOUNT} (?:sts? |stitches )?on (?:each|needle|first|1st)",
    re.IGNORECASE,
)
_ON = re.compile(rf"(?P<number>{_AMOUNT})(?: sts?| stitches)? on(?P<each> each)?\b", re.IGNORECASE)
_NEEDLES = re.compile(
    r"\b(?P<many>\d|two|three|four|five)(?: (?:double[- ]pointed|dp|circular))? (?:needles|dpns)\b",
    re.IGNORECASE,
)
_PARTS = re.compile(
    r"^[:;,(\[-]+ *\d.*\b(?:sts?|stitches) (?:each|for|on|at)\b", re.IGNORECASE | re.DOTALL
)
_PART = re.compile(rf"(?P<number>{_AMOUNT})(?P<words>[^\d]*)")
_SEVERAL = re.compile(r"\b(?:each|both)\b", re.IGNORECASE)
_PLURAL = re.compile(r"\b(?:fronts|backs|sleeves|sides|needles|halves|sections|shoulders|thumbs)\b")
_MOST_PARTS = 6


def not_made_up(words: str, total: int, size: int) -> str:
    """Return what is wrong with how a remark says that the stitches lie; nothing for others."""
    if _ON_NEEDLES.match(words):
        said = list(_ON.finditer(words))
        needles = _NEEDLES.search(words)
        many = (amount_of(needles["many"].casefold()) or (0,))[0] or 0 if needles else 0
        if not said or (any(one["each"] for one in said) and not many):
            return ""
        numbers = [(_number(one["number"], size), _needles(many, one["each"])) for one in said]
    elif _PARTS.match(words):
        numbers = [
            (_number(one["number"], size), _times(one["words"])) for one in _PART.finditer(words)
        ]
    else:
        return ""
    if not numbers or any(number is None for number, _ in numbers) or len(numbers) > _MOST_PARTS:
        return ""
    ways = itertools.product(*(times for _, times in numbers))
    sums = {
        sum((number or 0) * times for (number, _), times in zip(numbers, way, strict=True))
        for way in ways
    }
    if total in sums:
        return ""
    return f"The parts of this line make {max(sums)} stitches, {total} are there."


def _number(words: str, size: int) -> int | None:
    amount = amount_of(words)
    if amount is None or (len(amount) > 1 and size >= len(amount)):
        return None
    return amount_for(amount, size)[0]


def _needles(many: int, each: str | None) -> tuple[int, ...]:
    return (many or 1,) if each else (1,)


def _times(words: str) -> tuple[int, ...]:
    """Return of how many parts a number may be said."""
    if _SEVERAL.search(words):
        return (2, 3, 4)
    return (1, 2) if _PLURAL.search(words.casefold()) else (1,)
