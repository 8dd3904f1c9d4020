"""
Listening, put together: the microphone or a recording, the speech model and the phrases.

Speech libraries and the model are loaded on the listener's own thread, so that a window is not
kept waiting for them.
"""

from __future__ import annotations

import contextlib
from dataclasses import dataclass
from typing import TYPE_CHECKING, BinaryIO, cast

from app import language, resources
from app.wiring.machine import Found
from app.wiring.practice import practice_file
from speech.hearing.events import Failed
from speech.hearing.listener import Listener

if TYPE_CHECKING:
    from collections.abc import Callable, Generator, Iterator
    from pathlib import Path

    from speech.hearing.acceptance import Acceptance
    from speech.hearing.events import HearingEvent
    from speech.hearing.sound import Samples
    from speech.hearing.sources import SoundSource

_TRIED_ALOUD = "own-phrases-tried.json"
_RECORD_ANEW = "Save it as WAV with PCM sound, 8 to 48 kHz, one or two channels."


class RecordingError(ValueError):
    """A file cannot be listened to; the sentence says why."""


@dataclass(frozen=True, slots=True, eq=False)
class Recording:
    """
    A recording to be listened to once, at its own pace or as fast as it can be decoded.

    It is read while it is played: `pieces` are mono at the rate of the speech model.
    """

    name: str
    pieces: Generator[Samples, None, None]
    paced: bool

    @classmethod
    def read(cls, path: Path, *, paced: bool) -> Recording:
        """
        Read a WAV file.

        Raises:
            RecordingError: it cannot be read, is no WAV file, or holds no sound.

        """
        from speech.hearing.sound import SoundError, streamed_for_the_model  # noqa: PLC0415 (loads numpy)

        try:
            file = path.open("rb")
        except OSError as error:
            raise RecordingError(f"{path} cannot be read ({error.strerror}).") from error
        try:
            pieces = streamed_for_the_model(file)
        except OSError as error:
            file.close()
            raise RecordingError(f"{path} cannot be read ({error.strerror}).") from error
        except SoundError as error:
            file.close()
            raise RecordingError(f"{path}: {error} {_RECORD_ANEW}") from error
        closing = _closing(file, pieces)
        next(closing)  # from here on the file is closed with it, read or not
        return cls(path.name, cast("Generator[Samples, None, None]", closing), paced)

    @property
    def sentence(self) -> str:
        """One line that says what is listened to."""
        pace = "at its own pace" if self.paced else "as fast as it goes"
        return f"Listening to the recording {self.name}, {pace}."


def _closing(file: BinaryIO, pieces: Iterator[Samples]) -> Generator[Samples | None, None, None]:
    """
    Yield nothing once, then the pieces, and close the file after the last.

    A file that cannot be read on has ended there.
    """
    with file, contextlib.suppress(OSError):
        yield None
        yield from pieces


def practice(name: str, *, paced: bool) -> Recording:
    """Return one of the practice recordings that come with Walesong, by its name."""
    return Recording.read(practice_file(name), paced=paced)


def microphone_here() -> Found:
    """Look for a microphone without listening to it."""
    from speech.hearing.microphone import microphones  # noqa: PLC0415 (loads the sound libraries)

    found = microphones()
    return Found(there=found.there, line=found.sentence)


def acceptance(
    model: Path | None,
    attention: str | None = None,
    tell: Callable[[str], None] = lambda _: None,
) -> Acceptance:
    """
    Load the speech model and return what listens with it, for the thread that will listen.

    With an `attention` word nothing counts that does not begin with it. `tell` gets a sentence if
    some of the knitter's own phrases have words that the model does not know, or sound like other
    commands; those can only be typed.

    Raises:
        ModelError: the model is missing or cannot be used.

    """
    from app.session.her_numbers import kept_numbers  # noqa: PLC0415 (loads numpy)
    from app.wiring.phrase_trial import heard_apart  # noqa: PLC0415 (loads numpy)
    from speech.hearing.acceptance import Acceptance  # noqa: PLC0415 (loads numpy)
    from speech.hearing.vosk_decoder import VoskModel  # noqa: PLC0415 (loads the recogniser)
    from speech.words.phrases import unknown_words  # noqa: PLC0415
    from speech.words.sampler import read_fillers  # noqa: PLC0415

    fillers = read_fillers(resources.text("shared/phrases/filler.en.txt"))
    loaded = VoskModel(resources.model_folder(model))
    book = language.phrase_book()
    if unknown := unknown_words(book, loaded.knows):  # her own phrases can still be typed
        named = ", ".join(f"'{word}'" for word in unknown)
        tell(f"Your own phrases can be typed, not said: {named} cannot be heard.")
        book = language.shipped_phrases()
    elif book is not language.shipped_phrases():
        book, sentence = heard_apart(
            book,
            language.shipped_phrases(),
            lambda tried: Acceptance(loaded, tried, fillers),
            resources.KeptText(_TRIED_ALOUD),
        )
        if sentence:
            tell(f"Your own phrases: {sentence}")
    listens = Acceptance(loaded, book, fillers, attention=attention)
    if numbers := kept_numbers():
        listens.know(numbers)
    return listens


def model_trouble(model: Path | None) -> str:
    """Return why the speech model cannot be used, without loading it; "" if it seems to be well."""
    from speech.hearing.decoder import ModelError  # noqa: PLC0415 (loads numpy)
    from speech.hearing.model_folder import check_model  # noqa: PLC0415

    try:
        check_model(resources.model_folder(model))
    except ModelError as error:
        return str(error)
    return ""


class Ears:
    """A listener with what a front end needs of it."""

    def __init__(
        self,
        source: SoundSource,
        model: Path | None,
        sentence: str,
        recording: Recording | None = None,
    ) -> None:
        """Prepare to listen to `source`; nothing is loaded before `start`."""
        self._recording = recording
        self.sentence = sentence
        self.failed = ""
        """Why the listening has ended, if it has not simply come to its end."""
        self.phrases_trouble = ""
        """Why the knitter's own phrases are not listened for."""
        self._callback: Callable[[HearingEvent], None] | None = None
        self.control = Listener(source, lambda: acceptance(model, tell=self._miss), self._heard)

    def _miss(self, sentence: str) -> None:
        self.phrases_trouble = sentence

    def _heard(self, event: HearingEvent) -> None:
        if isinstance(event, Failed):
            self.failed = event.sentence
        if self._callback is not None:
            self._callback(event)

    def start(self, callback: Callable[[HearingEvent], None]) -> None:
        """Begin to listen; `callback` gets every event on the listener's thread."""
        self._callback = callback
        self.control.start()

    def ended(self, *, within_s: float) -> bool:
        """Wait so long for the end of the recording, or of a listening that failed."""
        return self.control.wait(within_s)

    def stop(self) -> None:
        """Stop listening; the file of a recording is closed, however far it was heard."""
        self.control.stop()
        if self._recording is not None:
            with contextlib.suppress(ValueError):  # its thread still reads: it closes it itself
                self._recording.pieces.close()


def listen(recording: Recording | None, model: Path | None) -> Ears:
    """Return the ears for a recording, or for the microphone if it is None."""
    if recording is not None:
        from speech.hearing.sources import RecordingSource  # noqa: PLC0415 (loads numpy)

        source = RecordingSource(recording.pieces, paced=recording.paced)
        return Ears(source, model, recording.sentence, recording)
    from speech.hearing.microphone import microphone  # noqa: PLC0415 (loads the sound libraries)

    return Ears(microphone(), model, microphone_here().line + ".")
