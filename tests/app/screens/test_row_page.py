"""A row is put together on its screen by touch and by keys, handed over, asked about, kept."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from engine.commands import RowsDone, Source
from engine.composing import SayRow
from engine.replies import Say
from engine.said_events import RowSaid
from engine.talk import Screen, Show
from tests.app.test_row_keys import MadeUp

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.window_driver import Driver

    Opener = Callable[..., Driver]

pytestmark = pytest.mark.window

ENTER, ESCAPE, BACKSPACE = 13, 27, 8
RIB = "star k 2 p 2 last 2 k 2"


def opened(open_window: Opener, needle: MadeUp, **how: Any) -> tuple[Driver, Any]:
    """Return a window on the screen where a row is put together."""
    driver = open_window(situation=needle.situation(), **how)
    driver.stage.places.go_to(Screen.COMPOSE)
    driver.frames(3)
    return driver, driver.stage.overlays[-1]


def touch(driver: Driver, page: Any, keys: str) -> None:
    """Touch keys of the page, one after the other."""
    for key in keys.split():
        page.keys[key].dispatch("on_release")
    driver.frames(2)


def read(page: Any) -> str:
    """Return what stands over the keys."""
    return "".join(span.words for span in page.read.spans)


def judged(driver: Driver, needle: MadeUp) -> SayRow:
    """Let the row that was handed over be judged as the assistant does, and its answer shown."""
    said, source = driver.hands.submitted[-1]
    assert isinstance(said, SayRow)
    assert source is Source.TOUCH
    needle.hear((said,))
    driver.show(needle.situation())
    driver.frames(3)
    return said


def test_from_the_board_to_a_row_that_is_worked(open_window: Opener) -> None:
    """The board of a piece without a pattern leads there, and shows the row again."""
    needle = MadeUp()
    needle.hear((RowsDone(1),))
    driver = open_window(situation=needle.situation())
    driver.tap(driver.button("Compose a row"))
    page = driver.stage.overlays[-1]
    touch(driver, page, RIB)
    assert "*k2, p2; rep from * to last 2 sts, k2: 50 of 50" in read(page)
    assert page.ids.done.rank == "strong"
    page.done()
    assert judged(driver, needle).text == "*k2, p2; rep from * to last 2 sts, k2"
    (line,) = needle.talk.state.said
    assert isinstance(line, RowSaid)
    assert needle.replies[0].say is Say.ROW_SAID
    assert not driver.stage.overlays
    driver.stage.places.go_to(Screen.COMPOSE)
    assert page.row.keys == ()


def test_by_keys_alone(open_window: Opener) -> None:
    """Shift and K leads there; letters, digits, backspace and enter put the row together."""
    from kivy.core.window import Window  # noqa: PLC0415 (only in a window)

    needle = MadeUp()
    driver = open_window(situation=needle.situation())
    Window.dispatch("on_key_down", ord("k"), 0, None, ["shift"])
    Window.dispatch("on_key_up", ord("k"), 0)
    driver.frames(2)
    page = driver.stage.overlays[-1]
    for code in (*map(ord, "k1t"), BACKSPACE, *map(ord, "dkl3t1k1"), ENTER):
        driver.key(code)
    assert judged(driver, needle).text == "k1, ssk, k to last 3 sts, k2tog, k1"
    assert page not in driver.stage.overlays
    assert needle.talk.course.where({}, 1).after == 48


def test_what_leaves_stitches_is_asked_about_and_gone_on_with(open_window: Opener) -> None:
    """A row that leaves two is answered by its sum; the keys stand, and the whole row is taken."""
    needle = MadeUp()
    driver, page = opened(open_window, needle)
    touch(driver, page, "star k 2 p 2 end")
    page.done()
    judged(driver, needle)
    assert driver.stage.overlays == [page]
    assert "leaves 2 stitches" in read(page)
    assert needle.talk.saying == "star knit 2 purl 2 repeat from the star to the end"
    touch(driver, page, "back last 2 k 2")
    page.done()
    judged(driver, needle)
    assert needle.talk.saying is None
    assert len(needle.talk.state.said) == 1


def test_a_row_that_cannot_be_is_refused_and_stands(open_window: Opener) -> None:
    """Too many stitches: one sentence, nothing written, every key still there."""
    needle = MadeUp()
    driver, page = opened(open_window, needle)
    touch(driver, page, "k 6 0")
    page.done()
    judged(driver, needle)
    assert "takes 60" in read(page)
    assert page.row.text == "k60"
    assert not needle.talk.state.said


def test_an_empty_row_and_an_open_repeat_are_not_handed_over(open_window: Opener) -> None:
    """What is not whole is told what it lacks, and nobody else hears of it."""
    driver, page = opened(open_window, MadeUp())
    page.done()
    assert "no step yet" in read(page)
    touch(driver, page, "star k")
    page.done()
    assert "comes how far" in read(page)
    touch(driver, page, "2 2 back back back back back")
    assert page.row.keys == ()
    assert not driver.hands.submitted


def test_handed_over_twice_it_is_written_once(open_window: Opener) -> None:
    """A second touch before the answer does nothing."""
    driver, page = opened(open_window, MadeUp())
    touch(driver, page, "k end")
    page.done()
    page.done()
    assert len(driver.hands.submitted) == 1


def test_a_question_is_shown_on_the_board_and_yes_takes_the_row(open_window: Opener) -> None:
    """A row that doubles the stitches is asked about; after yes its keys are not offered again."""
    needle = MadeUp()
    driver, page = opened(open_window, needle)
    touch(driver, page, "star m1 m1 k end")
    page.done()
    judged(driver, needle)
    assert not driver.stage.overlays
    assert driver.board.view.question
    assert page.row.keys
    needle.say("yes")
    driver.show(needle.situation())
    assert len(needle.talk.state.said) == 1
    assert page.row.keys == ()


def test_a_question_that_stands_does_not_get_the_row_as_its_answer(open_window: Opener) -> None:
    """While something else is asked the row is said as any other, and the question is put away."""
    needle = MadeUp()
    needle.say("finished")
    assert needle.talk.question is not None
    driver, page = opened(open_window, needle)
    touch(driver, page, "k end")
    page.done()
    judged(driver, needle)
    assert len(needle.talk.state.said) == 1
    assert not needle.talk.state.finished
    assert needle.talk.question is None


def test_left_midway_it_is_there_again_also_after_a_kill(open_window: Opener) -> None:
    """Escape keeps the keys; so does the file of what is not sent, for this piece alone."""
    needle = MadeUp()
    driver, page = opened(open_window, needle)
    touch(driver, page, "k 2 star p")
    driver.key(ESCAPE)
    driver.stage.places.go_to(Screen.COMPOSE)
    assert page.row.text == "k2, *p1"
    kept = driver.hands.remembered[-1]
    driver, page = opened(open_window, needle, unfinished=kept)
    assert page.row.text == "k2, *p1"
    _, page = opened(open_window, MadeUp(), unfinished=kept)
    assert page.row.keys == ()


def test_a_row_done_while_it_is_open_counts_on(open_window: Opener) -> None:
    """Said aloud, a row counts as ever; the page is about the next row then, with its keys."""
    needle = MadeUp()
    driver, page = opened(open_window, needle)
    touch(driver, page, "k 2")
    needle.hear((RowsDone(1),))
    driver.show(needle.situation())
    driver.frames(2)
    assert "2" in page.title
    assert page.row.text == "k2"


def test_a_long_row_leaves_the_keys_in_reach(open_window: Opener) -> None:
    """Of a row of forty steps the end is shown, and on a phone there is room for the keys."""
    driver, page = opened(open_window, MadeUp(), screen="phone")
    touch(driver, page, "k p yo " * 20)
    assert page.read.fits
    assert page.scroll.height > page.height / 3
    assert "yo" in read(page)


def test_words_lead_there() -> None:
    """The screen has its words; a terminal is told what to type."""
    from app.language import phrase_book  # noqa: PLC0415
    from speech.words.understand import understand  # noqa: PLC0415

    for words in ("show the stitch keys", "compose a row"):
        assert understand(words, phrase_book()) == (Show(Screen.COMPOSE),)
