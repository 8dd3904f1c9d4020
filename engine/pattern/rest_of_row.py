"""What is left of a row when so many of its stitches are on the right needle."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from engine.pattern.drawn_steps import steps_of
from engine.pattern.needle import fixed
from engine.pattern.notation import Along, BindOff, Group, Work

if TYPE_CHECKING:
    from engine.pattern.drawn_steps import Steps
    from engine.pattern.instruction import Instruction
    from engine.pattern.notation import Item


def rest_of_row(instruction: Instruction, before: int | None, made: int) -> Instruction:
    """
    Return what is left of a row over `before` stitches once `made` are on the right needle.

    A row that cannot be told apart stitch by stitch is returned whole: nothing is guessed.
    """
    if made <= 0 or before is None:
        return instruction
    steps = steps_of(instruction.items, before)
    if steps is None:
        return instruction
    done = _steps_done(steps, made)
    start = 0
    for at, end in enumerate(steps.ends):
        if done < end:
            rest = _rest_of(instruction.items[at], done - start)
            return replace(instruction, items=(*rest, *instruction.items[at + 1 :]))
        start = end
    return instruction


def _steps_done(steps: Steps, made: int) -> int:
    """Return after how many steps so many stitches have been made."""
    so_far = 0
    for at, step in enumerate(steps.steps):
        if so_far >= made:
            return at
        so_far += len(step.leaves)
    return len(steps.steps)


def _rest_of(item: Item, done: int) -> tuple[Item, ...]:
    """Return what is left of an item after so many of its steps."""
    if not done:
        return (item,)
    match item:
        case Work():
            return (replace(item, amount=((item.amount[0] or 0) - done,)),)
        case BindOff() if item.amount is not None:
            return (replace(item, amount=((item.amount[0] or 0) - done,)),)
        case Group():
            once = _steps_in(item.body)
            if not once:
                return (item,)
            whole, part = divmod(done, once)
            left = (item.times[0] or 0) - whole - bool(part)
            again = (replace(item, times=(left,)),) if left > 0 else ()
            return (*_rest_within(item.body, part), *again)
        case Along():
            once = _steps_in(item.body)
            part = done % once if once else 0
            return (*_rest_within(item.body, part), item)
        case _:
            return (item,)


def _steps_in(items: tuple[Item, ...]) -> int:
    """Return how many steps the items are; 0 if that depends on where they are worked."""
    taken = fixed(items)
    steps = None if taken is None else steps_of(items, taken[0])
    return 0 if steps is None else len(steps.steps)


def _rest_within(body: tuple[Item, ...], done: int) -> tuple[Item, ...]:
    """Return what is left of a repeat that is under way; nothing if none is."""
    if not done:
        return ()
    for at, item in enumerate(body):
        steps = _steps_in((item,))
        if done < steps:
            return (*_rest_of(item, done), *body[at + 1 :])
        done -= steps
    return ()
