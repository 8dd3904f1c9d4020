"""The knitter's own swatch: kept as counted, preferred over the pattern, and told on the needle."""

from __future__ import annotations

from fractions import Fraction

import pytest

from engine import commands
from engine.fabric import Fabric
from engine.facts.distance import Target, distance, part_spans, reached, readings, target
from engine.facts.needles import FIRST_NEEDLE, needle_at, needle_name
from engine.facts.part_stitch import stitch_of, swatched_stitch
from engine.facts.swatches import gauges, in_use, reads_unwashed, swatch_events, tension_gauges
from engine.forecast.values import PATTERN_SPREAD, SWATCH_SPREAD, RowsLeft
from engine.plan.gauge import Count, Gauge, Swatch
from engine.quantities import Length, LengthUnit, centimetres, grams, inches, parse_length
from engine.replies import Say
from tests.engine.at_the_swatch import TEN, Work, sleeve

SIXTY = centimetres(60)


def washed_and_not(work: Work) -> Work:
    """Count the swatch of the trade's worked example: 26 rows washed, 28 before."""
    return work.swatch(28, Fabric.RESTED, 20, "4.5 mm").swatch(26, Fabric.WASHED, 20, "4.5 mm")


# --- gauges -------------------------------------------------------------------------------------


def test_without_a_swatch_the_pattern_speaks() -> None:
    """The stated gauge is used with its wider spread, for the stitch that it names."""
    (only,) = gauges(Work(sleeve()).state, sleeve())
    assert (only.rows_per_10cm, only.spread, only.part) == (28.0, PATTERN_SPREAD, "stockinette")


def test_her_own_swatch_goes_before_the_pattern() -> None:
    """Both states of one swatch are used, share a source, and the pattern's figure is not."""
    found = gauges(washed_and_not(Work(sleeve())).state, sleeve())
    assert {(one.rows_per_10cm, one.fabric) for one in found} == {
        (26.0, Fabric.WASHED),
        (28.0, Fabric.RESTED),
    }
    assert {one.source for one in found} == {"swatch 4.5 mm"}
    assert {one.spread for one in found} == {SWATCH_SPREAD}


def test_a_later_count_in_the_same_state_holds() -> None:
    """Counting again corrects; stitches and rows may be counted one after the other."""
    work = Work().swatch(30, Fabric.WASHED).swatch(None, Fabric.WASHED, 21)
    work.swatch(28, Fabric.WASHED)
    (only,) = in_use(work.state)
    assert only.rows == Count(Fraction(28), TEN)
    assert only.stitches == Count(Fraction(21), TEN)


def test_swatches_on_two_needles_are_two_sources() -> None:
    """A swatch on another needle is another piece of fabric."""
    work = Work().swatch(30, Fabric.WASHED, needle="4 mm").swatch(28, Fabric.WASHED, needle="5 mm")
    assert len({one.source for one in gauges(work.state, work.course)}) == 2
    assert {one.needle for one in in_use(work.state)} == {"5 mm"}


def test_a_gauge_over_four_inches_is_not_one_over_ten_centimetres() -> None:
    """28 rows over 4 in (10.16 cm exactly) are 27.56 over 10 cm."""
    work = Work()
    work.says(commands.CountSwatch(20, 28, inches(4), Fabric.WASHED))
    (only,) = gauges(work.state, work.course)
    assert only.rows_per_10cm == pytest.approx(28 / 1.016)


def test_a_swatch_narrows_the_forecast() -> None:
    """Who has swatched is told a narrower interval than who trusts the pattern alone."""

    def width(work: Work) -> int:
        work.knits(10)
        found = distance(work.state, work.course)
        assert isinstance(found, RowsLeft), found
        return found.high - found.low

    assert width(washed_and_not(Work(sleeve()))) < width(Work(sleeve()))


# --- washed targets -----------------------------------------------------------------------------


def test_sixty_centimetres_washed_read_55_7_on_the_needle() -> None:
    """26 rows washed and 28 unwashed: 60 cm are 156 rows, read as 55.7 cm (a sum of the trade)."""
    work = washed_and_not(Work(target=SIXTY))
    there = reads_unwashed(work.state, SIXTY)
    assert there is not None
    assert there.value == Fraction(60 * 26, 28)
    first, read = work.says(commands.HowFar())
    low, high = first.value("low"), first.value("high")
    assert isinstance(low, int)
    assert isinstance(high, int)
    assert low <= 156 <= high
    assert read.say is Say.READ_AS
    assert read.value("length") == parse_length("55.7 cm")
    assert read.value("fabric") is Fabric.ON_NEEDLE


def test_an_inch_target_is_read_in_inches() -> None:
    """What is read on the needle is told in the unit of the target, to an eighth."""
    work = washed_and_not(Work(target=inches(24)))
    read = work.says(commands.HowFar())[1].value("length")
    assert read == Length(Fraction(89, 4), LengthUnit.IN)


def test_nothing_is_read_where_only_one_state_was_counted() -> None:
    """Without an unwashed count nobody knows what the ruler will read."""
    work = Work(target=SIXTY).swatch(26, Fabric.WASHED)
    assert reads_unwashed(work.state, SIXTY) is None
    assert Say.READ_AS not in {one.say for one in work.says(commands.HowFar())}


def test_the_piece_is_long_enough_by_what_it_will_be_washed() -> None:
    """55.8 cm on the needle are 60 washed; 55 are not; washed itself 60 are needed."""
    work = washed_and_not(Work(target=SIXTY)).knits(156)
    wanted = target(work.state, work.course)
    assert wanted == Target(SIXTY, 0, Fabric.WASHED)
    assert not reached(work.measures("55").state, wanted)
    assert reached(work.measures("55.8").state, wanted)
    washed = washed_and_not(Work(target=SIXTY)).knits(156).measures("58", Fabric.WASHED)
    assert not reached(washed.state, wanted)


def test_until_piece_measures_is_meant_as_she_measures() -> None:
    """A part worked to a length goes by her ruler; the whole length is meant washed."""
    work = washed_and_not(Work(sleeve()))
    whole = target(work.state, work.course)
    assert whole is not None
    assert whole.fabric is Fabric.WASHED
    part = target(work.knits(20).state, work.course)
    assert part == Target(centimetres(38), 0, None)
    assert Say.READ_AS not in {one.say for one in work.says(commands.HowFar())}


# --- said ---------------------------------------------------------------------------------------


def test_a_swatch_is_read_back_and_held_against_the_pattern() -> None:
    """Twenty-two stitches where the pattern has twenty: a thicker needle, and swatch again."""
    work = Work(sleeve())
    noted, advice = work.says(commands.CountSwatch(22, 30))
    assert noted.say is Say.SWATCH_NOTED
    assert advice.say is Say.GAUGE_NEEDLE_UP
    assert advice.value("percent") == 10
    assert work.says(commands.CountSwatch(20, 28))[1].say is Say.GAUGE_FITS
    assert work.says(commands.CountSwatch(18, 26))[1].say is Say.GAUGE_NEEDLE_DOWN
    assert work.says(commands.CountSwatch(26, 36))[1].say is Say.GAUGE_OTHER_YARN
    assert work.says(commands.CountSwatch(20, 32))[1].say is Say.GAUGE_ROWS_DIFFER


@pytest.mark.parametrize(
    ("command", "say"),
    [
        (commands.CountSwatch(stitches=20), Say.SWATCH_STITCHES),
        (commands.CountSwatch(rows=28), Say.SWATCH_ROWS),
        (commands.CountSwatch(20, 28, TEN, Fabric.RESTED, "US 7"), Say.SWATCH_NOTED),
        (commands.WeighSwatch(grams(7), 30, 40), Say.SWATCH_WEIGHED),
    ],
)
def test_what_was_counted_is_answered(command: commands.Command, say: Say) -> None:
    """Stitches alone, rows alone, both, and the weight: each is read back."""
    assert Work().says(command)[0].say is say


def test_a_plan_is_kept_as_it_was_counted() -> None:
    """The events of a plan's swatch give the plan's figures back, halves included."""
    gauge = Gauge(Count(Fraction(41, 2), inches(4)), Count(Fraction(28), TEN), Fabric.WASHED)
    happened = swatch_events(Swatch(gauge, None), Fraction(9, 2), (grams(7), 30, 40))
    state = Work().happens(*happened).state
    (only,) = in_use(state)
    assert (only.stitches, only.rows, only.needle) == (gauge.stitches, gauge.rows, "4.5 mm")
    assert state.swatch_weights[0].stitches * state.swatch_weights[0].rows == 1200


# --- stitches, needles, spans -------------------------------------------------------------------


def test_the_stitch_of_a_part_is_known() -> None:
    """Rib goes by its section; knit and purl rows are stockinette, whatever the edges."""
    course = sleeve()
    assert [stitch_of(course, {}, row) for row in (1, 4, 5, 6, 20)] == [
        "rib", "rib", "stockinette", "stockinette", "stockinette",
    ]  # fmt: skip
    assert swatched_stitch(course) == "stockinette"


def test_garter_is_not_stockinette() -> None:
    """Knitted on both sides it is garter; a gauge that says so is for garter."""
    from app.pieces.pattern_cache import document_of  # noqa: PLC0415
    from engine.pattern import PatternDocument  # noqa: PLC0415

    document = document_of(
        'title = "G"\ncast_on = 20\ngauge = "20 sts and 40 rows to 10 cm in garter stitch"\n'
        'rows = ["Row 1: k to end", "Row 2: k to end",'
        ' "Rep rows 1 and 2 until piece measures 9 cm"]'
    )
    assert isinstance(document, PatternDocument), document
    assert swatched_stitch(document.course()) == stitch_of(document.course(), {}, 3) == "garter"


def test_spans_lead_from_the_rib_to_the_open_part() -> None:
    """In the rib the body ahead is known to come, so that its rows are forecast by the swatch."""
    work = Work(sleeve()).knits(2)
    assert [(one.part, one.first, one.last) for one in part_spans(work.state, work.course)] == [
        ("rib", 1, 4),
        ("stockinette", 5, None),
    ]


def test_a_change_of_needle_is_a_regime_of_its_own() -> None:
    """Spans and readings name the needle; the first one has a name as soon as another comes."""
    work = Work(sleeve()).knits(20).measures("7")
    assert needle_at(work.state, 3) == ""
    work.says(commands.ChangeNeedle(text="5"))
    work.knits(30).measures("11")
    spans = part_spans(work.state, work.course)
    assert [(one.first, one.last, one.needle) for one in spans] == [
        (1, 4, FIRST_NEEDLE),
        (5, 20, FIRST_NEEDLE),
        (21, None, "5 mm"),
    ]
    assert [one.needle for one in readings(work.state, work.course)] == [FIRST_NEEDLE, "5 mm"]


def test_the_piece_begins_on_the_needle_of_the_last_swatch() -> None:
    """She swatched on two needles and chose the second; a swatch for a later needle is later."""
    work = Work().swatch(30, Fabric.WASHED, needle="4 mm")
    work.swatch(28, Fabric.WASHED, needle="4.5 mm").knits(20)
    work.says(commands.ChangeNeedle(text="5 mm"))
    work.swatch(26, Fabric.WASHED, needle="5 mm")
    assert [needle_at(work.state, row) for row in (1, 20, 21)] == ["4.5 mm", "4.5 mm", "5 mm"]


@pytest.mark.parametrize(
    ("length", "text", "name"),
    [
        (None, "4.5", "4.5 mm"),
        (None, "4,5 mm", "4.5 mm"),
        (None, "us 7", "US 7"),
        (None, "bamboo", "bamboo"),
        (Length(Fraction(9, 2), LengthUnit.MM), None, "4.5 mm"),
        (None, None, ""),
    ],
)
def test_a_needle_has_one_name(length: Length | None, text: str | None, name: str) -> None:
    """However its size was said, it is the same needle."""
    assert needle_name(length, text) == name


def test_the_hand_is_compared_on_the_needle_by_the_unwashed_swatch() -> None:
    """What was counted rested also speaks for the fabric on the needle, not for the washed one."""
    known = {one.fabric for one in tension_gauges(Work().swatch(28, Fabric.RESTED).state)}
    assert known == {Fabric.RESTED, Fabric.ON_NEEDLE}
    washed = {one.fabric for one in tension_gauges(Work().swatch(28, Fabric.WASHED).state)}
    assert washed == {Fabric.WASHED}
