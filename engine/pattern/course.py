"""
The course of a piece: which row is the n-th, what it is, and what comes next.

A course is a value without a cursor. Where the knitter is follows from the number of the row and
from where she ended the parts that are worked "until it measures"; next and back are n + 1 and
n - 1.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from engine.limits import MOST_ROWS, spend
from engine.pattern.course_changes import comes_again, keeps, next_candidate
from engine.pattern.datum import Datum
from engine.pattern.headings import Side
from engine.pattern.instruction import Instruction
from engine.pattern.routines import AS_SET, routine
from engine.pattern.tree import (
    Node,
    RowAt,
    Sequence,
    Stretch,
)

if TYPE_CHECKING:
    from collections.abc import Mapping

    from engine.pattern.count_map import CountMap
    from engine.pattern.problems import Problem
    from engine.quantities import Length


@dataclass(frozen=True, slots=True)
class PartnerRows:
    """As long as another piece: the designer's words say which ("same length as back")."""

    text: str


@dataclass(frozen=True, slots=True)
class OpenLoop:
    """
    A part that is worked until the knitter says that it is long enough.

    `id` is made of the section's id and the loop's place in it, so that it stays the same when
    other sections are edited. `ends_on` is the side of its last row, where the designer says so;
    `where` is what it is measured from in the designer's words, `datum` what that means.
    """

    id: str
    target: Length | PartnerRows | None
    section: str
    ends_on: Side | None = None
    where: str = ""
    datum: Datum = Datum.CAST_ON


@dataclass(frozen=True, slots=True)
class RepeatPlace:
    """Third of five, row two: `time` of `times` (None: open), row `row` of `rows`."""

    time: int
    times: int | None
    row: int
    rows: int


@dataclass(frozen=True, slots=True)
class Place:
    """
    One row of the piece.

    `row` counts from the cast-on; `before` and `after` are the stitches expected (None: not known);
    `checked` is False for rows that the reader only carries; `shaping` says that the count changes,
    `different` that the row is not the one the hands expect. `finished` is True past the last row:
    then `row` is the number asked for and nothing is to be worked.
    """

    row: int
    section: str
    section_title: str
    row_in_section: int
    side: Side
    instruction: Instruction
    label: str
    repeat: RepeatPlace | None
    before: int | None
    after: int | None
    checked: bool
    shaping: bool
    different: bool
    note: str | None
    open_loop: OpenLoop | None
    finished: bool


@dataclass(frozen=True)
class Part:
    """
    A stretch of a course: closed rows, or one open loop; `side` None goes on from before.

    Not `turned` are rows that are slid back and worked from the same side again ("i-cord").
    """

    section: str
    title: str
    node: Node
    side: Side | None
    loop: OpenLoop | None
    first_rows: int = 0
    turned: bool = True

    def side_at(self, first: Side, rows: int) -> Side:
        """Return the side after so many of its rows, where the first of them is on side `first`."""
        return _side_at(first, rows) if self.turned else first


@dataclass(frozen=True, slots=True)
class _Found:
    """A part, where it starts for these ends, and the stitches at its start."""

    part: Part
    index: int
    start: int
    rows: int | None
    side: Side
    count: int | None
    section_start: int


@dataclass(frozen=True)
class Course:
    """
    A pattern for one size.

    `cast_on` is the number of stitches to begin with (None: not said), `target` the finished
    length. `ended` maps the id of a loop to the number of the last row worked in it when the
    knitter declared it long enough.
    """

    title: str
    size: str | None
    cast_on: int | None
    in_the_round: bool
    parts: tuple[Part, ...]
    target: Length | None = None
    gauge: str = ""
    """The gauge in the designer's words."""
    yarn: str = ""
    """The yarn in the designer's words."""
    problems: tuple[Problem, ...] = ()
    """What does not add up in it."""

    @property
    def sections(self) -> tuple[tuple[str, str], ...]:
        """Id and title of every section that has rows, in order."""
        return tuple(dict.fromkeys((part.section, part.title) for part in self.parts))

    @property
    def loops(self) -> tuple[OpenLoop, ...]:
        """The open loops, in order."""
        return tuple(part.loop for part in self.parts if part.loop is not None)

    def faulty_by(self, row: int) -> bool:
        """Whether a row up to this one does not add up; what has no row is true of all of them."""
        return any(one.row_number is None or one.row_number <= row for one in self.problems)

    def where(self, ended: Mapping[str, int], row: int) -> Place:
        """Return the place of a row, counted from 1; total: past the end it says finished."""
        row = max(row, 1)
        found = self._find(ended, row)
        if found is None:
            return self._past_the_end(ended, row)
        return self._place(found, row, different=self._differs(ended, found, row))

    def uncounted_line(self, ended: Mapping[str, int], row: int) -> int | None:
        """
        Return the line of the file in which a row stands whose stitches nobody can count.

        None for every row that is counted, or whose count the designer states.
        """
        found = self._find(ended, max(row, 1))
        if found is None:
            return None
        index = row - found.start - 1
        spec = found.part.node.at(index, found.part.side_at(found.side, index), row).spec
        return spec.line if not spec.checked and spec.stated is None else None

    def last_row(self, ended: Mapping[str, int]) -> int | None:
        """Return the number of the last row; None while an open loop lies ahead."""
        start = 0
        for part in self.parts:
            rows = _rows(part, ended, start)
            if rows is None:
                return None
            start += rows
        return start

    def next_change(self, ended: Mapping[str, int], row: int) -> Place | None:
        """
        Return the first row from `row` on that is shaped or differs otherwise, or None.

        It is to be announced before it is worked. Inside an open loop that lies ahead nothing is
        known beyond its own shapings.
        """
        row = max(row, 1)
        same: tuple[int, int] | None = None  # the part, and since which row of it nothing changes
        while True:
            found = self._find(ended, row)
            if found is None:
                return None
            inside = row - found.start - 1
            step = self._next_in(found, inside)
            if step is not None and (found.rows is None or step < found.rows):
                place = self.where(ended, found.start + step + 1)
                if place.shaping or place.different:
                    return place
                row = found.start + step + 2
                if same is None or same[0] != found.index:
                    same = found.index, step
                again = comes_again(found.part.node, step)
                if again is None or step - same[1] <= 2 * again + 2:
                    continue
            if found.rows is None:
                return None
            row = max(row, found.start + found.rows + (step is None or step >= found.rows))

    # --- finding a row -------------------------------------------------------------------------

    def _after_all(self, ended: Mapping[str, int]) -> int | None:
        """Return the stitches after the last row and what is done after it."""
        start, count = 0, self.cast_on
        for part in self.parts:
            rows = _rows(part, ended, start) or 0
            count, start = _after(part.node, count, rows), start + rows
        return count

    def _find(self, ended: Mapping[str, int], row: int) -> _Found | None:
        start, side = 0, Side.ROUND if self.in_the_round else Side.RIGHT
        count = self.cast_on
        section, section_start = "", 0
        for index, part in enumerate(self.parts):
            spend()
            if part.section != section:
                section, section_start = part.section, start
            here = part.side if part.side is not None else side
            rows = _rows(part, ended, start)
            if rows is None or row <= start + rows:
                if rows == 0:
                    count = _after(part.node, count, 0)
                    continue
                return _Found(part, index, start, rows, here, count, section_start)
            count = _after(part.node, count, rows)
            start += rows
            side = part.side_at(here, rows)
        return None

    def _place(self, found: _Found, row: int, *, different: bool) -> Place:
        part, index = found.part, row - found.start - 1
        side = part.side_at(found.side, index)
        at = part.node.at(index, side, row)
        before = _before(part.node, found.count, index)
        after = _value(part.node.through(index), found.count)
        if index + 1 == found.rows:
            after = self._with_words(found, after)
        repeat = at.repeats[-1] if at.repeats else None
        times = None if repeat is None or part.loop is not None else repeat.times
        shaping = at.shaping if at.shaping is not None else _changes(before, after, at)
        return Place(
            row=row,
            section=part.section,
            section_title=part.title,
            row_in_section=row - found.section_start,
            side=side,
            instruction=at.instruction,
            label=at.spec.label or (part.node.label if isinstance(part.node, Stretch) else ""),
            repeat=RepeatPlace(repeat.time, times, repeat.row, repeat.rows) if repeat else None,
            before=before,
            after=after,
            checked=at.spec.checked,
            shaping=shaping,
            different=different or shaping,
            note=at.spec.note or None,
            open_loop=part.loop,
            finished=False,
        )

    def _with_words(self, found: _Found, after: int | None) -> int | None:
        """Return the stitches after a part's last row, with what its words say of that row."""
        following = self.parts[found.index + 1 :][:1]
        node = following[0].node if following else None
        return _value(node.within(), after) if isinstance(node, Sequence) else after

    def _past_the_end(self, ended: Mapping[str, int], row: int) -> Place:
        last = self.last_row(ended) or 0
        found = self._find(ended, last) if last else None
        place = self._place(found, last, different=False) if found is not None else None
        count = self._after_all(ended)
        return Place(
            row=row,
            section=place.section if place else "",
            section_title=place.section_title if place else "",
            row_in_section=place.row_in_section + row - last if place else row,
            side=_side_at(place.side, row - last) if place else Side.RIGHT,
            instruction=Instruction(),
            label="",
            repeat=None,
            before=count,
            after=count,
            checked=True,
            shaping=False,
            different=False,
            note=None,
            open_loop=None,
            finished=True,
        )

    # --- what differs --------------------------------------------------------------------------

    def _differs(self, ended: Mapping[str, int], found: _Found, row: int) -> bool:
        """
        Whether the hands expect something else.

        They expect what they did on the last row of the same side. In the second and later times
        of a repeat they know the rows.
        """
        at = found.part.node.at(
            row - found.start - 1, found.part.side_at(found.side, row - found.start - 1), row
        )
        if not at.spec.checked or at.spec.note:
            return True
        if any(repeat.time > 1 for repeat in at.repeats):
            return bool(at.shaping)
        back = 1 if found.side is Side.ROUND or not found.part.turned else 2
        if row <= back:
            return row == 1
        earlier = self._find(ended, row - back)
        if earlier is None:
            return True
        index = row - back - earlier.start - 1
        was = earlier.part.node.at(index, earlier.part.side_at(earlier.side, index), row - back)
        if was.shaping and not at.shaping:
            return False
        return was.instruction != at.instruction

    def _next_in(self, found: _Found, index: int) -> int | None:
        """Return the first row from `index` on in this part that may differ, or None."""
        return next_candidate(found.part.node, index)


def _rows(part: Part, ended: Mapping[str, int], start: int) -> int | None:
    if part.loop is None:
        return part.node.rows
    last = ended.get(part.loop.id)
    if last is None:
        return None
    return max(last - start, part.first_rows if last > start else 0, 0)


def _side_at(side: Side, rows: int) -> Side:
    if side is Side.ROUND or rows % 2 == 0:
        return side
    return Side.WRONG if side is Side.RIGHT else Side.RIGHT


def _value(effect: CountMap | None, count: int | None) -> int | None:
    if effect is None:
        return None
    if effect.a == 0 and effect.only is None and effect.least == 0:
        return effect.b // effect.q
    return effect(count) if count is not None else None


def _before(node: Node, count: int | None, index: int) -> int | None:
    return _value(node.effect_of(index), count)


def _after(node: Node, count: int | None, rows: int) -> int | None:
    return _value(node.effect_of(rows), count)


def _changes(before: int | None, after: int | None, at: RowAt) -> bool:
    if before is not None and after is not None:
        return before != after
    effect = at.spec.effect
    return effect is not None and not keeps(effect) and effect.only is None


def plain_course(cast_on: int | None, title: str = "") -> Course:
    """
    Return the course of a piece without a pattern: rows are counted, nothing is expected.

    It is one open part without a target; the knitter ends it when she stops.
    """
    going_on = routine(AS_SET, in_the_round=False, stitches=cast_on)
    node = Stretch(going_on, MOST_ROWS, line=0, label="")
    loop = OpenLoop("piece", None, "piece")
    return Course(title, None, cast_on, False, (Part("piece", "", node, Side.RIGHT, loop),))  # noqa: FBT003
