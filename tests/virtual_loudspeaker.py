"""A real sound server with a loudspeaker that plays into nothing and can be listened to.

PulseAudio (Debian: pulseaudio, pulseaudio-utils) runs as a process of its own, found through
PULSE_SERVER by everything that plays sound in this process or in its children.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
import time
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

RATE_HZ = 44_100
MISSING = [name for name in ("pulseaudio", "pactl", "pacat", "parec") if shutil.which(name) is None]
"""The programs that this machine lacks for a virtual loudspeaker."""


@contextmanager
def _process(*command: str, stdout: int = subprocess.DEVNULL) -> Iterator[subprocess.Popen[bytes]]:
    """Run a program until the end of the block."""
    with subprocess.Popen(command, stdout=stdout, stderr=subprocess.DEVNULL) as process:
        try:
            yield process
        finally:
            process.kill()


class Recorder:
    """Everything that the loudspeaker plays, as it comes."""

    def __init__(self, file: Path) -> None:
        """Read from the growing file of raw samples."""
        self._file = file

    def samples(self) -> NDArray[np.float64]:
        """Return what was played so far: samples between -1 and 1."""
        data = self._file.read_bytes()
        return np.frombuffer(data[: len(data) // 2 * 2], "<i2") / 32768

    def loud_s(self, threshold: float = 0.003) -> float:
        """Return how many seconds lie between the first and the last loud sample."""
        loud = np.flatnonzero(np.abs(self.samples()) > threshold)
        return float(loud[-1] - loud[0]) / RATE_HZ if len(loud) else 0.0


class VirtualLoudspeaker:
    """The running loudspeaker."""

    def __init__(self, folder: Path) -> None:
        """Keep recordings in `folder`."""
        self._folder = folder

    @contextmanager
    def recording(self) -> Iterator[Recorder]:
        """Record what is played during the block."""
        file = self._folder / f"{time.monotonic_ns()}.raw"
        with file.open("wb") as stream:
            command = ("parec", "-d", "out.monitor", "--raw", "--format=s16le", "--channels=1")
            options = (f"--rate={RATE_HZ}", "--latency-msec=10")
            with _process(*command, *options, stdout=stream.fileno()):
                recorder = Recorder(file)
                _wait_until(lambda: len(recorder.samples()) > 0, "nothing is recorded")
                yield recorder


@contextmanager
def virtual_loudspeaker() -> Iterator[VirtualLoudspeaker]:
    """Start the sound server with its loudspeaker, and end it after the block."""
    with ExitStack() as stack:
        folder = Path(stack.enter_context(tempfile.TemporaryDirectory(prefix="walesong-sound-")))
        address = f"unix:{folder / 'socket'}"
        before = {name: os.environ.get(name) for name in ("PULSE_SERVER", "XDG_RUNTIME_DIR")}
        stack.callback(_restore, before)
        os.environ.update(PULSE_SERVER=address, XDG_RUNTIME_DIR=str(folder))
        protocol = f"module-native-protocol-unix auth-anonymous=1 socket={folder / 'socket'}"
        sink = f"module-null-sink sink_name=out rate={RATE_HZ} channels=1"
        server = ["pulseaudio", "-n", "--daemonize=no", "--use-pid-file=no", "--exit-idle-time=-1"]
        stack.enter_context(_process(*server, "-L", protocol, "-L", sink))
        _wait_until(lambda: _latency_us() is not None, "the sound server does not start")
        # A loudspeaker into nothing plays in blocks of two seconds unless somebody wants less.
        stack.enter_context(_process("pacat", "--latency-msec=10", "--raw", "/dev/zero"))
        _wait_until(lambda: (_latency_us() or 10**9) < 50_000, "the loudspeaker stays slow")
        yield VirtualLoudspeaker(folder)


def _restore(before: dict[str, str | None]) -> None:
    for name, value in before.items():
        if value is None:
            os.environ.pop(name, None)
        else:
            os.environ[name] = value


def _latency_us() -> int | None:
    """Return how long the loudspeaker's present block is, or None if there is none yet."""
    answer = subprocess.run(
        ("pactl", "list", "sinks"), capture_output=True, text=True, check=False
    ).stdout
    found = [line.split()[1] for line in answer.splitlines() if line.strip().startswith("Latency:")]
    return int(found[0]) if found else None


def _wait_until(condition: object, otherwise: str) -> None:
    deadline = time.monotonic() + 10.0
    while time.monotonic() < deadline:
        if callable(condition) and condition():
            return
        time.sleep(0.02)
    raise RuntimeError(f"No virtual loudspeaker: {otherwise}.")
