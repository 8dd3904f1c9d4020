"""The pieces of a journal as cards: each at its height on its needle, with tape and words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from app.display.board_view import tape_of
from app.display.when import when_words
from app.drawings.whole import whole_of
from engine.facts.work import rows_needed

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from app.display.screen_words import ScreenWording
    from app.drawings.fabric import DrawnFabric
    from app.drawings.tape import Tape
    from app.pieces.values import PieceSummary
    from app.session.situation import Portrait, Situation
    from engine.quantities import LengthUnit

_BETWEEN: Final = 1.0  # mm between two cards
_WIDEST: Final = 105.0
_SHAPE: Final = 42.0 / 58.0
"""Height of a card's picture by its width."""
_DRAWN: Final = (90, 100)
"""At most so many rows and stitches of a piece are drawn on its card."""


@dataclass(frozen=True, slots=True)
class PieceCard:
    """What a card says of a piece; its drawing comes when the piece was looked at."""

    id: str
    title: str
    remark: str
    here: bool
    finished: bool


@dataclass(frozen=True, slots=True)
class CardDrawing:
    """A piece on its card: `rows` is how many the height of the drawing stands for."""

    fabric: DrawnFabric
    rows: int
    tape: Tape | None


def cards_of(
    pieces: Sequence[PieceSummary], here: str, now: datetime, words: ScreenWording
) -> tuple[PieceCard, ...]:
    """Return the cards, those on a needle first, each kind with the one worked on last first."""
    ordered = sorted(pieces, key=lambda one: one.last_wall, reverse=True)
    ordered.sort(key=lambda one: (one.finished, one.id != here))
    return tuple(_card(one, here, now, words) for one in ordered)


def _card(one: PieceSummary, here: str, now: datetime, words: ScreenWording) -> PieceCard:
    told = words.in_rounds() if one.rounds else words
    state = told("pieces", "finished" if one.finished else "done", done=one.done)
    when = when_words(one.last_wall, now, words)
    if one.id == here and not one.finished:
        when = words("pieces", "here")
    said = words("pieces", "remark", state=state, when=when) if when else state
    title = words("pieces", "line", number=one.number, name=one.name)
    return PieceCard(one.id, title, said, one.id == here, one.finished)


def drawing_of(
    portrait: Portrait, words: ScreenWording, unit: LengthUnit | None = None
) -> CardDrawing:
    """Return how a piece is drawn on its card: as high as it is of what it will be."""
    fabric, rows = on_card(portrait, _DRAWN)
    return CardDrawing(fabric, rows, tape_of(portrait.state, portrait.course, words, unit))


def on_card(portrait: Portrait, most: tuple[int, int]) -> tuple[DrawnFabric, int]:
    """Return the drawing of a piece of at most so many rows and stitches; see `CardDrawing`."""
    state, course = portrait.state, portrait.course
    needed = None if state.finished else rows_needed(state, course)
    whole = state.done + (sum(needed) // 2 if needed is not None else 0)
    fabric = whole_of(state, course, most)
    drawn = len(fabric.done)
    share = drawn / max(state.done, 1)  # of a long piece not every row is drawn
    return fabric, max(round(whole * min(share, 1.0)), drawn)


def portraits_of(situation: Situation) -> dict[str, Portrait]:
    """Return the pieces that can be drawn, by their id, the one on the needle as it is now."""
    return {**dict(situation.portraits), situation.state.piece: situation.portrait}


def card_width(
    counts: Sequence[int], room: tuple[float, float], least: float, words: float
) -> float:
    """
    Return how wide cards can be so that all of them are seen at once; `least` where they cannot.

    Args:
        counts: how many cards lie in each group.
        room: width and height there is for all of them.
        least: the smallest width of a card that is worth looking at.
        words: the height of the words under a card's picture.

    """
    wide, tall = room
    for columns in range(1, max(int(wide / least), 1) + 1):
        each = (wide - (columns - 1) * _BETWEEN) / columns
        lines = sum(-(-count // columns) for count in counts)
        if each <= _WIDEST and lines * (each * _SHAPE + words + _BETWEEN) <= tall:
            return each
    return least
