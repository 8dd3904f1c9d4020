"""Commands against a real pattern: what is written, asked, refused and answered."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import pytest

from app.pieces.pattern_cache import document_of
from engine import commands, events
from engine.answering.answer import answer, count_due
from engine.commands import Command, Feel, Since, Source
from engine.fabric import Fabric
from engine.history import fold
from engine.judging.decide import decide
from engine.judging.decision import Accepted, Doubt, Refused
from engine.pattern import Course, PatternDocument, plain_course
from engine.quantities import Length, LengthUnit, Mass, MassUnit, centimetres, grams
from engine.records import Record, heads
from engine.replies import Reply, Say, Tone

if TYPE_CHECKING:
    from engine.state import PieceState

SLEEVE = """
title = "Sleeve"
cast_on = 50
gauge = "20 sts and 28 rows to 10 cm, washed"
[[section]]
id = "rib"
rows = ["Row 1 (RS): *k2, p2; rep from * to last 2 sts, k2",
        "Row 2 (WS): *p2, k2; rep from * to last 2 sts, p2",
        "Rep rows 1 and 2 once more"]
[[section]]
id = "body"
rows = ["Row 1 (RS): k to end", "Row 2 (WS): p to end",
        "Rep rows 1 and 2 until piece measures 12 cm from cast-on edge, ending with a WS row"]
[[section]]
id = "top"
rows = ["Row 1 (RS): k1, k2tog, k to last 3 sts, k2tog, k1", "Row 2 (WS): p to end",
        "Row 3 (RS): k1, k2tog, k to last 3 sts, k2tog, k1", "Row 4 (WS): p to end"]
"""


class Knitter:
    """A knitter on one device, straight on the engine: decide, write, fold, answer."""

    def __init__(self, course: Course, cast_on: int | None = 50, count_every: int = 0) -> None:
        """Cast on."""
        self.course = course
        self.records: list[Record] = []
        self._write(
            (events.PieceBegun("sleeve", "hut", None, None, cast_on, course.target, count_every),)
        )

    @property
    def state(self) -> PieceState:
        """Where the piece stands."""
        return fold(self.records)

    def _write(self, happened: tuple[events.Event, ...]) -> None:
        group = f"group {len(self.records)}"
        for event in happened:
            lamport = len(self.records) + 1
            self.records.append(
                Record(
                    after=heads(self.records),
                    lamport=lamport,
                    writer="w",
                    piece="p",
                    group=group,
                    wall="2026-01-01T00:00:00Z",
                    monotonic_ms=lamport,
                    source=Source.KEY,
                    event=event,
                )
            )

    def says(self, *candidates: Command, confirmed: bool = False) -> tuple[Reply, ...]:
        """Say something that is accepted, and return what is answered."""
        before = self.state
        decision = decide(before, self.course, candidates, confirmed=confirmed)
        assert isinstance(decision, Accepted), decision
        self._write(decision.events)
        return answer(before, self.state, self.course, decision.command)

    def asked(self, *candidates: Command) -> Doubt:
        """Say something that is doubted, and return the question."""
        decision = decide(self.state, self.course, candidates)
        assert isinstance(decision, Doubt), decision
        return decision

    def refused(self, *candidates: Command) -> Say:
        """Say something that is refused, and return the reason."""
        decision = decide(self.state, self.course, candidates)
        assert isinstance(decision, Refused), decision
        assert decision.reason.tone is Tone.NOT_HEARD
        return decision.reason.say


@pytest.fixture
def course() -> Course:
    """Return the course of the sleeve."""
    document = document_of(SLEEVE)
    assert isinstance(document, PatternDocument), document
    return document.course()


@pytest.fixture
def knitter(course: Course) -> Knitter:
    """Return a knitter who has cast on the sleeve."""
    return Knitter(course)


def cm(value: str) -> Length:
    """Return a length in centimetres."""
    return centimetres(Fraction(value))


# --- rows ----------------------------------------------------------------------------------------


def test_one_row_is_a_tick(knitter: Knitter) -> None:
    """The everyday answer is a tone and nothing more."""
    (only,) = knitter.says(commands.RowsDone())
    assert (only.say, only.tone) == (Say.TICK, Tone.HEARD)


def test_several_rows_are_read_back(knitter: Knitter) -> None:
    """Three rows done: "3 done"."""
    first = knitter.says(commands.RowsDone(3))[0]
    assert (first.say, first.value("row")) == (Say.ROWS_DONE, 3)


def test_a_ridge_is_two_rows(knitter: Knitter) -> None:
    """Two ridges are four rows (common practice, no source)."""
    knitter.says(commands.RidgesDone(2))
    assert knitter.state.done == 4


def test_rows_are_written_by_section(knitter: Knitter) -> None:
    """Rows that cross from one part into the next are written as two stretches."""
    knitter.says(commands.RowsDone(6))
    worked = [record.event for record in knitter.records[1:]]
    assert worked == [events.RowsWorked("rib", 1, 4), events.RowsWorked("body", 5, 6)]


def test_a_different_row_is_announced_before_it(knitter: Knitter) -> None:
    """The tone of the row before says that the next one differs, and the row is read."""
    knitter.says(commands.RowsDone(3))
    replies = knitter.says(commands.RowsDone())
    assert replies[0].tone is Tone.NEXT_DIFFERS
    assert replies[1].say is Say.NEXT_IS
    assert str(replies[1].value("instruction")) == "k to end"


def test_no_change_is_denied_that_comes_after_a_part_to_measure(knitter: Knitter) -> None:
    """In the plain body the decreases of the top are still to come; at the end there are none."""
    knitter.says(commands.RowsDone(20))
    assert knitter.says(commands.NextChange())[0].say is Say.NO_CHANGE_IN_PART
    knitter.says(commands.PartDone(), confirmed=True)
    knitter.says(commands.RowsDone(3))
    assert knitter.says(commands.NextChange())[0].say is Say.NO_CHANGE


def test_shaping_is_announced_and_counted(knitter: Knitter) -> None:
    """A decrease is announced on the row before; after the shaping the count is asked for."""
    knitter.says(commands.RowsDone(20))
    knitter.says(commands.PartDone(), confirmed=True)
    assert knitter.says(commands.NextChange())[0].say is Say.CHANGE_NOW
    assert Say.COUNT_PLEASE not in {one.say for one in knitter.says(commands.RowsDone())}
    replies = knitter.says(commands.RowsDone())
    assert replies[0].tone is Tone.NEXT_DIFFERS
    replies = knitter.says(commands.RowsDone())
    assert replies[-1].say is Say.COUNT_PLEASE
    assert replies[-1].value("count") == 46


def test_counting_is_asked_for_every_so_many_rows(course: Course) -> None:
    """With a reminder every 8 rows it comes at row 8, then 8 rows after the last count."""
    knitter = Knitter(course, count_every=8)
    due = []
    for row in range(1, 20):
        knitter.says(commands.RowsDone())
        if count_due(knitter.state, course, row) is not None:
            due.append(row)
        if row == 10:
            knitter.says(commands.CountStitches(50))
    assert due == [8, 18]


def test_past_the_end_is_refused(knitter: Knitter) -> None:
    """There is no row after the last one; nothing is written and the reason is said."""
    knitter.says(commands.RowsDone(20))
    knitter.says(commands.PartDone(), confirmed=True)
    assert knitter.refused(commands.RowsDone(5)) is Say.PAST_THE_END
    knitter.says(commands.RowsDone(4))
    assert knitter.refused(commands.RowsDone()) is Say.PAST_THE_END


def test_the_last_row_asks_whether_the_piece_is_finished(knitter: Knitter) -> None:
    """After the last row a yes finishes the piece; after that rows are refused."""
    knitter.says(commands.RowsDone(20))
    knitter.says(commands.PartDone(), confirmed=True)
    decision = decide(knitter.state, knitter.course, [commands.RowsDone(4)])
    assert isinstance(decision, Accepted)
    assert decision.then is not None
    assert decision.then.yes == commands.FinishPiece()
    knitter.says(commands.RowsDone(4))
    knitter.says(commands.FinishPiece(), confirmed=True)
    assert knitter.state.finished
    assert knitter.refused(commands.RowsDone()) is Say.IS_FINISHED


# --- where and what ------------------------------------------------------------------------------


def test_which_row_is_never_a_bare_number(knitter: Knitter) -> None:
    """It is the row being worked, with its side."""
    knitter.says(commands.RowsDone(5))
    (only,) = knitter.says(commands.WhichRow())
    assert (only.say, only.value("row"), only.value("side")) == (Say.WORKING, 6, "wrong")


def test_where_in_the_repeat(knitter: Knitter) -> None:
    """Second of two, row one; in an open part without a total."""
    knitter.says(commands.RowsDone(2))
    (only,) = knitter.says(commands.WhereInRepeat())
    assert only.say is Say.REPEAT
    assert [only.value(name) for name in ("time", "times", "row")] == [2, 2, 1]
    knitter.says(commands.RowsDone(4))
    assert knitter.says(commands.WhereInRepeat())[0].say is Say.REPEAT_OPEN


def test_how_many_stitches(knitter: Knitter) -> None:
    """The expected count is the pattern's; without a pattern it is not known."""
    assert knitter.says(commands.HowManyStitches())[0].value("count") == 50
    plain = Knitter(plain_course(None), cast_on=None)
    plain.says(commands.RowsDone(3))
    assert plain.says(commands.HowManyStitches())[0].say is Say.EXPECTED_UNKNOWN


def test_how_far_is_an_interval_then_exact(knitter: Knitter) -> None:
    """From the pattern's gauge and a measurement an interval; in the last part the exact number."""
    knitter.says(commands.RowsDone(14))
    knitter.says(commands.Measure(cm("5"), Since.CAST_ON, Fabric.ON_NEEDLE))
    first, again = knitter.says(commands.HowFar())
    assert first.say is Say.ROWS_LEFT
    low, high = first.value("low"), first.value("high")
    assert again.say is Say.MEASURE_AGAIN
    assert isinstance(low, int)
    assert isinstance(high, int)
    assert low <= 20 <= high
    knitter.says(commands.RowsDone(20))
    knitter.says(commands.PartDone(), confirmed=True)
    (only,) = knitter.says(commands.HowFar())
    assert (only.say, only.value("rows")) == (Say.ROWS_LEFT_EXACTLY, 4)


# --- measuring and counting ----------------------------------------------------------------------


def test_the_first_measurement_asks_how_once(knitter: Knitter) -> None:
    """Defaults are assumed and asked about once; after that nothing is asked."""
    knitter.says(commands.RowsDone(10))
    decision = decide(knitter.state, knitter.course, [commands.Measure(cm("3.5"))])
    assert isinstance(decision, Accepted)
    assert decision.then is not None
    assert decision.then.yes == commands.MeasureHow(Since.CAST_ON, Fabric.ON_NEEDLE)
    knitter.says(commands.Measure(cm("3.5")))
    knitter.says(commands.MeasureHow(fabric=Fabric.RESTED))
    assert knitter.state.lengths[0].fabric is Fabric.RESTED
    knitter.says(commands.RowsDone(4))
    decision = decide(knitter.state, knitter.course, [commands.Measure(cm("5"))])
    assert isinstance(decision, Accepted)
    assert decision.then is None


def test_reaching_the_length_offers_the_next_part(knitter: Knitter) -> None:
    """When the part is as long as the pattern says, the next part is one yes away."""
    knitter.says(commands.RowsDone(32))
    knitter.says(commands.MeasureHow(Since.CAST_ON, Fabric.ON_NEEDLE))
    decision = decide(knitter.state, knitter.course, [commands.Measure(cm("12"))])
    assert isinstance(decision, Accepted)
    assert decision.then is not None
    assert decision.then.yes == commands.PartDone()


def test_a_length_that_cannot_be_is_asked_about(knitter: Knitter) -> None:
    """Forty centimetres after fourteen rows is a slip: asked about, with what would be likely."""
    knitter.says(commands.RowsDone(14))
    doubt = knitter.asked(commands.Measure(cm("40")))
    assert doubt.question.asks.say is Say.ASK_LENGTH_AGAIN
    least, most = doubt.question.asks.value("least"), doubt.question.asks.value("most")
    assert isinstance(least, Length)
    assert isinstance(most, Length)
    assert least.cm < 5 < most.cm < 10
    assert doubt.question.yes == commands.Measure(cm("40"))


def test_thirteen_or_thirty_is_decided_by_the_fabric(knitter: Knitter) -> None:
    """Of two lengths that sound alike the one that the rows allow is taken."""
    knitter.says(commands.RowsDone(36))
    knitter.says(commands.MeasureHow(Since.CAST_ON, Fabric.ON_NEEDLE))
    knitter.says(commands.Measure(cm("30")), commands.Measure(cm("13")))
    assert knitter.state.lengths[0].length == cm("13")


def test_fifteen_or_fifty_is_decided_by_the_expected_count(knitter: Knitter) -> None:
    """Of two counts that sound alike the one near the expected count is taken."""
    knitter.says(commands.RowsDone(2))
    replies = knitter.says(commands.CountStitches(15), commands.CountStitches(50))
    assert replies[0].say is Say.COUNT_RIGHT


def test_two_numbers_that_can_both_be_are_asked_about(knitter: Knitter) -> None:
    """Thirteen rows or thirty rows: both can be, so she is asked, one after the other."""
    doubt = knitter.asked(commands.RowsDone(13), commands.RowsDone(30))
    assert doubt.question.yes == commands.RowsDone(13)
    assert doubt.question.otherwise is not None
    assert not isinstance(doubt.question.otherwise, Reply)
    assert doubt.question.otherwise.yes == commands.RowsDone(30)


def test_a_miscount_says_by_how_many_and_where_to_look(knitter: Knitter) -> None:
    """Short or over by so many; after shaping the last shaping row is named."""
    knitter.says(commands.RowsDone(20))
    (only,) = knitter.says(commands.CountStitches(48))
    assert (only.say, only.value("by")) == (Say.COUNT_SHORT, 2)
    knitter.says(commands.PartDone(), confirmed=True)
    knitter.says(commands.RowsDone(2))
    (only,) = knitter.says(commands.CountStitches(50))
    assert (only.say, only.value("by"), only.value("row")) == (Say.COUNT_OVER_SHAPING, 2, 21)


def test_a_marker_is_needed_to_measure_from_it(knitter: Knitter) -> None:
    """Without a marker that is said; with one the stretch begins at its row."""
    knitter.says(commands.RowsDone(10))
    assert knitter.refused(commands.Measure(cm("2"), Since.MARKER)) is Say.NO_MARKER
    knitter.says(commands.PlaceMarker())
    knitter.says(commands.RowsDone(7))
    knitter.says(commands.Measure(cm("2.5"), Since.MARKER, Fabric.RESTED))
    assert knitter.state.lengths[0].from_row == 10


# --- taking back, ripping, stopping --------------------------------------------------------------


def test_a_recount_asks_once_then_moves(knitter: Knitter) -> None:
    """She is really on row 18: asked once; after the yes 17 rows are done."""
    knitter.says(commands.RowsDone(20))
    doubt = knitter.asked(commands.Recount(18))
    assert doubt.question.asks.value("row") == 18
    knitter.says(commands.Recount(18), confirmed=True)
    assert (knitter.state.done, knitter.state.working) == (17, 18)


def test_ripping_back_asks_and_is_not_undo(knitter: Knitter) -> None:
    """Five rows back from 20 are 15 done, by an event that undo can take back."""
    knitter.says(commands.RowsDone(20))
    assert knitter.asked(commands.RipBack(5)).question.asks.value("row") == 15
    knitter.says(commands.RipBack(5), confirmed=True)
    assert knitter.state.done == 15
    knitter.says(commands.Undo())
    assert knitter.state.done == 20


def test_more_than_everything_cannot_be_ripped_back(knitter: Knitter) -> None:
    """Ripping back more rows than there are is refused."""
    knitter.says(commands.RowsDone(3))
    assert knitter.refused(commands.RipBack(5)) is Say.TOO_FAR_BACK


def test_back_to_the_lifeline(knitter: Knitter) -> None:
    """The lifeline remembers its row and its stitches; without one that is said."""
    assert knitter.refused(commands.BackToLifeline()) is Say.NO_LIFELINE
    knitter.says(commands.RowsDone(12))
    knitter.says(commands.PlaceLifeline())
    assert knitter.state.lifelines[0].stitches == 50
    knitter.says(commands.RowsDone(6))
    knitter.says(commands.BackToLifeline(), confirmed=True)
    assert knitter.state.done == 12


def test_unpicking_opens_the_last_row_or_the_one_under_way(knitter: Knitter) -> None:
    """After a done row it is that row; in the middle of a row it is this one from its start."""
    knitter.says(commands.RowsDone(9))
    assert knitter.says(commands.Unpick())[0].value("row") == 9
    knitter.says(commands.RowsDone())
    knitter.says(commands.StopInRow(23))
    assert knitter.says(commands.Unpick())[0].value("row") == 10


def test_stopping_in_a_row(knitter: Knitter) -> None:
    """Without a number it is asked for; more stitches than the row has are refused."""
    knitter.says(commands.RowsDone(9))
    decision = decide(knitter.state, knitter.course, [commands.StopInRow()])
    assert isinstance(decision, Accepted)
    assert decision.then is not None
    assert decision.then.asks.say is Say.ASK_AFTER
    assert knitter.refused(commands.StopInRow(60)) is Say.MORE_THAN_ROW
    (only,) = knitter.says(commands.StopInRow(23))
    assert (only.say, only.value("row"), only.value("count")) == (Say.STOPPED, 10, 23)


def test_nothing_to_take_back(knitter: Knitter) -> None:
    """Before anything was done, undo and redo say so."""
    assert knitter.refused(commands.Undo()) is Say.NOTHING_TO_TAKE_BACK
    assert knitter.refused(commands.Redo()) is Say.NOTHING_TO_PUT_BACK


# --- the rest of the table -----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("command", "say"),
    [
        (commands.WhatNext(), Say.INSTRUCTION),
        (commands.HandFelt(Feel.TIGHT), Say.TICK),
        (commands.NoteRow(), Say.NOTED),
        (commands.NoteRow(3, "cable crossed wrong"), Say.NOTED),
        (commands.Mistake(3), Say.NOTED),
        (commands.DroppedStitch(), Say.DROPPED),
        (commands.JoinBall(), Say.NOTED),
        (commands.PlaceMarker(), Say.NOTED),
        (commands.PlaceLifeline(), Say.NOTED),
        (commands.MeasureWidth(cm("24")), Say.WIDTH_NOTED),
        (commands.WeighYarn(grams(40)), Say.WEIGHED),
        (commands.YarnLasts(), Say.WEIGH_FIRST),
        (commands.HowManyStitches(), Say.EXPECTED),
        (commands.Undo(), Say.TAKEN_BACK),
    ],
)
def test_the_plain_answers(knitter: Knitter, command: Command, say: Say) -> None:
    """Each of the plain commands has its one answer."""
    knitter.says(commands.RowsDone(6))
    assert knitter.says(command)[0].say is say


def test_the_yarn_is_answered_from_the_scale(knitter: Knitter) -> None:
    """With two weighings and plenty left the answer is yes; with little left it is no."""
    knitter.says(commands.RowsDone(10))
    knitter.says(commands.Measure(cm("3.5"), Since.CAST_ON, Fabric.ON_NEEDLE))
    knitter.says(commands.WeighYarn(grams(90)))
    knitter.says(commands.RowsDone(20))
    knitter.says(commands.WeighYarn(grams(80)))
    assert knitter.says(commands.YarnLasts())[0].say is Say.YARN_LASTS
    short = Knitter(knitter.course)
    short.says(commands.RowsDone(10))
    short.says(commands.Measure(cm("3.5"), Since.CAST_ON, Fabric.ON_NEEDLE))
    short.says(commands.WeighYarn(grams(12)))
    short.says(commands.RowsDone(10))
    short.says(commands.WeighYarn(Mass(Fraction(2), MassUnit.G)))
    assert short.says(commands.YarnLasts())[0].say is Say.YARN_SHORT


def test_every_length_unit_can_be_measured_in(knitter: Knitter) -> None:
    """The reading keeps the unit in which it was said."""
    knitter.says(commands.RowsDone(12))
    said = Length(Fraction(7, 4), LengthUnit.IN)
    knitter.says(commands.Measure(said, Since.CAST_ON, Fabric.RESTED))
    assert knitter.state.lengths[0].length == said


def test_a_fork_stops_counting_until_it_is_settled(course: Course) -> None:
    """While two devices disagree rows are refused with both numbers; a recount settles it."""
    phone = Knitter(course)
    phone.says(commands.RowsDone(10))
    tablet = Knitter(course)
    tablet.records = list(phone.records)
    phone.says(commands.RowsDone(1))
    tablet.says(commands.RowsDone(3))
    phone.records = list({record.id: record for record in phone.records + tablet.records}.values())
    assert phone.refused(commands.RowsDone()) is Say.FORKED
    # the two ends have the same Lamport numbers, so the recount must come after both
    top = max(record.lamport for record in phone.records)
    phone.records.append(
        Record(
            after=heads(phone.records),
            lamport=top + 1,
            writer="w",
            piece="p",
            group="settled",
            wall="2026-01-01T00:00:00Z",
            monotonic_ms=99,
            source=Source.KEY,
            event=events.Recounted(12),
        )
    )
    assert phone.state.fork == ()
    assert phone.state.done == 12
