"""The product as a process of its own, as a user starts it."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from app import resources

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from types import TracebackType

ROOT = Path(__file__).parent.parent
PRACTICE = resources.path("assets/practice/mug-sleeve.wav")
SCRIPT = resources.path("assets/practice/mug-sleeve.toml")


def command(*arguments: str | Path) -> list[str]:
    """Return the command that starts this checkout's `walesong` with arguments."""
    return [sys.executable, str(ROOT / "main.py"), *map(str, arguments)]


def bare(environment: Mapping[str, str]) -> dict[str, str]:
    """Return an environment without a display, a sound server or a language."""
    names = {"DISPLAY", "WAYLAND_DISPLAY", "XDG_RUNTIME_DIR", "PULSE_SERVER", "LANG", "LC_ALL"}
    kept = {name: value for name, value in environment.items() if name not in names}
    return {**kept, "PULSE_SERVER": "unix:/nowhere"}


def run(
    *arguments: str | Path,
    env: Mapping[str, str],
    typed: str | None = None,
    prefix: Sequence[str] = (),
) -> subprocess.CompletedProcess[str]:
    """Run it to its end; `typed` is what comes from the keyboard, `prefix` stands before it."""
    return subprocess.run(
        [*prefix, *command(*arguments)],
        env=dict(env),
        input=typed,
        stdin=subprocess.DEVNULL if typed is None else None,
        capture_output=True,
        text=True,
        encoding="utf-8",
        timeout=500,
        check=False,
    )


class Running(subprocess.Popen[str]):
    """The product while it runs; as a block, a test that fails inside does not wait for its end."""

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        traceback: TracebackType | None,
    ) -> None:
        """Wait for the end, which is now when something was raised."""
        if error is not None:
            self.kill()
        super().__exit__(kind, error, traceback)


def start(*arguments: str | Path, env: Mapping[str, str], **options: Any) -> Running:
    """Start it and return at once; its standard output and errors can be read."""
    return Running(
        command(*arguments),
        env=dict(env),
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        encoding="utf-8",
        **options,
    )


def lines(said: str) -> list[dict[str, Any]]:
    """Return the JSON objects that were printed, one a line; the last line may be cut off."""
    return [json.loads(line) for line in said[: said.rfind("\n") + 1].splitlines()]
