"""A conversation that is only rehearsed: ears that remember, voices that end when told to."""

from __future__ import annotations

import threading
from typing import TYPE_CHECKING

from speech.speaking.answer_queue import Speaking
from speech.speaking.answering import Devices
from speech.speaking.silence import Silence
from speech.speaking.turns import Limits, Turn

if TYPE_CHECKING:
    from speech.speaking.fake_voice import Rehearsal

LIMITS = Limits(tail_s=0.03, assumed_tail_s=0.06, grace_s=0.1, cap_s=0.5)
PATIENCE_S = 60.0


class Ears:
    """Ears that remember what they were told, and by what they heard it."""

    def __init__(self) -> None:
        """Begin with open ears."""
        self.open = True
        self.told: list[str] = []
        self.fail = 0
        """How many calls will fail."""
        self._changed = threading.Condition()

    def mute(self) -> None:
        """Close."""
        self._set(to_open=False)

    def unmute(self) -> None:
        """Open."""
        self._set(to_open=True)

    def _set(self, *, to_open: bool) -> None:
        with self._changed:
            if self.fail:
                self.fail -= 1
                raise OSError("the source of sound does not answer")
            self.told.append("unmute" if to_open else "mute")
            self.open = to_open
            self._changed.notify_all()

    def become(self, *, open_: bool) -> bool:
        """Wait until they are open, or closed."""
        with self._changed:
            return self._changed.wait_for(lambda: self.open is open_, PATIENCE_S)


class Stage:
    """A conversation with a rehearsed voice and tones."""

    def __init__(self, voice: Rehearsal, tones: Rehearsal, *, hears_room: bool = True) -> None:
        """Begin the conversation."""
        self.voice = voice
        self.tones = tones
        self.ears = Ears()
        self.turns: list[Turn] = []
        self.speaking = Speaking(
            Devices(voice, tones, Silence()),
            self.ears,
            hears_room=hears_room,
            limits=LIMITS,
            on_turn=self.turns.append,
        )

    def begun(self) -> None:
        """Wait until something is said."""
        assert self.voice.begun.acquire(timeout=PATIENCE_S)

    def quiet(self) -> None:
        """Wait until nothing is left to be said."""
        assert self.speaking.wait_until_quiet(PATIENCE_S)
