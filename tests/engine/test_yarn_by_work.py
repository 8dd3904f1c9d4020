"""Yarn goes by the stitches of the rows: shaped pieces, balls joined, rows ripped, counters."""

from __future__ import annotations

from fractions import Fraction

import pytest

from app.pieces.pattern_cache import document_of
from engine import commands
from engine.answering.yarn_answer import Open, yarn_forecast
from engine.fabric import Fabric
from engine.facts.work import Work as Amount
from engine.facts.work import work
from engine.forecast.yarn import YarnForecast
from engine.pattern import Course, PatternDocument, plain_course
from engine.quantities import Length, LengthUnit, grams
from engine.replies import Say
from tests.engine.at_the_swatch import Work, sleeve

SHAWL = """
title = "Triangular shawl"
cast_on = 5
[[section]]
id = "shawl"
rows = ["Row 1 (RS): k1, m1, k to last st, m1, k1", "Row 2 (WS): p to end",
        "Rep rows 1 and 2 99 times more"]
"""
TWO_PARTS = """
title = "Back of a slipover"
cast_on = 80
[[section]]
id = "body"
rows = ["Row 1 (RS): k to end", "Row 2 (WS): p to end",
        "Rep rows 1 and 2 until piece measures 30 cm from cast-on edge"]
[[section]]
id = "armhole"
rows = ["Row 1 (RS): k to end", "Row 2 (WS): p to end",
        "Rep rows 1 and 2 until armhole measures 20 cm"]
"""
CARRIED = """
title = "Cloth"
cast_on = 50
[[section]]
id = "cloth"
rows = ["Row 1 (RS): k to end", "Row 2 (WS): p to end", "Rep rows 1 and 2 19 times more",
        "Row 41 (RS) (unchecked): work the border as drawn",
        "Row 42 (WS): p to end", "Row 43 (RS): k to end"]
"""


def course_of(text: str) -> Course:
    """Return the course of a pattern."""
    document = document_of(text)
    assert isinstance(document, PatternDocument), document
    return document.course()


def weighed(work: Work, *said: tuple[int, float]) -> Work:
    """Knit to rows and weigh the yarn there."""
    for row, mass in said:
        if row > work.state.done:
            work.knits(row)
        work.says(commands.WeighYarn(grams(Fraction(mass).limit_denominator(10))), confirmed=True)
    return work


def answer(work: Work) -> Say:
    """Return what is said of the yarn."""
    return work.says(commands.YarnLasts())[0].say


def told(work: Work) -> YarnForecast:
    """Return the forecast, which has to say something."""
    found = yarn_forecast(work.state, work.course)
    assert isinstance(found, YarnForecast), found
    return found


# --- shaped pieces ------------------------------------------------------------------------------


def test_a_triangular_shawl_is_short_of_yarn() -> None:
    """80, 73, 53 g at rows 0, 50, 100 of 200: the second half takes three quarters of it all."""
    shawl = weighed(Work(course_of(SHAWL)), (0, 80), (50, 73), (100, 53))
    assert answer(shawl) is Say.YARN_SHORT
    assert told(shawl).grams_needed == pytest.approx(75, abs=5)


def test_the_last_rows_of_a_decreased_shawl_take_next_to_nothing() -> None:
    """The same shawl from the long edge: by rows it would be short, by stitches it lasts."""
    rows = '"Row 1 (RS): ssk, k to last 2 sts, k2tog", "Row 2 (WS): p to end"'
    text = SHAWL.replace("cast_on = 5", "cast_on = 205").replace(
        '"Row 1 (RS): k1, m1, k to last st, m1, k1", "Row 2 (WS): p to end"', rows
    )
    narrowing = weighed(Work(course_of(text)), (0, 104), (50, 60), (100, 29))
    assert answer(narrowing) is Say.YARN_LASTS


def test_the_bind_off_is_that_of_the_last_row() -> None:
    """205 stitches are bound off, whatever is on the needle now."""
    found = work(Work(course_of(SHAWL)).knits(100).state, course_of(SHAWL))
    assert isinstance(found, tuple)
    done, needed = found
    assert done.last == 205
    assert sum(needed.work[0]) * done.stitches == pytest.approx(
        sum(5 + 2 * ((row + 1) // 2) for row in range(101, 201)), rel=0.001
    )


def test_work_is_looked_at_in_few_places_and_is_right() -> None:
    """Of a shawl and of a sleeve the work after every row is that of counting each row."""
    shawl = course_of(SHAWL)
    found = work(Work(shawl).knits(60).state, shawl)
    assert isinstance(found, tuple)
    amount: Amount = found[0]
    counted = 0.0
    for row in range(1, 201):
        after = shawl.where({}, row).after
        assert after is not None
        counted += after
        assert amount.total(row) * amount.stitches == pytest.approx(
            counted, abs=0.006 * counted + 4
        )


# --- what is not known --------------------------------------------------------------------------


def test_a_later_part_of_open_length_is_not_forgotten() -> None:
    """The yarn reaches the armhole: whether it lasts cannot be known; too short for that is no."""
    plenty = Work(course_of(TWO_PARTS)).knits(40).measures("14")
    weighed(plenty, (40, 90.5), (60, 81.5))
    assert isinstance(yarn_forecast(plenty.state, plenty.course), Open)
    assert answer(plenty) is Say.YARN_CANNOT_KNOW
    short = Work(course_of(TWO_PARTS)).knits(40).measures("14")
    weighed(short, (40, 14.5), (60, 5.5))
    assert answer(short) is Say.YARN_SHORT


def test_rows_that_are_only_carried_leave_the_yarn_open() -> None:
    """After a row that nobody could count the stitches ahead are not assumed."""
    cloth = weighed(Work(course_of(CARRIED)), (0, 80.5), (20, 71.5))
    assert answer(cloth) is Say.YARN_CANNOT_KNOW


def test_a_mere_counter_needs_a_count_and_goes_by_it() -> None:
    """Without a pattern: count first; as many as were cast on lasts; more and more is open."""

    def scarf() -> Work:
        """Knit 60 rows of 40 cm."""
        scarf = Work(plain_course(50), Length(Fraction(40), LengthUnit.CM))
        return weighed(scarf, (0, 80.5), (60, 51.5)).measures("22")

    assert answer(scarf()) is Say.YARN_COUNT_FIRST
    even = scarf()
    even.says(commands.CountStitches(50))
    assert answer(even) is Say.YARN_LASTS
    wider = scarf()
    wider.says(commands.CountStitches(80), confirmed=True)
    assert answer(wider) is Say.YARN_CANNOT_KNOW


# --- stretches ----------------------------------------------------------------------------------


def test_after_a_ball_was_joined_it_has_to_be_weighed() -> None:
    """What was left of the first ball says nothing of the second; weighed, it does."""
    work = weighed(Work(sleeve()).knits(4).knits(14).measures("5"), (14, 20.4), (40, 12.9))
    assert answer(work) is Say.YARN_SHORT
    work.says(commands.JoinBall())
    assert answer(work) is Say.WEIGH_FIRST
    weighed(work, (40, 52.3))
    assert answer(work) is Say.YARN_LASTS
    assert told(work).grams_left == pytest.approx(52.3, abs=0.5)


def test_a_ball_of_the_cast_on_is_no_join() -> None:
    """A ball named before the first row is the one that was weighed."""
    work = Work(sleeve())
    work.says(commands.WeighYarn(grams(50)))
    work.says(commands.JoinBall(text="4711"))
    assert work.state.stretch == 0


def test_ripping_back_past_a_join_has_to_be_weighed() -> None:
    """Which ball is in the hands then nobody knows; taken back, everything is as it was."""
    work = weighed(Work(sleeve()).knits(4).knits(14).measures("5"), (14, 20.4), (40, 12.9))
    work.says(commands.JoinBall())
    weighed(work, (60, 52.3))
    before = work.state
    work.says(commands.RipBack(30), confirmed=True)
    assert answer(work) is Say.WEIGH_FIRST
    work.says(commands.Undo())
    assert work.state.stretch == before.stretch
    assert work.state.weighings == before.weighings


def test_ripped_rows_tell_and_miscounted_rows_do_not() -> None:
    """A weighing above is used after ripping back, and set aside after a recount."""
    ripped = weighed(Work(sleeve()).knits(4).knits(14).measures("5"), (14, 90.4), (60, 77.2))
    ripped.says(commands.RipBack(20), confirmed=True)
    assert told(ripped).grams_left == pytest.approx(90.4 - 13.2 * 26 / 46, abs=0.7)
    recounted = weighed(Work(sleeve()).knits(4).knits(14).measures("5"), (14, 90.4), (60, 77.2))
    recounted.says(commands.Recount(41), confirmed=True)
    assert answer(recounted) is Say.WEIGH_FIRST


def test_the_step_of_her_scale_can_be_told() -> None:
    """Weights that look like grams on a scale that shows tens tell less: the interval is wider."""
    work = weighed(Work(sleeve()).swatch(28, Fabric.RESTED).knits(4), (10, 80), (40, 60), (60, 47))
    learnt, fine = yarn_forecast(work.state, work.course), yarn_forecast(work.state, work.course, 1)
    coarse = yarn_forecast(work.state, work.course, 10)
    assert isinstance(learnt, YarnForecast)
    assert isinstance(fine, YarnForecast)
    assert isinstance(coarse, YarnForecast)
    assert coarse.high - coarse.low > 1.5 * (fine.high - fine.low)
    assert learnt.high - learnt.low < coarse.high - coarse.low
