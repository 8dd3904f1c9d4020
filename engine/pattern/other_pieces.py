"""
Stitches of other pieces that a row takes up: earflaps, pocket linings, the holders of a neck.

The words name the piece; its title tells which one is meant, and what its last row leaves is how
many stitches there are.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from engine.pattern.notation import ELSEWHERE, Item, TakeUp, Work
from engine.pattern.problems import PatternError, Problem

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from engine.pattern.needle import Needle


@dataclass(frozen=True, slots=True)
class PieceTakenIn:
    """
    A piece that is written before this one.

    `left` gives the groups of stitches that it leaves, live or on hold; None where not known.
    """

    title: str
    left: Callable[[], tuple[int, ...] | None]


def takes_from_others(items: Sequence[Item]) -> bool:
    """Whether a row takes up stitches that may be another piece's."""
    return any(isinstance(item, TakeUp) and item.whence for item in items)


def with_other_pieces(
    items: tuple[Item, ...],
    pieces: Sequence[PieceTakenIn],
    needle: Needle | None,
    *,
    begun: bool,
) -> tuple[Item, ...]:
    """
    Return a row whose stitches of other pieces have their numbers.

    `begun` says that the piece has stitches of its own already. Raises PatternError where it is
    not clear how many stitches are meant, or where that piece does not leave so many.
    """
    made: list[Item] = []
    count: int | None = None
    for item in items:
        if isinstance(item, TakeUp) and item.whence:
            taken = _taken(item, pieces, needle, begun=begun)
            count = taken.amount[0] if taken.amount is not None else None
            made.append(taken)
            if count is None:
                raise PatternError(Problem("Say how many stitches these are.", 1, item.at + 1))
        elif isinstance(item, Work) and item.amount == (None,):
            made.append(replace(item, amount=(count,)))
        else:
            made.append(item)
    return tuple(made)


def _taken(
    item: TakeUp, pieces: Sequence[PieceTakenIn], needle: Needle | None, *, begun: bool
) -> TakeUp:
    said = item.amount[0] if item.amount is not None else None
    held = needle.held if needle is not None else ()
    piece = _named(item.whence, pieces)
    if piece is None:
        if said is None and held:
            return replace(item, amount=(held[-1][1],))
        elsewhere = bool(pieces) and said is not None and said > sum(count for _, count in held)
        if not elsewhere and (held or (begun and not pieces)):
            return item
        return replace(item, name=ELSEWHERE)
    left = piece.left()
    if left is None:
        return replace(item, name=ELSEWHERE)
    if said is None and len(left) == 1:
        said = left[0]
    if said is not None and said not in {*left, sum(left)}:
        nearest = min((*left, sum(left)), key=lambda count: abs(count - said))
        sentence = f"{nearest} stitches are left by '{piece.title}', {said} are taken up."
        raise PatternError(Problem(sentence, 1, item.at + 1, off_by=nearest - said))
    return replace(item, name=ELSEWHERE, amount=(said,) if said is not None else None)


def _named(words: str, pieces: Sequence[PieceTakenIn]) -> PieceTakenIn | None:
    """Return the one piece whose title fits the words best; None if there is none, or several."""
    said = _stems(words)
    fits = [(_fit(said, _stems(piece.title)), piece) for piece in pieces]
    best = max((fit for fit, _ in fits), default=(0, 0.0))
    found = [piece for fit, piece in fits if fit == best]
    return found[0] if best[0] and len(found) == 1 else None


def _fit(said: set[str], title: set[str]) -> tuple[int, float]:
    common = len(said & title)
    return common, common / len(title) if title else 0.0


def _stems(words: str) -> set[str]:
    """Return the words that can name a piece, each in the singular."""
    bare = re.sub(r"[(\[][^()\[\]]*[)\]]", " ", words.casefold()).replace("ear flap", "earflap")
    return {word.removesuffix("s") for word in re.findall(r"[a-z]{3,}", bare)} - _NO_NAMES


_NO_NAMES = {
    "from", "across", "sts", "stitche", "the", "and", "both", "holder", "needle", "neck", "hold",
    "yarn", "waste", "spare", "pin", "thread", "make", "work", "held", "rem", "remaining", "stitch",
}  # fmt: skip
