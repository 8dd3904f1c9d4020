"""
How the hand compares with the swatch, in replies: asked for, or said unasked when it is worth it.

British "tension" is gauge; this is about how tightly the hand knits. Unasked a word is said once,
after a measurement, when it is sure enough that the hand has changed by about five per cent.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, Final

from engine.facts.needles import changed_at
from engine.facts.part_stitch import stitch_of, swatched_stitch
from engine.facts.swatches import finished_gauge, tension_gauges
from engine.forecast.of_piece import HandReport, PieceFacts, hand_report
from engine.forecast.tension import Hand
from engine.plan.gauge import TEN_CM
from engine.plan.rounding import worked_out
from engine.quantities import Length, LengthUnit
from engine.replies import Reply, Say, Tone, reply

if TYPE_CHECKING:
    from engine.pattern import Course
    from engine.state import PieceState

_WORTH_ANOTHER_LOOK: Final = 5
"""From so many per cent on a difference matters if it is real; common practice, no source."""


def report(state: PieceState, course: Course) -> HandReport | None:
    """Return how the hand compares, with the curve and the notes; None: nothing to compare yet."""
    swatch = tension_gauges(state)
    if not swatch:
        return None
    ended = state.loops_ended
    counted = {old.row: old.count for old in state.counts if not old.aside}

    def stitches_after(row: int) -> int | None:
        if row in counted:
            return counted[row]
        if row == 0:
            return state.cast_on
        place = course.where(ended, row)
        return place.after if place.checked else None

    facts = PieceFacts(
        swatch=swatch,
        stitches_after=stitches_after,
        part_of=lambda row: stitch_of(course, ended, row),
        swatch_part=swatched_stitch(course),
        from_row=changed_at(state),
    )
    length_cm, rows = _planned_length(state, course)
    width = _planned_width_cm(state, stitches_after(state.done))
    return hand_report(state, facts, length_cm, width, rows)


def _planned_length(state: PieceState, course: Course) -> tuple[float | None, int | None]:
    """Return length and rows where the rows are fixed; else she knits on until it measures."""
    whole = state.target or course.target
    rows = course.last_row(state.loops_ended)
    return (whole.cm, rows) if whole is not None and rows is not None else (None, None)


def _planned_width_cm(state: PieceState, stitches: int | None) -> float | None:
    finished = finished_gauge(state)
    if stitches is None or finished is None or finished.stitches is None:
        return None
    return 10 * stitches / float(finished.stitches.per(TEN_CM))


# --- in replies ---------------------------------------------------------------------------------


def asked(state: PieceState, course: Course) -> tuple[Reply, ...]:
    """Answer how the hand compares with the swatch."""
    found = report(state, course)
    if found is None:
        return (reply(_why_not(state), Tone.HEARD),)
    percent = _percent(found)
    tighter = found.tension.hand is Hand.TIGHTER
    if found.tension.hand is Hand.EVEN or percent == 0:
        return (reply(Say.HAND_EVEN, Tone.HEARD),)
    if not found.tension.worth_a_word and percent >= _WORTH_ANOTHER_LOOK:
        say = Say.HAND_MAYBE_TIGHTER if tighter else Say.HAND_MAYBE_LOOSER
        return (reply(say, Tone.HEARD, percent=percent),)
    if not found.tension.worth_a_word:
        say = Say.HAND_LITTLE_TIGHTER if tighter else Say.HAND_LITTLE_LOOSER
        return (reply(say, Tone.HEARD, percent=percent),)
    first, *rest = _word(found, _unit(state))
    return (Reply(first.say, Tone.HEARD, first.values), *rest)


def unasked(before: PieceState, after: PieceState, course: Course) -> tuple[Reply, ...]:
    """Return the word that a measurement makes due; () if there is none, or it was said already."""
    found = report(after, course)
    if found is None or not found.tension.worth_a_word:
        return ()
    earlier = report(before, course)
    if earlier is not None and _same_word(earlier, found):
        return ()
    return _word(found, _unit(after))


def _same_word(earlier: HandReport, found: HandReport) -> bool:
    return earlier.tension.worth_a_word and earlier.tension.hand is found.tension.hand


def _word(found: HandReport, unit: LengthUnit) -> tuple[Reply, ...]:
    tension = found.tension
    say = Say.HAND_TIGHTER if tension.hand is Hand.TIGHTER else Say.HAND_LOOSER
    since = tension.since_row or tension.looks[0].first
    percent, chance = round(100 * abs(tension.change)), min(99, round(100 * tension.chance))
    word = reply(say, row=since, percent=percent, chance=chance)
    return (word, *_finished(found, unit), reply(Say.HAND_LOOK))


def _finished(found: HandReport, unit: LengthUnit) -> tuple[Reply, ...]:
    """Say what the piece will measure if nothing changes: across, else in length."""
    for say, cm in ((Say.FINISHED_WIDE, found.width_cm), (Say.FINISHED_LONG, found.length_cm)):
        if cm is not None:
            exact = Length(Fraction(round(cm * 100), 100), LengthUnit.CM)
            return (reply(say, length=worked_out(exact.to(unit))),)
    return ()


def _percent(found: HandReport) -> int:
    return round(abs(found.tension.deviation) * 100)


def _unit(state: PieceState) -> LengthUnit:
    if state.lengths:
        unit = state.lengths[-1].length.unit
        return unit if unit in {LengthUnit.CM, LengthUnit.IN} else LengthUnit.CM
    return LengthUnit.CM


def _why_not(state: PieceState) -> Say:
    known = {gauge.fabric for gauge in tension_gauges(state)}
    if not known:
        return Say.NO_SWATCH
    seen = {one.fabric for one in state.lengths if not one.aside}
    seen |= {one.fabric for one in state.widths if not one.aside}
    return Say.SWATCH_OTHER_STATE if seen and not seen & known else Say.HAND_TOO_SOON
