"""For who does not know how to go on: what can be said, where she is, what words mean, notes."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from app import resources
from app.command_line import main
from app.display.board_view import board_view
from app.display.screen_words import ScreenWording, read_texts
from app.language import phrase_book
from app.session.can_say import sentences
from app.session.controls import read_controls
from app.wording import reply_wording
from engine.commands import HoldNeedles, Lost, Meaning, ReadNotes, Term, WhatNext
from engine.replies import Say, Tone
from engine.talk import Help
from speech.words.phrases import Way
from speech.words.understand import understand, understand_heard
from tests.app.at_the_needle import Needle

if TYPE_CHECKING:
    from pathlib import Path

WORDS = reply_wording()


def window_words() -> ScreenWording:
    """Return the words that the window shows."""
    texts = read_texts(resources.text("shared/window/words.toml"))
    return ScreenWording(texts, WORDS.written, WORDS.rows.say, WORDS.showing)


def written(needle: Needle) -> list[str]:
    """Return what the board writes of the last answer."""
    return [WORDS.written(one) for one in needle.replies]


def said(needle: Needle) -> str:
    """Return what the voice says of the last answer."""
    return WORDS.said_aloud(needle.replies)


UNCOUNTED = """title = "Trust"
cast_on = 54
rows = ["Row 1: fluffle the wumpets", "Row 2: p to end", "Row 3: k to end"]
"""
MOMENTS = {
    "begun": ("mug-sleeve", []),
    "knitting": ("mug-sleeve", ["row done"]),
    "to_a_measure": ("mug-sleeve", ["6 rows done"]),
    "finished": ("mug-sleeve", ["row done", "finished", "yes"]),
    "showing": ("mug-sleeve", ["row done", "how do i do that"]),
    "asked": ("mug-sleeve", ["8 rows done", "ripped back five rows"]),
    "asked_after": ("mug-sleeve", ["row done", "stopping in this row"]),
    "asked_count": (UNCOUNTED, ["row done"]),
    "asked_how": ("mug-sleeve", ["20 rows done", "measure 6 cm", "no"]),
}


@pytest.mark.parametrize("moment", [*MOMENTS])
def test_five_sentences_that_make_sense_now(moment: str) -> None:
    """Asked what can be said, five sentences come that fit the moment, and where the rest is."""
    pattern, before = MOMENTS[moment]
    needle = Needle(pattern).say(*before, "what can i say now")
    offered = [str(one.value("words")) for one in needle.replies if one.say is Say.CAN_SAY]
    assert offered == [words for words, _ in sentences()[moment]]
    assert len(offered) == 5
    assert any(one.say is Say.CAN_SAY_MORE for one in needle.replies)
    for words in offered:
        fresh = Needle(pattern).say(*before)
        fresh.say(words)
        answers = [one for one in fresh.replies if not one.say.startswith("ask_")]
        assert all(one.tone is not Tone.NOT_HEARD for one in answers), words


def test_a_question_stands_after_help() -> None:
    """Who asks what can be said while a question stands hears it again, last."""
    needle = Needle("mug-sleeve").say("8 rows done", "ripped back five rows", "what can i say now")
    assert needle.replies[-1].say is Say.ASK_ROWS_DONE
    assert needle.say("yes").talk.state.done == 3


@pytest.mark.parametrize("words", [words for now in sentences().values() for words, _ in now])
def test_every_sentence_that_is_offered_can_be_spoken(words: str) -> None:
    """Nothing is offered that only a keyboard can say."""
    assert understand_heard(words, phrase_book(), asked=True)


@pytest.mark.parametrize(
    ("words", "meant"),
    [
        ("what do i do now", WhatNext()),
        ("i am lost", Lost()),
        ("how do i hold the needles", HoldNeedles()),
        ("what does wrong side mean", Meaning(Term.WRONG_SIDE)),
        ("what does gauge mean", Meaning(Term.GAUGE)),
        ("read my notes", ReadNotes()),
        ("what can i say now", Help()),
    ],
)
def test_it_is_understood_by_voice(words: str, meant: object) -> None:
    """Each can be spoken at any time, and typed."""
    assert understand_heard(words, phrase_book()) == (meant,)
    assert understand(words, phrase_book()) == (meant,)
    ways = {one.way for one in phrase_book().all_forms if isinstance(meant, one.kind)}
    assert Way.SPOKEN in ways


def test_before_the_first_row_the_first_steps_are_told() -> None:
    """What to do now, and being lost, lead to the cast-on and the first row."""
    for words in ("what do i do now", "i am lost"):
        needle = Needle("mug-sleeve").say(words)
        assert said(needle).startswith("Cast on fifty. Then: ")


def test_who_is_lost_is_told_where_what_and_how_to_check() -> None:
    """Row and side, what is worked there, and what to do where the fabric says otherwise."""
    needle = Needle("mug-sleeve").say("5 rows done", "i am lost")
    first, second, third = written(needle)
    assert first == "Working 6, wrong side."
    assert second.startswith("K1, p to last")
    assert "really on row" in third


def test_who_is_lost_after_the_end_is_told_so() -> None:
    """A piece that is finished has no row to be in."""
    needle = Needle("mug-sleeve").say("row done", "finished", "yes", "i am lost")
    assert [one.say for one in needle.replies] == [Say.ALL_DONE]


@pytest.mark.parametrize("term", Term)
def test_a_word_is_explained_in_short_sentences(term: Term) -> None:
    """Every word that can be asked for has a meaning of at most two short sentences."""
    needle = Needle("mug-sleeve")
    needle.hear((Meaning(term),))
    explained = said(needle)
    assert explained.count(".") <= 2
    assert all(len(sentence.split()) <= 17 for sentence in explained.split("."))
    assert needle.talk.records[-1].event.kind != "row_noted"


def test_how_needles_are_held_is_told_without_a_claim() -> None:
    """Both hands, the yarn and looseness are named, and rest where it hurts; no promise."""
    needle = Needle("mug-sleeve").say("how do i hold the needles")
    (words,) = written(needle)
    assert "left-handed" in words
    assert "rest if it hurts" in words
    assert "safe" not in words


def test_notes_are_read_back_newest_first() -> None:
    """What was noted is read with its row, whatever kind of note it is."""
    needle = Needle("mug-sleeve").say("read my notes")
    assert [one.say for one in needle.replies] == [Say.NO_NOTES]
    needle.say("5 rows done", "note too tight here", "note this row", "dropped stitch")
    needle.say("mistake crossed wrong", "read my notes")
    assert said(needle) == (
        "Row five: mistake, crossed wrong. Row six: a dropped stitch. "
        "Row five: marked. Row five: too tight here."
    )


def test_many_notes_are_not_read_out_all() -> None:
    """The last five are read, and where the others are is said."""
    needle = Needle("mug-sleeve").say("row done", *[f"note number {at}" for at in range(8)])
    needle.say("read my notes")
    assert [one.say for one in needle.replies] == [*[Say.NOTE_SAYS] * 5, Say.MORE_NOTES]
    assert str(needle.replies[0].value("words")) == "number 7"
    assert needle.replies[-1].value("count") == 3


def test_asking_changes_nothing() -> None:
    """None of the answers is recorded, and a question that stood is asked again behind them."""
    for words in (
        "i am lost",
        "how do i hold the needles",
        "what does gauge mean",
        "read my notes",
    ):
        needle = Needle("mug-sleeve").say("8 rows done", "ripped back five rows")
        records = needle.talk.records
        needle.hear(understand(words, phrase_book()))
        assert needle.talk.records == records
        assert needle.replies[-1].say is Say.ASK_ROWS_DONE


def test_what_is_read_stands_large_where_the_row_was() -> None:
    """In the window the five sentences are lines in place of the row, until the next word."""
    needle = Needle("mug-sleeve").say("row done", "what can i say now")
    words, controls = window_words(), read_controls(resources.text("shared/window/controls.toml"))
    (lines,) = board_view(needle.situation(), words, controls).bits
    assert len(lines.splitlines()) == 7
    assert "Take that back: undoes what was said last." in lines
    after = board_view(needle.say("which row now").situation(), words, controls)
    assert "Take that back" not in " ".join(after.bits)


def test_the_terminal_lists_them_a_line_each(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Typed in the terminal, help is five lines in plain words and where the rest is."""
    journal, typed = tmp_path / "j.walesong", tmp_path / "words.txt"
    typed.write_text("what can i say now\n", encoding="utf-8")
    assert main(["knit", "--typed", str(typed), "--journal", str(journal)]) == 0
    out = capsys.readouterr().out
    assert "          Row done: when your first row is done.\n" in out
    assert out.count("{") == 0
    assert len(out.splitlines()) < 30


def test_any_row_is_read_by_its_number() -> None:
    """Read row twelve: behind, ahead, beyond the end; an open part promises nothing."""
    needle = Needle("bottle-sleeve").say("6 rows done", "read row 2")
    assert said(needle).startswith("Two, wrong side: repeat: purl two, knit two")
    needle.say("read row 30")
    assert said(needle).endswith("if this part still goes on then.")
    needle.say("40 rows done", "this part is done", "read row 900")
    assert written(needle) == ["The piece ends before 900."]
    cap = Needle("crew-cap", "M").say("read round 1")
    assert said(cap).startswith("One, in the round: repeat: knit two, purl two")
