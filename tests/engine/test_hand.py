"""How the hand compares with the swatch: asked for, and the word that is said unasked, once."""

from __future__ import annotations

from fractions import Fraction

from engine import commands, events
from engine.answering.hand_answer import asked, report, unasked
from engine.commands import Feel, Since
from engine.fabric import Fabric
from engine.quantities import Length, centimetres
from engine.replies import Reply, Say
from tests.engine.at_the_swatch import Work, sleeve


def swatched(stitches: int | None = 20) -> Work:
    """Return a sleeve with a swatch of 28 rows before the wash."""
    return Work(sleeve()).swatch(28, Fabric.RESTED, stitches)


def knitted(work: Work, per_10cm: float, looks: int = 6, every: int = 14) -> list[list[Reply]]:
    """Knit at so many rows to 10 cm, measure every so often; return what was said unasked."""
    said: list[list[Reply]] = []
    start = work.state.done
    grown = work.state.lengths[-1].length.cm if work.state.lengths else 0.2
    for look in range(1, looks + 1):
        work.knits(start + look * every)
        before = work.state
        work.measures(f"{grown + look * every * 10 / per_10cm:.1f}")
        said.append(list(unasked(before, work.state, work.course)))
    return said


def says(work: Work) -> list[Say]:
    """Return what is answered to the question about the hand."""
    return [one.say for one in asked(work.state, work.course)]


def test_without_a_swatch_there_is_nothing_to_compare_with() -> None:
    """The pattern's gauge is another hand's: it is no swatch."""
    work = Work(sleeve())
    knitted(work, 28)
    assert says(work) == [Say.NO_SWATCH]


def test_a_swatch_in_another_state_cannot_be_compared() -> None:
    """Counted washed only, a piece on the needle tells nothing of the hand."""
    work = Work(sleeve()).swatch(26, Fabric.WASHED, 20)
    knitted(work, 28)
    assert says(work) == [Say.SWATCH_OTHER_STATE]


def test_one_measurement_is_too_early() -> None:
    """It takes two, some centimetres apart."""
    assert says(swatched()) == [Say.HAND_TOO_SOON]
    assert says(swatched().knits(20).measures("7.1")) == [Say.HAND_TOO_SOON]


def test_an_even_hand_is_even_and_nothing_is_said() -> None:
    """Knitted as the swatch, asked it is even; unasked there is no word at all."""
    work = swatched()
    assert knitted(work, 28) == [[]] * 6
    assert says(work) == [Say.HAND_EVEN]


def test_a_tight_hand_gets_one_word() -> None:
    """Ten per cent tighter: said once, after a measurement, with the row where it began."""
    work = swatched()
    knitted(work, 28, looks=3)
    words = [one for one in knitted(work, 31, looks=8) if one]
    (word,) = words
    assert [one.say for one in word] == [Say.HAND_TIGHTER, Say.FINISHED_WIDE, Say.HAND_LOOK]
    since, percent = word[0].value("row"), word[0].value("percent")
    assert isinstance(since, int)
    assert isinstance(percent, int)
    assert 29 <= since <= 71
    assert 5 <= percent <= 12
    width = word[1].value("length")
    assert isinstance(width, Length)
    assert 22 <= width.cm < 25
    assert says(work)[0] is Say.HAND_TIGHTER


def test_a_loose_hand_is_told_without_counted_stitches() -> None:
    """Where only rows were swatched the hand is known, but not what the width will be."""
    work = swatched(None)
    knitted(work, 28, looks=2)
    word = next(one for one in knitted(work, 25, looks=8) if one)
    assert [one.say for one in word] == [Say.HAND_LOOSER, Say.HAND_LOOK]


def test_a_piece_of_fixed_rows_is_told_what_it_will_measure() -> None:
    """Where the pattern says the rows, a loose hand makes the piece longer than it was meant."""
    work = swatched(None)
    knitted(work, 25, looks=7)
    work.happens(events.LoopEnded("body", work.state.done))
    found = report(work.state, work.course)
    assert found is not None
    assert found.length_cm is not None
    assert 40 < found.length_cm < 41


def test_a_little_drift_is_no_news_until_asked() -> None:
    """Three per cent are never said unasked."""
    work = swatched()
    assert not any(knitted(work, 28.9, looks=8))
    assert says(work)[0] in {Say.HAND_EVEN, Say.HAND_LITTLE_TIGHTER}


def test_rib_is_not_held_against_a_stockinette_swatch() -> None:
    """Lengths measured in the rib are left out, however short its rows are."""
    work = swatched().knits(2).measures("0.6").knits(4).measures("1.2")
    found = report(work.state, work.course)
    assert found is None


def test_another_needle_begins_another_comparison() -> None:
    """What was knitted on the old needle says nothing of the hand on the new one."""
    work = swatched()
    knitted(work, 32, looks=6)
    assert says(work)[0] is Say.HAND_TIGHTER
    work.says(commands.ChangeNeedle(text="5"))
    knitted(work, 28, looks=4)
    assert says(work) == [Say.HAND_EVEN]


def test_notes_stand_beside_the_curve() -> None:
    """A row that felt tight is shown at the look it belongs to."""
    work = swatched()
    knitted(work, 28, looks=2)
    work.says(commands.HandFelt(Feel.TIGHT))
    knitted(work, 28, looks=2)
    found = report(work.state, work.course)
    assert found is not None
    assert [point.notes for point in found.points if point.notes] == [("tight",)]


def test_the_word_comes_with_the_answer_to_a_measurement() -> None:
    """Through the answer itself: the length is read back, then the word, once."""
    work = swatched()
    said: list[Say] = []
    for look in range(1, 9):
        work.knits(look * 14)
        tenths = round(2 + look * 14 * 100 / 31)
        length = centimetres(Fraction(tenths, 10))
        replies = work.says(commands.Measure(length, Since.CAST_ON, Fabric.ON_NEEDLE))
        assert replies[0].say is Say.MEASURED
        said += [one.say for one in replies[1:]]
    assert said == [Say.HAND_TIGHTER, Say.FINISHED_WIDE, Say.HAND_LOOK]


def test_a_great_difference_that_is_not_sure_is_not_played_down() -> None:
    """From five per cent on "nothing to change" is never the answer: it is to be measured again."""
    work = swatched().knits(20).measures("6.7").knits(34).measures("10.7")
    assert unasked(work.state, work.state, work.course) == ()
    (word,) = asked(work.state, work.course)
    assert word.say is Say.HAND_MAYBE_TIGHTER
    percent = word.value("percent")
    assert isinstance(percent, int)
    assert percent >= 5
