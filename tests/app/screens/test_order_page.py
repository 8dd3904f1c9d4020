"""The order's page in a window: pieces in their wool, stages by touch, the ways that lead there."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from app.session.order_look import OrderLook
from engine.commands import Source
from engine.replies import Say, reply
from engine.stages import Stage
from engine.talk import PieceIs, Screen, Show
from tests.app.at_the_needle import Needle
from tests.app.ordered import demo_look, demo_looks

if TYPE_CHECKING:
    from collections.abc import Callable
    from typing import Any

    from app.session.situation import Situation
    from tests.window_driver import Driver

    Opener = Callable[..., Driver]

pytestmark = pytest.mark.window

B, SHIFT = 98, "shift"


def situation(look: OrderLook | None) -> Situation:
    """Return a piece on the needle, with an order that was looked at."""
    return replace(Needle("mug-sleeve").situation(), order=look)


def on_page(open_window: Opener, look: OrderLook | None, **how: Any) -> tuple[Driver, Any]:
    """Open the page; return the window and the page."""
    driver = open_window(situation=situation(look), **how)
    driver.stage.close_all()
    driver.stage.places.go_to(Screen.ORDER)
    driver.frames(3)
    return driver, driver.stage.overlays[-1]


def card(page: Any, number: int) -> Any:
    """Return the card of a piece."""
    return next(one for one in page.cards.values() if one.title == str(number))


def test_each_piece_is_drawn_as_it_is(open_window: Opener) -> None:
    """All pieces with a history are drawn, one begun lower than one knitted, in their wool."""
    driver, page = on_page(open_window, demo_look())
    driver.frames(len(page.cards) + 3)
    assert len(page.cards) == 36
    drawn = [one for one in page.cards.values() if one.picture.fabric is not None]
    assert len(drawn) == 35  # the next one is not begun

    def tall(number: int) -> float:
        _, low, _, high = card(page, number).picture.fabric.drawn_box
        return float(high - low)

    assert tall(33) < 0.6 * tall(32)
    wools = page.look.theme.wools
    assert card(page, 1).picture.fabric.wool == wools["fleece"]
    assert card(page, 45).picture.fabric.wool == wools["bilberry"]


def test_a_stage_is_told_by_touch(open_window: Opener) -> None:
    """A card that is touched offers its stages; the one that is touched is handed over."""
    driver, page = on_page(open_window, demo_look())
    card(page, 20).dispatch("on_release")
    driver.frames(2)
    assert set(page.stages) == set(Stage)
    assert page.stages[Stage.DRY].phrase == "piece 20 is dry"
    assert page.stages[Stage.WASHED].rank == "chosen"
    page.stages[Stage.DRY].dispatch("on_release")
    assert driver.hands.submitted[-1] == (PieceIs(20, Stage.DRY), Source.TOUCH)
    card(page, 20).dispatch("on_release")
    assert not page.stages


def test_the_answer_stands_in_the_bar_and_the_piece_stays_chosen(open_window: Opener) -> None:
    """After a stage the page shows what was answered, anew, and the same piece is offered."""
    driver, page = on_page(open_window, demo_look())
    card(page, 20).dispatch("on_release")
    answer = reply(Say.ORDER_PIECE_IS, title="Mug sleeve 20", stage=Stage.DRY)
    driver.show(replace(situation(demo_looks()[1]), replies=(answer,)))
    assert driver.stage.overlays[-1] is page
    assert "Mug sleeve 20" in page.subtitle
    assert page.stages


def test_what_is_asked_is_asked_on_the_board(open_window: Opener) -> None:
    """A stage in doubt brings a question, which is answered where yes and no are."""
    driver, page = on_page(open_window, demo_look())
    asks = reply(Say.ASK_ORDER_BACK, title="Mug sleeve 1", stage=Stage.WASHED)
    driver.show(replace(situation(demo_look()), replies=(asks,), question=asks))
    assert page not in driver.stage.overlays


def test_the_page_fills_while_it_is_looked_at(open_window: Opener) -> None:
    """It opens at once with a sentence, and what comes in is shown without touching anything."""
    driver, page = on_page(open_window, None)
    assert page.board.sentence
    for look in demo_looks():
        driver.show(situation(look))
        assert driver.stage.overlays[-1] is page
        assert page.board.stages
    assert page.board.day is not None


def test_without_an_order_there_is_no_card(open_window: Opener) -> None:
    """The page has one sentence that says how to begin an order."""
    _, page = on_page(open_window, OrderLook(batches=()))
    assert not page.cards
    (sentence,) = page.paragraphs
    assert "walesong order begin" in sentence.all_spans[0].words


def test_pieces_page_and_key_lead_there(open_window: Opener) -> None:
    """The list of pieces has a control for the order, and Shift with B opens it from the board."""
    driver = open_window(situation=situation(demo_look()))
    driver.stage.close_all()
    driver.stage.places.go_to(Screen.PIECES)
    pieces = driver.stage.overlays[-1]
    assert pieces.to_order.phrase == "show the order"
    pieces.to_order.dispatch("on_release")
    assert driver.stage.overlays[-1] is driver.stage.pages["order"]
    assert driver.hands.submitted[-1] == (Show(Screen.ORDER), Source.TOUCH)
    driver.stage.close_all()
    driver.stage._key_down(None, B, 0, None, [SHIFT])
    assert driver.stage.overlays[-1] is driver.stage.pages["order"]
    assert driver.hands.submitted[-1] == (Show(Screen.ORDER), Source.KEY)
