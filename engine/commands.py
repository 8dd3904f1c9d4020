"""
The one command language: everything a knitter can tell or ask Walesong about her knitting.

Voice, foot pedal, keys, touch and typed words all produce these values and those of `engine.talk`
and nothing else, so nothing is reachable by one way only. A `Command` concerns the knitting and is
answered by the engine. The set is closed.

The snake_case `name` of a class is stable: the phrase data, the key bindings and `walesong hear
--json` use it. Counts are stitches or rows, at least zero; lengths and weights are in the
knitter's own unit.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import ClassVar

from engine.composing import Composing
from engine.fabric import Fabric
from engine.quantities import Length, Mass


class Since(StrEnum):
    """Where a length is measured from."""

    CAST_ON = "cast_on"
    MARKER = "marker"
    UNDERARM = "underarm"


class Feel(StrEnum):
    """How tightly the hand knits (British "tension" is gauge, and not meant here)."""

    TIGHT = "tight"
    LOOSE = "loose"
    EVEN = "even"


class Technique(StrEnum):
    """What a beginner can ask to be shown, by its usual abbreviation."""

    KNIT = "k"
    PURL = "p"
    SLIP = "sl"
    KNIT_TWO_TOGETHER = "k2tog"
    PURL_TWO_TOGETHER = "p2tog"
    SLIP_SLIP_KNIT = "ssk"
    YARN_OVER = "yo"
    MAKE_ONE = "m1"
    MAKE_ONE_LEFT = "m1l"
    MAKE_ONE_RIGHT = "m1r"
    KNIT_FRONT_AND_BACK = "kfb"
    CABLE = "cable"
    CAST_ON = "cast_on"
    BIND_OFF = "bind_off"
    PICK_UP = "pick_up"


class Term(StrEnum):
    """A word of the trade whose meaning a beginner can ask for."""

    RIGHT_SIDE = "right_side"
    WRONG_SIDE = "wrong_side"
    GAUGE = "gauge"
    CAST_ON = "cast_on"
    BIND_OFF = "bind_off"
    LIFELINE = "lifeline"


class Source(StrEnum):
    """The way by which a command came in."""

    VOICE = "voice"
    KEY = "key"
    PEDAL = "pedal"
    TOUCH = "touch"
    TYPED = "typed"


# --- rows -------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class RowsDone:
    """So many rows (or rounds) have been worked since the last word about rows; at least one."""

    name: ClassVar[str] = "rows_done"
    count: int = 1
    row: int | None = None
    """The row that she says is done, if she names one; then `count` says nothing."""


@dataclass(frozen=True, slots=True)
class RidgesDone:
    """So many garter ridges have been worked; a ridge is two rows (common practice, no source)."""

    name: ClassVar[str] = "ridges_done"
    count: int = 1


@dataclass(frozen=True, slots=True)
class PartDone:
    """The part that is worked "until it measures" is long enough: go on with the next one."""

    name: ClassVar[str] = "part_done"


@dataclass(frozen=True, slots=True)
class RipBack:
    """So many rows have been ripped back. No undo: later measurements are set aside."""

    name: ClassVar[str] = "rip_back"
    rows: int = 1


@dataclass(frozen=True, slots=True)
class BackToLifeline:
    """The work has been ripped back to the last lifeline."""

    name: ClassVar[str] = "back_to_lifeline"


@dataclass(frozen=True, slots=True)
class Recount:
    """The fabric was counted by eye: `row` is the row really being worked."""

    name: ClassVar[str] = "recount"
    row: int


@dataclass(frozen=True, slots=True)
class Unpick:
    """The row is being unpicked stitch by stitch: it is open again."""

    name: ClassVar[str] = "unpick"


@dataclass(frozen=True, slots=True)
class StopInRow:
    """The knitter stops inside the row, `after` stitches along (None: not said yet)."""

    name: ClassVar[str] = "stop_in_row"
    after: int | None = None


@dataclass(frozen=True, slots=True)
class PlaceLifeline:
    """A lifeline is threaded through the stitches after the last row done."""

    name: ClassVar[str] = "place_lifeline"


@dataclass(frozen=True, slots=True)
class PlaceMarker:
    """A marker is hung into the fabric after the last row done, to measure or count from."""

    name: ClassVar[str] = "place_marker"


@dataclass(frozen=True, slots=True)
class JoinBall:
    """Another ball is joined in this row, `after` stitches along; `text` is its dye lot."""

    name: ClassVar[str] = "join_ball"
    after: int | None = None
    text: str | None = None


@dataclass(frozen=True, slots=True)
class ChangeNeedle:
    """From this row on another needle: of the size `length`, or `text` as typed ("US 7")."""

    name: ClassVar[str] = "change_needle"
    length: Length | None = None
    text: str | None = None


@dataclass(frozen=True, slots=True)
class FinishPiece:
    """The piece is off the needles."""

    name: ClassVar[str] = "finish_piece"


# --- looking at the fabric --------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Measure:
    """The piece measures `length`; where from and in which state, if said."""

    name: ClassVar[str] = "measure"
    length: Length
    since: Since | None = None
    fabric: Fabric | None = None


@dataclass(frozen=True, slots=True)
class MeasureWidth:
    """The piece is `length` wide."""

    name: ClassVar[str] = "measure_width"
    length: Length
    fabric: Fabric | None = None


@dataclass(frozen=True, slots=True)
class MeasureHow:
    """How the knitter measures, from now on and where she has not said so yet."""

    name: ClassVar[str] = "measure_how"
    since: Since | None = None
    fabric: Fabric | None = None


@dataclass(frozen=True, slots=True)
class CountStitches:
    """The knitter counted so many stitches on the needle."""

    name: ClassVar[str] = "count_stitches"
    count: int


@dataclass(frozen=True, slots=True)
class WeighYarn:
    """The yarn that is left weighs so much."""

    name: ClassVar[str] = "weigh_yarn"
    mass: Mass


@dataclass(frozen=True, slots=True)
class HandFelt:
    """How tightly the hand knitted this row."""

    name: ClassVar[str] = "hand_felt"
    feel: Feel


@dataclass(frozen=True, slots=True)
class NoteRow:
    """A note on a row: `row` None is the row being worked, `text` None is a bare mark."""

    name: ClassVar[str] = "note_row"
    row: int | None = None
    text: str | None = None


@dataclass(frozen=True, slots=True)
class Mistake:
    """A mistake is seen in a row (None: the row being worked)."""

    name: ClassVar[str] = "mistake"
    row: int | None = None
    text: str | None = None


@dataclass(frozen=True, slots=True)
class DroppedStitch:
    """A stitch has been dropped."""

    name: ClassVar[str] = "dropped_stitch"


@dataclass(frozen=True, slots=True)
class CountSwatch:
    """A swatch has so many stitches or rows over `length` (10 cm), washed, on needle `text`."""

    name: ClassVar[str] = "count_swatch"
    stitches: int | None = None
    rows: int | None = None
    length: Length | None = None
    fabric: Fabric | None = None
    text: str | None = None


@dataclass(frozen=True, slots=True)
class WeighSwatch:
    """The whole swatch, so many stitches wide and rows high, weighs `mass`."""

    name: ClassVar[str] = "weigh_swatch"
    mass: Mass
    stitches: int
    rows: int


# --- taking back ------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Undo:
    """Take back what the last command recorded."""

    name: ClassVar[str] = "undo"


@dataclass(frozen=True, slots=True)
class Redo:
    """Put back what was taken back last."""

    name: ClassVar[str] = "redo"


# --- questions --------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class WhichRow:
    """Ask which row is being worked, and on which side."""

    name: ClassVar[str] = "which_row"


@dataclass(frozen=True, slots=True)
class WhatNext:
    """Ask what is to be worked in this row, from where the knitter is."""

    name: ClassVar[str] = "what_next"


@dataclass(frozen=True, slots=True)
class ReadRow:
    """Ask what is worked in any row of the piece, before or behind."""

    name: ClassVar[str] = "read_row"
    row: int


@dataclass(frozen=True, slots=True)
class NextBit:
    """The bit up to the next marker or comma is worked: read the one after it."""

    name: ClassVar[str] = "next_bit"


@dataclass(frozen=True, slots=True)
class StepBack:
    """Go back one bit of the instruction."""

    name: ClassVar[str] = "step_back"


@dataclass(frozen=True, slots=True)
class HowTo:
    """Ask how the hands make the step that comes next, or `stitch`; a sentence at a time."""

    name: ClassVar[str] = "how_to"
    stitch: Technique | None = None


@dataclass(frozen=True, slots=True)
class WhereInRepeat:
    """Ask which time of the repeat this is, and which row of it."""

    name: ClassVar[str] = "where_in_repeat"


@dataclass(frozen=True, slots=True)
class NextChange:
    """Ask in which row the next decrease, increase or other change falls."""

    name: ClassVar[str] = "next_change"


@dataclass(frozen=True, slots=True)
class HowFar:
    """Ask how many rows are left to the target length."""

    name: ClassVar[str] = "how_far"


@dataclass(frozen=True, slots=True)
class HowManyStitches:
    """Ask how many stitches should be on the needle."""

    name: ClassVar[str] = "how_many_stitches"


@dataclass(frozen=True, slots=True)
class YarnLasts:
    """Ask whether the yarn will last."""

    name: ClassVar[str] = "yarn_lasts"


@dataclass(frozen=True, slots=True)
class HowLong:
    """Ask how many hours of knitting are left."""

    name: ClassVar[str] = "how_long"


@dataclass(frozen=True, slots=True)
class HowIsHand:
    """Ask how the hand compares with the swatch: tighter, looser, even."""

    name: ClassVar[str] = "how_is_hand"


@dataclass(frozen=True, slots=True)
class SameAsPartner:
    """Ask how many rows make this piece the same as its partner, the first one."""

    name: ClassVar[str] = "same_as_partner"


@dataclass(frozen=True, slots=True)
class Lost:
    """Ask where she is, what is to be worked there, and how to check that it is so."""

    name: ClassVar[str] = "lost"


@dataclass(frozen=True, slots=True)
class HoldNeedles:
    """Ask how needles and yarn are held."""

    name: ClassVar[str] = "hold_needles"


@dataclass(frozen=True, slots=True)
class Meaning:
    """Ask what a word of the trade means."""

    name: ClassVar[str] = "meaning"
    term: Term


@dataclass(frozen=True, slots=True)
class ReadNotes:
    """Have the notes read out, the newest first."""

    name: ClassVar[str] = "read_notes"


Command = (
    RowsDone
    | RidgesDone
    | PartDone
    | RipBack
    | BackToLifeline
    | Recount
    | Unpick
    | StopInRow
    | PlaceLifeline
    | PlaceMarker
    | JoinBall
    | ChangeNeedle
    | FinishPiece
    | Measure
    | MeasureWidth
    | MeasureHow
    | CountStitches
    | WeighYarn
    | HandFelt
    | NoteRow
    | Mistake
    | DroppedStitch
    | CountSwatch
    | WeighSwatch
    | Undo
    | Redo
    | WhichRow
    | WhatNext
    | ReadRow
    | NextBit
    | StepBack
    | HowTo
    | WhereInRepeat
    | NextChange
    | HowFar
    | HowManyStitches
    | YarnLasts
    | HowLong
    | HowIsHand
    | SameAsPartner
    | Lost
    | HoldNeedles
    | Meaning
    | ReadNotes
    | Composing
)


ASKING: frozenset[type[Command]] = frozenset(
    {
        WhatNext, ReadRow, NextBit, StepBack, WhichRow, HowTo, WhereInRepeat, NextChange, HowFar,
        HowManyStitches, YarnLasts, HowLong, HowIsHand, SameAsPartner, Lost, HoldNeedles, Meaning,
        ReadNotes,
    }
)  # fmt: skip
"""The commands that can be said as a question; what is recorded cannot."""

COMMANDS: dict[str, type[Command]] = {kind.name: kind for kind in Command.__args__}
