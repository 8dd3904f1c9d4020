"""The practice recordings that come with Walesong: which there are, and what is knitted in them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from app import resources

if TYPE_CHECKING:
    from pathlib import Path

    from app.pieces.values import NewPiece

PRACTICE: Final = "mug-sleeve"
"""The recording that is played where there is no microphone."""
INVENTED: Final = {"invented": "Mug sleeve", "invented-cap": "Crew cap"}
"""The recordings in which a piece is made up row by row, and the piece that it is."""
PRACTICES: Final = (PRACTICE, *INVENTED)


def practice_file(name: str) -> Path:
    """Return the file of a practice recording; FileNotFoundError if there is none of that name."""
    return resources.path(f"assets/practice/{name}.wav")


def practice_piece(name: str) -> NewPiece | None:
    """Return the piece that is made up in a recording; None where it follows a pattern of ours."""
    from app.pieces.values import NewPiece  # noqa: PLC0415 (the start is not kept waiting for it)

    title = INVENTED.get(name)
    return NewPiece(title, title) if title is not None else None
