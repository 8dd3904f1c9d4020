"""Find a Python that Walesong runs on: 3.11 to 3.13 with ensurepip.

This module, ``system`` and ``trouble`` also have to run on an older Python, if only to find a
newer one: keep to the language of Python 3.8 here.
"""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from typing import NamedTuple

from house import system
from house.trouble import Trouble

OLDEST = (3, 11)
NEWEST = (3, 13)  # Kivy 2.3.1 has no builds for newer ones

_ASK = """
import json, sys, sysconfig
try:
    import ensurepip, venv
    pip = True
except ImportError:
    pip = False
print(json.dumps([
    getattr(sys, "_base_executable", sys.executable),
    sys.version_info[0],
    sys.version_info[1],
    pip and not sysconfig.get_config_var("Py_GIL_DISABLED"),
]))
"""


class Interpreter(NamedTuple):
    """A Python of this machine."""

    path: str
    version: tuple[int, int]
    has_pip: bool
    """Whether it can make an environment with pip in it."""


def find() -> str:
    """Return the path of a fitting Python, the running one if it fits.

    As root on Debian and its kin, a fitting Python that only lacks ensurepip gets it installed.
    Raises Trouble when there is none.
    """
    without_pip: Interpreter | None = None
    for command in _candidates():
        found = _ask(command)
        if found is None or not OLDEST <= found.version <= NEWEST:
            continue
        if found.has_pip:
            return found.path
        without_pip = without_pip or found
    if without_pip is not None:
        return _with_pip(without_pip)
    running = ".".join(str(part) for part in sys.version_info[:3])
    raise Trouble(
        f"Walesong needs Python 3.11, 3.12 or 3.13 (this is {running}); "
        "install one of them from your system or from python.org, then run again."
    )


def _with_pip(interpreter: Interpreter) -> str:
    """Return the interpreter's path once ensurepip is installed for it."""
    version = f"{interpreter.version[0]}.{interpreter.version[1]}"
    package = f"python{version}-venv"
    if system.can_install():
        system.install([package])
        found = _ask([interpreter.path])
        if found is not None and found.has_pip:
            return found.path
    raise Trouble(
        f"Python {version} lacks ensurepip; install it, then run again: "
        f"{system.install_line([package])}"
    )


def underlying() -> str:
    """Return the path of the Python that runs, of the one beneath it in a virtual environment."""
    return getattr(sys, "_base_executable", None) or sys.executable


def _candidates() -> list[list[str]]:
    """Return the commands to try, the running Python first, then newer before older."""
    versions = [f"3.{minor}" for minor in range(NEWEST[1], OLDEST[1] - 1, -1)]
    commands = [[sys.executable]]
    if sys.platform == "win32" and shutil.which("py"):
        commands += [["py", f"-{version}"] for version in versions]
    names = [f"python{version}" for version in versions] + ["python3", "python"]
    commands += [[name] for name in names if shutil.which(name)]
    return commands


def _ask(command: list[str]) -> Interpreter | None:
    """Ask a Python what it is; None when it does not answer."""
    try:
        done = subprocess.run(
            [*command, "-c", _ASK], capture_output=True, text=True, timeout=60, check=True
        )
        path, major, minor, has_pip = json.loads(done.stdout)
    except (OSError, subprocess.SubprocessError, ValueError):
        return None
    return Interpreter(str(path), (int(major), int(minor)), bool(has_pip))
