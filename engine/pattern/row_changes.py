"""What is said of a row in words, put into its items: "dec 1 st at each end", "k until 20 sts"."""

from __future__ import annotations

from dataclasses import replace

from engine.pattern import phrases as ph
from engine.pattern.notation import Along, BindOff, Item, StopAt, StopWork, Work
from engine.pattern.row_parts import plain_count, problem_in_row
from engine.pattern.stitches import STITCHES

_WRITE_IT_OUT = "Write this row out in stitches."


def add_change(items: list[Item], phrase: ph.Change) -> None:
    """
    Put "inc 1", "dec 1 st" into a row, or, after "k to end", at the ends of it.

    Raises PatternError where the words do not say which stitches are meant.
    """
    last = items[-1] if items else None
    if isinstance(last, BindOff) and last.amount is None:
        return  # "bind off, working 2 tog at each end": nothing is left all the same
    change = Work(STITCHES["inc" if phrase.increases else "dec"], phrase.amount, at=phrase.at)
    whole = isinstance(last, Along) and last.stop == StopWork()
    if isinstance(last, Along) and whole:
        items[-1] = replace(last, stop=StopWork(StopAt.REST))
    at_both, at_first = ph.ChangePlace.EACH_END, ph.ChangePlace.BEGINNING
    if phrase.place is ph.ChangePlace.MARKERS or (phrase.place is at_both and not whole):
        raise problem_in_row(_WRITE_IT_OUT, phrase.at)
    if phrase.place is at_first and items and not whole:
        raise problem_in_row(_WRITE_IT_OUT, phrase.at)
    if whole and phrase.place in {at_both, at_first}:
        items.insert(0, change)
    if phrase.place is not at_first or not whole:
        items.append(change)


def work_until_made(items: list[Item], phrase: ph.Made) -> None:
    """
    Like "k until there are 20 sts on right needle": counted from the row's beginning.

    Raises PatternError where that number does not follow from the words.
    """
    last = items.pop() if items else None
    before = plain_count(tuple(items))
    if not isinstance(last, Along) or before is None:
        raise problem_in_row("Say how many stitches are worked here.", phrase.at)
    bound = [item for item in items if isinstance(item, BindOff)]
    body = last.body[0]
    if len(last.body) != 1 or not isinstance(body, Work) or body.stitch.net:
        raise problem_in_row("Say how many stitches are worked here.", phrase.at)
    # The stitch left by binding off is on the right needle and among those that are counted.
    made = 0 if bound and items[-1] is bound[-1] else before
    amount = tuple(None if n is None else max(n - made, 0) for n in phrase.amount)
    items.append(replace(body, amount=amount))
