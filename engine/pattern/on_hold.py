"""Stitches that are laid aside: on holders, pins, waste yarn or a spare needle."""

from __future__ import annotations

from engine.pattern.needle import Misfit, MisfitError
from engine.pattern.notation import Item, Remark, TakeUp
from engine.pattern.problems import are, counted

REST = "rest of the row"
"""The name of the stitches that were laid aside where a row was turned."""
DONE = "done"
"""The name of the stitches of a part that is finished: all that were on the needle."""
WAITING = "waiting"
"""The name of stitches that wait on the needle itself while others are worked on."""


class OnHold:
    """
    Groups of stitches by the name of where they are, the last one last.

    Several groups may have one name: two sleeves are both "on waste yarn".
    """

    def __init__(self, groups: tuple[tuple[str, int], ...]) -> None:
        """Begin with what is on hold already."""
        self.groups = list(groups)

    def __bool__(self) -> bool:
        """Whether any stitches are on hold."""
        return bool(self.groups)

    @property
    def last(self) -> str:
        """The name of the group that was laid aside last; of what is to be worked on, if any."""
        names = [name for name, _ in self.groups]
        return next((name for name in reversed(names) if name != DONE), names[-1])

    def meant(self, said: int | None) -> str:
        """Return the name of the group that was laid aside last, or last with so many stitches."""
        alone = (name for name, there in reversed(self.groups) if there == said)
        whole = (name for name, _ in reversed(self.groups) if self.under(name) == said)
        return next(alone, None) or next(whole, self.last)

    def put(self, name: str, count: int) -> None:
        """Lay stitches aside."""
        self.groups.append((name, count))

    def named(self, name: str) -> bool:
        """Whether a group has that name."""
        return any(name == known for known, _ in self.groups)

    def part(self, count: int, name: str, at: int) -> None:
        """Move some of the stitches to another holder: "slip first 24 sts from hold onto a pin"."""
        place = max((n for n, group in enumerate(self.groups) if group[0] == self.last), default=-1)
        held, there = self.groups[place] if self.groups else ("", 0)
        if not 0 < count <= there:
            message = f"{counted(there)} {are(there)} on hold, not {count}"
            raise MisfitError(Misfit(there - count, message, at))
        self.groups[place : place + 1] = [(name or "parted", count), (held, there - count)]

    def left_behind(self, said: int | None, at: int) -> int:
        """
        Return how many stitches have waited on the needle before those the yarn is joined to.

        "K28, turn, leave rem 18 sts on a pin; p10, turn; work on these 10 only": the first 18 never
        left the needle, and the yarn is joined beyond them.
        """
        rest = self.under(REST)
        if not rest or self.last != WAITING:
            return 0
        if said not in {None, rest}:
            message = f"{counted(rest)} of the row {are(rest)} on hold, not {said}"
            raise MisfitError(Misfit(rest - (said or 0), message, at))
        return self.take(WAITING, None)

    def one_place(self, name: str, at: int) -> None:
        """Refuse to take up all stitches of a name where they are in several places."""
        if len([known for known, _ in self.groups if known == name]) > 1:
            message = "Stitches are on hold in several places; say how many are taken up"
            raise MisfitError(Misfit(None, message, at))

    def under(self, name: str) -> int:
        """Return how many stitches are on hold under a name."""
        return sum(count for known, count in self.groups if known == name)

    def could_be(self, count: int) -> bool:
        """Whether so many stitches are on hold, in one place or under one name."""
        return any(count in {there, self.under(name)} for name, there in self.groups)

    def take(self, name: str, said: int | None, at: int = 0) -> int:
        """
        Take up a group of that name with so many stitches, or so many of all (None: all).

        Raises MisfitError where more are said than are on hold.
        """
        alone = (n for n, group in enumerate(self.groups) if group == (name, said))
        place = max(alone, default=None)
        if place is not None:
            return self.groups.pop(place)[1]
        count = self.under(name)
        self.groups = [group for group in self.groups if group[0] != name]
        if said is not None and 0 < said < count:
            self.groups.append((name, count - said))
            return said
        if said is not None and said > count:
            message = f"{counted(count)} {are(count)} on hold here, not {said}"
            raise MisfitError(Misfit(count - said, message, at))
        return count


def only_yarn(item: TakeUp) -> bool:
    """Whether "rejoin yarn" names no stitches: others may be taken up beside it."""
    return item.amount is None and not item.name and not item.beside


def taken_next(following: tuple[Item, ...]) -> bool:
    """Whether the next thing in the row is to take up stitches that are named."""
    item = next((one for one in following if not isinstance(one, Remark)), None)
    return isinstance(item, TakeUp) and item.beside and item.amount is not None
