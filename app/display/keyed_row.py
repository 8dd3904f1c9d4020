"""A row put together of keys, as it is shown and handed over: its text, its sum, what it lacks."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from app.pieces.pattern_cache import course_of
from engine.compose.row_keys import Far, KeyedRow, Misplaced, Step, Stretch
from engine.composing import SayRow
from engine.judging.said_rows import fit_of, stitches_before
from engine.replies import Reply, Say, Tone
from engine.said_events import RowSaid

if TYPE_CHECKING:
    from app.display.screen_words import ScreenWording
    from app.session.situation import Situation

_NUMBERED: Final = frozenset(("k", "p", "sl"))


@dataclass(frozen=True, slots=True)
class KeyedView:
    """The row with its sum ("k2, p2: 4 of 50"), what is to be said of it, whether it fits."""

    line: str
    remark: str
    fits: bool = False


def keyed_view(row: KeyedRow, situation: Situation, words: ScreenWording) -> KeyedView:
    """Return what is shown of a row of keys, on the needle of a situation."""
    state, course = situation.state, situation.course
    if not row.keys:
        return KeyedView(words("keyed", "none_yet"), words("keyed", "how"))
    lacks = row.lacks
    remark = words("keyed", lacks.value) if lacks is not None else ""
    there = stitches_before(state, course, state.working)
    if there is None:
        return KeyedView(row.text, remark or words("keyed", "count_first"))
    if lacks is Misplaced.HOW_MANY_LEFT:
        return KeyedView(row.text, remark)
    fit = fit_of(row.once, there, course_of, in_round=situation.in_rounds)
    if not fit.fits and fit.over is None:
        why = "" if lacks is not None else fit.why
        return KeyedView(row.text, remark or why)
    over = fit.over or 0
    line = words("keyed", "sum", row=row.text, taken=there - over, count=there)
    if lacks is not None:
        return KeyedView(line, remark)
    if fit.fits:
        return KeyedView(line, words("keyed", "fits", count=fit.after), fits=True)
    return KeyedView(line, words("keyed", "left" if over > 0 else "too_many", count=abs(over)))


def said_row(row: KeyedRow, situation: Situation, words: ScreenWording) -> SayRow:
    """Return the command of a whole row; its words are those that would be said, to go on from."""
    said = " ".join(filter(None, (_said(one, words) for one in row.stretches)))
    return SayRow(row.text, words=said, in_round=situation.in_rounds)


def refusal(situation: Situation) -> Reply | None:
    """Return what is answered to a row that could not be taken as it is; None: it could."""
    asked = situation.question
    if asked is not None and asked.say is Say.ROW_LEAVES:
        return asked
    return next((one for one in situation.replies if one.tone is Tone.NOT_HEARD), None)


def is_said(row: KeyedRow, situation: Situation) -> bool:
    """Tell whether the row was taken: it is the last one that was said, and is worked now."""
    state = situation.state
    last = state.said[-1] if state.said else None
    return isinstance(last, RowSaid) and last.last >= state.working and last.text == row.text


def _said(stretch: Stretch, words: ScreenWording) -> str:
    def worked(step: Step) -> str:
        name = words("keyed", f"say_{step.key}")
        if stretch.far in (Far.TO_END, Far.TO_LAST) and not stretch.starred:
            return name
        if step.key in _NUMBERED:
            return f"{name} {step.count}"
        return name if step.count == 1 else words("keyed", "say_times", row=name, count=step.count)

    steps = " ".join(map(worked, stretch.steps))
    if stretch.far is Far.ONCE:
        return steps
    far = words("keyed", f"say_{stretch.far.value}", count=stretch.left)
    return words("keyed", "say_rep", row=steps, far=far) if stretch.starred else f"{steps} {far}"
