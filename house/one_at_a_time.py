"""A lock between processes: two set-ups at once wait for each other instead of colliding.

The operating system frees the lock when its holder ends, however it ends, so a killed set-up
never leaves a lock behind. (The file itself stays; it is empty and means nothing.) Except on
Windows, a program that the holder started with ``close_fds=False`` holds the lock too: what a
killed set-up was installing is waited for before anybody else touches the same place.
"""

from __future__ import annotations

import contextlib
import os
import sys
import time
from typing import IO, TYPE_CHECKING

from house.trouble import Trouble

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

PATIENCE_S = 1800.0
_LOOK_AGAIN_S = 0.2

if sys.platform == "win32":
    import msvcrt

    def _try_lock(file: IO[bytes]) -> None:
        msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)

else:
    import fcntl

    def _try_lock(file: IO[bytes]) -> None:
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        os.set_inheritable(file.fileno(), True)  # noqa: FBT003 - the call has no names


@contextlib.contextmanager
def one_at_a_time(path: Path, patience_s: float = PATIENCE_S) -> Iterator[None]:
    """Hold the lock ``path`` for the length of the block; wait while another process holds it.

    Raises Trouble when the lock's folder cannot be written, or after ``patience_s`` seconds.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        file = path.open("ab")
    except OSError as error:
        raise Trouble(
            f"Setting up needs to write in {path.parent}, which failed: {error.strerror}."
        ) from error
    with file:
        _wait_for(file, path, patience_s)
        yield


def _wait_for(file: IO[bytes], path: Path, patience_s: float) -> None:
    deadline = time.monotonic() + patience_s
    told = False
    while True:
        try:
            _try_lock(file)
        except OSError as error:
            if time.monotonic() > deadline:
                raise Trouble(
                    f"Another set-up has held {path} for {patience_s:.0f} s; end it and run again."
                ) from error
            if not told:
                print("Another set-up is at work here; waiting for it.", flush=True)
                told = True
            time.sleep(_LOOK_AGAIN_S)
        else:
            return
