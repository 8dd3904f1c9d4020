"""The settings by what one wants: every one has its place, and a sample that changes with it."""

from __future__ import annotations

from dataclasses import fields, replace

from app import resources
from app.display.screen_words import ScreenWording, read_texts
from app.display.settings_groups import ANSWERS, GROUPS, HANDS, LISTENS, sample
from app.session.settings import Settings, choices
from app.wording import reply_wording

BOOK = reply_wording()
WORDS = ScreenWording(
    read_texts(resources.text("shared/window/words.toml")),
    BOOK.written,
    BOOK.rows.say,
    BOOK.showing,
)


def test_every_setting_stands_in_one_group() -> None:
    """None is forgotten, none is there twice."""
    names = [name for _, group in GROUPS for name in group]
    assert sorted(names) == sorted(field.name for field in fields(Settings))


def test_a_sample_shows_the_choice() -> None:
    """Each way to answer, to listen, each unit and hand has words of its own."""
    for group, name in (
        (ANSWERS, "answering"),
        (ANSWERS, "level"),
        (ANSWERS, "rate"),
        (LISTENS, "listening"),
        (HANDS, "left_handed"),
        (HANDS, "length_unit"),
        (HANDS, "mass_unit"),
    ):
        told = {
            sample(group, replace(Settings(), **{name: value}), WORDS) for value in choices(name)
        }
        assert len(told) == len(choices(name)), name
        assert "" not in told


def test_samples_are_true() -> None:
    """8 cm are 3 1/8 in (3.15), 50 g are 1 3/4 oz (1.76); the row is read as it is read out."""
    inches = replace(
        Settings(), length_unit=choices("length_unit")[1], mass_unit=choices("mass_unit")[1]
    )
    assert "3 1/8 in" in sample(HANDS, inches, WORDS)
    assert "1 3/4 oz" in sample(HANDS, inches, WORDS)
    assert "knit two, purl two" in sample(ANSWERS, Settings(), WORDS).casefold()
