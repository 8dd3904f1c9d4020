"""
The few calls of Vosk's C interface that are needed, where its own Python binding cannot be had.

That binding needs a compiled package (cffi) which has no build for phones; the library itself has.
Names and behaviour are those of the binding, as far as `vosk_decoder` uses it.
"""

from __future__ import annotations

import ctypes
import os
from functools import cache
from typing import Any, Final

LIBRARY_VARIABLE: Final = "WALESONG_VOSK_LIBRARY"
"""Environment variable that names another file of the library."""

_HANDLE: Final = ctypes.c_void_p
_TEXT: Final = ctypes.c_char_p
_INT: Final = ctypes.c_int

# vosk_api.h: what each call returns and takes.
_CALLS: Final[dict[str, tuple[Any, tuple[Any, ...]]]] = {
    "vosk_set_log_level": (None, (_INT,)),
    "vosk_model_new": (_HANDLE, (_TEXT,)),
    "vosk_model_free": (None, (_HANDLE,)),
    "vosk_model_find_word": (_INT, (_HANDLE, _TEXT)),
    "vosk_recognizer_new": (_HANDLE, (_HANDLE, ctypes.c_float)),
    "vosk_recognizer_new_grm": (_HANDLE, (_HANDLE, ctypes.c_float, _TEXT)),
    "vosk_recognizer_free": (None, (_HANDLE,)),
    "vosk_recognizer_set_max_alternatives": (None, (_HANDLE, _INT)),
    "vosk_recognizer_accept_waveform": (_INT, (_HANDLE, _TEXT, _INT)),
    "vosk_recognizer_final_result": (_TEXT, (_HANDLE,)),
    "vosk_recognizer_reset": (None, (_HANDLE,)),
}


@cache
def _library() -> ctypes.CDLL:
    """Load the library; OSError if it is not there."""
    library = ctypes.CDLL(os.environ.get(LIBRARY_VARIABLE, "libvosk.so"))
    for name, (returns, takes) in _CALLS.items():
        call = getattr(library, name)
        call.restype, call.argtypes = returns, takes
    return library


def load() -> None:
    """Load the library, so that it is known whether it is there; OSError if it is not."""
    _library()


def SetLogLevel(level: int) -> None:  # noqa: N802 (the binding's name)
    """Say how much the library prints; -1: nothing."""
    _library().vosk_set_log_level(level)


class Model:
    """A speech model in memory."""

    def __init__(self, path: str) -> None:
        """Load the model of a folder; RuntimeError if the library cannot."""
        self._handle = _library().vosk_model_new(path.encode())
        if not self._handle:
            raise RuntimeError(f"The library cannot load the model '{path}'.")

    def __del__(self) -> None:
        """Give the memory back."""
        if getattr(self, "_handle", None):
            _library().vosk_model_free(self._handle)

    def vosk_model_find_word(self, word: str) -> int:
        """Return the number of a word, or -1 if the model does not know it."""
        return int(_library().vosk_model_find_word(self._handle, word.encode()))


class KaldiRecognizer:
    """A recogniser; it keeps its model."""

    def __init__(self, model: Model, rate: float, grammar: str | None = None) -> None:
        """Make one for so many samples a second, of any English or of a JSON list of sentences."""
        self._model = model
        library = _library()
        self._handle = (
            library.vosk_recognizer_new(model._handle, rate)  # noqa: SLF001 (they belong together)
            if grammar is None
            else library.vosk_recognizer_new_grm(model._handle, rate, grammar.encode())  # noqa: SLF001
        )
        if not self._handle:
            raise RuntimeError("The library cannot make a recogniser.")

    def __del__(self) -> None:
        """Give the memory back."""
        if getattr(self, "_handle", None):
            _library().vosk_recognizer_free(self._handle)

    def SetMaxAlternatives(self, count: int) -> None:  # noqa: N802 (the binding's name)
        """Ask for so many readings of an utterance."""
        _library().vosk_recognizer_set_max_alternatives(self._handle, count)

    def AcceptWaveform(self, data: bytes) -> int:  # noqa: N802 (the binding's name)
        """Take in sound: 16 bits, little-endian, one channel."""
        return int(_library().vosk_recognizer_accept_waveform(self._handle, data, len(data)))

    def FinalResult(self) -> str:  # noqa: N802 (the binding's name)
        """End the utterance and return what was heard, as JSON."""
        heard: bytes = _library().vosk_recognizer_final_result(self._handle)
        return heard.decode()

    def Reset(self) -> None:  # noqa: N802 (the binding's name)
        """End the utterance without reading it."""
        _library().vosk_recognizer_reset(self._handle)
