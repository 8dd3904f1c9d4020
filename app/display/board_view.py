"""From a situation to what the working board shows; no Kivy here."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

from app.display.board_values import BoardView, Mood, Note, bare_view
from app.drawings.hands.album import HandsShown
from app.drawings.piece import fabric_of, next_change
from app.drawings.shown import stitch_drawn
from app.drawings.tape import Tape, tape_end
from app.lessons.topics import Topic
from app.pieces.adding_up import where_faulty
from app.session.demonstration import shown_in
from app.session.manner import Listening
from app.session.situation import Ear
from engine.commands import CountStitches, StopInRow
from engine.fabric import Fabric
from engine.facts.distance import LongEnough, NoTarget, RowsExactly, distance, target
from engine.facts.rounds import in_rounds
from engine.forecast.values import CannotSay, RowsLeft
from engine.judging.decide import expected_now
from engine.plan.rounding import length_in, worked_out
from engine.quantities import LengthUnit
from engine.replies import Say, Tone

if TYPE_CHECKING:
    from app.display.screen_words import ScreenWording
    from app.session.controls import Control, Controls
    from app.session.situation import Situation
    from engine.facts.distance import Distance, Target
    from engine.pattern import Course, Place
    from engine.quantities import Length
    from engine.replies import Reply
    from engine.state import PieceState, Reading
    from speech.words.wording import Showing

_READ: Final = frozenset(
    {
        *(Say.CAN_SAY, Say.MEANS, Say.HOLD_NEEDLES, Say.COUNT_ROWS, Say.CAUTION, Say.FINISHING),
        *(Say.NOTE_SAYS, Say.NOTE_MARKED, Say.NOTE_MISTAKE, Say.NOTE_MISTAKE_SAYS),
        Say.NOTE_DROPPED,
    }
)
"""Answers that are read rather than glanced at: large, in place of the row, until the next word."""
_STOPS: Final = frozenset(
    {
        *(Say.DROPPED, Say.COUNT_SHORT, Say.COUNT_SHORT_SHAPING, Say.COUNT_SHORT_FAULTY),
        *(Say.COUNT_OVER, Say.COUNT_OVER_SHAPING, Say.COUNT_OVER_FAULTY),
    }
)
"""Answers that have to stop her hands: the largest on the screen, until the next word."""
_SEVERAL: Final = 2
_SHORT: Final = {Ear.WORD: "word_short", Ear.LOST: "lost_short"}
_SIGNS: Final = {
    "1/8": "⅛", "1/4": "¼", "3/8": "⅜", "1/2": "½", "5/8": "⅝", "3/4": "¾", "7/8": "⅞",
}  # fmt: skip


def board_view(
    situation: Situation,
    words: ScreenWording,
    controls: Controls,
    unit: LengthUnit | None = None,
) -> BoardView:
    """Return what the board shows in a situation; lengths in `unit`, or as they were measured."""
    return _with_ear(_piece_view(situation, words, controls, unit), situation, words)


def next_view(
    situation: Situation,
    before: Situation,
    shown: BoardView,
    words: ScreenWording,
    controls: Controls,
    unit: LengthUnit | None = None,
) -> BoardView:
    """
    Return what the board shows after `before`, of which `shown` is the view.

    While only the sound changes, many times a second, nothing about the piece is worked out anew.
    """
    heard_only = replace(situation, ear=before.ear, level=before.level)
    if heard_only == before and situation.state is before.state:
        return _with_ear(shown, situation, words)
    return board_view(situation, words, controls, unit)


def _with_ear(view: BoardView, situation: Situation, words: ScreenWording) -> BoardView:
    ear, word = situation.ear, situation.manner.word.value
    said = words("ear", ear.value, word=word)
    return replace(
        view,
        ear=ear,
        ear_words=said,
        ear_short=words("ear", _SHORT[ear], word=word) if ear in _SHORT else said,
        holds=situation.manner.listening is Listening.HELD,
        band=_band(situation, words),
        ear_alarms=ear is Ear.LOST,
        level=situation.level,
    )


def _band(situation: Situation, words: ScreenWording) -> tuple[str, str] | None:
    """Return what the listening lacks or wants; it stands as long as that is so, not by sounds."""
    manner = situation.manner
    if situation.ear is Ear.LOST:
        return "alert", words("ear", "lost")
    if situation.ear in {Ear.DEAF, Ear.PAUSED, Ear.DICTATION}:
        return None
    if manner.listening is Listening.HELD:
        return "ink", words("ear", "held")
    if manner.listening is Listening.WORD:
        return "ask", words("ear", "word_band", word=manner.word.value)
    return None


def _opening_view(state: PieceState, words: ScreenWording) -> BoardView:
    """Return what the journal alone says, while the pattern is still being read."""
    return replace(
        bare_view(words=words("screens", "opening")),
        title=state.name,
        number=str(state.done if state.finished else state.working),
        state_word=words("board", "finished" if state.finished else "working"),
        done_words=_done_words(state, words),
    )


def _piece_view(
    situation: Situation, words: ScreenWording, controls: Controls, unit: LengthUnit | None
) -> BoardView:
    if situation.opening:
        return _opening_view(situation.state, words)
    state, course = situation.state, situation.course
    place = course.where(state.loops_ended, state.working)
    over = state.finished or place.finished
    if in_rounds(state, course):
        words = words.in_rounds()
    question = situation.question
    title = words("board", "title", name=state.name, part=place.section_title)
    view = BoardView(
        title=title if state.name and place.section_title and not over else state.name,
        number=str(state.done if over else state.working),
        state_word=words("board", "finished" if over else "working"),
        side="" if over else words("board", str(place.side)),
        arrow="" if over else _arrow(place),
        done_words=_done_words(state, words),
        bits=() if over else tuple(words.instruction(bit) for bit in place.instruction.bits),
        bit=-1 if over or len(place.instruction.bits) < _SEVERAL else state.bit,
        notes=() if over else _notes(situation, place, words),
        tape=tape_of(state, course, words, unit),
        fabric=fabric_of(state, course),
        count_words="" if over else _stitches(expected_now(state, course), words),
        heard=situation.heard.words if situation.heard else "",
        answer=_answer(situation, words),
        mood=_mood(situation),
        question=words.reply(question) if question else "",
        question_control=_asked_for(question, controls),
        trouble=situation.trouble,
        closes=_closes(state, course),
        made_up=state.pattern is None,
    )
    shown = shown_in(situation.replies)
    if shown is not None:
        return _with_how(view, words.showing(shown), words)
    told = [one for one in situation.replies if one is not question]
    if any(one.say in _STOPS for one in told):
        head, _, rest = " ".join(filter(None, map(words.reply, told))).partition(". ")
        ended = head if head.endswith(".") else f"{head}."
        number = "" if over else words("board", "row_of", working=view.state_word, row=view.number)
        then = "\n".join(filter(None, (rest, number)))
        return replace(view, stop=(ended, then), answer="")
    if any(one.say in _READ for one in told):
        lines = "\n".join(filter(None, map(words.reply, told)))
        held = any(one.say is Say.HOLD_NEEDLES for one in told)
        hands = HandsShown(Topic.HOLD) if held else None
        return replace(view, bits=(lines,), bit=-1, answer="", hands=hands)
    return view


def _with_how(view: BoardView, showing: Showing, words: ScreenWording) -> BoardView:
    """Show one sentence of how something is made, large, and the stitch that it is about."""
    number = words("board", "move", number=showing.number, count=showing.count)
    made = showing.number == showing.count
    item = showing.item
    stitch = stitch_drawn(item, made=made) if item is not None else None
    hands = HandsShown(item, showing.move) if item is not None else None
    return replace(
        view,
        bits=(showing.words,),
        bit=-1,
        notes=(Note(number), Note(view.sentence), *view.notes),
        fabric=stitch or view.fabric,
        hands=hands if hands is not None and hands.drawn else None,
        answer="",
    )


def _closes(state: PieceState, course: Course) -> int:
    """Return how many rows a repeat has that ended with the last row done; 0: none did."""
    if state.done == 0 or state.in_row is not None:
        return 0
    repeat = course.where(state.loops_ended, state.done).repeat
    return repeat.rows if repeat is not None and repeat.row == repeat.rows else 0


def _arrow(place: Place) -> str:
    """Return which way the row runs as it is drawn: from the right side, as charts are read."""
    leftwards = str(place.side) != "wrong"
    return "\N{LEFTWARDS ARROW}" if leftwards else "\N{RIGHTWARDS ARROW}"


def _done_words(state: PieceState, words: ScreenWording) -> str:
    if state.in_row is not None and state.in_row.after is not None:
        return words("board", "in_row", after=state.in_row.after)
    return words("board", "done", done=state.done) if state.done else words("board", "none_done")


def _answer(situation: Situation, words: ScreenWording) -> str:
    heard = situation.heard
    if heard is not None and not heard.accepted:
        return heard.why
    said = (words.reply(one) for one in situation.replies if one is not situation.question)
    return " ".join(part for part in said if part)


def _mood(situation: Situation) -> Mood:
    heard = situation.heard
    if heard is not None and not heard.accepted:
        return Mood.REFUSED
    tones = {one.tone for one in situation.replies}
    if Tone.NOT_HEARD in tones:
        return Mood.REFUSED
    return Mood.GOOD if Tone.NEXT_DIFFERS in tones or Tone.HEARD in tones else Mood.PLAIN


def _asked_for(question: Reply | None, controls: Controls) -> Control | None:
    """Return the control whose number answers a question that yes and no do not answer."""
    if question is not None and question.say is Say.ASK_AFTER:
        return controls.for_number(StopInRow)
    if question is not None and question.say is Say.ASK_UNCOUNTED:
        return controls.for_number(CountStitches)
    return None


def _notes(situation: Situation, place: Place, words: ScreenWording) -> tuple[Note, ...]:
    state, course = situation.state, situation.course
    notes: list[Note] = []
    if state.fork:
        low, high = min(state.fork), max(state.fork)
        notes.append(Note(words("board", "fork", low=low, high=high), due=True))
    expected = expected_now(state, course)
    if count_due(situation) and expected is not None:
        notes.append(Note(words("board", "count_now", count=expected), due=True))
    elif expected is not None:
        notes.append(Note(_stitches(expected, words)))
    if situation.course.problems:
        row = where_faulty(situation.course.problems[0])
        faulty = words("board", "faulty", place=row) if row else words("board", "faulty_all")
        notes.append(Note(faulty, due=situation.course.faulty_by(state.working)))
    if not place.checked:
        notes.append(Note(words("board", "unchecked")))
    notes += _change(situation, words)
    repeat = place.repeat
    if repeat is not None:
        name = "repeat_open" if repeat.times is None else "repeat"
        times = repeat.times or 0
        notes.append(Note(words("board", name, time=repeat.time, times=times, row=repeat.row)))
    if state.partner is not None:
        name = "mirrored" if state.partner.mirrored else "partner"
        notes.append(Note(words("board", name, name=state.partner.name)))
    if situation.rest is not None:
        notes.append(Note(words("board", "rest", minutes=situation.rest)))
    return tuple(notes)


def _stitches(count: int | None, words: ScreenWording) -> str:
    if count is None:
        return ""
    return words("board", "one_stitch" if count == 1 else "stitches", count=count)


def count_due(situation: Situation) -> bool:
    """Whether the last answer asked for the stitches to be counted, and nothing came since."""
    return any(one.say is Say.COUNT_PLEASE for one in situation.replies)


def _change(situation: Situation, words: ScreenWording) -> list[Note]:
    """Return the line about the next row that is shaped, or else that differs."""
    state, course = situation.state, situation.course
    place = next_change(course, state)
    if place is None:
        return []
    what = words("board", "change_somehow")
    if place.before is not None and place.after is not None and place.before != place.after:
        what = words("board", "decrease" if place.after < place.before else "increase")
    if place.row == state.working:
        return [Note(words("board", "change_now", what=what))]
    return [Note(words("board", "change", row=place.row, what=what))]


# --- the length ----------------------------------------------------------------------------------


def tape_of(
    state: PieceState, course: Course, words: ScreenWording, chosen: LengthUnit | None = None
) -> Tape | None:
    """
    Return the tape measure: the target, the last length read, and where the piece is now.

    It is in the unit that was chosen, else in that of the last measurement.
    """
    wanted = target(state, course)
    last = _last_reading(state, wanted.from_row if wanted else 0)
    if wanted is None and last is None:
        return None
    to_reach = _as_she_reads(state, wanted, last) if wanted else None
    unit = chosen or (last.length.unit if last else to_reach.unit if to_reach else LengthUnit.CM)
    goal = float(to_reach.to(unit).value) if to_reach else None
    measured = float(last.length.to(unit).value) if last else None
    ahead = distance(state, course)
    since = last.row if last else wanted.from_row if wanted else 0
    low, high = _now_between(state, ahead, since, measured or 0.0, goal)
    if measured is None and not isinstance(ahead, RowsLeft | RowsExactly):
        low = high = None
    return Tape(
        unit=unit,
        target=goal,
        measured=measured,
        low=low,
        high=high,
        words=_tape_words(state, ahead, last, _as_said(to_reach, wanted, unit), unit, words),
        end=tape_end(goal, measured, high),
        guessed=measured is None and high is not None,
    )


def _as_she_reads(state: PieceState, wanted: Target, last: Reading | None) -> Length:
    """Return what her ruler reads at the target: a washed length reads differently before."""
    fabric = last.fabric if last else state.how.fabric if state.how else Fabric.ON_NEEDLE
    return wanted.read_as(state, fabric) or wanted.length


def _as_said(to_reach: Length | None, wanted: Target | None, unit: LengthUnit) -> Length | None:
    """Return the length to reach in a unit: as it was given, or rounded where it was worked out."""
    if to_reach is None or (
        wanted is not None and to_reach.unit is unit and to_reach == wanted.length.to(unit)
    ):
        return to_reach
    return worked_out(to_reach.to(unit), fine=True)


def _last_reading(state: PieceState, from_row: int) -> Reading | None:
    fitting = [one for one in state.lengths if not one.aside and one.from_row == from_row]
    return fitting[-1] if fitting else None


def _now_between(
    state: PieceState,
    ahead: Distance,
    row: int,
    measured: float,
    goal: float | None,
) -> tuple[float | None, float | None]:
    """
    Return between which lengths the piece is now.

    From the forecast: so many rows bring it from the length that was read to the target, so each
    of the rows since then has brought its share.
    """
    since = state.done - row
    if goal is None or since <= 0 or goal <= measured:
        return measured, measured
    if isinstance(ahead, RowsExactly) and not measured:
        exact = goal * since / (since + max(ahead.rows, 1))
        return exact, exact
    if not isinstance(ahead, RowsLeft):
        return measured, measured
    slow = measured + (goal - measured) * since / (since + max(ahead.high, 1))
    fast = measured + (goal - measured) * since / (since + max(ahead.low, 1))
    return min(slow, fast), max(slow, fast)


def _tape_words(
    state: PieceState,
    ahead: Distance,
    last: Reading | None,
    goal: Length | None,
    unit: LengthUnit,
    words: ScreenWording,
) -> str:
    parts: list[str] = []
    if last is not None:
        read = _short(length_in(last.length, unit))
        parts.append(words("tape", "measured", length=read, row=last.row))
    goal_words = _short(goal) if goal else ""
    match ahead:
        case RowsExactly(rows, partner=True):
            parts.append(words("tape", "partner_rows", rows=rows))
        case RowsExactly(rows):
            parts.append(words("tape", "last_rows", rows=rows))
        case RowsLeft(low=0, high=0):
            parts.append(words("tape", "long_enough"))
        case RowsLeft(low=low, high=high) if low == high:
            parts.append(words("tape", "left_exactly", rows=low, length=goal_words))
        case RowsLeft(low=low, high=high):
            parts.append(words("tape", "left", low=low, high=high, length=goal_words))
        case CannotSay(measure_again_at=row):
            parts.append(words("tape", "target", length=goal_words))
            parts.append(
                words("tape", "measure_now")
                if row <= state.done
                else words("tape", "measure_again", row=row)
            )
        case LongEnough():
            parts.append(words("tape", "long_enough"))
        case NoTarget():
            pass
    return " \N{MIDDLE DOT} ".join(parts)


def _short(length: Length) -> str:
    """Write a length with fraction signs: "4⅜ in"."""
    text = str(length)
    for plain, sign in _SIGNS.items():
        text = text.replace(f" {plain} ", f"{sign} ").replace(f"{plain} ", f"{sign} ")
    return text
