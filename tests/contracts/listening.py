"""What every source of sound promises, as a class of tests that each of them passes."""

from __future__ import annotations

import itertools
import time
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pytest

from speech.hearing.sound import RATE

if TYPE_CHECKING:
    from speech.hearing.sources import SoundSource


@dataclass(frozen=True)
class Case:
    """A source that gives at least half a second of sound."""

    source: SoundSource
    hears_room: bool
    ends: bool


class SourceContract:
    """What a listener may rely on; whoever subclasses it brings `case`, a source that is open."""

    def test_gives_mono_samples_at_our_rate(self, case: Case) -> None:
        """Half a second of sound comes as float32 between -1 and 1, never in empty pieces."""
        heard = 0
        for _ in range(200):
            piece = case.source.read(0.2)
            if piece is not None:
                assert piece.dtype == np.float32
                assert piece.ndim == 1
                assert len(piece) > 0
                assert np.abs(piece).max() <= 1
                heard += len(piece)
            if heard >= RATE / 2:
                return
        pytest.fail(f"only {heard / RATE} s came")

    def test_never_waits_longer_than_told(self, case: Case) -> None:
        """A read that may not wait comes back at once, with a piece or with nothing."""
        begun = time.monotonic()
        for _ in range(20):
            case.source.read(0.0)
        assert time.monotonic() - begun < 1.0

    def test_knows_whether_it_hears_the_room(self, case: Case) -> None:
        """Only what hears our own voice has to be muted while we speak."""
        assert case.source.hears_room is case.hears_room

    def test_ends_or_never(self, case: Case) -> None:
        """A recording ends when all of it has been read, and then gives nothing; others go on."""
        assert not case.source.ended
        for _ in range(200) if case.ends else range(5):
            case.source.read(0.2)
            if case.source.ended:
                break
        assert case.source.ended is case.ends
        if case.ends:
            assert case.source.read(0.0) is None

    def test_is_closed_twice_and_opened_again(self, case: Case) -> None:
        """Closing a second time does nothing; opened again it gives sound again."""
        case.source.close()
        case.source.close()
        case.source.open()
        pieces = (case.source.read(0.2) for _ in itertools.repeat(None, 20))
        assert any(piece is not None for piece in pieces)
