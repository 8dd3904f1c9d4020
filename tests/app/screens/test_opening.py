"""Before the pattern is read: what the journal says stands on the board at once."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from engine.pattern import plain_course
from tests.app.at_the_needle import Needle

if TYPE_CHECKING:
    from collections.abc import Callable

    from app.session.situation import Situation
    from tests.window_driver import Driver

    Opener = Callable[..., Driver]

pytestmark = pytest.mark.window


def opening(now: Situation) -> Situation:
    """Return what is known of a situation before its pattern is read."""
    return replace(now, course=plain_course(now.state.cast_on), opening=True, replies=())


def test_row_and_name_stand_there_before_the_pattern_is_read(open_window: Opener) -> None:
    """The row being worked and those done are shown; nothing that only the pattern knows."""
    now = Needle("bottle-sleeve").say("9 rows done").situation()
    driver = open_window(situation=opening(now))
    view = driver.board.view
    assert (view.number, view.done_words, view.title) == ("10", "9 done", "Bottle sleeve")
    assert (view.side, view.fabric, view.tape) == ("", None, None)
    driver.show(now)
    assert driver.board.view.side == "wrong side"
    assert driver.board.view.fabric is not None


def test_a_screen_asked_for_too_early_comes_when_it_can(open_window: Opener) -> None:
    """What needs the pattern waits for it, and is not lost."""
    now = Needle("bottle-sleeve").say("9 rows done").situation()
    driver = open_window(situation=opening(now))
    driver.key(57)  # 9: the pattern
    assert driver.stage.overlays == []
    driver.show(now)
    assert [page.title for page in driver.stage.overlays] == ["The pattern"]


def test_the_first_start_waits_for_the_pattern(open_window: Opener) -> None:
    """The first row is told once it is known, not before."""
    now = Needle("mug-sleeve").situation()
    driver = open_window(situation=opening(now))
    assert driver.stage.overlays == []
    driver.show(now)
    assert [getattr(page, "welcomes", False) for page in driver.stage.overlays] == [True]
