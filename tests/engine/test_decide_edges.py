"""The edges of what is decided: the order of doubts, the last row of all, what a length is of."""

from __future__ import annotations

from fractions import Fraction

from engine import commands, events
from engine.commands import Since
from engine.fabric import Fabric
from engine.judging.decide import decide
from engine.judging.decision import Accepted, Doubt, Question, Refused
from engine.quantities import Mass, MassUnit, centimetres
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
