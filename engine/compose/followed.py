"""
The course of a piece whose rows are said as they are knitted.

What was said is written as a pattern, read by the reader of patterns and followed like any other.
Where she says something else than what was to come, the rows up to there are written one by one, as
they were worked, and the new ones behind them; so nothing that was knitted changes its meaning.
"""

from __future__ import annotations

from dataclasses import dataclass, field, fields, replace
from typing import TYPE_CHECKING, Final

from engine.compose.written_pattern import WrittenLine, WrittenSection, heading, pattern_text
from engine.limits import spend
from engine.pattern import Course, Instruction, Place, Side, plain_course
from engine.said_events import RowSaid, RowsRepeated, ShapingSaid

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from engine.state import PieceState

    Read = Callable[[str], Course | None]
    """Reads the text of a pattern; None where it cannot be followed."""

_PLAIN: Final = frozenset({"k to end", "p to end", "k", "p"})
"""Rows that stay the same however many stitches there are."""
AS_SET: Final = "work to end"
_STEPS_OF_ROW: Final = 20
"""What a row costs that is written here: it is read again."""
NO_TARGET_CM: Final = "1 cm"
"""Stands in the text for "until something else is said"; the loop that is made of it has none."""


@dataclass(frozen=True)
class MendedCourse(Course):
    """A course in which the record of some rows was wrong."""

    mended: tuple[tuple[int, Instruction], ...] = ()

    def where(self, ended: Mapping[str, int], row: int) -> Place:
        """Return the place of a row, as it was really worked."""
        place = super().where(ended, row)
        really = dict(self.mended).get(place.row)
        return place if really is None else replace(place, instruction=really)


@dataclass
class _Pattern:
    """The pattern so far: its sections, and the next row to be said (None: its end is open)."""

    cast_on: int | None
    in_round: bool
    next: int | None = 1
    sections: list[WrittenSection] = field(default_factory=lambda: [WrittenSection("made")])
    endless: bool = False
    """Whether the last repeat goes on until something else is said."""

    def add(self, *lines: WrittenLine) -> None:
        """Add lines to the last section."""
        self.sections[-1].lines += lines

    def text(self, title: str) -> str:
        """Return the text of the pattern."""
        head = [f"title = {title}"]
        head += [f"cast_on = {self.cast_on}"] if self.cast_on is not None else []
        head += ["in_the_round = true"] if self.in_round else []
        return pattern_text(head, [one for one in self.sections if one.lines])


def followed(state: PieceState, base: Course, read: Read) -> Course:
    """
    Return the course of a piece: `base`, with the rows that were said from where they were said.

    `read` makes a course of a pattern's text. What cannot be read any more is left out: then the
    piece is counted on `base`.
    """
    if not state.said:
        return _mended(state, base, read)
    ended = state.loops_ended
    in_round = base.in_the_round or any(
        isinstance(line, RowSaid) and line.in_round for line in state.said
    )
    made = _Pattern(base.cast_on if base.cast_on is not None else state.cast_on, in_round, 1)
    course: Course | None = base
    for line in state.said:
        if line.first != made.next or line.stitches is not None:
            if course is None:
                read_so_far = _read(made, read)
                if read_so_far is None:
                    return base
                course = _with_tail(made, read_so_far, ended)
            course = _mended(state, course, read)
            made = _as_worked(course, ended, line.first - 1, made.cast_on, in_round=in_round)
            if line.stitches is not None:
                _counted(made, line.first - 1, line.stitches)
        if not _go_on(made, line, ended, read):
            return base
        course = None
    last = _read(made, read)
    if last is None:
        return base
    return _mended(state, _with_tail(made, last, ended), read)


def _read(made: _Pattern, read: Read) -> Course | None:
    course = read(made.text('"Made up"'))
    if course is None or not made.endless or not course.parts:
        return course
    *parts, last = course.parts
    loop = replace(last.loop, target=None) if last.loop is not None else None
    return replace(course, parts=(*parts, replace(last, loop=loop)))


def _with_tail(made: _Pattern, course: Course, ended: Mapping[str, int]) -> Course:
    """Return the course going on behind what was said: nothing is known of it but the stitches."""
    last = course.last_row(ended)
    if last is None:
        return course
    left = course.where(ended, last).after if last else made.cast_on
    if left == 0:
        return course
    tail = replace(plain_course(None).parts[0], side=None)
    return replace(course, parts=(*course.parts, tail))


def _mended(state: PieceState, course: Course, read: Read) -> Course:
    """Return the course with the rows as they were really worked."""
    if not state.mended:
        return course
    really: list[tuple[int, Instruction]] = []
    for one in state.mended:
        place = course.where(state.loops_ended, one.row)
        alone = _Pattern(place.before, in_round=place.side is Side.ROUND)
        alone.add(WrittenLine(f"{heading(1, 1, in_round=alone.in_round)} {one.text}"))
        read_alone = read(alone.text('"Made up"'))
        if read_alone is not None:
            really.append((one.row, read_alone.where({}, 1).instruction))
    kept = {one.name: getattr(course, one.name) for one in fields(Course)}
    return MendedCourse(**kept, mended=tuple(really))


# --- writing -------------------------------------------------------------------------------------


def _as_worked(
    course: Course, ended: Mapping[str, int], rows: int, cast_on: int | None, *, in_round: bool
) -> _Pattern:
    """Return the first rows of a course written one by one, as they are worked."""
    made = _Pattern(cast_on, in_round, rows + 1)
    same: list[int] = []
    for row in range(1, rows + 1):
        spend(_STEPS_OF_ROW)
        place = course.where(ended, row)
        if str(place.instruction) == AS_SET and place.checked:
            same.append(row)
            continue
        _work_even(made, same)
        made.add(_row_as_worked(place))
    _work_even(made, same)
    return made


def _work_even(made: _Pattern, rows: list[int]) -> None:
    """Write rows of which nothing is known but that they were worked."""
    if rows:
        made.add(WrittenLine(f"{heading(rows[0], rows[-1], in_round=made.in_round)} {AS_SET}"))
        rows.clear()


def _row_as_worked(place: Place) -> WrittenLine:
    """Write one row; what the reader takes on trust stays so."""
    in_round = place.side is Side.ROUND
    begin = heading(place.row, place.row, in_round=in_round, side=_SIDES.get(place.side, ""))
    if not place.checked or place.instruction.text:
        text = f"{begin} {place.instruction}"
        return WrittenLine(text, place.note or "", place.after)
    return WrittenLine(f"{begin} {place.instruction}", place.note or "")


_SIDES: Final = {Side.RIGHT: "RS", Side.WRONG: "WS"}


def _counted(made: _Pattern, row: int, stitches: int) -> None:
    """Write down that so many stitches were counted after a row, whatever should be there."""
    if row == 0:
        made.cast_on = stitches
        return
    lines = made.sections[-1].lines
    before = lines.pop() if lines else None
    if before is not None and before.text.endswith(f": {AS_SET}") and row > 1:
        first = int(before.text.split()[1].rstrip(":").split("-")[0])
        if first < row:
            _work_even(made, [first, row - 1])
    text = f"{heading(row, row, in_round=made.in_round)} "
    text += before.text.split(": ", 1)[1] if before is not None else AS_SET
    made.add(WrittenLine(text, before.note if before is not None else "", stitches))


def _go_on(
    made: _Pattern,
    line: RowSaid | RowsRepeated | ShapingSaid,
    ended: Mapping[str, int],
    read: Read,
) -> bool:
    """Write a line that was said behind the others; False where it cannot be read."""
    made.endless = False
    if isinstance(line, RowSaid):
        made.add(
            WrittenLine(f"{heading(line.first, line.last, in_round=made.in_round)} {line.text}")
        )
        made.next = line.last + 1
        return True
    so_far = _read(made, read)
    if so_far is None:
        return False
    so_far = _with_tail(made, so_far, ended)
    if isinstance(line, ShapingSaid):
        _shape(made, line, so_far, ended)
    else:
        _repeat(made, line, so_far, ended)
    return True


def _shape(made: _Pattern, line: ShapingSaid, so_far: Course, ended: Mapping[str, int]) -> None:
    """Write rows that go on as before, some of them shaped at both ends."""
    at_end = f"({line.shaping.value}) {line.each} times" if line.each > 1 else line.shaping.value
    taken = line.each * (2 if line.shaping.value == "dec" else 1)
    for row in range(line.first, line.last + 1):
        spend(_STEPS_OF_ROW)
        back = line.first - 1
        if not made.in_round and (row - back) % 2:
            back -= 1  # the last one of the same side
        fabric = str(so_far.where(ended, back).instruction) if back > 0 else AS_SET
        fabric = fabric if fabric in _PLAIN else AS_SET
        text = fabric
        if row >= line.start and (row - line.start) % line.every == 0:
            left = "st" if taken == 1 else f"{taken} sts"
            text = f"{at_end}, {fabric.split()[0]} to last {left}, {at_end}"
        made.add(WrittenLine(f"{heading(row, row, in_round=made.in_round)} {text}"))
    made.next = line.last + 1


def _repeat(made: _Pattern, line: RowsRepeated, so_far: Course, ended: Mapping[str, int]) -> None:
    """Write rows that come again, so often or until something."""
    spend(_STEPS_OF_ROW * max(line.of_last + 1 - line.of_first, 0))
    again = [
        str(so_far.where(ended, row).instruction) for row in range(line.of_first, line.of_last + 1)
    ]
    if line.times is None:
        made.sections.append(WrittenSection(f"made-{line.first}"))
    for row, text in enumerate(again, line.first):
        side = ""
        if row == line.first and not made.in_round:
            side = _SIDES.get(so_far.where(ended, row).side, "")
        begin = heading(row, row, in_round=made.in_round, side=side)
        made.add(WrittenLine(f"{begin} {text}"))
    rows = f"last {len(again)} {'rnds' if made.in_round else 'rows'}" if len(again) > 1 else (
        f"last {'rnd' if made.in_round else 'row'}"
    )  # fmt: skip
    if line.times is None:
        made.endless = line.until is None
        until = NO_TARGET_CM if line.until is None else str(line.until)
        made.add(WrittenLine(f"Rep {rows} until piece measures {until} from cast-on edge"))
        made.next = None
        return
    if line.times > 1:
        times = "once" if line.times == 2 else f"{line.times - 1}"  # noqa: PLR2004
        made.add(WrittenLine(f"Rep {rows} {times} more{' times' if line.times > 2 else ''}"))  # noqa: PLR2004
    made.next = line.first + len(again) * line.times


def rows_of_said(lines: Sequence[RowSaid | RowsRepeated | ShapingSaid]) -> int | None:
    """Return the row after everything that was said; None while its end is open."""
    if not lines:
        return None
    last = lines[-1]
    if isinstance(last, RowsRepeated):
        if last.times is None:
            return None
        return last.first + (last.of_last - last.of_first + 1) * last.times
    return last.last + 1
