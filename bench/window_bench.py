"""How soon the window is there and follows, and what it costs to leave it open.

The window is real, on a virtual X display (Xvfb), drawn in software; a window that only says hello
is measured in the same run beside it. Run from the checkout:

    python bench/window_bench.py [--starts 9]
"""

from __future__ import annotations

import argparse
import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from bench.window_children import LONG_ROWS, UPDATES

if TYPE_CHECKING:
    from collections.abc import Iterator

DISPLAY = ":87"
PATIENCE_S = 400.0


@contextmanager
def display() -> Iterator[None]:
    """Run a virtual X display."""
    server = subprocess.Popen(
        ["Xvfb", DISPLAY, "-screen", "0", "1400x1000x24"], stderr=subprocess.DEVNULL
    )
    try:
        time.sleep(1.5)
        yield
    finally:
        server.terminate()
        server.wait()


def child(what: str, *until: str, home: str) -> dict[str, tuple[float, list[float]]]:
    """Start a child; return by word when it was said, and the numbers said with it."""
    environment = dict(os.environ, DISPLAY=DISPLAY, XDG_DATA_HOME=home, HOME=home)
    environment["XDG_CACHE_HOME"] = os.environ.get(
        "XDG_CACHE_HOME", str(Path("~/.cache").expanduser())
    )
    said: dict[str, tuple[float, list[float]]] = {}
    start = time.perf_counter()
    process = subprocess.Popen(
        [sys.executable, str(Path(__file__).with_name("window_children.py")), what],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        env=environment,
        text=True,
    )
    limit = threading.Timer(PATIENCE_S, process.kill)
    limit.start()
    try:
        for line in process.stdout or ():
            word, *numbers = line.split() or [""]
            try:
                values = [float(number) for number in numbers]
            except ValueError:
                continue
            said[word] = (time.perf_counter() - start, values)
            if set(until) <= said.keys():
                break
        if not set(until) <= said.keys():
            sys.exit((process.stderr.read() if process.stderr else "")[-2000:])
    finally:
        limit.cancel()
        process.kill()
        process.wait()
    return said


def percentile(values: list[float], share: float) -> float:
    """Return the value below which so much of the values lies."""
    return sorted(values)[min(int(len(values) * share), len(values) - 1)]


def main() -> int:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--starts", type=int, default=9)
    parser.add_argument("--hour", action="store_true", help="replay an hour too (two minutes)")
    options = parser.parse_args()
    if shutil.which("Xvfb") is None:
        print("No Xvfb here (Debian: apt-get install xvfb): the window cannot be measured.")
        return 0
    with display(), tempfile.TemporaryDirectory() as home:
        starts: dict[str, list[float]] = {"hello": [], "frame": [], "piece": [], "listening": []}
        for _ in range(options.starts):  # in turn, so that a busy machine slows both
            starts["hello"].append(child("hello", "frame", home=home)["frame"][0])
            said = child("walesong", "frame", "piece", "listening", home=home)
            for word in ("frame", "piece", "listening"):
                starts[word].append(said[word][0])
        followed = child("following", "latency", "draw", home=home)
        long_story = child("story", "opened", "story", "lines", "earlier", home=home)
        replayed = child("hour", "hour", home=home) if options.hour else None
        quiet = child("resting:deaf", "cpu", "memory", home=home)
        listening = child("resting:listening", "cpu", "memory", home=home)
    middle = {word: statistics.median(values) for word, values in starts.items()}
    latency, draw = followed["latency"][1], followed["draw"][1]
    told, earlier = long_story["story"][1], long_story["earlier"][1]
    early, late = listening["memory"][1]
    lines = [
        ("process start to first frame, hello-world", f"{middle['hello']:.2f} s"),
        ("process start to first frame, Walesong", f"{middle['frame']:.2f} s"),
        ("  as a multiple of hello-world", f"{middle['frame'] / middle['hello']:.2f}"),
        ("process start to the piece on the board", f"{middle['piece']:.2f} s"),
        ("process start to listening", f"{middle['listening']:.2f} s"),
        ("heard result to changed pixels, p50", f"{percentile(latency, 0.5):.1f} ms"),
        ("heard result to changed pixels, p95", f"{percentile(latency, 0.95):.1f} ms"),
        ("drawing a frame of the board, p95", f"{percentile(draw, 0.95):.1f} ms"),
        (f"opening the story of {LONG_ROWS} rows", f"{long_story['opened'][1][0]:.0f} ms"),
        ("a frame while scrolling the story, p95", f"{percentile(told, 0.95):.1f} ms"),
        (
            f"  with {long_story['lines'][1][0]:.0f} lines written",
            f"{percentile(earlier, 0.95):.1f} ms",
        ),
        ("processor at rest, not listening", f"{quiet['cpu'][1][0]:.1f} %"),
        ("processor at rest, window of a listening", f"{listening['cpu'][1][0]:.1f} %"),
        (f"memory after {UPDATES // 5} and {UPDATES} changes", f"{early:.0f} and {late:.0f} MB"),
    ]
    if replayed is not None:
        at = replayed["hour"][1]
        spread = f"{at[0]:.0f}, {at[len(at) // 2]:.0f}, {at[-1]:.0f} MB"
        lines.append(("memory after 6, 36 and 60 minutes replayed", spread))
    for name, value in lines:
        print(f"  {name:<46}{value:>16}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
