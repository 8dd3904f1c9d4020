"""Settings: written and read without loss, and a damaged file never stops the program."""

from __future__ import annotations

from dataclasses import fields

from hypothesis import given
from hypothesis import strategies as st

from app.session.settings import Settings, choices, read_settings, write_settings

any_settings = st.builds(
    Settings,
    **{field.name: st.sampled_from(choices(field.name)) for field in fields(Settings)},
)


@given(any_settings)
def test_settings_come_back_as_they_were_chosen(settings: Settings) -> None:
    """Every combination of choices survives writing and reading."""
    assert read_settings(write_settings(settings)) == (settings, "")


@given(st.text(max_size=200))
def test_nothing_in_the_file_stops_the_program(text: str) -> None:
    """Whatever the file holds, there are settings, and a sentence unless all was understood."""
    settings, sentence = read_settings(text)
    assert isinstance(settings, Settings)
    assert settings == Settings() or not sentence


def test_what_means_nothing_is_named_and_the_rest_is_kept() -> None:
    """A wrong value falls back to its usual one and is named; the others hold."""
    settings, sentence = read_settings('palette = "dark"\nrate = 9000\nsparkle = true\n')
    assert settings.palette == "dark"
    assert settings.rate == Settings().rate
    assert "rate" in sentence
    assert "sparkle" in sentence


def test_true_is_no_number() -> None:
    """A truth value does not pass for the number one."""
    settings, sentence = read_settings("text_scale = true\ncount_every = false\n")
    assert settings == Settings()
    assert "text_scale" in sentence
