"""
Where a line without a heading says one stretch of rows after the other.

"Purl 1 row, then bind off" is two lines in one, and so is "work 6 rows in rib, work in st st for
10 cm". A new one begins at a verb after words that say how long the one before goes on.
"""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

from engine.pattern import phrases as ph
from engine.pattern.notation import BindOff, CastOn, JoinRound, Marker, Remark

if TYPE_CHECKING:
    from collections.abc import Sequence

_WHOLE_LINES = (
    ph.Star, ph.RepeatFrom, ph.RepeatRows, ph.InThisWay, ph.AsGiven, ph.Meanwhile, ph.When,
)  # fmt: skip
_THEN = re.compile(r"\bthen\s*$", re.IGNORECASE)
_LASTS = (ph.HowManyRows, ph.UntilMeasures, ph.UntilSame)


def rows_apart(line: ph.PhraseLine) -> tuple[tuple[ph.Phrase, ...], ...]:
    """Return the phrases of each of the stretches that a line says; one if it says one thing."""
    phrases = line.phrases
    if line.heading is not None or line.unchecked is not None:
        return (phrases,)
    if starred := _from_star(phrases):
        return starred
    if any(isinstance(phrase, _WHOLE_LINES) for phrase in phrases):
        return (phrases,)
    if repeated := _again(phrases):
        return repeated
    if cast_on := _cast_on_first(phrases):
        rest = phrases[len(cast_on) :]
        return (cast_on, *rows_apart(replace(line, phrases=rest)))
    apart = _apart(phrases, line.text)
    if len(apart) == 1 or not all(_is_complete(part) for part in apart):
        return (phrases,)
    return apart


def _apart(phrases: Sequence[ph.Phrase], text: str = "") -> tuple[tuple[ph.Phrase, ...], ...]:
    apart: list[list[ph.Phrase]] = [[]]
    for phrase in phrases:
        if (_begins(phrase) or _then(phrase, text)) and _says_how_long(apart[-1]):
            apart.append([])
        apart[-1].append(phrase)
    return tuple(map(tuple, apart))


def _cast_on_first(phrases: tuple[ph.Phrase, ...]) -> tuple[ph.Phrase, ...]:
    """Return what stands before the rows in "cast on 8 sts and knit 2 rows"; nothing for others."""
    said = (CastOn, JoinRound, Marker, Remark, ph.Stated, ph.SideFacing, ph.ColourChange)
    first = next((n for n, one in enumerate(phrases) if not isinstance(one, said)), len(phrases))
    head, rest = phrases[:first], phrases[first:]
    if not any(isinstance(one, CastOn) for one in head):
        return ()
    return head if any(isinstance(one, _LASTS) for one in rest) else ()


def _again(phrases: Sequence[ph.Phrase]) -> tuple[tuple[ph.Phrase, ...], ...]:
    """Return "[purl 1 row, knit 1 row] 3 times" as its stretches and their repeating."""
    match phrases:
        case (*body, ph.PhraseTimes(more=None | False) as times) if (
            sum(isinstance(one, ph.HowManyRows) for one in body) > 1
        ):
            fewer = tuple(number and number - 1 for number in times.amount)
            return _stretches_again(body, ph.PhraseTimes(fewer, more=True, at=times.at), ())
        case (ph.Bracket(stop=None, into=None, times=ph.PhraseTimes() as times) as bracket, *tail):
            pass
        case _:
            return ()
    fewer = tuple(number and number - 1 for number in times.amount)
    return _stretches_again(bracket.phrases, ph.PhraseTimes(fewer, more=True, at=times.at), tail)


def _from_star(phrases: Sequence[ph.Phrase]) -> tuple[tuple[ph.Phrase, ...], ...]:
    """Return "*purl 1 row, knit 1 row; rep from * twice more" as its stretches and repeating."""
    match phrases:
        case (ph.Star(), *_):
            end = next((n for n, one in enumerate(phrases) if isinstance(one, ph.RepeatFrom)), 0)
        case _:
            return ()
    said = phrases[end]
    if not isinstance(said, ph.RepeatFrom) or said.times is None or said.times.more is False:
        return ()
    more = replace(said.times, more=True)
    return _stretches_again(phrases[1:end], more, phrases[end + 1 :])


def _stretches_again(
    body: Sequence[ph.Phrase], more: ph.PhraseTimes, tail: Sequence[ph.Phrase]
) -> tuple[tuple[ph.Phrase, ...], ...]:
    stretch = (ph.Bare, ph.InPattern, ph.HowManyRows)
    rows = [one.amount for one in body if isinstance(one, ph.HowManyRows)]
    if not rows or not all(isinstance(one, stretch) for one in body):
        return ()
    if any(len(amount) > 1 or not amount[0] for amount in rows) or not all(
        number is not None for number in more.amount
    ):
        return ()
    last = (sum(amount[0] or 0 for amount in rows),)
    again = ph.RepeatRows(last=last, at=more.at)
    return (*_apart(body), (again, more, *tail))


def _begins(phrase: ph.Phrase) -> bool:
    return _binds_off(phrase) or (
        isinstance(phrase, ph.Bare) or (isinstance(phrase, ph.InPattern) and phrase.work)
    )


def _then(phrase: ph.Phrase, text: str) -> bool:
    """Whether a shaping comes after what was said: "work 10 rows, then dec 1 st each end"."""
    return isinstance(phrase, ph.Change) and _THEN.search(text, 0, phrase.at) is not None


def _binds_off(phrase: ph.Phrase) -> bool:
    return isinstance(phrase, BindOff) or (
        isinstance(phrase, ph.Bracket)
        and bool(phrase.phrases)
        and isinstance(phrase.phrases[0], BindOff)
    )


def _says_how_long(part: Sequence[ph.Phrase]) -> bool:
    """Whether it is said how long a stretch goes on, or how often it is shaped."""
    if any(isinstance(phrase, _LASTS) for phrase in part):
        return True
    shaped = any(isinstance(phrase, ph.Change) or _binds_off(phrase) for phrase in part)
    return shaped and any(
        isinstance(phrase, ph.PhraseTimes | ph.UntilCount)
        or (isinstance(phrase, ph.Schedule) and phrase.times is not None)
        for phrase in part
    )


def _is_complete(part: Sequence[ph.Phrase]) -> bool:
    return _says_how_long(part) or any(
        _binds_off(phrase) or isinstance(phrase, ph.Schedule) for phrase in part
    )
