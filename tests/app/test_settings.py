"""Settings: written and read without loss, and a damaged file never stops the program."""

from __future__ import annotations

from dataclasses import fields
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app import language
from app.pieces.values import NewPiece
from app.session.assistant import Assistant
from app.session.clock import SetClock
from app.session.conversation import Conversation
from app.session.ports import Silent
from app.session.settings import SCALE_STEPS, Settings, choices, read_settings, write_settings
from engine.commands import Source
from engine.journal.memory import MemoryJournal

if TYPE_CHECKING:
    from app.session.situation import Situation

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


@pytest.mark.parametrize("step", SCALE_STEPS)
def test_the_step_of_the_scale_is_kept(step: float) -> None:
    """Every choice is written and read again; none chosen means that the step is learnt."""
    settings, wrong = read_settings(write_settings(Settings(scale_step=step)))
    assert (settings.scale_step, wrong) == (step, "")
    assert settings.scale_g == (step or None)


def test_the_step_of_the_scale_reaches_the_answer_and_the_next_piece() -> None:
    """What was set is shown in the situation, and goes along to another piece."""
    seen: list[Situation] = []

    def opened() -> Conversation:
        return Conversation.begin(MemoryJournal(), NewPiece("sleeve"), SetClock())

    helper = Assistant(opened, language.phrase_book(), seen.append, Silent(), SetClock())
    helper.scale(5.0)
    helper.start()
    helper.cast_on(NewPiece("cap"), Source.TOUCH)
    helper.stop(60)
    assert seen[-1].state.name == "cap"
    assert seen[-1].scale_g == 5.0
