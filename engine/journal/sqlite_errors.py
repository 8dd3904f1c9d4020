"""Errors of SQLite and of the system, said in our words."""

from __future__ import annotations

import errno
import os
import sqlite3
from contextlib import contextmanager
from typing import TYPE_CHECKING, Final

from engine.journal.errors import (
    BusyJournalError,
    DamagedJournalError,
    DiskError,
    DiskFullError,
    JournalError,
    ReadOnlyJournalError,
    UnreachableJournalError,
)

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

_NO_ROOM: Final = frozenset({errno.ENOSPC, errno.EDQUOT, errno.EFBIG})


@contextmanager
def speaking(path: Path) -> Iterator[None]:
    """Turn every error of SQLite or the system into a `JournalError` about the journal `path`."""
    try:
        yield
    except sqlite3.Error as error:
        raise _translated(error, path) from error
    except UnicodeDecodeError as error:
        # The driver stumbles over a message of SQLite that quotes damaged text.
        raise DamagedJournalError(f'The journal "{path}" is damaged.') from error
    except OSError as error:
        raise _of_system(error, path) from error


_IN_OUR_WORDS: Final[dict[int, tuple[type[JournalError], str]]] = {
    code: (kind, sentence)
    for kind, sentence, codes in (
        (
            ReadOnlyJournalError,
            'The journal "{path}" may not be written.',
            (sqlite3.SQLITE_READONLY, sqlite3.SQLITE_PERM, sqlite3.SQLITE_AUTH),
        ),
        (
            DiskFullError,
            'There is no room left where the journal "{path}" is.',
            (sqlite3.SQLITE_FULL,),
        ),
        (
            BusyJournalError,
            'Another program is writing to the journal "{path}".',
            (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED, sqlite3.SQLITE_PROTOCOL),
        ),
        (
            DamagedJournalError,
            'The journal "{path}" is damaged.',
            (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB),
        ),
        (
            UnreachableJournalError,
            'The journal "{path}" cannot be opened.',
            (sqlite3.SQLITE_CANTOPEN,),
        ),
        (
            DiskError,
            'The disk failed under the journal "{path}" ({name}).',
            (sqlite3.SQLITE_IOERR,),
        ),
    )
    for code in codes
}
"""By the primary result codes of https://www.sqlite.org/rescode.html."""


def _translated(error: sqlite3.Error, path: Path) -> JournalError:
    code = getattr(error, "sqlite_errorcode", sqlite3.SQLITE_ERROR) & 0xFF
    name = getattr(error, "sqlite_errorname", type(error).__name__)
    if code == sqlite3.SQLITE_CANTOPEN and path.exists() and not may_write(path.parent):
        return ReadOnlyJournalError(f'The folder of the journal "{path}" is read-only.')
    other = (JournalError, 'The journal "{path}" could not do it ({name}).')
    kind, sentence = _IN_OUR_WORDS.get(code, other)
    return kind(sentence.format(path=path, name=name))


def may_write(path: Path) -> bool:
    """Tell whether the system lets this process write the file or into the folder."""
    return os.access(path, os.W_OK, effective_ids=os.access in os.supports_effective_ids)


def _of_system(error: OSError, path: Path) -> JournalError:
    match error:
        case FileNotFoundError() | NotADirectoryError() | IsADirectoryError():
            return UnreachableJournalError(f'There is no "{error.filename or path}".')
        case OSError(errno=errno.ENAMETOOLONG):
            return UnreachableJournalError(
                "The name of the journal, or of a file beside it, is too long."
            )
        case PermissionError():
            return ReadOnlyJournalError(f'"{error.filename or path}" may not be used.')
        case OSError(errno=number) if number in _NO_ROOM:
            return DiskFullError(f'There is no room left for "{path}".')
        case _:
            return DiskError(f'The disk failed under "{path}" ({error.strerror}).')
