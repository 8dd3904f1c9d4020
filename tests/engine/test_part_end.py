"""Ending a part "until it measures": what speaks against it, and what is said when it is over."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from app.language import phrase_book
from app.pieces.casting_on import new_piece
from app.pieces.values import NewPiece
from app.session.clock import SetClock
from app.session.conversation import Conversation
from app.wording import reply_wording
from engine.commands import Source, WeighYarn
from engine.journal.memory import MemoryJournal
from engine.quantities import grams
from engine.replies import Say, Thing
from speech.words.understand import understand

if TYPE_CHECKING:
    from engine.replies import Reply

BACK = """
title = "Back"
cast_on = 80
gauge = "20 sts and 28 rows to 10 cm, washed"
rows = [
  "Work 8 rows in k1, p1 rib",
  "Work in st st until piece measures 12 cm, ending with a WS row",
  "BO 5 sts at beg of next 2 rows. 70 sts",
  "Work even until armhole measures 8 cm",
  "BO all sts",
]
"""


class Talk:
    """A talk about a back without named sections."""

    def __init__(self) -> None:
        new = new_piece(BACK, None)
        assert isinstance(new, NewPiece)
        self.talk = Conversation.begin(MemoryJournal(), new, SetClock())

    def says(self, *sentences: str) -> tuple[Reply, ...]:
        """Type sentences; return the last answer."""
        replies: tuple[Reply, ...] = ()
        for words in sentences:
            meant = understand(words, phrase_book())
            assert meant, words
            replies = self.talk.hear(meant, Source.TYPED).replies
        return replies

    def told(self, *sentences: str) -> list[Say]:
        """Type sentences; return what the last answer says."""
        return [one.say for one in self.says(*sentences)]


@pytest.fixture
def back() -> Talk:
    """Return a back of eight rows of rib, measured on the needle from the cast-on."""
    talk = Talk()
    talk.says("8 rows done", "measuring from the cast on", "measure 3 cm")
    return talk


def test_a_part_that_is_rows_too_short_is_asked_about(back: Talk) -> None:
    """Well before the length she is asked; a no changes nothing, a yes ends the part."""
    asked = back.says("12 rows done", "this part is done")
    assert [one.say for one in asked] == [Say.ASK_PART_EARLY]
    low, high = int(str(asked[0].value("low"))), int(str(asked[0].value("high")))
    assert 2 < low <= 14 <= high  # 12 cm at 28 rows to 10 cm are 33.6 rows, 20 are done
    assert back.told("no") == [Say.LEFT_AS_IT_WAS]
    assert back.talk.state.ended == ()
    back.says("this part is done", "yes")
    assert len(back.talk.state.ended) == 1


def test_the_side_that_the_pattern_ends_on_is_noticed(back: Talk) -> None:
    """Long enough after a right-side row: one more is wanted, and then the end is offered."""
    assert back.told("25 rows done", "measure 12 cm") == [Say.MEASURED, Say.LONG_ENOUGH_AFTER]
    assert back.told("this part is done") == [Say.ASK_PART_ENDS]
    assert back.told("no", "row done")[-1] is Say.ASK_PART_DONE
    assert back.told("yes") == [Say.NEXT_IS]
    assert back.talk.state.ended[0][1] == 34


def test_on_the_right_side_the_end_is_offered_at_once(back: Talk) -> None:
    """Long enough after a wrong-side row, and on to the next part it goes."""
    assert back.told("26 rows done", "measure 12 cm") == [Say.MEASURED, Say.ASK_PART_DONE]


def test_a_part_without_a_name_begins_with_its_first_row(back: Talk) -> None:
    """Without a title there is nothing to name, so the row is said; never "Now ."."""
    back.says("26 rows done", "measure 12 cm")
    (said,) = back.says("yes")
    words = reply_wording()
    assert words.spoken(said).startswith("Row thirty five: bind off five")
    assert "Now ." not in words.written(said)


def test_the_armhole_is_measured_from_the_underarm_without_a_marker(back: Talk) -> None:
    """Its first bind-off is known: "from the underarm" needs no marker there."""
    back.says("26 rows done", "measure 12 cm", "yes", "2 rows done")
    assert back.told("how far left")[0] is Say.ROWS_LEFT
    back.says("measuring from the underarm", "10 rows done", "measure 4 cm")
    reading = back.talk.state.lengths[-1]
    assert (reading.row, reading.from_row) == (46, 34)
    (left, *_) = back.says("how far left")
    # 12 rows read 4 cm: 8 cm are about 24 rows, of which 12 are done
    assert int(str(left.value("low"))) <= 12 <= int(str(left.value("high")))


def test_nothing_is_measured_above_a_marker_just_hung_in(back: Talk) -> None:
    """No row has grown since the marker: a length from there is refused with the reason."""
    back.says("marker in here", "measuring from the marker")
    assert back.told("measure 4 cm") == [Say.NO_ROW_SINCE]
    assert len(back.talk.state.lengths) == 1


def test_by_the_reckoning_only_a_part_is_never_called_long_enough(back: Talk) -> None:
    """Past the end of the interval without a ruler: measure, and no "zero rows"."""
    assert back.told("40 rows done", "how far left") == [Say.LONG_BY_NOW]


def test_how_it_was_measured_can_be_told_after_a_no() -> None:
    """The question stands until it is answered: short words are listened for."""
    talk = Talk()
    assert talk.told("8 rows done", "measure 3 cm")[-1] is Say.ASK_HOW_MEASURED
    assert talk.told("no") == [Say.SAY_HOW_MEASURED]
    assert talk.talk.question is not None
    assert talk.told("yes") == [Say.SAY_HOW_MEASURED]
    assert talk.told("from the cast on off the needle") == [Say.MEASURED_SO]
    assert talk.talk.question is None
    assert not talk.talk.state.lengths[0].assumed


@pytest.mark.parametrize(
    ("words", "thing"),
    [
        ("3.5 cm", Thing.MEASUREMENT),
        ("36 cm wide", Thing.MEASUREMENT),
        ("i count 80 stitches", Thing.COUNT),
        ("40 grams left", Thing.WEIGHING),
        ("lifeline in here", Thing.LIFELINE),
        ("marker in here", Thing.MARKER),
        ("joining another ball", Thing.BALL),
        ("changing the needle", Thing.NEEDLE),
        ("note this row", Thing.NOTE),
        ("dropped a stitch", Thing.NOTE),
        ("that felt tight", Thing.FEEL),
        ("swatch 20 sts 28 rows", Thing.SWATCH),
        ("measuring after washing", Thing.HOW_MEASURED),
        ("stopping after 23 stitches", Thing.PLACE_IN_ROW),
    ],
)
def test_taking_back_says_what_was_taken_back(back: Talk, words: str, thing: Thing) -> None:
    """Not a number of rows that never changed, but the thing; put back, it is there again."""
    before = back.talk.state
    back.says(words)
    held = back.talk.state
    (taken,) = back.says("take that back")
    assert (taken.say, taken.value("thing")) == (Say.THING_TAKEN_BACK, thing)
    assert back.talk.state.lengths == before.lengths
    (put,) = back.says("put that back")
    assert (put.say, put.value("thing")) == (Say.THING_PUT_BACK, thing)
    assert back.talk.state.notes == held.notes


def test_taking_back_rows_says_the_rows(back: Talk) -> None:
    """After a row it is the number of rows done that counts."""
    (taken,) = back.says("row done", "take that back")
    assert (taken.say, taken.value("row")) == (Say.TAKEN_BACK, 8)


def test_how_she_measures_is_asked_twice_at_most() -> None:
    """Who goes on without an answer is not asked before every length; the lengths stay assumed."""
    talk = Talk()
    asked = [
        Say.ASK_HOW_MEASURED in talk.told("8 rows done", f"measure {3 * part} cm")
        for part in (1, 2, 3)
    ]
    assert asked == [True, True, False]
    assert [one.assumed for one in talk.talk.state.lengths] == [True, True, True]


def test_yarn_that_grew_is_asked_about(back: Talk) -> None:
    """More yarn than before is a slip or another ball; less, or with a new ball, is just noted."""
    back.says("40 grams left", "4 rows done")
    assert back.told("50 grams left") == [Say.ASK_MASS]
    assert back.told("no", "38 grams left") == [Say.WEIGHED]
    assert back.told("4 rows done", "3 grams left") == [Say.ASK_MASS]  # 35 g in four rows
    assert back.told("no", "36 grams left") == [Say.WEIGHED]
    assert back.told("2 rows done", "joining another ball", "86 grams left") == [Say.WEIGHED]


def test_a_weight_is_corrected_at_the_same_row(back: Talk) -> None:
    """Weighed again before the next row, the first was wrong, however far off."""
    assert back.told("500 grams left", "50 grams left", "52 grams left") == [Say.WEIGHED]


def test_fifteen_or_fifty_grams_is_known_by_what_was_left(back: Talk) -> None:
    """Teens and tens sound alike: yarn does not grow, so fifty is not meant."""
    back.says("20 grams left", "4 rows done")
    meant = [WeighYarn(grams(50)), WeighYarn(grams(15))]
    assert back.talk.hear(meant, Source.VOICE).command == WeighYarn(grams(15))


def test_a_recount_leaves_the_lifeline_in(back: Talk) -> None:
    """Fewer rows were counted, none were ripped: the lifeline is still in the fabric."""
    back.says("lifeline in here", "i'm really on row 7", "yes")
    assert [one.row for one in back.talk.state.lifelines] == [6]
    back.says("ripped back two rows", "yes")
    assert back.talk.state.lifelines == ()
