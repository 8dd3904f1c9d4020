"""A machine without a display: one clear sentence, at once, and nothing runs on unseen."""

from __future__ import annotations

import subprocess
import sys

import pytest

from app.window.window import NO_DISPLAY

_OPEN = """
import queue
from app.window.desk import Hands, furnish
from app.window.window import NoDisplayError, run_window
try:
    run_window(furnish(Hands(), queue.SimpleQueue(), wording=lambda: None))
except NoDisplayError as error:
    print(error)
    raise SystemExit(3)
"""


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="other systems have a display")
@pytest.mark.parametrize("display", [None, ":4711"])
def test_without_a_display_there_is_a_sentence(
    product_environment: dict[str, str], display: str | None
) -> None:
    """Without DISPLAY, or with a stale one, the window says what to do and does not run on."""
    environment = {
        name: value
        for name, value in product_environment.items()
        if name not in {"DISPLAY", "WAYLAND_DISPLAY", "SDL_VIDEODRIVER"}
    }
    if display is not None:
        environment["DISPLAY"] = display
    done = subprocess.run(
        [sys.executable, "-c", _OPEN],
        env=environment,
        capture_output=True,
        text=True,
        timeout=300,
        check=False,
    )
    assert done.returncode == 3, done.stderr
    assert done.stdout.strip() == NO_DISPLAY
