"""The practice is asked for, says what it is, and never touches the knitter's own journal."""

from __future__ import annotations

import queue
from argparse import Namespace
from typing import TYPE_CHECKING, Any

import pytest

from app.pieces.journal_files import default_journal, practice_journal, read_journal
from app.pieces.values import NewPiece
from app.session.ports import Deaf
from app.session.situation import Practice
from app.wiring import hearing
from app.wiring.machine import Found
from app.wiring.practice import PRACTICE
from engine.commands import Source
from engine.events import PieceBegun, RowsWorked
from tests.virtual_display import wait_until

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from app.session.situation import Situation
    from app.window.desk import Notice
    from app.windowed import Behind
    from tests.window_driver import Driver

    Opener = Callable[..., tuple[Driver, Behind]]

pytestmark = pytest.mark.window


class StillEars:
    """Ears of a recording that says nothing."""

    phrases_trouble = failed = ""

    def __init__(self, *_: object) -> None:
        self.control = Deaf()

    def start(self, _: object) -> None:
        """Hear nothing."""

    def stop(self) -> None:
        """Stop hearing nothing."""


@pytest.fixture
def open_product(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Iterator[Opener]:
    """Return what opens the window of a machine without a microphone, as `walesong` does."""
    from app.session.settings import Settings  # noqa: PLC0415
    from app.window.desk import Hands, furnish  # noqa: PLC0415 (imports Kivy)
    from app.windowed import Behind  # noqa: PLC0415
    from app.wording import reply_wording  # noqa: PLC0415
    from tests.window_driver import Driver  # noqa: PLC0415

    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    monkeypatch.setattr(
        hearing, "microphone_here", lambda: Found(there=False, line="No microphone")
    )
    monkeypatch.setattr(hearing, "listen", StillEars)
    opened: list[Any] = []

    def open_one(*, practice: bool) -> tuple[Driver, Behind]:
        inbox: queue.SimpleQueue[Any | Notice] = queue.SimpleQueue()
        which = PRACTICE if practice else None
        asked = Namespace(practice=which, journal=None, model=None, fast=True, silent=True)
        behind = Behind(asked, inbox)
        hands = Hands(
            submit=behind.submit,
            typed=behind.typed,
            take_up=behind.take_up,
            cast_on=behind.cast_on,
            end_practice=behind.end_practice,
        )
        behind.settings = Settings()
        driver = Driver(furnish(hands, inbox, wording=reply_wording))
        behind.not_counted = driver.desk.words("practice", "not_counted")
        opened.extend([behind, driver])
        behind.begin()
        shown(driver, lambda: known(driver) is not None)
        return driver, behind

    yield open_one
    for one in reversed(opened):
        one.close() if isinstance(one, Driver) else one.end()


def shown(driver: Driver, what: Callable[[], bool]) -> None:
    """Wait until something is shown."""

    def drawn() -> bool:
        driver.frames(1)
        return what()

    wait_until(drawn, "it is shown")


def known(driver: Driver) -> Situation | None:
    """Return what is shown, once the pattern is read."""
    now = driver.stage.situation
    return None if now is None or now.opening else now


def is_own(driver: Driver) -> bool:
    """Whether her own piece is shown."""
    now = known(driver)
    return now is not None and now.practice is Practice.NONE


def test_no_practice_unasked(open_product: Opener) -> None:
    """Without a microphone and without work her own first piece is there, and no recording."""
    driver, _ = open_product(practice=False)
    assert is_own(driver)
    assert driver.stage.band.height == 0
    assert default_journal().exists()
    assert not practice_journal().exists()


def test_a_practice_says_so_and_leads_to_her_own(open_product: Opener) -> None:
    """A band says that a recording speaks; Stop ends it, "Knit my own" goes to her journal."""
    driver, _ = open_product(practice=True)
    band = driver.stage.band
    assert band.height > 0
    assert band.words.all_spans[0].words == "Practice: a recording speaks"
    assert not default_journal().exists()
    driver.frames(2)
    driver.tap(band.stop)
    shown(driver, lambda: band.practice is Practice.OVER)
    assert band.stop not in band.children
    driver.tap(band.own)
    shown(driver, lambda: is_own(driver))
    assert band.height == 0
    assert default_journal().exists()


def test_what_she_touches_in_a_practice_is_counted_nowhere(open_product: Opener) -> None:
    """A row touched in the practice ends it; her own piece is shown, and asks for it again."""
    driver, _ = open_product(practice=True)
    driver.key(32)
    shown(driver, lambda: is_own(driver) and "do it again" in driver.board.view.trouble)
    for journal in (default_journal(), practice_journal()):
        assert not any(isinstance(one.event, RowsWorked) for one in read_journal(journal))


def test_what_she_casts_on_in_a_practice_is_hers(open_product: Opener) -> None:
    """A piece cast on while the recording plays stands in her own journal and is shown."""
    driver, behind = open_product(practice=True)
    new = NewPiece(name="Lantern cap", project="", pattern=None, size=None, cast_on=20, target=None)
    behind.cast_on(new, Source.TOUCH)
    shown(driver, lambda: is_own(driver) and driver.board.view.title == "Lantern cap")
    begun = [one.event for one in read_journal(default_journal())]
    assert "Lantern cap" in {one.name for one in begun if isinstance(one, PieceBegun)}
