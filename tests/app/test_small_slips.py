"""What a clumsy user found: accepted without a question, or said wrongly, or not said."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from app import resources
from app.command_line import main
from app.language import phrase_book
from app.pieces.casting_on import new_piece
from app.pieces.values import NewPiece
from app.session.clock import SetClock
from app.session.conversation import Conversation
from app.session.opening import open_piece
from app.terminal.mend_command import _report
from app.wording import reply_wording
from engine.commands import RowsDone, Source
from engine.journal.memory import MemoryJournal
from engine.journal.salvage import Mended
from engine.quantities import centimetres
from speech.words.understand import understand
from tests.app.at_the_needle import Needle

if TYPE_CHECKING:
    from pathlib import Path

WORDS = reply_wording()


def asked(needle: Needle) -> str:
    """Return the question that stands, in words; "" for none."""
    question = needle.talk.question
    return WORDS.written(question.asks) if question is not None else ""


@pytest.mark.parametrize(
    ("pattern", "width", "doubted"),
    [
        # 54 stitches at 20 to 10 cm are 27 cm.
        ("bottle-sleeve", "60 cm", True),
        ("bottle-sleeve", "12 cm", True),
        ("bottle-sleeve", "26 cm", False),
        ("bottle-sleeve", "24 cm", False),
        # 88 stitches are 44 cm around, 22 cm as the cap lies flat.
        ("crew-cap", "44 cm", False),
        ("crew-cap", "22 cm", False),
        ("crew-cap", "90 cm", True),
    ],
)
def test_a_width_that_the_stitches_cannot_have_is_asked(
    pattern: str, width: str, *, doubted: bool
) -> None:
    """Too wide or too narrow by half is read back before it counts; in the round flat is right."""
    needle = Needle(pattern, "S" if pattern == "crew-cap" else None).say("8 rows done")
    needle.say(f"measure {width} wide")
    assert bool(asked(needle)) is doubted
    assert bool(needle.talk.state.widths) is not doubted


def test_a_needle_that_is_none_is_asked() -> None:
    """A banana is no needle; US 7, 4 mm and the bamboo ones are."""
    needle = Needle("mug-sleeve").say("2 rows done", "needle banana")
    assert asked(needle) == "A needle called banana?"
    assert not needle.talk.state.needles
    needle.say("yes")
    assert [one.needle for one in needle.talk.state.needles] == ["banana"]
    for name in ("needle US 7", "needle 4 mm", "needle bamboo circular"):
        known = Needle("mug-sleeve").say("2 rows done", name)
        assert asked(known) == "", name
        assert known.talk.state.needles, name


def test_another_length_at_the_same_row_is_asked() -> None:
    """13.2 cm and then 12 cm after the same row cannot both be; half a centimetre is a ruler's."""
    needle = Needle("bottle-sleeve").say("37 rows done", "measure 13.2 cm", "yes", "measure 12 cm")
    assert "12 cm" in asked(needle)
    assert len(needle.talk.state.lengths) == 1
    close = Needle("bottle-sleeve").say("37 rows done", "measure 13.2 cm", "yes")
    close.say("measure 12.8 cm")
    assert len(close.talk.state.lengths) == 2


def test_joining_in_the_round_is_said_at_the_cast_on() -> None:
    """A cap is joined without a twist; a flat sleeve is not joined; later nothing is said of it."""
    cap, flat = Needle("crew-cap", "M"), Needle("mug-sleeve")
    told = " ".join(WORDS.written(one) for one in cap.talk.greet())
    assert "do not twist" in told
    assert "twist" not in " ".join(WORDS.written(one) for one in flat.talk.greet())
    later = cap.say("round done").talk.greet()
    assert "twist" not in " ".join(WORDS.written(one) for one in later)


def test_a_changed_pattern_of_another_count_says_so(tmp_path: Path) -> None:
    """Twenty stitches are on the needle, the new text wants thirty: one sentence, once."""
    path = tmp_path / "journal.walesong"
    rows = '["Knit 4 rows", "Knit 4 rows"]'

    def told(cast_on: int, *, change: bool) -> str:
        new = new_piece(f'title = "Strip"\ncast_on = {cast_on}\nrows = {rows}', None)
        assert isinstance(new, NewPiece)
        talk = open_piece(path, SetClock(), new, fresh=False, source=Source.KEY, change=change)
        if not change:
            talk.hear([RowsDone(2)], Source.KEY)
        said = " ".join(WORDS.written(one) for one in talk.greet())
        talk.close()
        return said

    assert "wants" not in told(20, change=False)
    assert "wants 30 stitches before 3; 20 are on the needle." in told(30, change=True)
    assert "wants" not in told(30, change=True), "said once"


def test_undo_twice_takes_back_two_and_redo_is_its_own_word() -> None:
    """Undo never puts back: again and again it goes further back; only redo goes forward."""
    needle = Needle("mug-sleeve").say("row done", "row done", "row done")
    needle.say("undo", "undo")
    assert needle.talk.state.done == 1
    needle.say("redo")
    assert needle.talk.state.done == 2
    needle.say("undo", "undo")
    assert needle.talk.state.done == 0


def test_balls_in_hand_without_a_band_are_answered(capsys: pytest.CaptureFixture[str]) -> None:
    """Nobody can tell whether one ball is enough without knowing what is in it."""
    size = ["--swatch", "20x28", "--width", "24 cm", "--length", "8 cm"]
    assert main(["plan", *size, "--have", "1"]) == 2
    assert "give the band of the --ball" in capsys.readouterr().err


def test_one_is_one(tmp_path: Path) -> None:
    """A journal with one record that is left says 1 record."""
    journal = tmp_path / "a.walesong"
    told = _report(journal, Mended(saved=1, kept=journal, aside=(), missing=()))
    assert "with 1 record." in told
    assert "with 2 records." in _report(
        journal, Mended(saved=2, kept=journal, aside=(), missing=())
    )


def test_a_planned_piece_says_that_it_is_long_enough() -> None:
    """Eight centimetres were planned, without a washed swatch: at eight it says so, before not."""
    new = NewPiece(name="Planned", project="Planned", cast_on=54, target=centimetres(8))
    talk = Conversation.begin(MemoryJournal(), new, SetClock())

    def told(words: str) -> str:
        meant = understand(words, phrase_book())
        return " ".join(WORDS.written(one) for one in talk.hear(meant, Source.TYPED).replies)

    told("20 rows done")
    told("measure 7 cm")
    assert "Long enough" not in told("yes")
    told("4 rows done")
    assert "Long enough" in told("measure 8 cm")


def test_the_second_one_of_unrelated_pieces_is_asked_about() -> None:
    """No pair is on the needles: it asks whether piece two is meant, and goes there at a yes."""
    needle = Needle("mug-sleeve").say("row done")
    other = new_piece(resources.text("shared/patterns/crew-cap.toml"), "M")
    assert isinstance(other, NewPiece)
    clock = needle.talk._clock
    assert isinstance(clock, SetClock)
    clock.date = "2031-01-10T18:00:00Z"  # a day later: the cap is the second of all
    cap = needle.talk.cast_on(other, Source.KEY)
    number = next(one.number for one in needle.talk.pieces() if one.id == cap.piece)
    needle.say(f"switch to the {('first', 'second')[number - 1]} one")
    assert "Crew cap" in asked(needle)
    outcome = needle.talk.hear(understand("yes", phrase_book()), Source.TYPED)
    assert outcome.going == cap.piece
