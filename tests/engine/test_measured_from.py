"""From which row a part "until it measures" is measured, as the pattern's words say."""

from __future__ import annotations

import pytest

from app.pieces.pattern_cache import document_of
from engine.facts.distance import measured_from, target
from engine.pattern import PatternDocument
from engine.state import PieceState

RIB, BODY = 8, 40
"""Rows of rib, and rows done when the body was declared long enough."""


def piece(last: str) -> PatternDocument:
    """Return a back whose last part, after rib, body and armhole bind-offs, is `last`."""
    read = document_of(
        'title = "Back"\ncast_on = 80\nrows = [\n'
        f'"Work {RIB} rows in k1, p1 rib",\n'
        '"Work in st st until piece measures 12 cm, ending with a WS row",\n'
        '"BO 5 sts at beg of next 2 rows. 70 sts",\n'
        '"Dec 1 st each end of every RS row 5 times. 60 sts",\n'
        f'"{last}",\n"BO all sts",\n]\n'
    )
    assert isinstance(read, PatternDocument), read
    return read


@pytest.mark.parametrize(
    ("words", "row"),
    [
        ("Work even until armhole measures 8 cm", BODY),
        ("Work even until piece measures 8 cm from beg of armhole", BODY),
        ("Work even until piece measures 30 cm", 0),
        ("Work even until back measures 30 cm from cast-on edge", 0),
        ("Work even for 8 cm", BODY + 2 + 9),
        ("Work even until yoke measures 8 cm", BODY + 2 + 9),
        ("Work even until piece measures 8 cm from underarm", BODY),
    ],
)
@pytest.mark.parametrize("further", [0, 1, 6])
def test_a_length_counts_from_where_the_words_say(words: str, row: int, further: int) -> None:
    """An armhole from its first bind-off, a part of its own length from its own beginning."""
    course = piece(words).course()
    first, second = course.loops
    done = BODY + 2 + 10 + further
    state = PieceState(begun=True, cast_on=80, done=done, ended=((first.id, BODY),))
    assert course.where(state.loops_ended, done + 1).open_loop == second
    assert measured_from(state, course, second) == row
    wanted = target(state, course)
    assert wanted is not None
    assert wanted.from_row == row


def test_only_the_cast_on_edge_is_below_the_first_part() -> None:
    """The body itself counts from the cast-on, rib and all."""
    course = piece("Work even until armhole measures 8 cm").course()
    state = PieceState(begun=True, cast_on=80, done=20)
    assert measured_from(state, course, course.loops[0]) == 0
