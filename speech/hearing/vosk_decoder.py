"""Vosk as the decoder: the only module that touches it.

Four things abort the whole process inside the library, so none can be reached from here: an empty
list of sentences, changing it while sound is in flight, one recogniser on two threads, and files
that are not a speech model. Sentences are given once, when a decoder is made; a decoder belongs
to the thread that made it; a model is checked, file by file, before the library sees it.
"""

from __future__ import annotations

import contextlib
import json
import os
import shutil
import subprocess
import sys
import tempfile
import threading
from functools import cache
from pathlib import Path
from types import ModuleType
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from speech.hearing import vosk_by_ctypes
from speech.hearing.decoder import Hypothesis, ModelError
from speech.hearing.model_folder import check_model
from speech.hearing.sound import RATE, pcm16

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from speech.hearing.sound import Samples

ALTERNATIVES: Final = 160
"""Readings asked for per utterance: in noise most of them are stitched words."""
SEARCH: Final = {"beam": "13.0", "lattice-beam": "6.0", "max-active": "7000"}
"""
How widely the decoder searches. The model's own settings (10, 2 and 3000) are for large
vocabularies; with a closed one a wide search costs little, and readings that the strict parser
throws out have to leave others behind them.
"""
OWN_DITHER: Final = 1.0
"""
Standard deviation, in steps of 16 bits, of the faint noise that is added to every utterance.

The library adds as much (Kaldi's `--dither`), but draws it anew every time, so that the same voice
was now and then taken and now and then refused: 1 time in 40 for a clip near the edge. Ours is the
same for every utterance, and the library's is switched off; digital silence still has a floor.
"""
_EDITED: Final = {"model.conf": SEARCH, "mfcc.conf": {"dither": "0.0"}}
"""Which of the model's files are given with other settings."""
_RECYCLE_AFTER_S: Final = 600.0
"""Seconds of sound after which a recogniser is made anew: some grow in memory over hours."""


def _library() -> Any:  # noqa: ANN401 (the library has no types)
    """Import the library without the web client that it brings for fetching models.

    The client opens a socket as soon as it is imported, and nothing here is ever fetched.
    """
    stand_in = ModuleType("requests")
    lent = sys.modules.setdefault("requests", stand_in) is stand_in
    try:
        import vosk  # noqa: PLC0415 (25 MB that only hearing needs)
    except (ImportError, OSError) as error:
        vosk = _without_binding(error)
    finally:
        if lent:
            del sys.modules["requests"]
    vosk.SetLogLevel(-1)
    return vosk


def _without_binding(missing: Exception) -> ModuleType:
    """Return the library without its own binding: phones have no build of that."""
    try:
        vosk_by_ctypes.load()
    except OSError:
        raise ModelError(f"The speech recogniser is not installed: {missing}.") from missing
    return vosk_by_ctypes


class VoskModel:
    """The speech model in memory."""

    def __init__(self, folder: Path) -> None:
        """Load the model of a folder (0.3 s); ModelError with one sentence if it cannot be used."""
        known = check_model(folder)
        self._vosk = _library()
        with _with_our_settings(folder) as prepared:
            if not known and not loads_elsewhere(prepared):
                raise ModelError(
                    f"What is in '{folder}' is not a speech model that can be loaded: it is "
                    f"damaged, or hears another rate than {RATE} samples a second."
                )
            try:
                self._model: Any = self._vosk.Model(str(prepared))
            except Exception as error:
                raise ModelError(f"The speech model in '{folder}' cannot be loaded.") from error

    def knows(self, word: str) -> bool:
        """Whether the word can be heard at all."""
        return bool(self._model.vosk_model_find_word(word) >= 0)

    def closed(self, sentences: Sequence[str]) -> VoskDecoder:
        """Return a decoder for the words of sentences; ValueError if none of them is usable."""
        usable = [one for one in dict.fromkeys(sentences) if one.strip()]
        words = {word for one in usable for word in one.split()} - {"[unk]"}
        unknown = sorted(word for word in words if not self.knows(word))
        if unknown:
            raise ValueError(f"The speech model does not know '{unknown[0]}'.")
        if not words:
            raise ValueError("There has to be at least one sentence to listen for.")
        grammar = json.dumps([one for one in sentences if one.strip()])
        return VoskDecoder(lambda: self._vosk.KaldiRecognizer(self._model, RATE, grammar))

    def free(self) -> VoskDecoder:
        """Return a decoder for any English: dictation."""
        return VoskDecoder(lambda: self._vosk.KaldiRecognizer(self._model, RATE))


class VoskDecoder:
    """One recogniser of Vosk. It belongs to the thread that made it."""

    def __init__(self, make: Any) -> None:  # noqa: ANN401 (the library has no types)
        """Keep the recipe for a recogniser; one is made at once, others when it is recycled."""
        self._make = make
        self._thread = threading.get_ident()
        self._heard_s = 0.0
        self._fed = 0  # samples of this utterance so far
        self._open = False
        self._recogniser: Any = self._new()

    def _new(self) -> Any:  # noqa: ANN401 (the library has no types)
        recogniser = self._make()
        recogniser.SetMaxAlternatives(ALTERNATIVES)
        self._heard_s = 0.0
        return recogniser

    def feed(self, samples: Samples) -> None:
        """Take in the next piece of the utterance."""
        self._only_mine()
        if len(samples) == 0:
            return
        self._open = True
        self._heard_s += len(samples) / RATE
        # The library's own opinion on where the utterance ends is not asked for: the gate knows.
        self._recogniser.AcceptWaveform(pcm16(samples + _dither(self._fed, len(samples))))
        self._fed += len(samples)

    def finish(self) -> tuple[Hypothesis, ...]:
        """End the utterance and return its readings, the likeliest first."""
        self._only_mine()
        if not self._open:
            return ()
        self._open, self._fed = False, 0
        answer = json.loads(self._recogniser.FinalResult())
        if self._heard_s > _RECYCLE_AFTER_S:
            self._recogniser = self._new()
        return tuple(
            Hypothesis(str(one.get("text", "")).strip(), float(one.get("confidence", 0.0)))
            for one in answer.get("alternatives", [])
            if str(one.get("text", "")).strip()
        )

    def drop(self) -> None:
        """End the utterance without reading it."""
        self._only_mine()
        if self._open:
            self._open, self._fed = False, 0
            self._recogniser.Reset()

    def _only_mine(self) -> None:
        if threading.get_ident() != self._thread:
            raise RuntimeError("A decoder was used by another thread than the one that made it.")


@contextlib.contextmanager
def _with_our_settings(folder: Path) -> Any:  # noqa: ANN401 (a context manager of a path)
    """Give the model's folder with our settings: links to its files, two of them edited."""
    with tempfile.TemporaryDirectory(prefix="walesong-model-") as name:
        prepared = Path(name)
        for path in sorted(folder.rglob("*")):
            place = prepared / path.relative_to(folder)
            if path.is_dir():
                place.mkdir(parents=True, exist_ok=True)
            elif path.name in _EDITED:
                place.parent.mkdir(parents=True, exist_ok=True)
                text = _edited(path.read_text(encoding="utf-8"), _EDITED[path.name])
                place.write_text(text, encoding="utf-8")
            else:
                place.parent.mkdir(parents=True, exist_ok=True)
                _link(path, place)
        yield prepared


def _edited(text: str, settings: Mapping[str, str]) -> str:
    kept = [
        line
        for line in text.splitlines()
        if line.strip().removeprefix("--").partition("=")[0] not in settings
    ]
    return "\n".join([*kept, *(f"--{name}={value}" for name, value in settings.items())]) + "\n"


def _dither(start: int, count: int) -> Samples:
    """Return the noise for so many samples of an utterance from one of them on."""
    noise = _noise()
    return np.take(noise, np.arange(start, start + count), mode="wrap")


@cache
def _noise() -> Samples:
    """Return two seconds of noise, always the same."""
    drawn = np.random.default_rng(2).normal(0.0, OWN_DITHER / 32768, 2 * RATE)
    return np.asarray(drawn, dtype=np.float32)


def _link(source: Path, place: Path) -> None:
    """Link a file without copying it, where the system allows it."""
    for make in (Path.symlink_to, Path.hardlink_to):
        with contextlib.suppress(OSError, NotImplementedError):
            make(place, source.resolve())
            return
    shutil.copyfile(source, place)


_TRIAL: Final = """
import random, struct, sys, vosk
vosk.SetLogLevel(-1)
model = vosk.Model(sys.argv[1])
words = [word for word in ("yes", "no", "row") if model.vosk_model_find_word(word) >= 0]
sentences = ["[%s]" % ", ".join('"%s"' % word for word in words)] if words else []
dice = random.Random(0)
noise = [round(dice.gauss(0, 800)) for _ in range(int(sys.argv[2]))]
for more in ([], sentences):
    heard = vosk.KaldiRecognizer(model, int(sys.argv[2]), *more)
    heard.SetMaxAlternatives(3)
    heard.AcceptWaveform(struct.pack("<%dh" % len(noise), *noise))
    heard.FinalResult()
"""
"""Hears a second of noise, freely and by a choice of sentences."""


def loads_elsewhere(folder: Path, seconds: float = 60.0) -> bool:
    """
    Whether a process of its own can load the model and hear with it.

    A broken one takes its process with it, some only at the first sound.
    """
    if not sys.executable:  # inside an app for a phone there is no other process to ask
        return True
    try:
        done = subprocess.run(
            [sys.executable, "-c", _TRIAL, os.fspath(folder), str(RATE)],
            capture_output=True,
            timeout=seconds,
            check=False,
        )
    except (OSError, subprocess.TimeoutExpired):
        return False
    return done.returncode == 0
