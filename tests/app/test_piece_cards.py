"""The list of pieces as cards, and when a piece was worked on as one says it."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone

import pytest

from app.display.piece_cards import card_width, cards_of, drawing_of
from app.display.when import when_words
from app.drawings.whole import whole_of
from app.pieces.values import PieceSummary
from engine.commands import RowsDone
from tests.app.at_the_needle import Needle
from tests.app.test_board_view import words

NOW = datetime(2026, 3, 12, 20, 0, tzinfo=UTC)  # a Thursday


@pytest.mark.parametrize(
    ("wall", "said"),
    [
        ("2026-03-12T19:00:00Z", "this evening"),
        ("2026-03-12T06:00:00Z", "this morning"),
        ("2026-03-12T02:00:00Z", "last night"),
        ("2026-03-11T18:30:00Z", "yesterday evening"),
        ("2026-03-11T13:30:00Z", "yesterday afternoon"),
        ("2026-03-09T13:30:00Z", "on Monday"),
        ("2026-03-03T13:30:00Z", "1 week ago"),
        ("2026-02-13T13:30:00Z", "3 weeks ago"),
        ("2026-01-03T13:30:00Z", "in January"),
        ("2025-11-03T13:30:00Z", "in November 2025"),
        ("2027-01-01T13:30:00Z", "this afternoon"),
        ("yesterday", ""),
    ],
)
def test_when_in_words(wall: str, said: str) -> None:
    """Today, yesterday, a day of the week, weeks, months; a clock set wrong is no future."""
    assert when_words(wall, NOW, words()) == said


def test_the_hour_is_that_of_the_wall() -> None:
    """What was evening where she sits is evening, whatever it was in Greenwich."""
    there = NOW.astimezone(timezone(timedelta(hours=-9)))
    assert when_words("2026-03-12T04:00:00Z", there, words()) == "yesterday evening"


def test_cards_are_in_order_and_speak_of_rounds() -> None:
    """The one in hand first, then the latest; finished ones last, never "on the needle"."""
    pieces = (
        PieceSummary("a", "Cap", "", 31, finished=False, last_wall="2026-03-01T10:00:00Z",
                     number=1, rounds=True),
        PieceSummary("b", "Sleeve", "", 1, finished=True, last_wall="2026-03-11T18:30:00Z",
                     number=2),
        PieceSummary("c", "Scarf", "", 9, finished=False, last_wall="2026-03-02T10:00:00Z",
                     number=3),
    )  # fmt: skip
    told = cards_of(pieces, "b", NOW, words())
    assert [one.id for one in told] == ["c", "a", "b"]
    assert told[1].remark == "31 rounds done; 1 week ago"
    assert told[2].remark == "finished, 1 row; yesterday evening"
    here = cards_of(pieces, "a", NOW, words())
    assert here[0].remark == "31 rounds done; on the needle now"


def test_a_card_is_as_high_as_the_piece_will_be() -> None:
    """The height stands for all rows, those still to come included; a finished one fills it."""
    needle = Needle("bottle-sleeve").say("16 rows done", "measure 6 cm", "4 rows done")
    drawing = drawing_of(needle.situation().portrait, words())
    assert len(drawing.fabric.done) == 21  # the cast-on and 20 rows
    assert 40 <= drawing.rows <= 60
    assert drawing.tape is not None
    assert not drawing.fabric.off


def test_a_long_piece_is_thinned_to_its_share() -> None:
    """Of many rows and stitches every so manieth is drawn, the cast-on and the last row too."""
    text = """
title = "Long"
id = "long"
cast_on = 200
[[section]]
id = "body"
title = "Body"
rows = ["Row 1 (RS): k to end", "Row 2 (WS): p to end", "Rep rows 1 and 2 900 times more"]
"""
    needle = Needle(text)
    for _ in range(38):
        needle.hear((RowsDone(20),))
    fabric = whole_of(needle.situation().state, needle.situation().course, (60, 80))
    assert len(fabric.done) == 61
    assert {len(row.stitches) for row in fabric.done} == {80}
    assert (fabric.done[1].number, fabric.done[-1].number) == (1, 760)


def test_cards_grow_while_all_of_them_are_seen() -> None:
    """Few cards are large, more are smaller, and very many stay as small as can be read."""
    few = card_width([3], (320.0, 160.0), 58.0, 15.0)
    more = card_width([9], (320.0, 160.0), 58.0, 15.0)
    assert few > more > 58.0
    assert card_width([90], (320.0, 160.0), 58.0, 15.0) == 58.0
