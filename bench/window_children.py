"""One window each, measured from inside: what `window_bench.py` starts as processes of their own.

Every one prints a word and numbers when it has got so far.
"""

# ruff: noqa: PLC0415 (each child imports what is measured, and nothing before it)

from __future__ import annotations

import os
import sys
import threading
import time
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

import psutil

if TYPE_CHECKING:
    from tests.app.at_the_needle import Needle

ROOT = Path(__file__).resolve().parent.parent
UPDATES = 3000
IDLE_S = 8.0
LONG_ROWS = 2000
STORY_FRAMES = 150
EARLIER = 10
"""So often "Earlier" is touched on the story before it is scrolled through again."""


def hello() -> None:
    """Open a window that says hello, and tell when its first frame is on the screen."""
    os.environ.update(
        KIVY_NO_ARGS="1",
        KIVY_NO_CONFIG="1",
        KIVY_NO_FILELOG="1",
        KIVY_NO_CONSOLELOG="1",
        KIVY_LOG_MODE="PYTHON",
        KIVY_WINDOW="sdl2",
        SDL_VIDEODRIVER="x11",
    )
    from kivy.app import App
    from kivy.core.window import Window
    from kivy.uix.label import Label

    class Hello(App):  # type: ignore[misc]
        def build(self) -> Label:
            return Label(text="Hello")

    Window.bind(on_flip=lambda *_: _say_and_stop("frame"))
    Hello().run()


def walesong() -> None:
    """Start the command `walesong`, and tell when its first frame and its listening are there."""
    from app.window.window import prepare_kivy

    prepare_kivy()
    from kivy.core.window import Window

    told: set[str] = set()

    def flip(*_: object) -> None:
        from app.window.screens.stage import Stage

        stage = Stage.get_running_app()
        if "frame" not in told:
            told.add("frame")
            print("frame", flush=True)
        if stage.situation is not None and "piece" not in told:
            told.add("piece")
            print("piece", flush=True)
        if stage.situation is not None and stage.situation.ear in {"listening", "hearing"}:
            _say_and_stop("listening")

    Window.bind(on_flip=flip)
    from app.command_line import main

    sys.exit(main(["--silent"]))


def _say_and_stop(word: str) -> None:
    from kivy.app import App

    print(word, flush=True)
    App.get_running_app().stop()


def following() -> None:  # noqa: PLR0915 (one script of a child)
    """Hand situations to an open board from another thread; tell how soon their pixels changed."""
    import queue

    from app.window.desk import Hands, furnish
    from app.window.window import prepare_kivy
    from tests.app.at_the_needle import Needle

    prepare_kivy()
    from kivy.core.window import Window
    from kivy.graphics.opengl import GL_RGBA, GL_UNSIGNED_BYTE, glReadPixels

    from app import wording
    from app.window.screens.stage import Stage

    needle = Needle("bottle-sleeve")
    inbox: queue.SimpleQueue[object] = queue.SimpleQueue()
    opened = threading.Event()
    desk = furnish(
        Hands(opened=opened.set),
        inbox,  # type: ignore[arg-type]
        wording=wording.reply_wording,
    )
    inbox.put(needle.situation())
    rows = [needle.say("row done").situation() for _ in range(60)]
    changed = threading.Event()
    frames: list[float] = []
    state: dict[str, bytes] = {}

    def look(*_: object) -> None:
        numeral = stage.board.ids.numeral  # type: ignore[union-attr]
        x, y = (int(edge) for edge in numeral.to_window(*numeral.pos))
        box = (x, y, int(numeral.width), int(numeral.height))
        if min(box[2:]) < 1:
            return  # the board has not been laid out yet
        pixels = glReadPixels(*box, GL_RGBA, GL_UNSIGNED_BYTE)
        if pixels != state.get("pixels"):
            state["pixels"] = pixels
            changed.set()

    def begin(*_: object) -> None:
        frames.append(-time.perf_counter())

    def end(*_: object) -> None:
        frames[-1] += time.perf_counter()

    def feed() -> None:
        opened.wait()
        time.sleep(1)
        latencies = []
        for at, situation in enumerate(rows):
            time.sleep(0.11 + 0.007 * (at % 9))  # at every phase of the frames
            changed.clear()
            start = time.perf_counter()
            inbox.put(situation)
            if not changed.wait(2):
                print("never", flush=True)
            latencies.append((time.perf_counter() - start) * 1000)
        print("latency", *(f"{one:.2f}" for one in latencies), flush=True)
        stage.stop()

    stage = Stage(desk)
    draw = Window.on_draw

    def drawn() -> None:
        begin()
        draw()
        end()

    Window.on_draw = drawn
    # After drawing, before the picture is handed to the screen: what is read is what is shown.
    flip = Window.flip

    def flipped() -> None:
        look()
        flip()

    Window.flip = flipped
    threading.Thread(target=feed, daemon=True).start()
    stage.run()
    print("draw", *(f"{one * 1000:.2f}" for one in frames if one > 0), flush=True)


def resting(level: str) -> None:
    """Leave a board open, with or without the level of a microphone; tell the processor's time."""
    import queue
    from dataclasses import replace

    from app.session.situation import Ear
    from app.window.desk import Hands, furnish
    from app.window.window import prepare_kivy
    from tests.app.at_the_needle import Needle

    prepare_kivy()
    from app import wording
    from app.window.screens.stage import Stage

    needle = Needle("bottle-sleeve").say("30 rows done")
    inbox: queue.SimpleQueue[object] = queue.SimpleQueue()
    opened = threading.Event()
    desk = furnish(
        Hands(opened=opened.set),
        inbox,  # type: ignore[arg-type]
        wording=wording.reply_wording,
    )
    now = needle.situation(ear=Ear.LISTENING if level == "listening" else Ear.DEAF)
    inbox.put(now)
    me = psutil.Process()

    def watch() -> None:
        opened.wait()
        time.sleep(2)
        used, start = _cpu(me), time.perf_counter()
        step = 0
        while time.perf_counter() - start < IDLE_S:
            time.sleep(0.1)
            step += 1
            if level == "listening":
                # A quiet room, and somebody who speaks for one second in eight.
                spoken = step % 80 < 10
                loud = 0.2 + step * 7 % 5 / 10 if spoken else 0.1 + step * 7 % 5 / 100
                inbox.put(replace(now, level=loud))
        share = (_cpu(me) - used) / (time.perf_counter() - start)
        print(f"cpu {share * 100:.2f}", flush=True)
        first = 0.0
        if level == "listening":
            for at in range(UPDATES):
                inbox.put(replace(now, level=(at % 11) / 10, state=replace(now.state, bit=at % 3)))
                time.sleep(0.004)
                if at == UPDATES // 5:
                    first = me.memory_info().rss / 1e6
        print(f"memory {first:.1f} {me.memory_info().rss / 1e6:.1f}", flush=True)
        stage.stop()

    stage = Stage(desk)
    threading.Thread(target=watch, daemon=True).start()
    stage.run()


def hour() -> None:
    """Replay an hour of knitting, many times faster: ten levels a second, a row every 15 s."""
    import queue
    from dataclasses import replace

    from app.session.situation import Ear
    from app.window.desk import Hands, furnish
    from app.window.window import prepare_kivy
    from tests.app.at_the_needle import Needle

    prepare_kivy()
    from kivy.clock import Clock

    from app import wording
    from app.window.screens.stage import Stage
    from engine.talk import Screen

    inbox: queue.SimpleQueue[object] = queue.SimpleQueue()
    opened = threading.Event()
    desk = furnish(
        Hands(opened=opened.set),
        inbox,  # type: ignore[arg-type]
        wording=wording.reply_wording,
    )
    me = psutil.Process()

    def knit() -> None:
        needle = Needle(LONG)  # its journal belongs to this thread
        opened.wait()
        told = []
        turn = 0
        for second in range(3600):
            if second % 15 == 0:
                needle.say("row done")
            if second % 300 == 0:  # now and then she looks at another screen, and goes back
                turn += 1
            now = needle.situation(ear=Ear.LISTENING)
            shown = replace(now.shown, turn=turn, screen=Screen.STORY if turn % 2 else Screen.BOARD)
            for tenth in range(10):
                loud = 0.1 + (second * 7 + tenth) % 5 / (10 if second % 8 == 0 else 100)
                inbox.put(replace(now, level=loud, shown=shown))
                time.sleep(0.0033)
            if second % 360 == 359:
                told.append(me.memory_info().rss / 1e6)
        print("hour", *(f"{one:.1f}" for one in told), flush=True)
        Clock.schedule_once(lambda _: stage.stop())  # only its own thread may close it

    stage = Stage(desk)
    threading.Thread(target=knit, daemon=True).start()
    stage.run()


LONG = """
title = "Long scarf"
id = "scarf"
cast_on = 40
[[section]]
id = "body"
title = "Body"
rows = [
  "Row 1 (RS): k to end",
  "Row 2 (WS): p to end",
  "Rep rows 1 and 2 until piece measures 760 cm",
]
"""


def a_long_history() -> Needle:
    """Knit 2,000 rows with 10,000 events: rows, how they felt, counts, notes, measurements."""
    from engine.commands import CountStitches, Feel, HandFelt, Measure, NoteRow, RowsDone
    from engine.quantities import Length, LengthUnit
    from engine.talk import Yes
    from tests.app.at_the_needle import Needle

    needle = Needle(LONG).say("swatch has 20 stitches rested", "swatch has 27 rows rested")
    for row in range(1, LONG_ROWS + 1):
        for said in (
            RowsDone(),
            HandFelt(list(Feel)[row % 3]),
            NoteRow(None, f"the {row}th row of a long evening"),
            CountStitches(40),
            NoteRow(None, "by the stove"),
        ):
            needle.hear((said,))
        if row % 100 == 0:
            needle.hear((Measure(Length(Fraction(row * 37, 100), LengthUnit.CM)),))
            if needle.talk.question is not None:
                needle.hear((Yes(),))
    return needle


def story() -> None:
    """Open the story of a long piece and scroll through it; tell how long each frame took."""
    import queue

    from app.window.desk import Hands, furnish
    from app.window.window import prepare_kivy

    prepare_kivy()
    from kivy.base import EventLoop
    from kivy.clock import Clock

    from app import wording
    from app.window.screens.stage import Stage
    from engine.talk import Screen

    needle = a_long_history()
    inbox: queue.SimpleQueue[object] = queue.SimpleQueue()
    inbox.put(needle.situation(stamps=needle.talk.stamps()[-80:]))
    desk = furnish(Hands(), inbox, wording=wording.reply_wording)  # type: ignore[arg-type]
    stage = Stage(desk)
    Clock._max_fps = 0  # noqa: SLF001 (as fast as it can: what is left of a frame is not measured)
    frames: list[float] = []
    idle = EventLoop.idle

    def timed() -> None:
        start = time.perf_counter()
        idle()
        frames.append(time.perf_counter() - start)

    EventLoop.idle = timed

    def scrolled(name: str, then: object) -> None:
        page = stage.overlays[-1]
        frames.clear()
        step = {"at": 0}

        def on(_: float) -> bool:
            step["at"] += 1
            page.scroll.scroll_y = 1 - step["at"] / STORY_FRAMES
            if step["at"] < STORY_FRAMES:
                return True
            print(name, *(f"{one * 1000:.2f}" for one in frames[5:]), flush=True)
            then()  # type: ignore[operator]
            return False

        Clock.schedule_interval(on, 0)

    def begin(_: float) -> None:
        start = time.perf_counter()
        stage.places.go_to(Screen.STORY)
        print(f"opened {(time.perf_counter() - start) * 1000:.1f}", flush=True)
        Clock.schedule_once(lambda _: scrolled("story", more), 0.5)

    def more() -> None:
        page = stage.overlays[-1]
        for _ in range(EARLIER):
            page._more()  # noqa: SLF001 (what a touch on "Earlier" does)
        print(f"lines {page.written}", flush=True)
        Clock.schedule_once(lambda _: scrolled("earlier", stage.stop), 1.0)

    Clock.schedule_once(begin, 1.0)
    stage.run()


def _cpu(process: psutil.Process) -> float:
    times = process.cpu_times()
    return float(times.user + times.system)


def main() -> int:
    """Be the child that the command line names, "resting" with how it rests behind a colon."""
    name, _, level = sys.argv[1].partition(":")
    if level:
        resting(level)
    else:
        {
            "hello": hello,
            "walesong": walesong,
            "following": following,
            "story": story,
            "hour": hour,
        }[name]()
    return 0


if __name__ == "__main__":
    sys.exit(main())
