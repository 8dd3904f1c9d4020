"""A piece that is made up as it is knitted: rows said, followed, changed, taken back and kept."""

from __future__ import annotations

from typing import TYPE_CHECKING

from app.language import phrase_book
from app.pieces.values import NewPiece
from app.session.clock import SetClock
from app.session.conversation import Conversation
from app.session.opening import resume
from engine.commands import Source
from engine.composing import SayRow
from engine.journal.memory import MemoryJournal
from engine.journal.sqlite import SqliteJournal
from engine.replies import Say
from engine.said_events import RowBegun, RowMended, RowSaid, RowsRepeated
from speech.words.said_rows import understood

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from app.session.outcome import Outcome

RIB = ("this row knit two purl two to the last two knit two", "row done",
       "this row purl two knit two to the last two purl two", "row done")  # fmt: skip


def begun(cast_on: int | None = 50) -> Conversation:
    """Return the talk about a piece without a pattern."""
    return Conversation.begin(MemoryJournal(), NewPiece("A mat", cast_on=cast_on), SetClock())


def say(talk: Conversation, *sentences: str) -> Outcome:
    """Say sentences one after the other and return what came of the last; each has a meaning."""
    outcome: Outcome | None = None
    for words in sentences:
        meant = understood(words, phrase_book(), saying=talk.saying)
        assert meant, words
        outcome = talk.hear(meant, Source.TYPED)
    assert outcome is not None
    return outcome


def rows_of(talk: Conversation, rows: Sequence[int]) -> list[str]:
    """Return rows as they are written."""
    return [str(talk.course.where(talk.state.loops_ended, row).instruction) for row in rows]


def last_say(outcome: Outcome) -> Say:
    """Return the last thing that was answered."""
    return outcome.replies[-1].say


def test_a_row_that_fits_is_read_back_with_its_stitches() -> None:
    """Of 50 stitches "knit two, purl two to the last two, knit two" uses all, and is written."""
    talk = begun()
    outcome = say(talk, RIB[0])
    assert outcome.replies[0].say is Say.ROW_SAID
    assert outcome.replies[0].value("count") == 50
    assert outcome.written[-1].event == RowSaid(
        1, 1, "*k2, p2; rep from * to last 2 sts, k2", None, in_round=False
    )


def test_what_leaves_stitches_is_asked_about_and_can_go_on() -> None:
    """What is over is told by its sum, 2 of 50; "knit two" then completes the row."""
    talk = begun()
    outcome = say(talk, "this row knit two purl two to the end")
    assert last_say(outcome) is Say.ROW_LEAVES
    assert outcome.replies[-1].value("count") == 2
    assert isinstance(outcome.written[-1].event, RowBegun)
    assert say(talk, "knit two").replies[0].say is Say.ROW_SAID
    assert talk.state.saying is None


def test_the_needle_tells_where_a_repeat_begins() -> None:
    """On 53 stitches it begins behind the first; on 55 in front of it; on 51 nothing fits."""
    words = "this row knit one, knit two, purl two, to the end"
    for stitches, written in ((53, "k1, *k2, p2; rep from * to end"),
                              (55, "*k1, k2, p2; rep from * to end")):  # fmt: skip
        talk = begun(stitches)
        say(talk, words)
        assert rows_of(talk, [1]) == [written]
    assert last_say(say(begun(51), words)) is Say.ROW_LEAVES


def test_two_rows_that_fit_are_asked_about() -> None:
    """On 65 stitches both beginnings fit: nothing is written before she says which."""
    talk = begun(65)
    outcome = say(talk, "this row knit one, knit two, purl two, to the end")
    assert outcome.replies[-1].say is Say.ASK_ROW
    assert not outcome.written
    say(talk, "no", "yes")
    assert rows_of(talk, [1]) == ["*k1, k2, p2; rep from * to end"]


def test_a_row_that_cannot_be_changes_nothing() -> None:
    """More stitches than there are, a row that is done, an unknown one: a reason, no record."""
    talk = begun()
    say(talk, *RIB)
    before = talk.state
    for words, why in (
        ("this row knit sixty", Say.ROW_TAKES_MORE),
        ("this row as row nine", Say.ROW_UNKNOWN),
        ("repeat rows eight and nine", Say.NO_ROWS_TO_REPEAT),
        ("row nine was purl", Say.ROW_NOT_DONE),
        ("row one was knit two together, knit to the end", Say.ROW_DOES_NOT_FIT),
        ("decrease one each end every fourth row", Say.SHAPE_HOW_OFTEN),
        ("cast on sixty stitches", Say.CAST_ON_IS_PAST),
        ("rows one to two knit", Say.ROW_IS_DONE),
    ):
        outcome = say(talk, words)
        assert (last_say(outcome), outcome.written) == (why, ()), words
        assert talk.state == before


def test_without_a_count_it_asks_for_one() -> None:
    """Nobody can check a row on a needle of unknown stitches; the cast-on or a count helps."""
    talk = begun(None)
    assert last_say(say(talk, "this row knit")) is Say.ROW_NEEDS_COUNT
    say(talk, "cast on twenty stitches")
    assert say(talk, "this row knit").replies[0].value("count") == 20
    other = begun(None)
    say(
        other,
        "five rows done",
        "i count 31 stitches",
        "this row knit one purl one to the last one knit one",
    )
    assert other.course.where({}, 6).after == 31


def test_rows_said_are_followed_as_a_pattern() -> None:
    """Repeats until a measure go on by themselves, shaping is announced before its row."""
    talk = begun()
    say(talk, *RIB, "repeat the last two rows until it measures eleven centimetres")
    assert rows_of(talk, [3, 6]) == rows_of(talk, [1, 2])
    place = talk.course.where({}, 3)
    assert place.open_loop is not None
    assert str(place.open_loop.target) == "11 cm"
    say(talk, "two rows done", "part done", "yes")
    say(talk, "this row knit", "row done", "this row purl", "row done",
        "decrease one each end every fourth row five times")  # fmt: skip
    change = talk.course.next_change(talk.state.loops_ended, talk.state.working)
    assert change is not None
    assert change.row == talk.state.working + 3
    assert talk.course.where(talk.state.loops_ended, talk.state.working + 19).after == 40
    say(talk, "two rows done")
    assert say(talk, "row done").replies[-1].say is Say.NEXT_IS


def test_again_works_the_last_repeat() -> None:
    """A repeat of so many times is worked once more by "those rows again"."""
    talk = begun()
    say(talk, *RIB, "repeat the last two rows twice")
    say(talk, "four rows done", "those rows again")
    assert talk.state.said[-1] == RowsRepeated(7, 1, 2, 1, None, None)
    assert rows_of(talk, [7, 8]) == rows_of(talk, [1, 2])


def test_another_row_changes_it_from_there() -> None:
    """A row said in the middle of a repeat ends it; what was knitted stays as it was."""
    talk = begun()
    say(talk, *RIB, "repeat the last two rows until it measures eleven centimetres")
    say(talk, "three rows done", "this row purl")
    assert rows_of(talk, [5, 6]) == [rows_of(talk, [1])[0], "p to end"]
    say(talk, "take that back")
    assert rows_of(talk, [6]) == rows_of(talk, [2])


def test_a_repeat_is_read_back_with_how_often_or_until_when() -> None:
    """What could be misheard is in the answer: so many times, or the length to knit to."""
    talk = begun()
    say(talk, "this row knit", "row done", "this row purl", "row done")
    assert last_say(say(talk, "repeat the last two rows twice more")) is Say.ROWS_REPEATED_TIMES
    outcome = say(talk, "repeat the last two rows until it measures sixteen centimetres")
    assert last_say(outcome) is Say.ROWS_REPEATED_UNTIL
    assert str(outcome.replies[-1].value("length")) == "16 cm"


def test_a_flat_piece_stays_flat_where_round_was_only_heard() -> None:
    """Row heard as round: where row may have been said too, the piece is worked on flat."""
    talk = begun()
    say(talk, "this row knit two purl two to the last two knit two", "row done")
    text = "*p2, k2; rep from * to last 2 sts, p2"
    talk.hear(
        (SayRow(text, words="a", in_round=True), SayRow(text, words="a", behind=2.0)), Source.VOICE
    )
    said = talk.state.said[-1]
    assert isinstance(said, RowSaid)
    assert not said.in_round
    assert not talk.course.in_the_round


def test_a_mistake_in_the_record_is_mended() -> None:
    """Saying "row two was purl" changes how row 2 is written, and no other row or stitch."""
    talk = begun()
    say(talk, *RIB, "repeat the last two rows until it measures eleven centimetres",
        "four rows done", "row two was purl")  # fmt: skip
    assert talk.records[-1].event == RowMended(2, "p to end")
    assert rows_of(talk, [1, 2, 4])[1:] == ["p to end", "*p2, k2; rep from * to last 2 sts, p2"]
    say(talk, "take that back")
    assert not talk.state.mended


def test_a_counted_needle_counts() -> None:
    """Counted one short, rows are checked against what was counted, not what should be there."""
    talk = begun()
    say(
        talk,
        *RIB,
        "i count 49 stitches",
        "this row knit one purl one to the last one knit one",
    )
    assert rows_of(talk, [3]) == ["*k1, p1; rep from * to last st, k1"]
    assert talk.course.where({}, 3).after == 49


def test_rows_of_a_written_pattern_can_be_said_differently() -> None:
    """From the row that is said on she is on her own; the rows before stay those of the pattern."""
    from tests.app.test_conversation import sleeve  # noqa: PLC0415 (the demo's piece)

    talk = Conversation.begin(MemoryJournal(), sleeve(), SetClock())
    say(talk, "five rows done")
    written = rows_of(talk, range(1, 6))
    say(talk, "this row purl", "row done", "this row as row one", "row done")
    assert rows_of(talk, range(1, 8)) == [*written, "p to end", written[0]]


def test_the_row_so_far_is_kept(tmp_path: Path) -> None:
    """Closed in the middle of a row that is being said, it is there again, and more can be said."""
    path = tmp_path / "j.walesong"
    talk = Conversation.begin(SqliteJournal.open(path), NewPiece("A mat", cast_on=50), SetClock())
    say(talk, "this row knit one, slip slip knit")
    talk.close()
    again = resume(SqliteJournal.open(path), SetClock(), None)
    assert again is not None
    assert Say.ROW_SO_FAR in [one.say for one in again.greet()]
    say(again, "knit to the last three", "knit two together, knit one")
    assert rows_of(again, [1]) == ["k1, ssk, k to last 3 sts, k2tog, k1"]
    again.close()


def test_a_row_done_that_was_said_in_part() -> None:
    """It is asked about; after a yes the rest of the row is as unknown as it is."""
    talk = begun()
    outcome = say(talk, "this row knit ten", "row done")
    assert last_say(outcome) is Say.ASK_ROW_LEAVES
    say(talk, "yes")
    assert talk.state.done == 1
    assert rows_of(talk, [1]) == ["k10, work to end"]


def test_a_row_said_while_a_question_stands_is_taken() -> None:
    """It is another command: the question is put away, and a later yes answers nothing."""
    talk = begun()
    say(talk, *RIB, "ripped back one row")
    assert say(talk, "this row knit").replies[0].say is Say.ROW_SAID
    assert last_say(say(talk, "yes")) is Say.NO_QUESTION
    assert talk.state.done == 2


def test_each_piece_has_its_own_rows() -> None:
    """What is said of one piece is not said of the other."""
    first = begun()
    say(first, "this row knit ten")
    second = first.cast_on(NewPiece("Another", cast_on=30), Source.TYPED)
    say(second, "this row purl")
    assert second.state.said
    assert first.about(first.piece).state.saying is not None
    assert not first.about(first.piece).state.said
