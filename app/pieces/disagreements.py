"""Where two devices knitted on without knowing of each other, in sentences, and what settles it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from engine.history import fold

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator

    from engine.journal.journal import Journal


def disagreements(journal: Journal, among: Collection[str] | None = None) -> Iterator[str]:
    """Name the pieces (None: of all) that were knitted on by two devices at once."""
    for piece in journal.pieces():
        if among is not None and piece.id not in among:
            continue
        state = fold(journal.records(piece.id))
        fork = state.fork
        if state.counted_twice:
            yield (
                f"{piece.name or 'A piece'}: two devices counted row {state.counted_twice}; it "
                "counts once. If these were two rows, say which row you are really on: "
                f'"really on row {state.counted_twice + 2}".'
            )
        if fork:
            rows = " or ".join(str(row) for row in fork)
            yield (
                f"{piece.name or 'A piece'}: two devices disagree, {rows} rows done. Count the "
                f'rows, then say which one you are on: "really on row {fork[-1] + 1}".'
            )
