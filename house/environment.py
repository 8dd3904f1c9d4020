"""The Python environment of the checkout, ``.venv``: made from the lock files and nothing else.

A stamp inside says what the environment was made from. It is taken away before anything changes
and written last, so an environment without a stamp is one whose making was interrupted, and is
made anew.
"""

from __future__ import annotations

import hashlib
import json
import os
import platform
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

from house import python
from house.trouble import Trouble

ROOT = Path(__file__).resolve().parent.parent
FOLDER = ROOT / ".venv"
LOG = ROOT / ".prepare.log"
SETUP_LOCK = "requirements-setup.lock"
RUN_LOCK = "requirements.lock"
TEST_LOCK = "requirements-test.lock"
MUTANTS_LOCK = "requirements-mutants.lock"
SOURCE_ONLY = ("docopt", "srt")
"""Packages that are published as source only: a few hundred lines of Python each."""
_STAMP = "walesong-stamp.json"


def program(name: str) -> Path:
    """Return the path of a program that the environment holds."""
    if sys.platform == "win32":
        return FOLDER / "Scripts" / f"{name}.exe"
    return FOLDER / "bin" / name


def provide(*, for_tests: bool) -> None:
    """Bring the environment in line with the lock files; do nothing if it is.

    Raises Trouble when that is not possible.
    """
    wanted = _wanted(for_tests=for_tests)
    found = _found()
    if all(found.get(key) == value for key, value in wanted.items()):
        return
    stamp = FOLDER / _STAMP
    stamp.unlink(missing_ok=True)
    LOG.unlink(missing_ok=True)
    base = ["place", "python", SETUP_LOCK, RUN_LOCK]
    if for_tests and TEST_LOCK in found:
        base.append(TEST_LOCK)  # what an older test lock brought would stay behind
    if any(found.get(key) != wanted[key] for key in base):
        _make()
        found = {}
    if for_tests and TEST_LOCK not in found:
        _install_locked(TEST_LOCK, "--no-compile")  # of the large ones the tests use little
    _install_project()
    stamp.write_text(json.dumps({**found, **wanted}, indent=1) + "\n", encoding="utf-8")


def provide_beside(lock: str) -> Path:
    """Return a folder outside the environment that holds what a lock names; make it if need be.

    What only one task needs is put there, so that the environment stays what its own locks say.
    """
    content = (ROOT / lock).read_bytes()
    folder = ROOT / "out" / f"{lock.removesuffix('.lock')}-{_digest(content)[:12]}"
    if not folder.exists():
        unfinished = folder.with_name(f"{folder.name}.part")
        shutil.rmtree(unfinished, ignore_errors=True)
        _install_locked(lock, "--target", str(unfinished))
        unfinished.rename(folder)
    return folder


def _wanted(*, for_tests: bool) -> dict[str, str]:
    """Return what the stamp has to say for an environment that fits."""
    description = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    # Only what shapes the installed project: a changed rule for the linter changes nothing here.
    shape = {
        "build-system": description["build-system"],
        "project": description["project"],
        "hatch": description["tool"]["hatch"],
    }
    wanted = {
        "place": str(FOLDER),
        "python": f"{sys.implementation.cache_tag} {platform.machine()}",
        "project": _digest(json.dumps(shape, sort_keys=True).encode()),
        SETUP_LOCK: _digest((ROOT / SETUP_LOCK).read_bytes()),
        RUN_LOCK: _digest((ROOT / RUN_LOCK).read_bytes()),
    }
    if for_tests:
        wanted[TEST_LOCK] = _digest((ROOT / TEST_LOCK).read_bytes())
    return wanted


def _found() -> dict[str, str]:
    """Return what the environment's stamp says; empty if it has none or cannot be used."""
    if not program("python").exists():
        return {}
    try:
        found = json.loads((FOLDER / _STAMP).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return found if isinstance(found, dict) else {}


def _digest(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def _make() -> None:
    print("Making the Python environment (.venv); the first time this takes a minute.", flush=True)
    _run(
        [python.underlying(), "-m", "venv", "--clear", str(FOLDER)],
        "The Python environment could not be made in .venv",
    )
    _install_locked(SETUP_LOCK)
    _install_locked(RUN_LOCK)


def _install_locked(lock: str, *options: str) -> None:
    """Install what a lock names, each package checked against its checksums there."""
    # What is published ready-made is taken ready-made: nothing of it runs while it is installed.
    # The few others are built with the locked tools, never with tools fetched on the way.
    source_only = ",".join(SOURCE_ONLY)
    builds = ["--only-binary", ":all:", "--no-binary", source_only, "--no-build-isolation"]
    _pip(
        ["--require-hashes", "--no-deps", "--use-pep517", *builds, *options, "-r", lock],
        f"The Python packages of {lock} could not be installed; is there a network?",
    )


def _install_project() -> None:
    _pip(
        ["--no-index", "--no-build-isolation", "--no-deps", "--editable", "."],
        "Walesong itself could not be installed into .venv",
    )


def _pip(arguments: list[str], sentence: str) -> None:
    python = str(program("python"))
    quiet = ["--quiet", "--no-input", "--disable-pip-version-check", "--progress-bar", "off"]
    _run([python, "-m", "pip", "install", *quiet, *arguments], sentence)


def _run(command: list[str], sentence: str) -> None:
    """Run a command with its output in the log; on failure raise Trouble with the sentence."""
    # An active environment or a user's own search path must not leak into the new one.
    outside = {"PYTHONHOME", "PYTHONPATH", "VIRTUAL_ENV", "PIP_TARGET", "PIP_PREFIX", "PIP_USER"}
    environment = {key: value for key, value in os.environ.items() if key not in outside}
    with LOG.open("ab") as log:
        done = subprocess.run(
            command,
            cwd=ROOT,
            env=environment,
            stdin=subprocess.DEVNULL,
            stdout=log,
            stderr=log,
            close_fds=False,  # it holds the lock with us, also when we are killed
            check=False,
        )
    if done.returncode != 0:
        raise Trouble(f"{sentence} (Details are in {LOG.name}; then run again.)")
