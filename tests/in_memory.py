"""A folder in memory, for what is proven about files but not about disks: syncing costs nothing."""

from __future__ import annotations

import os
import shutil
import tempfile
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Iterator

_MEMORY: Final = Path("/dev/shm")  # noqa: S108 (each folder in it has a random name)
_ROOM_BYTES: Final = 64 * 2**20


@contextmanager
def folder_in_memory() -> Iterator[Path]:
    """Give a folder in memory where the system has room there, else in the usual place."""
    roomy = _MEMORY.is_dir() and os.access(_MEMORY, os.W_OK)
    roomy = roomy and shutil.disk_usage(_MEMORY).free >= _ROOM_BYTES
    with tempfile.TemporaryDirectory(prefix="walesong-", dir=_MEMORY if roomy else None) as folder:
        yield Path(folder)
