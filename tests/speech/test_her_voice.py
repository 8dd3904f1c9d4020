"""The knitter's voice: how high it is, and whose a short answer is."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from speech.hearing.decoder import Hypothesis
from speech.hearing.events import Heard, Reason, RefusedSpeech
from speech.hearing.her_voice import HerVoice, VoiceSettings
from speech.hearing.pitch import pitch_hz
from speech.hearing.sound import RATE
from tests.speech.test_acceptance import decided, scripted, spoken

if TYPE_CHECKING:
    from speech.hearing.sound import Samples


def hummed(hertz: float, seconds: float = 0.5) -> Samples:
    """Return a voice: a tone with overtones that grow weaker, and a little breath."""
    time = np.arange(round(seconds * RATE)) / RATE
    tone = sum(np.sin(2 * np.pi * hertz * k * time) / k for k in range(1, 12))
    breath = 0.05 * np.random.default_rng(1).standard_normal(len(time))
    return np.asarray(0.05 * (tone + breath), dtype=np.float32)


@pytest.mark.parametrize("hertz", [90.0, 120.0, 180.0, 230.0, 310.0])
def test_a_pitch_is_found(hertz: float) -> None:
    """The period of a voice is found to two in a hundred, no octave beside it."""
    found = pitch_hz(hummed(hertz))
    assert found == pytest.approx(hertz, rel=0.02)


def test_noise_and_a_moment_have_no_pitch() -> None:
    """Where nothing is voiced, or hardly anything there, nothing is made up."""
    noise = np.random.default_rng(2).standard_normal(RATE).astype(np.float32)
    assert pitch_hz(noise) is None
    assert pitch_hz(hummed(120.0, 0.04)) is None


@pytest.mark.parametrize(
    ("hertz", "level", "since_s", "hers"),
    [
        (200.0, -20.0, 10.0, True),
        (170.0, -26.0, 10.0, True),
        (120.0, -20.0, 10.0, False),
        (310.0, -20.0, 10.0, False),
        (200.0, -31.0, 10.0, False),
        (200.0, -10.0, 10.0, False),
        (200.0, -20.0, 5.8, False),
    ],
)
def test_a_short_answer_is_hers_by_pitch_level_and_place(
    hertz: float, level: float, since_s: float, *, hers: bool
) -> None:
    """Another voice, one far away, one too near, and one amid talk are not hers."""
    her = HerVoice(VoiceSettings())
    her.learn(-20.0, hummed(200.0, 1.0))
    her.talked(5.0)
    assert her.answers(level, hummed(hertz), since_s) is hers


def test_who_was_never_heard_may_answer() -> None:
    """Before any command was heard nothing is known that could speak against a voice."""
    assert HerVoice(VoiceSettings()).answers(-50.0, hummed(100.0), 1.0)


def test_a_no_in_the_middle_of_talk_answers_nothing() -> None:
    """In the stream, "no" behind other words is refused, and taken when it stands alone."""
    talk, no = [Hypothesis("what lost", 30.0)], [Hypothesis("no", 50.0)]
    short = spoken(0.4, before=0.2)
    for sounds, script in (((spoken(), short), [talk, no, talk]), ((spoken(0.4),), [no])):
        acceptance = scripted(script, [no])
        acceptance.answers = True
        last = decided(acceptance, *sounds)[-1]
        if len(sounds) == 1:
            assert isinstance(last, Heard)
        else:
            assert isinstance(last, RefusedSpeech)
            assert last.reason in {Reason.NOT_HERS, Reason.UNSURE}
