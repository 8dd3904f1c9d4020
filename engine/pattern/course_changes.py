"""Which row of a course is the next that may be shaped or different, without going through all."""

from __future__ import annotations

from typing import TYPE_CHECKING

from engine.limits import spend
from engine.pattern.tree import Event, Leaf, Repeat, Sequence, Stretch

if TYPE_CHECKING:
    from engine.pattern.count_map import CountMap
    from engine.pattern.tree import Node


def next_candidate(node: Node, index: int) -> int | None:
    """Return a row at or after `index` that may be shaped or different, skipping what cannot be."""
    spend()
    if index >= node.rows:
        return None
    match node:
        case Leaf():
            return index
        case Event():
            return None
        case Sequence():
            child, inside = node.child_at(index)
            start = index - inside
            while child < len(node.children):
                found = next_candidate(node.children[child], inside)
                if found is not None:
                    return start + found
                start += node.children[child].rows
                child, inside = child + 1, 0
            return None
        case Repeat():
            return _next_in_repeat(node, index)
        case Stretch():
            return _next_in_stretch(node, index)


def comes_again(node: Node, index: int) -> int | None:
    """Return after how many rows what is done from row `index` on comes again; None if never."""
    match node:
        case Repeat():
            return node.child.rows
        case Stretch():
            return len(node.routine.specs) if node.next_shaping(index) is None else None
        case _:
            return None


def _next_in_repeat(node: Repeat, index: int) -> int | None:
    rows = node.child.rows
    time, inside = divmod(index, rows)
    # The first two times may differ from what was before; later ones only if something is shaped.
    if time == 0 or (not node.said and index < 2):  # noqa: PLR2004 (both sides)
        found = next_candidate(node.child, inside)
        if found is not None:
            return time * rows + found
        time, inside = time + 1, 0
    if time >= node.times:
        return None
    found = _next_shaped(node.child, inside)
    if found is not None:
        return time * rows + found
    found = _next_shaped(node.child, 0)
    if found is not None and time + 1 < node.times:
        return (time + 1) * rows + found
    return None


def _next_in_stretch(node: Stretch, index: int) -> int | None:
    period = len(node.routine.specs)
    settled = max(period, 2)
    if index < settled:
        return index
    shaped = node.next_shaping(index)
    if shaped is not None:
        return shaped
    if node.routine.unchanging:
        return None
    return next(
        (
            index + step
            for step in range(min(period, node.rows - index))
            if not keeps(node.routine.spec_at(index + step, wrong_side=False).effect)
        ),
        None,
    )


def _next_shaped(node: Node, index: int) -> int | None:
    spend()
    if index >= node.rows:
        return None
    match node:
        case Leaf():
            return index if not keeps(node.spec.effect) or not node.spec.checked else None
        case Event():
            return None
        case Sequence():
            child, inside = node.child_at(index)
            start = index - inside
            while child < len(node.children):
                found = _next_shaped(node.children[child], inside)
                if found is not None:
                    return start + found
                start += node.children[child].rows
                child, inside = child + 1, 0
            return None
        case Repeat():
            time, inside = divmod(index, node.child.rows)
            found = _next_shaped(node.child, inside)
            if found is not None:
                return time * node.child.rows + found
            found = _next_shaped(node.child, 0)
            return (
                (time + 1) * node.child.rows + found
                if found is not None and time + 1 < node.times
                else None
            )
        case Stretch():
            return node.next_shaping(index)


def keeps(effect: CountMap | None) -> bool:
    """Return whether a row leaves as many stitches as it found; so does one that is not known."""
    if effect is None:
        return True
    if effect.only is not None:
        return effect.only == effect(effect.only)
    return (effect.a, effect.b, effect.q) == (1, 0, 1)
