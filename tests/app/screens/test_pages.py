"""The other screens: pieces, beginning, pattern, story, settings, help, first start."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest

from app import resources
from app.drawings.story import round_step, story_of
from app.pieces.values import PieceSummary
from app.session.manner import Answering
from app.session.settings import Settings
from app.session.situation import HeardLine, Shown
from engine.commands import RowsDone, Source
from engine.quantities import LengthUnit, centimetres
from engine.talk import Screen, Show, SpeakAgain, TonesOnly
from tests.app.at_the_needle import Needle

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from tests.window_driver import Driver

    Opener = Callable[..., Driver]

pytestmark = pytest.mark.window

ESCAPE, ENTER, F2 = 27, 13, 283


def opened(open_window: Opener, name: str, needle: Needle | None = None, **how: Any) -> Any:
    """Open a window and one of its screens; return driver and page."""
    knitted = needle or Needle("bottle-sleeve").say("16 rows done", "measure 6 cm", "4 rows done")
    driver = open_window(situation=knitted.situation(), **how)
    driver.key(F2)
    driver.reach(name)
    driver.hands.submitted.clear()
    return driver, driver.stage.overlays[-1]


def words_on(page: Any) -> str:
    """Return everything that is written on a page, on its panels too."""
    panels = [panel for group in page.panels for panel in group.panels]
    beside = [text for panel in panels for text in panel.texts]
    beside += [text for panel in panels for _, text in getattr(panel.drawing, "lines", ())]
    spans = [span for text in (*page.paragraphs, *beside) for span in text.all_spans]
    titles = [getattr(one, "title", "") for shelf in page.shelves for one in shelf.children]
    return " ".join([*(span.words for span in spans), *titles])


# --- pieces --------------------------------------------------------------------------------------


def test_pieces_are_taken_up_and_finished_ones_are_folded(open_window: Opener) -> None:
    """Those on a needle are drawn, the one in hand marked; finished ones come when unfolded."""
    needle = Needle("bottle-sleeve")
    pieces = (
        PieceSummary(needle.talk.piece, "Bottle sleeve", "Hut", 3, False, "2026-01-02T10:00:00Z"),  # noqa: FBT003
        PieceSummary("b" * 32, "Mug sleeve", "Hut", 22, True, "2026-01-01T10:00:00Z"),  # noqa: FBT003
        PieceSummary("c" * 32, "Plain piece", "", 5, False, "2025-12-01T10:00:00Z"),  # noqa: FBT003
    )
    driver = open_window(situation=needle.situation(pieces=pieces))
    driver.key(F2)
    driver.reach("Your pieces")
    page = driver.stage.overlays[-1]
    assert list(page.cards) == [needle.talk.piece, "c" * 32]
    here = page.cards[needle.talk.piece]
    driver.frames(3)
    assert here.rank == "chosen"
    assert here.picture.fabric.fabric is not None
    assert "Finished: 1 piece" in words_on(page)
    driver.scroll_to(page, page.fold)
    driver.tap(page.fold)
    assert "22 rows" in page.cards["b" * 32].remark
    driver.key(102)
    assert "b" * 32 not in page.cards
    driver.key(102)
    driver.scroll_to(page, page.cards["b" * 32])
    driver.tap(page.cards["b" * 32])
    assert driver.hands.taken_up == ["b" * 32]
    assert driver.stage.overlays == []


# --- beginning -----------------------------------------------------------------------------------


def test_a_piece_is_begun_from_a_pattern_and_a_size(open_window: Opener) -> None:
    """Pattern and size chosen by touch, then cast on: the piece has its stitches and its text."""
    driver, page = opened(open_window, "Begin a piece", screen="tablet")
    driver.tap(page.choices["Crew cap"])
    driver.scroll_to(page, page.choices["M"])
    driver.tap(page.choices["M"])
    assert "Cast on 96 stitches." in words_on(page)
    driver.tap(driver.button("Cast on"))
    (new,) = driver.hands.begun
    assert (new.name, new.project, new.size, new.cast_on) == ("Crew cap, M", "Crew cap", "M", 96)
    assert new.pattern
    assert "crew-cap" in new.pattern
    assert new.count_every == Settings().count_every


def test_the_planner_answers_as_it_is_put_in(open_window: Opener) -> None:
    """Swatch and size by the pad: stitches, rows and yarn stand there at once, in words."""
    driver, page = opened(open_window, "Begin a piece", screen="tablet")
    driver.tap(page.choices["Without a pattern"])
    for field, keys in (
        ("stitches", (50, 48)),
        ("rows", (50, 56)),
        ("width", (50, 52)),
        ("length", (49, 56)),
    ):
        driver.scroll_to(page, page.fields[field])
        driver.tap(page.fields[field])
        for code in (*keys, ENTER):
            driver.key(code)
    said = words_on(page)
    assert "Cast on 48 stitches" in said  # 20 to 10 cm, 24 cm wide
    assert "Work 50 rows" in said  # 28 to 10 cm, 18 cm long: 50.4
    driver.scroll_to(page, page.fields["cast_on"])
    driver.tap(page.fields["cast_on"])
    for code in (52, 56, ENTER):
        driver.key(code)
    driver.tap(driver.button("Cast on"))
    (new,) = driver.hands.begun
    assert (new.pattern, new.cast_on, new.target) == (None, 48, centimetres(18))


def test_a_stitch_pattern_named_on_the_plan_writes_its_rows(open_window: Opener) -> None:
    """Named too soon it says what is missing; with swatch and size the piece has its rows."""
    driver, page = opened(open_window, "Begin a piece", screen="tablet")
    driver.tap(page.choices["Without a pattern"])
    driver.scroll_to(page, page.fields["stitch"])
    driver.tap(page.fields["stitch"])
    line = driver.stage.overlays[-1]
    line.ids.line.text = "2x2 rib"
    line.send()
    driver.frames(2)
    driver.tap(driver.button("Cast on"))
    assert driver.hands.begun == []
    assert "put in your swatch, width and length" in words_on(page)
    for key, value in (("stitches", 20), ("rows", 28), ("width", centimetres(24)),
                       ("length", centimetres(8))):  # fmt: skip
        page._take(page.draft.with_value(key, value))
    driver.frames(2)
    assert "Its rows are written in 2x2 rib." in words_on(page)
    driver.tap(driver.button("Cast on"))
    (new,) = driver.hands.begun
    assert new.cast_on == 50
    assert "Row 1 (RS): *k2, p2; rep from * to last 2 sts, k2" in new.pattern


def test_what_was_chosen_is_kept_until_it_is_cast_on(open_window: Opener) -> None:
    """Closing the page loses nothing that was put in."""
    driver, page = opened(open_window, "Begin a piece", screen="tablet")
    driver.tap(page.choices["Crew cap"])
    driver.key(ESCAPE)
    driver.key(F2)
    driver.reach("Begin a piece")
    assert driver.stage.overlays[-1].choices["Crew cap"].rank == "chosen"


def test_a_second_piece_of_the_same_name_gets_a_number(open_window: Opener) -> None:
    """Two mug sleeves are told apart by name."""
    needle = Needle("mug-sleeve").say("row done")
    pieces = (PieceSummary(needle.talk.piece, "Mug sleeve", "Mug sleeve", 1, False, "2026"),)  # noqa: FBT003
    driver = open_window(situation=needle.situation(pieces=pieces), screen="tablet")
    driver.key(F2)
    driver.reach("Begin a piece")
    driver.tap(driver.stage.overlays[-1].choices["Mug sleeve"])
    driver.tap(driver.button("Cast on"))
    assert driver.hands.begun[0].name == "Mug sleeve 2"


def test_a_pattern_that_cannot_be_read_says_so_and_is_not_cast_on(
    open_window: Opener, monkeypatch: pytest.MonkeyPatch, tmp_path: Any
) -> None:
    """A broken file in the knitter's own folder is listed with its sentence; nothing is begun."""
    from app import resources  # noqa: PLC0415

    (tmp_path / "patterns").mkdir()
    (tmp_path / "patterns" / "torn.toml").write_text('title = "Torn"\n[[section', encoding="utf-8")
    monkeypatch.setattr(resources, "data_folder", lambda: tmp_path)
    driver, page = opened(open_window, "Begin a piece", screen="tablet")
    driver.tap(page.choices["torn"])
    assert "cannot be knitted yet" in words_on(page)
    driver.tap(driver.button("Cast on"))
    assert driver.hands.begun == []
    assert driver.stage.overlays


# --- the pattern ---------------------------------------------------------------------------------


def test_the_pattern_shows_rows_and_verdict(open_window: Opener) -> None:
    """Rows of the size, where the knitter is, and that every row adds up."""
    _, page = opened(open_window, "The pattern")
    said = words_on(page)
    assert "Every row adds up" in said
    assert "You are here." in said
    assert "*k2, p2; rep from * to last 2 sts, k2" in said
    assert "until it measures 16.5 cm" in said


def test_a_problem_leads_to_its_row(open_window: Opener) -> None:
    """In a pattern that does not add up, a touch on the problem scrolls to its row."""
    text = """
title = "Short"
id = "short"
cast_on = 10
[[section]]
id = "body"
title = "Body"
rows = [
  "Row 1 (RS): k to end",
  "Row 2 (WS): p to end",
  "Rep rows 1 and 2 30 times more",
  "Next row (RS): *k4, k2tog; rep from * to end",
]
"""
    driver, page = opened(open_window, "The pattern", Needle(text).say("row done"))
    assert "does not add up" in words_on(page)
    assert page.problems
    before = page.scroll.scroll_y
    driver.scroll_to(page, page.problems[0])
    driver.tap(page.problems[0])
    assert page.scroll.scroll_y < before


# --- screens asked for in words ------------------------------------------------------------------


@pytest.mark.parametrize(
    ("screen", "name"),
    [
        (Screen.PIECES, "Your pieces"),
        (Screen.BEGIN, "Begin a piece"),
        (Screen.PATTERN, "The pattern"),
        (Screen.STORY, "The story of this piece"),
        (Screen.WORDS, "Words and keys"),
        (Screen.SETTINGS, "Settings"),
        (Screen.HELP, "Cautions and help"),
    ],
)
def test_a_screen_that_was_asked_for_is_shown(
    open_window: Opener, screen: Screen, name: str
) -> None:
    """What was said or typed opens the same page as a touch, once; the board closes it again."""
    now = Needle("bottle-sleeve").say("4 rows done").situation()
    driver = open_window(situation=now)
    driver.show(replace(now, shown=Shown(screen, 1)))
    (page,) = driver.stage.overlays
    assert page.title == name
    driver.show(replace(now, shown=Shown(screen, 1), level=0.9))
    assert driver.stage.overlays == [page]
    driver.key(ESCAPE)
    driver.show(replace(now, shown=Shown(screen, 1), level=0.1))
    assert driver.stage.overlays == []
    driver.show(replace(now, shown=Shown(screen, 2)))
    driver.show(replace(now, shown=Shown(Screen.BOARD, 3)))
    assert driver.stage.overlays == []


def test_a_key_opens_a_screen_at_once(open_window: Opener) -> None:
    """The screen is there before the assistant has answered, and the wish is told to it too."""
    driver = open_window(situation=Needle("bottle-sleeve").say("4 rows done").situation())
    driver.key(48)  # 0
    assert [page.title for page in driver.stage.overlays] == ["The story of this piece"]
    assert driver.hands.submitted == [(Show(Screen.STORY), Source.KEY)]


def test_the_pattern_follows_her_and_can_be_printed(
    open_window: Opener, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The row that is worked stands large and changes with her; a page to print is written."""
    monkeypatch.setattr(resources, "data_folder", lambda: tmp_path)
    needle = Needle("mug-sleeve").say("4 rows done")
    driver, page = opened(open_window, "The pattern", needle)
    assert "Row 5, right side" in words_on(page)
    assert "Knit to the end" in words_on(page)
    driver.show(needle.say("row done").situation())
    assert "Row 6, wrong side" in words_on(page)
    assert "Row 5, right side" not in words_on(page)
    driver.tap(page.print_out)
    assert (tmp_path / "printed" / "mug-sleeve.html").read_text().startswith("<!DOCTYPE html>")
    assert "mug-sleeve.html" in words_on(page)


# --- the story -----------------------------------------------------------------------------------


def test_the_story_holds_what_was_measured_and_noted(open_window: Opener) -> None:
    """Readings, counts, notes and how rows felt are listed, the newest first."""
    needle = Needle("bottle-sleeve").say("10 rows done", "measure 4 cm", "that felt tight")
    needle.say("6 rows done", "i count 54 stitches", "note row 12 cable crossed wrong")
    driver, page = opened(open_window, "The story of this piece", needle)
    rows = [row for row, _ in page.lines]
    assert rows == sorted(rows, reverse=True)
    said = " ".join(text for _, text in page.lines)
    for part in ("measured 4 cm", "felt tight", "54 stitches counted", "cable crossed wrong"):
        assert part in said
    assert driver.stage.overlays == [page]


def test_the_forecast_is_in_the_chart() -> None:
    """The story knows the target, the readings, and between which rows the target is reached."""
    needle = Needle("bottle-sleeve").say("16 rows done", "measure 6 cm", "4 rows done")
    now = needle.situation()
    story = story_of(now.state, now.course)
    assert story.target == pytest.approx(16.5)
    assert [(point.row, point.length) for point in story.points] == [(16, 6.0)]
    assert story.cone is not None
    first, last = story.cone
    assert 20 < first <= last < 80
    assert story.last_row >= last


def test_a_long_story_is_written_bit_by_bit(open_window: Opener) -> None:
    """Hundreds of notes do not make the page wait: earlier ones come on demand."""
    needle = Needle("bottle-sleeve")
    for number in range(1, 90):
        needle.say("row done", f"note row {number} this is note {number}")
    driver, page = opened(open_window, "The story of this piece", needle)
    assert len(page.lines) >= 89
    assert page.written < len(page.lines)
    driver.reach("Earlier")
    assert page.written == len(page.lines)


@pytest.mark.parametrize(
    ("reach", "step"), [(10, 2), (18, 5), (47, 10), (160, 50), (2000, 500), (1, 0.2)]
)
def test_axes_are_numbered_roundly(reach: float, step: float) -> None:
    """The distance between two numbers on an axis is 1, 2 or 5 times a power of ten."""
    assert round_step(reach) == pytest.approx(step)


# --- settings ------------------------------------------------------------------------------------


def test_settings_take_effect_at_once_and_are_kept(open_window: Opener) -> None:
    """Theme, text size, hands and units change what is shown, and are handed over to be kept."""
    driver, page = opened(open_window, "Settings", screen="tablet")

    def choose(name: str, value: Any) -> None:
        control = page.choices[name, value]
        driver.scroll_to(page, control)
        driver.tap(page.choices[name, value])

    choose("palette", "dark")
    assert driver.stage.look.name == "dark"
    choose("text_scale", 1.5)
    assert driver.stage.look.text_scale == 1.5
    choose("left_handed", value=True)
    assert driver.stage.look.left_handed
    choose("length_unit", LengthUnit.IN)
    choose("answering", Answering.TONES)
    assert driver.hands.submitted[-1] == (TonesOnly(), Source.TOUCH)
    choose("answering", Answering.VOICE)
    assert driver.hands.submitted[-1] == (SpeakAgain(), Source.TOUCH)
    kept, _ = driver.hands.kept[-1]
    assert kept == replace(
        Settings(), palette="dark", text_scale=1.5, left_handed=True, length_unit=LengthUnit.IN
    )
    driver.key(ESCAPE)
    driver.reach("Measure")
    assert driver.stage.overlays[-1].entry.unit is LengthUnit.IN


def test_a_pedal_is_taught_by_pressing_it(open_window: Opener) -> None:
    """After "press your pedal now" the key that comes does what was chosen, and is kept as text."""
    driver, page = opened(open_window, "Settings", screen="tablet")
    control = page.teachable["undo"]
    driver.scroll_to(page, control)
    driver.tap(control)
    assert "Press your pedal" in words_on(page)
    driver.key(98)  # the key b, which a cheap pedal sends
    assert driver.hands.submitted == []
    assert "98" in driver.hands.kept[-1][1]
    driver.key(ESCAPE)
    driver.key(98)
    assert driver.hands.submitted[-1][0].name == "undo"
    own = driver.hands.kept[-1][1]
    again = open_window(situation=Needle("bottle-sleeve").say("row done").situation())
    again.stage.places.keys, again.stage.places.taught = _own(again, own)
    again.key(98)
    assert again.hands.submitted[-1][0].name == "undo"


def _own(driver: Driver, own: str) -> Any:
    from app.window.screens.places import own_keys  # noqa: PLC0415

    return own_keys(replace(driver.desk, own_keys=own))


def test_escape_ends_the_teaching(open_window: Opener) -> None:
    """Who changes her mind presses escape, and no key is changed."""
    driver, page = opened(open_window, "Settings", screen="tablet")
    driver.scroll_to(page, page.teachable["undo"])
    driver.tap(page.teachable["undo"])
    driver.key(ESCAPE)
    assert driver.stage.places.learning is None
    assert driver.stage.places.taught == {}


# --- help and first start ------------------------------------------------------------------------


def test_cautions_are_said_plainly(open_window: Opener) -> None:
    """The cautions of the pattern, heat, children, rests, and what screen readers cannot do."""
    _, page = opened(open_window, "Cautions and help")
    said = words_on(page)
    for part in ("potholder", "ask a doctor or physiotherapist", "Screen readers cannot", "child"):
        assert part in said


def test_the_first_start_leads_to_the_first_row(open_window: Opener) -> None:
    """On a fresh journal "Knit now" asks nothing; the second touch counts the first row."""
    needle = Needle("mug-sleeve")
    driver = open_window(situation=needle.situation())
    (welcome,) = driver.stage.overlays
    driver.tap(welcome.button)
    assert driver.stage.overlays == []
    driver.reach("Row done")
    assert driver.hands.submitted == [(RowsDone(), Source.TOUCH)]
    driver.show(needle.say("row done").situation())
    assert driver.board.view.number == "2"


def test_a_spoken_first_row_closes_the_first_start(open_window: Opener) -> None:
    """Saying "row done" instead of touching leads to the board as well."""
    needle = Needle("mug-sleeve")
    driver = open_window(situation=needle.situation())
    assert driver.stage.overlays
    driver.show(needle.say("row done").situation())
    assert driver.stage.overlays == []


def test_who_has_knitted_before_sees_the_board(open_window: Opener) -> None:
    """With rows done, or other pieces in the journal, nothing stands before the board."""
    assert open_window(situation=Needle().say("row done").situation()).stage.overlays == []
    other = PieceSummary("b" * 32, "Mug sleeve", "", 22, True, "2026")  # noqa: FBT003
    assert open_window(situation=Needle().situation(pieces=(other,))).stage.overlays == []


# --- everything ----------------------------------------------------------------------------------


def test_everything_is_found_by_a_word_that_is_typed_or_said(open_window: Opener) -> None:
    """A typed word shows what goes by it; so does a word that is heard and is no command."""
    needle = Needle("mug-sleeve").say("row done")
    driver = open_window(situation=needle.situation())
    driver.key(F2)
    page = driver.stage.overlays[-1]
    assert "row_done" not in page.buttons, "groups are closed at first"
    driver.tap(page.buttons["Rows"])
    assert "row_done" in page.buttons
    page.search("lifeline")
    driver.frames(2)
    assert {"place_lifeline", "back_to_lifeline", "means_lifeline"} <= set(page.buttons)
    assert "weigh_yarn" not in page.buttons
    heard = HeardLine("yarn", accepted=False, why="not known")
    driver.show(replace(needle.situation(), heard=heard))
    assert "weigh_yarn" in page.buttons
    driver.tap(page.buttons["weigh_yarn"])
    assert driver.stage.overlays[-1] is not page


def test_steps_of_the_hands_are_drawn_where_they_are_asked_for(open_window: Opener) -> None:
    """Showing how: beside the name of a stitch its fabric; casting on has none to show."""
    driver = open_window(situation=Needle("mug-sleeve").situation())
    driver.key(F2)
    page = driver.stage.overlays[-1]
    driver.tap(page.buttons["Showing how"])
    beside = {
        key: [type(one).__name__ for one in page.buttons[key].parent.children]
        for key in ("how_k2tog", "how_cast_on")
    }
    assert "FabricView" in beside["how_k2tog"]
    assert "FabricView" not in beside["how_cast_on"]
