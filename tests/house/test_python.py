"""house.python: which Python is taken, and what is said when none fits."""

from __future__ import annotations

import json
import os
import shutil
import sys
from typing import TYPE_CHECKING

import pytest

from house import python, system
from house.trouble import Trouble

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="needs small shell programs")


class Machine:
    """A PATH with stand-ins for Pythons that this machine need not have."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def add(self, name: str, minor: int, *, has_pip: bool = True) -> str:
        """Add a Python 3.minor; return its path."""
        path = self.folder / name
        answer = json.dumps([str(path), 3, minor, has_pip])
        path.write_text(f"#!/bin/sh\necho '{answer}'\n")
        path.chmod(0o755)
        return str(path)

    def add_broken(self, name: str) -> None:
        """Add a program that is called like a Python but says only nonsense."""
        path = self.folder / name
        path.write_text("#!/bin/sh\necho command not found; exit 127\n")
        path.chmod(0o755)


@pytest.fixture
def machine(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Machine:
    """Return a machine whose running Python is too new, whose user may not install anything."""
    machine = Machine(tmp_path)
    monkeypatch.setenv("PATH", f"{tmp_path}{os.pathsep}{os.defpath}")
    monkeypatch.setattr(sys, "executable", machine.add("running", 14))
    monkeypatch.setattr(system, "can_install", lambda: False)
    # The real Pythons of this machine are out of sight.
    monkeypatch.setattr(shutil, "which", lambda name: _inside(tmp_path, name))
    return machine


def _inside(folder: Path, name: str) -> str | None:
    path = folder / name
    return str(path) if path.exists() else None


def test_takes_the_running_python_if_it_fits() -> None:
    """The Python that runs these tests fits, so it is taken as it is."""
    assert python.find() == python.underlying()


def test_takes_the_newest_that_fits(machine: Machine) -> None:
    """Of several fitting ones the newest is taken; older and newer ones are passed over."""
    machine.add("python3.9", 9)
    machine.add("python3.11", 11)
    newest = machine.add("python3.12", 12)
    machine.add("python3", 14)
    assert python.find() == newest


def test_passes_over_what_only_looks_like_a_python(machine: Machine) -> None:
    """A launcher that answers with nonsense is no reason to stop looking."""
    machine.add_broken("python3.13")
    fitting = machine.add("python3", 11)
    assert python.find() == fitting


def test_passes_over_one_without_ensurepip(machine: Machine) -> None:
    """A Python that cannot make an environment is used only if there is no better one."""
    machine.add("python3.13", 13, has_pip=False)
    fitting = machine.add("python3.11", 11)
    assert python.find() == fitting


def test_says_what_is_needed_when_nothing_fits(machine: Machine) -> None:
    """Without any fitting Python the one sentence names the versions that would do."""
    machine.add("python3.9", 9)
    with pytest.raises(Trouble, match=r"needs Python 3\.11, 3\.12 or 3\.13"):
        python.find()


def test_says_how_to_add_ensurepip(machine: Machine) -> None:
    """Where only ensurepip is missing, the sentence holds the line that installs it."""
    machine.add("python3.12", 12, has_pip=False)
    with pytest.raises(Trouble, match=r"lacks ensurepip.*python3\.12-venv"):
        python.find()


def test_root_gets_ensurepip_installed(machine: Machine, monkeypatch: pytest.MonkeyPatch) -> None:
    """For root the missing package is installed, and that very Python is taken then."""
    machine.add("python3.12", 12, has_pip=False)
    monkeypatch.setattr(system, "can_install", lambda: True)
    installed: list[str] = []

    def install(packages: list[str]) -> None:
        installed.extend(packages)
        machine.add("python3.12", 12)

    monkeypatch.setattr(system, "install", install)
    assert python.find() == str(machine.folder / "python3.12")
    assert installed == ["python3.12-venv"]
