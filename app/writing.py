"""Writing a file of hers: whole or not at all."""

from __future__ import annotations

import os
import tempfile
from contextlib import suppress
from pathlib import Path


def write_whole(path: Path, content: bytes) -> None:
    """Write a file whole or not at all: what was there stays until the new one is complete."""
    folder = path.absolute().parent
    with tempfile.NamedTemporaryFile(dir=folder, prefix=f".{path.name}-", delete=False) as file:
        try:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
            file.close()
            # A temporary file is for its owner alone; a pattern is readable as any new file is.
            mask = os.umask(0)
            os.umask(mask)
            Path(file.name).chmod(0o666 & ~mask)
            Path(file.name).replace(path)
        except OSError:
            with suppress(OSError):
                Path(file.name).unlink()
            raise
