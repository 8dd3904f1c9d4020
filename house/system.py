"""Libraries and programs that come from the operating system, found by trying to use them.

On Linux as root, what is missing is installed by ``apt-get`` where there is one; anybody else is
told the one line to run, and setting up goes on: Walesong works without a window or a voice.
macOS and Windows bring what is needed with the Python packages.
"""

from __future__ import annotations

import functools
import os
import platform
import shutil
import subprocess
import sys
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Sequence


class Need(NamedTuple):
    """Something of the operating system that is probed by using it."""

    kind: str
    """``library`` (loaded by name), ``program`` (found on the PATH) or ``picture`` (drawn)."""
    name: str
    package: str
    """The Debian package that brings it."""
    why: str


_SECOND_MICROPHONE = Need("library", "libportaudio.so.2", "libportaudio2", "a second microphone")

_ATOMIC = Need("library", "libatomic.so.1", "libatomic1", "the recogniser of speech")


def to_run(machine: str) -> tuple[Need, ...]:
    """Return what running needs on a processor, named as `platform.machine` does."""
    return (
        Need("library", "libGL.so.1", "libgl1", "draws the window"),
        Need("library", "libEGL.so.1", "libegl1", "draws the window"),
        Need("picture", "EGL", "libgl1-mesa-dri", "draws the window without a graphics card"),
        Need("library", "libmtdev.so.1", "libmtdev1", "reads touch screens"),
        Need("program", "espeak-ng", "espeak-ng", "speaks the replies"),
        # The microphone's first library has no ready-made build for other processors.
        *([_SECOND_MICROPHONE] if machine != "x86_64" else []),
        # The recogniser's build for ARM is linked against it, and a bare Debian there lacks it.
        *([_ATOMIC] if machine == "aarch64" else []),
    )


TO_RUN = to_run(platform.machine())

FOR_TESTS = (
    Need("program", "espeak", "espeak-ng-espeak", "speaks through plyer"),
    Need("program", "Xvfb", "xvfb", "a virtual screen"),
    Need("program", "xauth", "xauth", "opens the virtual screen"),
    Need("program", "xdotool", "xdotool", "presses real keys"),
    Need("program", "import", "imagemagick", "looks at the virtual screen"),
    Need("program", "pulseaudio", "pulseaudio", "a virtual microphone"),
    Need("program", "pactl", "pulseaudio-utils", "plays into the virtual microphone"),
    _SECOND_MICROPHONE,
)

_LOAD = "import ctypes, sys; ctypes.CDLL(sys.argv[1])"

# Bring up EGL without any screen: this works only if a driver can really draw.
_DRAW = """
import ctypes, sys
egl = ctypes.CDLL("libEGL.so.1")
egl.eglGetDisplay.restype = ctypes.c_void_p
egl.eglGetDisplay.argtypes = [ctypes.c_void_p]
egl.eglInitialize.argtypes = [ctypes.c_void_p, ctypes.c_void_p, ctypes.c_void_p]
display = egl.eglGetDisplay(None)
sys.exit(not (display and egl.eglInitialize(display, None, None)))
"""


def provide(needs: Sequence[Need], *, may_install: bool = True) -> None:
    """
    Install what is missing, or say in a line what is missing and how to install it.

    What is to be installed, and what for, is said before it is.
    """
    if not sys.platform.startswith("linux"):
        return
    missing = [need for need in needs if not is_there(need)]
    if missing and may_install and can_install():
        for need in missing:
            print(f"To be installed: {need.package} ({need.name}: {need.why}).")
        print("To go on without them: --no-system-packages.")
        install([need.package for need in missing])
        missing = [need for need in missing if not is_there(need)]
    if missing:
        lacks = ", ".join(f"{need.name} ({need.why})" for need in missing)
        print(f"Going on without {lacks}. To add: {install_line([n.package for n in missing])}")


def is_there(need: Need) -> bool:
    """Tell whether a need is met, by using it in a process of its own."""
    if need.kind == "program":
        return shutil.which(need.name) is not None
    if need.kind == "library":
        return _succeeds(_LOAD, need.name)
    return _succeeds(_DRAW)


def can_install() -> bool:
    """Tell whether this user may install packages here without being asked anything."""
    if not sys.platform.startswith("linux"):
        return False
    return os.geteuid() == 0 and shutil.which("apt-get") is not None


def install_line(packages: Sequence[str]) -> str:
    """Return the one line that a user runs to install ``packages``."""
    names = " ".join(packages)
    if not sys.platform.startswith("linux") or shutil.which("apt-get"):
        return f"sudo apt-get install --no-install-recommends {names}"
    return f"install what Debian calls {names} with your system's package manager"


def install(packages: Sequence[str]) -> None:
    """Install Debian packages; whether that worked is for the caller to probe again."""
    print(f"Installing from the system's packages: {' '.join(packages)}", flush=True)
    refresh_lists()
    failure = _apt_get("install", "--yes", "--no-install-recommends", *packages)
    if failure:
        print(f"apt-get said: {failure}", flush=True)


@functools.lru_cache(maxsize=None)  # noqa: UP033 - functools.cache came with Python 3.9
def refresh_lists() -> None:
    """Refresh the package lists, once; a stale or partly failing list need not matter."""
    _apt_get("update")


def _apt_get(*arguments: str) -> str:
    """Run apt-get, waiting for others that use it; return its last words if it fails."""
    done = subprocess.run(
        ["apt-get", "-qq", "-o", "DPkg::Lock::Timeout=300", "-o", "Acquire::Retries=3", *arguments],
        env={**os.environ, "DEBIAN_FRONTEND": "noninteractive"},
        capture_output=True,
        text=True,
        check=False,
    )
    words = (done.stderr or done.stdout).strip().splitlines()
    return words[-1] if done.returncode != 0 and words else ""


def _succeeds(program: str, *arguments: str) -> bool:
    """Run a Python program of its own, so that a library that crashes takes only that along."""
    try:
        done = subprocess.run(
            [sys.executable, "-c", program, *arguments],
            env={**os.environ, "EGL_PLATFORM": "surfaceless"},
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            timeout=60,
            check=False,
        )
    except subprocess.TimeoutExpired:
        return False
    return done.returncode == 0
