"""What the story says beside its drawings, without a window: signs, sentences, hours."""

from __future__ import annotations

import pytest

from app import resources
from app.display.screen_words import ScreenWording, read_texts
from app.display.story_signs import hand_signs, lengths_told, story_signs, yarn_signs
from app.drawings.story import hand_curve, hours_curve, story_of, yarn_curve
from app.wording import reply_wording
from engine.forecast.pace import RowStamp
from tests.app.at_the_needle import Needle

WORDS = ScreenWording(
    read_texts(resources.text("shared/window/words.toml")),
    lambda reply: reply_wording().written(reply),
    reply_wording().rows.say,
    lambda move: reply_wording().showing(move),
)


def test_every_sign_that_is_drawn_says_what_it_means() -> None:
    """Target, rows, last length, what was ripped back, notes: each in words; nothing else."""
    needle = Needle("bottle-sleeve").say("16 rows done", "measure 6 cm", "4 rows done")
    needle.say("note this row")
    now = needle.situation()
    story = story_of(now.state, now.course)
    signs = story_signs(story, WORDS)
    assert signs.goal == "long enough: 16.5 cm"
    assert signs.done == "row 20 is done"
    assert signs.last == "measured 6 cm"
    assert story.cone is not None
    assert signs.cone == f"long enough in rows {story.cone[0]} to {story.cone[1]}"
    assert signs.noted == "a note, told below"
    assert (signs.aside, signs.tight, signs.loose) == ("", "", "")
    empty = Needle("bottle-sleeve").situation()
    none = story_signs(story_of(empty.state, empty.course), WORDS)
    assert (none.goal, none.done, none.last, none.noted) == ("long enough: 18 cm", "", "", "")


def test_lengths_are_told_in_words_and_rounds_are_rounds() -> None:
    """Who reads no chart hears what was measured and when; a cap is told in rounds."""
    needle = Needle("bottle-sleeve").say("8 rows done", "measure 3 cm", "8 rows done")
    now = needle.say("measure 6 cm").situation()
    story = story_of(now.state, now.course)
    assert lengths_told(story, WORDS, last=True) == (
        "It measured 3 cm after row 8, 6 cm after row 16."
    )
    assert lengths_told(story, WORDS, last=False) == "Before that: 3 cm after row 8."
    cap = Needle("crew-cap", "M").say("8 rounds done", "measure 3 cm").situation()
    told = lengths_told(story_of(cap.state, cap.course), WORDS.in_rounds(), last=True)
    assert told == "It measured 3 cm after round 8."


def test_hand_and_yarn_say_what_is_marked() -> None:
    """A row that felt tight is named so; a weight has its grams."""
    needle = Needle("bottle-sleeve").say("4 rows done", "that felt tight", "yarn weighs 40 g")
    now = needle.situation()
    hand, yarn = hand_curve(now.state, now.course), yarn_curve(now.state, now.course)
    assert hand is not None
    assert yarn is not None
    assert hand_signs(hand, WORDS).tight == "felt tight"
    assert hand_signs(hand, WORDS).loose == ""
    assert yarn_signs(yarn, WORDS).last == "40 g weighed"


def test_hours_are_knitting_time_and_a_night_is_none() -> None:
    """Ten rows of two minutes, a night, five more: 30 minutes, not ten hours."""
    rows = [RowStamp(row, 120.0 * row, "a") for row in range(1, 11)]
    night = 120.0 * 10 + 9 * 3600
    rows += [RowStamp(10 + row, night + 120.0 * row, "a") for row in range(1, 6)]
    found = hours_curve(rows, 15)
    assert found is not None
    curve, unit = found
    assert unit == "min"
    row, spent = curve.points[-1]
    assert row == 15
    # 15 rows of 2 min, and at most two rows' time more for the pause that was a night.
    assert 30 <= spent <= 34 + 1e-9
    assert [value for _, value in curve.points] == sorted(value for _, value in curve.points)


def test_hours_count_each_row_once_and_say_nothing_of_nothing() -> None:
    """A row that was taken back and told again is not knitted twice; no telling, no hours."""
    rows = [RowStamp(row, 60.0 * row, "a") for row in (1, 2, 3, 4, 5, 4, 5, 6)]
    again = [RowStamp(one.row, 60.0 * (at + 1), "a") for at, one in enumerate(rows)]
    found = hours_curve(again, 6)
    assert found is not None
    assert found[0].points[-1][1] == pytest.approx(6.0, abs=2.0)
    assert hours_curve([], 0) is None
