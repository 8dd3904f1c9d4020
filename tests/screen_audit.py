"""
What is really on every screen: how large each word is drawn, how well it stands out, what is cut.

Used by the tests of the screens and by `bench/screens_audit.py`, which prints the figures. Every
screen that exists is among `SCREENS_SHOWN`; a test names one that is not.
"""

from __future__ import annotations

import importlib
import pkgutil
from dataclasses import dataclass, replace
from functools import cache, partial
from itertools import combinations
from typing import TYPE_CHECKING, Any

import numpy as np

from app import resources
from app.display.arrange import LOW_SCREEN
from app.display.theme import Colour, contrast, read_theme
from app.lessons.leading import Leading, LessonNow
from app.lessons.lesson import read_lesson
from app.session.order_look import OrderLook
from app.session.situation import Ear, HeardLine, Practice
from engine.talk import Screen
from speech.hearing.voice_check import VoiceCheck
from tests.app.at_the_needle import Needle
from tests.app.ordered import demo_look

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    import numpy.typing as npt

    from app.session.situation import Situation
    from tests.window_driver import Driver

    Pixels = npt.NDArray[np.uint8]

THEME = read_theme(resources.text("shared/theme.toml"))
SLACK = 1.0  # pixels
F2 = 283
PAGES_DOWN = 4
"""Screenfuls of a long page that are looked at: what comes after them is of the same kinds."""


# --- what is looked at ----------------------------------------------------------------------------


@cache
def _now() -> Situation:
    needle = Needle("bottle-sleeve").say("16 rows done", "measure 6 cm", "4 rows done")
    return needle.situation(stamps=needle.talk.stamps(), pieces=needle.talk.pieces())


@cache
def _knitted(*words: str) -> Situation:
    return Needle("bottle-sleeve").say("7 rows done", *words).situation()


def _go(screen: Screen, driver: Driver) -> None:
    driver.stage.places.go_to(screen)


def _show(situation: Callable[[], Situation], driver: Driver) -> None:
    driver.show(situation())


def _everything(what: str, driver: Driver) -> None:
    driver.key(F2)
    page = driver.stage.overlays[-1]
    if what == "group":
        page.unfold(driver.stage.kit.controls.groups[4][0])
    elif what:
        page.search(what)


def _begin(pattern: str, driver: Driver) -> None:
    _go(Screen.BEGIN, driver)
    page = driver.stage.overlays[-1]
    page.choices[pattern].dispatch("on_release")


def _row_keys(driver: Driver) -> None:
    _go(Screen.COMPOSE, driver)
    page = driver.stage.overlays[-1]
    for key in ["star", "k", "2", "p", "2", "last", "2", "k", "2"]:
        page.take(key)


def _made_up() -> Situation:
    """Return a piece without a pattern after its first row."""
    from tests.app.test_row_keys import MadeUp  # noqa: PLC0415 (it lays a desk)

    return MadeUp().say("row done").situation()


def _written(driver: Driver) -> None:
    driver.show(_made_up())
    _go(Screen.PATTERN, driver)


def _class(driver: Driver) -> None:
    lesson = read_lesson(resources.text("shared/lessons/1-first-stitches.toml"))
    driver.show(replace(_now(), lesson=LessonNow(Leading(lesson, at=2, in_class=True), ())))
    _go(Screen.CLASS, driver)


def _order(look: Callable[[], OrderLook | None], driver: Driver, chosen: str = "") -> None:
    driver.show(replace(_now(), order=look()))
    _go(Screen.ORDER, driver)
    page = driver.stage.overlays[-1]
    if chosen:
        page.choose(next(key for key, card in page.cards.items() if card.title == chosen))


def _microphone_refused(driver: Driver) -> None:
    from app.window.screens.microphone_band import MicrophoneBand  # noqa: PLC0415 (in a window)

    band = MicrophoneBand(driver.stage.kit, lambda: None)
    driver.stage.root.add_widget(band, index=len(driver.stage.root.children))
    band.shown = True


def _writing(driver: Driver) -> None:
    from app.window.screens.writing import Writing  # noqa: PLC0415 (in a window)

    stage = driver.stage
    stage.open(Writing(stage.kit, print, print, stage.close, ("a text", "")))


def _finished() -> Situation:
    needle = Needle("mug-sleeve").say("22 rows done", "this piece is finished", "yes")
    return needle.situation()


SCREENS_SHOWN: dict[str, Callable[[Driver], None]] = {
    **{screen.value: partial(_go, screen) for screen in Screen},
    Screen.CLASS.value: _class,
    Screen.ORDER.value: partial(_order, demo_look),
    "order, a piece": partial(_order, demo_look, chosen="31"),
    "order, being looked at": partial(_order, lambda: None),
    "order, none": partial(_order, OrderLook),
    "board, a question": partial(_show, partial(_knitted, "i'm really on row 5")),
    "board, a stop": partial(_show, partial(_knitted, "dropped stitch")),
    "board, the hands": partial(_show, partial(_knitted, "how do i knit")),
    "board, no microphone": partial(
        _show, lambda: replace(_now(), ear=Ear.LOST, trouble="The microphone is gone.")
    ),
    "board, not understood": partial(
        _show,
        lambda: replace(
            _now(), heard=HeardLine("the other one", accepted=False, why="Not said to me.")
        ),
    ),
    "board, practice": partial(_show, lambda: replace(_now(), practice=Practice.SPEAKS)),
    "board, microphone refused": _microphone_refused,
    "first start": lambda driver: driver.stage.places.welcome(Needle("mug-sleeve").situation()),
    "finished for good": partial(_show, _finished),
    "begin, with cautions": partial(_begin, "Sleeve for battery lanterns only"),
    "begin, sizes": partial(_begin, "Crew cap"),
    "everything, whole": partial(_everything, ""),
    "everything, a group": partial(_everything, "group"),
    "everything, found": partial(_everything, "yarn"),
    "everything, not found": partial(_everything, "submarine"),
    "a text to write": _writing,
    "compose, a row": _row_keys,
    "pattern, made up": _written,
    "board, no pattern": partial(_show, _made_up),
    "typing": lambda driver: driver.key(9),
    "pad, a count": lambda driver: driver.key(99),
    "pad, a length": lambda driver: driver.key(109),
    "voice check": partial(_show, lambda: replace(_now(), check=VoiceCheck())),
    "fault": lambda driver: driver.stage.places.tell_fault("This piece cannot be drawn."),
}
"""What opens each screen, from the board on."""


def opened(driver: Driver, name: str) -> Any:
    """Open a screen from the board and return what is seen then."""
    driver.stage.close_all()
    for band in list(driver.stage.root.children):
        if hasattr(band, "shown"):
            driver.stage.root.remove_widget(band)
    driver.show(_now())
    driver.stage.close_all()
    SCREENS_SHOWN[name](driver)
    driver.frames(3)
    return driver.stage.overlays[-1] if driver.stage.overlays else driver.board


def screen_classes() -> set[str]:
    """Return the names of all classes that fill a screen, or a band of it."""
    from kivy.uix.boxlayout import BoxLayout  # noqa: PLC0415 (only in a window)
    from kivy.uix.floatlayout import FloatLayout  # noqa: PLC0415

    import app.window.screens as room  # noqa: PLC0415

    found: set[type] = set()
    for module in pkgutil.iter_modules(room.__path__):
        inside = importlib.import_module(f"{room.__name__}.{module.name}")
        found |= {
            one
            for one in vars(inside).values()
            if isinstance(one, type)
            and issubclass(one, FloatLayout | BoxLayout)
            and one.__module__ == inside.__name__
        }
    bases = {base for one in found for base in one.__mro__[1:]}
    return {one.__name__ for one in found - bases}


# --- what is seen ---------------------------------------------------------------------------------


def visible(driver: Driver) -> list[Any]:
    """Return the text widgets that are on the screen, with their place on it."""
    top = driver.stage.overlays[-1] if driver.stage.overlays else driver.board
    found = []
    bands = [one for one in driver.stage.root.children if one is not driver.stage.stage]
    for widget in (
        *top.walk(restrict=True),
        *(inner for band in bands for inner in band.walk(restrict=True)),
    ):
        if not hasattr(widget, "flowed") or widget.opacity == 0 or not widget.all_spans:
            continue
        x, _ = widget.to_window(*widget.pos)
        _, low, _, high = box(widget)
        if x + widget.width > 0 and high > max(low, 0):
            found.append(widget)
    return found


def box(widget: Any) -> tuple[float, float, float, float]:
    """Return left, bottom, right, top of what is seen of a widget, on the screen."""
    left, bottom = widget.to_window(*widget.pos)
    right, top = left + widget.width, bottom + widget.height
    around = widget.parent
    while around is not None and around is not around.parent:
        if hasattr(around, "scroll_y"):
            _, y = around.to_window(*around.pos)
            bottom, top = max(bottom, y), min(top, y + around.height)
        around = around.parent
    return left, bottom, right, top


def whole(widget: Any) -> bool:
    """Whether all of a widget is in view, and not a part of it scrolled away."""
    _, bottom, _, top = box(widget)
    return bool(top - bottom >= widget.height - SLACK)


def overlapping(one: Any, other: Any) -> bool:
    """Whether two widgets share more than an edge."""
    a, b = box(one), box(other)
    return (
        a[2] > b[0] + SLACK and b[2] > a[0] + SLACK and a[3] > b[1] + SLACK and b[3] > a[1] + SLACK
    )


def grab(driver: Driver) -> Pixels:
    """Return what is shown as (height, width, 4), top row first."""
    width, height, pixels = driver.pixels()
    return np.frombuffer(pixels, dtype=np.uint8).reshape(height, width, 4)


def part(pixels: Pixels, widget: Any) -> Pixels:
    """Return the pixels of a widget."""
    left, bottom, right, top = (round(edge) for edge in box(widget))
    height = pixels.shape[0]
    return pixels[max(height - top, 0) : height - bottom, max(left, 0) : right, :3]


def ink_height(pixels: Pixels) -> int:
    """Return how many pixel rows high the ink in a picture is."""
    ground = pixels[0, 0].astype(int)
    differs = np.abs(pixels.astype(int) - ground).sum(axis=2) > 120
    rows = np.flatnonzero(differs.any(axis=1))
    return int(rows[-1] - rows[0] + 1) if rows.size else 0


def drawn_contrast(pixels: Pixels, ink: list[float]) -> float:
    """Return the contrast of ink that is really drawn against the ground it stands on.

    The ground of each inked pixel is the most common other colour near by: within the letters'
    height around it. 21 if no pixel is fully inked (small letters are all edges).
    """
    flat = pixels.reshape(-1, 3).astype(int)
    wanted = np.round(np.array(ink[:3]) * 255).astype(int)
    inked = np.abs(pixels.astype(int) - wanted).max(axis=2) <= 6
    if not inked.any():
        return 21.0
    rows, columns = np.nonzero(inked)
    reach = 14
    low, high = max(rows.min() - reach, 0), rows.max() + reach
    left, right = max(columns.min() - reach, 0), columns.max() + reach
    near = pixels[low:high, left:right].reshape(-1, 3)
    colours, counts = np.unique(near, axis=0, return_counts=True)
    away = np.abs(colours.astype(int) - wanted).max(axis=1) > 6
    assert flat.size
    ground = colours[away][np.argmax(counts[away])]
    return contrast(Colour(*map(int, wanted)), Colour(*map(int, ground)))


# --- what comes of it -----------------------------------------------------------------------------


@dataclass(frozen=True)
class Least:
    """The least of something, and the words where it is."""

    value: float = float("inf")
    words: str = ""

    def or_less(self, value: float, words: str) -> Least:
        """Return the lesser one."""
        return Least(value, words) if value < self.value else self


@dataclass
class Audit:
    """The least of each measure on one screen: mm of capitals, mm of targets, contrast."""

    text: Least = Least()
    important: Least = Least()
    target: Least = Least()
    contrast: Least = Least()
    faults: tuple[str, ...] = ()


def audited(driver: Driver, name: str, *, pixels: bool = True) -> Audit:
    """Open a screen, look at all of it, and return what was found."""
    top = opened(driver, name)
    audit = Audit()
    for _ in _screenfuls(driver, top):
        _look(driver, audit, pixels=pixels)
    return audit


def _screenfuls(driver: Driver, top: Any) -> Iterator[None]:
    yield
    scroll = getattr(top, "scroll", None)
    if scroll is None:
        return
    hidden = top.column.height - scroll.height
    for _ in range(PAGES_DOWN):
        if hidden <= SLACK or scroll.scroll_y <= 0:
            return
        scroll.scroll_y = max(scroll.scroll_y - 0.8 * scroll.height / hidden, 0.0)
        driver.frames(2)
        yield


def _look(driver: Driver, audit: Audit, *, pixels: bool) -> None:
    look = driver.stage.look
    texts = visible(driver)
    drawn = grab(driver) if pixels else None
    faults = list(audit.faults)
    for one, other in combinations(texts, 2):
        if overlapping(one, other):
            faults.append(f"'{said(one)}' and '{said(other)}' overlap")
    for one in texts:
        words = said(one)
        if not one.fits:
            faults.append(f"'{words}' is cut off")
        left, _, right, _ = box(one)
        reach = left + (one.flowed.width if one.flowed and one.align == "left" else one.width)
        if left < -SLACK or min(right, reach) > driver.stage.root.width + SLACK:
            faults.append(f"'{words}' reaches over the edge")
        for size, text, ink in _runs(one):
            capital = size * THEME.fonts.capital / look.px_per_mm
            audit.text = audit.text.or_less(capital, text)
            if is_important(one, driver) and size >= round(one.flowed.size):
                audit.important = audit.important.or_less(capital, text)
            if drawn is not None and whole(one):
                ratio = drawn_contrast(part(drawn, one), getattr(look, ink))
                audit.contrast = audit.contrast.or_less(ratio, text)
        if hasattr(one, "rank") and not one.disabled:
            side = min(one.width, one.height) / look.px_per_mm
            audit.target = audit.target.or_less(side, one.title)
    audit.faults = tuple(dict.fromkeys(faults))


def said(widget: Any) -> str:
    """Return the words of a widget."""
    return " ".join(span.words.strip() for span in widget.all_spans)[:60]


def _runs(widget: Any) -> Iterator[tuple[float, str, str]]:
    """Yield size of the letters in pixels, words and ink of each span that is drawn."""
    if widget.flowed is not None:
        spans = {run.span for line in widget.flowed.lines for run in line.runs}
        for span in spans:
            if span.words.strip():
                yield round(widget.flowed.size * span.scale), span.words.strip(), span.ink


def is_important(widget: Any, driver: Driver) -> bool:
    """Whether a text is what a screen is looked at for: the row, the answer, a name, a heading."""
    ids = driver.board.ids
    if widget in {ids.numeral, ids.instruction, ids.heard, ids.notes, ids.stop, ids.band}:
        return True
    top = driver.stage.overlays[-1] if driver.stage.overlays else None
    if top is not None and widget in {getattr(top, "step", None), top.ids.get("heading")}:
        return True
    heads = (
        not hasattr(widget, "rank") and widget.capital >= driver.stage.look.theme.sizes.far_words
    )
    return heads and widget.parent is not None and top is not None


def on_table(driver: Driver) -> bool:
    """Whether the screen stands at arm's length."""
    return bool(min(driver.stage.root.size) / driver.stage.look.px_per_mm >= LOW_SCREEN)
