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


def counted(stitches: int) -> str:
    """Write a number of stitches: "1 stitch", "5 stitches"."""
    return "1 stitch" if stitches == 1 else f"{stitches} stitches"


def are(count: int) -> str:
    """Return the verb that goes with a count: 1 is, 5 are."""
    return "is" if count == 1 else "are"


def too_few(missing: int, there: int) -> str:
    """Say how many stitches are missing, and how many there are."""
    return f"{counted(missing)} too few {are(missing)} on the needle: {there} {are(there)} there"


def count_differs(total: int, stated: int) -> str:
    """Say that another count is stated than is on the needle."""
    return f"{counted(total)} {are(total)} on the needle after this, {stated} {are(stated)} stated."


class PatternError(ValueError):
    """Carries a problem out of the depth of the reader, and of a course that is not whole."""

    def __init__(self, problem: Problem) -> None:
        """Keep the problem."""
        super().__init__(problem.message)
        self.problem = problem
