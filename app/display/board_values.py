"""What the working board shows, as ready strings and numbers; see `app.display.board_view`."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING

from app.session.situation import Ear

if TYPE_CHECKING:
    from app.drawings.fabric import DrawnFabric
    from app.drawings.hands.album import HandsShown
    from app.drawings.tape import Tape
    from app.session.controls import Control
    from engine.state import PieceState


class Mood(StrEnum):
    """How an answer is meant."""

    PLAIN = "plain"
    GOOD = "good"
    REFUSED = "refused"


@dataclass(frozen=True, slots=True)
class Note:
    """A line beside the drawing; `due` ones want something of the knitter."""

    words: str
    due: bool = False


@dataclass(frozen=True, slots=True)
class BoardView:
    """
    Everything on the working board.

    `number` is the row being worked; it is always shown with `state_word` ("Working"), `side` and
    `done_words` ("41 done"). `bit` is the place in `bits` that is worked now (-1: none).
    `question_control` asks for the number that answers the question (None: yes or no).
    """

    title: str
    number: str
    state_word: str
    side: str
    arrow: str
    done_words: str
    bits: tuple[str, ...]
    bit: int
    notes: tuple[Note, ...]
    tape: Tape | None
    fabric: DrawnFabric | None
    count_words: str = ""
    """How many stitches are on the needle now, if it is known."""
    heard: str = ""
    answer: str = ""
    mood: Mood = Mood.PLAIN
    question: str = ""
    question_control: Control | None = None
    trouble: str = ""
    ear: Ear = Ear.DEAF
    ear_words: str = ""
    ear_short: str = ""
    """The same where there is little room."""
    ear_alarms: bool = False
    band: tuple[str, str] | None = None
    """What is told across the room of the listening: the role of its colour, and its words."""
    level: float = 0.0
    holds: bool = False
    """Whether the board is held to talk."""
    stop: tuple[str, str] | None = None
    """What must stop her hands, and what to do then; it takes the place of the row."""
    closes: int = 0
    made_up: bool = False
    """So many rows are a repeat that the last row done has closed; 0: it closed none."""
    hands: HandsShown | None = None
    """What the hands do now; it takes the place of the fabric."""
    undrawn: bool = False
    """Whether the piece could not be drawn: only its row and the trouble are here."""

    @property
    def sentence(self) -> str:
        """Where the work is, as it is said: "Working 42, wrong side; 41 done"."""
        side = f", {self.side}" if self.side else ""
        return f"{self.state_word} {self.number}{side}; {self.done_words}"


def undrawn_view(state: PieceState, trouble: str) -> BoardView:
    """Return a board that shows the row of a piece that cannot be drawn, and why it cannot."""
    bare = bare_view(trouble=trouble)
    return replace(bare, title=state.name, number=str(state.working), undrawn=True)


def bare_view(*, words: str = "", trouble: str = "") -> BoardView:
    """Return a board without a piece: only words, or a sentence about what went wrong."""
    return BoardView(
        title="",
        number="",
        state_word="",
        side="",
        arrow="",
        done_words="",
        bits=(words,) if words else (),
        bit=-1,
        notes=(),
        tape=None,
        fabric=None,
        trouble=trouble,
    )
