"""No two commands sound alike to the recogniser: every fixed phrase is spoken and heard."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from app import resources
from bench.noise import in_room
from bench.voices import TUNED_ON, speak
from speech.acceptance import Acceptance
from speech.events import Heard, Refused
from speech.phrases import Way, read_phrases, with_own_phrases
from speech.sampler import read_fillers
from speech.sound import RATE
from speech.understand import understand
from speech.vosk_decoder import VoskModel

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from bench.voices import Voice
    from speech.phrases import PhraseBook

pytestmark = [pytest.mark.model, pytest.mark.voice]

SHIPPED = read_phrases(resources.text("shared/phrases/en.toml"))
FILLERS = read_fillers(resources.text("shared/phrases/filler.en.txt"))
VOICES = [voice for voice in TUNED_ON if voice.name in {"us", "gb-f2"}]


def heard(
    acceptance: Acceptance, voice: Voice, phrases: Sequence[str]
) -> Iterator[tuple[str, Heard | Refused | None]]:
    """Yield what each phrase is taken for when it is spoken in a quiet room."""
    for number, (phrase, said) in enumerate(zip(phrases, speak(voice, phrases), strict=True)):
        acceptance.start_over()
        sound = in_room(said, "quiet", number, None)
        whole = np.concatenate([sound, np.zeros(RATE, dtype=np.float32)])
        events = [one for one in acceptance.feed(whole) if isinstance(one, Heard | Refused)]
        yield phrase, events[-1] if events else None


def alike(book: PhraseBook, phrases: Sequence[str]) -> dict[str, set[str]]:
    """
    Return the phrases that are not told from another command, with the voices that say so.

    A phrase fails with a voice if it is taken for another command or might be another one.
    """
    acceptance = Acceptance(VoskModel(resources.model_folder()), book, FILLERS)
    found: dict[str, set[str]] = {}
    for voice in VOICES:
        for phrase, event in heard(acceptance, voice, phrases):
            if isinstance(event, Heard) and event.candidates[0] == understand(phrase, book)[0]:
                continue
            if isinstance(event, Heard) or (event and event.reason.value == "unsure"):
                found.setdefault(phrase, set()).add(voice.name)
    return found


def test_every_phrase_is_told_from_every_other() -> None:
    """No fixed phrase, spoken, is taken for another command by any voice, or nearly by both."""
    phrases = sorted(
        form.text for form in SHIPPED.all_forms if form.fixed and form.way is Way.SPOKEN
    )
    assert alike(SHIPPED, phrases) == {}


def test_a_phrase_that_sounds_like_another_is_found() -> None:
    """A phrase of her own that differs from a shipped one only in spelling fails the check."""
    own = '[commands.how_long]\nsay = ["how fore left"]\n'
    assert "how fore left" in alike(with_own_phrases(SHIPPED, own), ["how fore left"])
