"""
Forty phones in a class, over this machine's own loopback: how late they show a step.

python bench/class_bench.py [MINUTES] [bare]

The window draws the class board all the while, first without and then with the class; phones are a
program of their own, each with a live stream, fetching every step that is told. Prints from the
step on the board to the step in every phone's hands, the memory of window and server, the frames.
`bare` leaves the window away, whose drawing without a graphics card takes the processor from all
else. Targets: p95 of a step shown under 300 ms, memory flat, the board's frames not touched.
"""

from __future__ import annotations

import asyncio
import contextlib
import json
import os
import statistics
import subprocess
import sys
import tempfile
import time
from dataclasses import replace
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

PHONES = 40
EVERY_S = 5.0
ALONE_S = 20.0


# --- the phones, a program of their own -----------------------------------------------------------


async def _asked(host: str, port: int, request: str) -> bytes:
    reader, writer = await asyncio.open_connection(host, port)
    writer.write(request.encode())
    found = await reader.read()
    writer.close()
    return found


async def _phone(
    host: str, port: int, code: str, until: float, shown: list[tuple[int, float]]
) -> None:
    where = f"Host: {host}:{port}\r\nConnection: close\r\n"
    body = "code=" + code.replace(" ", "+")
    head = (await _asked(
        host, port,
        f"POST /enter HTTP/1.1\r\n{where}Content-Type: application/x-www-form-urlencoded\r\n"
        f"Content-Length: {len(body)}\r\n\r\n{body}",
    )).decode()  # fmt: skip
    cookie = head.partition("seat=")[2].partition(";")[0]
    seat = f"Cookie: seat={cookie}\r\n\r\n"
    reader, writer = await asyncio.open_connection(host, port)
    writer.write(f"GET /live HTTP/1.1\r\nHost: {host}:{port}\r\n{seat}".encode())
    while time.monotonic() < until:
        with contextlib.suppress(TimeoutError):
            line = await asyncio.wait_for(reader.readline(), 1.0)
            if not line:
                break
            if line.startswith(b"event: step"):
                part = await _asked(host, port, f"GET /part HTTP/1.1\r\n{where}{seat}")
                number = part.partition(b"Step ")[2].partition(b" ")[0]
                shown.append((int(number or 0), time.monotonic()))
    writer.close()


async def _phones(host: str, port: int, code: str, until: float) -> None:
    shown: list[tuple[int, float]] = []
    await asyncio.gather(*(_phone(host, port, code, until, shown) for _ in range(PHONES)))
    print(json.dumps(shown))


# --- the class, with its window -------------------------------------------------------------------


def _class(minutes: float, *, bare: bool) -> int:  # noqa: PLR0915 (one run, told in its order)
    import psutil  # noqa: PLC0415 (the phones need none of this)

    from app import resources  # noqa: PLC0415
    from app.classroom.serving import Classroom  # noqa: PLC0415
    from app.lessons.leading import Leading, LessonNow  # noqa: PLC0415
    from app.lessons.lesson import read_lesson  # noqa: PLC0415
    from app.session.settings import Settings, YarnHand  # noqa: PLC0415
    from engine.talk import Screen  # noqa: PLC0415
    from speech.words.sampler import read_fillers  # noqa: PLC0415
    from tests.app.at_the_needle import Needle  # noqa: PLC0415
    from tests.window_driver import Driver, Helper  # noqa: PLC0415

    lesson = read_lesson(resources.text("shared/lessons/1-first-stitches.toml"))
    words = read_fillers(resources.text("shared/phrases/filler.en.txt"))
    classroom = Classroom(words, lambda: YarnHand.RIGHT)
    hands = Helper.for_the_window
    Helper.for_the_window = lambda self: replace(hands(self), classroom=classroom)  # type: ignore[method-assign]
    base = Needle("mug-sleeve").situation()
    driver = None if bare else Driver(situation=base, settings=Settings(class_screen=55))
    if driver is not None:
        driver.stage.close_all()
        driver.stage.places.go_to(Screen.CLASS)
    process, told, turn = psutil.Process(), {}, 0

    def frames(seconds: float) -> list[float]:
        """Draw, and go on a step now and then; return how long each frame took, in ms."""
        nonlocal turn
        found, until, due = [], time.monotonic() + seconds, time.monotonic() + 1.0
        while time.monotonic() < until:
            if time.monotonic() >= due:
                due += EVERY_S
                turn += 1
                step = 3 + turn % 5
                now = LessonNow(Leading(lesson, at=step, turn=turn, in_class=True))
                told[turn] = (step + 1, time.monotonic())
                classroom.follow(now)
                if driver is not None:
                    driver.inbox.put(replace(base, lesson=now))
            began = time.perf_counter()
            if driver is not None:
                driver.frames(1)
            found.append((time.perf_counter() - began) * 1000)
            time.sleep(1 / 30)
        return found

    alone = frames(ALONE_S)
    opened = classroom.open("127.0.0.1")
    host, port = opened.address.removeprefix("http://").split(":")
    seconds = minutes * 60
    until = time.monotonic() + seconds + 3
    phones = subprocess.Popen(
        [sys.executable, __file__, "phones", host, port, opened.code, str(until)],
        stdout=subprocess.PIPE,
    )
    frames(8)
    first = turn + 1
    memory, with_class = [process.memory_info().rss / 1e6], []
    parts = max(int(seconds / 30), 1)
    for _ in range(parts):
        with_class += frames((seconds - 8) / parts)
        memory.append(process.memory_info().rss / 1e6)
    shown = json.loads(phones.communicate()[0])
    seats = len(classroom.room.seats())
    classroom.close()
    late = []
    for step, at in shown:
        since = [
            began
            for number, (one, began) in told.items()
            if one == step and began <= at and number >= first
        ]
        if since and at - since[-1] < EVERY_S:
            late.append((at - since[-1]) * 1000)
    wanted = PHONES * (turn - first + 1)
    print(f"phones {seats}, steps {turn - first + 1}, shown {len(late)} of {wanted}")
    middle, high = _part(late, 50), _part(late, 95)
    print(f"step shown, ms: p50 {middle:.0f}  p95 {high:.0f}  most {max(late):.0f}")
    print("memory of window and server, MB: " + " ".join(f"{one:.0f}" for one in memory))
    for name, found in (("without", alone), ("with", with_class)):
        middle, high = _part(found, 50), _part(found, 95)
        most = max(found)
        print(f"frame {name} the class, ms: p50 {middle:.1f}  p95 {high:.1f}  most {most:.0f}")
    print(f"load of the machine {os.getloadavg()[0]:.1f}")
    if driver is not None:
        driver.close()
    return 0


def _part(values: list[float], percent: int) -> float:
    return statistics.quantiles(values, n=100)[percent - 1]


def main() -> int:
    """Be the class, or its phones."""
    if sys.argv[1:2] == ["phones"]:
        host, port, code, until = sys.argv[2:]
        asyncio.run(_phones(host, int(port), code, float(until)))
        return 0
    with tempfile.TemporaryDirectory() as home:
        os.environ["HOME"] = home
        return _class(float(sys.argv[1]) if len(sys.argv) > 1 else 1.0, bare="bare" in sys.argv)


if __name__ == "__main__":
    sys.exit(main())
