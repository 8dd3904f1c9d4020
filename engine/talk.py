"""
Talk: what a knitter says to steer the conversation, not about the knitting.

Yes, no, say again, another screen, another piece: it comes by the same ways as the commands of
`engine.commands`, never reaches the history of a piece, and is a closed set too. The snake_case
`name` of a class is stable.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from enum import StrEnum
from typing import TYPE_CHECKING, ClassVar

from engine.stages import Stage  # noqa: TC001 (phrases are read by the types of the fields)

if TYPE_CHECKING:
    from engine.commands import Command
    from engine.quantities import Length


class AttentionWord(StrEnum):
    """Words that hardly anybody says by chance, for loud rooms, the best measured first."""

    TAPESTRY = "tapestry"
    THIMBLE = "thimble"
    ANGORA = "angora"
    BOBBIN = "bobbin"
    MARIGOLD = "marigold"
    PERIWINKLE = "periwinkle"
    PUMPERNICKEL = "pumpernickel"


class Screen(StrEnum):
    """What can be shown: the working board, and what lies beside it."""

    BOARD = "board"
    PIECES = "pieces"
    BEGIN = "begin"
    PATTERN = "pattern"
    STORY = "story"
    WORDS = "words"
    SETTINGS = "settings"
    HELP = "help"
    PLAN = "plan"
    FINISHED = "finished"
    LESSON = "lesson"
    CLASS = "class"
    TAKE = "take"
    COMPOSE = "compose"
    ORDER = "order"


class Nth(StrEnum):
    """Which one of a pair or a set of pieces that belong together, in the order they were begun."""

    FIRST = "first"
    SECOND = "second"
    THIRD = "third"
    FOURTH = "fourth"
    FIFTH = "fifth"
    SIXTH = "sixth"
    SEVENTH = "seventh"
    EIGHTH = "eighth"
    NINTH = "ninth"
    TENTH = "tenth"
    ELEVENTH = "eleventh"
    TWELFTH = "twelfth"


class LessonWord(StrEnum):
    """What a learner says in a lesson."""

    READY = "ready"
    SLOWER = "slower"
    QUICKER = "quicker"
    BEHIND = "behind"
    WRONG = "wrong"
    LEAVE = "leave"


@dataclass(frozen=True, slots=True)
class Yes:
    """Yes to the question that stands."""

    name: ClassVar[str] = "yes"


@dataclass(frozen=True, slots=True)
class No:
    """No to the question that stands."""

    name: ClassVar[str] = "no"


@dataclass(frozen=True, slots=True)
class SayAgain:
    """Repeat the last answer."""

    name: ClassVar[str] = "say_again"


@dataclass(frozen=True, slots=True)
class Help:
    """Ask what can be said now."""

    name: ClassVar[str] = "help"


@dataclass(frozen=True, slots=True)
class StopListening:
    """Stop decoding sound until told otherwise by key, touch or typed words."""

    name: ClassVar[str] = "stop_listening"


@dataclass(frozen=True, slots=True)
class StartListening:
    """Listen again."""

    name: ClassVar[str] = "start_listening"


@dataclass(frozen=True, slots=True)
class TonesOnly:
    """Answer with tones and the board, without a voice."""

    name: ClassVar[str] = "tones_only"


@dataclass(frozen=True, slots=True)
class SpeakAgain:
    """Answer with the voice again."""

    name: ClassVar[str] = "speak_again"


@dataclass(frozen=True, slots=True)
class WithoutSound:
    """Answer with light or vibration, without any sound."""

    name: ClassVar[str] = "without_sound"


@dataclass(frozen=True, slots=True)
class WordFirst:
    """Take only what begins with an attention word, `word` or (None) the one chosen before."""

    name: ClassVar[str] = "word_first"
    word: AttentionWord | None = None


@dataclass(frozen=True, slots=True)
class HoldToTalk:
    """Listen only while a key, a pedal or the board is held."""

    name: ClassVar[str] = "hold_to_talk"


@dataclass(frozen=True, slots=True)
class ListenFreely:
    """Listen to every command again, without a word before it and without holding anything."""

    name: ClassVar[str] = "listen_freely"


@dataclass(frozen=True, slots=True)
class TryVoice:
    """Try how well the knitter's voice is heard here: ten sentences, then one piece of advice."""

    name: ClassVar[str] = "try_voice"


@dataclass(frozen=True, slots=True)
class Dictate:
    """Take the next utterance as the text of a note on `row` (None: the row being worked)."""

    name: ClassVar[str] = "dictate"
    row: int | None = None


@dataclass(frozen=True, slots=True)
class RemindLater:
    """Put the reminder of a rest off."""

    name: ClassVar[str] = "remind_later"


# --- talk that leads to another screen or piece ---------------------------------------------------


@dataclass(frozen=True, slots=True)
class Show:
    """Show a screen; without a name go back to the working board."""

    name: ClassVar[str] = "show"
    screen: Screen = Screen.BOARD


@dataclass(frozen=True, slots=True)
class WorkOn:
    """
    Work on another piece: number `count` of the list, the one called `text`, or the next one.

    `nth` is the place among the pieces of the same name as the one in hand ("the second sleeve").
    """

    name: ClassVar[str] = "work_on"
    count: int | None = None
    text: str | None = None
    nth: Nth | None = None


@dataclass(frozen=True, slots=True)
class OtherPiece:
    """Go back to the piece that was worked on before this one."""

    name: ClassVar[str] = "other_piece"


@dataclass(frozen=True, slots=True)
class BeginPiece:
    """Cast on from pattern number `count`, or the one called `text`; else show what there is."""

    name: ClassVar[str] = "begin_piece"
    count: int | None = None
    text: str | None = None


@dataclass(frozen=True, slots=True)
class SameAgain:
    """Cast on the partner of this piece: the same pattern, size, stitches and swatch."""

    name: ClassVar[str] = "same_again"


@dataclass(frozen=True, slots=True)
class PlanWide:
    """Plan a piece that is so wide."""

    name: ClassVar[str] = "plan_wide"
    length: Length


@dataclass(frozen=True, slots=True)
class PlanLong:
    """Plan a piece that is so long."""

    name: ClassVar[str] = "plan_long"
    length: Length


@dataclass(frozen=True, slots=True)
class StepDone:
    """Step number `count` of the finishing is done; said again, it is not."""

    name: ClassVar[str] = "step_done"
    count: int = 1


@dataclass(frozen=True, slots=True)
class BeginLesson:
    """Be led through lesson number `count`, from its beginning; None: the first."""

    name: ClassVar[str] = "begin_lesson"
    count: int | None = None


@dataclass(frozen=True, slots=True)
class InLesson:
    """One of the words of a lesson, or the `nth` of the pictures that are offered."""

    name: ClassVar[str] = "in_lesson"
    lesson: LessonWord | None = None
    nth: Nth | None = None


@dataclass(frozen=True, slots=True)
class OpenClass:
    """Let learners follow the class board on their phones, over the local network."""

    name: ClassVar[str] = "open_class"


@dataclass(frozen=True, slots=True)
class CloseClass:
    """Let no phone follow any more."""

    name: ClassVar[str] = "close_class"


@dataclass(frozen=True, slots=True)
class ClassStory:
    """Print what the class got through and where it was stuck."""

    name: ClassVar[str] = "class_story"


# --- talk about an order, which has a history of its own ------------------------------------------


@dataclass(frozen=True, slots=True)
class PieceIs:
    """Piece number `count` of the order is at `stage` now."""

    name: ClassVar[str] = "piece_is"
    count: int
    stage: Stage


@dataclass(frozen=True, slots=True)
class HowIsOrder:
    """Ask how far the order is and when it is ready."""

    name: ClassVar[str] = "how_is_order"


@dataclass(frozen=True, slots=True)
class StartNext:
    """Ask which piece of the order to start next."""

    name: ClassVar[str] = "start_next"


OfOrder = PieceIs | HowIsOrder | StartNext

Leading = (
    Show
    | WorkOn
    | OtherPiece
    | BeginPiece
    | SameAgain
    | PlanWide
    | PlanLong
    | BeginLesson
    | OfOrder
)

Talk = (
    Yes
    | No
    | SayAgain
    | Help
    | StopListening
    | StartListening
    | TonesOnly
    | SpeakAgain
    | WithoutSound
    | WordFirst
    | HoldToTalk
    | ListenFreely
    | TryVoice
    | Dictate
    | RemindLater
    | Show
    | WorkOn
    | OtherPiece
    | BeginPiece
    | SameAgain
    | PlanWide
    | PlanLong
    | StepDone
    | BeginLesson
    | InLesson
    | OpenClass
    | CloseClass
    | ClassStory
    | OfOrder
)

TALK: dict[str, type[Talk]] = {kind.name: kind for kind in Talk.__args__}


def value_of(said: Command | Talk) -> object:
    """Return the first value that a command carries, the rest being circumstances; None: none."""
    values = (getattr(said, field.name) for field in fields(said))
    return next((value for value in values if value is not None), None)
