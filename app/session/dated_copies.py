"""The dated copy of the journal that is made by itself, once a day, while she knits."""

from __future__ import annotations

import logging
import threading
from typing import TYPE_CHECKING

from engine.journal.copying import dated_copy
from engine.journal.errors import JournalError

if TYPE_CHECKING:
    from pathlib import Path

    from app.session.clock import Clock

_log = logging.getLogger(__name__)


def begin_copy(journal: Path, clock: Clock) -> threading.Thread:
    """
    Copy the journal on a thread of its own, unless there is a copy of today.

    Reading a large one back takes seconds, for which nothing else may wait; the process ends only
    after the thread. A copy that cannot be made is noted in the log and tried at the next start.
    """
    today = clock.wall()[:10]
    thread = threading.Thread(target=_copy, args=(journal, today), name="dated copy")
    thread.start()
    return thread


def _copy(journal: Path, today: str) -> None:
    try:
        dated_copy(journal, today)
    except (JournalError, OSError) as error:
        _log.warning("No dated copy of the journal was made: %s", error)
