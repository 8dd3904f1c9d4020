"""house.system: what the operating system has to bring is found by using it."""

from __future__ import annotations

import os
import sys
from typing import TYPE_CHECKING

import pytest

from house import system
from house.system import Need

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.skipif(
    not sys.platform.startswith("linux"), reason="other systems bring what is needed"
)

_NO_LIBRARY = Need("library", "libwalesong-is-none.so.7", "libnone7", "does nothing")
_NO_PROGRAM = Need("program", "walesong-is-none", "none", "does nothing")


@pytest.fixture
def apt_get(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    """Make a stand-in for apt-get the only one; return the file where it notes its arguments.

    Its ``install`` makes the program ``walesong-is-none``; its ``update`` fails.
    """
    notes, made = tmp_path / "notes", tmp_path / "walesong-is-none"
    program = tmp_path / "apt-get"
    program.write_text(
        f'#!/bin/sh\necho "$@" >> {notes}\ncase "$*" in *update*) exit 100;; esac\n'
        f"printf '#!/bin/sh\\n' > {made}; chmod +x {made}\n"
    )
    program.chmod(0o755)
    monkeypatch.setenv("PATH", f"{tmp_path}{os.pathsep}{os.environ['PATH']}")
    system.refresh_lists.cache_clear()
    return notes


def test_loads_a_library_that_is_there() -> None:
    """The C library can be loaded, so it counts as there."""
    assert system.is_there(Need("library", "libc.so.6", "libc6", "everything"))


@pytest.mark.parametrize("need", [_NO_LIBRARY, _NO_PROGRAM], ids=["library", "program"])
def test_misses_what_is_not_there(need: Need) -> None:
    """A library that cannot be loaded and a program that cannot be found are missing."""
    assert not system.is_there(need)


def test_root_installs_only_what_is_missing(apt_get: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """For root what is missing is installed, though refreshing the package lists failed."""
    monkeypatch.setattr(os, "geteuid", lambda: 0)
    system.provide([Need("library", "libc.so.6", "libc6", "everything"), _NO_PROGRAM])
    asked = apt_get.read_text().splitlines()
    assert len(asked) == 2
    assert asked[0].endswith("update")
    assert asked[1].endswith("install --yes --no-install-recommends none")
    assert system.is_there(_NO_PROGRAM)


def test_what_will_be_installed_is_said_before_it_is(
    apt_get: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Every package is named, with what it is for and how to go on without, first."""
    monkeypatch.setattr(os, "geteuid", lambda: 0)
    monkeypatch.setattr(system, "install", lambda _: sys.stdout.write("-- installing --\n"))
    system.provide([_NO_PROGRAM])
    before, _, _ = capsys.readouterr().out.partition("-- installing --")
    assert "To be installed: none (walesong-is-none: does nothing)." in before
    assert "--no-system-packages" in before
    assert not apt_get.exists()


def test_root_may_go_on_without(
    apt_get: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Told so, set-up installs nothing and goes on, with the line that adds what is missing."""
    monkeypatch.setattr(os, "geteuid", lambda: 0)
    system.provide([_NO_PROGRAM], may_install=False)
    assert not apt_get.exists()
    assert "Going on without walesong-is-none" in capsys.readouterr().out


def test_nothing_is_installed_when_nothing_is_missing(
    apt_get: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Where all is there, the package manager is not started and nothing is said."""
    monkeypatch.setattr(os, "geteuid", lambda: 0)
    system.provide([Need("library", "libc.so.6", "libc6", "everything")])
    assert not apt_get.exists()
    assert capsys.readouterr().out == ""


def test_what_cannot_be_installed_is_said_and_set_up_goes_on(
    apt_get: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """When installing does not help, a line says what is missing; that is no failure."""
    monkeypatch.setattr(os, "geteuid", lambda: 0)
    system.provide([_NO_LIBRARY])
    assert apt_get.exists()
    assert "Going on without libwalesong-is-none.so.7 (does nothing)" in capsys.readouterr().out


def test_others_are_told_the_one_line(
    apt_get: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A user who is not root is told what to run; nothing is installed and set-up goes on."""
    monkeypatch.setattr(os, "geteuid", lambda: 1000)
    system.provide([_NO_LIBRARY, _NO_PROGRAM])
    assert not apt_get.exists()
    line = "sudo apt-get install --no-install-recommends libnone7 none"
    assert line in capsys.readouterr().out
