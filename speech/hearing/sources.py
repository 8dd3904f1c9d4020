"""
Where sound comes from: a microphone in the room, or a recording at its own pace or faster.

A source gives mono samples at `sound.RATE`, piece by piece. It says whether it hears the room: a
recording does not hear Walesong's own voice, so nobody has to be silent for it.
"""

from __future__ import annotations

import time
from itertools import chain
from typing import TYPE_CHECKING, Protocol

import numpy as np

from speech.hearing.sound import RATE

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from speech.hearing.sound import Samples

PIECE_S = 0.05
"""Seconds in one piece of a recording."""
TAIL_S = 1.0
"""Silence after a recording, so that its last words are not cut off."""


class SourceError(RuntimeError):
    """A source cannot be opened; the sentence says why and what to do."""


class NotAllowedError(SourceError):
    """It may not be opened yet: she has not allowed it, or another program has it."""


class SoundSource(Protocol):
    """Sound, read by one thread. `read` never waits longer than it is told."""

    hears_room: bool

    def open(self) -> None:
        """
        Begin to give sound, also again after `close`.

        Raises:
            SourceError: it cannot be opened now.

        """

    def read(self, timeout_s: float) -> Samples | None:
        """Return the next samples, or None if none came within `timeout_s`."""

    @property
    def ended(self) -> bool:
        """Whether nothing will come any more (a recording that is over)."""

    def close(self) -> None:
        """Give no more sound; a second time does nothing."""


class RecordingSource:
    """A recording, at the pace at which it was spoken or as fast as it is read."""

    def __init__(self, samples: Samples | Iterator[Samples], *, paced: bool) -> None:
        """Play mono samples at `sound.RATE`, given at once or in pieces that are read on demand."""
        self.hears_room = False
        silence = np.zeros(round(TAIL_S * RATE), dtype=np.float32)
        given = iter([samples]) if isinstance(samples, np.ndarray) else samples
        self._to_come = chain(given, [silence])
        self._held: Samples = np.zeros(0, dtype=np.float32)
        self._paced = paced
        self._at = 0
        self._begun: float | None = None

    @property
    def ended(self) -> bool:
        """Whether it has been played to its end."""
        self._hold()
        return len(self._held) == 0

    def open(self) -> None:
        """Begin, or go on."""
        self._begun = time.monotonic() - self._at / RATE

    def read(self, timeout_s: float) -> Samples | None:
        """Return the next 50 ms, when their time has come."""
        if self.ended:
            return None
        piece = self._held[: round(PIECE_S * RATE)]
        if self._paced and self._begun is not None:
            due = self._begun + (self._at + len(piece)) / RATE - time.monotonic()
            if due > timeout_s:
                time.sleep(timeout_s)
                return None
            if due > 0:
                time.sleep(due)
        self._at += len(piece)
        self._held = self._held[len(piece) :]
        return piece

    def _hold(self) -> None:
        """Read on until the next 50 ms are here, or the end is."""
        while len(self._held) < round(PIECE_S * RATE):
            more = next(self._to_come, None)
            if more is None:
                return
            self._held = np.concatenate([self._held, more.astype(np.float32)])

    def close(self) -> None:
        """Stop playing."""
        self._begun = None


class ScriptedSource:
    """A source that gives what it was told to, failures too: the fake of a microphone."""

    def __init__(self, script: Sequence[Samples | None], *, refusals: int = 0) -> None:
        """Give the pieces in turn; None is a piece that does not come; refuse to open at first."""
        self.hears_room = True
        self._script = list(script)
        self._refusals = refusals
        self.opened = 0

    @property
    def ended(self) -> bool:
        """Whether the script is over."""
        return not self._script

    def open(self) -> None:
        """Open, unless it is still to refuse."""
        if self._refusals > 0 and self.opened > 0:
            self._refusals -= 1
            raise SourceError("There is no microphone.")
        self.opened += 1

    def read(self, timeout_s: float) -> Samples | None:
        """Return the next piece of the script."""
        if not self._script:
            return None
        piece = self._script.pop(0)
        if piece is None:
            time.sleep(min(timeout_s, 0.01))
        return piece

    def close(self) -> None:
        """Do nothing."""
