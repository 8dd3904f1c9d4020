"""A row put together of keys: what it says, what it takes, what is not taken."""

from __future__ import annotations

from queue import SimpleQueue

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app import wording
from app.display.keyed_row import keyed_view, said_row
from app.language import phrase_book
from app.pieces.pattern_cache import course_of
from app.pieces.values import NewPiece
from app.session.clock import SetClock
from app.session.conversation import Conversation
from app.window.desk import Hands, furnish
from engine.compose.row_keys import KEYS, KeyedRow, Misplaced, row_of
from engine.composing import SayRow
from engine.journal.memory import MemoryJournal
from engine.judging.said_rows import fit_of
from speech.words.said_rows import rows_said
from tests.app.at_the_needle import Needle

WORDS = furnish(Hands(), SimpleQueue(), wording=wording.reply_wording).words


class MadeUp(Needle):
    """A piece without a pattern on the needle."""

    def __init__(self, cast_on: int | None = 50) -> None:
        """Cast on."""
        new = NewPiece("A mat", cast_on=cast_on)
        self.talk = Conversation.begin(MemoryJournal(), new, SetClock())
        self.replies, self.heard = (), None


def touched(keys: str) -> KeyedRow:
    """Touch keys one after the other; each must be taken."""
    row = row_of(keys.split())
    assert row.keys == tuple(keys.split())
    return row


@pytest.mark.parametrize(
    ("keys", "text", "after"),
    [
        ("k 2 p 2 k 4 6", "k2, p2, k46", 50),
        ("k k p p k 4 6", "k2, p2, k46", 50),
        ("star k 2 p 2 last 2 k 2", "*k2, p2; rep from * to last 2 sts, k2", 50),
        ("k end", "k to end", 50),
        ("k ssk k last 3 k2tog k", "k1, ssk, k to last 3 sts, k2tog, k1", 48),
        ("k star k2tog yo last 1 k", "k1, *k2tog, yo; rep from * to last st, k1", 50),
        ("k m1 k last 1 m1 k", "k1, m1, k to last st, m1, k1", 52),
        ("sl k 4 7 yo yo k2tog 1", "sl1, k47, yo twice, k2tog", 51),
        ("k 4 6 k2tog k2tog", "k46, k2tog twice", 48),
        ("k2tog end", "k2tog to end", 25),
        ("k k 4 k 4 5", "k1, k4, k45", 50),
    ],
)
def test_keys_are_written_and_counted_as_the_trade_does(keys: str, text: str, after: int) -> None:
    """What is touched is a written row; the stitches after it are counted by hand."""
    row = touched(keys)
    assert row.text == text
    assert row.lacks is None
    assert fit_of(text, 50, course_of).after == after


@pytest.mark.parametrize(
    ("keys", "key", "why"),
    [
        ("", "2", Misplaced.STEP_FIRST),
        ("star", "2", Misplaced.STEP_FIRST),
        ("k", "0", Misplaced.NO_SUCH_NUMBER),
        ("k 9 9 9 9", "9", Misplaced.NO_SUCH_NUMBER),
        ("k last", "0", Misplaced.NO_SUCH_NUMBER),
        ("k last", "k", Misplaced.HOW_MANY_LEFT),
        ("k last", "end", Misplaced.HOW_MANY_LEFT),
        ("k end", "k", Misplaced.AT_ITS_END),
        ("k end", "2", Misplaced.AT_ITS_END),
        ("star", "star", Misplaced.REPEAT_IS_OPEN),
        ("star", "end", Misplaced.NOTHING_REPEATED),
        ("", "last", Misplaced.NOTHING_REPEATED),
        ("k last 2", "end", Misplaced.NOTHING_REPEATED),
        ("k 2 p 2", "end", Misplaced.WHERE_FROM),
        ("k k p p", "last", Misplaced.WHERE_FROM),
    ],
)
def test_a_key_that_means_nothing_or_two_things_is_not_taken(
    keys: str, key: str, why: Misplaced
) -> None:
    """A number without a step, a repeat without an end and a repeat of unknown steps: refused."""
    row = touched(keys)
    assert row.and_key(key) is why


def test_a_row_ends_somewhere() -> None:
    """So many keys are a row at most; what cannot be of a damaged file is left out."""
    assert row_of(["k", "p"] * 150).and_key("k") is Misplaced.TOO_LONG
    assert row_of(["2", "k", "nonsense", "3", "end", "p"]).text == "*k3; rep from * to end"


@given(st.lists(st.sampled_from(KEYS), max_size=14))
def test_the_last_key_is_taken_back_whatever_it_was(keys: list[str]) -> None:
    """Undo of a key gives exactly the row before it; a whole row can be said in its own words."""
    row = row_of(keys)
    for key in KEYS:
        longer = row.and_key(key)
        if isinstance(longer, KeyedRow):
            assert longer.without_last() == row
    if row.lacks is None:
        assert fit_of(row.text, 50, course_of).instruction is not None or row.text


@given(st.lists(st.sampled_from(KEYS), max_size=12))
def test_its_words_say_the_same_row(keys: list[str]) -> None:
    """The words of a row, said behind "this row", have a reading that works like the keys do."""
    row = row_of(keys)
    if row.lacks is not None:
        return
    said = said_row(row, MadeUp().situation(), WORDS)
    by_keys = fit_of(row.text, 50, course_of)
    if not by_keys.fits:
        return
    readings = rows_said(f"this row {said.words}", phrase_book())
    fits = [fit_of(one.text, 50, course_of) for one in readings if isinstance(one, SayRow)]
    assert by_keys.after in {one.after for one in fits}, (row.text, said.words)


@pytest.mark.parametrize(
    ("keys", "line", "remark"),
    [
        ("k 2 p 2", "k2, p2: 4 of 50", "46 stitches left."),
        ("star k 2 p 2", "*k2, p2: 4 of 50", "After * comes"),
        ("star k 2 p 2 end", "*k2, p2; rep from * to end: 48 of 50", "2 stitches left."),
        ("k 4 9 p 2", "k49, p2: 51 of 50", "1 stitch too many."),
        ("k end", "k to end: 50 of 50", "It fits: then 50."),
        ("k 2 k last", "k2, k to last … sts", "How many are left"),
        ("star yo end", "*yo; rep from * to end", "takes no stitch"),
    ],
)
def test_it_is_read_back_with_its_sum(keys: str, line: str, remark: str) -> None:
    """As it grows the row is shown with what it takes of the stitches, and what it lacks."""
    view = keyed_view(row_of(keys.split()), MadeUp().situation(), WORDS)
    assert view.line == line
    assert remark in view.remark
    assert view.fits == remark.startswith("It fits")


def test_without_a_count_nothing_is_made_up() -> None:
    """Where nobody knows how many stitches there are, no sum is shown, and the remedy is said."""
    view = keyed_view(row_of(["k", "2"]), MadeUp(None).situation(), WORDS)
    assert view.line == "k2"
    assert "i count fifty stitches" in view.remark
