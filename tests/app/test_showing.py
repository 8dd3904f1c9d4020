"""How do I do that? One sentence at a time, on the board and aloud, and nothing of it is kept."""

from __future__ import annotations

import re
from functools import cache

import pytest

from app import resources
from app.display.board_view import board_view
from app.display.screen_words import ScreenWording, read_texts
from app.drawings.characters import stitch_rows
from app.drawings.fabric import Seen
from app.drawings.shown import stitch_drawn
from app.session.controls import read_controls
from app.wording import reply_wording
from engine.commands import Technique
from engine.replies import Say
from engine.show_how import shown
from speech.words.level import Level
from tests.app.at_the_needle import Needle

CONTROLS = read_controls(resources.text("shared/window/controls.toml"))


@cache
def words() -> ScreenWording:
    """Return the words of the window."""
    spoken = reply_wording()
    texts = read_texts(resources.text("shared/window/words.toml"))
    return ScreenWording(texts, spoken.written, spoken.rows.say, spoken.showing)


def said(needle: Needle) -> str:
    """Return what is answered aloud."""
    return reply_wording().said_aloud(needle.replies)


def test_the_step_that_comes_next_is_told_move_by_move() -> None:
    """Each "next bit" tells one move, until it is all told; then bits of the row go on."""
    needle = Needle().say("5 rows done", "how do i do that")
    told = [said(needle)]
    for _ in range(30):
        needle.say("next bit")
        told.append(said(needle))
        if needle.replies[0].say is Say.HOW_DONE:
            break
    first_words = [re.split(r"[:.]", words)[0] for words in told]
    assert first_words[:6] == [
        "Knit one",
        "In",
        "Round",
        "Through",
        "Off",
        "Purl to the last stitch",
    ]
    assert told[0].endswith("to the back, between the needles.")
    assert told[-1] == "That is all of it."
    needle.say("next bit")
    assert needle.replies[0].say is Say.ROW_IN_ONE


def test_going_back_a_bit_and_again_repeat_a_move() -> None:
    """She hears a sentence again, or the one before; before the first there is none."""
    needle = Needle().say("how do i slip slip knit", "next bit", "next bit")
    third = said(needle)
    assert said(needle.say("say it again")) == third
    assert said(needle.say("go back one bit")) != third
    needle.say("go back one bit", "go back one bit", "go back one bit")
    assert said(needle).startswith("Slip slip knit.")


def test_nothing_of_it_is_kept() -> None:
    """Showing how writes no record and moves no bit of the row."""
    needle = Needle().say("3 rows done")
    before = needle.talk.records
    state = needle.talk.state
    needle.say("how do i do that", "next bit", "next bit", "go back one bit", "how do i purl")
    assert needle.talk.records == before
    assert needle.talk.state is state


def test_any_other_command_ends_it() -> None:
    """After a row "next bit" is a bit of the row again."""
    needle = Needle().say("how do i knit", "next bit", "row done", "next bit")
    assert needle.replies[0].say is Say.ROW_IN_ONE


def test_it_begins_where_she_stopped_in_the_row() -> None:
    """After stopping in the row, what comes next and how it is made begin at that stitch."""
    needle = Needle().say("5 rows done", "stopping after 1 stitches", "what comes next")
    assert said(needle) == "Purl to the last stitch, knit one."
    assert said(needle.say("how do i do that")).startswith(
        "Purl to the last stitch. Bring the yarn"
    )


def test_the_board_shows_the_sentence_large_and_the_stitch() -> None:
    """What is shown stands where the row stands, with its stitch drawn and its moves counted."""
    needle = Needle().say("how do i knit two together")
    view = board_view(needle.situation(), words(), CONTROLS)
    assert view.bits[0].startswith("Knit two together. In: push the tip")
    assert view.notes[0].words == "Move 1 of 4"
    assert view.fabric is not None
    assert view.fabric.working is not None
    assert any(len(stitch.out_of) == 2 for stitch in view.fabric.working.stitches)
    assert view.fabric.worked == 3
    needle.say("next bit", "next bit", "next bit")
    last = board_view(needle.situation(), words(), CONTROLS)
    assert last.notes[0].words == "Move 4 of 4"
    assert last.fabric is not None
    assert last.fabric.worked == 4, "made, it lies on the needle"


@pytest.mark.parametrize("technique", list(Technique))
def test_every_technique_is_told_and_drawn(technique: Technique) -> None:
    """In whole words without left and right hand, each as a stitch among plain ones."""
    (item,) = shown(technique).items
    moves = reply_wording().moves(shown(technique))
    assert len(moves) > 1 or technique in {Technique.SLIP, Technique.YARN_OVER}
    assert not re.search(r"\b(left|right) (hand|needle)", " ".join(moves))
    fabric = stitch_drawn(item, made=True)
    assert fabric is not None
    assert fabric.working is not None
    assert len(stitch_rows(item)) == 1 + len(fabric.done)
    if technique is not Technique.BIND_OFF:
        assert fabric.bit_count >= 1
    if technique is Technique.PURL:
        assert fabric.working.stitches[3].seen is Seen.PURL


@pytest.mark.parametrize(
    ("technique", "row"),
    [
        (Technique.SLIP_SLIP_KNIT, "VVV[\\]VVV"),
        (Technique.KNIT_TWO_TOGETHER, "VVV[/]VVV"),
        (Technique.YARN_OVER, "VVV[o]VVV"),
    ],
)
def test_decreases_lean_their_way_in_the_terminal(technique: Technique, row: str) -> None:
    """Slip slip knit leans to the left, knit two together to the right."""
    (item,) = shown(technique).items
    assert stitch_rows(item)[0] == row


def test_a_teacher_has_every_row_told_by_the_hands() -> None:
    """At the hands' level the voice tells the moves of a row, and the board still reads it."""
    needle = Needle().say("5 rows done", "what comes next")
    aloud = reply_wording(Level.HANDS).said_aloud(needle.replies)
    assert aloud.startswith("Knit one. Take the yarn to the back, between the needles. In: push")
    assert aloud.count("Off: let the old stitch slide off") == 2
    assert reply_wording(Level.HANDS).written(needle.replies[0]) == "K1, p to last st, k1."
    assert said(needle) == "Knit one, purl to the last stitch, knit one."
