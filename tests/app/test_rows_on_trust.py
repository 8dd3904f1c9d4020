"""What cannot be read does not stop the knitting: it is shown, asked about once, and kept."""

from __future__ import annotations

from typing import TYPE_CHECKING

from app import resources
from app.command_line import main
from app.display.board_view import board_view
from app.display.screen_words import ScreenWording, read_texts
from app.pieces.adding_up import faults
from app.pieces.casting_on import new_piece
from app.pieces.pattern_cache import document_to_knit
from app.pieces.values import NewPiece
from app.session.controls import read_controls
from app.wording import reply_wording
from engine.events import PatternChanged
from engine.replies import Say
from tests.app.at_the_needle import Needle

if TYPE_CHECKING:
    from pathlib import Path

    import pytest

ODD = "fluffle the wumpets with k2tog all over"
TRUST = f"""title = "Trust"
cast_on = 40
rows = [
  "Row 1: k to end",
  "Row 2: {ODD}",
  "Row 3: k2tog, k to end",
  "Row 4: p to end",
  "BO all sts",
]
"""
OTHERS = f"""title = "Two"
[[piece]]
title = "Back"
cast_on = 20
rows = ["Row 1: k to end", "Row 2: p to end", "BO all sts"]
[[piece]]
title = "Front"
cast_on = 20
rows = ["Row 1: {ODD}", "BO all sts"]
"""
SIZES = f"""title = "Sized"
sizes = ["S", "M"]
cast_on = "40 (50)"
rows = [
  {{ text = "Row 1: {ODD}", note = "slowly" }},
  "Row 2: p to end",
]
"""


def said(needle: Needle) -> list[Say]:
    """Return what was answered last."""
    return [one.say for one in needle.replies]


def test_a_row_that_cannot_be_read_is_shown_as_the_designer_wrote_it() -> None:
    """The words of the row are given whole, and nothing is refused."""
    needle = Needle(TRUST).say("row done", "what comes next")
    assert ODD in reply_wording().written(needle.replies[-1]).casefold()


def test_the_stitches_are_asked_for_once_and_counted_on_from() -> None:
    """After the row comes one question; what she counts is what all later rows go on from."""
    needle = Needle(TRUST).say("row done", "row done")
    assert said(needle)[-1] is Say.ASK_UNCOUNTED
    needle.say("I count thirty stitches")
    assert said(needle) == [Say.COUNT_NOTED]
    needle.say("row done")
    assert Say.ASK_UNCOUNTED not in said(needle)
    needle.say("how many stitches")
    assert needle.replies[0].value("count") == 29


def test_without_an_answer_the_knitting_goes_on() -> None:
    """She need not answer: the next row is counted up, its stitches are not known."""
    needle = Needle(TRUST).say("row done", "row done", "row done")
    assert needle.talk.state.done == 3
    assert Say.ASK_UNCOUNTED not in said(needle)
    needle.say("how many stitches")
    assert said(needle)[0] is Say.EXPECTED_UNKNOWN


def test_a_count_that_was_told_is_taken_back_as_one_thing() -> None:
    """Taking the count back takes back what was kept in the pattern, too."""
    needle = Needle(TRUST).say("row done", "row done", "I count thirty stitches")
    assert any(isinstance(one.event, PatternChanged) for one in needle.talk.records)
    needle.say("take that back", "how many stitches")
    assert said(needle)[0] is Say.EXPECTED_UNKNOWN


def test_the_count_is_kept_for_the_size_that_is_knitted() -> None:
    """Of two sizes only the one on the needle gets a count, behind the text of the row."""
    needle = Needle(SIZES, "M").say("row done", "I count forty four stitches", "row done")
    needle.say("how many stitches")
    assert needle.replies[0].value("count") == 44
    state = needle.talk.state
    assert state.pattern is not None
    assert "(- (44) sts)" in state.text_of(state.pattern.sha256)


def test_an_unread_row_elsewhere_stops_nothing() -> None:
    """The back is cast on and counted although the front has a row that nobody can read."""
    back = new_piece(OTHERS, None)
    assert isinstance(back, NewPiece)
    assert faults(back) == ()
    assert Needle(OTHERS).say("row done", "how many stitches").replies[0].value("count") == 20


def test_the_board_asks_with_its_number_pad() -> None:
    """The window shows the question and the control by which the number is put in."""
    needle = Needle(TRUST).say("row done", "row done")
    words = reply_wording()
    texts = read_texts(resources.text("shared/window/words.toml"))
    wording = ScreenWording(texts, words.written, words.rows.say, words.showing)
    controls = read_controls(resources.text("shared/window/controls.toml"))
    view = board_view(needle.situation(), wording, controls)
    asked = [getattr(view, name) for name in view.__slots__]
    assert any("I cannot count this row" in str(one) for one in asked)


def test_the_terminal_knits_it_from_begin_to_end(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """`walesong knit` asks nothing beforehand and comes to the last row."""
    pattern, typed = tmp_path / "trust.toml", tmp_path / "words.txt"
    pattern.write_text(TRUST, encoding="utf-8")
    typed.write_text("row done\nrow done\nI count 30 stitches\n3 rows done\nyes\n", "utf-8")
    journal = ["--journal", str(tmp_path / "journal.sqlite")]
    assert main(["knit", "--pattern", str(pattern), "--typed", str(typed), *journal]) == 0
    out = capsys.readouterr().out
    assert ODD in out.casefold()
    assert "5 rows done" in out


def test_a_row_on_trust_that_comes_again_is_not_counted_by_its_first_count() -> None:
    """Thirty six after forty says nothing of thirty six: on the next turn it is not known; the
    same count after the same stitches is.
    """
    for told, after in ((36, None), (40, 40)):
        text = TRUST.replace(ODD, f"{ODD} ({told} sts)").replace(
            "Row 3: k2tog, k to end", "Rep rows 1 and 2 three more times"
        )
        course = document_to_knit(text).course()  # type: ignore[union-attr]
        assert [course.where({}, row).after for row in (2, 3)] == [told, told]
        assert course.where({}, 4).after == after, told
        assert course.where({}, 8).after == after, told
