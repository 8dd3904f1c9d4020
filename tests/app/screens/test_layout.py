"""What is really on the screen: nothing cut off, nothing overlapping, large enough to see and hit.

Every screen is opened on several devices, in portrait and landscape, at several text sizes, and the
widgets and pixels that come out are measured.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from app import resources
from app.display.theme import AT_LEAST_TEXT, read_theme
from app.session.demonstration import shown_in
from app.session.settings import PALETTES, Settings
from app.session.situation import HeardLine
from app.wording import reply_wording
from engine.commands import HowTo, Technique
from tests.app.at_the_needle import Needle
from tests.screen_audit import drawn_contrast

if TYPE_CHECKING:
    from collections.abc import Callable

    import numpy.typing as npt

    from app.session.situation import Situation
    from tests.window_driver import Driver

    Opener = Callable[..., Driver]
    Pixels = npt.NDArray[np.uint8]

pytestmark = pytest.mark.window

THEME = read_theme(resources.text("shared/theme.toml"))
SCREENS = (
    "desktop",
    "phone",
    "phone on its side",
    "small phone",
    "tablet",
    "tablet on its side",
    "least phone",
    "large tablet",
    "large tablet on its side",
)
ESCAPE, TAB, F1, F2 = 27, 9, 282, 283
SLACK = 1.0  # pixels


def situations() -> dict[str, Situation]:
    """Return pieces that need much room: long rows, shaping, questions, refusals, big numbers."""
    long_row = """
title = "A shawl with a title that is longer than most"
id = "shawl"
cast_on = 30
[[section]]
id = "body"
title = "Body with the long edge"
rows = [
  "Row 1 (RS): k3, pm, k5, pm, (k2tog, yo) 6 times, k2, pm, k5, pm, k3",
  "Row 2 (WS): k3, sm, p5, sm, p14, sm, p5, sm, k3",
  "Rep rows 1 and 2 900 times more",
]
"""
    sleeve = Needle("bottle-sleeve").say("16 rows done", "measure 6 cm", "4 rows done")
    asking = Needle("bottle-sleeve").say("20 rows done", "i'm really on row 18")
    cap = Needle("crew-cap", "M").say("12 rounds done", "this part is done")
    shawl = Needle(long_row).say(*["199 rows done"] * 7, "27 rows done", "next bit", "next bit")
    return {
        "first row": Needle("mug-sleeve").situation(),
        "short row": Needle("bottle-sleeve").say("6 rows done").situation(),
        "measured": sleeve.situation(),
        "question": asking.situation(),
        "cap": cap.say("20 rounds done", "this part is done").situation(),
        "long row": shawl.situation(),
        "refused": sleeve.situation(
            heard=HeardLine(
                "no the other one by the window please",
                accepted=False,
                why="That was not said to me: begin with the words that are on the board.",
            )
        ),
        "trouble": sleeve.situation(trouble="The microphone is gone. Plug it in again."),
    }


SITUATIONS = situations()


def told(stitch: str) -> tuple[str, ...]:
    """Return the sentences that tell how a stitch is made."""
    needle = Needle("bottle-sleeve")
    needle.hear((HowTo(Technique(stitch)),))
    found = shown_in(needle.replies)
    return reply_wording().moves(found.instruction) if found is not None else ()


def visible(driver: Driver) -> list[Any]:
    """Return the text widgets that are on the screen, with their place on it."""
    top = driver.stage.overlays[-1] if driver.stage.overlays else driver.board
    found = []
    for widget in top.walk(restrict=True):
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


def overlapping(one: Any, other: Any) -> bool:
    """Whether two widgets share more than an edge."""
    a, b = box(one), box(other)
    return (
        a[2] > b[0] + SLACK and b[2] > a[0] + SLACK and a[3] > b[1] + SLACK and b[3] > a[1] + SLACK
    )


def audit(driver: Driver, where: str) -> None:
    """Fail if anything on the screen is cut off, overlaps, or is too small to hit."""
    target = THEME.sizes.target * driver.stage.look.px_per_mm
    texts = visible(driver)
    assert texts, where
    cut = [" ".join(span.words for span in one.all_spans) for one in texts if not one.fits]
    assert not cut, (where, "cut off", cut)
    for one, other in combinations(texts, 2):
        assert not overlapping(one, other), (where, one.all_spans, other.all_spans)
    for one in texts:
        left, _, right, _ = box(one)
        assert left >= -SLACK, where
        assert right <= driver.stage.root.width + SLACK, where
        if hasattr(one, "rank") and not one.disabled:
            assert one.width >= target - SLACK, (where, one.title, one.width / target)
            assert one.height >= target - SLACK, (where, one.title, one.height / target)


@pytest.mark.parametrize("scale", [1.0, 1.5, 2.0])
@pytest.mark.parametrize("screen", SCREENS)
def test_the_board_is_whole(open_window: Opener, screen: str, scale: float) -> None:
    """On every device and text size the board shows each situation whole, with large targets."""
    driver = open_window(screen=screen, settings=Settings(text_scale=scale))
    for name, situation in SITUATIONS.items():
        driver.show(situation)
        driver.stage.close_all()  # the first start has a test of its own
        driver.frames(1)
        audit(driver, f"{name} on {screen} at {scale}")


@pytest.mark.parametrize("scale", [1.0, 2.0])
@pytest.mark.parametrize("screen", SCREENS)
def test_the_first_start_is_whole(open_window: Opener, screen: str, scale: float) -> None:
    """The page that leads to the first row shows everything whole on every device."""
    driver = open_window(
        screen=screen, settings=Settings(text_scale=scale), situation=SITUATIONS["first row"]
    )
    assert driver.stage.overlays
    audit(driver, f"first start on {screen} at {scale}")


@pytest.mark.parametrize("scale", [1.0, 2.0])
@pytest.mark.parametrize("screen", SCREENS)
def test_what_lies_over_the_board_is_whole(open_window: Opener, screen: str, scale: float) -> None:
    """Pages, pads and the line to type into show everything whole on every device."""
    driver = open_window(
        screen=screen, settings=Settings(text_scale=scale), situation=SITUATIONS["measured"]
    )
    places = ("Your pieces", "Begin a piece", "The pattern", "The story of this piece", "Settings")
    for name in (*places, "Plan from a swatch", "Finishing", "Cautions and help"):
        driver.key(F2)
        driver.reach(name)
        driver.frames(1)
        audit(driver, f"{name} on {screen} at {scale}")
        driver.key(ESCAPE)
    for name, code in (
        ("everything", F2),
        ("words", F1),
        ("type", TAB),
        ("count", 99),
        ("measure", 109),
    ):
        driver.key(code)
        driver.frames(1)
        audit(driver, f"{name} on {screen} at {scale}")
        driver.key(ESCAPE)


MOVES = sorted(
    {
        showing
        for stitch in ("k", "p", "ssk", "k2tog", "yo", "m1l", "kfb", "cable", "cast_on", "bind_off")
        for showing in told(stitch)
    },
    key=len,
)
"""All sentences that tell how something is made, the longest last."""


@pytest.mark.parametrize("scale", [1.0, 2.0])
@pytest.mark.parametrize("screen", SCREENS)
def test_long_teaching_sentences_wrap(open_window: Opener, screen: str, scale: float) -> None:
    """A long sentence of how it is made takes several lines and stays large; nothing is cut off."""
    now = Needle("bottle-sleeve").say("8 rows done", "how do i slip slip knit").situation()
    driver = open_window(screen=screen, settings=Settings(text_scale=scale), situation=now)
    view = driver.board.view
    for sentence in (*MOVES[-4:], *MOVES[:1]):
        driver.board.view = replace(view, bits=(sentence,))
        driver.frames(2)
        text = driver.board.ids.instruction
        capital = text.flowed.size * THEME.fonts.capital / driver.stage.look.px_per_mm
        assert text.fits, sentence
        least = THEME.sizes.words if "phone" in screen else THEME.sizes.instruction
        assert capital >= least - 0.3, (sentence, capital)
        if text.flowed.size * len(sentence) > 3 * text.width:  # it cannot stand on one line
            assert len(text.flowed.lines) > 1, sentence


# --- measured on pixels --------------------------------------------------------------------------


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


@pytest.mark.parametrize("screen", SCREENS)
def test_the_number_is_read_across_a_table(open_window: Opener, screen: str) -> None:
    """The figures of the row are at least 20 mm high, measured on the drawn pixels."""
    driver = open_window(screen=screen, situation=SITUATIONS["measured"])
    pixels = part(grab(driver), driver.board.ids.numeral)
    millimetres = ink_height(pixels) / driver.stage.look.px_per_mm
    assert millimetres >= 20.0 - 0.3  # a pixel is up to a quarter of a millimetre


@pytest.mark.parametrize("screen", SCREENS)
def test_the_instruction_is_read_across_a_table(open_window: Opener, screen: str) -> None:
    """The letters of the instruction are at least 6 mm from foot to head, on the drawn pixels."""
    driver = open_window(screen=screen, situation=SITUATIONS["short row"])
    text = driver.board.ids.instruction
    assert text.flowed.lines[0].runs[0].words.startswith("knit to the")
    above = 0 if text.valign == "top" else round((text.height - text.flowed.height) / 2)
    a_line = round(text.flowed.height / len(text.flowed.lines))
    pixels = part(grab(driver), text)[above : above + a_line]
    letters = ink_height(pixels) / driver.stage.look.px_per_mm
    assert letters >= 6.0


@pytest.mark.parametrize("palette", PALETTES)
@pytest.mark.parametrize("name", ["measured", "question", "refused", "cap"])
def test_every_text_keeps_seven_to_one_on_the_pixels(
    open_window: Opener, palette: str, name: str
) -> None:
    """Each text on the board is drawn at 7:1 or more against the pixels around it."""
    driver = open_window(settings=Settings(palette=palette), situation=SITUATIONS[name])
    pixels = grab(driver)
    for widget in visible(driver):
        for span in widget.all_spans:
            if span.words.strip():
                ratio = drawn_contrast(part(pixels, widget), getattr(driver.stage.look, span.ink))
                assert ratio >= AT_LEAST_TEXT, (palette, name, span.words, ratio)


@pytest.mark.parametrize("palette", PALETTES)
def test_controls_keep_seven_to_one_on_the_pixels(open_window: Opener, palette: str) -> None:
    """The same on pads and pages: digits, chosen keys, page of words."""
    driver = open_window(settings=Settings(palette=palette), situation=SITUATIONS["measured"])
    for code in (F2, F1, 109):
        driver.key(code)
        pixels = grab(driver)
        for widget in visible(driver):
            _, bottom, _, top = box(widget)
            if bottom < 0 or (
                top > driver.stage.overlays[-1].scroll.top and hasattr(widget, "rank")
            ):
                continue  # partly scrolled away
            for span in widget.all_spans:
                if span.words.strip():
                    ink = getattr(driver.stage.look, span.ink)
                    ratio = drawn_contrast(part(pixels, widget), ink)
                    assert ratio >= AT_LEAST_TEXT, (palette, code, span.words, ratio)
        driver.key(ESCAPE)
