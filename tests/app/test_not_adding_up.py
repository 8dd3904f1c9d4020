"""A pattern that does not add up: asked before it is cast on, marked while it is knitted."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

import pytest

from app import language, resources, wording
from app.command_line import main
from app.pieces.casting_on import new_piece
from app.pieces.values import NewPiece
from app.session.assistant import Assistant
from app.session.clock import SetClock
from app.session.conversation import Conversation
from app.session.navigation import Whereabouts, lead
from app.session.ports import Silent
from engine.commands import Source
from engine.journal.memory import MemoryJournal
from engine.replies import Say
from engine.state import PieceState
from engine.talk import BeginPiece, No, Yes
from tests.app.at_the_needle import Needle
from tests.app.test_board_view import shown

if TYPE_CHECKING:
    from pathlib import Path

    from app.session.situation import Situation

SOUND = 'title = "Crew cap"\ncast_on = 40\nrows = ["Row 1: [k2, p2] to end", "Row 2: k to end"]\n'
WRONG = (
    'title = "Hut cap"\ncast_on = 42\nrows = ["Row 1: k to end", "Row 2: k to end", '
    '"Row 3: [k2, p2] to end (42 sts)", "Row 4: k to end (42 sts)"]\n'
)
"""By hand: the repeat of row 3 takes 4 stitches, and 42 is ten times 4 and 2 left over."""


def _piece(text: str) -> NewPiece:
    new = new_piece(text, None)
    assert isinstance(new, NewPiece)
    return new


STATED = (
    'title = "Hut cap"\ncast_on = 42\nrows = ["Row 1: k to end", "Row 2: k to end", '
    '"Row 3: k2tog, k to end (42 sts)", "Row 4: k to end"]\n'
)
"""By hand: the decrease leaves 41 of 42, and the line says 42."""


class Room:
    """An assistant at work on a sound piece, and what it showed."""

    def __init__(self) -> None:
        """Begin."""
        self.shown: list[Situation] = []
        self.helper = Assistant(
            lambda: Conversation.begin(MemoryJournal(), _piece(SOUND), SetClock()),
            language.phrase_book(),
            self.shown.append,
            Silent(),
        )
        self.helper.start()
        assert self.helper.ready()

    def after(self, *answers: Yes | No) -> Situation:
        """Cast on the wrong pattern by touch, answer, and return what is shown in the end."""
        self.helper.cast_on(_piece(WRONG), Source.TOUCH)
        for one in answers:
            self.helper.submit(one, Source.TOUCH)
        self.helper.stop()
        return self.shown[-1]


def test_casting_on_by_touch_says_what_is_wrong_and_asks() -> None:
    """The row that does not add up is named, and nothing is begun before an answer."""
    now = Room().after()
    assert now.state.name == "Crew cap"
    assert now.question is not None
    written = wording.reply_wording().written(now.question)
    assert "Row 3" in written
    assert "2 stitches" in written
    assert written.endswith("?")


def test_yes_casts_it_on_and_no_leaves_it() -> None:
    """The piece is begun by a yes alone; after a no the other one is still on the needle."""
    assert Room().after(Yes()).state.name == "Hut cap"
    left = Room().after(No())
    assert left.state.name == "Crew cap"
    assert len(left.pieces) == 1
    assert left.question is None


def test_by_voice_the_question_names_the_row(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Who asks for the pattern by name is told the row within the one question."""
    monkeypatch.setattr(resources, "data_folder", lambda: tmp_path)
    (tmp_path / "patterns").mkdir()
    (tmp_path / "patterns" / "cap.toml").write_text(WRONG, encoding="utf-8")
    led = lead([BeginPiece(text="hut cap")], Whereabouts(PieceState(), lambda: (), ""))
    assert [one.say for one in led.replies] == [Say.ASK_CAST_ON_FAULTY]
    assert "Row three" in wording.reply_wording().spoken(led.replies[0])


def test_the_board_keeps_a_mark() -> None:
    """From the cast-on to the end a note on the board says which row does not add up."""
    for text, marked in ((WRONG, True), (SOUND, False)):
        needle = Needle(text)
        for _ in range(2):
            notes = shown(needle).notes
            assert any("does not add up" in note.words for note in notes) is marked
            needle.say("row done")


def test_a_count_against_a_wrong_pattern_is_no_plain_right() -> None:
    """Before the wrong row a count is right; from it on the answer says what it is held against."""
    needle = Needle(STATED).say("row done", "i count 42 stitches")
    assert [one.say for one in needle.replies] == [Say.COUNT_RIGHT]
    needle.say("2 rows done", "how many stitches")
    expected = needle.replies[0].value("count")
    assert isinstance(expected, int)
    needle.say(f"i count {expected} stitches")
    assert [one.say for one in needle.replies] == [Say.COUNT_AS_FAULTY]
    for count in (expected - 1, expected + 2):
        needle.say(f"i count {count} stitches")
        if needle.talk.question is not None:
            needle.say("yes")
        said = wording.reply_wording().written(needle.replies[0])
        assert "does not add up" in said


def _knit(
    text: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, typed: str, *more: str
) -> int:
    pattern = tmp_path / "cap.toml"
    pattern.write_text(text, encoding="utf-8")
    monkeypatch.setattr("sys.stdin", io.StringIO(typed))
    journal = str(tmp_path / "j.walesong")
    return main(["knit", "--pattern", str(pattern), "--journal", journal, "--typed", *more])


def test_the_terminal_says_it_and_begins_nothing_unasked(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Without a person to ask, the sentence names the row and the way on, and nothing is begun."""
    assert _knit(WRONG, tmp_path, monkeypatch, "row done\n") == 1
    said = capsys.readouterr().err
    assert "Row 3" in said
    assert "--all-the-same" in said
    assert not (tmp_path / "j.walesong").exists()
    assert _knit(WRONG, tmp_path, monkeypatch, "row done\n", "--all-the-same") == 0
    assert _knit(WRONG, tmp_path, monkeypatch, "row done\n") == 0  # it is begun: nothing to ask


class Person(io.StringIO):
    """A keyboard with somebody at it."""

    def isatty(self) -> bool:
        """Say so."""
        return True


@pytest.mark.parametrize(("answer", "begun"), [("yes\n", True), ("no\n", False), ("", False)])
def test_the_terminal_asks_a_person(
    answer: str, *, begun: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """At a keyboard it is asked; only a yes casts on."""
    pattern = tmp_path / "cap.toml"
    pattern.write_text(WRONG, encoding="utf-8")
    monkeypatch.setattr("sys.stdin", Person(answer))
    journal = tmp_path / "j.walesong"
    main(["knit", "--pattern", str(pattern), "--journal", str(journal), "--typed"])
    assert journal.exists() is begun
