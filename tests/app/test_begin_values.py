"""What the page to begin shows, without a window: cards, needs, plan, pictures, finishing."""

from __future__ import annotations

from fractions import Fraction

import pytest

from app import resources
from app.display.finished_view import finished_view
from app.display.first_look import PICTURES, WAYS, picture
from app.display.needs import time_words
from app.display.plan_outline import changed_by, one_step, outline_of_plan
from app.drawings.emblems import EMBLEMS
from app.drawings.piece import fabric_of
from app.pieces.pattern_cache import document_of
from app.pieces.values import NewPiece
from app.printing.shelf_card import card_of, said_for
from app.session.clock import SetClock
from app.session.conversation import Conversation
from app.session.draft import Draft, sums_of
from app.session.finishing import _parted
from engine.commands import RowsDone, Source
from engine.journal.memory import MemoryJournal
from engine.pattern import PatternDocument
from engine.quantities import Length, LengthUnit, centimetres
from tests.app.at_the_needle import Needle
from tests.app.test_board_view import shown, words

MUG = resources.text("shared/patterns/mug-sleeve.toml")
CAP = resources.text("shared/patterns/crew-cap.toml")


def test_the_card_of_a_sleeve() -> None:
    """Fifty stitches at 20 to 10 cm are 25 cm, its length is the pattern's; under an hour or so."""
    card = card_of(MUG, None)
    assert (card.width, card.height) == (centimetres(25), centimetres(8))
    assert {x for x, _ in card.outline} == {0.0, 25.0}
    assert max(y for _, y in card.outline) == pytest.approx(8.0, abs=0.3)
    assert card.rows == 23
    assert card.minutes is not None
    assert 50 <= card.minutes <= 70  # 22 rows of 50 stitches: 55 minutes by the trade
    assert card.fabric is not None
    assert len(card.fabric.done[0].stitches) == 50


def test_the_card_of_a_cap_is_of_one_size() -> None:
    """Half of 44 cm around lies flat in S, of 52 in L; words name only the size that was chosen."""
    small, large = card_of(CAP, "S"), card_of(CAP, "L")
    assert max(x for x, _ in small.outline) == pytest.approx(22.0)
    assert max(x for x, _ in large.outline) == pytest.approx(26.0)
    assert small.in_the_round
    document = document_of(CAP)
    assert isinstance(document, PatternDocument)
    assert said_for(document, "around: 44 (48, 52) cm", "M") == "around: 48 cm"
    assert said_for(document, "45 (55, 65) g", None) == "45 (55, 65) g"


def test_what_cannot_be_followed_has_an_empty_card() -> None:
    """A text that is no pattern, or a size that it has not, is no card and no fault."""
    assert card_of("no pattern at all", None).fabric is None
    assert card_of(CAP, "XXL").fabric is None


@pytest.mark.parametrize(
    ("minutes", "said"),
    [(3, "about 5 minutes"), (58, "about 60 minutes"), (153, "about 3 hours"), (3000, "50 hours")],
)
def test_time_is_told_roughly(minutes: float, said: str) -> None:
    """Minutes to five, from a hundred on whole hours; nobody knits more evenly."""
    assert said in time_words(minutes, words())


def test_the_plan_moves_in_steps() -> None:
    """Half a centimetre or a quarter inch, never below one, and in the unit that was chosen."""
    assert changed_by(centimetres(24), 1.3) == Length(Fraction(51, 2), LengthUnit.CM)
    assert changed_by(centimetres(2), -9.0) == centimetres(1)
    assert one_step(centimetres(24), 1, LengthUnit.IN) == Length(Fraction(39, 4), LengthUnit.IN)
    assert one_step(centimetres(24), -1) == Length(Fraction(47, 2), LengthUnit.CM)


def test_the_outline_follows_the_draft() -> None:
    """What was not said is asked for, what was said stands there, and the sums follow."""
    empty = outline_of_plan(Draft(), None, words())
    assert (empty.across, empty.upward, empty.inside) == ("how wide?", "how long?", ())
    draft = Draft()
    values = {"stitches": 20, "rows": 28, "width": centimetres(24), "length": centimetres(18)}
    for key, value in values.items():
        draft = draft.with_value(key, value)  # type: ignore[arg-type]
    full = outline_of_plan(draft, sums_of(draft), words())
    assert full.known == {"width", "length"}
    assert (full.across, full.inside) == ("24 cm wide", ("48 stitches", "50 rows"))


def test_every_picture_lies_in_its_square() -> None:
    """No stroke of a small picture leaves its square; every way has its picture."""
    assert {PICTURES[way] for way in WAYS} <= set(EMBLEMS)
    for name, emblem in EMBLEMS.items():
        for stroke in emblem:
            assert all(-0.05 <= value <= 1.05 for point in stroke.points for value in point), name


def test_the_first_picture_is_in_the_middle_of_a_row() -> None:
    """Part of the row is worked: what knitting looks like, for who has never seen this."""
    fabric = picture()
    assert fabric.working is not None
    assert 0 < fabric.worked < len(fabric.working.stitches)


def plain(rows: int) -> Conversation:
    """Knit so many rows of a piece of which nobody has said how wide it is."""
    talk = Conversation.begin(MemoryJournal(), NewPiece("Plain"), SetClock())
    for _ in range(rows):
        talk.hear((RowsDone(1),), Source.KEY)
    return talk


@pytest.mark.parametrize("rows", [0, 3, 60])
def test_a_piece_of_unknown_width_has_its_rows(rows: int) -> None:
    """Its rows are drawn, as many as are done, and its sides are not shown."""
    talk = plain(rows)
    fabric = fabric_of(talk.state, talk.course)
    assert fabric.open_sides
    assert len(fabric.done) == min(rows, 40)
    assert fabric.working is not None
    assert fabric.working.number == rows + 1


def test_the_tape_is_reckoned_from_the_first_row() -> None:
    """Before anything was measured the gauge says where the piece may be, marked as reckoned."""
    assert shown(Needle("mug-sleeve")).tape.low in {0.0, None}  # type: ignore[union-attr]
    tape = shown(Needle("mug-sleeve").say("5 rows done")).tape
    assert tape is not None
    assert (tape.guessed, tape.measured) == (True, None)
    assert tape.low is not None
    assert tape.high is not None
    assert 0.8 < tape.low < 1.8 < tape.high < 2.6  # 5 rows of 28 to 10 cm are 1.8 cm
    read = shown(Needle("mug-sleeve").say("5 rows done", "measure 2 cm")).tape
    assert read is not None
    assert not read.guessed


def test_finishing_is_parted_at_its_verbs() -> None:
    """A new step begins at a comma with a word for doing; any other comma stays in its step."""
    assert _parted("Sew the seam with a gap, weave in the ends, wash and dry flat") == [
        "Sew the seam with a gap",
        "Weave in the ends",
        "Wash and dry flat",
    ]
    assert _parted("With right sides together, seam the shoulders") == [
        "With right sides together",
        "Seam the shoulders",
    ]
    assert _parted("Sew on three buttons, evenly spaced") == ["Sew on three buttons, evenly spaced"]


def test_measures_beside_the_plan() -> None:
    """Within half a centimetre is as planned; beyond it says by words, and unmeasured says so."""
    needle = Needle("mug-sleeve").say("18 rows done", "this part is done", "yes", "5 rows done")
    needle.say("yes")
    state, course = needle.situation().state, needle.situation().course
    assert state.finished
    view = finished_view(state, course, words())
    assert view.measures[0].words == "Length: not measured yet; 8 cm planned."
    for said, told, off in (
        ("measure 7.6 cm", "Length: 7.6 cm, as planned (8 cm).", False),
        ("measure 9 cm", "Length: 9 cm, more than the 8 cm that were planned.", True),
    ):
        needle.say(said, "yes")  # another length at the same row is asked about
        now = needle.situation()
        length = finished_view(now.state, now.course, words()).measures[0]
        assert (length.words, length.off) == (told, off)
