"""
The demo's order: sleeves and caps for a mountain hut, by a crew of four, half done.

Its records are made as a crew would have written them, row by row, with times, measurements and a
finishing of two days; one bottle sleeve is odd. The numbers are the demo's own (a knitter would
nod: medium yarn, 20 stitches and 28 rows to 10 cm); the dice always fall the same way.
"""

from __future__ import annotations

import hashlib
import random
from dataclasses import dataclass
from datetime import datetime, timedelta
from fractions import Fraction
from typing import TYPE_CHECKING, Final

from app import resources
from app.pieces.casting_on import new_piece
from app.pieces.pattern_cache import document_of
from app.pieces.values import NewPiece
from engine import events
from engine import order_events as order
from engine.commands import Feel, Since, Source
from engine.fabric import Fabric
from engine.pattern import PatternDocument
from engine.quantities import Length, LengthUnit, Mass, MassUnit
from engine.records import Record
from engine.stages import Stage

if TYPE_CHECKING:
    from collections.abc import Sequence

    from engine.events import Event

NAME: Final = "Sleeves for the hut"
_SEED: Final = 20_260_109
_WEEKS_SO_FAR: Final = 5
_WEEKS_TO_COME: Final = 9
_LOTS: Final = {"grey": "4107", "blue": "4206"}
_BALL_G: Final = 100


@dataclass(frozen=True, slots=True)
class _Item:
    """What the demo knows of an item: by what it is knitted, and how it comes out."""

    file: str
    size: str | None
    colour: str
    count: int
    spares: int
    rows: int
    ends: tuple[int, ...]
    length_cm: float
    width_cm: float
    grams: float


_ITEMS: Final = (
    _Item("mug-sleeve", None, "grey", 24, 2, 22, (18,), 8.0, 24.0, 12.0),
    _Item("bottle-sleeve", None, "grey", 16, 2, 50, (46,), 18.0, 26.0, 28.0),
    _Item("lantern-sleeve", None, "blue", 8, 1, 40, (36,), 14.0, 32.0, 28.0),
    _Item("crew-cap", "M", "blue", 12, 1, 62, (12, 40), 22.0, 48.0, 55.0),
)
_HANDS: Final = {"the warden": 1.0, "the cook": 1.12, "the guide": 0.9, "the porter": 1.05}
_HOURS: Final = {"the warden": 5, "the cook": 4, "the guide": 5, "the porter": 6}
_DONE: Final = (
    ("the warden", 0, 20, 1),
    ("the guide", 1, 6, 1),
    ("the cook", 2, 2, 1),
    ("the porter", 3, 3, 1),
)
"""Who knitted how many of which item, and how many more she has begun."""
_GIVEN: Final = 2
"""So many more are given to her; the rest is nobody's yet."""
_ODD: Final = (1, 4)
"""The odd piece: of the bottle sleeves the fifth."""
_SECONDS_A_STITCH: Final = 3.0


class _Hand:
    """Writes the records of one history, one after another, at times that it is told."""

    def __init__(self, name: str, dice: random.Random) -> None:
        self.piece = name
        self.records: list[Record] = []
        self._writer = f"{dice.getrandbits(128):032x}"
        self._dice = dice

    def write(self, when: datetime, *happened: Event, ms: int | None = None) -> None:
        """Write events as one group."""
        group = f"{self._dice.getrandbits(128):032x}"
        for event in happened:
            last = self.records[-1] if self.records else None
            self.records.append(
                Record(
                    after=(last.id,) if last is not None else (),
                    lamport=last.lamport + 1 if last is not None else 1,
                    writer=self._writer,
                    piece=self.piece,
                    group=group,
                    wall=when.strftime("%Y-%m-%dT%H:%M:%SZ"),
                    monotonic_ms=ms if ms is not None else 0,
                    source=Source.VOICE,
                    event=event,
                )
            )


def demo_order(now: datetime) -> tuple[tuple[Record, ...], tuple[Record, ...]]:
    """Return the records of the pieces and those of the order, as they stand at `now` (UTC)."""
    dice = random.Random(_SEED)  # noqa: S311 (no secret: the same demo every time)
    start = now - timedelta(weeks=_WEEKS_SO_FAR)
    names = random.Random(_SEED + 1)  # noqa: S311 (names; apart, so that they move no figure)
    book = _Hand(f"{names.getrandbits(128):032x}", names)
    firsts = _taken(book, start, now)
    pieces: list[Record] = []
    for knitter, at, done, begun in _DONE:
        item = _ITEMS[at]
        for place in range(done + begun):
            share = (place + 1) / (done + 0.5)
            ready = start + share * timedelta(days=7 * _WEEKS_SO_FAR - 0.5)
            ready = min(ready, now - timedelta(hours=1))
            number = firsts[at] + place
            hand = _Hand(f"{names.getrandbits(128):032x}", names)
            book.write(ready, order.PieceTied(number, hand.piece))
            _knit(hand, item, _HANDS[knitter], ready, dice, _Case(at, place, place < done))
            book.write(ready - timedelta(hours=2), order.StageReached(number, Stage.BEGUN))
            if place < done:
                _finish(book, number, ready, now)
            pieces += hand.records
    return tuple(pieces), tuple(book.records)


def _taken(book: _Hand, start: datetime, now: datetime) -> list[int]:
    """Write the order itself; return the first number of each line."""
    due = (now + timedelta(weeks=_WEEKS_TO_COME)).date().isoformat()
    lines: list[Event] = []
    firsts, first = [], 1
    for item in _ITEMS:
        firsts.append(first)
        title = _document(item).title
        stitches = _document(item).course(item.size).cast_on
        lines.append(
            order.OrderLine(first, title, item.size or "", item.colour, item.count, item.spares)
        )
        lines.append(
            order.LineWanted(
                first, "", item.rows, stitches, _cm(item.length_cm), _cm(item.width_cm),
                _g(item.grams),
            )
        )  # fmt: skip
        first += item.count + item.spares
    book.write(start, order.OrderBegun(NAME, due), *lines)
    for colour, balls in (("grey", 10), ("blue", 10)):
        ball = Mass(Fraction(_BALL_G), MassUnit.G)
        book.write(start, order.YarnStocked(colour, _LOTS[colour], balls, ball))
    for knitter, hours in _HOURS.items():
        book.write(start, order.HoursAWeek(knitter, Fraction(hours)))
    for knitter, at, done, begun in _DONE:
        numbers = range(firsts[at], firsts[at] + done + begun + _GIVEN)
        book.write(start, *(order.PieceGiven(number, knitter) for number in numbers))
    return firsts


@dataclass(frozen=True, slots=True)
class _Case:
    """Which item and which of its pieces, and whether it came off the needles."""

    item: int
    place: int
    done: bool

    @property
    def odd(self) -> bool:
        """Whether it is the odd one."""
        return (self.item, self.place) == _ODD


def _knit(
    hand: _Hand, item: _Item, pace: float, ready: datetime, dice: random.Random, case: _Case
) -> None:
    """Write a piece row by row, its last row at `ready`; half of one that is only begun."""
    new = new_piece(_text(item), item.size)
    if not isinstance(new, NewPiece):
        raise TypeError("A pattern that comes with Walesong does not add up.")
    course = _document(item).course(item.size)
    more = 2 if case.odd else 0
    rows = (item.rows + more) if case.done else item.rows // 2
    ends = [end + more for end in item.ends]
    seconds = [
        (course.cast_on or 50) * _SECONDS_A_STITCH * pace * dice.lognormvariate(0, 0.12)
        for _ in range(rows)
    ]
    scale = dice.lognormvariate(0, 0.07)
    begin = ready - timedelta(seconds=scale * sum(seconds))
    name = f"{new.name} {case.place + 1}" if case.place else new.name
    needle = events.NeedleChanged(1, "4.5 mm")
    hand.write(
        begin,
        *beginning_of(new, name),
        events.YarnJoined(0, None, _LOTS[item.colour]),
        needle,
        ms=0,
    )
    ended: dict[str, int] = {}
    spent = 0.0
    for row, took in enumerate(seconds, 1):
        section = course.where(ended, row).section
        spent += scale * took
        when = begin + timedelta(seconds=spent)
        ms = round(1000 * spent)
        if case.odd and row == 30:  # noqa: PLR2004 (the row of the story)
            hand.write(when, events.NeedleChanged(row, "5 mm"), ms=ms)
        hand.write(when, events.RowsWorked(section, row, row), ms=ms)
        if case.odd and row in {31, 34, 38}:
            hand.write(when, events.HandNoted(row, Feel.LOOSE), ms=ms)
        if row in ends:
            loop = course.loops[ends.index(row)]
            hand.write(when, events.LoopEnded(loop.id, row), ms=ms)
            ended[loop.id] = row
    if case.done:
        hand.write(ready, events.PieceFinished(rows), ms=round(1000 * spent))
        _measure(hand, item, rows, ready + timedelta(days=2), dice, case)


def _measure(
    hand: _Hand, item: _Item, rows: int, when: datetime, dice: random.Random, case: _Case
) -> None:
    """Write what a piece measures, washed and dry: to the millimetre and the tenth of a gram."""
    length = item.length_cm * rows / item.rows + dice.gauss(0, 0.16)
    width, grams = item.width_cm * dice.gauss(1, 0.007), item.grams * dice.gauss(1, 0.013)
    if case.odd:
        length, width, grams = length + 0.4, width + 0.3, grams * 1.06
    hand.write(
        when,
        events.Measured(rows, _cm(length), Since.CAST_ON, 0, Fabric.WASHED, assumed=False),
        events.WidthMeasured(rows, _cm(width), Fabric.WASHED),
        order.PieceWeighed(_g(grams)),
    )


_FINISHING: Final = (
    (Stage.KNITTED, 0.0),
    (Stage.ENDS, 3.0),
    (Stage.WASHED, 8.0),
    (Stage.DRY, 44.0),
    (Stage.MEASURED, 48.0),
    (Stage.PACKED, 50.0),
)
"""How many hours after the last row a piece of the demo is at a stage."""


def _finish(book: _Hand, number: int, ready: datetime, now: datetime) -> None:
    for stage, hours in _FINISHING:
        when = ready + timedelta(hours=hours)
        if when <= now:
            book.write(when, order.StageReached(number, stage))


def _cm(value: float) -> Length:
    return Length(Fraction(round(value * 10), 10), LengthUnit.CM)


def _g(value: float) -> Mass:
    return Mass(Fraction(round(value * 10), 10), MassUnit.G)


def _text(item: _Item) -> str:
    return resources.text(f"shared/patterns/{item.file}.toml")


def _document(item: _Item) -> PatternDocument:
    document = document_of(_text(item))
    if not isinstance(document, PatternDocument):
        raise TypeError("A pattern that comes with Walesong cannot be read.")
    return document


def beginning_of(new: NewPiece, name: str) -> Sequence[Event]:
    """Return what casting on writes."""
    text = new.pattern or ""
    sha256 = hashlib.sha256(text.encode()).hexdigest()
    return (
        events.PatternKept(sha256, text),
        events.PieceBegun(
            name, new.project, sha256, new.size, new.cast_on, new.target, new.count_every
        ),
    )
