"""
Where and how often a row is worked: a line that says two places, or two rows, is not worked once.

What stands beside the stitches ("and in the middle", "; (WS) purl") multiplies or parts the row.
Where it cannot be worked it is refused: nothing of it may be lost.
"""

from __future__ import annotations

import re
from itertools import pairwise
from typing import TYPE_CHECKING

from engine.pattern import phrases as ph
from engine.pattern.needle import net_of
from engine.pattern.notation import Along, Group, Item, Remark, StopWork, TurnWork
from engine.pattern.problems import PatternError, Problem

if TYPE_CHECKING:
    from collections.abc import Iterator

    from engine.pattern.rows import Row

_SIDE = re.compile(r"[(\[]?(?:rs|ws|right side|wrong side)[)\]]?\W*", re.IGNORECASE)
_MIDDLE = re.compile(r"(?:\w+ ){0,2}(?:middle|cent(?:er|re))\b", re.IGNORECASE)
_EVERY = re.compile(r"(?:\w+ ){1,2}(?:each|every)\b", re.IGNORECASE)
_AND = re.compile(r"\band\s+$", re.IGNORECASE)
_PLAIN = re.compile(r"(?:with|without) (?:\w+ )?(?:shap|inc|dec)", re.IGNORECASE)


def in_one_place(line: ph.PhraseLine) -> None:
    """Raise where a line says a second place for its shaping, or a second side of the fabric."""
    for phrase, after in pairwise((*line.phrases, None)):
        stops = isinstance(after, ph.RepeatFrom) and after.stop is not None
        if isinstance(phrase, ph.Into) and _EVERY.match(line.text, phrase.at) and not stops:
            sentence = "Say to where: 'in each st to end', or 'rep from * to end'."
            raise PatternError(Problem(sentence, 1, phrase.at + 1))
    for before, phrase in pairwise(line.phrases):
        placed = isinstance(before, ph.PhrasePlace) or (
            isinstance(before, ph.Change) and before.place is not ph.ChangePlace.ANYWHERE
        )
        second = isinstance(phrase, ph.Evenly) and _MIDDLE.match(line.text, phrase.at)
        if isinstance(phrase, ph.PhrasePlace):
            second = _AND.search(line.text, 0, phrase.at)
        if placed and second:
            sentence = "Say how many stitches that is in all, or write the row out."
            raise PatternError(Problem(sentence, 1, phrase.at + 1))
    _same_rows(line)
    if line.heading is None or any(isinstance(phrase, TurnWork) for phrase in line.phrases):
        return
    for phrase in line.phrases[1:-1]:
        if isinstance(phrase, Remark) and _SIDE.fullmatch(phrase.text):
            sentence = "Write the rows of the two sides as lines of their own."
            raise PatternError(Problem(sentence, 1, phrase.at + 1))


def _same_rows(line: ph.PhraseLine) -> None:
    """Raise where rows are to be repeated otherwise than they are, or two rows in turns."""
    rows = [n for n, one in enumerate(line.phrases) if isinstance(one, ph.RepeatRows)]
    for phrase in line.phrases if rows else ():
        if isinstance(phrase, ph.InPattern) and _PLAIN.match(line.text, phrase.at):
            sentence = "Say which rows these are: the ones named here may be shaped."
            raise PatternError(Problem(sentence, 1, phrase.at + 1))
    for start, end in pairwise(rows):
        between = {type(one) for one in line.phrases[start:end]}
        if ph.Schedule in between and ph.PhraseTimes not in between:
            sentence = "Say how often the one row is worked, and then the other."
            raise PatternError(Problem(sentence, 1, line.phrases[end].at + 1))


def once_to_the_end(phrases: tuple[ph.Phrase, ...], row: Row) -> None:
    """Raise at a row that is to be worked more than once: how often, or where, is not said."""
    for phrase in phrases:
        if isinstance(phrase, ph.EveryRow) and net_of(row.items) != 0:
            sentence = "Say how often this row is worked, or until how many stitches are left."
            raise PatternError(Problem(sentence, 1, phrase.at + 1))
    for item in row.items:
        if isinstance(item, Group) and max(item.times, key=_number) not in {None, 0, 1}:
            inner = tuple(_within(item))
            if any(isinstance(one, TurnWork) for one in inner):
                continue
            for one in inner:
                if isinstance(one, Along) and one.stop == StopWork():
                    sentence = "This is worked to the end: nothing is left to work it on again."
                    raise PatternError(Problem(sentence, 1, one.at + 1))


def _number(times: int | None) -> int:
    return times or 0


def _within(item: Group | Along) -> Iterator[Item]:
    for one in item.body:
        yield one
        if isinstance(one, Group | Along):
            yield from _within(one)
