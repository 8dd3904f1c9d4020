"""Two devices, or two programs, at one piece: what does not fit together is said, and when."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from app import resources
from app.command_line import main
from app.language import phrase_book
from app.pieces.casting_on import new_piece
from app.pieces.journal_files import begun_by_another_text, holds_pieces
from app.pieces.values import NewPiece
from app.session.clock import SetClock
from app.session.conversation import Conversation
from app.session.opening import open_piece, resume
from engine.commands import Source
from engine.events import PieceFinished, RowsWorked
from engine.history import advance, fold
from engine.journal.errors import DamagedJournalError
from engine.journal.exchange import take_in
from engine.journal.memory import MemoryJournal
from engine.journal.on_disk import LAST, beside
from engine.journal.sqlite import SqliteJournal
from engine.replies import Reply, Say
from speech.words.understand import understand
from tests.made_up import CAP, SLEEVE, knitted, record

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from engine.events import Event
    from engine.records import Record

FORTY = knitted(40)


def _rows(*numbers: int) -> list[Event]:
    return [RowsWorked("body", row, row) for row in numbers]


def _apart(*events: Event) -> list[Record]:
    """Return what one device does after row forty, without hearing of another."""
    history = list(FORTY)
    for number, event in enumerate(events, 1):
        wall = f"2026-01-1{number}T09:00:{len(events):02}Z"
        history.append(record(event, history[-1:], wall=wall))
    return history


def _merged(*histories: list[Record]) -> MemoryJournal:
    journal = MemoryJournal()
    journal.append(FORTY)
    for history in histories:
        take_in(journal, history)
    return journal


def says(talk: Conversation, words: str) -> tuple[Reply, ...]:
    """Type words and return the answer."""
    return talk.hear(understand(words, phrase_book()), Source.TYPED).replies


def said(replies: tuple[Reply, ...]) -> list[Say]:
    """Return what was said, without the values."""
    return [one.say for one in replies]


# --- two devices ---------------------------------------------------------------------------------


def test_a_row_that_both_counted_is_told_once() -> None:
    """Both counted row 41: it counts once, that is said, and with the next row it is over."""
    journal = _merged(_apart(*_rows(41)))
    other = record(RowsWorked("body", 41, 41), FORTY[-1:], wall="2026-02-01T00:00:00Z")
    take_in(journal, [other])
    talk = Conversation(journal, SLEEVE, SetClock())
    greeting = talk.greet()
    assert said(greeting) == [Say.WELCOME_BACK, Say.COUNTED_TWICE]
    assert greeting[1].value("row") == 41
    assert says(talk, "row done")
    assert (talk.state.done, talk.state.counted_twice) == (42, 0)
    assert said(talk.greet()) == [Say.WELCOME_BACK]
    assert talk.state == fold(journal.records())


def test_rows_that_differ_are_told_when_it_is_taken_up_again() -> None:
    """The greeting names both rows, not only the one that is shown."""
    journal = _merged(_apart(*_rows(41)), _apart(*_rows(41, 42)), _apart(*_rows(41, 42, 43)))
    greeting = Conversation(journal, SLEEVE, SetClock()).greet()
    assert said(greeting) == [Say.WELCOME_BACK, Say.FORKED]
    assert (greeting[1].value("low"), greeting[1].value("high")) == (41, 43)


@pytest.mark.parametrize("rows", [(41,), (41, 42), (41, 42, 43, 44)])
def test_finished_here_and_knitted_on_there_is_not_finished(rows: tuple[int, ...]) -> None:
    """Whichever device did more, the piece is taken up again with both rows named."""
    journal = _merged(_apart(PieceFinished(40)), _apart(*_rows(*rows)))
    state = fold(journal.records())
    assert (state.finished, state.done, state.fork) == (False, rows[-1], (40, rows[-1]))
    talk = resume(journal, SetClock(), None)
    assert talk is not None
    assert talk.piece == SLEEVE
    assert said(talk.greet()) == [Say.WELCOME_BACK, Say.FORKED]
    assert said(says(talk, "row done")) == [Say.FORKED]
    says(talk, f"really on row {rows[-1] + 1}")
    says(talk, "yes")
    assert (talk.state.finished, talk.state.fork) == (False, ())


def test_finished_on_both_is_finished() -> None:
    """Two devices that finished after the same row agree."""
    journal = _merged(_apart(PieceFinished(40)), _apart(*_rows(), PieceFinished(40)))
    assert fold(journal.records()).finished
    assert fold(journal.records()).fork == ()


def test_quick_and_thorough_agree_on_finishing() -> None:
    """A piece that is finished on one device is the same state however it was come to."""
    finish = record(PieceFinished(40), FORTY[-1:])
    assert advance(fold(FORTY), [finish]) == fold([*FORTY, finish])


def test_nothing_is_cast_on_in_a_journal_that_holds_work(tmp_path: Path) -> None:
    """With every piece finished the last one is shown again; the demo stays out of her journal."""
    path = tmp_path / "hut.walesong"
    with SqliteJournal.open(path) as journal:
        journal.append(_apart(PieceFinished(40)))
    talk = open_piece(path, SetClock(), None, fresh=False, source=Source.KEY)
    assert said(talk.greet()) == [Say.ALL_DONE]
    talk.close()
    with SqliteJournal.open(path) as journal:
        assert len(journal.pieces()) == 1


def test_merging_names_what_both_counted(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """`walesong merge` says that one row was counted on both devices."""
    other = record(RowsWorked("body", 41, 41), FORTY[-1:], wall="2026-02-01T00:00:00Z")
    for name, history in (("a", _apart(*_rows(41))), ("b", [*FORTY, other])):
        with SqliteJournal.open(tmp_path / f"{name}.walesong") as journal:
            journal.append(history)
    into = tmp_path / "a.walesong"
    assert main(["merge", str(tmp_path / "b.walesong"), "--into", str(into)]) == 0
    assert "two devices counted row 41; it counts once" in capsys.readouterr().out
    assert main(["replay", str(into)]) == 0
    assert "two devices counted row 41" in capsys.readouterr().out


# --- two programs on one journal -----------------------------------------------------------------


@pytest.fixture
def both(tmp_path: Path) -> Iterator[tuple[Conversation, Conversation]]:
    """Return two programs that have one journal and piece open."""
    path = tmp_path / "hut.walesong"
    first = Conversation.begin(SqliteJournal.open(path), NewPiece("sleeve"), SetClock())
    other = Conversation(SqliteJournal.open(path), first.piece, SetClock())
    yield first, other
    first.close()
    other.close()


def test_a_row_counted_elsewhere_is_told_before_the_next_is_written(
    both: tuple[Conversation, Conversation],
) -> None:
    """Both heard the same row: it is counted once; the second says so and takes the state in."""
    one, other = both
    says(one, "row done")
    answer = says(other, "row done")
    assert said(answer) == [Say.ALSO_ELSEWHERE]
    assert answer[0].value("row") == 1
    assert other.state == one.state
    says(other, "row done")
    assert other.state.done == 2
    assert said(says(one, "which row now")) == [Say.WORKING]
    assert (one.state.done, one.state.fork) == (2, ())


def test_a_question_that_stood_is_not_answered_for_another_place(
    both: tuple[Conversation, Conversation],
) -> None:
    """A yes to what was asked before the other program counted on changes nothing."""
    one, other = both
    says(one, "three rows done")
    says(other, "which row now")
    assert said(says(other, "ripped back one row")) == [Say.ASK_ROWS_DONE]
    says(one, "row done")
    assert said(says(other, "yes")) == [Say.ALSO_ELSEWHERE]
    assert other.state.done == 4
    assert other.question is None


def test_another_piece_of_the_same_journal_disturbs_nobody(
    both: tuple[Conversation, Conversation],
) -> None:
    """What is written to another piece is no reason to stop."""
    one, other = both
    one.cast_on(NewPiece("cap"), Source.KEY)
    assert said(says(other, "row done")) == [Say.TICK]
    assert other.state.done == 1
    assert {piece.name for piece in one.pieces()} == {"sleeve", "cap"}


def test_a_dictated_note_is_kept_whatever_was_counted(
    both: tuple[Conversation, Conversation],
) -> None:
    """Words that were dictated are not thrown away because somebody counted meanwhile."""
    one, other = both
    says(other, "note on this row")
    says(one, "row done")
    outcome = other.note("a thin place", Source.TYPED)
    assert [one.event.kind for one in outcome.written] == ["row_noted"]


# --- what is missing -----------------------------------------------------------------------------


def test_missing_work_is_told_at_the_start_and_by_the_commands(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The first greeting says that work is missing, the next one does not; replay says how much."""
    path = tmp_path / "hut.walesong"
    with SqliteJournal.open(path) as journal:
        journal.append(FORTY)
    note = beside(path, LAST).read_bytes()
    path.unlink()
    with SqliteJournal.open(path) as journal:
        journal.append([*FORTY[:30], *knitted(0, CAP)])
    beside(path, LAST).write_bytes(note)
    assert main(["replay", str(path)]) == 0
    assert "10 records are missing" in capsys.readouterr().err
    talk = open_piece(path, SetClock(), None, fresh=False, source=Source.KEY)
    greeting = talk.greet()
    assert said(greeting)[0] is Say.WORK_MISSING
    assert greeting[0].value("count") == 10
    assert Say.WORK_MISSING not in said(talk.about(SLEEVE).greet())
    talk.close()


def test_a_damaged_journal_is_not_taken_for_a_conflict(tmp_path: Path) -> None:
    """A log cut in the middle of two commits is refused as before, not told as missing."""
    path = tmp_path / "hut.walesong"
    with SqliteJournal.open(path) as journal:
        journal.append(FORTY)
        kept = {suffix: beside(path, suffix).read_bytes() for suffix in ("", "-wal", LAST)}
    for suffix, content in kept.items():
        beside(path, suffix).write_bytes(content)
    log = bytearray(kept["-wal"])
    log[200] ^= 1
    beside(path, "-wal").write_bytes(log)
    with pytest.raises(DamagedJournalError):
        SqliteJournal.open(path)


def test_a_journal_killed_while_it_was_made_is_a_new_one(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A file of no bytes holds no piece for anybody, and a piece can be cast on in it."""
    path = tmp_path / "hut.walesong"
    path.touch()
    assert not holds_pieces(path)
    for command in (
        ["replay", str(path)],
        ["backup", str(path), "--to", str(tmp_path / "copy.walesong")],
        ["merge", str(path), "--into", str(tmp_path / "other.walesong")],
        ["mend", str(path)],
    ):
        assert main(command) == 0, capsys.readouterr()
    new = new_piece(resources.text("shared/patterns/mug-sleeve.toml"), None)
    assert isinstance(new, NewPiece)
    assert begun_by_another_text(path, new) is None
    talk = open_piece(path, SetClock(), new, fresh=False, source=Source.KEY)
    assert talk.state.begun
    talk.close()


def test_what_was_begun_before_it_was_noticed_is_not_counted(
    both: tuple[Conversation, Conversation],
) -> None:
    """A row said just as the other program's rows appear is asked for again, not counted twice."""
    one, other = both
    assert not other.notice()
    says(one, "three rows done")
    assert other.notice()
    assert other.state.done == 3
    assert said(says(other, "row done")) == [Say.ALSO_ELSEWHERE]
    assert other.state.done == 3
    assert said(says(other, "row done")) == [Say.TICK]
