"""
How one record changes the state of its piece.

`evolve` is total: any record in any state gives a state, because what is written has happened.
Whether a command makes sense is asked before it is written (`engine.judging.decide`), never after.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, assert_never

from engine import events, order_events, said_events
from engine.state import (
    BallJoin,
    HandNote,
    HowMeasured,
    InRow,
    Lifeline,
    NeedleChange,
    PartnerPart,
    PartnerPiece,
    PartnerReading,
    PatternFrom,
    PieceState,
    Reading,
    RowNote,
    StitchCount,
    SwatchCount,
    SwatchWeight,
    Tolerance,
    Weighing,
    WidthReading,
)

if TYPE_CHECKING:
    from collections.abc import Iterable

    from engine.records import Record


def evolve(state: PieceState, record: Record) -> PieceState:  # noqa: C901, PLR0911, PLR0912, PLR0915 (one case an event)
    """Return the state after `record`; `Undone` changes nothing, `engine.history` acts on it."""
    event = record.event
    match event:
        case events.PatternKept():
            if any(sha256 == event.sha256 for sha256, _ in state.texts):
                return state
            return replace(state, texts=(*state.texts, (event.sha256, event.text)))
        case events.PieceBegun():
            return _begun(state, record.piece, event)
        case events.PatternPieceChosen():
            return replace(state, pattern_piece=event.title)
        case events.SwatchCounted():
            swatch = SwatchCount(
                event.stitches,
                event.stitches_over,
                event.rows,
                event.rows_over,
                event.fabric,
                event.needle,
                state.done,
            )
            return replace(state, swatch_counts=(*state.swatch_counts, swatch))
        case events.SwatchWeighed():
            weight = SwatchWeight(event.mass, event.stitches, event.rows, event.needle)
            return replace(state, swatch_weights=(*state.swatch_weights, weight))
        case (
            events.PartnerNamed()
            | events.PartnerPartKnitted()
            | events.PartnerMeasured()
            | order_events.PartnerMade()
            | order_events.PartnerWide()
            | order_events.PartnerTolerance()
        ):
            return replace(state, partner=_with_partner(state.partner, event))
        case events.PatternChanged():
            change = PatternFrom(event.from_row, event.pattern, event.size)
            earlier = tuple(old for old in state.patterns if old.from_row < event.from_row)
            return replace(
                state, patterns=(*earlier, change), bit=0, said=(), saying=None, mended=()
            )
        case events.PieceFinished():
            # Where another device had knitted on by then, it is not off the needles.
            return replace(state, finished=event.row >= state.done)
        case events.RowsWorked():
            if event.last <= state.done:
                return state
            saying = state.saying
            if saying is not None and saying.first <= event.last:
                saying = None
            return replace(
                state, done=event.last, in_row=None, bit=0, finished=False, saying=saying
            )
        case events.LoopEnded():
            ended = state.loops_ended | {event.loop: event.after}
            return replace(state, ended=tuple(sorted(ended.items())), in_row=None, bit=0)
        case events.RippedBack():
            return _ripped(state, min(state.done, event.to))
        case events.Recounted():
            if event.done >= state.done:
                return replace(state, done=event.done, in_row=None, bit=0)
            return _recounted(state, event.done)
        case events.RowReopened():
            return replace(_ripped(state, max(event.row - 1, 0)), in_row=InRow(event.row, None))
        case events.StoppedInRow():
            if event.row != state.working:
                return state
            return replace(state, in_row=InRow(event.row, event.after))
        case events.BitReached():
            return replace(state, bit=event.bit) if event.row == state.working else state
        case events.LifelinePlaced():
            return replace(state, lifelines=(*state.lifelines, Lifeline(event.row, event.stitches)))
        case events.MarkerPlaced():
            return replace(state, markers=(*state.markers, event.row))
        case events.BallJoined():
            return _joined(state, BallJoin(event.row, event.lot))
        case events.YarnJoined():
            return _joined(state, BallJoin(event.row, event.lot, after=event.after))
        case events.NeedleChanged():
            return replace(state, needles=(*state.needles, NeedleChange(event.row, event.needle)))
        case (
            said_events.CastOnSaid()
            | said_events.RowSaid()
            | said_events.RowBegun()
            | said_events.RowsRepeated()
            | said_events.ShapingSaid()
            | said_events.RowMended()
        ):
            return _said(state, event)
        case events.Measured():
            reading = Reading(
                event.row, event.length, event.since, event.from_row, event.fabric, event.assumed
            )
            return replace(state, lengths=(*state.lengths, reading))
        case events.WidthMeasured():
            width = WidthReading(event.row, event.width, event.fabric)
            return replace(state, widths=(*state.widths, width))
        case events.MeasuringAgreed():
            return _agreed(state, event)
        case events.StitchesCounted():
            count = StitchCount(event.row, event.count, event.expected)
            return replace(state, counts=(*state.counts, count))
        case events.YarnWeighed():
            weighing = Weighing(event.row, event.mass, stretch=state.stretch)
            return replace(state, weighings=(*state.weighings, weighing))
        case events.HandNoted():
            return replace(state, hand=(*state.hand, HandNote(event.row, event.feel)))
        case events.RowNoted():
            note = RowNote(event.row, event.about, event.text)
            return replace(state, notes=(*state.notes, note))
        case order_events.PieceWeighed(mass):
            return replace(state, weighed=mass)
        case order_events.ToleranceSet():
            return replace(state, tolerances=with_tolerance(state.tolerances, event))
        case (
            order_events.OrderBegun()
            | order_events.OrderLine()
            | order_events.LineWanted()
            | order_events.PieceGiven()
            | order_events.PieceTied()
            | order_events.StageReached()
            | order_events.PieceChecked()
            | order_events.PieceRejected()
            | order_events.HoursAWeek()
            | order_events.YarnStocked()
        ):
            return state  # `engine.batch.order` folds them
        case events.Undone():
            return state
        case _:
            assert_never(event)


def with_tolerance(
    known: tuple[Tolerance, ...],
    event: order_events.ToleranceSet | order_events.PartnerTolerance,
) -> tuple[Tolerance, ...]:
    """Return the tolerances with another one, in the place of the one for the same trait."""
    others = tuple(one for one in known if one.trait is not event.trait)
    return (*others, Tolerance(event.trait, event.length, event.number))


def _begun(state: PieceState, piece: str, event: events.PieceBegun) -> PieceState:
    patterns = (PatternFrom(1, event.pattern, event.size),) if event.pattern is not None else ()
    return replace(
        state,
        piece=piece,
        name=event.name,
        project=event.project,
        cast_on=event.cast_on,
        target=event.target,
        count_every=event.count_every,
        patterns=patterns,
        begun=True,
    )


def partner_of(happened: Iterable[events.Event]) -> PartnerPiece | None:
    """Return the partner that some events name; None if they name none."""
    partner = None
    for event in happened:
        match event:
            case (
                events.PartnerNamed()
                | events.PartnerPartKnitted()
                | events.PartnerMeasured()
                | order_events.PartnerMade()
                | order_events.PartnerWide()
                | order_events.PartnerTolerance()
            ):
                partner = _with_partner(partner, event)
            case _:
                pass
    return partner


def _with_partner(
    partner: PartnerPiece | None,
    event: events.PartnerNamed
    | events.PartnerPartKnitted
    | events.PartnerMeasured
    | order_events.PartnerMade
    | order_events.PartnerWide
    | order_events.PartnerTolerance,
) -> PartnerPiece | None:
    match event:
        case events.PartnerNamed():
            return PartnerPiece(
                event.partner, event.name, event.rows, event.finished, event.mirrored
            )
        case _ if partner is None:
            return None
        case events.PartnerPartKnitted():
            part = PartnerPart(event.part, event.rows, event.after, event.ended)
            return replace(partner, parts=(*partner.parts, part))
        case events.PartnerMeasured():
            reading = PartnerReading(event.row, event.length, event.fabric)
            return replace(partner, readings=(*partner.readings, reading))
        case order_events.PartnerMade(needle, lot):
            return replace(partner, needle=needle, lot=lot)
        case order_events.PartnerWide():
            width = PartnerReading(event.row, event.width, event.fabric)
            return replace(partner, widths=(*partner.widths, width))
        case order_events.PartnerTolerance():
            return replace(partner, tolerances=with_tolerance(partner.tolerances, event))
        case _:
            assert_never(event)


def _said(
    state: PieceState,
    event: said_events.CastOnSaid
    | said_events.RowSaid
    | said_events.RowBegun
    | said_events.RowsRepeated
    | said_events.ShapingSaid
    | said_events.RowMended,
) -> PieceState:
    """Return the state with what was said of rows; what was said of the same rows before goes."""
    match event:
        case said_events.CastOnSaid(stitches):
            return replace(state, cast_on=stitches)
        case said_events.RowBegun():
            return replace(state, saying=event)
        case said_events.RowMended(row=row):
            others = tuple(one for one in state.mended if one.row != row)
            return replace(state, mended=(*others, event))
        case _:
            return with_said(state, event)


def with_said(
    state: PieceState,
    line: said_events.RowSaid | said_events.RowsRepeated | said_events.ShapingSaid,
) -> PieceState:
    """Return the state where the piece goes on as `line` says, from its first row on."""
    earlier = tuple(one for one in state.said if one.first < line.first)
    mended = tuple(one for one in state.mended if one.row < line.first)
    return replace(state, said=(*earlier, line), saying=None, mended=mended, bit=0)


def _needles_left(needles: tuple[NeedleChange, ...], to: int) -> tuple[NeedleChange, ...]:
    """Return the changes of needle after ripping back: the one in the hands stays there."""
    kept = tuple(change for change in needles if change.row <= to)
    if len(kept) == len(needles):
        return needles
    return (*kept, replace(needles[-1], row=to + 1))


def _agreed(state: PieceState, event: events.MeasuringAgreed) -> PieceState:
    lengths = tuple(
        replace(
            reading, since=event.since, from_row=event.from_row, fabric=event.fabric, assumed=False
        )
        if reading.assumed
        else reading
        for reading in state.lengths
    )
    how = HowMeasured(event.since, event.from_row, event.fabric)
    return replace(state, how=how, lengths=lengths)


def _joined(state: PieceState, ball: BallJoin) -> PieceState:
    """Return the state with another ball; one of the cast-on is the one weighed."""
    stretch = state.stretch + (state.done > 0)
    return replace(state, balls=(*state.balls, ball), stretch=stretch)


def _ripped(state: PieceState, to: int) -> PieceState:
    """
    Return the state after ripping back; rows that were weighed and are gone still tell their yarn.

    Which ball is in the hands after a join was ripped out nobody knows.
    """
    rejoined = any(ball.row > to and not ball.aside for ball in state.balls)
    shortened = _shortened(state, to)
    weighings = tuple(
        replace(new, ripped=True) if new.aside and not old.aside else new
        for old, new in zip(state.weighings, shortened.weighings, strict=True)
    )
    return replace(shortened, weighings=weighings, stretch=state.stretch + rejoined)


def _recounted(state: PieceState, to: int) -> PieceState:
    """Return the state after fewer rows were counted than told: no fabric went, lifelines stay."""
    lifelines = tuple(replace(one, row=min(one.row, to)) for one in state.lifelines)
    return replace(_shortened(state, to), lifelines=lifelines)


def _shortened(state: PieceState, to: int) -> PieceState:
    """Return the state with only `to` rows left; what was read above is set aside, notes stay."""
    return replace(
        state,
        done=to,
        in_row=None,
        bit=0,
        finished=False,
        ended=tuple((loop, after) for loop, after in state.ended if after <= to),
        lifelines=tuple(lifeline for lifeline in state.lifelines if lifeline.row <= to),
        markers=tuple(row for row in state.markers if row <= to),
        balls=tuple(replace(ball, aside=True) if ball.row > to else ball for ball in state.balls),
        needles=_needles_left(state.needles, to),
        lengths=tuple(replace(old, aside=True) if old.row > to else old for old in state.lengths),
        widths=tuple(replace(old, aside=True) if old.row > to else old for old in state.widths),
        counts=tuple(replace(old, aside=True) if old.row > to else old for old in state.counts),
        weighings=tuple(
            replace(old, aside=True) if old.row > to else old for old in state.weighings
        ),
    )
