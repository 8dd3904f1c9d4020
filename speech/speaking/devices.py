"""
Which voice, tones and vibration this machine has: the best of each, and one sentence about it.

What a voice and a tone player promise is in `speech.speaking.playback`; `Speaker` and `TonePlayer`
can be had from here, too.
"""

from __future__ import annotations

import os
import sys
from dataclasses import dataclass
from typing import TYPE_CHECKING, Generic, TypeVar

from speech.android import on_android
from speech.speaking.answering import Devices
from speech.speaking.loudspeaker import Loudspeaker, loudspeaker_fault
from speech.speaking.playback import Speaker, TonePlayer
from speech.speaking.plyer_voice import PlyerVoice, plyer_can_speak
from speech.speaking.program import Program, ProgramVoice, programs_here
from speech.speaking.silence import Silence
from speech.speaking.tones import ToneFileError, read_tones
from speech.speaking.vibration import Vibration, motor_here

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from engine.replies import Tone
    from speech.speaking.vibration import Motor

__all__ = ["Choice", "Machine", "Speaker", "TonePlayer", "best_devices", "best_speaker"]
__all__ += ["best_tones", "best_vibration", "this_machine", "watch_calls"]

Device_co = TypeVar("Device_co", covariant=True)


@dataclass(frozen=True, slots=True)
class Choice(Generic[Device_co]):
    """What was chosen, and one sentence for the user about it; "" if there is nothing to say."""

    device: Device_co
    sentence: str = ""


@dataclass(frozen=True, slots=True)
class Machine:
    """What matters of a machine for answering."""

    platform: str
    """ "android", "ios" or the name that Python gives the system."""
    fault: str | None
    """Why no loudspeaker can be opened, or None."""
    programs: tuple[Program, ...]
    """Programs that speak, the best first."""
    plyer: bool
    """Whether plyer would find a voice."""
    motor: Motor | None = None


def this_machine() -> Machine:
    """Look at what this machine has."""
    if on_android():
        return Machine("android", None, (), plyer=False, motor=motor_here())
    if os.environ.get("KIVY_BUILD") == "ios":
        return Machine("ios", None, (), plyer=True, motor=motor_here())
    return Machine(sys.platform, loudspeaker_fault(), programs_here(), plyer=plyer_can_speak())


def best_speaker(machine: Machine | None = None) -> Choice[Speaker]:
    """Return the best voice of this machine; silence, and why, if it has none."""
    machine = machine or this_machine()
    if machine.platform == "android":
        from speech.speaking.android_voice import AndroidVoice  # noqa: PLC0415 (needs Java)

        return Choice(AndroidVoice(), "Answers are spoken by the voice of this device.")
    if machine.platform == "ios":
        return Choice(PlyerVoice(returns_early=True), "Answers are spoken by this device's voice.")
    if machine.fault is not None:
        return Choice(Silence(), f"No voice: {_lowered(machine.fault)}")
    if machine.programs:
        program = machine.programs[0]
        return Choice(ProgramVoice(program), f"Answers are spoken by {program.name}.")
    if machine.plyer:
        return Choice(PlyerVoice(), "Answers are spoken by a voice that cannot be interrupted.")
    return Choice(Silence(), f"No voice: {_HOW_TO_GET_ONE}")


def best_tones(files: Mapping[Tone, bytes], machine: Machine | None = None) -> Choice[TonePlayer]:
    """Return the best player of the tones in `files` (WAV); silence, and why, if there is none."""
    machine = machine or this_machine()
    try:
        sounds = read_tones(files)
    except ToneFileError as error:
        return Choice(Silence(), f"No tones: {_lowered(str(error))}")
    if machine.platform == "android":
        from speech.speaking.android_tones import AndroidTones  # noqa: PLC0415 (needs Java)

        return Choice(AndroidTones(sounds))
    if machine.platform == "ios":
        return Choice(Silence(), "No tones: there is no player for them on this device yet.")
    if machine.fault is not None:
        return Choice(Silence(), f"No tones: {_lowered(machine.fault)}")
    return Choice(Loudspeaker(sounds))


def best_vibration(machine: Machine | None = None) -> Choice[TonePlayer]:
    """Return the vibration of a phone; silence, without a word, where nobody expects any."""
    machine = machine or this_machine()
    return Choice(Silence()) if machine.motor is None else Choice(Vibration(machine.motor))


def best_devices(files: Mapping[Tone, bytes], machine: Machine | None = None) -> Choice[Devices]:
    """Return the best of everything, and one sentence about what was chosen or is missing."""
    machine = machine or this_machine()
    speaker, tones = best_speaker(machine), best_tones(files, machine)
    devices = Devices(speaker.device, tones.device, best_vibration(machine).device)
    if machine.fault is not None:
        return Choice(devices, f"Answers are only shown: {_lowered(machine.fault)}")
    return Choice(devices, " ".join(filter(None, (speaker.sentence, tones.sentence))))


def watch_calls(changed: Callable[[bool], None]) -> None:
    """Call `changed` when a telephone call begins or ends, for the rest of the run, on a phone."""
    if on_android():
        from speech.speaking.android_call import AndroidCallWatch  # noqa: PLC0415 (needs Java)

        AndroidCallWatch(changed)


_HOW_TO_GET_ONE = "no program that speaks was found; espeak-ng is one (Debian: espeak-ng)."


def _lowered(sentence: str) -> str:
    return sentence[:1].lower() + sentence[1:]
