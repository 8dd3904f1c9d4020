"""A real microphone of a real sound server, into which a test speaks and which it can pull out.

It stands beside the virtual loudspeaker: the same PulseAudio server (Debian: pulseaudio,
pulseaudio-utils) gets a source that reads raw samples from a named pipe. A thread fills the pipe at
the pace of a sound card, with silence when there is nothing to say.
"""

from __future__ import annotations

import contextlib
import os
import queue
import subprocess
import threading
import time
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from tests.virtual_loudspeaker import MISSING, virtual_loudspeaker

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tests.virtual_loudspeaker import VirtualLoudspeaker

__all__ = ["MISSING", "NAME", "RATE_HZ", "VirtualMicrophone", "pactl", "virtual_microphone"]

RATE_HZ = 16_000
NAME = "hut_microphone"
_STEP_S = 0.02
_STEP_BYTES = round(RATE_HZ * _STEP_S) * 2


class VirtualMicrophone:
    """The running microphone."""

    def __init__(self, pipe: Path, loudspeaker: VirtualLoudspeaker) -> None:
        """Prepare a microphone that reads from the named pipe `pipe`; it is not yet plugged in."""
        self.loudspeaker = loudspeaker
        self._pipe = pipe
        self._said: queue.SimpleQueue[bytes] = queue.SimpleQueue()
        self._module = ""
        self._descriptor = -1
        self._lock = threading.Lock()
        self._ended = threading.Event()
        self._thread = threading.Thread(target=self._fill, name="virtual microphone", daemon=True)

    def plug_in(self) -> None:
        """Plug it in; it is the default microphone from now on."""
        what = f"source_name={NAME} file={self._pipe} format=s16le rate={RATE_HZ} channels=1"
        self._module = pactl("load-module", "module-pipe-source", *what.split()).strip()
        pactl("set-default-source", NAME)
        with self._lock:
            # Opened for both, so that it never waits for a reader nor fails without one.
            self._descriptor = os.open(self._pipe, os.O_RDWR | os.O_NONBLOCK)
        if not self._thread.is_alive():
            self._thread.start()

    def pull_out(self) -> None:
        """Pull it out, as a knitter does who rolls her chair over the cable."""
        with self._lock:
            os.close(self._descriptor)
            self._descriptor = -1
        pactl("unload-module", self._module)

    def say(self, samples: bytes) -> None:
        """Speak raw samples (16 bit, little-endian, mono, `RATE_HZ`) at their own pace."""
        padded = samples + b"\0" * (-len(samples) % _STEP_BYTES)
        for at in range(0, len(padded), _STEP_BYTES):
            self._said.put(padded[at : at + _STEP_BYTES])

    @property
    def silent(self) -> bool:
        """Whether everything has been said."""
        return self._said.empty()

    def end(self) -> None:
        """Stop filling the pipe."""
        self._ended.set()
        if self._thread.is_alive():
            self._thread.join()

    def _fill(self) -> None:
        """Write into the pipe at the pace of real sound."""
        begun, steps = time.monotonic(), 0
        while not self._ended.is_set():
            try:
                data = self._said.get_nowait()
            except queue.Empty:
                data = b"\0" * _STEP_BYTES
            with self._lock, contextlib.suppress(BlockingIOError):  # full: nobody listens
                if self._descriptor >= 0:
                    os.write(self._descriptor, data)
            steps += 1
            time.sleep(max(0.0, begun + steps * _STEP_S - time.monotonic()))


@contextmanager
def virtual_microphone() -> Iterator[VirtualMicrophone]:
    """Start a sound server with a loudspeaker and a microphone, and end it after the block."""
    with virtual_loudspeaker() as loudspeaker:
        pipe = Path(os.environ["XDG_RUNTIME_DIR"]) / "microphone"
        microphone = VirtualMicrophone(pipe, loudspeaker)
        try:
            microphone.plug_in()
            yield microphone
        finally:
            microphone.end()


def pactl(*arguments: str) -> str:
    """Ask the sound server for something and return its answer."""
    done = subprocess.run(("pactl", *arguments), capture_output=True, text=True, check=False)
    if done.returncode != 0:
        raise RuntimeError(f"pactl {arguments[0]}: {done.stderr.strip()}")
    return done.stdout
