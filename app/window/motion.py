"""Motion where it tells something, short, and whether this device has been told to keep still."""

from __future__ import annotations

import sys
from contextlib import suppress
from pathlib import Path
from typing import Final

LASTS_S: Final = 0.16
"""How long a row takes to grow: under 0.2 s it is seen and nobody waits for it."""

_GTK: Final = ("gtk-4.0", "gtk-3.0")
_CLIENT_AREA_ANIMATION: Final = 0x1042
"""SPI_GETCLIENTAREAANIMATION of Windows' SystemParametersInfo."""


def eased(spent_s: float) -> float:
    """Return which share (0..1) of a motion is over after so many seconds: fast, then slower."""
    left = 1.0 - min(max(spent_s / LASTS_S, 0.0), 1.0)
    return 1.0 - left * left


def stillness_wanted(config: Path | None = None) -> bool:
    """
    Whether this device's own settings ask programs not to move things.

    On Linux that is what GTK's settings file in `config` says (None: the usual folder), on Windows
    and Android what the system answers (both untried); elsewhere nothing is known, and False.
    """
    with suppress(Exception):  # a system that does not answer has not asked for anything
        if hasattr(sys, "getandroidapilevel"):
            return _still_on_android()
        if sys.platform == "win32":
            return _still_on_windows()
        return _still_by_gtk(config or Path("~/.config").expanduser())
    return False


def _still_by_gtk(config: Path) -> bool:
    """Read GTK's settings: the newest version that says something of animations holds."""
    for version in _GTK:
        file = config / version / "settings.ini"
        if not file.is_file():
            continue
        for line in file.read_text(encoding="utf-8", errors="replace").splitlines():
            name, _, value = line.partition("=")
            if name.strip() == "gtk-enable-animations":
                return value.strip().lower() in {"0", "false"}
    return False


def _still_on_windows() -> bool:
    import ctypes  # noqa: PLC0415 (only there)

    moves = ctypes.c_int(1)
    windows = getattr(ctypes, "windll")  # noqa: B009 (it exists on Windows only)
    windows.user32.SystemParametersInfoW(_CLIENT_AREA_ANIMATION, 0, ctypes.byref(moves), 0)
    return not moves.value


def _still_on_android() -> bool:
    from jnius import autoclass  # noqa: PLC0415 (only there)

    activity = autoclass("org.kivy.android.PythonActivity").mActivity
    system = autoclass("android.provider.Settings$Global")
    scale = system.getFloat(activity.getContentResolver(), "animator_duration_scale", 1.0)
    return float(scale) == 0.0
