"""What stands on the board is about now: no old words, no word about a row that is not begun."""

from __future__ import annotations

from typing import TYPE_CHECKING

from app import language, resources
from app.pieces.casting_on import new_piece
from app.pieces.values import NewPiece
from app.session.assistant import Assistant
from app.session.clock import SetClock
from app.session.conversation import Conversation
from app.session.ports import Silent
from engine.commands import NextBit, RowsDone, Source, StepBack
from engine.journal.memory import MemoryJournal
from engine.replies import Say
from tests.app.at_the_needle import Needle

if TYPE_CHECKING:
    from app.session.situation import Situation


def test_heard_words_are_gone_with_the_next_row() -> None:
    """After a row by the pedal what was typed for an earlier one does not stand there any more."""
    new = new_piece(resources.text("shared/patterns/bottle-sleeve.toml"), None)
    assert isinstance(new, NewPiece)
    shown: list[Situation] = []
    helper = Assistant(
        lambda: Conversation.begin(MemoryJournal(), new, SetClock()),
        language.phrase_book(),
        shown.append,
        Silent(),
    )
    helper.start()
    assert helper.ready()
    helper.typed("row done")
    helper.submit(RowsDone(), Source.PEDAL)
    helper.stop()
    assert any(one.heard is not None and one.heard.words == "row done" for one in shown)
    assert shown[-1].state.done == 2
    assert shown[-1].heard is None


def test_a_row_not_begun_has_not_run_out() -> None:
    """Back from the first bit is told as the beginning; a row of one bit has no next one."""
    needle = Needle('title = "Cap"\ncast_on = 40\nrows = ["Row 1: k to end", "Row 2: p to end"]\n')
    needle.hear((StepBack(),))
    assert [one.say for one in needle.replies] == [Say.ROW_AT_START]
    needle.hear((NextBit(),))
    assert [one.say for one in needle.replies] == [Say.ROW_IN_ONE]
