"""From nothing to her own first row: the first frame, the touches and the seconds.

The window is real, on a virtual X display (Xvfb), drawn in software, each time with a home where
nobody has knitted; an empty Kivy window is measured in turn with it. Touches go the way that a
finger's do, each as soon as what it is meant for is drawn, so the seconds are the program's own:
what she takes to read comes on top. Run from the checkout:

    python bench/first_row_bench.py [--starts 5]
"""

# ruff: noqa: PLC0415 (a child imports what is measured, and nothing before it)

from __future__ import annotations

import argparse
import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from kivy.uix.widget import Widget

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

PATIENCE_S = 300.0
WORDS = ("frame", "first touch", "second touch", "row")
TARGET = "two touches, ten seconds"


def tell(word: str) -> None:
    """Print a word and the processor's seconds so far, of all threads of this process."""
    print(word, f"{time.process_time():.3f}", flush=True)


def empty() -> None:
    """Open a window with nothing in it."""
    from app.window.window import prepare_kivy

    prepare_kivy()
    from kivy.app import App
    from kivy.core.window import Window
    from kivy.uix.widget import Widget

    class Empty(App):  # type: ignore[misc]
        def build(self) -> Widget:
            return Widget()

    def flip(*_: object) -> None:
        tell("frame")
        App.get_running_app().stop()

    Window.bind(on_flip=flip)
    Empty().run()


def knit() -> None:
    """Start the command `walesong` and touch what leads to the first row that is done."""
    from app.window.window import prepare_kivy

    prepare_kivy()
    from kivy.core.window import Window

    told: set[str] = set()

    def once(word: str) -> bool:
        if word in told:
            return False
        told.add(word)
        tell(word)
        return True

    def flip(*_: object) -> None:
        from app.window.screens.stage import Stage

        stage: Any = Stage.get_running_app()
        once("frame")
        if stage.situation is None or stage.situation.opening:
            return
        page = stage.overlays[-1] if stage.overlays else None
        if "first touch" not in told:
            if page is not None and getattr(page, "welcomes", False) and once("first touch"):
                touch(page.ways["now"])
        elif page is None and "second touch" not in told:
            if (control := _named(stage.board, "Row done")) is not None and once("second touch"):
                touch(control)
        elif page is None and stage.board.view.number == "2" and once("row"):
            stage.stop()

    Window.bind(on_flip=flip)
    from app.command_line import main

    sys.exit(main(["--silent"]))


def _named(board: Widget, title: str) -> Widget | None:
    """Return the control of that name, once it is drawn where a finger can find it."""
    for widget in board.walk():
        if getattr(widget, "title", "") == title and min(widget.size) > 1:
            return widget
    return None


def touch(widget: Widget) -> None:
    """Touch the middle of a control, as the window hands a finger's touch on."""
    from kivy.base import EventLoop
    from kivy.clock import Clock
    from kivy.core.window import Window
    from kivy.input.motionevent import MotionEvent

    class Finger(MotionEvent):  # type: ignore[misc]
        def depack(self, args: tuple[float, float]) -> None:
            self.is_touch = True
            self.type_id = "touch"
            self.sx, self.sy = args
            self.profile = ["pos"]
            super().depack(args)

    x, y = widget.to_window(*widget.center)
    finger = Finger("bench", 1, (x / Window.width, y / Window.height))

    def act(_: float) -> None:
        EventLoop.post_dispatch_input("begin", finger)
        Clock.schedule_once(lambda _: EventLoop.post_dispatch_input("end", finger), 0.05)

    Clock.schedule_once(act, 0)


def child(what: str, display: str, last: str) -> dict[str, tuple[float, float]]:
    """Run a child with a home of its own; return by word seconds and processor's seconds."""
    with tempfile.TemporaryDirectory() as home:
        environment = dict(os.environ, DISPLAY=display, XDG_DATA_HOME=home, HOME=home)
        environment["XDG_CACHE_HOME"] = os.environ.get(
            "XDG_CACHE_HOME", str(Path("~/.cache").expanduser())
        )
        begun = time.perf_counter()
        process = subprocess.Popen(
            [sys.executable, __file__, "--child", what],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            env=environment,
            cwd=ROOT,
            text=True,
        )
        said: dict[str, tuple[float, float]] = {}
        try:
            for line in process.stdout or ():
                word, _, number = line.strip().rpartition(" ")
                if word in WORDS:
                    said[word] = time.perf_counter() - begun, float(number)
                if last in said or time.perf_counter() - begun > PATIENCE_S:
                    break
            if last not in said:
                process.kill()
                sys.exit((process.stderr.read() if process.stderr else "")[-2000:])
        finally:
            process.kill()
            process.wait()
    return said


def main() -> int:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--starts", type=int, default=5)
    parser.add_argument("--child", choices=["empty", "knit"], help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.child:
        {"empty": empty, "knit": knit}[options.child]()
        return 0
    if shutil.which("Xvfb") is None:
        print("No Xvfb here (Debian: apt-get install xvfb): the window cannot be measured.")
        return 0
    from bench.window_bench import DISPLAY, display

    bare, knitted = [], []
    with display():
        for _ in range(options.starts):  # in turn, so that a busy machine slows both
            bare.append(child("empty", DISPLAY, "frame"))
            knitted.append(child("knit", DISPLAY, "row"))

    def middle(said: list[dict[str, tuple[float, float]]], word: str) -> str:
        wall, busy = (statistics.median(one[word][at] for one in said) for at in (0, 1))
        return f"{wall:8.2f} s{busy:8.2f} s"

    touches = {sum("touch" in word for word in one) for one in knitted}
    print(f"  {'from process start, median of ' + str(options.starts):<44}{'wall':>10}{'busy':>10}")
    print(f"  {'first frame, an empty window':<44}{middle(bare, 'frame')}")
    print(f"  {'first frame, Walesong':<44}{middle(knitted, 'frame')}")
    print(f"  {'first touch can be made (knit now)':<44}{middle(knitted, 'first touch')}")
    print(f"  {'second touch can be made (row done)':<44}{middle(knitted, 'second touch')}")
    print(f"  {'her first row is counted and shown':<44}{middle(knitted, 'row')}")
    print(f"  touches {', '.join(map(str, sorted(touches)))}; target {TARGET}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
