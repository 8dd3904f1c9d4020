"""
A session of the real program on the double of Android: disturbed at every step, nothing is lost.

The practice recording is heard by the recorder of the double and the real speech model. Not
collected with the others: test_android.py runs this file in a process of its own.
"""

from __future__ import annotations

import argparse
import functools
import queue
import shutil
import time
import wave
from typing import TYPE_CHECKING

import numpy as np
import pytest

from app import resources
from app.pieces.journal_files import read_journal
from app.session.clock import SystemClock
from app.session.opening import open_piece
from app.session.situation import Ear, Situation
from app.windowed import Behind
from engine.commands import Source
from engine.history import fold
from speech.hearing import listener
from speech.hearing.events import SoundLevel
from speech.speaking import android_call
from tests.contracts import on_java
from tests.sessions import script

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from app.window.desk import Notice

# As on a device: other threads find only what was looked up on the first.
Recorder, Manager, Engine = on_java.Recorder, on_java.Manager, on_java.Engine

PATIENCE_S = 60.0
A_GAP_S = 1.0
"""Longer than any silence within a line of the recording, shorter than those between."""
QUICK = listener.Patience(lost_after_s=0.2, reopen_every_s=0.02)


def said_lines() -> Iterator[bytes]:
    """Yield what is said in the practice recording, line by line, with the silence after each."""
    with wave.open(str(resources.path("assets/practice/mug-sleeve.wav"))) as file:
        samples = np.frombuffer(file.readframes(file.getnframes()), dtype="<i2")
        frame = file.getframerate() // 50
    whole = samples[: len(samples) // frame * frame].reshape(-1, frame).astype(float)
    loud = np.flatnonzero(np.sqrt((whole**2).mean(axis=1)) > 60)
    ends = [*np.flatnonzero(np.diff(loud) > A_GAP_S * 50), len(loud) - 1]
    begun = 0
    for end in ends:
        until = (int(loud[end]) + round(1.1 * 50)) * frame
        yield samples[begun:until].tobytes()
        begun = until


class Phone:
    """The program on the double, and what disturbs it."""

    def __init__(self, journal: Path) -> None:
        """Start it and wait until it listens."""
        self.journal = journal
        self.inbox: queue.SimpleQueue[Situation | Notice] = queue.SimpleQueue()
        self.now: Situation | None = None
        options = argparse.Namespace(
            journal=journal, model=None, practice=False, silent=False, fast=False
        )
        self.behind = Behind(options, self.inbox)
        self.behind.begin()
        self.until(lambda: self.ear is Ear.LISTENING)

    @property
    def ear(self) -> Ear:
        """What the listening does, as it is shown."""
        while not self.inbox.empty():
            one = self.inbox.get()
            assert isinstance(one, Situation), one
            self.now = one
        return self.now.ear if self.now is not None else Ear.DEAF

    def until(self, condition: Callable[[], bool]) -> None:
        """Wait for something that has to come."""
        deadline = time.monotonic() + PATIENCE_S
        while not condition():
            assert time.monotonic() < deadline, self._told()
            time.sleep(0.01)

    def _told(self) -> str:
        """Return where everything stands, for who reads why it did not come."""
        ears, mouth, now = self.behind._ears, self.behind._mouth, self.now
        turn = mouth.speaking.turn if mouth is not None and mouth.speaking is not None else None
        control = ears.control if ears is not None else None
        flags = control and (control._muted, control._paused, control._awake, control._holding)
        heard = now and (now.heard, now.trouble, now.ear, now.state.done)
        return f"{flags} {turn} {heard} {Recorder.at} {list(Recorder.log.toArray())[-5:]}"

    def hear(self, sound: bytes) -> Situation:
        """Have the microphone hear a line; return what is shown when it is decided and answered."""
        before = self.now.heard if self.now is not None else None
        Recorder.feed(sound)
        self.until(lambda: self.ear is not Ear.DEAF and self._heard() is not before)
        self._settle()
        assert self.now is not None
        return self.now

    def _settle(self) -> None:
        """Wait until what was heard is answered, and the answer spoken to its end."""
        helper, mouth = self.behind._helper, self.behind._mouth
        assert helper is not None
        assert mouth is not None
        assert mouth.speaking is not None
        speaking = mouth.speaking
        helper.heard_and_answered(SoundLevel(-60.0, -60.0))  # what came before it is answered
        assert speaking.wait_until_quiet(PATIENCE_S)
        self.until(lambda: self.ear is Ear.LISTENING and speaking.turn.open)

    def _heard(self) -> object:
        return self.now.heard if self.now is not None else None

    def pause_and_kill(self) -> None:
        """Another program comes in front; what a killed one would find is what is shown."""
        assert self.now is not None
        shown = self.now.state
        self.behind.pause()
        self.until(lambda: self.ear is Ear.LOST and Recorder.open == 0)
        killed = self.journal.parent / "killed" / self.journal.name
        shutil.rmtree(killed.parent, ignore_errors=True)
        beside = shutil.ignore_patterns("killed", "*-copies")
        shutil.copytree(self.journal.parent, killed.parent, ignore=beside)
        again = open_piece(killed, SystemClock(), None, fresh=False, source=Source.KEY)
        assert again.state == shown
        again.close()
        self.behind.resume()
        self.until(lambda: self.ear is Ear.LISTENING and Recorder.open == 1)

    def lose_the_microphone(self) -> None:
        """Another program is given the sound for a while."""
        Recorder.silenced = True
        self.until(lambda: self.ear is Ear.LOST)
        Recorder.silenced = False
        self.until(lambda: self.ear is Ear.LISTENING)

    def call(self) -> None:
        """Let the telephone ring, be answered and hung up."""
        mouth = self.behind._mouth
        assert mouth is not None
        assert mouth.speaking is not None
        speaking = mouth.speaking
        for mode in (1, 2, 0):
            Manager.mode = mode
            self.until(lambda on=mode != 0: speaking.turn.on_call is on)  # type: ignore[misc]
            muted = Ear.MUTED if mode else Ear.LISTENING
            self.until(lambda ear=muted: self.ear is ear)  # type: ignore[misc]
        self._settle()


@pytest.fixture
def phone(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Phone]:
    """Return the running program with a mug sleeve just cast on."""
    monkeypatch.setattr(listener, "Patience", lambda: QUICK)
    watch = functools.partial(android_call.AndroidCallWatch, every_s=0.01)
    monkeypatch.setattr(android_call, "AndroidCallWatch", watch)
    monkeypatch.setattr("speech.speaking.devices.motor_here", lambda: None)
    Engine.reset()
    Recorder.reset()
    Recorder.hisses = True
    Recorder.feed(bytes(2))
    journal = tmp_path / "j.walesong"
    open_piece(journal, SystemClock(), None, fresh=False, source=Source.KEY).close()
    running = Phone(journal)
    yield running
    running.behind.end()


def test_disturbed_at_every_step_the_session_ends_as_knitted(phone: Phone) -> None:
    """Paused, killed, robbed of the microphone and called at every step, all lines are heard."""
    lines = script()
    parts = list(said_lines())
    assert len(parts) == len(lines)
    for line, sound in zip(lines, parts, strict=True):
        now = phone.hear(sound)
        assert now.heard is not None
        assert now.heard.accepted is line.by_knitter, (line.says, now.heard)
        phone.pause_and_kill()
        phone.lose_the_microphone()
        phone.call()
    state = fold(read_journal(phone.journal))
    assert (state.done, state.finished) == (23, True)
    lengths = [(one.row, str(one.length)) for one in state.lengths if not one.aside]
    assert lengths == [(10, "3.5 cm"), (18, "6.5 cm")]
    counts = [(one.row, one.count) for one in state.counts if not one.aside]
    assert counts == [(12, 49), (12, 50)]
