"""ALSA, the sound system of Linux, kept from printing a page of complaints on the terminal."""

from __future__ import annotations

import contextlib
import ctypes
import sys
from functools import cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable

_Handler = ctypes.CFUNCTYPE(
    None, ctypes.c_char_p, ctypes.c_int, ctypes.c_char_p, ctypes.c_int, ctypes.c_char_p
)


def _drop(*_: object) -> None:
    """Take a message of ALSA and drop it."""


_no_message = _Handler(_drop)


@cache
def hush_alsa() -> None:
    """
    Keep ALSA from printing a page of complaints on a machine without a sound card.

    What is wrong is said once, in our own words.
    """
    if sys.platform != "linux":
        return
    with contextlib.suppress(OSError, AttributeError):
        set_handler: Callable[[object], int] = ctypes.CDLL(
            "libasound.so.2"
        ).snd_lib_error_set_handler
        set_handler(_no_message)
