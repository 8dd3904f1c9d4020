"""What the order's screen shows: values of the demo's order, without a window."""

from __future__ import annotations

from dataclasses import replace
from queue import SimpleQueue
from typing import TYPE_CHECKING

from app import resources
from app.display.order_board import board_lines, order_board, ranges
from app.display.theme import read_theme
from app.pieces.order_words import ready_lines
from app.session.order_look import OrderLook
from app.window.desk import Hands, furnish
from app.wording import reply_wording
from engine.stages import Stage, Trait
from tests.app.ordered import demo_look, demo_looks

if TYPE_CHECKING:
    from app.display.screen_words import ScreenWording


def words() -> ScreenWording:
    """Return the words of the screens."""
    return furnish(Hands(), SimpleQueue(), wording=reply_wording).words


def test_stages_hold_every_piece_once() -> None:
    """The blocks of all stages are the pieces of the order, spares too, each in its colour."""
    board = order_board(demo_look(), words())
    assert board.head == "31 of 66 knitted, 30 packed, due 2026-04-05"
    assert {row.name: row.count for row in board.stages if row.count} == {
        "to do": 31,
        "begun": 4,
        "drying": 1,
        "packed": 30,
    }
    assert all(sum(many for *_, many in row.parts) == row.count for row in board.stages)
    assert {colour for row in board.stages for _, colour, _ in row.parts} == {"grey", "blue"}


def test_the_odd_piece_lies_outside_its_band_and_is_told_in_words() -> None:
    """Of all cards only that of the fifth bottle sleeve is odd: too long, too heavy, why."""
    board = order_board(demo_look(), words())
    cards = [card for group in board.groups for card in group.cards]
    (odd,) = [card for card in cards if card.odd]
    assert (odd.number, odd.stage_words) == (31, "packed, odd")
    outside = {mark.trait for mark in odd.marks if not mark.within}
    assert outside == {Trait.LENGTH, Trait.WEIGHT}
    assert all(abs(mark.off) <= 1 for mark in odd.marks if mark.within)
    assert all(mark.off > 1 for mark in odd.marks if not mark.within)
    (told,) = board.groups[1].odd
    assert told.startswith("Bottle sleeve 31")
    assert "new needle at row 30" in told
    assert all(mark.within for card in cards if not card.odd for mark in card.marks)


def test_the_day_and_what_is_next_are_those_of_the_command() -> None:
    """Nothing is worked out anew: the sentences are those that `walesong order` prints."""
    look = demo_look()
    assert look.view is not None
    board = order_board(look, words())
    assert board.ready == tuple(ready_lines(look.view))
    assert board.day is not None
    days = look.view.ready.days
    assert days is not None
    assert (board.day.low, board.day.best, board.day.high) == (days.low, days.best, days.high)
    assert board.next_number == 58
    assert "Crew cap 58" in board.next
    assert any(card.number == 58 and card.stage is None for card in board.groups[3].cards)


def test_what_is_known_at_once_is_shown_at_once() -> None:
    """Before pieces are compared and days simulated the stages stand there, and that more comes."""
    first, second, last = demo_looks()
    early = order_board(first, words())
    assert early.stages == order_board(last, words()).stages
    assert early.ready == ("Hours, day and yarn are being worked out \u2026",)
    assert early.day is None
    assert not any(card.marks for group in early.groups for card in group.cards)
    assert any(card.marks for group in order_board(second, words()).groups for card in group.cards)


def test_without_an_order_one_sentence_says_how_to_begin() -> None:
    """A journal without an order, one that is being looked at, and one that cannot be read."""
    none = order_board(OrderLook(batches=()), words())
    assert "There is no order" in none.sentence
    assert "walesong order begin" in none.sentence
    assert not none.groups
    assert order_board(None, words()).sentence == "The order is being looked at \u2026"
    assert order_board(OrderLook(trouble="It is torn."), words()).sentence == "It is torn."


def test_pieces_that_are_alike_are_shown_without_an_order() -> None:
    """Without an order the pieces like the last one stand beside each other all the same."""
    batch = next(iter(demo_look().batches or ()))
    board = order_board(OrderLook(batches=(replace(batch, order="", first=None),)), words())
    assert [len(group.cards) for group in board.groups] == [len(batch.pieces)]
    assert all(card.number is None and card.marks for card in board.groups[0].cards)


def test_the_terminal_has_the_same_in_lines() -> None:
    """Stages, crew, day and the odd piece are told as text, too."""
    lines = list(board_lines(order_board(demo_look(), words())))
    assert lines[0] == "Sleeves for the hut: 31 of 66 knitted, 30 packed, due 2026-04-05."
    assert "31 to do, 4 begun, 1 drying, 30 packed." in lines
    assert any(line.startswith("the warden: 20 knitted") for line in lines)
    assert any("new needle at row 30" in line for line in lines)


def test_numbers_that_follow_each_other_are_one() -> None:
    """Long lists of pieces are named by their ends."""
    assert ranges([26, 22, 23, 24, 31]) == "22 to 24, 26, 31"
    assert ranges([7]) == "7"
    assert ranges([]) == ""


def test_a_colour_in_words_has_its_wool() -> None:
    """Grey is fleece and light blue bilberry; a word that names no wool gets that of the piece."""
    theme = read_theme(resources.text("shared/theme.toml"))
    assert theme.wool_called("grey", "x") == theme.wools["fleece"]
    assert theme.wool_called("light Blue", "x") == theme.wools["bilberry"]
    assert theme.wool_called("heathered oats", "x") == theme.wool_for("x")
    assert set(theme.wool_words.values()) <= set(theme.wools)


def test_every_stage_has_a_control() -> None:
    """What is touched on the page is what can be said."""
    assert {f"order_{stage.value}" for stage in Stage} <= {
        line.split(" = ")[0] for line in resources.text("shared/window/controls.toml").splitlines()
    }
