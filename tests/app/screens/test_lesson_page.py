"""A lesson in the real window: touched, keyed and typed, large, and nothing counted behind it."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from app import resources
from app.lessons.leading import Leading, LessonNow, Said, heard, took
from app.lessons.lesson import read_lesson
from engine.talk import Screen
from tests.app.at_the_needle import Needle

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path
    from typing import Any

    from tests.living_window import LivingWindow
    from tests.window_driver import Driver

    Opener = Callable[..., Driver]

pytestmark = pytest.mark.window

LESSON = read_lesson(resources.text("shared/lessons/1-first-stitches.toml"))
SPACE, BACKSPACE, ESCAPE, COUNT, ENTER = 32, 8, 27, 99, 13


@pytest.fixture
def living(tmp_path: Path) -> LivingWindow:
    """Return a window with everything behind it, in the first lesson by touch."""
    from tests.living_window import LivingWindow  # noqa: PLC0415 (imports Kivy)

    window = LivingWindow(tmp_path / "journal.sqlite")
    window.stage.close_all()
    window.stage.places.go_to(Screen.LESSON)
    window.frames(2)
    window.tap(window.button("The first stitches"))
    settle(window)
    return window


def settle(window: LivingWindow) -> Leading:
    """Wait until all is answered and drawn; return where the learner is."""
    window.assistant.typed_and_answered("slower")
    window.frames(3)
    now = window.stage.situation
    assert now is not None
    assert now.lesson is not None
    return now.lesson.leading


def page(driver: Driver) -> Any:
    """Return the lesson's page, which lies on top."""
    assert driver.stage.overlays[-1] is driver.stage.pages["lesson"]
    return driver.stage.overlays[-1]


def open_at(open_window: Opener, now: LessonNow, screen: str = "desktop", **how: Any) -> Driver:
    """Open a window that shows a lesson."""
    situation = replace(Needle("mug-sleeve").situation(), lesson=now)
    driver = open_window(situation=situation, screen=screen, **how)
    driver.stage.close_all()
    driver.stage.places.go_to(Screen.LESSON)
    driver.frames(4)
    return driver


def at(step: int, *words: str) -> LessonNow:
    """Return the first lesson at a step, after words."""
    leading, said = Leading(LESSON, at=step), ()
    for one in words:
        leading, said = heard(leading, one)  # type: ignore[assignment]
    return LessonNow(leading, said)


def test_it_is_led_by_touch_and_keys_and_counts_no_row(living: LivingWindow) -> None:
    """Ready by touch and by the key of rows, back by the key of undo; then Escape puts it away."""
    living.tap(living.button("Ready"))
    assert settle(living).at == 1
    living.key(SPACE)
    assert settle(living).at == 2
    living.key(BACKSPACE)
    assert settle(living).at == 1
    page(living)
    living.key(ESCAPE)
    living.assistant.typed_and_answered("which row now")
    living.frames(3)
    now = living.stage.situation
    assert now is not None
    assert now.lesson is None
    assert now.state.done == 0
    living.assistant.typed_and_answered("show the lesson")
    living.frames(3)
    assert settle(living).at == 1
    page(living)
    living.close()


def test_a_count_is_asked_for_over_the_lesson(living: LivingWindow) -> None:
    """The pad lies over the page; seventeen brings pictures, one of which is touched."""
    for _ in range(8):
        living.key(SPACE)
    assert settle(living).step.count == 16
    living.key(COUNT)
    for digit in "17":
        living.key(ord(digit))
    living.key(ENTER)
    assert len(settle(living).offered) == 2
    cards = page(living).cards
    assert [card.title for card in cards] == [
        "An edge stitch that looks like two",
        "A loop too many",
    ]
    living.tap(cards[0])
    assert settle(living).rescue is not None
    assert living.stage.situation is not None
    assert living.stage.situation.state.counts == ()
    living.close()


@pytest.mark.parametrize("screen", ["desktop", "phone", "tablet", "tablet on its side"])
@pytest.mark.parametrize(
    "now",
    [at(1), at(3), at(8), at(8, "17"), at(8, "17", "1", ""), at(0, "lost")],
    ids=["words", "in", "count", "seventeen", "rescue", "lost"],
)
def test_everything_has_its_place(open_window: Opener, screen: str, now: LessonNow) -> None:
    """Words fit, nothing lies over anything, targets are large, the hands are large."""
    driver = open_at(open_window, now, screen)
    on_it = page(driver)
    look = driver.stage.look
    assert on_it.words.fits
    parts = [on_it.words, on_it.shelf, *on_it.cards]
    if not on_it.cards and on_it.picture.hands is not None:
        parts.append(on_it.picture)
        assert on_it.picture.width * on_it.picture.height > on_it.width * on_it.height / 6
    if now.leading.step.count and not on_it.cards and now.leading.rescue is None:
        assert len(on_it.strip.fabric.working.stitches) == now.leading.step.count
        assert on_it.strip.width * on_it.strip.height > on_it.width * on_it.height / 6
        parts.append(on_it.strip)
    else:
        assert on_it.strip.fabric is None
    for one in parts:
        assert one.x >= 0
        assert one.right <= on_it.width + 1
        assert one.top <= on_it.height - on_it.bar
        for other in parts:
            apart = one is other or (
                one.right <= other.x + 1
                or other.right <= one.x + 1
                or one.top <= other.y + 1
                or other.top <= one.y + 1
            )
            assert apart, (one, other)
    for control in (*on_it.shelf.children, *on_it.cards):
        assert min(control.size) >= look.mm(19.9), control.title
        assert control.fits, control.title
        assert control.phrase


def test_hands_move_to_what_is_shown_unless_they_may_not(open_window: Opener) -> None:
    """They set out from the picture before; where motion is off they are there at once."""
    driver = open_at(open_window, at(3))
    picture = page(driver).picture
    leading, said = took(at(3).leading, Said.READY)
    base = driver.stage.situation
    assert base is not None
    driver.show(replace(base, lesson=LessonNow(leading, said)))
    assert picture.since is not None
    assert (picture.since.at, picture.hands.at) == (1, 2)
    assert picture.share < 1
    driver.stage.look.moves = False
    driver.show(replace(base, lesson=LessonNow(*took(leading, Said.AGAIN))))
    assert picture.share == 1


def test_lessons_are_offered_and_a_bad_file_is_told(open_window: Opener) -> None:
    """All that come with it, hers too, and in a sentence why one of hers cannot be used."""
    own = resources.data_folder() / "lessons"
    own.mkdir(parents=True)
    good = resources.text("shared/lessons/3-a-first-piece.toml").replace("A first piece", "Mine")
    (own / "mine.toml").write_text(good, encoding="utf-8")
    (own / "bad.toml").write_text("title = 3", encoding="utf-8")
    (own / "worse.toml").write_bytes(b"\xff\xfe\x00")
    driver = open_window(situation=Needle("mug-sleeve").situation())
    driver.stage.close_all()
    driver.stage.places.go_to(Screen.LESSON)
    driver.frames(3)
    titles = [one.title for one in page(driver).shelf.children]
    assert "Mine in garter stitch" in titles
    assert len(titles) == 4
    told = "".join(span.words for span in page(driver).words.all_spans)
    assert "bad.toml: The lesson has no steps" in told
    assert "worse.toml: This is no text file in UTF-8." in told
    driver.tap(driver.button("Mine in garter stitch"))
    assert driver.hands.submitted[-1][0].count == 5  # type: ignore[union-attr]
