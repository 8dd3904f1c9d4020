"""
What can be had from the raw bytes of a journal's file and log, whether or not they hang together.

The layout of both is documented in https://www.sqlite.org/fileformat2.html.
"""

from __future__ import annotations

import mmap
import re
from collections import Counter
from contextlib import closing
from hashlib import sha256
from typing import TYPE_CHECKING, Final, NamedTuple

from engine.journal.on_disk import holds_something

if TYPE_CHECKING:
    from collections.abc import Container, Iterator
    from pathlib import Path

# Canonical JSON sorts its keys, so a record begins with "after" and ends with "writer".
_BEGINNING: Final = re.compile(rb'\{"after":\[')
_RECORD: Final = re.compile(rb'\{"after":\[.*?"writer":"(?:[^"\\]|\\.)*"\}', re.DOTALL)
_ID_BYTES: Final = 32

_PAGE_SIZE: Final = slice(16, 18)
_SMALLEST_PAGE: Final = 512
_VERSIONS: Final = slice(18, 20)
_LOG_HEADER: Final = 32
_LOG_SALT: Final = slice(16, 24)
_FRAME_HEADER: Final = 24
_FRAME_PAGE: Final = slice(0, 4)
_FRAME_COMMITS: Final = slice(4, 8)
_FRAME_SALT: Final = slice(8, 16)

_PAGE_HEADERS: Final = {0x0A: 8, 0x02: 12}
"""How long the header of a page of the table is: of a leaf, of one above it."""
_CELLS: Final = slice(3, 5)
_POINTER: Final = 2


def carved(path: Path) -> Iterator[tuple[bytes, bytes]]:
    """Return the id and content of the whole records in a file, in no order; may repeat."""
    if not holds_something(path):
        return
    with (
        path.open("rb") as file,
        closing(mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ)) as data,
    ):
        yield from _carved(data)


def _carved(data: bytes | mmap.mmap) -> Iterator[tuple[bytes, bytes]]:
    """
    Find records by their beginnings.

    In a row the id (32 bytes) stands directly before the content whose SHA-256 it is, so a find
    proves itself. Content too long for one page (about 1,000 bytes: a pattern's text) is not in
    one piece and is not found.
    """
    for beginning in _BEGINNING.finditer(data):
        record = _RECORD.match(data, beginning.start())
        name = data[max(0, beginning.start() - _ID_BYTES) : beginning.start()]
        if record is not None and sha256(record[0]).digest() == name:
            yield name, record[0]


class _Frame(NamedTuple):
    """A page in the log; `commits` if a transaction ends with it."""

    number: int
    commits: bool
    page: bytes


def _frames(log: bytes, size: int) -> Iterator[_Frame]:
    """Return the frames of the log, whatever their checksums say; pages are `size` bytes long."""
    step = _FRAME_HEADER + size
    frames = [log[at : at + step] for at in range(_LOG_HEADER, len(log) - step + 1, step)]
    # Behind the frames of this log there may be some of an older one, with another salt.
    salts = Counter([log[_LOG_SALT], *(frame[_FRAME_SALT] for frame in frames[:2])])
    (salt, _), *_ = salts.most_common(1)
    for frame in frames:
        if frame[_FRAME_SALT] == salt:
            number = int.from_bytes(frame[_FRAME_PAGE])
            yield _Frame(number, any(frame[_FRAME_COMMITS]), frame[_FRAME_HEADER:])


def _page_size(file: bytes) -> int | None:
    size = int.from_bytes(file[_PAGE_SIZE])
    return size if size >= _SMALLEST_PAGE and size & (size - 1) == 0 else None


def forgotten_commits(file: bytes, log: bytes, known: Container[bytes]) -> int:
    """Count the transactions that end in the log at or after the first record not in `known`."""
    size = _page_size(file)
    if size is None:
        return 0
    frames = list(_frames(log, size))
    for place, frame in enumerate(frames):
        if any(name not in known for name in _named(frame.page)):
            return sum(later.commits for later in frames[place:])
    return 0


def _named(page: bytes) -> Iterator[bytes]:
    """
    Return the ids of the records whose rows begin on a page, also of those too long for it.

    Only the page's cells are looked at: between them there may be remains of older ones.
    """
    header = _PAGE_HEADERS.get(page[0])
    if header is None:
        return
    for at in range(header, header + _POINTER * int.from_bytes(page[_CELLS]), _POINTER):
        cell = int.from_bytes(page[at : at + _POINTER])
        if beginning := _BEGINNING.search(page, cell):
            yield page[max(0, beginning.start() - _ID_BYTES) : beginning.start()]


def played(file: bytes, log: bytes) -> bytes:
    """
    Return the file with every page of its log in place, also those behind a damaged one.

    SQLite itself stops at the first frame whose checksum is wrong. The result may not hang
    together; what is read from it has to prove itself.
    """
    size = _page_size(file)
    if size is None:
        return file
    pages = {at: file[at : at + size] for at in range(0, len(file), size)}
    for frame in _frames(log, size):
        at = (frame.number - 1) * size
        if 0 <= at <= len(file) + len(log):
            pages[at] = frame.page
    image = bytearray(max(pages) + size)
    for at, page in pages.items():
        image[at : at + len(page)] = page
    image[_VERSIONS] = b"\x01\x01"  # It needs no log any more.
    return bytes(image)
