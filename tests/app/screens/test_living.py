"""The window with everything behind it: touches are in the journal, and nothing closes it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from app import wall
from app.pieces.journal_files import read_journal
from app.pieces.library import own_folder
from app.resources import said_path
from app.session.clock import SystemClock
from app.session.opening import open_piece
from engine.commands import RowsDone, Source
from engine.events import RowsWorked
from tests.app.screens.test_pages import words_on
from tests.virtual_display import wait_until

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from tests.living_window import LivingWindow

    Opener = Callable[..., LivingWindow]

pytestmark = pytest.mark.window

SPACE, ENTER, ESCAPE, BACKSPACE, PAGE_DOWN = 32, 13, 27, 8, 281
PIECES, BEGIN = 56, 91


@pytest.fixture
def live(tmp_path: Path) -> Iterator[Opener]:
    """Return what opens the window on one journal, again and again."""
    from tests.living_window import LivingWindow  # noqa: PLC0415 (imports Kivy)

    opened: list[LivingWindow] = []

    def open_one(**how: Any) -> LivingWindow:
        while opened:
            opened.pop().close()
        opened.append(LivingWindow(tmp_path / "j.walesong", **how))
        opened[0].settle()
        opened[0].stage.close_all()
        return opened[0]

    yield open_one
    while opened:
        opened.pop().close()


def begin_plain(window: LivingWindow, *values: tuple[str, str]) -> Any:
    """Cast on without a pattern, with these fields put in by the pad; return the board's view."""
    window.key(BEGIN)
    page = window.stage.overlays[-1]
    window.tap(page.choices["Without a pattern"])
    for field, number in values:
        window.scroll_to(page, page.fields[field])
        window.tap(page.fields[field])
        for code in (*map(ord, number), ENTER):
            window.key(code)
    window.tap(window.button("Cast on"))
    return window.settle()


def test_without_a_pattern_and_without_a_count(live: Opener) -> None:
    """Cast on with nothing put in: rows are counted, now and at every later start."""
    window = live()
    view = begin_plain(window)
    assert (view.title, view.number, view.trouble) == ("Plain piece", "1", "")
    window.key(SPACE)
    assert window.settle().number == "2"
    view = live().settle()
    assert (view.title, view.number, view.trouble) == ("Plain piece", "2", "")


def test_the_cast_on_that_is_shown_is_cast_on(live: Opener) -> None:
    """With swatch and size the plan says 48 stitches, and 48 stitches are on the needle."""
    window = live()
    swatch = (("stitches", "20"), ("rows", "28"), ("width", "24"), ("length", "18"))
    begin_plain(window, *swatch)
    assert window.stage.situation is not None
    assert window.stage.situation.state.cast_on == 48  # 24 cm by 20 stitches to 10 cm
    again = live().stage.situation
    assert again is not None
    assert again.state.cast_on == 48


@pytest.mark.parametrize("opens", [PIECES, BEGIN, 57, 48, 282, 283])
def test_keys_belong_to_the_page_that_is_seen(live: Opener, opens: int) -> None:
    """Space, Enter, Page Down and Backspace on a page count and take back nothing behind it."""
    window = live()
    window.key(SPACE)
    assert window.settle().number == "2"
    window.key(opens)
    assert window.stage.overlays
    page = window.stage.overlays[-1]
    for code in (SPACE, PAGE_DOWN, ENTER, BACKSPACE):
        window.key(code)
    window.settle()
    assert window.stage.overlays == [page]
    assert "Escape" in page.subtitle
    window.key(ESCAPE)
    assert window.board.view.number == "2"
    window.key(SPACE)
    assert window.settle().number == "3"


def test_the_list_of_pieces_is_of_now(live: Opener) -> None:
    """Each piece stands with its rows, also while the list is open; one row is "row"."""
    window = live()
    window.key(SPACE)
    window.settle()
    window.key(PIECES)
    (card,) = window.stage.overlays[-1].cards.values()
    assert card.remark == "1 row done; on the needle now"
    window.settle("two rows done")
    (card,) = window.stage.overlays[-1].cards.values()
    assert card.remark == "3 rows done; on the needle now"


def test_the_piece_on_the_needle_is_there_after_a_restart(live: Opener) -> None:
    """She goes to another piece and closes; the next press of the pedal counts on that one."""
    window = live()
    window.key(SPACE)
    begin_plain(window)
    assert window.settle().title == "Plain piece"
    window.key(SPACE)
    window.settle("work on piece one now")
    again = live()
    assert again.settle().title.startswith("Mug sleeve")
    again.key(PAGE_DOWN)
    assert again.settle().number == "3"
    third = live()
    assert third.settle().title.startswith("Mug sleeve")
    third.settle("work on piece two now")
    assert third.board.view.number == "2"
    third.key(SPACE)
    third.settle("work on piece one now")
    last = live()
    assert (last.settle().title.split(",")[0], last.board.view.number) == ("Mug sleeve", "3")


def broken(*_: object, **__: object) -> Any:
    """Go wrong."""
    raise ZeroDivisionError


@pytest.fixture
def told(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let faults be told instead of raised, as they are for her."""
    monkeypatch.setattr(wall, "RAISES", False)


@pytest.mark.usefixtures("told")
def test_a_drawing_that_fails_leaves_the_counting(
    live: Opener, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """A sentence stands in place of the fabric; row, words and journal go on, restart included."""
    from app.window.views import fabric_view, undrawn  # noqa: PLC0415 (imports Kivy)

    window = live()
    written: list[str] = []
    write = undrawn.write

    def noted(view: Any, look: Any, sentence: str) -> None:
        written.append(sentence)
        write(view, look, sentence)

    monkeypatch.setattr(fabric_view, "lay_out", broken)
    monkeypatch.setattr(undrawn, "write", noted)
    window.key(SPACE)
    view = window.settle()
    assert (view.number, bool(view.bits)) == ("2", True)
    assert written[-1].startswith("This cannot be drawn: something went wrong inside Walesong")
    assert live().settle().number == "2"
    worked = [one for one in read_journal(tmp_path / "j.walesong") if is_rows(one.event)]
    assert len(worked) == 1


def is_rows(event: object) -> bool:
    """Whether rows were worked."""
    return isinstance(event, RowsWorked)


@pytest.mark.usefixtures("told")
def test_a_screen_that_fails_is_a_page_and_not_the_end(
    live: Opener, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """It names what happened and the journal, leads to the pieces, and nothing ends in the end."""
    from kivy.base import ExceptionManager  # noqa: PLC0415

    from app.window.screens import story_page  # noqa: PLC0415
    from app.window.screens.unbroken import Unbroken  # noqa: PLC0415

    window = live()
    handler = Unbroken(window.stage.tell_fault)
    monkeypatch.setattr(story_page, "story_of", broken)
    for _ in range(300):
        assert handler.handle_exception(ZeroDivisionError()) == ExceptionManager.PASS
    with pytest.raises(ZeroDivisionError):
        window.key(48)
    window.stage.tell_fault("The story cannot be shown.")
    window.frames(2)
    page = window.stage.overlays[-1]
    assert "The story cannot be shown." in words_on(page)
    assert str(tmp_path / "j.walesong") in words_on(page)
    window.tap(window.button("Your pieces"))
    assert window.stage.overlays[-1].title == "Your pieces"
    window.key(ESCAPE)
    window.key(SPACE)
    assert window.settle().number == "2"


def test_another_program_is_noticed(live: Opener, tmp_path: Path) -> None:
    """What another process writes to the journal stands on the open board without a touch."""
    window = live()
    clock = SystemClock()
    other = open_piece(tmp_path / "j.walesong", clock, None, fresh=False, source=Source.KEY)
    other.hear((RowsDone(3),), Source.KEY)
    other.close()

    def drawn() -> bool:
        window.frames(1)
        return bool(window.board.view.number == "4")

    wait_until(drawn, "the rows of the other process are shown")


def test_where_pattern_files_belong(live: Opener) -> None:
    """The page to begin names the folder; a plain text in it is met with what to write."""
    folder = own_folder()
    folder.mkdir(parents=True, exist_ok=True)
    plain = folder / "coaster.txt"
    plain.write_text("Coaster\nRow 1: k all\nRow 2: p all\n", encoding="utf-8")
    try:
        window = live()
        window.key(BEGIN)
        page = window.stage.overlays[-1]
        assert said_path(folder) in words_on(page)
        window.tap(page.choices["coaster"])
        assert "This is plain text; a pattern file says what its lines are." in words_on(page)
        assert "TOML" not in words_on(page)
    finally:
        plain.unlink()
