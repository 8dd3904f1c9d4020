"""
What an Android device is asked for the window: its edges, its size of letters, its settings.

Proven against a Java double and against the framework's own classes on a desktop's Java; nobody
has tried it on a phone yet. All of it is called on the window's thread.
"""

from __future__ import annotations

import logging
from typing import TYPE_CHECKING, Any, Final, TypeVar

from app.display.safe_area import Edges, Surroundings
from speech import android

if TYPE_CHECKING:
    from collections.abc import Callable

_Told = TypeVar("_Told")

_log = logging.getLogger(__name__)

# android.R.id, android.view.WindowInsets.Type, android.view.RoundedCorner
_CONTENT: Final = 0x01020002
_BARS: Final = 0b111
"""Caption bar, status bars and navigation bars; the on-screen keyboard is the toolkit's affair."""
_CUTOUT: Final = 1 << 7
_CORNERS: Final = (0, 1, 2, 3)
"""Top left, top right, bottom right, bottom left."""
_LEVEL_OF_INSETS, _LEVEL_OF_CORNERS = 30, 31


def microphone_refused() -> bool:
    """Return whether she has not allowed the microphone (yet)."""
    return android.on_android() and not android.allowed(android.RECORD_AUDIO)


def surroundings() -> Surroundings:
    """Return where the system's bars, cut-outs and corners lie; nothing where it does not tell."""
    return _asked(_surroundings, Surroundings())


def font_scale() -> float:
    """Return how much larger than usual she has letters on this device; 1.0 is usual."""
    return _asked(_font_scale, 1.0)


def _asked(ask: Callable[[], _Told], otherwise: _Told) -> _Told:
    """Ask the system; what it does not tell, or not yet, is `otherwise`."""
    if not android.on_android():
        return otherwise
    try:
        return ask()
    except Exception:  # noqa: BLE001 (Java's exceptions have no common parent of ours)
        _log.exception("The device does not tell.")
        return otherwise


def _font_scale() -> float:
    return float(android.activity().getResources().getConfiguration().fontScale)


def _surroundings() -> Surroundings:
    from jnius import autoclass  # noqa: PLC0415 (only on Android)

    here = android.activity()
    whole, ours = here.getWindow().getDecorView(), here.findViewById(_CONTENT)
    told = whole.getRootWindowInsets()
    level = autoclass("android.os.Build$VERSION").SDK_INT
    if told is None or level < _LEVEL_OF_INSETS:
        return Surroundings()  # before that level the system keeps our part free of its bars itself
    covered = told.getInsets(_BARS | _CUTOUT)
    corners: list[Any] = []
    if level >= _LEVEL_OF_CORNERS:
        corners = [told.getRoundedCorner(corner) for corner in _CORNERS]
    at = [0, 0]
    ours.getLocationInWindow(at)
    left, top = at
    radii = [float(one.getRadius()) if one is not None else 0.0 for one in corners] or [0.0] * 4
    return Surroundings(
        window=(whole.getWidth(), whole.getHeight()),
        content=Edges(left, top, left + ours.getWidth(), top + ours.getHeight()),
        covered=Edges(covered.left, covered.top, covered.right, covered.bottom),
        corners=(radii[0], radii[1], radii[2], radii[3]),
    )
