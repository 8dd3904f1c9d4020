"""A real PostgreSQL of a test's own: own data folder, a socket in the file system, no network."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import tempfile
import time
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Final

import pytest

from app import resources

if TYPE_CHECKING:
    from collections.abc import Iterator

INSTALL: Final = "sudo apt-get install --no-install-recommends postgresql"
"""The one line that brings it to Debian and its kin."""
_START_S: Final = 60.0


def programs() -> Path | None:
    """Return the folder of the newest PostgreSQL's programs; None where there is none."""
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"), key=_version)
    if found:
        return found[-1].parent
    on_path = shutil.which("initdb")
    return Path(on_path).resolve().parent if on_path else None


def _version(program: Path) -> int:
    name = program.parent.parent.name
    return int(name) if name.isdecimal() else 0


def missing() -> str:
    """Return what is missing to start one, with the line that brings it; "" if nothing is."""
    if programs() is None:
        return f"a real PostgreSQL: {INSTALL}"
    try:
        import psycopg  # noqa: F401, PLC0415 (whether its library is there shows here)
    except ImportError:
        return f"PostgreSQL's client library: {INSTALL}"
    return ""


class Server:
    """A PostgreSQL that can be killed and started again; the owner's role is `keeper`."""

    def __init__(self, folder: Path, *, synced: bool) -> None:
        """Make its data folder; `synced` false: for tests that prove nothing about disks."""
        found = programs()
        if found is None:
            raise RuntimeError(missing())
        self._programs, self._folder, self._synced = found, folder, synced
        # It refuses to run as root: then another user runs it.
        self._user: int | None = None
        if os.geteuid() == 0:
            self._user = int(
                subprocess.run(
                    ["id", "-u", "nobody"], capture_output=True, text=True, check=True
                ).stdout
            )
            os.chown(folder, self._user, -1)
        self._process: subprocess.Popen[bytes] | None = None
        subprocess.run(
            [
                *(found / "initdb", "-D", folder / "data", "-U", "keeper", "--auth=trust"),
                *("-E", "UTF8", "--locale=C", "--no-sync"),
            ],
            user=self._user,
            cwd=folder,
            stdout=subprocess.DEVNULL,
            check=True,
        )

    def address(self, user: str = "keeper", database: str = "postgres") -> str:
        """Return the address of a database for a role."""
        return f"host={self._folder} user={user} dbname={database}"

    def start(self) -> None:
        """Start it and wait until it answers."""
        with (self._folder / "log").open("ab") as log:
            self._process = subprocess.Popen(
                [
                    *(self._programs / "postgres", "-D", self._folder / "data"),
                    *("-k", self._folder, "-c", "listen_addresses=", "-c", "max_connections=150"),
                    *("-c", f"fsync={'on' if self._synced else 'off'}"),
                ],
                user=self._user,
                cwd=self._folder,
                stdout=log,
                stderr=log,
            )
        ask = self._programs / "pg_isready"
        ready: list[str | Path] = [ask, "-q", "-h", self._folder, "-d", "postgres"]
        ends = time.monotonic() + _START_S
        while subprocess.run(ready, check=False).returncode != 0:
            if self._process.poll() is not None or time.monotonic() > ends:
                raise RuntimeError((self._folder / "log").read_text()[-2000:])
            time.sleep(0.05)

    def kill(self) -> None:
        """Have it gone without a word, as when its power fails (its children go by themselves)."""
        self._end(signal.SIGQUIT)

    def stop(self) -> None:
        """Stop it in good order, whoever is connected."""
        self._end(signal.SIGINT)

    def _end(self, how: signal.Signals) -> None:
        if self._process is not None:
            self._process.send_signal(how)
            self._process.wait(_START_S)
            self._process = None


@contextmanager
def server(*, synced: bool = False) -> Iterator[Server]:
    """Give a running server, and take it and its data away at the end."""
    # A socket's name is at most some hundred letters long, so its folder has a short one.
    folder = Path(tempfile.mkdtemp(prefix="ws-"))
    folder.chmod(0o755)
    try:
        running = Server(folder, synced=synced)
        running.start()
        try:
            yield running
        finally:
            running.stop()
    finally:
        shutil.rmtree(folder, ignore_errors=True)


@contextmanager
def server_or_skip() -> Iterator[Server]:
    """Give a running server, or skip the test with the line that would bring one."""
    lacking = missing()
    if lacking:
        pytest.skip(lacking)
    with server() as running:
        yield running


def migrations() -> tuple[tuple[str, str], ...]:
    """Return the product's migrations."""
    return tuple(
        (one.name, one.read_text(encoding="utf-8"))
        for one in resources.files("shared/sharing", "*.sql")
    )
