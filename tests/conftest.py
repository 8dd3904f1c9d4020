"""The ground all tests stand on, laid before anything of the product is imported.

No test touches the user's own files, settings or network, opens a window on the user's screen, or
rolls different dice on the next run.
"""

from __future__ import annotations

import atexit
import os
import shutil
import signal
import socket
import sys
import tempfile
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import hypothesis
import pytest

from app import resources, wall
from house import system

if TYPE_CHECKING:
    from collections.abc import Iterator

pytest.register_assert_rewrite("tests.contracts")

# --- a home of our own ---------------------------------------------------------------------------

_BEFORE: Final = dict(os.environ)
_MODEL: Final = resources.model_folder().absolute()
_HOME: Final = Path(tempfile.mkdtemp(prefix="walesong-tests-"))
_OWN: Final = {
    "HOME": _HOME,
    "USERPROFILE": _HOME,
    "APPDATA": _HOME / "roaming",
    "LOCALAPPDATA": _HOME / "local",
    "XDG_CONFIG_HOME": _HOME / "config",
    "XDG_DATA_HOME": _HOME / "data",
    "XDG_CACHE_HOME": _HOME / "cache",
    "XDG_STATE_HOME": _HOME / "state",
    "KIVY_HOME": _HOME / "kivy",
    # The speech model is large and read only: tests use the one that set-up provided.
    resources.MODEL_VARIABLE: _MODEL,
}
for _folder in (folder for name, folder in _OWN.items() if name != resources.MODEL_VARIABLE):
    _folder.mkdir(parents=True, exist_ok=True)
os.environ.update({name: str(folder) for name, folder in _OWN.items()})
atexit.register(shutil.rmtree, _HOME, ignore_errors=True)

# --- interrupts ----------------------------------------------------------------------------------

# A shell makes what it runs in the background deaf to interrupts, and so would be all that tests
# start, unless it is set otherwise here.
signal.signal(signal.SIGINT, signal.default_int_handler)

# --- windows without a screen --------------------------------------------------------------------

# Kivy reads these once, when it is imported for the first time.
_KIVY: Final = {
    "KIVY_NO_ARGS": "1",
    "KIVY_NO_CONFIG": "1",
    "KIVY_NO_CONSOLELOG": "1",
    "KIVY_NO_FILELOG": "1",
    "KIVY_LOG_MODE": "PYTHON",
    "KIVY_WINDOW": "sdl2",
}
if sys.platform.startswith("linux"):
    # Real OpenGL, drawn where nobody sees it; also on a machine that has a screen.
    _KIVY["SDL_VIDEODRIVER"] = "offscreen"
os.environ.update(_KIVY)

# --- faults --------------------------------------------------------------------------------------

# What the product tells in a sentence and survives is a mistake of ours here, and fails the test.
wall.RAISES = True

# --- dice that fall the same way every time ------------------------------------------------------

hypothesis.settings.register_profile("steady", derandomize=True, deadline=None)
hypothesis.settings.register_profile("search", max_examples=2000, deadline=None, print_blob=True)
hypothesis.settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "steady"))

# --- no network ----------------------------------------------------------------------------------

_LOCAL_FAMILIES: Final = {getattr(socket, "AF_UNIX", None)}
_BY_ADDRESS: Final = frozenset({"socket.connect", "socket.bind", "socket.sendto", "socket.sendmsg"})
_BY_NAME: Final = frozenset(
    {
        "socket.getaddrinfo",
        "socket.getnameinfo",
        "socket.gethostbyname",
        "socket.gethostbyaddr",
    }
)
_attempts: list[str] = []


class NetworkUsedError(Exception):
    """A test, or the product under test, reached for the network."""


def _refuse_network(event: str, arguments: tuple[Any, ...]) -> None:
    """Refuse every network socket; sockets of the machine's own file system pass (PulseAudio)."""
    if event in _BY_NAME or (event in _BY_ADDRESS and arguments[0].family not in _LOCAL_FAMILIES):
        _attempts.append(f"{event} {arguments[1:] if event in _BY_ADDRESS else arguments}")
        raise NetworkUsedError(f"No network in tests: {_attempts[-1]}")


sys.addaudithook(_refuse_network)


@pytest.fixture(autouse=True)
def network_attempts() -> Iterator[list[str]]:
    """Fail a test that reached for the network, even where the refusal was swallowed.

    Yields the attempts so far; a test that makes them on purpose clears the list.
    """
    _attempts.clear()
    yield _attempts
    assert not _attempts, f"reached for the network: {_attempts}"


# --- what the operating system has to bring ------------------------------------------------------

_NEEDS: Final = {
    "window": {"libGL.so.1", "libEGL.so.1", "EGL"},
    "display": {"libGL.so.1", "Xvfb", "xauth", "xdotool", "import"},
    "microphone": {"pulseaudio", "pactl"},
    "voice": {"espeak-ng"},
}


@cache
def _missing(marker: str) -> tuple[system.Need, ...]:
    needs = (*system.TO_RUN, *system.FOR_TESTS)
    return tuple(n for n in needs if n.name in _NEEDS[marker] and not system.is_there(n))


def pytest_runtest_setup(item: pytest.Item) -> None:
    """Skip a test whose markers ask for what this machine lacks, and say how to add it."""
    if not sys.platform.startswith("linux"):
        return
    missing = [n for marker in _NEEDS if item.get_closest_marker(marker) for n in _missing(marker)]
    if missing:
        names = ", ".join(need.name for need in missing)
        line = system.install_line([need.package for need in missing])
        pytest.skip(f"this machine lacks {names}; to add: {line}")


# --- what tests ask for --------------------------------------------------------------------------


@pytest.fixture(scope="session")
def model_folder() -> Path:
    """Return the folder of the real speech model that set-up provided."""
    if not (_MODEL / "am" / "final.mdl").is_file():
        pytest.fail(f"There is no speech model in {_MODEL}; 'make test' provides it.")
    return _MODEL


@pytest.fixture
def product_environment(tmp_path: Path) -> dict[str, str]:
    """Return the environment for starting the product as a process of its own, as a user would.

    It has a fresh home and none of the settings with which tests draw windows off screen.
    """
    environment = {name: value for name, value in os.environ.items() if name not in _KIVY}
    environment |= {name: _BEFORE[name] for name in _KIVY if name in _BEFORE}
    for name in ("HOME", "USERPROFILE", "APPDATA", "LOCALAPPDATA"):
        environment[name] = str(tmp_path)
    for name in ("CONFIG", "DATA", "CACHE", "STATE"):
        environment[f"XDG_{name}_HOME"] = str(tmp_path / name.lower())
    environment["KIVY_HOME"] = str(tmp_path / "kivy")
    return environment
