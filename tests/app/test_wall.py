"""A fault in an answer, a drawing or a screen is a sentence; the counting goes on."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from app import wall
from app.command_line import main
from app.session import conversation
from app.session.clock import SystemClock
from app.session.opening import open_piece
from app.wall import LOG, behind, keep_beside, sentence_of
from app.wiring import composition
from engine.commands import RowsDone, Source
from engine.journal.errors import DamagedJournalError, JournalError
from engine.journal.sqlite import SqliteJournal
from engine.judging.decide import decide
from engine.limits import spend
from tests.made_up import knitted

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from app.session.situation import Situation

SECRET = "grandmother's lace"


@pytest.fixture
def log(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """Let faults be told instead of raised; return the log that they are written to."""
    monkeypatch.setattr(wall, "RAISES", False)
    keep_beside(tmp_path / "journal.walesong")
    yield tmp_path / LOG
    wall._place.clear()


def broken(*_: object, **__: object) -> str:
    """Go wrong, with words of hers in the error."""
    raise ZeroDivisionError(SECRET)


def test_a_fault_is_a_sentence_and_is_written_down(log: Path) -> None:
    """The sentence names what cannot be done; the log says where it was, and no word of hers."""
    said = behind(broken, lambda sentence: sentence, "Piece 3 cannot be drawn")
    assert said.startswith("Piece 3 cannot be drawn: something went wrong inside Walesong")
    assert LOG in said
    kept = log.read_text(encoding="utf-8")
    assert "ZeroDivisionError" in kept
    assert "test_wall.py" in kept
    assert SECRET not in kept + said


def test_what_is_well_passes_through(log: Path) -> None:
    """What goes well is returned, and nothing is written."""
    assert behind(lambda: 7, lambda _: 0, "Nothing") == 7
    assert not log.exists()


def test_endless_work_ends(log: Path) -> None:
    """Work without end is ended by its steps and told; it is no fault of ours to be logged."""

    def endless() -> str:
        while True:
            spend()

    said = behind(endless, lambda sentence: sentence, "Piece 2 cannot be drawn")
    assert said == "Piece 2 cannot be drawn: this asks for more work than any knitting does."
    assert not log.exists()


def test_the_log_does_not_grow_for_ever(log: Path) -> None:
    """A fault that comes again and again fills no disk."""
    log.write_text("x" * 300_000, encoding="utf-8")
    sentence_of(ValueError(), "This")
    assert log.stat().st_size < 10_000


def test_in_tests_a_fault_is_raised() -> None:
    """The switch that tests set lets a mistake of a programmer fail its test."""
    assert wall.RAISES
    with pytest.raises(ZeroDivisionError):
        behind(broken, str, "This")


def test_a_journal_that_cannot_be_read_keeps_its_own_sentence(log: Path) -> None:
    """What the journal says of itself is told as it is."""
    error: JournalError = DamagedJournalError("It is damaged.")
    assert sentence_of(error, "This") == str(error)
    assert not log.exists()


def test_rows_are_counted_where_the_pattern_cannot_be_followed(
    log: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With a fault in following the pattern a row is kept all the same, and the fault is told."""
    clock = SystemClock()
    talk = open_piece(log.with_name("j.walesong"), clock, None, fresh=True, source=Source.KEY)
    with_pattern = decide

    def fails(state: object, course: object, *rest: object, **more: object) -> object:
        if getattr(course, "title", ""):
            broken()
        return with_pattern(state, course, *rest, **more)  # type: ignore[arg-type]

    monkeypatch.setattr(conversation, "decide", fails)
    outcome = talk.hear((RowsDone(1),), Source.KEY)
    assert [record.event.kind for record in outcome.written] == ["rows_worked"]
    assert talk.state.done == 1
    assert "pattern of this piece cannot be followed" in talk.fault
    talk.close()


def test_an_answer_that_fails_is_told_and_the_next_one_comes(
    log: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The row is on the disk, the sentence on the screen, and the assistant goes on."""
    shown: list[Situation] = []
    voice = composition.silence("").voice
    helper = composition.assistant(log.with_name("j.walesong"), None, shown.append, voice)
    helper.start()
    assert helper.ready()
    monkeypatch.setattr(conversation, "answer", broken)
    helper.typed_and_answered("row done")
    assert (shown[-1].state.done, "Piece 1" in shown[-1].trouble) == (1, True)
    monkeypatch.undo()
    monkeypatch.setattr(wall, "RAISES", False)
    helper.typed_and_answered("row done")
    helper.stop()
    assert (shown[-1].state.done, shown[-1].trouble) == (2, "")
    assert SECRET not in log.read_text(encoding="utf-8")


def test_a_piece_that_cannot_be_replayed_leaves_the_others(
    log: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """`walesong replay` names the piece by its number and shows the rest."""
    from app.terminal import replay_command  # noqa: PLC0415 (patched here)

    path = log.with_name("j.walesong")
    with SqliteJournal.open(path) as journal:
        journal.append(knitted(3))
    monkeypatch.setattr(replay_command, "_print_piece", broken)
    assert main(["replay", str(path)]) == 0
    assert "Piece 1 cannot be shown" in capsys.readouterr().err


def test_a_command_that_goes_wrong_prints_no_traceback(
    log: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Whatever goes wrong inside a sub-command is one sentence and an exit code of its own."""
    from app.terminal import check_command  # noqa: PLC0415 (patched here)

    monkeypatch.setattr(check_command, "_check", broken)
    assert main(["check", str(log)]) == 5
    said = capsys.readouterr().err
    assert said.count("\n") == 1
    assert "That cannot be done" in said
    assert SECRET not in said
