"""No two commands sound alike to the recogniser: every fixed phrase is spoken and heard."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from app import resources
from bench.voices import TUNED_ON, speak
from speech.hearing.acceptance import Acceptance
from speech.hearing.sound_alikes import taken_for
from speech.hearing.vosk_decoder import VoskModel
from speech.words.phrases import Way, read_phrases, with_own_phrases
from speech.words.sampler import read_fillers

if TYPE_CHECKING:
    from collections.abc import Sequence

    from speech.words.phrases import PhraseBook

pytestmark = [pytest.mark.model, pytest.mark.voice]

SHIPPED = read_phrases(resources.text("shared/phrases/en.toml"))
FILLERS = read_fillers(resources.text("shared/phrases/filler.en.txt"))
VOICES = [voice for voice in TUNED_ON if voice.name in {"us", "gb-f2"}]


def alike(book: PhraseBook, phrases: Sequence[str]) -> dict[str, str]:
    """Return the phrases that are not told from another command, with one of that command."""
    acceptance = Acceptance(VoskModel(resources.model_folder()), book, FILLERS)
    spoken = [speak(voice, phrases) for voice in VOICES]
    return taken_for(dict(zip(phrases, zip(*spoken, strict=True), strict=True)), book, acceptance)


def test_every_phrase_is_told_from_every_other() -> None:
    """No fixed phrase, spoken, is taken for another command, or nearly, by any voice."""
    phrases = sorted(
        form.text for form in SHIPPED.all_forms if form.fixed and form.way is Way.SPOKEN
    )
    assert alike(SHIPPED, phrases) == {}


def test_quantities_are_told_from_other_quantities() -> None:
    """An inch and a half, thirds, sixteenths and a thousand, spoken, are no other quantity."""
    phrases = [
        "measure an inch and a half",
        "measure two inches and a half",
        "measure two thirds of an inch",
        "measure four and five sixteenths inches",
        "yarn weighs an ounce and a half",
        "i count a thousand stitches",
        "i count one thousand and four stitches",
        "i count one thousand two hundred stitches",
    ]
    assert alike(SHIPPED, phrases) == {}


def test_a_phrase_that_sounds_like_another_is_found() -> None:
    """A phrase of her own that differs from a shipped one only in spelling fails the check."""
    own = '[commands.how_long]\nsay = ["how fore left"]\n'
    assert "how fore left" in alike(with_own_phrases(SHIPPED, own), ["how fore left"])
