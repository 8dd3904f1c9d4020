"""Taking back without folding everything again: the same state, and the same times of rows."""

from __future__ import annotations

from typing import TYPE_CHECKING

from hypothesis import given, settings
from hypothesis import strategies as st

from app.pieces.values import NewPiece
from app.session import piece_history
from app.session.clock import SetClock
from app.session.conversation import Conversation
from engine.commands import PlaceMarker, Redo, RipBack, RowsDone, Source, Undo, Unpick
from engine.forecast.stamps import row_stamps
from engine.history import fold, live
from engine.journal.memory import MemoryJournal
from engine.talk import Yes

if TYPE_CHECKING:
    from collections.abc import Iterable

    import pytest

    from engine.commands import Command
    from engine.records import Record
    from engine.state import PieceState
    from engine.talk import Talk

said = st.sampled_from(
    [RowsDone(1), RowsDone(3), PlaceMarker(), RipBack(1), Unpick(), Yes(), Undo(), Undo(), Redo()]
)


@settings(max_examples=60)
@given(st.lists(said, max_size=40))
def test_it_is_as_if_all_was_folded_again(commands: list[Command | Talk]) -> None:
    """After any words, taken back and put back in any order, memory and journal say the same."""
    journal, clock = MemoryJournal(), SetClock()
    talk = Conversation.begin(journal, NewPiece("sleeve"), clock)
    for one in commands:
        clock.ms += 40_000
        talk.hear((one,), Source.KEY)
        assert talk.state == fold(journal.records())
        assert talk.stamps() == row_stamps(live(journal.records()))


def test_more_is_taken_back_than_is_remembered() -> None:
    """Thirty commands are taken back one after the other; the last ones are folded."""
    journal = MemoryJournal()
    talk = Conversation.begin(journal, NewPiece("sleeve"), SetClock())
    for one in (RowsDone(1), Undo()):
        for _ in range(30):
            talk.hear((one,), Source.KEY)
            assert talk.state == fold(journal.records())
    assert talk.state.done == 0


def test_what_was_taken_back_is_put_back_without_folding(monkeypatch: pytest.MonkeyPatch) -> None:
    """Ten commands are taken back, put back and taken back again; nothing is folded for it."""
    journal, folded = MemoryJournal(), 0

    def counting(records: Iterable[Record]) -> PieceState:
        nonlocal folded
        folded += 1
        return fold(records)

    talk = Conversation.begin(journal, NewPiece("sleeve"), SetClock())
    monkeypatch.setattr(piece_history, "fold", counting)
    for one in (RowsDone(1), Undo(), Redo(), Undo()):
        for _ in range(10):
            talk.hear((one,), Source.KEY)
    assert talk.state == fold(journal.records())
    assert folded == 0
