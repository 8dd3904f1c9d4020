"""The ways of listening with the real speech model: a word first, only while held, not at all."""

from __future__ import annotations

import io
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest

from app.command_line import main
from app.session.manner import Listening
from app.session.settings import Settings
from app.session.settings_file import keep_choices, read_choices
from app.wiring.hearing import acceptance
from engine.history import fold
from engine.journal.sqlite import SqliteJournal
from speech.hearing.events import Ended, Heard, HearingEvent, RefusedSpeech
from speech.hearing.listener import Listener
from speech.hearing.sound import RATE, for_the_model, read_wav
from speech.hearing.sources import RecordingSource
from speech.hearing.vosk_decoder import VoskDecoder

if TYPE_CHECKING:
    from collections.abc import Callable

    from speech.hearing.sound import Samples

RECORDINGS = Path(__file__).resolve().parent.parent / "speech" / "recordings"

pytestmark = pytest.mark.model


def sound(*names: str) -> Samples:
    """Return some recordings, one after the other."""
    return np.concatenate(
        [for_the_model(read_wav((RECORDINGS / f"{name}.wav").read_bytes())) for name in names]
    )


def written(path: Path, samples: Samples) -> Path:
    """Write samples to a WAV file."""
    import soundfile  # noqa: PLC0415 (only for tests)

    data = io.BytesIO()
    soundfile.write(data, samples, RATE, format="WAV", subtype="PCM_16")
    path.write_bytes(data.getvalue())
    return path


def test_a_loud_room_is_told_and_untold_by_voice(tmp_path: Path) -> None:
    """Said to be loud, only what begins with the word counts; said to be quiet, all does again."""
    said = sound("room-is-loud", "row-done", "tapestry-row-done", "room-is-quiet", "row-done")
    path, journal = written(tmp_path / "loud.wav", said), tmp_path / "j.walesong"
    assert main(["knit", "--fast", "--from", str(path), "--journal", str(journal)]) == 0
    with SqliteJournal.open_to_read(journal) as opened:
        assert fold(opened.records()).done == 2
    assert read_choices()[0] == Settings(), "a recording changes no settings"


def test_a_recording_needs_no_word_whatever_the_settings_say(tmp_path: Path) -> None:
    """A chosen attention word is for the room, not for a recording that does not say it."""
    keep_choices(Settings(listening=Listening.WORD), "")
    path, journal = written(tmp_path / "row.wav", sound("row-done")), tmp_path / "j.walesong"
    assert main(["knit", "--fast", "--from", str(path), "--journal", str(journal)]) == 0
    with SqliteJournal.open_to_read(journal) as opened:
        assert fold(opened.records()).done == 1
    keep_choices(Settings(), "")


class Steered(RecordingSource):
    """A recording whose listener is steered at given moments, in seconds of sound."""

    def __init__(
        self, samples: Samples, steps: tuple[tuple[float, Callable[[Listener], None]], ...]
    ) -> None:
        """Prepare; `steps` are taken in turn when so much sound has been read."""
        super().__init__(samples, paced=False)
        self.told: list[HearingEvent] = []
        self.decoded: list[float] = []
        """Where in the recording the recogniser was given sound."""
        self._steps = list(steps)
        self._read_s = 0.0
        self.listener = Listener(self, lambda: acceptance(None), self.told.append)

    def read(self, timeout_s: float) -> Samples | None:
        """Return the next piece, after what is to be done before it."""
        while self._steps and self._read_s >= self._steps[0][0]:
            self._steps.pop(0)[1](self.listener)
        piece = super().read(timeout_s)
        self._read_s += 0.0 if piece is None else len(piece) / RATE
        return piece

    def run(self, patch: pytest.MonkeyPatch) -> list[str]:
        """Listen to the end; return the commands that were heard."""
        feed = VoskDecoder.feed

        def counted(decoder: VoskDecoder, samples: Samples) -> None:
            self.decoded.append(self._read_s)
            feed(decoder, samples)

        patch.setattr(VoskDecoder, "feed", counted)
        self.listener.start()
        assert self.listener.wait(60.0)
        assert isinstance(self.told[-1], Ended)
        return [event.words for event in self.told if isinstance(event, Heard)]


def test_stop_listening_decodes_nothing_at_all(monkeypatch: pytest.MonkeyPatch) -> None:
    """Between stop and start the recogniser is not given one sample; then it hears again."""
    row = len(sound("row-done")) / RATE
    source = Steered(
        sound("row-done", "row-done", "row-done"),
        ((row, Listener.pause), (2 * row, Listener.resume)),
    )
    assert source.run(monkeypatch) == ["row done", "row done"]
    assert any(at < row for at in source.decoded)
    assert not [at for at in source.decoded if row < at <= 2 * row]


def test_only_what_is_held_is_decoded(monkeypatch: pytest.MonkeyPatch) -> None:
    """Before the key is down and after it is up the recogniser rests; between, it hears."""
    row = len(sound("row-done")) / RATE
    source = Steered(
        sound("row-done", "how-far", "row-done"),
        (
            (0.0, lambda listener: listener.listen_while_held(only=True)),
            (row, Listener.hold),
            (row + len(sound("how-far")) / RATE, Listener.release),
        ),
    )
    assert source.run(monkeypatch) == ["how far left"]
    assert source.decoded
    assert all(at > row for at in source.decoded)
    assert not [event for event in source.told if isinstance(event, RefusedSpeech)]


def test_what_is_held_needs_no_word_first(monkeypatch: pytest.MonkeyPatch) -> None:
    """A hand on the key means what a word means; with the word it is understood as well."""
    row, with_word = len(sound("row-done")) / RATE, len(sound("tapestry-row-done")) / RATE
    source = Steered(
        sound("row-done", "tapestry-row-done", "row-done"),
        (
            (0.0, lambda listener: listener.listen_for("tapestry")),
            (0.1, Listener.hold),
            (row, Listener.release),
            (row + 0.1, Listener.hold),
            (row + with_word, Listener.release),
        ),
    )
    assert source.run(monkeypatch) == ["row done", "row done"]
    reasons = [event.reason for event in source.told if isinstance(event, RefusedSpeech)]
    assert reasons == ["no_attention_word"]
