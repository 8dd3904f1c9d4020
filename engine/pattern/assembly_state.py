"""What is known of a piece as far as its lines have been gone through, and what was found."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from engine.limits import MOST_ROWS, TooMuchWorkError
from engine.pattern import phrases as ph
from engine.pattern.blocks import Block
from engine.pattern.changes_said import stated_in_note
from engine.pattern.course import Part
from engine.pattern.going_on import slides
from engine.pattern.headings import Side
from engine.pattern.lines import LineKind, Prepared
from engine.pattern.needle import Needle, without_round_mark
from engine.pattern.notation import (
    amount_for,
)
from engine.pattern.problems import Problem
from engine.pattern.routines import AS_SET, routine
from engine.pattern.tree import (
    Event,
    Node,
    RowSpec,
    Sequence,
    Stretch,
    leaves,
)

if TYPE_CHECKING:
    from engine.pattern.notation import Item
    from engine.pattern.other_pieces import PieceTakenIn
    from engine.pattern.toml_positions import Value


TOO_MUCH = (
    "From here on this asks for more than is ever knitted, so the counting stops here; "
    "look for a number that is far too large."
)


@dataclass(frozen=True, slots=True)
class RowCount:
    """The stitches after a written line: None where they are not known."""

    section: str
    row: str
    stitches: int | None
    checked: bool
    line: int


@dataclass(frozen=True, slots=True)
class SectionLines:
    """A section of a piece: its id, its title, its lines, and how it begins."""

    id: str
    title: str
    lines: tuple[Prepared, ...]
    patterns: dict[str, tuple[Prepared, ...]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Assembled:
    """A piece for one size: its parts, and what was found on the way."""

    parts: tuple[Part, ...]
    counts: tuple[RowCount, ...]
    problems: tuple[Problem, ...]
    warnings: tuple[Problem, ...]
    left: tuple[int, ...] | None = None
    """The groups of stitches that the piece leaves, live or on hold; None where not known."""
    too_much: Problem | None = None
    """Where the counting was given up: what is there is not the whole piece."""


class SoFar:
    """What is known of a piece after so many of its lines, for one size."""

    def __init__(
        self, *, size: int, name: str | None, cast_on: int | None, in_the_round: bool
    ) -> None:
        """Start with the stitches that are cast on."""
        self.size = size
        self.name = name
        self.in_the_round = in_the_round
        self.needle: Needle | None = (
            Needle((cast_on,), in_the_round=in_the_round) if cast_on is not None else None
        )
        first = Side.ROUND if in_the_round else Side.RIGHT
        self.side: Side | None = first
        self.rows = 0
        self.parts: list[Part] = []
        self.nodes: list[Node] = []
        self.part_side: Side | None = first
        self.part_start_rows = 0
        self.side_known = False
        self.turned = True
        """Whether the work is turned after every row; not so where it is slid back ("i-cord")."""
        self.routine = routine(AS_SET, in_the_round=in_the_round, stitches=cast_on)
        self.routine_said = False
        self.last_plain: dict[bool, RowSpec] = {}
        self.block = Block()
        self.named: dict[str, RowSpec] = {}
        self.counts: list[RowCount] = []
        self.problems: list[Problem] = []
        self.warnings: list[Problem] = []
        self.section: SectionLines = SectionLines("", "", ())
        self.loops_in_section = 0
        self.pending_notes: list[str] = []
        self.given: dict[str, list[tuple[Prepared, ...]]] = {}
        self.after_failure = False
        self.cast_on = cast_on
        self.multiple: tuple[int, int] | None = None
        self.unknown_told = False
        self.trusted = False
        self.told_on: dict[int, int] = {}
        """The stitches before a row on trust when its count was told, by its line."""
        self.given_at: int | None = None
        """The line that means the lines of another part, while they are gone through."""
        self.others: tuple[PieceTakenIn, ...] = ()
        """The pieces that are written before this one."""
        self.two_sides = False
        """Whether both sides of a neck are worked at once, each with a ball of its own."""
        self.counted: Value | None = None
        self.bound: tuple[Needle, tuple[Item, ...], int] | None = None
        self.at: Value | None = None
        """The line that is gone through, and how it is called."""
        self.at_label = ""
        self.last_items: tuple[Item, ...] = ()
        """The needle before the last row that bound off within it, the row, its number."""

    def finish(self) -> Assembled:
        """Return what was assembled."""
        self._close_part()
        return Assembled(
            tuple(self.parts), tuple(self.counts), tuple(self.problems), tuple(self.warnings),
            self._left(),
        )  # fmt: skip

    def given_up(self) -> Assembled:
        """Return what was assembled up to the line that asks for more than is ever knitted."""
        line, column = self.at.place() if self.at is not None else (1, 1)
        label, title = self.at_label, self.section.title
        problem = Problem(TOO_MUCH, line, column, title, label, max(self.rows, 1), self.name)
        return Assembled(
            (), tuple(self.counts), (*self.problems, problem), tuple(self.warnings),
            too_much=problem,
        )  # fmt: skip

    def _left(self) -> tuple[int, ...] | None:
        if self.needle is None:
            return None
        live = (self.needle.total,) if self.needle.total else ()
        return (*live, *(count for _, count in self.needle.held))

    def _emit(self, node: Node) -> None:
        self.nodes.append(node)

    def _advance(self, rows: int) -> None:
        self.rows += rows
        if self.rows > MOST_ROWS:
            raise TooMuchWorkError
        if self.in_the_round or not self.turned:
            return
        if rows % 2 and self.side is not None:
            self.side = side_after(self.side, 1)

    def _side_said(self, side: Side | None) -> None:
        """Take the side that a heading names: a new part begins where it is not the next one."""
        if side is None or self.in_the_round:
            return
        self.side_known = True
        if self.side is not side:
            self._close_part()
            self.side = side
            self.part_side = side

    def _side_of_heading(self, side: Side | None) -> None:
        """
        Take the side that a row's own heading names.

        Where nothing has said so before, it tells the sides of the rows up to there too: after
        "K 3 rows" a row "(RS)" says that the first of the three was a wrong-side row.
        """
        if side is None or self.in_the_round:
            return
        if self.side is not side and not self.side_known and self._same_from_both_sides():
            self.parts = [replace(part, side=side_after(part.side, 1)) for part in self.parts]
            self.side, self.part_side = side, side_after(self.part_side, 1)
            self.last_plain = {not wrong: spec for wrong, spec in self.last_plain.items()}
        self._side_said(side)

    def _same_from_both_sides(self) -> bool:
        """Whether all rows so far read alike whichever side they begin on."""
        if any(part.loop is not None or part.side is Side.ROUND for part in self.parts):
            return False
        nodes = [*(part.node for part in self.parts), *self.nodes]
        for leaf in (leaf for node in nodes for leaf in leaves(node)):
            if isinstance(leaf, Stretch):
                if leaf.routine.by_side and len(leaf.routine.specs) > 1:
                    return False
            elif leaf.spec.instruction.routine or isinstance(leaf, Event):
                return False
        return bool(nodes)

    def _flat_or_round(self, prepared: Prepared) -> None:
        """Change over where "Row 1 (RS)" stands in a round piece or "Rnd 1" in a flat one."""
        heading = prepared.line.heading
        if heading is None or not self.rows:
            return
        if self.in_the_round and heading.side is not None and not heading.in_the_round:
            self._close_part()
            self.in_the_round = False
            if self.needle is not None:
                self.needle = replace(self.needle, in_the_round=False, adrift=False)
            self.side = self.part_side = heading.side
        elif not self.in_the_round and heading.in_the_round:
            self._join()

    def _turned_after(self, specs: tuple[RowSpec, ...]) -> None:
        """Begin a part where rows are not turned any more ("slide sts back") or are again."""
        turned = self.in_the_round or not (specs and all(_slides(spec) for spec in specs))
        if turned is not self.turned:
            self._close_part()
            self.turned = turned

    def _join(self) -> None:
        self._close_part()
        self.turned = True
        self.in_the_round = True
        if self.needle is not None:
            self.needle = without_round_mark(replace(self.needle, in_the_round=True))
        self.side = self.part_side = Side.ROUND

    def _close_part(self) -> None:
        if self.nodes:
            node = Sequence(self.nodes)
            part = Part(self.section.id, self.section.title, node, self.part_side, None)
            self.parts.append(replace(part, turned=self.turned))
            self.nodes = []
        self.part_side = self.side

    def _ending_fits(self, prepared: Prepared) -> None:
        ending = prepared.first(ph.Ending)
        if not isinstance(ending, ph.Ending) or ending.side is None or self.in_the_round:
            return
        if self.side is ending.side:
            word = "right" if ending.side is Side.RIGHT else "wrong"
            self._warning(f"The last of these rows is not a {word}-side row.", prepared)

    def _count(self, prepared: Prepared) -> None:
        if self.after_failure:
            return
        total = self.needle.total if self.needle is not None else None
        self.two_sides = self.two_sides and total != 0
        checked = prepared.kind is not LineKind.UNCHECKED and not self.trusted
        self.trusted = False
        label = prepared.label
        if prepared.part and self.counts and self.counted is prepared.source:
            # One row of the file has one count: the one after the last of its sentences.
            label, checked = self.counts[-1].row, checked and self.counts[-1].checked
            self.counts.pop()
        self.counted = prepared.source
        self._compare_part(prepared)
        line = prepared.source.line if self.given_at is None else self.given_at
        self.counts.append(RowCount(self.section.title, label, total, checked, line))

    def _compare_part(self, prepared: Prepared) -> None:
        """Compare "17 sts each side", "12 sts between markers"."""
        said = prepared.stated
        if said is None or not said.part or self.needle is None:
            return
        number = amount_for(said.amount, self.size)[0]
        if not number:
            return
        total = self.needle.total
        if said.part in {"each", "both"}:
            parts = max(round(total / number), 2) if said.part == "each" else 2
            if total != parts * number:
                self._add_problem(
                    f"{total} stitches are on the needle after this; {parts} times {number}, as "
                    f"stated, would be {parts * number}.",
                    prepared, prepared.label, total - parts * number,
                )  # fmt: skip
            return
        inner = self.needle.segments[1:-1] if len(self.needle.segments) > 2 else ()  # noqa: PLR2004
        if inner and number not in inner:
            nearest = min(inner, key=lambda count: abs(count - number))
            self._add_problem(
                f"{nearest} stitches are between the markers after this, {number} are stated.",
                prepared, prepared.label, nearest - number,
            )  # fmt: skip

    def _replace_count(self, prepared: Prepared) -> None:
        if self.counts and self.counts[-1].row == prepared.label:
            self.counts.pop()
            self.counted = None  # the one before it is another line's
        self._count(prepared)

    def _problem(self, problem: Problem, prepared: Prepared) -> None:
        line, column = prepared.source.place((problem.column or 1) - 1)
        placed = replace(problem, line=line, column=column)
        self.problems.append(
            placed.within(section=self.section.title, row=prepared.label, size=self.name)
        )
        self.needle, self.after_failure = None, True

    def _add_problem(
        self, message: str, prepared: Prepared, label: str, off_by: int | None
    ) -> None:
        said = prepared.stated
        line, column = prepared.source.place(said.at if said is not None else 0)
        self.problems.append(
            Problem(
                message,
                line,
                column,
                self.section.title,
                label,
                max(self.rows, 1),
                self.name,
                off_by,
            )
        )

    def _warning(self, message: str, prepared: Prepared, at: int = 0) -> None:
        line, column = prepared.source.place(at)
        self.warnings.append(
            Problem(message, line, column, self.section.title, prepared.label, None, self.name)
        )

    def _stated_numbers(self, prepared: Prepared) -> tuple[int | None, int | None]:
        said = prepared.stated
        total, change = self._noted(prepared)
        beside = prepared.row.changed if prepared.row is not None else None
        if beside is not None and beside is not said:
            number = amount_for(beside.amount, self.size)[0]
            change = change if number is None else number * beside.change
        if said is None or said.part:
            return total, change
        number = amount_for(said.amount, self.size)[0]
        if said.change:
            return total, change if number is None else number * said.change
        return number, change

    def _noted(self, prepared: Prepared) -> tuple[int | None, int | None]:
        """Return the count, or the change of it, that a heading states: "Inc row (inc 5 sts):"."""
        heading = prepared.line.heading
        said = stated_in_note(heading.note) if heading is not None and heading.note else None
        if said is None or (len(said.amount) > 1 and self.size >= len(said.amount)):
            return None, None
        number = amount_for(said.amount, self.size)[0]
        if said.change:
            return None, None if number is None else number * said.change
        return number, None

    def _markers(self) -> int:
        return (
            len([mark for mark in self.needle.marks if mark.isalnum() or not mark])
            if self.needle
            else 0
        )

    def _with_notes(self, spec: RowSpec) -> RowSpec:
        if not self.pending_notes:
            return spec
        notes = ". ".join([*self.pending_notes, *([spec.note] if spec.note else [])])
        self.pending_notes = []
        return replace(spec, note=notes)


def side_after(side: Side | None, rows: int) -> Side:
    """Return the side that faces after so many more rows."""
    if side is None or side is Side.ROUND:
        return side or Side.RIGHT
    if rows % 2 == 0:
        return side
    return Side.WRONG if side is Side.RIGHT else Side.RIGHT


def _slides(spec: RowSpec) -> bool:
    return not spec.instruction.stitches_only and slides(spec.items)
