"""Errors of PostgreSQL and of the way there, said in our words; never with a password in them."""

from __future__ import annotations

from contextlib import contextmanager
from typing import TYPE_CHECKING, ClassVar, Final

import psycopg
from psycopg import errors

from engine.journal.errors import JournalError

if TYPE_CHECKING:
    from collections.abc import Iterator


class AwayStoreError(JournalError):
    """The shared store is not reached, or was lost on the way; what was sent may have arrived."""

    remedy = "What is knitted is kept on this device; it is shared when the store is there again."


class StoreRefusesError(JournalError):
    """The shared store knows nobody of that name, or does not let her do that."""

    remedy: ClassVar[str] = "Ask who keeps the store; what is knitted is kept on this device."


class ForeignRecordsError(StoreRefusesError):
    """Records of a writer whose first record another knitter brought; `writer` names it."""

    def __init__(self, writer: str) -> None:
        """Name the writer."""
        super().__init__("Some records were brought to the store first by another knitter.")
        self.writer = writer


class NoStoreError(JournalError):
    """There is a database, but no store in it, or one of another version."""

    remedy = (
        'Who keeps the store makes it ready: "walesong share --set-up --with postgresql://...".'
    )


@contextmanager
def speaking_of_store() -> Iterator[None]:
    """Turn every error of PostgreSQL into a `JournalError`."""
    try:
        yield
    except psycopg.Error as error:
        raise _translated(error) from error


_NOT_LET_IN: Final = StoreRefusesError, "The shared store does not let this name in."
_AWAY: Final = AwayStoreError, "The shared store is not reached."
_NO_STORE: Final = NoStoreError, "There is no store in this database."
_IN_OUR_WORDS: Final[tuple[tuple[type[psycopg.Error], tuple[type[JournalError], str]], ...]] = (
    (errors.InvalidPassword, _NOT_LET_IN),
    (errors.InvalidAuthorizationSpecification, _NOT_LET_IN),
    (errors.InvalidCatalogName, (NoStoreError, "There is no such database.")),
    (errors.InvalidSchemaName, _NO_STORE),
    (errors.UndefinedTable, _NO_STORE),
    (errors.UndefinedColumn, _NO_STORE),
    (
        errors.IntegrityError,
        (StoreRefusesError, "The shared store refuses a record: it is not what its name says."),
    ),
    (psycopg.OperationalError, _AWAY),
    (psycopg.InterfaceError, _AWAY),
)
"""By the classes that psycopg has for https://www.postgresql.org/docs/current/errcodes-appendix.html."""


def _translated(error: psycopg.Error) -> JournalError:
    if isinstance(error, errors.InsufficientPrivilege):
        if error.diag.message_detail:
            return ForeignRecordsError(error.diag.message_detail)
        return StoreRefusesError(f"The shared store refuses: {error.diag.message_primary}.")
    if isinstance(error, psycopg.ProgrammingError) and error.sqlstate is None:
        return StoreRefusesError("That is not the address of a PostgreSQL database.")
    # Before there is a connection the server's refusal comes as text alone.
    if isinstance(error, psycopg.OperationalError) and error.sqlstate is None:
        said = str(error)
        if "authentication failed" in said or "does not exist" in said:
            return StoreRefusesError(_NOT_LET_IN[1])
    for kind, (ours, sentence) in _IN_OUR_WORDS:
        if isinstance(error, kind):
            return ours(sentence)
    return JournalError(f"The shared store could not do it ({error.sqlstate}).")
