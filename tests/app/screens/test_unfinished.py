"""What was put in and not sent is there again after the window was killed."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from app.pieces.library import patterns
from app.session.draft import Draft
from app.session.kept_drafts import (
    Unfinished,
    begun_of,
    draft_of,
    keep_text,
    kept_text,
    read_unfinished,
    write_unfinished,
)
from engine.quantities import centimetres
from tests.app.at_the_needle import Needle
from tests.app.screens.test_pages import words_on

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.window_driver import Driver

    Opener = Callable[..., Driver]

ESCAPE, TAB, F2, ENTER = 27, 9, 283, 13


def test_what_is_kept_can_be_read_again() -> None:
    """Lines and the choices for a piece come back as they were; nothing is nothing."""
    library = patterns()
    cap = next(one for one in library if one.title == "Crew cap")
    draft = Draft(cap, "M", (("stitches", 20), ("width", centimetres(44)), ("needle", "4.5 mm")))
    kept = Unfinished({"typed": "3 rows d", "note_row": ""}, begun_of(draft))
    again = read_unfinished(write_unfinished(kept))
    assert again.typed == {"typed": "3 rows d"}
    assert draft_of(again.begun, library) == draft
    assert write_unfinished(Unfinished({"typed": ""}, begun_of(Draft()))) == ""
    assert draft_of({}, library) is None


@pytest.mark.parametrize(
    "text", ["", "{", "[]", '{"typed": 3}', '{"begun": [1], "typed": {"a": 1}}']
)
def test_a_damaged_text_is_nothing_to_fear(text: str) -> None:
    """Whatever stands in the file, reading it raises nothing."""
    found = read_unfinished(text)
    assert draft_of(found.begun, patterns()) is None


def test_a_pattern_that_is_gone_is_not_begun() -> None:
    """A draft of a pattern that is not at hand any more is forgotten; a size that is gone, too."""
    assert draft_of({"pattern": "gone", "size": "M", "values": {}}, patterns()) is None
    found = draft_of({"pattern": "crew-cap", "size": "XXL", "values": {}}, patterns())
    assert found is not None
    assert found.size == "S"


def test_it_is_kept_on_the_device(tmp_path: object) -> None:
    """Kept, replaced and taken away again; without a file there is no text."""
    del tmp_path
    assert kept_text() == ""
    keep_text('{"typed": {"typed": "one"}}')
    keep_text('{"typed": {"typed": "two"}}')
    assert read_unfinished(kept_text()).typed == {"typed": "two"}
    keep_text("")
    assert kept_text() == ""


@pytest.mark.window
def test_a_line_survives_a_kill(open_window: Opener) -> None:
    """Letters typed into a note are handed over to be kept as they come, and stand there again."""
    needle = Needle("bottle-sleeve").say("row done")
    driver = open_window(situation=needle.situation())
    driver.reach("Write a note")
    driver.stage.overlays[-1].ids.line.text = "half a thou"
    driver.frames(1)
    text = driver.hands.remembered[-1]  # and here the window is killed
    again = open_window(situation=needle.situation(), unfinished=text)
    again.reach("Write a note")
    line = again.stage.overlays[-1]
    assert line.typed == "half a thou"
    line.send()
    assert read_unfinished(again.hands.remembered[-1]).typed == {}


@pytest.mark.window
def test_a_piece_half_planned_survives_a_kill(open_window: Opener) -> None:
    """Pattern, size, numbers and texts stand there again, with the planner's answer."""
    needle = Needle("bottle-sleeve").say("row done")
    driver = open_window(situation=needle.situation(), screen="tablet")
    driver.key(F2)
    driver.reach("Begin a piece")
    page = driver.stage.overlays[-1]
    driver.tap(page.choices["Mug sleeve"])
    for key, codes in (("stitches", (50, 48)), ("rows", (50, 56)), ("width", (50, 52))):
        driver.scroll_to(page, page.fields[key])
        driver.tap(page.fields[key])
        for code in (*codes, ENTER):
            driver.key(code)
    driver.scroll_to(page, page.fields["name"])
    driver.tap(page.fields["name"])
    line = driver.stage.overlays[-1]
    line.ids.line.text = "Anna's mug"
    line.send()
    assert page.fields["name"].remark == "Anna's mug"
    text = driver.hands.remembered[-1]
    again = open_window(situation=needle.situation(), screen="tablet", unfinished=text)
    again.key(F2)
    again.reach("Begin a piece")
    page = again.stage.overlays[-1]
    assert page.choices["Mug sleeve"].rank == "chosen"
    assert page.fields["width"].remark == "24 cm (9 1/2 in)"
    assert "Cast on" in words_on(page)
    again.tap(again.button("Cast on"))
    (new,) = again.hands.begun
    assert (new.name, new.cast_on) == ("Anna's mug", 50)
    assert read_unfinished(again.hands.remembered[-1]).begun == {}


@pytest.mark.window
def test_what_cannot_be_a_needle_is_said(open_window: Opener) -> None:
    """A needle nobody makes is answered with what to write; the rest stays as it was."""
    driver = open_window(situation=Needle("bottle-sleeve").situation(), screen="tablet")
    driver.stage.close_all()
    driver.key(F2)
    driver.reach("Begin a piece")
    page = driver.stage.overlays[-1]
    driver.scroll_to(page, page.fields["needle"])
    driver.tap(page.fields["needle"])
    line = driver.stage.overlays[-1]
    line.ids.line.text = "thick"
    line.send()
    assert "4.5 mm" in page.wrong
    assert "needle" not in page.draft.numbers
    assert driver.stage.overlays == [page]
    assert replace(page.draft) == page.draft
