"""What the main job costs: its share of a processor, its memory and where that goes, its start.

Every line is measured in a process of its own. How soon the window is there, and how soon it shows
what was heard, is measured by window_bench.py; the journal's commits by journal_bench.py. Run from
the checkout:

    python bench/main_job_bench.py [--seconds 30]
"""

# ruff: noqa: PLC0415 (each child imports what is measured, and nothing before it)

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

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

import psutil

ROOT = Path(__file__).resolve().parent.parent
RECORDS = 2000
SILENCE_S = 300
STARTS = 5
MB = 1 << 20


# --- children: each ends by printing what it measured ---------------------------------------------


def memory() -> str:
    """Return the peak of resident memory and what now belongs to this process alone, in MB."""
    process = psutil.Process()
    return f"{_peak(process.pid):.0f} {process.memory_full_info().uss / MB:.0f}"


def _peak(process: int) -> float:
    """Return the peak of resident memory in MB (VmHWM of proc(5)); other systems: as it is now."""
    status = Path(f"/proc/{process}/status")
    if not status.exists():
        return float(psutil.Process(process).memory_info().rss / MB)
    line = next(line for line in status.read_text().splitlines() if line.startswith("VmHWM"))
    return int(line.split()[1]) / 1024


def python() -> None:
    """Load nothing."""
    print(memory())


def arrays() -> None:
    """Load numpy."""
    import numpy as np

    print(memory() if np.zeros(1).size else "")


def words() -> None:
    """Load what knitting by typed words needs: the engine, the phrases and a new piece."""
    _knitted(1)


def history() -> None:
    """Load the same, and a piece with a long history."""
    _knitted(RECORDS)


def _knitted(records: int) -> None:
    from app import wording
    from app.session.clock import SetClock
    from app.session.opening import open_piece
    from engine import commands
    from engine.commands import Source

    wording.reply_wording()
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "j.walesong")
        talk = open_piece(path, SetClock(), None, fresh=True, source=Source.KEY)
        for number in range(records):
            talk.hear([commands.HandFelt(list(commands.Feel)[number % 3])], Source.KEY)
        talk.close()
        again = open_piece(path, SetClock(), None, fresh=False, source=Source.KEY)
        assert len(again.records) >= records
        print(memory())
        again.close()


def window() -> None:
    """Open Kivy's window with nothing of ours in it, off screen."""
    os.environ.setdefault("SDL_VIDEODRIVER", "offscreen")
    from app.window.window import prepare_kivy

    prepare_kivy()
    from kivy.base import EventLoop
    from kivy.core.window import Window

    EventLoop.ensure_window()
    print(memory() if Window else "no window")


def model() -> None:
    """Load the speech model with both decoders, and hear the practice recording."""
    import numpy as np

    from app.wiring.hearing import acceptance, practice
    from app.wiring.practice import PRACTICE

    begun = time.perf_counter()
    hearing = acceptance(None)
    loaded = time.perf_counter() - begun
    ready = memory()
    sound = np.concatenate(list(practice(PRACTICE, paced=False).pieces))
    print(f"{loaded:.2f} {ready} {_share(hearing, sound):.4f} {_quiet(hearing):.4f} {memory()}")


def _share(hearing: object, sound: object) -> float:
    from speech.hearing.acceptance import Acceptance
    from speech.hearing.sound import RATE

    assert isinstance(hearing, Acceptance)
    begun = time.process_time()
    for at in range(0, len(sound), 800):  # type: ignore[arg-type]
        hearing.feed(sound[at : at + 800])  # type: ignore[index]
    return (time.process_time() - begun) / (len(sound) / RATE)  # type: ignore[arg-type]


def _quiet(hearing: object) -> float:
    import numpy as np

    from speech.hearing.sound import RATE

    room = np.random.default_rng(1).standard_normal(RATE * SILENCE_S) * 6e-4
    return _share(hearing, room.astype(np.float32))


CHILDREN = {child.__name__: child for child in (python, arrays, words, history, window, model)}

# --- the measuring -------------------------------------------------------------------------------


def _child(name: str, environment: dict[str, str]) -> list[str]:
    done = subprocess.run(
        [sys.executable, __file__, "--child", name],
        env=environment,
        capture_output=True,
        text=True,
        check=True,
    )
    return done.stdout.split()


def _memory_table(environment: dict[str, str]) -> list[str]:
    """Print what each part brings, and return what was measured with the model."""
    print(f"{'memory, MB':<58}{'peak':>8}{'own':>8}")
    titles = {
        "python": "Python alone",
        "arrays": "with numpy",
        "words": "typed words: engine, phrases, a new piece",
        "history": f"the same, after {RECORDS} commands in its journal",
        "window": "Kivy's empty window, off screen",
    }
    for name, title in titles.items():
        peak, own = _child(name, environment)
        print(f"  {title:<56}{peak:>8}{own:>8}")
    measured = _child("model", environment)
    _, peak, own, _, _, heard_peak, heard_own = measured
    print(f"  {'the speech model with both decoders, ready':<56}{peak:>8}{own:>8}")
    print(f"  {'the same, after the practice recording':<56}{heard_peak:>8}{heard_own:>8}")
    return measured


def _whole(environment: dict[str, str], seconds: float) -> None:
    """Print what the whole app takes while it plays the practice recording at its own pace."""
    title = f"whole app, window on a virtual display, {seconds:.0f} s of practice"
    if shutil.which("Xvfb") is None:
        print(f"  {title:<56}{'not measured: no Xvfb':>16}")
        return
    from tests.virtual_display import virtual_display

    with virtual_display() as display, tempfile.TemporaryDirectory() as home:
        environment = display.environment(environment)
        with subprocess.Popen(
            [sys.executable, str(ROOT / "main.py"), "--practice", "--silent"],
            env={**environment, "XDG_DATA_HOME": home, "XDG_CONFIG_HOME": home},
            stdout=subprocess.DEVNULL,
        ) as walesong:
            time.sleep(6)  # the window is open, the model is loaded
            process = psutil.Process(walesong.pid)
            before = process.cpu_times()
            time.sleep(seconds)
            after = process.cpu_times()
            own = process.memory_full_info().uss / MB
            print(f"  {title:<56}{_peak(walesong.pid):>8.0f}{own:>8.0f}")
            used = after.user + after.system - before.user - before.system
            walesong.terminate()
    print(f"\n{'share of one core':<58}{'share':>8}")
    print(f"  {'whole app, window drawn in software':<56}{used / seconds:>8.3f}")


def _starts(environment: dict[str, str]) -> None:
    """Print how soon after its start the terminal answers."""
    print(f"\n{'from the start of the process, s (median of ' + str(STARTS) + ')':<58}{'s':>8}")
    with tempfile.TemporaryDirectory() as folder:
        journal = str(Path(folder, "j.walesong"))
        typed = ["knit", "--typed", "--journal", journal]
        fast = ["--terminal", "--practice", "--fast", "--journal", journal]
        for title, arguments, word in (
            ("typed words: the piece is greeted", typed, "Working"),
            ("the first spoken row is counted, recording played fast", fast, "“row done”"),
        ):
            times = [_until(word, arguments, environment) for _ in range(STARTS)]
            print(f"  {title:<56}{statistics.median(times):>8.2f}")


def _until(word: str, arguments: list[str], environment: dict[str, str]) -> float:
    begun = time.perf_counter()
    with subprocess.Popen(
        [sys.executable, str(ROOT / "main.py"), *arguments],
        env=environment,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        encoding="utf-8",
    ) as walesong:
        assert walesong.stdout is not None
        while word not in walesong.stdout.readline():
            assert walesong.poll() is None
        taken = time.perf_counter() - begun
        walesong.kill()
    return taken


def main() -> int:
    """Measure everything and print the tables."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--seconds", type=float, default=30.0, help="of the whole app")
    parser.add_argument("--child", choices=CHILDREN, help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.child:
        CHILDREN[options.child]()
        return 0
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "PULSE_SERVER": "unix:/nowhere"}
    measured = _memory_table(environment)
    _whole(environment, options.seconds)
    print(f"  {'hearing the practice recording':<56}{float(measured[3]):>8.3f}")
    print(f"  {f'hearing a quiet room, {SILENCE_S} s':<56}{float(measured[4]):>8.3f}")
    _starts(environment)
    print(f"  {'of it: speech model loaded, both decoders made':<56}{float(measured[0]):>8.2f}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
