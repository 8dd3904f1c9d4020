"""
Knitting with single loops in a list: an oracle that knows nothing of the product's arithmetic.

A row is a list of things to do, as plain tuples; every loop is an object of its own that is taken
from the left needle and put on the right one.
"""

from __future__ import annotations

from collections import deque

Step = tuple[object, ...]


class TooFewError(Exception):
    """A loop was wanted and none was there."""


class Knitter:
    """Two needles with single loops on them."""

    def __init__(self, loops: int) -> None:
        """Cast on."""
        self.left: deque[object] = deque(object() for _ in range(loops))
        self.right: list[object] = []

    def take(self, loops: int) -> None:
        """Take loops off the left needle."""
        for _ in range(loops):
            if not self.left:
                raise TooFewError
            self.left.popleft()

    def make(self, loops: int) -> None:
        """Put new loops on the right needle."""
        self.right.extend(object() for _ in range(loops))

    def do(self, steps: list[Step]) -> None:
        """Work steps: ("work", takes, leaves), ("times", n, steps), ("until", left, steps)."""
        for step in steps:
            match step:
                case ("work", int() as takes, int() as leaves):
                    self.take(takes)
                    self.make(leaves)
                case ("times", int() as times, list() as inner):
                    for _ in range(times):
                        self.do(inner)
                case ("until", int() as left, list() as inner):
                    if len(self.left) < left:
                        raise TooFewError
                    while len(self.left) > left:
                        before = len(self.left)
                        self.do(inner)
                        if len(self.left) < left or len(self.left) == before:
                            raise TooFewError
                case _:
                    raise AssertionError(step)


def row(loops: int, steps: list[Step]) -> int | None:
    """Return how many loops are on the needle after a row, or None if it cannot be worked."""
    knitter = Knitter(loops)
    try:
        knitter.do(steps)
    except TooFewError:
        return None
    return len(knitter.right) if not knitter.left else None
