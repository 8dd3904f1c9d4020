"""
The phrases of which a written line is made, as the grammar gives them.

Some phrases are items of a row already (`engine.pattern.notation`); the others stand here. What a
line of phrases means together is decided in `rows` (a row to be worked) and `lines` (the rest).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from typing import TYPE_CHECKING

from engine.pattern.notation import Item

if TYPE_CHECKING:
    from engine.pattern.headings import Heading, Side, SizesOnly, Unchecked
    from engine.pattern.notation import Amount, StopWork
    from engine.quantities import Length


def _at() -> int:
    return field(default=0, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class Star:
    """A star, where a repeat begins or ends."""

    sign: str
    at: int = _at()


@dataclass(frozen=True, slots=True)
class PhraseTimes:
    """Like "3 times": `more` says that the first time is not among them, None if not clear."""

    amount: Amount
    more: bool | None = None
    at: int = _at()


@dataclass(frozen=True, slots=True)
class RepeatFrom:
    """
    Like "Rep from *" or "rep", with its end or its number of times.

    `over` are the stitches that all the repeats take: "rep from * over next 28 sts".
    """

    sign: str
    stop: StopWork | None = None
    times: PhraseTimes | None = None
    said: bool = True
    over: Amount | None = None
    at: int = _at()


@dataclass(frozen=True, slots=True)
class Bracket:
    """Phrases in brackets and what is said of them."""

    phrases: tuple[Phrase, ...]
    stop: StopWork | None = None
    times: PhraseTimes | None = None
    into: int | None = None
    at: int = _at()


@dataclass(frozen=True, slots=True)
class To:
    """A plain stitch or a named one that is worked to a stop; `amount` only if it was said."""

    item: Item
    stop: StopWork
    said_amount: bool
    made: Made | None = None
    at: int = _at()


@dataclass(frozen=True, slots=True)
class AcrossHeld:
    """
    Like "k across 32 held sts": stitches that were laid aside are taken in and worked.

    `whence` are the words that name where they are, perhaps on another piece; no amount: all.
    """

    work: Item
    amount: Amount | None
    whose: str = ""
    whence: str = ""
    at: int = _at()


@dataclass(frozen=True, slots=True)
class TheseAmount:
    """An amount of stitches that were spoken of just before: "p these 60 sts"."""

    amount: Amount


@dataclass(frozen=True, slots=True)
class These:
    """Like "P these 60 sts": those that were cast on just before, or else the next ones."""

    work: Item
    at: int = _at()


@dataclass(frozen=True, slots=True)
class HeldAmount:
    """
    An amount of stitches that are on hold.

    `whose` names the part of the piece ("instep") where the words do not say "held": they may be
    on the needle all the time.
    """

    amount: Amount
    whose: str = ""


@dataclass(frozen=True, slots=True)
class Bare:
    """A plain stitch word without number or end: "knit", "purl", "work"."""

    item: Item
    at: int = _at()


@dataclass(frozen=True, slots=True)
class Into:
    """Like "In next st", after what is worked into it."""

    takes: int
    everything: bool
    at: int = _at()


@dataclass(frozen=True, slots=True)
class PassOver:
    """Slipped stitches are passed over."""

    count: int
    at: int = _at()


@dataclass(frozen=True, slots=True)
class ColourChange:
    """From here on in another colour."""

    colour: str
    at: int = _at()


@dataclass(frozen=True, slots=True)
class Stated:
    """
    A number of stitches that the designer states; `change` +1 or -1 for "2 sts inc'd".

    `part` says of which part of the stitches: "both" ("17 sts each side"), "each" ("on each
    needle") or "between" markers.
    """

    amount: Amount
    change: int = 0
    led: bool = False
    part: str = ""
    at: int = _at()


@dataclass(frozen=True, slots=True)
class BareNumber:
    """A number in brackets that may be a count of stitches."""

    amount: Amount
    at: int = _at()


@dataclass(frozen=True, slots=True)
class RepeatRows:
    """
    Rows to be repeated: by number, the last so many, all, or by name.

    `marks`, one for each number, are the colours or letters of "rnds 1 MC and 1 CC"; `of` names
    the part where the rows stand, in small letters: "back rib".
    """

    numbers: tuple[int, ...] = ()
    marks: tuple[str, ...] = ()
    is_range: bool = False
    last: Amount | None = None
    name: str = ""
    everything: bool = False
    of: str = ""
    at: int = _at()


@dataclass(frozen=True, slots=True)
class HowManyRows:
    """Like "3 rows"."""

    amount: Amount
    more: bool = False
    at: int = _at()


@dataclass(frozen=True, slots=True)
class EveryRow:
    """Like "Every row", "every rnd"."""

    at: int = _at()


@dataclass(frozen=True, slots=True)
class InPattern:
    """Like "In st st", "in k2, p2 rib", "as set", "even"; the name is that of the routine."""

    name: str
    work: bool = False
    at: int = _at()


@dataclass(frozen=True, slots=True)
class UntilMeasures:
    """Until the piece measures so much, per size; `where` is the datum in the designer's words."""

    lengths: tuple[Length, ...]
    where: str = ""
    for_length: bool = False
    at: int = _at()


@dataclass(frozen=True, slots=True)
class UntilSame:
    """Until it is as long as another piece."""

    text: str
    at: int = _at()


@dataclass(frozen=True, slots=True)
class UntilCount:
    """Until so many stitches are on the needle, or between the first two markers."""

    amount: Amount
    between: bool = False
    at: int = _at()


@dataclass(frozen=True, slots=True)
class Remaining:
    """Like "Until 8 sts rem": an end within a row, or the count at which repeating stops."""

    amount: Amount
    at: int = _at()


@dataclass(frozen=True, slots=True)
class UntilWorked:
    """Like "Until all sts have been worked": rows are repeated until no gap is left."""

    at: int = _at()


@dataclass(frozen=True, slots=True)
class Wraps:
    """Like "Working wraps together with their sts": one stitch, or how a row is worked."""

    at: int = _at()


@dataclass(frozen=True, slots=True)
class Made:
    """Like "Until there are 20 sts on right needle": an end counted from the row's beginning."""

    amount: Amount
    at: int = _at()


@dataclass(frozen=True, slots=True)
class OnCable:
    """Like "Onto cn and hold in front", after stitches that are slipped."""

    text: str
    at: int = _at()


@dataclass(frozen=True, slots=True)
class When:
    """Like "When piece measures 20 cm": what stands after it begins there."""

    until: UntilMeasures
    at: int = _at()


@dataclass(frozen=True, slots=True)
class Again:
    """Like "2 sts at beg of next 4 rows", after a shaping of the same kind."""

    amount: Amount
    place: ChangePlace
    at: int = _at()


@dataclass(frozen=True, slots=True)
class Ending:
    """
    Like "Ending with a WS row": the side or the face of the last row, or its number.

    `short` are the stitches before its end where the last round stops, and the next one begins.
    """

    side: Side | None = None
    face: str = ""
    row: int | None = None
    short: Amount | None = None
    at: int = _at()


@dataclass(frozen=True, slots=True)
class Beginning:
    """Like "Beg with a k row"."""

    side: Side | None = None
    face: str = ""
    at: int = _at()


class ChangePlace(StrEnum):
    """Where in the row a statement of shaping is worked."""

    EACH_END = "each end"
    BEGINNING = "beginning"
    END = "end"
    EDGE = "edge"
    MARKERS = "markers"
    EVENLY = "evenly"
    ANYWHERE = "anywhere"


@dataclass(frozen=True, slots=True)
class Change:
    """Like "Dec 1 st each end": how many, where."""

    increases: bool
    amount: Amount = (1,)
    place: ChangePlace = ChangePlace.ANYWHERE
    words: str = ""
    at: int = _at()
    counted: bool = field(default=True, compare=False)
    """Whether the words say how many."""


@dataclass(frozen=True, slots=True)
class PhrasePlace:
    """
    Like "At beg of", "at neck edge", "each side of marker", standing apart from its verb.

    `words` say it more exactly, where the place alone does not.
    """

    place: ChangePlace
    words: str = ""
    at: int = _at()


@dataclass(frozen=True, slots=True)
class Schedule:
    """
    On which rows something is done.

    `first` is the row, counted from the next one, on which it is done first (None: not said);
    `every` the distance between two; `times` how often, where the words say so ("next 4 rows",
    "foll 3 alt rows"); `side` for "every RS row". `by_size` are the distances of "every 8 (6, 6)th
    row", where they differ from size to size.
    """

    first: int | None = None
    every: int | None = None
    times: Amount | None = None
    side: Side | None = None
    also_next: bool = False
    by_size: Amount | None = None
    at: int = _at()


@dataclass(frozen=True, slots=True)
class Evenly:
    """Like "Evenly across"; `first_row` for "evenly across the first row"."""

    at: int = _at()
    first_row: bool = False


@dataclass(frozen=True, slots=True)
class AsGiven:
    """Like "Work as for back to **", "from ** to **"."""

    text: str
    at: int = _at()


@dataclass(frozen=True, slots=True)
class Meanwhile:
    """Like "At the same time"."""

    at: int = _at()


@dataclass(frozen=True, slots=True)
class SideFacing:
    """Like "With RS facing"."""

    side: Side
    at: int = _at()


@dataclass(frozen=True, slots=True)
class ShapingManner:
    """Like "Loosely", "in pattern", after something bound off."""

    text: str
    at: int = _at()


@dataclass(frozen=True, slots=True)
class OnNeedle:
    """Like "Needle 2:", "on needle 2": from here on (or up to here) the stitches of one needle."""

    name: str
    at: int = _at()


@dataclass(frozen=True, slots=True)
class EndWith:
    """Like "Ending": the words after it are worked once, at the end."""

    at: int = _at()


@dataclass(frozen=True, slots=True)
class AlsoPickedUp:
    """Like "And 20 sts across back neck", after stitches that are picked up."""

    amount: Amount
    along: str
    at: int = _at()


@dataclass(frozen=True, slots=True)
class InThisWay:
    """Like "Continue in this way, working 1 more st before each turn"."""

    text: str
    at: int = _at()


@dataclass(frozen=True, slots=True)
class OnHolder:
    """Like "Onto a holder", after stitches that are slipped; `these` if it says "these sts"."""

    name: str
    these: bool = False
    at: int = _at()


Phrase = (
    Item | Star | PhraseTimes | RepeatFrom | Bracket | To | Bare | Into | PassOver | ColourChange
    | Stated | BareNumber | RepeatRows | HowManyRows | EveryRow | InPattern | UntilMeasures
    | UntilSame | UntilCount | AcrossHeld | These | Remaining | UntilWorked | Wraps | Made | OnCable
    | When | Again | Ending | Beginning | Change | PhrasePlace | Schedule | Evenly | AsGiven
    | Meanwhile | SideFacing | OnNeedle | EndWith | AlsoPickedUp | InThisWay | ShapingManner
    | OnHolder
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class PhraseLine:
    """One line of a pattern: for which sizes, its heading, its phrases."""

    text: str
    phrases: tuple[Phrase, ...]
    heading: Heading | None = None
    sizes: SizesOnly | None = None
    unchecked: Unchecked | None = None
