"""The pieces of a journal, as the talk about one of them lists them."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

from app.pieces.pattern_cache import course_of
from app.pieces.summaries import NOT_SHOWN, summary_of
from app.pieces.values import PieceSummary
from app.session.situation import Portrait
from engine.history import fold

if TYPE_CHECKING:
    from app.pieces.summaries import Summaries, Summary
    from app.session.piece_history import PieceHistory
    from engine.journal.journal import Journal, KeptPiece

_LISTED_AT_ONCE: Final = 5_000
"""So many records of other pieces are folded before the first word; it takes a quarter second."""


class PieceListing:
    """All pieces; the one that is talked about is known from its history, without reading it."""

    def __init__(self, journal: Journal, history: PieceHistory, summaries: Summaries) -> None:
        """Take the journal, the history of the piece talked about, and what is known of others."""
        self._journal = journal
        self._history = history
        self._summaries = summaries

    def pieces(self) -> tuple[PieceSummary, ...]:
        """Return the pieces of the journal, the one worked on last first."""
        found: list[PieceSummary] = []
        begun: dict[str, tuple[str, str]] = {}
        listed = self._journal.pieces()
        mine = [self._mine(kept) for kept in listed]  # first: it shows whether others are believed
        for kept, own in zip(listed, mine, strict=True):
            one = own if own is not None else self._summaries.shown(self._journal, kept)
            if one is None:
                begun[kept.id] = kept.last_wall, kept.id
                found.append(
                    PieceSummary(
                        kept.id, NOT_SHOWN, "", 0, finished=False, last_wall=kept.last_wall
                    )
                )
            elif one.begun:
                begun[kept.id] = one.begun_wall, kept.id
                found.append(
                    PieceSummary(
                        kept.id,
                        one.name,
                        one.project,
                        one.done,
                        one.finished,
                        kept.last_wall,
                        rounds=one.rounds,
                    )
                )
        self._summaries.save()
        in_turn = sorted(begun, key=lambda name: begun[name])
        order = {name: number for number, name in enumerate(in_turn, 1)}
        return tuple(replace(one, number=order[one.id]) for one in found)

    def unlisted(self) -> list[KeptPiece]:
        """Return the other pieces that `pieces` would have to fold; of few records none."""
        listed = self._journal.pieces()
        for kept in listed:
            self._mine(kept)  # first: it shows whether others are believed
        here = self._history.piece
        found = [one for one in listed if one.id != here and not self._summaries.knows(one)]
        records = sum(int(one.mark.partition("-")[0] or 0) for one in found)
        if records <= _LISTED_AT_ONCE:
            return []
        self._summaries.waiting = len(found)
        return found

    def look_at(self, kept: KeptPiece) -> None:
        """Fold one of the pieces that were `unlisted`, so that `pieces` need not."""
        self._summaries.waiting = max(0, self._summaries.waiting - 1)
        self._summaries.shown(self._journal, kept)

    def portrait(self, piece: str) -> Portrait:
        """Return another piece as it stands; JournalError if it cannot be read."""
        state = fold(self._journal.records(piece))
        return Portrait(state, course_of(state))

    def keep(self) -> None:
        """Keep what is known of the piece talked about for the next start; may raise."""
        for kept in self._journal.pieces():
            self._mine(kept)
        self._summaries.save()

    def _mine(self, kept: KeptPiece) -> Summary | None:
        """Return the summary of this piece; None of another, or if others wrote to it."""
        history = self._history
        if kept.id != history.piece or not kept.mark.startswith(f"{len(history)}-"):
            return None
        mine = summary_of(history.state, history.records)
        self._summaries.learn(kept, mine)
        return mine
