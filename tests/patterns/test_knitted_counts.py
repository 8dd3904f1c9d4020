"""Row by row: the stitches expected while knitting are those that the instructions make.

Every pattern that the other tests count is walked here from the cast-on to the end, as it is made.
Three accounts of the same stitches must agree on every row: what the course expects
(`Course.where`), what a needle makes of the row's own instruction, worked after all those before
it, and what the check says of the written line. Open parts are ended as soon as they can be.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cache, partial
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from app import resources
from app.pieces.pattern_cache import row_reader
from engine.limits import MOST_ROWS
from engine.pattern import PatternDocument, read_pattern
from engine.pattern.assemble import Assembler
from engine.pattern.course import Course, Part
from engine.pattern.going_on import slides
from engine.pattern.grafting import grafts
from engine.pattern.hands import bound_off_places, work
from engine.pattern.headings import Side
from engine.pattern.needle import Misfit, Needle, with_marks, without_marks, without_round_mark
from engine.pattern.notation import BOUND_OFF, Hold, PickUp, TakeUp, amount_for
from engine.pattern.on_hold import REST, WAITING
from engine.pattern.other_pieces import PieceTakenIn
from engine.pattern.row_effects import work_between
from engine.pattern.tree import Event, Repeat, Sequence, Stretch
from tests.outside.test_old_books import EXAMPLES, pattern_text
from tests.patterns.test_modern_patterns import FILES

if TYPE_CHECKING:
    from collections.abc import Iterator

    from engine.pattern.assembly_state import Assembled, RowCount
    from engine.pattern.course import Place
    from engine.pattern.document import PieceText
    from engine.pattern.lines import Prepared
    from engine.pattern.notation import Item
    from engine.pattern.tree import Node

MOST_WALKED = 3000
DEMOS = Path(resources.__file__).parents[1] / "shared" / "patterns"


def texts() -> dict[str, str]:
    """Return the text of every pattern by its name."""
    files = [*FILES, *sorted(DEMOS.glob("*.toml"))]
    found = {path.stem: path.read_text(encoding="utf-8") for path in files}
    return found | {f"old {one['id']}": pattern_text(one, stated=True) for one in EXAMPLES}


TEXTS = texts()


# --- the check, asked after every written line ---------------------------------------------------


@dataclass(frozen=True)
class Counted:
    """A written line that the check has counted, and the course as far as it went by then."""

    count: RowCount
    course: Course


class Counting(Assembler):
    """Goes through the lines like the check, and keeps the course after every one of them."""

    heard: list[Counted]
    started_round: bool

    def _count(self, prepared: Prepared) -> None:
        super()._count(prepared)
        if self.problems or self.needle is None:
            return
        last = Part(self.section.id, "", Sequence(list(self.nodes)), self.part_side, None)
        parts = (*self.parts, last) if self.nodes else tuple(self.parts)
        course = Course("", None, self.cast_on, self.started_round, parts)
        self.heard.append(Counted(self.counts[-1], course))


@dataclass
class Piece:
    """One piece in one size, as the product knits it and as the check counts it."""

    name: str
    course: Course
    made: Assembled
    counted: list[Counted]
    adds_up: bool
    rows: list[Place] = field(default_factory=list)
    ended: dict[str, int] = field(default_factory=dict)


def piece_of(document: PatternDocument, size: int, index: int, name: str) -> Piece:
    """Assemble a piece a second time, with an ear on every count."""
    piece: PieceText = document.pieces[index]
    cast_on = amount_for(piece.cast_on, size)[0] if piece.cast_on is not None else None
    title = document.sizes[size] if document.sizes else None
    counting = Counting(size=size, name=title, cast_on=cast_on, in_the_round=piece.in_the_round)
    counting.heard, counting.started_round = [], piece.in_the_round
    counting.others = tuple(
        PieceTakenIn(other.title, partial(document._left, size, number))
        for number, other in enumerate(document.pieces[:index])
    )
    for section in piece.sections:
        counting.add_section(section)
    made = counting.finish()
    counted = [one for one in counting.heard if any(one.count is kept for kept in made.counts)]
    course = document.course(title, piece.title if len(document.pieces) > 1 else None)
    return Piece(f"{name} {title or ''} {piece.title}", course, made, counted, not made.problems)


@cache
def pieces_of(name: str) -> tuple[Piece, ...]:
    """Return every piece in every size of a pattern, walked; none if it cannot be read."""
    document = read_pattern(TEXTS[name], row_reader())
    if not isinstance(document, PatternDocument):
        return ()
    pieces = tuple(
        piece_of(document, size, index, name)
        for size in range(max(len(document.sizes), 1))
        for index in range(len(document.pieces))
    )
    for piece in pieces:
        piece.ended, piece.rows = walked(piece.course)
    return pieces


# --- the walk ------------------------------------------------------------------------------------


def walked(course: Course) -> tuple[dict[str, int], list[Place]]:
    """Walk from the cast-on to the end; open parts are ended as soon as they can be."""
    ended: dict[str, int] = {}
    rows: list[Place] = []
    while len(rows) < MOST_WALKED:
        place = course.where(ended, len(rows) + 1)
        if place.finished:
            break
        if place.open_loop is not None and place.open_loop.id not in ended:
            ended[place.open_loop.id] = len(rows) + fewest(course, place)
            place = course.where(ended, len(rows) + 1)
        rows.append(place)
    return ended, rows


def fewest(course: Course, place: Place) -> int:
    """Return the fewest rows of an open part: all its shapings, its whole repeats, its side."""
    at = next(n for n, part in enumerate(course.parts) if part.loop is place.open_loop)
    part, following = course.parts[at], course.parts[at + 1 : at + 2]
    node = part.node
    assert isinstance(node, Stretch)
    shaped = (shaping.last for shaping in node.progressions if shaping.times < MOST_ROWS)
    rows = max(part.first_rows, *shaped, 1)
    if not node.routine.unchanging:
        rows += -rows % len(node.routine.specs)
    if place.side is Side.ROUND or place.open_loop is None:
        return rows
    last = place.open_loop.ends_on
    if last is None and following and following[0].side in {Side.RIGHT, Side.WRONG}:
        last = Side.WRONG if following[0].side is Side.RIGHT else Side.RIGHT
    return rows if last is None or (rows % 2 == 1) is (last is place.side) else rows + 1


def steps(piece: Piece) -> Iterator[Place | Event]:
    """Yield the rows of a piece and what happens between them, in the order of work."""
    number = 0
    for part in piece.course.parts:
        if part.loop is not None:
            last = piece.ended.get(part.loop.id, number)
            yield from piece.rows[number:last]
            number = last
            continue
        for event in in_order(part.node):
            if event is not None:
                yield event
                continue
            if number < len(piece.rows):
                yield piece.rows[number]
            number += 1


def in_order(node: Node) -> Iterator[Event | None]:
    """Yield what happens between the rows of a node, and None for each of its rows."""
    match node:
        case Event():
            yield node
        case Sequence():
            for child in node.children:
                yield from in_order(child)
        case Repeat():
            for _ in range(min(node.times, MOST_WALKED)):
                yield from in_order(node.child)
        case _:
            yield from [None] * min(node.rows, MOST_WALKED)


def said(place: Place) -> str:
    """Name a row in what a test says."""
    return f"row {place.row} {place.label!r} ({place.instruction})"


# --- the needle ----------------------------------------------------------------------------------


def differences(piece: Piece) -> Iterator[str]:
    """Yield where the course expects other stitches than the instructions make."""
    course = piece.course
    needle = Needle((course.cast_on,), in_the_round=course.in_the_round) if course.cast_on else None
    bound: tuple[Needle, tuple[Item, ...]] | None = None
    walk = list(steps(piece))
    for number, step in enumerate(walk):
        if isinstance(step, Event):
            needle = between(needle, step)
            continue
        if needle is None and step.before is not None:
            needle = Needle((step.before,))
        if needle is None:
            continue
        if step.before != needle.total:
            yield f"before {said(step)}: {step.before}, not {needle.total}"
        worked = needle_after(needle, step)
        if isinstance(worked, Misfit) and bound is not None:
            marked = with_marks(needle, bound_off_places(*bound, turned=False), BOUND_OFF)
            worked = needle_after(marked, step)
        bound = needle, step.instruction.items
        if isinstance(worked, Misfit):
            yield f"{said(step)} from {needle}: {worked.message}"
            return
        needle = told = worked
        for event in walk[number + 1 :]:
            if not isinstance(event, Event) or not event.within:
                break
            told = between(told, event)
        if told is None or told.total != step.after:
            yield f"after {said(step)}: {step.after}, not {told and told.total}"
            return


def needle_after(needle: Needle, place: Place) -> Needle | Misfit | None:
    """Work a row; what the reader does not understand is taken from the course."""
    needle = without_round_mark(replace(needle, in_the_round=place.side is Side.ROUND))
    if grafts(str(place.instruction).casefold()) and place.after == 0:
        return needle.with_total(0)
    if not place.checked or place.instruction.text:
        return Needle((place.after,), held=needle.held) if place.after is not None else None
    after = work(needle, place.instruction.items)
    return after if isinstance(after, Misfit) else without_marks(after, BOUND_OFF)


def between(needle: Needle | None, event: Event) -> Needle | None:
    """Do what happens between two rows."""
    effect = event.spec.effect
    if needle is None or effect is None:
        return None
    if event.spec.items:
        after = work_between(needle, event.spec.items)
        assert not isinstance(after, Misfit), after
        return after
    total = effect(needle.total)
    if not total:
        return needle.with_total(0) if total == 0 else None
    beyond = needle.total - total - needle.behind
    groups = ((REST if needle.behind else "holder", beyond), (WAITING, needle.behind))
    held = (*needle.held, *(group for group in groups if group[1] > 0))
    return replace(needle.with_total(total), held=held)


@pytest.mark.parametrize("name", TEXTS)
def test_every_instruction_makes_the_stitches_that_are_expected(name: str) -> None:
    """Worked one after the other, the instructions make what the course says before and after."""
    for piece in pieces_of(name):
        if piece.adds_up:
            assert list(differences(piece)) == [], piece.name


@pytest.mark.parametrize("name", TEXTS)
def test_the_check_and_the_course_count_alike(name: str) -> None:
    """After every written line the course expects what the check reports for it."""
    for piece in pieces_of(name):
        for one in piece.counted:
            ended, rows = walked(one.course)
            end = one.course.where(ended, len(rows) + 1)
            assert end.after == one.count.stitches, (piece.name, one.count)


@pytest.mark.parametrize("name", TEXTS)
def test_sides_alternate_and_repeats_end(name: str) -> None:
    """Rows turn from side to side unless something between says why, and no repeat goes too far."""
    for piece in pieces_of(name):
        before: Place | None = None
        why = True
        for step in steps(piece):
            if isinstance(step, Event):
                why = True
                continue
            if before is not None and not why and not begins(step):
                assert turned(before, step), (piece.name, said(before), said(step))
            if step.repeat is not None:
                assert 1 <= step.repeat.row <= step.repeat.rows
                assert step.repeat.times is None or step.repeat.time <= step.repeat.times
            # What the reader does not understand may be any number of rows.
            before, why = step, step.after == 0 or not step.checked


def begins(place: Place) -> bool:
    """Whether a row begins with the yarn joined anew."""
    return any(isinstance(item, Hold | PickUp | TakeUp) for item in place.instruction.items)


def turned(before: Place, after: Place) -> bool:
    """Whether the second of two rows is on the side that it must be on."""
    if Side.ROUND in {before.side, after.side}:
        return True
    return (before.side is after.side) == slides(before.instruction.items)


@pytest.mark.parametrize("name", TEXTS)
def test_a_row_is_the_same_however_it_is_reached(name: str) -> None:
    """With all ends known, a row asked for alone is the row that was come to, and numbers go on."""
    for piece in pieces_of(name):
        for number in range(len(piece.rows), 0, -1):
            place = piece.course.where(piece.ended, number)
            was = piece.rows[number - 1]
            assert place.row == number
            assert place == was
