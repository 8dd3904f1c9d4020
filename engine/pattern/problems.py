"""What can be wrong with a written pattern, as values that point at the place in its file."""

from __future__ import annotations

from dataclasses import dataclass, replace


@dataclass(frozen=True, slots=True)
class Problem:
    """
    One thing that is wrong, in one sentence with a remedy.

    `line` and `column` count from 1 in the pattern file. `section` is its title, `row` the
    designer's own heading ("Row 13") and `row_number` the row counted from the cast-on. `size` is
    None where every size is meant. `off_by` counts stitches: above zero so many are left over,
    below zero so many are too few.
    """

    message: str
    line: int | None = None
    column: int | None = None
    section: str | None = None
    row: str | None = None
    row_number: int | None = None
    size: str | None = None
    off_by: int | None = None

    def within(
        self, *, section: str | None = None, row: str | None = None, size: str | None = None
    ) -> Problem:
        """Return the problem with its surroundings filled in where it does not name them itself."""
        return replace(
            self,
            section=self.section if self.section is not None else section,
            row=self.row if self.row is not None else row,
            size=self.size if self.size is not None else size,
        )

    def __str__(self) -> str:
        """Write it on one line: place, row, size, sentence."""
        place = f"line {self.line}, column {self.column}" if self.line is not None else ""
        about = [
            part
            for part in (place, self.section, self.row, f"size {self.size}" if self.size else "")
            if part
        ]
        return f"{', '.join(about)}: {self.message}" if about else self.message


class PatternError(ValueError):
    """Carries a problem out of the depth of the reader; never leaves this package."""

    def __init__(self, problem: Problem) -> None:
        """Keep the problem."""
        super().__init__(problem.message)
        self.problem = problem
