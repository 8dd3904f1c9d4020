"""A real X display that nobody sees, with real keys and pictures of what is on it.

Needs Xvfb, xdotool and ImageMagick (Debian: xvfb, xdotool, imagemagick).
"""

from __future__ import annotations

import ctypes
import ctypes.util
import os
import subprocess
import time
from contextlib import contextmanager
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping

    from numpy.typing import NDArray

WIDTH, HEIGHT = 800, 600
PATIENCE_S = 200.0


class VirtualDisplay:
    """The running display."""

    def __init__(self, name: str) -> None:
        """Take the name that programs find it by, such as ":42"."""
        self.name = name

    def environment(self, environment: Mapping[str, str]) -> dict[str, str]:
        """Return an environment in which programs open their windows here."""
        kept = {name: value for name, value in environment.items() if name != "WAYLAND_DISPLAY"}
        return {**kept, "DISPLAY": self.name}

    def press(self, *keys: str) -> None:
        """Press keys one after the other, by their X names ("space", "F3", "3")."""
        self._xdotool("key", "--delay", "25", *keys)

    def picture(self) -> NDArray[np.uint8]:
        """Return what is on the display: rows, columns, red, green and blue."""
        done = subprocess.run(
            ("import", "-window", "root", "-depth", "8", "rgb:-"),
            env={**os.environ, "DISPLAY": self.name},
            capture_output=True,
            check=True,
        )
        return np.frombuffer(done.stdout, dtype=np.uint8).reshape(HEIGHT, WIDTH, 3)

    def changed_from(self, before: NDArray[np.uint8]) -> NDArray[np.uint8]:
        """Wait until it looks different and stays as it is, and return how it looks then."""
        pictures: list[NDArray[np.uint8]] = [before, before]

        def changed() -> bool:
            pictures[:] = pictures[-1], self.picture()
            moving = bool((pictures[0] != pictures[1]).any())
            return bool((pictures[1] != before).any()) and not moving

        wait_until(changed, "the picture changes")
        return pictures[-1]

    def close_window(self) -> None:
        """Ask the window to close, as the cross in a window's corner does."""
        found = self._xdotool("search", "--class", "").split()
        _ask_to_close(self.name, max(map(int, found)))

    def _xdotool(self, *arguments: str) -> str:
        done = subprocess.run(
            ("xdotool", *arguments),
            env={**os.environ, "DISPLAY": self.name},
            capture_output=True,
            text=True,
            timeout=200,
            check=True,
        )
        return done.stdout


@contextmanager
def virtual_display() -> Iterator[VirtualDisplay]:
    """Start a display of its own and end it after the block."""
    reading, writing = os.pipe()
    command = ("Xvfb", "-displayfd", str(writing), "-screen", "0", f"{WIDTH}x{HEIGHT}x24")
    with subprocess.Popen(
        (*command, "-nolisten", "tcp"), pass_fds=(writing,), stderr=subprocess.DEVNULL
    ) as server:
        os.close(writing)
        try:
            with os.fdopen(reading) as number:
                yield VirtualDisplay(f":{number.readline().strip()}")
        finally:
            server.terminate()


def wait_until(condition: Callable[[], bool], what: str) -> None:
    """Wait until it is so; AssertionError if it does not become so."""
    deadline = time.monotonic() + PATIENCE_S
    while not condition():
        assert time.monotonic() < deadline, f"waited in vain until {what}"
        time.sleep(0.05)


class _ClientMessage(ctypes.Structure):
    """XClientMessageEvent of Xlib, with room for the largest event."""

    _fields_ = (
        ("type", ctypes.c_int),
        ("serial", ctypes.c_ulong),
        ("send_event", ctypes.c_int),
        ("display", ctypes.c_void_p),
        ("window", ctypes.c_ulong),
        ("message_type", ctypes.c_ulong),
        ("format", ctypes.c_int),
        ("data", ctypes.c_long * 5),
        ("rest", ctypes.c_long * 12),
    )


_CLIENT_MESSAGE = 33


def _ask_to_close(display: str, window: int) -> None:
    """Send WM_DELETE_WINDOW, as window managers do (ICCCM, section 4.2.8)."""
    x11 = ctypes.CDLL(ctypes.util.find_library("X11"))
    x11.XOpenDisplay.restype = ctypes.c_void_p
    x11.XInternAtom.restype = ctypes.c_ulong
    connection = ctypes.c_void_p(x11.XOpenDisplay(display.encode()))
    names = (b"WM_PROTOCOLS", b"WM_DELETE_WINDOW")
    protocols, delete = (x11.XInternAtom(connection, name, 0) for name in names)
    data = (ctypes.c_long * 5)(delete, 0, 0, 0, 0)
    message = _ClientMessage(_CLIENT_MESSAGE, 0, 1, None, window, protocols, 32, data)
    x11.XSendEvent(connection, ctypes.c_ulong(window), 0, 0, ctypes.byref(message))
    x11.XCloseDisplay(connection)
