"""Looking at the order on a thread of its own, asked for in words, by the real assistant."""

from __future__ import annotations

import queue
from typing import TYPE_CHECKING

import pytest

from app import language
from app.session.assistant import Assistant
from app.session.clock import SetClock
from app.session.inbox import OrderSeen
from app.session.opening import resume
from app.session.order_history import OrderHistory
from app.session.order_look import OrderLook, OrderLooking
from app.session.ports import Silent
from engine import order_events as order
from engine.commands import Source
from engine.journal.errors import JournalError
from engine.journal.sqlite import SqliteJournal
from engine.records import new_name
from engine.replies import Say
from engine.stages import Stage
from engine.talk import PieceIs, Screen, Show
from tests.app.at_the_needle import Needle

if TYPE_CHECKING:
    from collections.abc import Iterator
    from contextlib import nullcontext
    from pathlib import Path

    from app.session.conversation import Conversation
    from app.session.situation import Situation
    from engine.journal.memory import MemoryJournal

PATIENCE_S = 60


class Room:
    """An assistant with a piece on the needle, an order of three sleeves or none, and its looks."""

    def __init__(self, path: Path, *, ordered: bool) -> None:
        self.path = path
        needle = Needle("mug-sleeve").say("4 rows done")
        with SqliteJournal.open(path) as journal:
            journal.append(needle.talk._journal.records(needle.talk.piece))
            if ordered:
                self._order(journal, needle.talk.piece)
        self.shown: queue.SimpleQueue[Situation] = queue.SimpleQueue()
        self.helper = Assistant(
            self._opened, language.phrase_book(), self.shown.put, Silent(), SetClock()
        )
        self.helper.orders = OrderLooking(
            lambda: SqliteJournal.open_to_read(self.path),
            SetClock(),
            lambda look: self.helper.tell(OrderSeen(look)),
        )
        self.helper.start()
        assert self.helper.ready()

    @staticmethod
    def _order(journal: SqliteJournal, piece: str) -> None:
        book = OrderHistory(journal, new_name(), SetClock())
        book.write(
            (
                order.OrderBegun("Sleeves", ""),
                order.OrderLine(1, "Mug sleeve", "", "grey", 3, 0),
                order.StageReached(1, Stage.KNITTED),
                order.PieceTied(2, piece),
                order.StageReached(2, Stage.BEGUN),
            ),
            Source.TYPED,
        )

    def _opened(self) -> Conversation:
        talk = resume(SqliteJournal.open(self.path), SetClock(), None)
        assert talk is not None
        return talk

    def until(self, known: str) -> Situation:
        """Return the first situation whose order has what is named."""
        while True:
            now = self.shown.get(timeout=PATIENCE_S)
            if now.order is not None and getattr(now.order, known) is not None:
                return now

    def stage_shown(self, number: int, stage: Stage) -> Situation:
        """Return the first situation that shows a piece at a stage."""
        while True:
            now = self.until("view")
            assert now.order is not None
            assert now.order.state is not None
            if now.order.state.piece(number).stage is stage:
                return now


@pytest.fixture
def room(tmp_path: Path) -> Iterator[Room]:
    """Return a room with an order; its assistant ends with the test."""
    one = Room(tmp_path / "j.walesong", ordered=True)
    yield one
    one.helper.stop()


def test_show_the_order_tells_and_shows_it(room: Room) -> None:
    """The words lead to the screen, say how far it is, and all that is known of it follows."""
    room.helper.typed("show the order")
    first = room.until("state")
    assert first.shown.screen is Screen.ORDER
    assert [one.say for one in first.replies] == [Say.TICK, Say.ORDER_IS]
    last = first if first.order and first.order.view else room.until("view")
    assert last.order is not None
    assert [one.knitted for one in last.order.lines] == [1]
    (tied,) = last.order.pieces
    assert tied[1][0].done == 4
    assert len(last.order.batches or ()) == 1


def test_a_stage_that_is_touched_is_seen_on_the_screen(room: Room) -> None:
    """What the page hands over is written to the order and shown; taken back it is as before."""
    room.helper.submit(Show(Screen.ORDER), Source.TOUCH)
    room.until("view")
    room.helper.submit(PieceIs(1, Stage.WASHED), Source.TOUCH)
    assert room.stage_shown(1, Stage.WASHED).state.done == 4
    room.helper.typed("take that back")
    room.stage_shown(1, Stage.KNITTED)


def test_an_order_that_nobody_asked_for_is_not_looked_at(room: Room) -> None:
    """Who only knits pays nothing for it: what is said of the order is not looked at unasked."""
    room.helper.typed_and_answered("piece one is washed")
    room.helper.stop()
    seen = []
    while not room.shown.empty():
        seen.append(room.shown.get())
    assert seen
    assert all(one.order is None for one in seen)


def test_a_journal_without_an_order_says_so(tmp_path: Path) -> None:
    """The screen opens all the same, and there is no state to show."""
    room = Room(tmp_path / "j.walesong", ordered=False)
    room.helper.typed("show the order")
    now = room.until("batches")
    assert now.shown.screen is Screen.ORDER
    assert [one.say for one in now.replies] == [Say.TICK, Say.NO_ORDER]
    assert now.order is not None
    assert now.order.state is None
    room.helper.stop()


@pytest.mark.parametrize("fault", [JournalError("It is torn."), ZeroDivisionError("nought")])
def test_what_goes_wrong_is_a_sentence(fault: Exception, monkeypatch: pytest.MonkeyPatch) -> None:
    """A journal that cannot be read, or a fault of ours, is told and ends nothing."""
    monkeypatch.setattr("app.wall.RAISES", False)
    found: queue.SimpleQueue[OrderLook] = queue.SimpleQueue()

    def opened() -> nullcontext[MemoryJournal]:
        raise fault

    looking = OrderLooking(opened, SetClock(), found.put)
    looking.look()
    assert found.get(timeout=PATIENCE_S).trouble
    looking.look()  # and it looks again when asked
    assert found.get(timeout=PATIENCE_S).trouble
