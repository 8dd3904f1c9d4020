"""
What of Java has to be known before anything else on an Android device.

A thread that Python starts finds only the system's classes there, not those of the program's own
package; a class found once is found by every thread. So `look_up` is called on the first thread,
before any other is started; the adapters then ask here. Nobody has tried it on a phone yet.
"""

from __future__ import annotations

import os
import sys
from typing import Any, Final

OWN_CLASSES: Final = ("org.kivy.android.PythonActivity", "org.jnius.NativeInvocationHandler")
"""The running activity's class, and the one through which Java calls Python."""
RECORD_AUDIO: Final = "android.permission.RECORD_AUDIO"

_DETAILS: Final = "android.settings.APPLICATION_DETAILS_SETTINGS"
# android.content.pm.PackageManager
_GRANTED: Final = 0
_REQUEST: Final = 1


def on_android() -> bool:
    """Return whether this is an Android device."""
    return hasattr(sys, "getandroidapilevel") or "ANDROID_ARGUMENT" in os.environ


def look_up() -> None:
    """Find the program's own classes, on the thread that started it; elsewhere nothing is done."""
    if on_android():
        from jnius import autoclass  # noqa: PLC0415 (only on Android)

        for name in OWN_CLASSES:
            autoclass(name)


def activity() -> Any:  # noqa: ANN401 (a Java object)
    """Return the running activity."""
    from jnius import autoclass  # noqa: PLC0415 (only on Android)

    return autoclass(OWN_CLASSES[0]).mActivity


def allowed(permission: str) -> bool:
    """Return whether she has allowed it."""
    return bool(activity().checkSelfPermission(permission) == _GRANTED)


def ask_for(permission: str) -> None:
    """Have the system ask her; what she answers is seen by `allowed`."""
    activity().requestPermissions([permission], _REQUEST)


def open_settings() -> None:
    """Show the system's page about this program, where what she has refused can be allowed."""
    from jnius import autoclass  # noqa: PLC0415 (only on Android)

    here = activity()
    page = autoclass("android.net.Uri").fromParts("package", here.getPackageName(), None)
    here.startActivity(autoclass("android.content.Intent")(_DETAILS, page))


def leave() -> None:
    """Go behind the program that was in front before, as the home key does."""
    activity().moveTaskToBack(True)  # noqa: FBT003 (Java has no names for arguments)
