"""
What the program asks of a telephone: time to start, share of a core, wake-ups, memory, writing.

The real program runs on one pinned core with its window drawn off screen, its journal new and a
made-up microphone in real time: first a quiet room, then people who talk without a pause. What it
costs is the processor's time of all its threads, so that a busy machine measures the same; on a
telephone's one core that is the time that passes. All of it is multiplied by FACTOR. Run from the
checkout:

    python bench/phone_bench.py [--seconds 30]

The factor: from memory, not looked up, single-core scores of telephones of the middle class (about
450 to 950) against those of server cores of these years (about 1,500 to 1,900) give 2 to 4; 4 is
the cautious end. Two things count against us here and not on a telephone: the window is drawn by
the processor, and Python is a build for another one.
"""

from __future__ import annotations

import argparse
import json
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

ROOT: Final = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

if TYPE_CHECKING:
    from collections.abc import Iterator

FACTOR: Final = 4.0
TARGETS: Final = {"listening": 5.0, "share": 0.25, "memory": 260.0}
"""Seconds from start to listening, share of the core while listening, MB of memory."""
EVENING: Final = ("row done",) * 150 + ("what comes next",) * 30 + ("how far left",) * 20
"""What is said in an evening of three hours at a row in a little more than a minute."""


# --- what is measured: a process of its own ------------------------------------------------------


def resident() -> dict[str, float]:
    """Return the memory of this process in MB: all of it, and what no other process shares."""
    lines = Path("/proc/self/smaps_rollup").read_text(encoding="ascii").splitlines()[1:]
    sizes = {line.split(":")[0]: int(line.split()[1]) / 1024 for line in lines}
    return {"rss": sizes["Rss"], "own": sizes["Private_Clean"] + sizes["Private_Dirty"]}


def switches() -> int:
    """Return how often the threads of this process have gone to sleep, and so were woken."""
    count = 0
    for status in Path("/proc/self/task").glob("*/status"):
        for line in status.read_text(encoding="ascii").splitlines():
            if line.startswith("voluntary_ctxt_switches"):
                count += int(line.split()[1])
    return count


def written() -> int:
    """Return how many bytes this process has handed to the system to be written."""
    lines = Path("/proc/self/io").read_text(encoding="ascii").splitlines()
    return next(int(line.split()[1]) for line in lines if line.startswith("wchar"))


def tell(what: str, **values: float) -> None:
    """Print a measurement for the parent."""
    print(json.dumps({"what": what, "cpu": time.process_time(), **values}), flush=True)


def room(seconds: float) -> Iterator[Any]:
    """Yield the sound of a quiet room, then that of people who talk without a pause."""
    import numpy as np  # noqa: PLC0415 (is measured too)

    from app import resources  # noqa: PLC0415
    from speech.hearing.sound import RATE, for_the_model, read_wav  # noqa: PLC0415

    dice = np.random.default_rng(7)
    yield dice.normal(0.0, 0.0006, round(seconds * RATE)).astype(np.float32)
    practice = for_the_model(read_wav(resources.data("assets/practice/mug-sleeve.wav")))
    frame = RATE // 50
    whole = practice[: len(practice) // frame * frame].reshape(-1, frame)
    loud = whole[np.sqrt((whole**2).mean(axis=1)) > 0.003].reshape(-1)
    yield np.tile(loud, 2 + round(seconds * RATE / len(loud)))[: round((seconds + 30) * RATE)]


def child(seconds: float, journal: Path) -> None:
    """Run the program and measure it from within."""
    tell("python", **resident())
    import threading  # noqa: PLC0415

    from app import windowed  # noqa: PLC0415
    from app.wiring import hearing  # noqa: PLC0415
    from speech.hearing import microphone, sources  # noqa: PLC0415
    from speech.hearing.events import Ready  # noqa: PLC0415

    ready = threading.Event()

    class Room(sources.RecordingSource):
        def __init__(self) -> None:
            super().__init__(iter(()), paced=True)
            self.hears_room = True

        def open(self) -> None:
            super().__init__(room(seconds), paced=True)
            super().open()

    def heard(ears: Any, event: Any, before: Any = hearing.Ears._heard) -> None:  # noqa: ANN401, SLF001
        before(ears, event)
        if isinstance(event, Ready):
            tell("listening", **resident())
            ready.set()

    setattr(microphone, "microphone", Room)  # noqa: B010 (a source in the place of a device)
    setattr(hearing.Ears, "_heard", heard)  # noqa: B010
    begin = windowed.Behind.begin

    def opened(behind: windowed.Behind) -> None:
        tell("first frame", **resident())
        begin(behind)

    setattr(windowed.Behind, "begin", opened)  # noqa: B010

    def watch() -> None:
        from kivy.app import App  # noqa: PLC0415
        from kivy.clock import Clock  # noqa: PLC0415

        ready.wait()
        time.sleep(2.0)
        for what in ("quiet", "talk"):
            cpu, woken, began = time.process_time(), switches(), time.monotonic()
            time.sleep(seconds - 3.0)
            passed = time.monotonic() - began
            share = (time.process_time() - cpu) / passed
            tell(what, share=share, wakes=(switches() - woken) / passed, **resident())
            time.sleep(3.0)
        Clock.schedule_once(lambda _: App.get_running_app().stop(), 0)

    threading.Thread(target=watch, daemon=True).start()
    options = argparse.Namespace(
        journal=journal, model=None, practice=False, fast=False, silent=True, picture=None
    )
    windowed.knit_in_window(options)


def bare() -> None:
    """Open a window that says one word, drawn as ours is, and tell what that costs."""
    from kivy.app import App  # noqa: PLC0415
    from kivy.core.window import Window  # noqa: PLC0415
    from kivy.uix.label import Label  # noqa: PLC0415

    class Bare(App):  # type: ignore[misc]
        def build(self) -> Label:
            Window.bind(on_flip=self.shown)
            return Label(text="row")

        def shown(self, *_: object) -> None:
            tell("bare", **resident())
            self.stop()

    Bare().run()


def evening(journal: Path) -> None:
    """Say what is said in an evening, and tell what was written for it."""
    from app.wiring import composition  # noqa: PLC0415

    helper = composition.assistant(
        journal, None, lambda _: None, composition.silence("").voice, fresh=False
    )
    helper.start()
    helper.ready()
    before, cpu = written(), time.process_time()
    for words in EVENING:
        helper.typed_and_answered(words)
    tell("evening", bytes=written() - before, spent=time.process_time() - cpu)
    helper.stop()


def decoder() -> None:
    """Load the recogniser alone, and tell its memory."""
    import numpy as np  # noqa: F401, PLC0415

    tell("numpy", **resident())
    from app.wiring.hearing import acceptance  # noqa: PLC0415

    listens = acceptance(None)
    tell("recogniser", **resident())
    del listens


# --- the parent ----------------------------------------------------------------------------------


def measured(*arguments: str) -> dict[str, dict[str, float]]:
    """Run a child on one core and return what it told."""
    core = min(os.sched_getaffinity(0))
    with tempfile.TemporaryDirectory() as home:
        environment = {
            **os.environ,
            "XDG_DATA_HOME": home,
            "KIVY_HOME": home,
            "SDL_VIDEODRIVER": "offscreen",
            "KIVY_NO_ARGS": "1",
            "DISPLAY": "",
        }
        done = subprocess.run(
            [sys.executable, __file__, *arguments, "--journal", str(Path(home, "j.walesong"))],
            env=environment,
            stdout=subprocess.PIPE,
            text=True,
            check=True,
            preexec_fn=lambda: os.sched_setaffinity(0, {core}),
        )
    told = [json.loads(line) for line in done.stdout.splitlines() if line.startswith("{")]
    return {one.pop("what"): one for one in told}


def line(what: str, value: float, unit: str, target: float | None = None) -> None:
    """Print one line of the table."""
    wanted = ""
    if target is not None:
        wanted = f"  target {target:g}: {'kept' if value <= target else 'MISSED'}"
    print(f"{what:<44}{value:>10.2f} {unit}{wanted}")


def main() -> int:
    """Measure, and print a table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=30.0, help="of quiet, and of talk")
    parser.add_argument("--child", choices=("window", "bare", "evening", "decoder"))
    parser.add_argument("--journal", type=Path)
    options = parser.parse_args()
    match options.child:
        case "window":
            child(options.seconds, options.journal)
            return 0
        case "bare":
            bare()
            return 0
        case "evening":
            evening(options.journal)
            return 0
        case "decoder":
            decoder()
            return 0
    window = measured("--child", "window", "--seconds", str(options.seconds))
    alone, said = measured("--child", "decoder"), measured("--child", "evening")
    empty = measured("--child", "bare")["bare"]
    print(f"On one core, everything times {FACTOR:g}:")
    line("start to first frame", FACTOR * window["first frame"]["cpu"], "s")
    line("  of it, an empty window of the toolkit", FACTOR * empty["cpu"], "s")
    listening = FACTOR * window["listening"]["cpu"]
    line("start to listening", listening, "s", TARGETS["listening"])
    for what in ("quiet", "talk"):
        line(f"share of the core, {what}", FACTOR * window[what]["share"], "", TARGETS["share"])
        line(f"wake-ups a second, {what}", window[what]["wakes"], "")
    line("an evening's work beside the hearing", FACTOR * said["evening"]["spent"], "s")
    line("written in an evening", said["evening"]["bytes"] / 1e6, "MB")
    print("Memory (MB that stay in it; in brackets what no other process shares):")
    for what, sizes in (
        ("Python alone", window["python"]),
        ("(an empty window of the toolkit)", empty),
        ("with the window", window["first frame"]),
        ("with all, as it begins to listen", window["listening"]),
        ("with all, after talk", window["talk"]),
        ("(numpy in a process of its own)", alone["numpy"]),
        ("(numpy and recogniser, so)", alone["recogniser"]),
    ):
        print(f"  {what:<42}{sizes['rss']:>10.0f} ({sizes['own']:.0f})")
    line("memory after talk", window["talk"]["rss"], "MB", TARGETS["memory"])
    return 0


if __name__ == "__main__":
    sys.exit(main())
