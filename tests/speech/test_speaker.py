"""The best voice and tones that a machine has are chosen, and what is missing is said once."""

from __future__ import annotations

import pytest

from app import resources
from engine.replies import Tone
from speech.speaking.devices import Machine, best_devices, best_speaker, best_tones, best_vibration
from speech.speaking.loudspeaker import Loudspeaker
from speech.speaking.plyer_voice import PlyerVoice
from speech.speaking.program import ESPEAK, ESPEAK_NG, ProgramVoice
from speech.speaking.silence import Silence
from speech.speaking.vibration import Vibration
from tests.contracts.test_tone_players import Motor

FILES = {tone: resources.data(f"assets/tones/{tone}.wav") for tone in Tone}
FAULT = "This machine has no loudspeaker that can be opened."


def machine(**has: object) -> Machine:
    """Return a desktop with a loudspeaker and what else is given."""
    return Machine(**{"platform": "linux", "fault": None, "programs": (), "plyer": False, **has})  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("has", "kind", "sentence"),
    [
        ({"programs": (ESPEAK_NG, ESPEAK)}, ProgramVoice, "Answers are spoken by espeak-ng."),
        ({"programs": (ESPEAK,), "plyer": True}, ProgramVoice, "Answers are spoken by espeak."),
        (
            {"plyer": True},
            PlyerVoice,
            "Answers are spoken by a voice that cannot be interrupted.",
        ),
        (
            {},
            Silence,
            "No voice: no program that speaks was found; espeak-ng is one (Debian: espeak-ng).",
        ),
        (
            {"programs": (ESPEAK_NG,), "fault": FAULT},
            Silence,
            "No voice: this machine has no loudspeaker that can be opened.",
        ),
        (
            {"platform": "ios", "plyer": True},
            PlyerVoice,
            "Answers are spoken by this device's voice.",
        ),
    ],
)
def test_the_best_voice(has: dict[str, object], kind: type, sentence: str) -> None:
    """A voice that can be stopped comes first; without one it is silent and says why."""
    chosen = best_speaker(machine(**has))
    assert type(chosen.device) is kind
    assert chosen.sentence == sentence
    chosen.device.close()


@pytest.mark.parametrize(
    ("has", "kind", "sentence"),
    [
        ({}, Loudspeaker, ""),
        (
            {"fault": FAULT},
            Silence,
            "No tones: this machine has no loudspeaker that can be opened.",
        ),
        ({"platform": "ios"}, Silence, "No tones: there is no player for them on this device yet."),
    ],
)
def test_the_best_tones(has: dict[str, object], kind: type, sentence: str) -> None:
    """The loudspeaker if there is one, else silence that says why."""
    chosen = best_tones(FILES, machine(**has))
    assert type(chosen.device) is kind
    assert chosen.sentence == sentence


def test_a_broken_tone_file_does_not_stop_the_rest() -> None:
    """Without usable files there are no tones, one sentence, and still a voice."""
    chosen = best_devices({**FILES, Tone.HEARD: b""}, machine(programs=(ESPEAK_NG,)))
    assert type(chosen.device.tones) is Silence
    assert type(chosen.device.speaker) is ProgramVoice
    assert chosen.sentence == (
        "Answers are spoken by espeak-ng. No tones: the tone 'heard' is not a WAV file."
    )


def test_without_a_loudspeaker_it_is_said_once() -> None:
    """One sentence for voice and tones together."""
    chosen = best_devices(FILES, machine(programs=(ESPEAK_NG,), fault=FAULT))
    assert chosen.sentence == (
        "Answers are only shown: this machine has no loudspeaker that can be opened."
    )
    assert type(chosen.device.speaker) is Silence
    assert type(chosen.device.tones) is Silence


def test_vibration_where_there_is_a_motor() -> None:
    """A phone with a motor vibrates; elsewhere nobody misses it."""
    assert type(best_vibration(machine()).device) is Silence
    chosen = best_vibration(machine(motor=Motor()))
    assert type(chosen.device) is Vibration
    assert chosen.sentence == ""


def test_this_machine_gets_an_answer() -> None:
    """Whatever the machine has that runs this test, it gets devices and a sentence about them."""
    chosen = best_devices(FILES)
    assert chosen.sentence.endswith(".")
    chosen.device.speaker.close()
    chosen.device.tones.close()
