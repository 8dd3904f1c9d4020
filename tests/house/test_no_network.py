"""Nothing of the main job needs a connection, and nothing tries to make one.

The product runs as a process of its own with a guard that writes down and refuses every network
socket, and, where the system allows it, in a network that has nothing in it, not even itself.
"""

from __future__ import annotations

import subprocess
import sys
from typing import TYPE_CHECKING

import pytest

from tests.product import bare, run
from tests.sessions import script

if TYPE_CHECKING:
    from pathlib import Path

GUARD = """
import sys

def _refuse(event, arguments):
    named = event in {"socket.getaddrinfo", "socket.gethostbyname", "socket.gethostbyaddr"}
    local = event.startswith("socket.") and arguments and (
        getattr(arguments[0], "family", None) == 1  # AF_UNIX: sound servers and displays
    )
    moved = event in {"socket.connect", "socket.bind", "socket.sendto", "socket.sendmsg"}
    if named or (moved and not local):
        with open(ATTEMPTS, "a") as file:
            file.write(f"{event} {arguments[1:]}\\n")
        raise PermissionError("no network here")

sys.addaudithook(_refuse)
"""


@pytest.fixture
def attempts(tmp_path: Path) -> Path:
    """Return where the guard writes down what it refused; it begins to guard with `walled`."""
    return tmp_path / "attempts"


@pytest.fixture
def walled(product_environment: dict[str, str], tmp_path: Path, attempts: Path) -> dict[str, str]:
    """Return an environment whose every Python refuses the network and writes it down."""
    folder = tmp_path / "guard"
    folder.mkdir()
    guard = GUARD.replace("ATTEMPTS", repr(str(attempts)))
    (folder / "sitecustomize.py").write_text(guard, encoding="utf-8")
    return {**bare(product_environment), "PYTHONPATH": str(folder)}


def _cut_off() -> list[str]:
    """Return the command that gives another a network with nothing in it; [] where that fails."""
    prefix = ["unshare", "--user", "--map-root-user", "--net"]
    try:
        done = subprocess.run([*prefix, "true"], capture_output=True, check=False)
    except FileNotFoundError:
        return []
    return prefix if done.returncode == 0 else []


@pytest.mark.model
def test_the_main_job_without_a_network(
    walled: dict[str, str], attempts: Path, tmp_path: Path
) -> None:
    """The practice recording is heard, knitted, summed up and drawn as ever; nothing was tried."""
    arguments = ("--terminal", "--practice", "--fast", "--journal", tmp_path / "j.walesong")
    done = run(*arguments, env=walled, prefix=_cut_off())
    assert (done.returncode, done.stderr) == (0, "")
    knitters = sum(line.by_knitter for line in script())
    assert f"{knitters} commands understood, {len(script()) - knitters} utterances" in done.stdout
    assert (tmp_path / "practice-board.png").stat().st_size > 10_000
    assert not attempts.exists(), attempts.read_text()


def test_the_guard_would_notice(walled: dict[str, str], attempts: Path) -> None:
    """A process that does reach for the network is refused and written down."""
    code = "import urllib.request; urllib.request.urlopen('http://localhost:9/')"
    done = subprocess.run(
        [sys.executable, "-c", code], env=walled, capture_output=True, text=True, check=False
    )
    assert done.returncode != 0
    assert "no network here" in done.stderr
    assert "socket." in attempts.read_text()
