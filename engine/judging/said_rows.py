"""
Whether a row that was said can be worked: the stitches on the needle are what tells.

Of the readings of one utterance those count that use exactly the stitches that are there. Where
none does, the row is not finished, or something was said or heard wrongly: then it is asked about
by its sum, and the words so far are kept.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from engine import said_events
from engine.compose.followed import AS_SET, rows_of_said
from engine.composing import CastOnStitches, Composing, RepeatRows, SayRow, ShapeRows, Which
from engine.evolve import with_said
from engine.judging.decision import Accepted, Doubt, Question, Refused
from engine.replies import Reply, Say, Tone, reply
from engine.state import PieceState

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from engine.events import Event
    from engine.judging.decision import Decision
    from engine.pattern import Course, Instruction

    MakeCourse = Callable[[PieceState], Course]

SURE_BY: Final = 1.5
"""
A reading that fits is taken if no other one that fits comes so near (as for the commands), and if
none that does not fit is so much likelier: "knit two to the end" sounds like "knit to the end".
"""
MOST_ROWS_SAID: Final = 200
"""So many rows are shaped in one sentence at most (a guess: a sleeve has about so many)."""


@dataclass(frozen=True, slots=True)
class Fit:
    """
    What a row does on the needle: it fits and leaves `after` stitches, or why it does not.

    `over` stitches would be left (below zero: are missing); `why` is the reader's sentence.
    """

    text: str
    after: int | None = None
    over: int | None = None
    why: str = ""
    instruction: Instruction | None = None

    @property
    def fits(self) -> bool:
        """Whether it uses exactly the stitches that are there."""
        return not self.why


def judge_said(
    state: PieceState,
    course: Course,
    candidates: Sequence[Composing],
    make_course: MakeCourse,
    *,
    confirmed: bool = False,
) -> Decision:
    """
    Judge what was said of rows.

    Args:
        state: where the piece stands.
        course: the course of its rows.
        candidates: what may have been said, the likeliest first; at least one.
        make_course: makes the course of a state, by the reader of written rows.
        confirmed: whether the knitter has already said yes to exactly the first candidate.

    """
    first = candidates[0]
    if state.finished and not (isinstance(first, SayRow) and first.was):
        return Refused(_no(Say.IS_FINISHED))
    match first:
        case SayRow():
            rows = [one for one in candidates if isinstance(one, SayRow)]
            return _row(state, course, rows, make_course, confirmed=confirmed)
        case RepeatRows():
            return _repeat(state, course, first, make_course)
        case ShapeRows():
            return _shape(state, course, first, make_course)
        case CastOnStitches(count):
            if state.done:
                return Refused(_no(Say.CAST_ON_IS_PAST, row=state.done))
            return Accepted(first, (said_events.CastOnSaid(count),))


def stitches_before(state: PieceState, course: Course, row: int) -> int | None:
    """Return how many stitches are on the needle before a row; what was counted last counts."""
    if row == state.working:
        counted = counted_now(state)
        if counted is not None:
            return counted
    if row == 1:
        return state.cast_on if state.cast_on is not None else course.cast_on
    place = course.where(state.loops_ended, row)
    return place.before


def counted_now(state: PieceState) -> int | None:
    """Return the stitches that were counted after the last row done; None if they were not."""
    counts = [one.count for one in state.counts if one.row == state.done and not one.aside]
    return counts[-1] if counts else None


def fit_of(text: str, stitches: int, make_course: MakeCourse, *, in_round: bool = False) -> Fit:
    """Return what a written row does on a needle with so many stitches and without markers."""
    said = said_events.RowSaid(1, 1, text, None, in_round)
    alone = make_course(PieceState(cast_on=stitches, said=(said,)))
    place = alone.where({}, 1)
    if place.label == "":
        return Fit(text, why="This row cannot be read.")
    for problem in alone.problems:
        return Fit(text, over=problem.off_by, why=problem.message, instruction=place.instruction)
    if not place.checked:
        return Fit(text, why="This row cannot be counted.")
    return Fit(text, place.after, instruction=place.instruction)


def row_meant(state: PieceState, command: SayRow) -> tuple[int, int]:
    """Return the first and the last row that a row which is said is about."""
    if command.more and state.saying is not None:
        return state.saying.first, state.saying.last
    last = command.row
    if last is None:
        # "The next row" is said before it is begun: the one being worked, unless that is said.
        last = next_to_say(state) if command.which is Which.NEXT else state.working
    return (command.rows if command.rows is not None else last), last


# --- one row -------------------------------------------------------------------------------------


def _row(
    state: PieceState,
    course: Course,
    candidates: Sequence[SayRow],
    make_course: MakeCourse,
    *,
    confirmed: bool,
) -> Decision:
    candidates = _as_worked(state, course, candidates)
    command = candidates[0]
    first, last = row_meant(state, command)
    if command.was:
        return _mend(state, course, candidates, make_course)
    if first < state.working:
        return Refused(_no(Say.ROW_IS_DONE, row=first))
    if not any(one.text or one.like is not None for one in candidates):
        return Accepted(command, (said_events.RowBegun(first, last, "", "", command.in_round),))
    stitches = stitches_before(state, course, first)
    if stitches is None:
        return Refused(_no(Say.ROW_NEEDS_COUNT))
    readings: list[tuple[SayRow, Fit]] = []
    for one in candidates:
        text = one.text
        if one.like is not None:
            like = one.like or first - 1
            known = _text_of(state, course, like, first)
            if known is None:
                return Refused(_no(Say.ROW_UNKNOWN, row=like))
            text = known
        readings.append((one, _fit(state, course, one, text, (first, last), make_course)))
    fitting = [(one, fit) for one, fit in readings if fit.fits]
    if not fitting:
        return _not_fitting(state, readings, stitches)
    best, fit = fitting[0]
    rivals = [
        other
        for other in fitting[1:]
        if other[0].behind - best.behind < SURE_BY and other[1].instruction != fit.instruction
    ]
    likelier = [one for one, its in readings if not its.fits and best.behind - one.behind > SURE_BY]
    many = fit.after is not None and fit.after > 2 * stitches  # a number may be misheard
    if (rivals or likelier or many) and not confirmed:
        return _which(best, fit, rivals)
    line = _line(state, course, first, last, fit.text, in_round=best.in_round)
    return Accepted(best, (line,))


def _as_worked(state: PieceState, course: Course, candidates: Sequence[SayRow]) -> Sequence[SayRow]:
    """Leave out "this round" where rows were worked until now and "this row" may have been said."""
    rows = [one for one in candidates if not one.in_round]
    flat = state.done and state.said and not course.in_the_round
    return rows if flat and rows else candidates


def _which(best: SayRow, fit: Fit, rivals: Sequence[tuple[SayRow, Fit]]) -> Doubt:
    """Ask which of several rows that fit is meant, one after the other."""
    following: Question | None = None
    for other, its in reversed(rivals[:2]):
        following = Question(_ask(its), other, following)
    return Doubt(Question(_ask(fit), best, following))


def _ask(fit: Fit) -> Reply:
    if fit.instruction is None or fit.after is None:
        raise ValueError("Only a row that fits can be asked about.")
    return reply(Say.ASK_ROW, instruction=fit.instruction, count=fit.after)


def _fit(
    state: PieceState,
    course: Course,
    command: SayRow,
    text: str,
    rows: tuple[int, int],
    make_course: MakeCourse,
) -> Fit:
    """Return what the rows do, worked alone, or (where there are several) one after the other."""
    first, last = rows
    stitches = stitches_before(state, course, first)
    if stitches is None:
        return Fit(text, why="Nobody knows how many stitches there are.")
    alone = fit_of(text, stitches, make_course, in_round=command.in_round or course.in_the_round)
    if alone.instruction is None or (alone.fits and last == first):
        return alone
    if "m" not in text.replace(",", " ").split() and last == first:
        return alone
    line = _line(state, course, first, last, text, in_round=command.in_round)
    whole = make_course(with_said(state, line))
    for problem in whole.problems:
        if problem.row_number is not None and first <= problem.row_number <= last:
            return Fit(
                text, over=problem.off_by, why=problem.message, instruction=alone.instruction
            )
    place = whole.where(state.loops_ended, last)
    return Fit(text, place.after, instruction=place.instruction)


def _line(
    state: PieceState, course: Course, first: int, last: int, text: str, *, in_round: bool
) -> said_events.RowSaid:
    return said_events.RowSaid(
        first, last, text, _told(state, course, first), in_round or course.in_the_round
    )


def _told(state: PieceState, course: Course, first: int) -> int | None:
    """Return the stitches that have to be told with a row: those that were counted otherwise."""
    counted = counted_now(state) if first == state.working else None
    place = course.where(state.loops_ended, first)
    expected = place.before if first > 1 else course.cast_on
    return counted if counted is not None and counted != expected else None


def _text_of(state: PieceState, course: Course, row: int, before: int) -> str | None:
    """Return a row before another one as it is written; None where nothing is known of it."""
    if not 1 <= row < before:
        return None
    place = course.where(state.loops_ended, row)
    text = str(place.instruction)
    if place.finished or not place.checked or text == AS_SET or place.instruction.text:
        return None
    return text


def _not_fitting(
    state: PieceState, readings: Sequence[tuple[SayRow, Fit]], stitches: int
) -> Decision:
    """Ask about the row by its sum; what leaves stitches is kept, more of it can be said."""
    command, fit = readings[0]
    first, last = row_meant(state, command)
    kept = said_events.RowBegun(first, last, command.words, fit.text, command.in_round)
    if fit.over is None or not command.words or command.like is not None:
        return Refused(_no(Say.ROW_DOES_NOT_FIT, words=fit.why.rstrip(".")))
    if fit.over > 0:
        leaves = reply(Say.ROW_LEAVES, count=fit.over)
        return Accepted(command, (kept,), Question(leaves, None))
    return Refused(_no(Say.ROW_TAKES_MORE, stitches=stitches - fit.over, count=stitches))


def _mend(
    state: PieceState, course: Course, candidates: Sequence[SayRow], make_course: MakeCourse
) -> Decision:
    """Change the record of a row that is done; it has to leave the stitches that were there."""
    command = candidates[0]
    row = command.row or 0
    if not 1 <= row <= state.done:
        return Refused(_no(Say.ROW_NOT_DONE, row=row))
    place = course.where(state.loops_ended, row)
    if place.before is None or place.after is None:
        return Refused(_no(Say.ROW_NEEDS_COUNT))
    refused: Decision | None = None
    for one in candidates:
        text = one.text if one.like is None else _text_of(state, course, one.like or row - 1, row)
        if text is None:
            return Refused(_no(Say.ROW_UNKNOWN, row=one.like or row - 1))
        fit = fit_of(text, place.before, make_course, in_round=course.in_the_round)
        if fit.fits and fit.after == place.after:
            return Accepted(one, (said_events.RowMended(row, text),))
        why = fit.why.rstrip(".") or f"it leaves {fit.after} stitches, and {place.after} were there"
        refused = refused or Refused(_no(Say.ROW_DOES_NOT_FIT, words=why))
    return refused or Refused(_no(Say.ROW_NOT_SAID, row=row))


def said_in_part(state: PieceState, rows: int) -> bool:
    """Tell whether the row that is being said is among the next rows, and more of it is to come."""
    saying = state.saying
    return saying is not None and bool(saying.text) and saying.first < state.working + rows


def with_first(decision: Decision, happened: tuple[Event, ...]) -> Decision:
    """Return a decision that writes something else first."""
    if not isinstance(decision, Accepted):
        return decision
    return replace(decision, events=(*happened, *decision.events))


def closing(state: PieceState, course: Course, make_course: MakeCourse) -> tuple[Event, ...]:
    """Return what closes a row that was said only in part: the rest of it nobody knows."""
    saying = state.saying
    stitches = stitches_before(state, course, saying.first) if saying is not None else None
    if saying is None or stitches is None or not saying.text:
        return ()
    text = f"{saying.text}, {AS_SET}"
    if not fit_of(text, stitches, make_course, in_round=saying.in_round).fits:
        return ()
    return (_line(state, course, saying.first, saying.last, text, in_round=saying.in_round),)


# --- several rows --------------------------------------------------------------------------------


def next_to_say(state: PieceState) -> int:
    """Return the row from which something new can be said: behind all that was said."""
    if state.said and rows_of_said(state.said) is None:
        return max(state.working, state.said[-1].first)  # in the place of what goes on
    return max(state.working, rows_of_said(state.said) or 0)


def _repeat(
    state: PieceState, course: Course, command: RepeatRows, make_course: MakeCourse
) -> Decision:
    first = next_to_say(state)
    least, most = _rows_again(state, command, first)
    if not 1 <= least <= most < first:
        return Refused(_no(Say.NO_ROWS_TO_REPEAT))
    for row in range(least, most + 1):
        if _text_of(state, course, row, first) is None:
            return Refused(_no(Say.ROW_UNKNOWN, row=row))
    again = not (command.rows or command.first)
    times = command.count or (1 if again and command.length is None else None)
    line = said_events.RowsRepeated(
        first, least, most, times, command.length, _told(state, course, first)
    )
    return _checked(state, command, line, make_course)


def _rows_again(state: PieceState, command: RepeatRows, first: int) -> tuple[int, int]:
    """Return the first and the last of the rows that are to come again."""
    if command.rows is not None:
        return first - command.rows, first - 1
    if command.first is not None and command.row is not None:
        return command.first, command.row
    repeats = [one for one in state.said if isinstance(one, said_events.RowsRepeated)]
    if repeats:
        return repeats[-1].of_first, repeats[-1].of_last
    return 0, 0


def _shape(
    state: PieceState, course: Course, command: ShapeRows, make_course: MakeCourse
) -> Decision:
    first = next_to_say(state)
    stitches = stitches_before(state, course, first)
    if stitches is None:
        return Refused(_no(Say.ROW_NEEDS_COUNT))
    times = command.count
    if command.stitches is not None:
        sign = -1 if command.shaping.value == "dec" else 1
        times, rest = divmod((command.stitches - stitches) * sign, 2 * command.each)
        if times < 1 or rest:
            return Refused(_no(Say.ROW_TAKES_MORE, stitches=command.stitches, count=stitches))
    if times is None:
        return Refused(_no(Say.SHAPE_HOW_OFTEN))
    start = first if command.at_once else first + command.every - 1
    last = start + command.every * (times - 1)
    if last - first >= MOST_ROWS_SAID:
        return Refused(_no(Say.ROW_DOES_NOT_FIT, words=f"{last - first + 1} rows are too many"))
    line = said_events.ShapingSaid(
        first, last, start, command.every, command.each, command.shaping,
        _told(state, course, first),
    )  # fmt: skip
    return _checked(state, command, line, make_course)


def _checked(
    state: PieceState,
    command: Composing,
    line: said_events.RowsRepeated | said_events.ShapingSaid,
    make_course: MakeCourse,
) -> Decision:
    """Accept what was said of several rows if all of them can be worked."""
    whole = make_course(with_said(state, line))
    for problem in whole.problems:
        if problem.row_number is None or problem.row_number >= line.first:
            return Refused(_no(Say.ROW_DOES_NOT_FIT, words=problem.message.rstrip(".")))
    happened: tuple[Event, ...] = (line,)
    return Accepted(command, happened)


def _no(say: Say, **values: int | str) -> Reply:
    return reply(say, Tone.NOT_HEARD, **values)
