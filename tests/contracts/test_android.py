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


@pytest.mark.skipif(
    shutil.which("javac") is None, reason="no Java compiler (Debian: default-jdk-headless)"
)
def test_on_java(tmp_path: Path) -> None:
    """Voice, tones and microphone pass their contracts against a double of Android's classes."""
    sources = [str(source) for source in DOUBLE.rglob("*.java")]
    subprocess.run(("javac", "-Xlint:-options", "-d", str(tmp_path), *sources), check=True)
    # Java uses the signals that faulthandler would take for a crash.
    run = subprocess.run(
        (
            sys.executable, "-m", "pytest", "-q", "-p", "no:faulthandler", "-p", "no:cacheprovider",
            str(Path(__file__).with_name("on_java.py")),
        ),
        env={**os.environ, "CLASSPATH": str(tmp_path)},
        cwd=DOUBLE.parents[1],
        capture_output=True,
        text=True,
        check=False,
        timeout=500,
    )  # fmt: skip
    assert run.returncode == 0, run.stdout + run.stderr
    assert re.search(r"\b\d\d passed", run.stdout), run.stdout
    assert "skipped" not in run.stdout
