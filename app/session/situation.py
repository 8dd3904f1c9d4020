"""
What the knitter should see and hear now: the one value that every front end shows.

The assistant makes a new one after everything that happens; window and terminal only draw it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING

from app.session.manner import USUAL, Answering, Manner
from engine.facts.rounds import in_rounds
from engine.talk import Screen

if TYPE_CHECKING:
    from collections.abc import Sequence

    from app.lessons.leading import LessonNow
    from app.pieces.values import PieceSummary
    from app.session.order_look import OrderLook
    from engine.forecast.pace import RowStamp
    from engine.pattern import Course
    from engine.replies import Reply
    from engine.state import PieceState
    from engine.talk import PlanLong, PlanWide
    from speech.hearing.voice_check import VoiceCheck


class Ear(StrEnum):
    """What the listening does at this moment."""

    LISTENING = "listening"
    HEARING = "hearing"  # somebody is speaking near the microphone
    MUTED = "muted"  # Walesong itself is speaking
    PAUSED = "paused"  # told to stop listening: no sound is decoded
    DICTATION = "dictation"  # the next utterance becomes the text of a note
    WORD = "word"  # listens for what begins with the attention word
    HELD = "held"  # listens only while the pedal or key is held
    LOST = "lost"  # the microphone is gone; trying again
    DEAF = "deaf"  # there is no microphone: keys, pedal, touch and typed words only


class Practice(StrEnum):
    """Whether a recording speaks in place of the knitter."""

    NONE = "none"
    SPEAKS = "speaks"
    OVER = "over"


@dataclass(frozen=True, slots=True)
class HeardLine:
    """The last thing heard or typed, and what became of it."""

    words: str
    accepted: bool
    why: str = ""
    """A sentence for the knitter, when it was not accepted."""


@dataclass(frozen=True, slots=True)
class Shown:
    """The screen that is to be shown, and the how manieth wish to show one that was."""

    screen: Screen = Screen.BOARD
    turn: int = 0
    wish: PlanWide | PlanLong | None = None
    """What the plan shall be, if that was said with it."""


@dataclass(frozen=True, slots=True)
class Portrait:
    """A piece as it stands, with the course of its pattern: what it is drawn from."""

    state: PieceState
    course: Course


def piece_named(piece: str, pieces: Sequence[PieceSummary]) -> str:
    """Return how a piece is called where something goes wrong with it: "Piece 3"."""
    number = next((one.number for one in pieces if one.id == piece), 0)
    return f"Piece {number}" if number else "This piece"


@dataclass(frozen=True, slots=True)
class Situation:
    """
    All that a front end needs to show.

    `replies` answer the last command; `question` is the one that stands open (None: none);
    `level` is the sound level in 0..1; `trouble` is one sentence about something missing or
    failed ("" when all is well).
    """

    state: PieceState
    course: Course
    replies: tuple[Reply, ...] = ()
    question: Reply | None = None
    heard: HeardLine | None = None
    ear: Ear = Ear.DEAF
    level: float = 0.0
    manner: Manner = USUAL
    trouble: str = ""
    rest: int | None = None
    """After so many minutes of knitting a short rest is offered; None: it is not."""
    pieces: tuple[PieceSummary, ...] = ()
    """The pieces of the journal as they were when this one was taken up, the latest first."""
    portraits: tuple[tuple[str, Portrait], ...] = ()
    """The other pieces that were looked at since the list of them was asked for, by their id."""
    check: VoiceCheck | None = None
    """The voice check that goes on or has just ended; None: there is none."""
    lesson: LessonNow | None = None
    """The lesson that goes on; None: there is none."""
    stamps: tuple[RowStamp, ...] = ()
    scale_g: float | None = None
    """The step of her scale in grams; None: it is learnt from what she weighs."""
    """When the last rows were done: from them comes the pace."""
    practice: Practice = Practice.NONE
    """Whether this is the practice piece, knitted by a recording, and not her own work."""
    order: OrderLook | None = None
    """The order as it was looked at last; None: nobody asked for it."""
    opening: bool = False
    """Whether the pattern is still being read: only what the journal says is known yet."""
    shown: Shown = Shown()
    """The screen that was asked for last, in words."""

    @property
    def pieces_now(self) -> tuple[PieceSummary, ...]:
        """The pieces of the journal, the one on the needle as it is now."""
        state = self.state
        return tuple(
            replace(
                one,
                name=state.name,
                done=state.done,
                finished=state.finished,
                rounds=self.in_rounds,
            )
            if one.id == state.piece
            else one
            for one in self.pieces
        )

    @property
    def portrait(self) -> Portrait:
        """The piece on the needle, to be drawn."""
        return Portrait(self.state, self.course)

    @property
    def in_rounds(self) -> bool:
        """Whether the piece is worked in rounds where it stands."""
        return in_rounds(self.state, self.course)

    @property
    def tones_only(self) -> bool:
        """Whether words are shown and not spoken."""
        return self.manner.answering is not Answering.VOICE


def other_work(situation: Situation, before: Situation) -> bool:
    """Whether one is of the practice and the other of her own work."""
    return (situation.practice is Practice.NONE) is not (before.practice is Practice.NONE)


def is_first_start(situation: Situation) -> bool:
    """Whether nobody has knitted with this journal yet."""
    if situation.practice is not Practice.NONE:
        return False
    state = situation.state
    alone = all(piece.id == state.piece for piece in situation.pieces)
    return state.done == 0 and alone and not state.finished and situation.question is None
