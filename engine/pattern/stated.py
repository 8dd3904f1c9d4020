"""What a row states of its count: the stitches after it, the change, the parts that make it up."""

from __future__ import annotations

from typing import TYPE_CHECKING

from engine.pattern import phrases as ph
from engine.pattern.row_parts import problem_in_row

if TYPE_CHECKING:
    from engine.pattern.notation import Amount


class StatedCounts:
    """Gathers what one row states; nothing stated takes the place of something else unseen."""

    def __init__(self) -> None:
        """Start with nothing stated."""
        self.count: ph.Stated | None = None
        self.changed: ph.Stated | None = None
        self._listed: list[Amount] = []

    def state(self, said: ph.Stated) -> None:
        """
        Keep the count after the row, and beside it how much the row changes it.

        Raises PatternError at two that differ.
        """
        if said.change and not said.part:
            if self.changed is not None and self.changed != said:
                raise problem_in_row("Two changes of the count are stated here.", said.at)
            self.changed = said
            return
        before = self.count
        parts = said.part or (before is not None and before.part)
        if before is not None and not parts and before.amount != said.amount:
            raise problem_in_row("Two counts are stated here; which one is meant?", said.at)
        if before is None or not said.part:
            self.count = said

    def part(self, amount: Amount) -> None:
        """Keep one of the numbers that make up the count: "46 from left sleeve, 72 from front"."""
        self._listed.append(amount)

    def in_all(self) -> ph.Stated | None:
        """Return what is stated of the count; raises PatternError where its parts are others."""
        if not self._listed:
            return self.count
        sizes = max(map(len, self._listed))
        each = [amount * sizes if len(amount) == 1 else amount for amount in self._listed]
        if any(len(amount) != sizes for amount in each):
            raise problem_in_row("These numbers are not for the same sizes.", 0)
        total = tuple(sum(number or 0 for number in numbers) for numbers in zip(*each, strict=True))
        said = self.count
        if said is None or said.change or said.part or len(said.amount) != sizes:
            return said or ph.Stated(total)
        if any(one not in {None, made} for one, made in zip(said.amount, total, strict=True)):
            sentence = f"The numbers of this line make {total[0]}, {said.amount[0]} are stated."
            raise problem_in_row(sentence, said.at)
        return said
