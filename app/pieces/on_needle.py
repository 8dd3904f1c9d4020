"""
Which piece is on the needle, where the journal cannot tell: she went to it and has not knitted yet.

Going to a piece writes no record. What is noted here holds only as long as nothing was knitted
since, on this device, by whatever program: then the piece worked on last is on the needle.
"""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from app.resources import KeptText
    from engine.journal.journal import KeptPiece


class OnNeedle:
    """The note of the piece that was gone to last."""

    def __init__(self, kept: KeptText | None = None) -> None:
        """Take up what was noted in a text; without one it lasts as long as this object."""
        self._kept = kept
        self._text = kept.load() if kept is not None else None

    def note(self, piece: str, listed: Sequence[KeptPiece]) -> None:
        """Note that a piece was gone to; `listed` are the pieces, the one worked on last first."""
        if not listed or (self._text is None and listed[0].id == piece):
            return  # the journal tells it
        self._text = json.dumps([piece, listed[0].id, listed[0].mark])
        if self._kept is not None:
            self._kept.save(self._text)

    def of(self, listed: Sequence[KeptPiece]) -> KeptPiece | None:
        """Return the piece that was gone to, if nothing was knitted since; None where it was."""
        try:
            piece, last, mark = json.loads(self._text or "null")
        except (ValueError, TypeError, RecursionError):
            return None
        if not listed or (listed[0].id, listed[0].mark) != (last, mark):
            return None
        return next((one for one in listed if one.id == piece), None)
