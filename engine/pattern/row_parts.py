"""What the builder of rows looks at: runs of plain stitches, slips that are passed over."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from engine.pattern import phrases as ph
from engine.pattern.needle import fixed
from engine.pattern.notation import (
    BindOff,
    CastOn,
    Group,
    InStitch,
    Item,
    Marker,
    Remark,
    StopWork,
    TurnWork,
    Work,
)
from engine.pattern.problems import PatternError, Problem
from engine.pattern.stitches import Kind

if TYPE_CHECKING:
    from engine.pattern.notation import Amount

PASSED: dict[tuple[str, Amount, str, int], str] = {
    ("sl", (1,), "k", 1): "skp",
    ("sl", (1,), "k2tog", 1): "sk2p",
    ("sl", (2,), "k", 1): "s2kp",
    ("sl", (2,), "k", 2): "s2kp",
    ("sl2tog", (1,), "k", 2): "s2kp",
}


def grouped(body: tuple[Item, ...], times: ph.PhraseTimes, *, star: bool, at: int) -> Item:
    """Like "(k2, p2) 3 times": three in all; "3 more times": three more; "(yo) twice": yo2."""
    if times.more:
        count = tuple(None if number is None else number + 1 for number in times.amount)
        return Group(body, count, star=star, at=at)
    if len(body) == 1 and isinstance(body[0], Work) and body[0].amount == (1,):
        return replace(body[0], amount=times.amount)
    return Group(body, times.amount, star=star, at=at)


def plain_count(items: tuple[Item, ...]) -> int | None:
    """Return how many stitches plain items leave on the right needle, the same for all sizes."""
    total = 0
    for item in items:
        match item:
            case Work() if len(item.amount) == 1:
                total += item.stitch.leaves * (item.amount[0] or 0)
            case BindOff() | Marker() | Remark():
                continue
            case _:
                return None
    return total


def plain_work(item: Item) -> bool:
    """Return whether this is nothing but knit or purl stitches."""
    return isinstance(item, Work) and item.stitch.kind in {Kind.KNIT, Kind.PURL}


def start_of_repeated(items: list[Item], phrase: ph.RepeatFrom) -> int:
    """
    Return where the stitches begin that "repeat" means where no star says it: all of the row.

    "K4, k2tog, repeat to end" is all of it each time. Raises where a first or last part may stand
    outside of the repeat: after a marker, or with an edge of stitches at the end.
    """
    start = 1 if isinstance(items[0], Remark) else 0
    if len(items) - start == 1:
        return start
    inside = all(isinstance(item, Work | InStitch) for item in items[start:])
    to_end = phrase.stop is None or phrase.stop == StopWork()
    if not inside or not to_end:
        sentence = "Put a star or brackets around what is repeated; it is not clear here."
        raise problem_in_row(sentence, phrase.at)
    return start


def without_verbs(phrases: tuple[ph.Phrase, ...]) -> tuple[ph.Phrase, ...]:
    """Leave out the verb of "K *1A, 2B; rep from *": it only says how the colours are worked."""
    if not isinstance(phrases[0] if phrases else None, ph.Bare):
        return phrases
    return tuple(
        phrase
        for index, phrase in enumerate(phrases)
        if not (isinstance(phrase, ph.Bare) and _in_colours(phrases[index + 1 : index + 3]))
    )


def _in_colours(phrases: tuple[ph.Phrase, ...]) -> bool:
    match phrases:
        case (ph.Star(), Work(colour=colour), *_) | (
            ph.Bracket(phrases=(Work(colour=colour), *_)),
            *_,
        ):
            return bool(colour)
        case _:
            return False


def small(item: Item) -> bool:
    """Return whether this is one of the loops that several are made of in one stitch."""
    return isinstance(item, Work) and item.amount == (1,) and item.stitch.name in {"k", "p", "yo"}


def over_so_many(body: tuple[Item, ...], over: Amount, at: int, *, first: bool) -> Group:
    """Return a repeat over so many stitches; they are all of its stitches, the first time too."""
    inner = fixed(body)
    takes = inner[0] if inner is not None else 0
    if not takes or not first:
        raise problem_in_row("How often this is repeated is not clear here.", at)
    over_by = next((number % takes for number in over if number and number % takes), 0)
    if over_by:
        sentence = f"A repeat of {takes} does not end evenly over so many stitches."
        raise problem_in_row(sentence, at)
    times = tuple(number and number // takes for number in over)
    return Group(body, times, star=True, at=at)


def problem_in_row(sentence: str, at: int) -> PatternError:
    """Return the error that points at a place of the row, counted from nought."""
    return PatternError(Problem(sentence, 1, at + 1))


def cast_on_after_turning(items: tuple[Item, ...]) -> tuple[Item, ...]:
    """Like "K20, turn, cast on 4, turn, k20": to cast on there needs no row of its own."""
    made: list[Item] = []
    for index, item in enumerate(items):
        after = items[index + 1 : index + 3]
        before = items[index - 2 : index] if index > 1 else ()
        match item, before, after:
            case TurnWork(), _, (CastOn(),) | (CastOn(), TurnWork()):
                continue
            case TurnWork(), (TurnWork(), CastOn()), _:
                continue
            case _:
                made.append(item)
    return tuple(made)
