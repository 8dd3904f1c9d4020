"""The demo's pieces invented aloud: what is written out of them is the pattern they have."""

from __future__ import annotations

from typing import TYPE_CHECKING

from app import resources
from app.command_line import main
from app.language import phrase_book
from app.pieces.pattern_cache import course_of, document_of
from app.pieces.same_again import another
from app.pieces.values import NewPiece
from app.session.clock import SetClock
from app.session.conversation import Conversation
from engine.commands import Source
from engine.compose.written_out import ends_of_parts, written_out
from engine.journal.sqlite import SqliteJournal
from engine.pattern import PatternDocument
from speech.words.said_rows import understood

if TYPE_CHECKING:
    from pathlib import Path

    import pytest

    from engine.pattern import Course

RIB = ("this row knit two purl two to the last two knit two", "row done",
       "this row purl two knit two to the last two purl two", "row done")  # fmt: skip
MUG_SLEEVE = (
    "cast on fifty stitches", *RIB, "repeat the last two rows once more", "two rows done",
    "this row knit", "row done", "this row knit one, purl to the last stitch, knit one", "row done",
    "repeat the last two rows until it measures six point five centimetres", "twelve rows done",
    "measure 6.5 cm", "part done",
    *RIB, "repeat the last two rows once more", "two rows done",
    "this row bind off in pattern", "row done",
)  # fmt: skip
CREW_CAP = (
    "cast on eighty eight stitches", "this round knit two purl two around", "round done",
    "repeat the last round until it measures four centimetres", "eleven rounds done",
    "measure four centimetres", "part done", "this round knit", "round done",
    "repeat the last round until it measures thirteen centimetres", "25 rounds done",
    "measure thirteen centimetres", "part done",
    *(word for plain in ("nine", "eight", "seven", "six", "five", "four", "three", "two", "one")
      for word in (f"this round knit {plain}, knit two together, all the way around", "round done",
                   "this round knit", "round done")),
    "this round knit two together all the way around", "round done",
)  # fmt: skip


def knitted(path: Path, name: str, sentences: tuple[str, ...]) -> Conversation:
    """Return the talk about a piece that was made up by saying these sentences."""
    talk = Conversation.begin(SqliteJournal.open(path), NewPiece(name), SetClock())
    for words in sentences:
        meant = understood(words, phrase_book(), saying=talk.saying)
        assert meant, words
        before = talk.state
        talk.hear(meant, Source.TYPED)
        assert talk.state != before, words
    return talk


def course_from(text: str) -> Course:
    """Return the course of a pattern's text; it has to add up."""
    document = document_of(text)
    assert isinstance(document, PatternDocument), document
    course = document.course()
    assert not course.problems
    return course


def rows_of(course: Course, ends: tuple[int, ...], rows: int) -> list[tuple[object, ...]]:
    """Return words, side and stitches of every row, its parts ended after these rows."""
    ended = {loop.id: row for loop, row in zip(course.loops, ends, strict=True)}
    places = [course.where(ended, row) for row in range(1, rows + 1)]
    return [(one.row, str(one.instruction), one.side, one.before, one.after) for one in places]


def test_the_demo_invented_aloud_is_the_demo(tmp_path: Path) -> None:
    """Mug sleeve and crew cap, made up row by row, are written as in the patterns shipped."""
    for name, sentences in (("mug-sleeve", MUG_SLEEVE), ("crew-cap", CREW_CAP)):
        talk = knitted(tmp_path / f"{name}.walesong", name, sentences)
        text = written_out(talk.state, talk.course)
        ends = ends_of_parts(talk.state, talk.course)
        made, shipped = (
            course_from(text),
            course_from(resources.text(f"shared/patterns/{name}.toml")),
        )
        assert rows_of(made, ends, talk.state.done) == rows_of(shipped, ends, talk.state.done)
        assert [str(loop.target) for loop in made.loops] == [
            str(loop.target) for loop in shipped.loops
        ]
        talk.close()


def test_the_same_again_knits_what_was_made_up(tmp_path: Path) -> None:
    """Another one like it follows the rows that were said, without a word about them."""
    talk = knitted(tmp_path / "j.walesong", "A mat", MUG_SLEEVE)
    new = another(talk.state, {"A mat"})
    assert new.pattern == written_out(talk.state, talk.course)
    second = talk.cast_on(new, Source.TYPED)
    assert str(second.course.where({}, 1).instruction) == str(
        course_of(talk.state).where({}, 1).instruction
    )
    talk.close()


def test_pattern_from_writes_a_file_that_adds_up(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The command writes it, shows it beside the knitting, and never over a file unasked."""
    journal, out = tmp_path / "j.walesong", tmp_path / "sleeve.toml"
    knitted(journal, "Sleeve", MUG_SLEEVE).close()
    common = ["pattern-from", "sleeve", "--journal", str(journal)]
    assert main([*common, "--to", str(out)]) == 0
    assert main(["check", str(out)]) == 0
    assert main([*common, "--to", str(out)]) == 3
    capsys.readouterr()
    assert main([*common, "--beside"]) == 0
    assert len(capsys.readouterr().out.splitlines()) == 23
    assert main(["pattern-from", "hat", "--journal", str(journal)]) == 2
    assert "there are: Sleeve" in capsys.readouterr().err
    assert main(["pattern-from", "sleeve", "--journal", str(tmp_path / "none")]) == 4
