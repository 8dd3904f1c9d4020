"""
Records found in the raw bytes of a journal file, whether or not the file hangs together.

In a row the id (32 bytes) stands directly before the content whose SHA-256 it is, so a find proves
itself. Content too long for one page (about 1,000 bytes: a pattern's text) is not in one piece and
is not found this way.
"""

from __future__ import annotations

import mmap
import re
from contextlib import closing
from hashlib import sha256
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

# Canonical JSON sorts its keys, so a record begins with "after" and ends with "writer".
_BEGINNING: Final = re.compile(rb'\{"after":\[')
_RECORD: Final = re.compile(rb'\{"after":\[.*?"writer":"(?:[^"\\]|\\.)*"\}', re.DOTALL)
_ID_BYTES: Final = 32


def carved(path: Path) -> Iterator[tuple[bytes, bytes]]:
    """Return the id and content of every whole record in the file, in no order; may repeat."""
    if not path.is_file() or path.stat().st_size == 0:
        return
    with (
        path.open("rb") as file,
        closing(mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ)) as data,
    ):
        for beginning in _BEGINNING.finditer(data):
            record = _RECORD.match(data, beginning.start())
            name = data[max(0, beginning.start() - _ID_BYTES) : beginning.start()]
            if record is not None and sha256(record[0]).digest() == name:
                yield name, record[0]
