"""Hours of knitting, the weighed swatch, balls with their lots, the needle: asked and answered."""

from __future__ import annotations

from fractions import Fraction

import pytest

from engine import commands
from engine.answering.hours_answer import how_long
from engine.fabric import Fabric
from engine.facts.distance import measure_again_at, to_the_end
from engine.forecast.pace import RowStamp
from engine.judging.decide import decide
from engine.judging.decision import Accepted, Doubt, Refused
from engine.quantities import Length, LengthUnit, grams
from engine.replies import Say
from engine.state import BallJoin, NeedleChange
from tests.engine.at_the_swatch import Work, sleeve


def paced(rows: int, seconds: float) -> tuple[RowStamp, ...]:
    """Return the times of some rows, one after the other."""
    return tuple(RowStamp(row, row * seconds) for row in range(1, rows + 1))


# --- hours --------------------------------------------------------------------------------------


def test_hours_are_rows_at_her_pace() -> None:
    """Some 100 rows of two minutes are some three to four hours of knitting."""
    work = Work(sleeve()).swatch(28, Fabric.RESTED).knits(4).knits(10).measures("3.6")
    (only,) = how_long(work.state, work.course, paced(10, 120))
    assert only.say is Say.HOURS_LEFT
    low, high = only.value("low"), only.value("high")
    assert isinstance(low, int)
    assert isinstance(high, int)
    assert 2 <= low <= 3.3 <= high <= 5


def test_the_last_rows_are_minutes() -> None:
    """Two rows of four minutes are about ten minutes, in steps of five."""
    work = Work(sleeve()).knits(4).knits(108)
    work.says(commands.PartDone())
    (only,) = how_long(work.state, work.course, paced(10, 240))
    assert only.say is Say.MINUTES_LEFT
    low, high = only.value("low"), only.value("high")
    assert isinstance(low, int)
    assert isinstance(high, int)
    assert low <= 10 <= high
    assert low % 5 == high % 5 == 0


def test_the_rows_after_the_open_part_count_too() -> None:
    """To the end of the sleeve are two rows more than to the end of its body."""
    work = Work(sleeve()).knits(4).knits(20)
    assert to_the_end(work.state, work.course, 80) == 82
    assert to_the_end(Work(sleeve()).state, sleeve(), 80) == 80


def test_a_pause_does_not_move_the_pace() -> None:
    """A night between two rows changes nothing."""
    stamps = [*paced(10, 120), *(RowStamp(10 + n, 90_000 + n * 120) for n in range(1, 6))]
    work = Work(sleeve()).swatch(28, Fabric.RESTED).knits(4).knits(15)
    assert how_long(work.state, work.course, stamps) == how_long(
        work.state, work.course, paced(15, 120)
    )


@pytest.mark.parametrize(
    ("work", "stamps", "say"),
    [
        (Work(sleeve()).swatch(28, Fabric.RESTED).knits(4), paced(2, 60), Say.PACE_UNKNOWN),
        (Work().knits(4), paced(4, 60), Say.NO_TARGET),
        (Work(target=Length(Fraction(9), LengthUnit.CM)).knits(4), (), Say.MEASURE_FIRST),
    ],
    ids=["no pace", "no target", "nothing known"],
)
def test_what_is_missing_is_said(work: Work, stamps: tuple[RowStamp, ...], say: Say) -> None:
    """Without a pace, a target or a length there are no hours, and the answer says what to do."""
    assert how_long(work.state, work.course, stamps)[0].say is say


# --- measure again ------------------------------------------------------------------------------


def test_the_row_to_measure_at_stays_until_she_measures() -> None:
    """Asked at row 14 or at row 20 it is the same row; after a measurement it lies further on."""
    work = Work(sleeve()).swatch(28, Fabric.RESTED).knits(4).knits(14).measures("5")
    row = measure_again_at(work.state, work.course)
    assert row is not None
    assert 14 < row < 108
    work.knits(20)
    assert measure_again_at(work.state, work.course) == row
    assert work.says(commands.HowFar())[-1].value("row") == row
    work.knits(row)
    assert work.says(commands.HowFar())[-1].say is Say.MEASURE_NOW
    work.measures(f"{0.2 + row * 10 / 28:.1f}")
    later = measure_again_at(work.state, work.course)
    assert later is None or later > row


# --- yarn ---------------------------------------------------------------------------------------


def test_a_weighed_swatch_tells_what_a_row_takes() -> None:
    """7 g for 30 x 40 stitches: 50 stitches a row take 0.29 g; one weighing is enough."""
    work = Work(sleeve()).swatch(28, Fabric.RESTED, 20).knits(4).knits(14).measures("5")
    work.says(commands.WeighYarn(grams(90)))
    assert work.says(commands.YarnLasts())[0].say is Say.WEIGH_AT
    work.says(commands.WeighSwatch(grams(7), 30, 40))
    assert work.says(commands.YarnLasts())[0].say is Say.YARN_LASTS
    work.says(commands.WeighYarn(grams(15)))
    (only,) = work.says(commands.YarnLasts())
    assert only.say is Say.YARN_SHORT
    low, high = only.value("low"), only.value("high")
    assert isinstance(low, int)
    assert isinstance(high, int)
    assert low < 15 * 1200 / 7 / 50 - 2 < high + 3


def test_a_ball_is_kept_with_lot_row_and_stitch() -> None:
    """Said, or taken from where she stopped in the row; more stitches than the row has are not."""
    work = Work(sleeve()).knits(4).knits(20)
    work.says(commands.JoinBall(after=23, text=" 4711 "))
    work.says(commands.StopInRow(30))
    work.says(commands.JoinBall())
    assert work.state.balls == (
        BallJoin(21, "4711", after=23),
        BallJoin(21, "", after=30),
    )
    refused = decide(work.state, work.course, [commands.JoinBall(after=51)], confirmed=True)
    assert isinstance(refused, Refused)
    assert refused.reason.say is Say.MORE_THAN_ROW


def test_mixed_lots_are_warned_of_once() -> None:
    """The second lot in a piece gets a word, the third ball none; a ball without a lot neither."""
    work = Work(sleeve()).knits(4)
    said = [
        [one.say for one in work.says(commands.JoinBall(text=lot))]
        for lot in ("4711", None, "4711", "4712", "4713")
    ]
    quiet = [Say.NOTED]
    assert said == [quiet, quiet, quiet, [Say.NOTED, Say.LOTS_MIXED], quiet]


def test_a_ball_that_was_ripped_out_mixes_nothing() -> None:
    """What was set aside by ripping back is not in the piece."""
    work = Work(sleeve()).knits(4).knits(20)
    work.says(commands.JoinBall(text="4711"))
    work.says(commands.RipBack(10), confirmed=True)
    assert [one.say for one in work.says(commands.JoinBall(text="4712"))] == [Say.NOTED]


# --- the needle and doubts ----------------------------------------------------------------------


def test_another_needle_is_noted_with_its_row() -> None:
    """With its size she is told to swatch again; without one the row is noted."""
    work = Work(sleeve()).knits(4)
    (sized,) = work.says(commands.ChangeNeedle(Length(Fraction(5), LengthUnit.MM)))
    assert (sized.say, sized.value("words"), sized.value("row")) == (
        Say.NEEDLE_CHANGED, "5 mm", 5,
    )  # fmt: skip
    assert work.says(commands.ChangeNeedle())[0].say is Say.NOTED
    assert work.state.needles == (NeedleChange(5, "5 mm"), NeedleChange(5, ""))


@pytest.mark.parametrize(
    ("command", "say"),
    [
        (commands.ChangeNeedle(Length(Fraction(45), LengthUnit.MM)), Say.ASK_LENGTH),
        (commands.CountSwatch(200, 28), Say.ASK_SWATCH),
        (commands.CountSwatch(20, 80), Say.ASK_SWATCH),
        (commands.CountSwatch(stitches=300), Say.ASK_SWATCH_STITCHES),
        (commands.CountSwatch(rows=300), Say.ASK_SWATCH_ROWS),
        (commands.JoinBall(after=70), Say.ASK_STITCHES),
    ],
)
def test_numbers_that_can_hardly_be_are_asked_about(command: commands.Command, say: Say) -> None:
    """No needle of 45 mm, no swatch of 200 stitches; a join lies within the row."""
    work = Work(sleeve()).knits(4)
    if isinstance(command, commands.JoinBall):
        decision = decide(work.state, work.course, [command])
        assert isinstance(decision, Refused)
        return
    doubt = decide(work.state, work.course, [command])
    assert isinstance(doubt, Doubt)
    assert doubt.question.asks.say is say


def test_thirteen_or_thirty_stitches_of_a_swatch_is_asked() -> None:
    """Both can be counted in 10 cm, so she is asked, one after the other."""
    heard = [commands.CountSwatch(stitches=13), commands.CountSwatch(stitches=30)]
    doubt = decide(Work(sleeve()).state, sleeve(), heard)
    assert isinstance(doubt, Doubt)
    assert doubt.question.yes == heard[0]


def test_a_swatch_of_nothing_is_refused() -> None:
    """Stitches or rows have to be said."""
    refused = decide(Work().state, Work().course, [commands.CountSwatch()])
    assert isinstance(refused, Refused)
    assert refused.reason.say is Say.SWATCH_NEEDS_COUNTS


def test_a_doubtful_length_names_what_would_be_likely() -> None:
    """Thirteen for thirty: the question carries the likely range in the unit that was said."""
    work = Work(sleeve()).swatch(28, Fabric.RESTED).knits(4).knits(84).measures("30")
    said = commands.Measure(Length(Fraction(5), LengthUnit.IN))
    doubt = decide(work.state, work.course, [said])
    assert isinstance(doubt, Doubt)
    assert doubt.question.asks.say is Say.ASK_LENGTH_AGAIN
    least, most = (doubt.question.asks.value(name) for name in ("least", "most"))
    assert isinstance(least, Length)
    assert isinstance(most, Length)
    assert (least.unit, most.unit) == (LengthUnit.IN, LengthUnit.IN)
    assert least.cm < 30 < most.cm
    meant = decide(work.state, work.course, [said], confirmed=True)
    assert isinstance(meant, Accepted)
