"""The listener's thread, with a scripted source and scripted decoders."""

from __future__ import annotations

import threading
import time

import numpy as np
import pytest

from app import resources
from speech.acceptance import Acceptance
from speech.decoder import ModelError, Reading, ScriptedModel
from speech.events import (
    Ended,
    Failed,
    Heard,
    HearingEvent,
    Level,
    MicBack,
    MicLost,
    NothingHeard,
    Ready,
    SpeechStarted,
)
from speech.listener import Listener, Patience
from speech.phrases import read_phrases
from speech.sound import RATE
from speech.sources import RecordingSource, ScriptedSource

BOOK = read_phrases(resources.text("shared/phrases/en.toml"))
SHORT = Patience(read_s=0.01, lost_after_s=0.05, reopen_every_s=0.01, nothing_after_s=60)


def spoken(count: int = 1) -> np.ndarray:
    """Return a number of voices made of noise, each with quiet around it."""
    dice = np.random.default_rng(5)
    one = 1e-4 * dice.standard_normal(3 * RATE)
    one[RATE : 2 * RATE] += 0.1 * dice.standard_normal(RATE)
    return np.tile(one, count).astype(np.float32)


def acceptance(*words: str) -> Acceptance:
    """Return acceptance that hears these sentences in turn."""
    script = [(Reading(one, 50.0),) for one in words]
    return Acceptance(ScriptedModel(script, script), BOOK, ())


class Told:
    """Gathers what a listener tells, and on which threads."""

    def __init__(self) -> None:
        """Begin with nothing."""
        self.events: list[HearingEvent] = []
        self.threads: set[int] = set()

    def __call__(self, event: HearingEvent) -> None:
        """Take in an event; levels are left out."""
        self.threads.add(threading.get_ident())
        if not isinstance(event, Level | SpeechStarted):
            self.events.append(event)

    def kinds(self) -> list[type]:
        """Return the kinds of the events in order."""
        return [type(event) for event in self.events]


def test_a_recording_is_heard_from_beginning_to_end() -> None:
    """Ready comes first, then what was heard, then the end, all on one other thread."""
    told = Told()
    source = RecordingSource(spoken(2), paced=False)
    listener = Listener(source, lambda: acceptance("row done", "how far left"), told, SHORT)
    listener.start()
    assert listener.wait(20)
    assert told.kinds() == [Ready, Heard, Heard, Ended]
    assert len(told.threads) == 1
    assert threading.get_ident() not in told.threads


def test_a_paced_recording_takes_its_time() -> None:
    """At its own pace a recording of three seconds lasts as long, its silent end included."""
    begun = time.monotonic()
    listener = Listener(
        RecordingSource(spoken()[: RATE // 2], paced=True), acceptance, Told(), SHORT
    )
    listener.start()
    assert listener.wait(20)
    assert time.monotonic() - begun >= 1.4


@pytest.mark.parametrize("way", ["mute", "pause"])
def test_nothing_is_decoded_while_muted_or_paused(way: str) -> None:
    """What sounds while the listener is muted or paused is thrown away."""
    told = Told()
    listener = Listener(
        RecordingSource(spoken(), paced=False), lambda: acceptance("row done"), told, SHORT
    )
    getattr(listener, way)()
    listener.start()
    assert listener.wait(20)
    assert told.kinds() == [Ready, Ended]


def test_a_lost_microphone_is_looked_for_until_it_is_back() -> None:
    """Silence of the device is told as lost, then it is opened again and again, then it is back."""
    told = Told()
    pieces = [spoken()[at : at + 800] for at in range(0, 3 * RATE, 800)]
    source = ScriptedSource([*pieces[:5], *[None] * 12, *pieces], refusals=3)
    listener = Listener(source, lambda: acceptance("row done"), told, SHORT)
    listener.start()
    assert listener.wait(20)
    assert told.kinds() == [Ready, MicLost, MicBack, Heard, Ended]
    assert source.opened > 1


def test_a_model_that_is_missing_is_told_in_one_sentence() -> None:
    """Without a model the listener ends with the reason and opens no microphone."""

    def no_model() -> Acceptance:
        raise ModelError("There is no speech model in 'here'.")

    told = Told()
    source = ScriptedSource([spoken()])
    listener = Listener(source, no_model, told, SHORT)
    listener.start()
    assert listener.wait(20)
    assert told.events == [Failed("There is no speech model in 'here'.")]
    assert source.opened == 0


def test_a_failing_receiver_does_not_end_the_listening() -> None:
    """Whoever is told and fails over it cannot stop what is heard next."""
    told = Told()

    def failing(event: HearingEvent) -> None:
        told(event)
        if Heard in told.kinds():
            raise RuntimeError("the board is broken")

    source = RecordingSource(spoken(2), paced=False)
    listener = Listener(source, lambda: acceptance("row done", "row done"), failing, SHORT)
    listener.start()
    assert listener.wait(20)
    assert told.kinds() == [Ready, Heard, Heard, Ended]


def test_long_silence_is_told_once() -> None:
    """Nothing heard for long is told a single time."""
    told = Told()
    quiet = [np.zeros(800, dtype=np.float32)] * 60
    patience = Patience(read_s=0.01, lost_after_s=5, reopen_every_s=0.1, nothing_after_s=0.0)
    listener = Listener(ScriptedSource(quiet), acceptance, told, patience)
    listener.start()
    assert listener.wait(20)
    assert told.kinds() == [Ready, NothingHeard, Ended]


def test_stopping_gives_the_thread_back() -> None:
    """A listener to an endless microphone stops when it is told to."""
    told = Told()
    listener = Listener(ScriptedSource([None] * 10**6), acceptance, told, SHORT)
    listener.start()
    listener.stop(5)
    assert listener.wait(1)


def test_wishes_are_done_on_the_listeners_thread() -> None:
    """An attention word and a held key are taken up between two pieces of sound."""
    told = Told()
    made: list[Acceptance] = []

    def prepare() -> Acceptance:
        made.append(acceptance("row done"))
        return made[0]

    listener = Listener(RecordingSource(spoken(), paced=False), prepare, told, SHORT)
    listener.listen_for("marigold")
    listener.hold()
    listener.start()
    assert listener.wait(20)
    assert made[0].attention == "marigold"
    assert told.kinds() == [Ready, Ended]  # the key was never let go
