"""What this machine has: a display, a microphone. Each finding is one line that can be shown."""

from __future__ import annotations

import os
import sys
from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True, slots=True)
class Found:
    """Whether something is there, and one line about it."""

    there: bool
    line: str


def display() -> Found:
    """
    Look for a display to open a window on, without opening one.

    On Linux that is a Wayland or X server which the environment names; a stale DISPLAY, left over
    from a session that ended, is noticed for servers of this machine. Other systems always have
    one.
    """
    if not sys.platform.startswith("linux") or hasattr(sys, "getandroidapilevel"):
        return Found(there=True, line="a window on this screen")
    wayland = os.environ.get("WAYLAND_DISPLAY")
    if wayland and _wayland_socket(wayland).exists():
        return Found(there=True, line="a window on the Wayland display")
    name = os.environ.get("DISPLAY", "")
    if not name:
        return Found(there=False, line="the terminal (there is no display here)")
    host, _, rest = name.rpartition(":")
    number = rest.split(".", maxsplit=1)[0]
    if host in {"", "unix"} and not Path(f"/tmp/.X11-unix/X{number}").exists():  # noqa: S108 (X11's own place)
        return Found(there=False, line=f"the terminal (no display answers at DISPLAY={name})")
    return Found(there=True, line=f"a window on display {name}")


def _wayland_socket(name: str) -> Path:
    return Path(os.environ.get("XDG_RUNTIME_DIR", "/nowhere")) / name
