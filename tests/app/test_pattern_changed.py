"""A pattern changed half-way: the piece follows the new text from the row being worked."""

from __future__ import annotations

from typing import TYPE_CHECKING

from app.command_line import main
from app.pieces.casting_on import new_piece
from app.pieces.journal_files import begun_by_another_text
from app.pieces.values import NewPiece
from app.session.clock import SetClock
from app.session.opening import open_piece
from engine.commands import RowsDone, Source, Undo
from engine.history import fold
from engine.journal.sqlite import SqliteJournal

if TYPE_CHECKING:
    from pathlib import Path

    import pytest

    from app.session.conversation import Conversation

OLD = 'title = "Strip"\ncast_on = 20\nrows = ["Knit 4 rows", "Knit 4 rows"]'
NEW = (
    'title = "Strip"\ncast_on = 20\nrows = ["Knit 4 rows", "Row 5: k2tog, k to end", "Knit 4 rows"]'
)


def piece_of(text: str) -> NewPiece:
    """Return what casting on from a text needs."""
    new = new_piece(text, None)
    assert isinstance(new, NewPiece)
    return new


def opened(path: Path, text: str, *, change: bool) -> Conversation:
    """Open a journal with a pattern wanted."""
    wanted = piece_of(text)
    return open_piece(path, SetClock(), wanted, fresh=False, source=Source.KEY, change=change)


def knit_four_rows(path: Path) -> str:
    """Knit the first four rows by the old text; return the name of the piece."""
    talk = opened(path, OLD, change=False)
    for _ in range(4):
        talk.hear([RowsDone()], Source.KEY)
    assert talk.state.done == 4
    talk.close()
    return talk.piece


def test_the_piece_goes_on_by_the_new_text(tmp_path: Path) -> None:
    """The same piece follows the new text from row five on; its old rows keep the old one."""
    path = tmp_path / "journal.walesong"
    piece = knit_four_rows(path)
    talk = opened(path, NEW, change=True)
    assert talk.piece == piece
    assert talk.state.working == 5
    assert str(talk.course.where({}, 5).instruction) == "k2tog, k to end"
    assert [one.from_row for one in talk.state.patterns] == [1, 5]
    assert talk.state.text_of(talk.state.patterns[0].sha256) == OLD
    assert talk.change_pattern(NEW, None) == ()
    talk.close()


def test_the_change_is_kept_and_can_be_undone(tmp_path: Path) -> None:
    """The change is in the journal, and undo takes it back to the text of before."""
    path = tmp_path / "journal.walesong"
    piece = knit_four_rows(path)
    opened(path, NEW, change=True).close()
    with SqliteJournal.open_to_read(path) as journal:
        state = fold(journal.records(piece))
    assert state.pattern is not None
    assert state.text_of(state.pattern.sha256) == NEW
    talk = opened(path, NEW, change=True)
    talk.hear([Undo()], Source.KEY)
    assert talk.state.pattern is not None
    assert talk.state.text_of(talk.state.pattern.sha256) == OLD
    assert talk.state.done == 4
    talk.close()


def test_without_the_change_a_new_piece_is_cast_on(tmp_path: Path) -> None:
    """Another text alone never changes a piece; the begun one is told by its name and row."""
    path = tmp_path / "journal.walesong"
    assert begun_by_another_text(path, piece_of(NEW)) is None
    piece = knit_four_rows(path)
    assert begun_by_another_text(path, piece_of(OLD)) is None
    assert begun_by_another_text(path, piece_of(NEW)) == ("Strip", 5)
    talk = opened(path, NEW, change=False)
    assert talk.piece != piece
    talk.close()


def test_knit_tells_how_to_go_on(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The terminal says once that a piece is begun by another text, and takes --change."""
    path, file, words = (tmp_path / name for name in ("j.walesong", "new.toml", "words"))
    knit_four_rows(path)
    file.write_text(NEW, encoding="utf-8")
    words.write_text("row done\n", encoding="utf-8")
    common = ["knit", "--journal", str(path), "--pattern", str(file), "--typed", str(words)]
    assert main([*common, "--change"]) == 0
    with SqliteJournal.open_to_read(path) as journal:
        (kept,) = journal.pieces()
        state = fold(journal.records(kept.id))
    assert (state.done, len(state.patterns)) == (5, 2)
    file.write_text(OLD, encoding="utf-8")
    assert main(common) == 0
    assert "add --change" in capsys.readouterr().err


def test_the_change_is_for_the_piece_of_that_pattern(tmp_path: Path) -> None:
    """With another piece worked on last, the one that the changed pattern belongs to is changed."""
    path = tmp_path / "journal.walesong"
    strip = knit_four_rows(path)
    other = 'title = "Mat"\ncast_on = 30\nrows = ["Knit 9 rows"]'
    mat = opened(path, other, change=False)
    mat.hear([RowsDone()], Source.KEY)
    mat.close()
    talk = opened(path, NEW, change=True)
    assert talk.piece == strip
    assert [one.from_row for one in talk.state.patterns] == [1, 5]
    talk.close()
    with SqliteJournal.open_to_read(path) as journal:
        assert len(fold(journal.records(mat.piece)).patterns) == 1
