"""The orders of a journal, and what is known of their pieces."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from app.pieces.pattern_cache import course_of
from app.wall import behind
from engine.batch.order import fold_order
from engine.batch.piece_traits import PieceTraits, traits_of
from engine.batch.progress import hours_between, moment
from engine.batch.readiness import Timing, readiness
from engine.batch.wool import wool_needs
from engine.forecast.stamps import row_stamps
from engine.history import fold, live
from engine.order_events import OrderBegun
from engine.records import in_order
from engine.stages import Stage

if TYPE_CHECKING:
    from engine.batch.order import OrderedLine, OrderedPiece, OrderState
    from engine.batch.readiness import Readiness
    from engine.batch.wool import WoolNeed
    from engine.journal.journal import Journal
    from engine.state import PieceState

_HOURS_OF_DAY = 24
_FRESH_HOURS = 1 / 120


def orders(journal: Journal) -> tuple[OrderState, ...]:
    """Return the orders of a journal, the one taken last first; JournalError if unreadable."""
    found = []
    for kept in journal.pieces():
        if kept.name:
            continue  # a piece
        records = journal.records(kept.id)
        if any(isinstance(record.event, OrderBegun) for record in records):
            state = fold_order(records)
            if state.begun:
                found.append(state)
    return tuple(sorted(found, key=lambda one: (one.since, one.order), reverse=True))


def order_called(journal: Journal, name: str | None) -> OrderState:
    """
    Return the order of a name, or (None) the one taken last.

    Raises:
        KeyError: there is none; the sentence names those that there are.

    """
    known = orders(journal)
    for one in known:
        if name is None or one.name.casefold() == name.strip().casefold():
            return one
    if not known:
        raise KeyError('There is no order in this journal; begin one: walesong order begin "NAME".')
    names = ", ".join(one.name for one in known)
    raise KeyError(f"There is no order '{name}'; there are: {names}.")


def piece_traits(journal: Journal, piece: str) -> tuple[PieceTraits, PieceState]:
    """Return what is known of a piece of the journal, and its state."""
    records = in_order(journal.records(piece))
    state = fold(records)
    holding = live(records)
    ended = holding[-1].wall if holding else ""

    def of_pattern() -> PieceTraits:
        return traits_of(state, course_of(state), row_stamps(holding), ended)

    def plainly(_: str) -> PieceTraits:
        return PieceTraits(state.name, state.piece, ended=ended, finished=state.finished)

    return behind(of_pattern, plainly, "A piece cannot be compared"), state


class Looked:
    """What was found of the pieces of a journal, as long as their records are the same."""

    def __init__(self) -> None:
        """Have looked at none yet."""
        self._found: dict[str, tuple[str, PieceTraits, PieceState]] = {}
        self._marks: dict[str, str] = {}
        self._wool: tuple[object, tuple[WoolNeed, ...]] = (None, ())
        self._ready: tuple[object, str, Readiness] | None = None

    def anew(self, journal: Journal) -> None:
        """See which records of each piece there are now."""
        self._marks = {kept.id: kept.mark for kept in journal.pieces()}

    def at(self, journal: Journal, piece: str) -> tuple[PieceTraits, PieceState]:
        """Return what is known of a piece, and its state; see `anew`."""
        mark = self._marks.get(piece, "")
        if piece not in self._found or self._found[piece][0] != mark:
            self._found[piece] = (mark, *piece_traits(journal, piece))
        return self._found[piece][1:]

    def wool(self, state: OrderState, grams: dict[int, float]) -> tuple[WoolNeed, ...]:
        """Return the yarn that an order needs; `grams` are what its pieces weigh."""
        asked = (state, grams)
        if self._wool[0] != asked:
            self._wool = (asked, wool_needs(state, grams))
        return self._wool[1]

    def ready(self, state: OrderState, known: Timing, now: str) -> Readiness:
        """
        Return the hours and days left, simulated anew where anything but rows has changed.

        A row more changes hardly anything: for those half a minute may pass.
        """
        asked = (state, known.minutes, known.share.keys())
        if self._ready is not None:
            before, then, found = self._ready
            if before == asked and (hours_between(then, now) or 0.0) < _FRESH_HOURS:
                return found
        found = readiness(state, known)
        self._ready = (asked, now, found)
        return found


def ordered_traits(
    journal: Journal, state: OrderState, looked: Looked | None = None
) -> dict[int, PieceTraits]:
    """
    Return what is known of the pieces of an order that anything is known of, by number.

    What was measured when it was done goes before what its own history says.
    """
    looked = looked or Looked()
    found = {}
    for number, one in state.told:
        line = state.line_of(number)
        if line is None:
            continue
        name = f"{line.item} {number}"
        known = PieceTraits(name)
        if one.piece:
            known, _ = looked.at(journal, one.piece)
        found[number] = replace(_checked(known, one), name=name)
    return found


def _checked(known: PieceTraits, one: OrderedPiece) -> PieceTraits:
    known = replace(
        known,
        number=one.number,
        maker=one.knitter,
        ended=one.knitted or known.ended,
        finished=bool(one.knitted),
    )
    check = one.checked
    if check is None:
        return known
    return replace(
        known,
        rows=check.rows if check.rows is not None else known.rows,
        length=check.length or known.length,
        width=check.width or known.width,
        weight=check.mass or known.weight,
        minutes=check.minutes or known.minutes,
    )


def planned_traits(line: OrderedLine) -> PieceTraits | None:
    """Return what the pieces of a line are planned to be like; None where nothing was said."""
    plan = line.wanted
    if plan is None or plan.piece:
        return None
    return PieceTraits(
        "the plan",
        rows=plan.rows,
        stitches=plan.stitches,
        length=plan.length,
        width=plan.width,
        weight=plan.mass,
    )


def timing(
    journal: Journal,
    state: OrderState,
    known: dict[int, PieceTraits],
    now: str,
    looked: Looked | None = None,
) -> Timing:
    """Return the times of an order's pieces; `now` is the wall time (ISO 8601, UTC)."""
    looked = looked or Looked()
    minutes, share = {}, {}
    for number, one in state.told:
        traits = known.get(number)
        if traits is None:
            continue
        if one.knitted and traits.minutes:
            minutes[number] = traits.minutes
        elif one.stage is Stage.BEGUN and one.piece:
            done = _share_done(looked.at(journal, one.piece)[1].done, state, one)
            if done is not None:
                share[number] = done
    days = (hours_between(state.since, now) or 0.0) / _HOURS_OF_DAY
    return Timing(minutes, share, days, days_left(state, now))


def days_left(state: OrderState, now: str) -> float | None:
    """Return the days to the end of the day on which an order is due; None: no day is set."""
    due, here = moment(state.due), moment(now)
    if due is None or here is None:
        return None
    return (due - here).total_seconds() / 86_400 + 1


def _share_done(rows_done: int, state: OrderState, one: OrderedPiece) -> float | None:
    line = state.line_of(one.number)
    rows = line.wanted.rows if line is not None and line.wanted is not None else None
    if not rows:
        return None
    return min(rows_done / rows, 1.0)
