"""The edges of what is decided: the order of doubts, the last row of all, what a length is of."""

from __future__ import annotations

from fractions import Fraction

import pytest

from engine import commands, events
from engine.commands import Since
from engine.fabric import Fabric
from engine.judging.decide import decide
from engine.judging.decision import Accepted, Doubt, Question, Refused
from engine.judging.plausible import implausible, likeliest, with_lost_end
from engine.pattern import plain_course
from engine.quantities import Mass, MassUnit, centimetres, grams
from engine.replies import Reply, Say
from tests.engine.at_the_swatch import Work, sleeve


def test_numbers_that_may_be_meant_are_asked_about_the_likeliest_first() -> None:
    """A no to one leads to the next in the order of hearing, a no to the last to nothing."""
    heard = tuple(commands.RowsDone(count) for count in (13, 30, 15))
    decision = decide(Work(sleeve()).state, sleeve(), heard)
    assert isinstance(decision, Doubt)
    asked = []
    question: Question | Reply | None = decision.question
    while isinstance(question, Question):
        asked.append(question.yes)
        question = question.otherwise
    assert question is None
    assert asked == list(heard)


def test_the_row_being_worked_is_done_when_it_is_named() -> None:
    """At row 60 "row sixty done" is that row, said again it is known; another one is asked."""
    work = Work(sleeve()).knits(59)
    decision = decide(work.state, work.course, [commands.RowsDone(row=60)])
    assert isinstance(decision, Accepted)
    assert decision == decide(work.state, work.course, [commands.RowsDone()])
    again = decide(work.state, work.course, [commands.RowsDone(row=59)])
    assert again == Accepted(commands.WhichRow())
    other = decide(work.state, work.course, [commands.RowsDone(row=62)])
    assert isinstance(other, Doubt)
    assert (other.question.asks.say, other.question.asks.value("row")) == (Say.ASK_ROWS_DONE, 62)
    yes = decide(work.state, work.course, [commands.RowsDone(row=62)], confirmed=True)
    assert isinstance(yes, Accepted)
    assert yes.events == (events.Recounted(62),)
    none = decide(work.state, work.course, [commands.RowsDone(row=0)])
    assert isinstance(none, Refused)
    assert none.reason.say is Say.NO_ROW_YET


def test_of_two_rows_heard_the_one_being_worked_is_meant() -> None:
    """Sixteen or sixty: at row 60 it is sixty without a question, at row 38 it is asked."""
    heard = [commands.RowsDone(row=16), commands.RowsDone(row=60)]
    at_60, at_38 = Work(sleeve()).knits(59), Work(sleeve()).knits(37)
    done = decide(at_60.state, at_60.course, heard)
    assert isinstance(done, Accepted)
    assert done.command == commands.RowsDone()
    assert isinstance(decide(at_38.state, at_38.course, heard), Doubt)


@pytest.mark.parametrize(
    ("heard", "meant"),
    [
        (commands.Mistake(90), commands.Mistake(94)),
        (commands.NoteRow(90), commands.NoteRow(94)),
        (commands.Mistake(94), None),
        (commands.Mistake(80), None),
        (commands.Mistake(9), None),
        (commands.CountStitches(50), None),
        (commands.RowsDone(90), None),
    ],
)
def test_behind_a_round_number_the_piece_knows_what_may_be_lost(
    heard: commands.Command, meant: commands.Command | None
) -> None:
    """At row 94 "ninety" may have been that row; what is exact, or far from it, is as it is."""
    work = Work(sleeve()).knits(93)
    expected = (heard,) if meant is None else (heard, meant)
    assert with_lost_end(work.state, work.course, [heard]) == expected


def test_of_the_row_just_done_and_the_one_being_worked_one_may_have_lost_its_end() -> None:
    """At row 71 "row seventy" is the one just done, or this one: that is asked, at row 70 not."""
    heard = commands.Mistake(70)
    at_71, at_70 = Work(sleeve()).knits(70), Work(sleeve()).knits(69)
    assert with_lost_end(at_71.state, at_71.course, [heard]) == (heard, commands.Mistake(71))
    assert with_lost_end(at_70.state, at_70.course, [heard]) == (heard,)


def test_a_count_that_may_have_lost_its_end_is_asked_about() -> None:
    """Of 54 stitches "fifty" is no miscount of four before it was asked."""
    work = Work(plain_course(54))
    work.happens(events.PieceBegun("cap", "hut", None, None, 54, None, 0))
    heard = with_lost_end(work.state, work.course, [commands.CountStitches(50)])
    assert heard == (commands.CountStitches(50), commands.CountStitches(54))
    assert isinstance(decide(work.state, work.course, heard), Doubt)


def test_a_recount_may_name_the_row_after_the_last() -> None:
    """With every row of the piece done the next one is "worked", and none beyond that."""
    work = Work(sleeve()).knits(4).knits(112).happens(events.LoopEnded("body", 112))
    assert work.course.last_row(work.state.loops_ended) == 114
    done = decide(work.state, work.course, [commands.Recount(115)], confirmed=True)
    assert isinstance(done, Accepted)
    assert done.events == (events.Recounted(114),)
    beyond = decide(work.state, work.course, [commands.Recount(116)], confirmed=True)
    assert isinstance(beyond, Refused)
    assert beyond.reason.say is Say.PAST_THE_END


def test_a_length_from_elsewhere_does_not_end_a_part() -> None:
    """38 cm from the cast-on is the part's length; 38 cm from a marker, however sure, is not."""
    work = Work(sleeve()).knits(4).knits(8).happens(events.MarkerPlaced(8)).knits(112)
    for since, offered in ((Since.CAST_ON, commands.PartDone()), (Since.MARKER, None)):
        said = commands.Measure(centimetres(Fraction(38)), since, Fabric.ON_NEEDLE)
        decision = decide(work.state, work.course, [said], confirmed=True)
        assert isinstance(decision, Accepted)
        assert (decision.then.yes if decision.then else None) == offered


def test_a_note_is_on_a_row_that_there_is() -> None:
    """From the first row to the one being worked; beyond, not even a yes makes a row of it."""
    work = Work(sleeve()).knits(4)
    for row, fits in ((1, True), (5, True), (6, False), (0, False)):
        for said in (commands.NoteRow(row), commands.Mistake(row)):
            decision = decide(work.state, work.course, [said], confirmed=True)
            assert isinstance(decision, Accepted if fits else Refused), said


def test_how_many_stitches_are_a_miscount() -> None:
    """A quarter of what is expected may be missing or too much; beyond, the number was misheard."""
    work = Work(sleeve()).knits(4)
    for count, sure in ((38, True), (62, True), (37, False), (63, False)):
        decision = decide(work.state, work.course, [commands.CountStitches(count)])
        assert isinstance(decision, Accepted if sure else Doubt), count


def test_how_many_rows_are_told_at_once() -> None:
    """Forty rows in one word are believed, more are asked about, also where no end is known."""
    work = Work()
    assert work.course.last_row({}) is None
    for count, sure in ((40, True), (41, False)):
        decision = decide(work.state, work.course, [commands.RowsDone(count)])
        assert isinstance(decision, Accepted if sure else Doubt), count


def test_yarn_that_no_ball_weighs_is_asked_about() -> None:
    """999 oz of yarn or of swatch are asked about, a cone of a kilogram is not."""
    work = Work(sleeve())
    heavy = commands.WeighYarn(Mass(Fraction(999), MassUnit.OZ))
    cone = commands.WeighYarn(Mass(Fraction(1000), MassUnit.G))
    cushion = commands.WeighSwatch(Mass(Fraction(999), MassUnit.OZ), 30, 40)
    swatch = commands.WeighSwatch(Mass(Fraction(7), MassUnit.G), 30, 40)
    for command in (heavy, cushion):
        found = decide(work.state, work.course, [command])
        assert isinstance(found, Doubt), command
        assert found.question.asks.say is Say.ASK_MASS
    for command in (cone, swatch):
        assert isinstance(decide(work.state, work.course, [command]), Accepted), command


def test_ripping_back_to_a_lifeline_leaves_it_in() -> None:
    """The lifeline holds the row that is ripped back to; one above it comes out with the rows."""
    work = Work(sleeve()).knits(4).knits(12)
    work.says(commands.PlaceLifeline())
    work.knits(30).says(commands.RipBack(10), confirmed=True)
    assert [one.row for one in work.state.lifelines] == [12]
    work.says(commands.PlaceLifeline())
    work.knits(24).says(commands.BackToLifeline(), confirmed=True)
    assert (work.state.done, [one.row for one in work.state.lifelines]) == (20, [12, 20])
    work.says(commands.RipBack(8), confirmed=True)
    assert (work.state.done, [one.row for one in work.state.lifelines]) == (12, [12])
    work.says(commands.BackToLifeline(), confirmed=True)
    assert (work.state.done, [one.row for one in work.state.lifelines]) == (12, [12])
    work.says(commands.RipBack(1), confirmed=True)
    assert (work.state.done, work.state.lifelines) == (11, ())


def test_all_rows_can_be_ripped_back_and_not_one_more() -> None:
    """Back to the cast-on is a ripping; beyond, not even a yes makes it one."""
    work = Work(sleeve()).knits(4)
    to_the_start = decide(work.state, work.course, [commands.RipBack(4)], confirmed=True)
    assert isinstance(to_the_start, Accepted)
    assert to_the_start.events == (events.RippedBack(0, lifeline=False),)
    beyond = decide(work.state, work.course, [commands.RipBack(5)], confirmed=True)
    assert isinstance(beyond, Refused)
    assert beyond.reason.say is Say.TOO_FAR_BACK


def test_how_far_a_recount_may_be_off() -> None:
    """Thirty rows back or forward can be meant; farther, another candidate is the likelier."""
    work = Work().knits(60)
    for row, near in ((31, True), (30, False), (91, True), (92, False)):
        meant = not implausible(work.state, work.course, commands.Recount(row))
        assert meant == near, row
        chosen = likeliest(work.state, work.course, [commands.Recount(row), commands.Recount(61)])
        assert chosen == commands.Recount(row if near else 61)


def weighed(work: Work, *readings: tuple[int, str]) -> Work:
    """Weigh the yarn after these rows, in grams; then knit ten rows more."""
    for row, mass in readings:
        work.knits(row).happens(events.YarnWeighed(row, grams(Fraction(mass))))
    return work.knits(work.state.done + 10)


def test_yarn_does_not_grow_on_the_scale() -> None:
    """Two grams more are the scale's own error, more are doubted; a new ball is heavier."""
    work = weighed(Work(), (10, "40"))
    for mass, doubtful in (("42", False), ("42.1", True), ("1", False)):
        said = commands.WeighYarn(grams(Fraction(mass)))
        assert implausible(work.state, work.course, said) == doubtful, mass
    work.happens(events.YarnJoined(15, None, ""))
    assert not implausible(work.state, work.course, commands.WeighYarn(grams(90)))
    before = weighed(Work().knits(2).happens(events.YarnJoined(3, None, "")), (10, "40"))
    assert implausible(before.state, before.course, commands.WeighYarn(grams(90)))


def test_yarn_does_not_go_four_times_as_fast() -> None:
    """A gram a row so far: ten rows may take 50 g (four times, and ten for a tangled end)."""
    work = weighed(Work(), (10, "90"), (20, "80"))
    for mass, doubtful in (("30", False), ("29.9", True), ("70", False)):
        said = commands.WeighYarn(grams(Fraction(mass)))
        assert implausible(work.state, work.course, said) == doubtful, mass


def test_a_number_in_a_row_that_there_cannot_be() -> None:
    """More stitches than the row has, a row not yet reached, a needle that nobody makes."""
    work = Work(sleeve()).knits(4)
    for said, doubtful in (
        (commands.StopInRow(50), False),
        (commands.StopInRow(51), True),
        (commands.JoinBall(50), False),
        (commands.JoinBall(51), True),
        (commands.NoteRow(5), False),
        (commands.NoteRow(6), True),
        (commands.Mistake(5), False),
        (commands.Mistake(6), True),
        (commands.RipBack(4), False),
        (commands.RipBack(5), True),
        (commands.RidgesDone(20), False),
        (commands.RidgesDone(21), True),
    ):
        assert implausible(work.state, work.course, said) == doubtful, said


def test_counts_that_no_swatch_has() -> None:
    """3 to 60 stitches and 3 to 90 rows to 10 cm, 0.8 to 2.6 rows a stitch (common practice)."""
    work = Work()
    for stitches, rows, doubtful in (
        (3, None, False), (2, None, True), (60, None, False), (61, None, True),
        (None, 3, False), (None, 2, True), (None, 90, False), (None, 91, True),
        (20, 16, False), (20, 15, True), (20, 52, False), (20, 53, True),
    ):  # fmt: skip
        said = commands.CountSwatch(stitches, rows)
        assert implausible(work.state, work.course, said) == doubtful, said
    assert not implausible(work.state, work.course, commands.CountSwatch(6, 8, centimetres(3)))
