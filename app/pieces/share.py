"""Keeping a journal in step with a shared store for hours, whatever becomes of the connection."""

from __future__ import annotations

from dataclasses import dataclass
from random import Random
from time import monotonic, sleep
from typing import TYPE_CHECKING, Final

from engine.journal.errors import BusyJournalError
from engine.journal.postgres import PostgresJournal
from engine.journal.postgres_errors import AwayStoreError
from engine.journal.sharing import Shared, Sharing

if TYPE_CHECKING:
    from collections.abc import Iterator

    from engine.journal.sqlite import SqliteJournal

_LOOK_S: Final = 0.1
"""So often the journal is looked at for new rows; the store tells of its own by itself."""
_WHOLE_S: Final = 900.0
"""So often everything is compared anew, in case a merge brought in what is older."""
_PAUSE_S: Final = (0.5, 30.0)
"""The first and the longest pause before the store is tried again."""


@dataclass(frozen=True, slots=True)
class Joined:
    """The journal and the store are in step; `shared` is what that took."""

    shared: Shared


@dataclass(frozen=True, slots=True)
class Away:
    """The store is not reached; `why` in a sentence. It is tried again."""

    why: str


def keep_in_step(journal: SqliteJournal, address: str) -> Iterator[Joined | Away | Shared]:
    """
    Join, then give and take for ever; tell of everything that happens.

    A store that is away is tried again, with longer and longer pauses; it is told once. What needs
    somebody to do something comes as a `JournalError`.
    """
    dice, pause, away = Random(), _PAUSE_S[0], False  # noqa: S311 (spreads those who come back)
    while True:
        try:
            for done in _while_connected(journal, address):
                pause, away = _PAUSE_S[0], False
                yield done
        except (AwayStoreError, BusyJournalError) as error:
            if not away:
                yield Away(str(error))
            away = True
            sleep(pause * dice.uniform(0.5, 1.0))
            pause = min(2 * pause, _PAUSE_S[1])


def _while_connected(journal: SqliteJournal, address: str) -> Iterator[Joined | Shared]:
    store = PostgresJournal.open(address)
    try:
        while True:
            sharing = Sharing(journal, store)
            yield Joined(sharing.join())
            whole = monotonic() + _WHOLE_S
            while monotonic() < whole:
                done = sharing.step(_LOOK_S)
                if done.anything:
                    yield done
    finally:
        store.close()


def join_once(journal: SqliteJournal, address: str) -> Shared:
    """Bring a journal and a store in step, once; raises a `JournalError`."""
    store = PostgresJournal.open(address)
    try:
        return Sharing(journal, store).join()
    finally:
        store.close()
