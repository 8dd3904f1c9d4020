"""The adapters for Android keep their promises, on the Java of this machine."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

DOUBLE = Path(__file__).parents[1] / "android_double"


pytestmark = pytest.mark.skipif(
    shutil.which("javac") is None, reason="no Java compiler (Debian: default-jdk-headless)"
)


def run_on_java(name: str, compiled: Path) -> str:
    """Run a file of tests on the double, in a process of its own; return what pytest printed."""
    sources = [str(source) for source in DOUBLE.rglob("*.java")]
    subprocess.run(("javac", "-Xlint:-options", "-d", str(compiled), *sources), check=True)
    # Java uses the signals that faulthandler would take for a crash.
    run = subprocess.run(
        (
            sys.executable, "-m", "pytest", "-q", "-p", "no:faulthandler", "-p", "no:cacheprovider",
            str(Path(__file__).with_name(name)),
        ),
        env={**os.environ, "CLASSPATH": str(compiled)},
        cwd=DOUBLE.parents[1],
        capture_output=True,
        text=True,
        check=False,
        timeout=500,
    )  # fmt: skip
    assert run.returncode == 0, run.stdout + run.stderr
    assert "skipped" not in run.stdout
    return run.stdout


def test_on_java(tmp_path: Path) -> None:
    """Voice, tones and microphone pass their contracts against a double of Android's classes."""
    assert re.search(r"\b\d\d passed", run_on_java("on_java.py", tmp_path))


@pytest.mark.model
def test_life_on_java(tmp_path: Path) -> None:
    """A whole session of the real program is paused, killed, robbed and called at every step."""
    assert "1 passed" in run_on_java("life_on_java.py", tmp_path)
