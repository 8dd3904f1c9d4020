"""Taking a piece up again: the row, the place in it, the mirror image, and a look after weeks."""

from __future__ import annotations

from dataclasses import replace

import pytest

from app import resources
from app.language import phrase_book
from app.pieces.casting_on import new_piece
from app.pieces.same_again import another
from app.pieces.values import NewPiece
from app.session.clock import SetClock
from app.session.conversation import Conversation
from app.session.greeting import days_between
from app.wording import reply_wording
from engine.commands import Source
from engine.journal.memory import MemoryJournal
from engine.replies import Reply, Say
from speech.words.understand import understand

FRONT = """
title = "Left front"
cast_on = 40
rows = [
  "Work 8 rows in k1, p1 rib",
  "Dec 1 st at armhole edge of next and every foll alt row 5 times. 35 sts",
  "Work even until piece measures 20 cm",
  "BO all sts",
]
"""


class Home:
    """A journal and a clock; each evening is a conversation of its own."""

    def __init__(self, pattern: str) -> None:
        new = new_piece(pattern, None)
        assert isinstance(new, NewPiece)
        self.clock = SetClock()
        self.journal = MemoryJournal()
        self.talk = Conversation.begin(self.journal, new, self.clock)

    def says(self, *sentences: str) -> tuple[Reply, ...]:
        """Type sentences and return the last answer."""
        replies: tuple[Reply, ...] = ()
        for words in sentences:
            replies = self.talk.hear(understand(words, phrase_book()), Source.TYPED).replies
        return replies

    def again(self, date: str) -> tuple[Reply, ...]:
        """Take the piece up on another day and return the greeting."""
        self.clock.date = date
        self.talk = Conversation(self.journal, self.talk.piece, self.clock)
        return self.talk.greet()


def told(replies: tuple[Reply, ...]) -> list[Say]:
    """Return what replies say."""
    return [one.say for one in replies]


def test_the_next_evening_only_the_row_is_said() -> None:
    """A day or two away needs no look at the fabric."""
    home = Home(FRONT)
    home.says("12 rows done")
    assert told(home.again("2026-01-03T19:00:00Z")) == [Say.WELCOME_BACK]


@pytest.mark.parametrize(
    ("rows", "look", "words"),
    [
        (5, Say.COUNT_PLEASE, "Count, please: forty."),
        (9, Say.SHAPED_LAST, "The last row, nine, was shaped."),
        (12, Say.SHAPED_BELOW, "Last shaping one row below the needle."),
        (20, Say.SHAPED_BELOW, "Last shaping three rows below the needle."),
    ],
)
def test_after_weeks_there_is_something_to_check_by_eye(rows: int, look: Say, words: str) -> None:
    """The last decrease, so many rows below the needle, else the stitches to count."""
    home = Home(FRONT)
    home.says(f"{rows} rows done")
    greeting = home.again("2026-02-01T19:00:00Z")
    assert told(greeting) == [Say.WELCOME_BACK, look]
    assert reply_wording().spoken(greeting[-1]) == words


def test_stopped_in_a_row_without_a_count_is_said() -> None:
    """She left in the middle and never said where: the row is told, and that it is begun."""
    home = Home(FRONT)
    home.says("3 rows done", "stopping in this row")
    assert told(home.again("2026-01-01T20:00:00Z")) == [Say.WELCOME_BACK, Say.STOPPED_SOMEWHERE]
    home.says("stopping after 23 stitches")
    assert told(home.again("2026-01-01T21:00:00Z")) == [Say.WELCOME_BACK_IN_ROW]


def test_a_mirrored_front_is_named_and_its_shaping_goes_to_the_other_edge() -> None:
    """The right front is the left one's mirror image, said at the start and before shaping."""
    home = Home(FRONT)
    home.says("8 rows done")
    new = another(home.talk.state, {"Left front"}, mirrored=True)
    assert new.name == "Right front"
    home.talk = home.talk.cast_on(new, Source.KEY)
    assert told(home.talk.greet()) == [
        Say.WELCOME_BACK,
        Say.CAST_ON_FIRST,
        Say.FIRST_ROW,
        Say.MIRRORED,
    ]
    assert told(home.says("8 rows done")) == [Say.ROWS_DONE, Say.NEXT_IS, Say.OTHER_EDGE]


@pytest.mark.parametrize(
    ("name", "taken", "mirrored", "called"),
    [
        ("Left front", {"Left front"}, True, "Right front"),
        ("Left front", {"Left front", "Right front"}, True, "Right front 2"),
        ("right mitten", {"right mitten"}, True, "left mitten"),
        ("Sleeve", {"Sleeve"}, True, "Sleeve 2"),
        ("Sleeve 2", {"Sleeve", "Sleeve 2"}, False, "Sleeve 3"),
        ("Left front", {"Left front"}, False, "Left front 2"),
    ],
)
def test_the_name_of_another(name: str, taken: set[str], *, mirrored: bool, called: str) -> None:
    """A mirror image has the other side's name, anything else the next number."""
    state = replace(Home(FRONT).talk.state, name=name)
    assert another(state, taken, mirrored=mirrored).name == called


@pytest.mark.parametrize(
    ("earlier", "later", "days"),
    [
        ("2026-01-01T12:00:00Z", "2026-01-08T12:00:00Z", 7.0),
        ("2026-01-08T12:00:00Z", "2026-01-01T12:00:00Z", 0.0),
        ("2026-01-01T12:00:00Z", "nonsense", 0.0),
        ("2026-01-01T12:00:00", "2026-01-08T12:00:00Z", 0.0),
    ],
)
def test_a_clock_that_was_set_wrong_counts_no_days(earlier: str, later: str, days: float) -> None:
    """Wall time only decides about a courtesy, and never fails."""
    assert days_between(earlier, later) == days


def test_a_plain_piece_is_greeted_as_ever() -> None:
    """The demo's mug sleeve, weeks later: its stitches are to be counted."""
    home = Home(resources.text("shared/patterns/mug-sleeve.toml"))
    home.says("10 rows done")
    assert told(home.again("2026-03-01T19:00:00Z")) == [Say.WELCOME_BACK, Say.COUNT_PLEASE]
