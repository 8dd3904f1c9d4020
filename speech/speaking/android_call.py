"""
Whether a telephone call is going on, on Android: asked once a second, through pyjnius.

AudioManager's mode needs no permission and tells nothing about the call but that it is there.
Proven against a Java double on a desktop's Java; nobody has tried it on a phone yet.
"""

from __future__ import annotations

import logging
import threading
from typing import TYPE_CHECKING, Any

from jnius import cast, detach

from speech import android

if TYPE_CHECKING:
    from collections.abc import Callable

_log = logging.getLogger(__name__)

_AUDIO_SERVICE = "audio"
# android.media.AudioManager: ringing, in a call, in a call through an app.
_CALL_MODES = frozenset({1, 2, 3})


class AndroidCallWatch:
    """Tells when a call begins (also when it only rings) and when it has ended."""

    def __init__(
        self, changed: Callable[[bool], None], context: object | None = None, every_s: float = 1.0
    ) -> None:
        """Begin to watch; `changed` is called on the watch's own thread."""
        self._changed = changed
        self._context = context
        self._every_s = every_s
        self._end = threading.Event()
        threading.Thread(target=self._watch, name="walesong-call-watch", daemon=True).start()

    def close(self) -> None:
        """Watch no more."""
        self._end.set()

    def _watch(self) -> None:
        try:
            manager = self._manager()
            on_call = False
            while not self._end.wait(self._every_s):
                now = manager.getMode() in _CALL_MODES
                if now != on_call:
                    on_call = now
                    self._changed(now)
        except Exception:  # noqa: BLE001 (without the watch everything else goes on)
            _log.exception("Telephone calls are not noticed.")
        finally:
            detach()

    def _manager(self) -> Any:  # noqa: ANN401 (a Java object)
        context: Any = self._context or android.activity()
        return cast("android.media.AudioManager", context.getSystemService(_AUDIO_SERVICE))
