"""The listener with the real speech model and the practice recording."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import pytest

from app import resources
from app.wiring.hearing import acceptance
from speech.hearing.events import (
    Dictated,
    Ended,
    Heard,
    HearingEvent,
    Ready,
    RefusedSpeech,
)
from speech.hearing.listener import Listener
from speech.hearing.sound import RATE, at_rate, read_wav
from speech.hearing.sources import RecordingSource

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from speech.hearing.sound import Samples


FIRST_IS_OVER_S = 3.0
"""When the first command of the practice recording is over and the second has not begun."""


@pytest.fixture(scope="module")
def practice() -> Samples:
    """Return the first six commands of the practice recording, 21 seconds."""
    sound = read_wav(resources.data("assets/practice/mug-sleeve.wav"))
    return at_rate(sound)[: 21 * RATE]


def _commands(told: Sequence[HearingEvent]) -> list[str]:
    return [event.words for event in told if isinstance(event, Heard)]


class Watched(RecordingSource):
    """A recording that calls the listener's owner at each of its moments."""

    def __init__(self, samples: Samples, model: Path) -> None:
        """Prepare a listener that hears it through the real model."""
        super().__init__(samples, paced=False)
        self.told: list[HearingEvent] = []
        self.listener = Listener(self, lambda: acceptance(model), self._take)
        self.at: Callable[[float], None] = lambda _: None
        self.then: Callable[[HearingEvent], None] = lambda _: None

    def _take(self, event: HearingEvent) -> None:
        self.told.append(event)
        self.then(event)

    def read(self, timeout_s: float) -> Samples | None:
        """Say where the recording is, then return the next piece."""
        self.at(self._at / RATE)
        return super().read(timeout_s)

    def run(self) -> list[HearingEvent]:
        """Listen to its end."""
        self.listener.start()
        assert self.listener.wait(60.0)
        return self.told


@pytest.mark.model
def test_real_events_come_in_the_order_of_the_recording(
    practice: Samples, model_folder: Path
) -> None:
    """Each utterance begins before it is decided, and decisions come in the order of speaking."""
    told = Watched(practice, model_folder).run()
    assert isinstance(told[0], Ready)
    assert isinstance(told[-1], Ended)
    decided = [event.span for event in told if isinstance(event, Heard | RefusedSpeech)]
    assert len(decided) >= 6
    for span in decided:
        assert span.start_s < span.end_s < span.decided_s
    for earlier, later in pairwise(decided):
        assert earlier.decided_s <= later.decided_s
        assert earlier.end_s <= later.start_s
    assert _commands(told)[:2] == ["row done", "three rows done"]


@pytest.mark.model
def test_what_is_said_while_muted_or_paused_is_not_heard(
    practice: Samples, model_folder: Path
) -> None:
    """Muted and paused after the first command, it hears the next one only after both are over."""
    recording = Watched(practice, model_folder)
    listener = recording.listener

    def react(event: HearingEvent) -> None:
        if isinstance(event, Heard) and event.span.end_s < FIRST_IS_OVER_S:
            listener.mute()
            listener.pause()

    def at(seconds: float) -> None:
        if seconds > 8.0:
            listener.unmute()
        if seconds > 12.5:
            listener.resume()

    recording.then, recording.at = react, at
    told = recording.run()
    assert _commands(told) == ["row done", "row done", "which row now", "five rows done"]
    assert not any(
        2.5 < event.span.start_s < 12.5
        for event in told
        if isinstance(event, Heard | RefusedSpeech)
    )


@pytest.mark.model
def test_a_real_note_is_written_down_and_commands_are_heard_again(
    practice: Samples, model_folder: Path
) -> None:
    """After the first command the next utterance is dictated, the one after is a command again."""
    recording = Watched(practice, model_folder)

    def react(event: HearingEvent) -> None:
        if isinstance(event, Heard) and event.span.end_s < FIRST_IS_OVER_S:
            recording.listener.dictate()

    recording.then = react
    told = recording.run()
    said = [event for event in told if isinstance(event, Heard | RefusedSpeech | Dictated)]
    assert isinstance(said[0], Heard)
    assert isinstance(said[1], Dictated)
    assert "rows" in said[1].text
    assert "what comes next" in _commands(told)
    assert sum(isinstance(event, Dictated) for event in told) == 1
