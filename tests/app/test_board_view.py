"""What the board shows: made from real pieces, without a window."""

from __future__ import annotations

from functools import cache

import pytest

from app import resources
from app.display.board_values import BoardView, Mood
from app.display.board_view import board_view
from app.display.screen_words import ScreenWording, read_texts
from app.session.controls import read_controls
from app.session.situation import Ear, HeardLine
from app.wording import reply_wording
from engine.commands import COMMANDS
from engine.facts.distance import distance
from engine.forecast.values import RowsLeft
from engine.replies import Say, Tone, reply
from tests.app.at_the_needle import Needle

CONTROLS = read_controls(resources.text("shared/window/controls.toml"))


@cache
def words() -> ScreenWording:
    """Return the words that come with Walesong."""
    texts = read_texts(resources.text("shared/window/words.toml"))
    spoken = reply_wording()
    return ScreenWording(texts, spoken.written, spoken.rows.say, spoken.showing)


def shown(needle: Needle, **circumstances: object) -> BoardView:
    """Return what the board shows of a piece."""
    return board_view(needle.situation(**circumstances), words(), CONTROLS)


def test_never_a_bare_row_number() -> None:
    """The board says which row is being worked, on which side, and how many are done."""
    view = shown(Needle("bottle-sleeve").say("17 rows done"))
    assert view.sentence == "Working 18, wrong side; 17 done"
    assert view.number == "18"
    assert view.arrow == "\N{RIGHTWARDS ARROW}"


def test_in_the_round_there_is_no_wrong_side() -> None:
    """In the round the board says round, and the work always runs to the left."""
    view = shown(Needle("crew-cap", "S").say("3 rounds done"))
    assert view.sentence == "Working 4, round; 3 done"
    assert view.arrow == "\N{LEFTWARDS ARROW}"


def test_the_first_row() -> None:
    """Before the first row is done, the board does not pretend that any is."""
    assert shown(Needle()).sentence == "Working 1, right side; none done yet"


def test_the_step_is_in_full_words() -> None:
    """The row to be worked stands in words, without an abbreviation."""
    view = shown(Needle("bottle-sleeve").say("5 rows done"))
    assert view.bits == ("knit one, purl to the last stitch, knit one",)
    assert view.bit == -1


def test_bits_between_markers_are_told_apart() -> None:
    """In a row with markers, the bit that is worked now is marked; next bit moves on."""
    text = """
title = "Strip"
id = "strip"
cast_on = 10
[[section]]
id = "body"
title = "Body"
rows = [
  "Row 1 (RS): k3, pm, k4, pm, k3",
  "Row 2 (WS): p3, sm, p4, sm, p3",
  "Rep rows 1 and 2 5 times more",
]
"""
    needle = Needle(text).say("row done")
    view = shown(needle)
    assert len(view.bits) == 3
    assert view.bit == 0
    needle.say("next bit")
    after = shown(needle)
    assert after.bit == 1
    assert after.fabric is not None
    assert (after.fabric.worked, after.fabric.bit_first, after.fabric.bit_count) == (3, 3, 4)


def test_a_count_that_is_due_is_asked_for() -> None:
    """When the stitches are to be counted, the board asks for it, with what they should be."""
    needle = Needle("bottle-sleeve")
    rows = 0
    while not any(one.say is Say.COUNT_PLEASE for one in needle.replies):
        needle.say("row done")
        rows += 1
        assert rows < 40
    due = [note for note in shown(needle).notes if note.due]
    assert [note.words for note in due] == ["Count now: 54 stitches"]
    needle.say("i count 54 stitches")
    assert not [note for note in shown(needle).notes if note.due]


def test_the_tape_shows_what_was_measured_and_what_is_left() -> None:
    """The tape has the target, the length read last, and between which lengths the piece is now."""
    needle = Needle("bottle-sleeve").say("16 rows done", "measure 6 cm", "4 rows done")
    tape = shown(needle).tape
    assert tape is not None
    assert tape.measured == pytest.approx(6)
    assert tape.target == pytest.approx(16.5)
    assert tape.low is not None
    assert tape.high is not None
    assert 6 < tape.low <= tape.high < 10
    assert tape.end > 16.5
    assert "6 cm after row 16" in tape.words


def test_the_tape_is_in_the_unit_of_the_knitter() -> None:
    """Who measures in inches reads the tape in inches, with fraction signs."""
    needle = Needle("bottle-sleeve").say("16 rows done", "measure 2 3/8 inches")
    tape = shown(needle).tape
    assert tape is not None
    assert tape.unit == "in"
    assert tape.measured == pytest.approx(2.375)
    assert "2⅜ in" in tape.words
    assert tape.target == pytest.approx(16.5 / 2.54)
    assert "6½ in" in tape.words, "16.5 cm are not 6 63/127 in to anybody"


def test_without_a_target_there_is_no_tape() -> None:
    """A piece that is only counted has no tape until something is measured."""
    text = """
title = "Strip"
id = "strip"
cast_on = 10
[[section]]
id = "body"
title = "Body"
rows = ["Knit 20 rows"]
"""
    assert shown(Needle(text).say("row done")).tape is None


def test_a_question_stands_with_its_words() -> None:
    """An open question is shown in words; yes and no answer it."""
    needle = Needle("bottle-sleeve").say("20 rows done", "i'm really on row 18")
    view = shown(needle)
    assert "18" in view.question
    assert view.question_control is None


def test_a_question_for_a_number_brings_its_control() -> None:
    """Stopping in a row asks after how many stitches, which the number pad answers."""
    needle = Needle("bottle-sleeve").say("row done", "stopping in this row")
    control = shown(needle).question_control
    assert control is not None
    assert control.kind is COMMANDS["stop_in_row"]
    assert control.field == "after"


def test_what_was_refused_is_said_with_its_reason() -> None:
    """Words that were not obeyed are shown with the reason, and marked as refused."""
    view = shown(Needle(), heard=HeardLine("shall we have tea", accepted=False, why="Not for me."))
    assert view.heard == "shall we have tea"
    assert view.answer == "Not for me."
    assert view.mood is Mood.REFUSED


def test_a_refusal_of_the_engine_is_one_too() -> None:
    """A command that makes no sense now is answered in the colour of a refusal."""
    view = shown(Needle().say("put that back"))
    assert view.mood is Mood.REFUSED
    assert view.answer


def test_an_answer_is_in_words() -> None:
    """The answer to a command stands on the board, not only in the voice."""
    view = shown(Needle("bottle-sleeve").say("3 rows done"))
    assert "3" in view.answer
    assert view.mood is Mood.GOOD


@pytest.mark.parametrize("ear", Ear)
def test_every_state_of_the_ear_has_words(ear: Ear) -> None:
    """Whatever the listening does is said in words; only a lost microphone alarms."""
    view = shown(Needle(), ear=ear)
    assert view.ear_words
    assert view.ear_alarms == (ear is Ear.LOST)


def test_stopping_in_a_row_shows_the_stitches_on_the_needle() -> None:
    """After stopping in a row, the board says how many stitches are on the right needle."""
    view = shown(Needle("mug-sleeve").say("row done", "stopping after 23 stitches"))
    assert view.done_words == "23 on the right needle"


def test_a_finished_piece_says_so() -> None:
    """After the last row there is nothing to work, and the board says that all is done."""
    needle = Needle("mug-sleeve").say("this piece is finished")
    if needle.talk.question is not None:
        needle.say("yes")
    view = shown(needle)
    assert view.state_word == "All done"
    assert view.bits == ()
    assert view.sentence.startswith("All done")


def test_shaping_is_announced_before_its_row() -> None:
    """The next row that decreases is named while the one before it is worked."""
    needle = Needle("crew-cap", "S")
    needle.say("12 rounds done", "this part is done", "20 rounds done", "this part is done")
    needle.say("1 round done")
    notes = [note.words for note in shown(needle).notes]
    assert any("decrease" in note and "35" in note for note in notes), notes


def test_a_change_is_named_by_what_it_does() -> None:
    """A row that decreases is called a decrease when it is the one being worked."""
    needle = Needle("crew-cap", "S")
    needle.say("12 rounds done", "this part is done", "20 rounds done", "this part is done")
    notes = [note.words for note in shown(needle).notes]
    assert "This round: decrease" in notes


def test_every_reply_can_be_shown() -> None:
    """The tones of a reply decide its mood: a refusal is never shown as a success."""
    refused = reply(Say.NOTHING_TO_TAKE_BACK, Tone.NOT_HEARD)
    assert shown(Needle(), replies=(refused,)).mood is Mood.REFUSED
    assert shown(Needle(), replies=()).mood is Mood.PLAIN


def test_the_tape_has_a_band_while_the_rows_left_are_not_sure() -> None:
    """Rows since the last measure are a stretch of tape, as wide as the forecast; then a point."""
    needle = Needle("bottle-sleeve").say("16 rows done", "measure 6 cm")
    read = shown(needle).tape
    assert read is not None
    assert read.low == read.high == read.measured
    tape = shown(needle.say("10 rows done")).tape
    assert tape is not None
    assert tape.measured is not None
    assert tape.low is not None
    assert tape.high is not None
    ahead = distance(needle.talk.state, needle.talk.course)
    assert isinstance(ahead, RowsLeft)
    assert ahead.low < ahead.high
    share = [10 / (10 + rows) for rows in (ahead.high, ahead.low)]
    assert (tape.low, tape.high) == pytest.approx([6 + (16.5 - 6) * one for one in share])
    assert tape.measured < tape.low < tape.high < 16.5


def test_rounds_are_rounds() -> None:
    """On a cap in the round board and tape say rounds, never rows."""
    view = shown(Needle("crew-cap").say("5 rows done", "measure 2 cm", "2 rows done"))
    written = " ".join([*(one.words for one in view.notes), view.tape.words if view.tape else ""])
    assert "round" in written.casefold()
    assert "row" not in written.casefold().split()
    assert "rows" not in written.casefold().split()
