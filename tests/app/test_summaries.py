"""The summaries of pieces: as good as folding, checked by marks, and worthless when they lie."""

from __future__ import annotations

import json
import threading
from typing import TYPE_CHECKING

import pytest

from app import language
from app.pieces.summaries import Summaries, Summary, summary_of
from app.pieces.values import NewPiece
from app.resources import KeptText
from app.session import piece_listing
from app.session.assistant import Assistant
from app.session.clock import SetClock
from app.session.conversation import Conversation
from app.session.opening import open_piece
from app.session.ports import Silent
from engine.commands import RowsDone, Source
from engine.events import PieceFinished, RowsWorked, Undone
from engine.history import fold
from engine.journal.memory import MemoryJournal
from engine.replies import Say
from engine.talk import Leading, OtherPiece, SameAgain, Screen, Show, WorkOn
from tests.made_up import CAP, SLEEVE, knitted, record

if TYPE_CHECKING:
    from pathlib import Path

    from app.session.situation import Situation
    from engine.journal.journal import Journal, KeptPiece
    from engine.records import Record


class CountedJournal(MemoryJournal):
    """Counts how often a piece is read."""

    def __init__(self) -> None:
        """Begin with nothing read."""
        super().__init__()
        self.read: list[str | None] = []

    def records(self, piece: str | None = None) -> tuple[Record, ...]:
        """Read, and count."""
        self.read.append(piece)
        return super().records(piece)


@pytest.fixture
def journal() -> CountedJournal:
    """Return a journal with a sleeve of five rows and a finished cap."""
    journal = CountedJournal()
    cap = knitted(3, CAP, "crew cap")
    journal.append([*knitted(5), *cap, record(PieceFinished(3), cap, piece=CAP)])
    journal.read.clear()
    return journal


@pytest.fixture
def kept(tmp_path: Path) -> KeptText:
    """Return where summaries are kept."""
    return KeptText("pieces.json", tmp_path)


def _read_of(journal: CountedJournal, kept: KeptText) -> list[str | None]:
    """Return which pieces are read to list all of them, at a new start."""
    journal.read.clear()
    summaries = Summaries(kept)
    for piece in journal.pieces():
        records = MemoryJournal.records(journal, piece.id)
        assert summaries.of(journal, piece) == summary_of(fold(records), records)
    summaries.save()
    return [piece for piece in journal.read if piece is not None]


def test_only_what_changed_is_read_again(journal: CountedJournal, kept: KeptText) -> None:
    """At the next start nothing is folded; after a row, an undo or a merge only that piece is."""
    assert sorted(filter(None, _read_of(journal, kept))) == sorted([SLEEVE, CAP])
    assert _read_of(journal, kept) == []
    history = knitted(5)
    row = record(RowsWorked("body", 6, 6), history)
    for new, brought in (
        (row, False),
        (record(Undone(row.group), [*history, row]), False),
        (record(RowsWorked("body", 6, 9), history, wall="2026-02-01T00:00:00Z"), True),
    ):
        journal.append([new], brought=brought)
        assert _read_of(journal, kept) == [SLEEVE]
        assert _read_of(journal, kept) == []


@pytest.mark.parametrize(
    "spoil",
    [
        lambda _: "",
        lambda _: "{",
        lambda _: "[]",
        lambda kept: {**kept, "rules": "others"},
        lambda kept: {**kept, "pieces": 3},
        lambda kept: {**kept, "pieces": dict.fromkeys(kept["pieces"], 3)},
        lambda kept: {
            **kept,
            "pieces": {
                one: [mark, {**s, "done": "9"}] for one, (mark, s) in kept["pieces"].items()
            },
        },
        lambda kept: {
            **kept,
            "pieces": {one: [mark, {"done": 9}] for one, (mark, s) in kept["pieces"].items()},
        },
        lambda kept: {
            **kept,
            "pieces": {one: ["4-00", s] for one, (_, s) in kept["pieces"].items()},
        },
    ],
)
def test_a_spoilt_cache_is_made_again(
    journal: CountedJournal, kept: KeptText, spoil: object
) -> None:
    """Whatever is in the file, the list is right: it is only ever a copy."""
    _read_of(journal, kept)
    text = kept.load()
    assert text is not None
    spoilt = spoil(json.loads(text))  # type: ignore[operator]
    kept.save(spoilt if isinstance(spoilt, str) else json.dumps(spoilt))
    assert len(_read_of(journal, kept)) == 2
    assert _read_of(journal, kept) == []


def test_a_cache_that_lies_is_thrown_away_once_it_is_caught(
    journal: CountedJournal, kept: KeptText
) -> None:
    """A summary that differs from the fold under the same mark takes all the others with it."""
    _read_of(journal, kept)
    text = kept.load()
    assert text is not None
    kept.save(text.replace('"done": 5', '"done": 99').replace('"done": 3', '"done": 99'))
    talk = Conversation(journal, SLEEVE, SetClock(), Summaries(kept))
    assert {one.name: one.done for one in talk.pieces()} == {"mug sleeve": 5, "crew cap": 3}


def test_a_conversation_lists_what_is_so(journal: CountedJournal, kept: KeptText) -> None:
    """While a piece is worked on its own line is right, and other pieces are not read for it."""
    talk = Conversation(journal, SLEEVE, SetClock(), Summaries(kept))
    talk.pieces()
    journal.read.clear()
    for done in (6, 7):
        talk.hear((RowsDone(1),), Source.KEY)
        assert {one.name: (one.done, one.finished) for one in talk.pieces()} == {
            "mug sleeve": (done, False),
            "crew cap": (3, True),
        }
    assert [piece for piece in journal.read if piece is not None] == []


def test_the_next_start_knows_all_pieces(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What was worked on is kept when it is closed; without the cache nothing is the worse."""
    path = tmp_path / "hut.walesong"
    monkeypatch.setattr("app.resources.cache_folder", lambda: tmp_path / "cache")
    talk = open_piece(path, SetClock(), None, fresh=True, source=Source.KEY)
    talk.hear((RowsDone(1),), Source.KEY)
    talk.close()
    (file,) = (tmp_path / "cache").glob("pieces-*")
    assert '"done": 1' in file.read_text()
    file.unlink()
    file.mkdir()
    again = open_piece(path, SetClock(), None, fresh=False, source=Source.KEY)
    assert [one.done for one in again.pieces()] == [1]
    again.close()


def test_a_journal_of_many_pieces_speaks_first_and_lists_them_then(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Where folding all pieces would take long, she is greeted before; then the list is whole."""
    monkeypatch.setattr(piece_listing, "_LISTED_AT_ONCE", 3)
    journal, clock = MemoryJournal(), SetClock()
    for name in ("cap", "scarf", "sleeve"):
        talk = Conversation.begin(journal, NewPiece(name), clock)
        for _ in range(4):
            talk.hear((RowsDone(1),), Source.KEY)
    records = journal.records()
    seen: list[Situation] = []
    listed = threading.Event()

    def show(situation: Situation) -> None:
        seen.append(situation)
        if situation.pieces:
            listed.set()

    def opened() -> Conversation:
        mine = MemoryJournal()
        mine.append(records)
        return Conversation(mine, talk.piece, clock, Summaries())

    helper = Assistant(opened, language.phrase_book(), show, Silent(), clock)
    helper.start()
    assert listed.wait(60)
    helper.stop(60)
    first = next(one for one in seen if one.replies)
    assert first.pieces == ()
    assert {one.name for one in seen[-1].pieces} == {"sleeve", "scarf", "cap"}


def test_while_pieces_are_read_nothing_waits_for_all_of_them(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """What needs every piece is answered by how many are to be read yet, until they are."""
    monkeypatch.setattr(piece_listing, "_LISTED_AT_ONCE", 3)
    journal, clock = MemoryJournal(), SetClock()
    for name in ("cap", "scarf", "sleeve"):
        talk = Conversation.begin(journal, NewPiece(name), clock)
        for _ in range(4):
            talk.hear((RowsDone(1),), Source.KEY)
    talk = Conversation(journal, talk.piece, clock, Summaries())
    waiting = talk.listing.unlisted()
    folded = list[str]()
    looking = Summaries.of

    def of(self: Summaries, journal: Journal, kept: KeptPiece) -> Summary:
        folded.append(kept.name)
        return looking(self, journal, kept)

    monkeypatch.setattr(Summaries, "of", of)
    asked: tuple[Leading, ...] = (OtherPiece(), WorkOn(count=2), SameAgain(), Show(Screen.PIECES))
    for one in asked:
        told = [each for each in talk.hear((one,), Source.TYPED).replies if each.values]
        assert [(each.say, dict(each.values)["count"]) for each in told] == [
            (Say.PIECES_BEING_READ, 2)
        ]
    assert not folded
    for kept in waiting:
        talk.listing.look_at(kept)
    assert talk.hear((OtherPiece(),), Source.TYPED).going is not None
