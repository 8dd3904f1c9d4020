"""
A knitted piece written for another size: from its rows to the rows over another cast-on.

Rows that were counted stay as many (a border stays as high), what was worked to a length becomes as
much longer as the piece becomes wider, and shaping is shared out anew:

- rounds that close a crown, whose every repeat loses one stitch, keep their repeats and get as many
  more or fewer as the stitches ask for, the last of them as they were;
- shaping at the edges keeps its share of the stitches, over as much longer a stretch.

Nothing is adapted but the repeats that a row has anyway; whoever reads the outcome says whether a
cast-on is one that the rows fill.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import TYPE_CHECKING, Final

from engine.compose.folding import fold_rows
from engine.compose.worked_rows import SIDES, WorkedRow, again, folded_lines, written_line
from engine.compose.written_out import Stretch, stretches, worked_row
from engine.compose.written_pattern import WrittenLine, WrittenSection, heading
from engine.pattern import Side
from engine.plan.rounding import worked_out
from engine.quantities import Length, LengthUnit

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from engine.pattern import Course, Place
    from engine.state import PieceState

_TWICE: Final = 2
_TIMES = re.compile(r"^((?:.*, )?)\((.+)\) (\d+) times((?:, .*)?)$")
_WEDGES = re.compile(r"^\*(.+); rep from \* (?:to end|around)$")
_RUN = re.compile(r"^([kp])(\d*)$")


@dataclass(frozen=True, slots=True)
class Knitted:
    """What is known of the piece in hand: its rows, and how many of them are 1 cm."""

    state: PieceState
    course: Course
    rows_per_cm: Fraction

    @property
    def places(self) -> tuple[Place, ...]:
        """The places of the rows that are done."""
        ended = self.state.loops_ended
        return tuple(self.course.where(ended, row) for row in range(1, self.state.done + 1))

    @property
    def in_round(self) -> bool:
        """Whether it is worked in rounds."""
        return any(place.side is Side.ROUND for place in self.places)


@dataclass(frozen=True, slots=True)
class Resized:
    """One size: its sections, its length from cast-on to the end, and where its parts end."""

    cast_on: int
    sections: tuple[WrittenSection, ...]
    length: Length
    ends: tuple[int, ...]
    """The row after which each part that is worked to a length is as long as it says."""
    rows: int
    """All rows, those worked to a length by the gauge."""


def resized(piece: Knitted, cast_on: int, larger: Fraction) -> Resized | None:
    """Return the piece over another cast-on, `larger` times as wide; None where shaping forbids."""
    places = piece.places
    now, row = cast_on, 0
    was, at = Fraction(0), Fraction(0)  # cm from the cast-on, of the piece in hand and of this size
    sections: list[WrittenSection] = []
    ends: list[int] = []
    for number, stretch in enumerate(stretches(piece.state, places), 1):
        part = places[stretch.first - 1 : stretch.last]
        section = WrittenSection(f"part-{number}", f"Part {number}")
        rows = [_general(worked_row(piece.state, place)) for place in part]
        if stretch.length is not None:
            knitted = stretch.length.to(LengthUnit.CM).value
            length = worked_out(Length(at + (knitted - was) * larger, LengthUnit.CM))
            was, at = knitted, length.value
            section.lines = list(_until(rows, part, stretch, length, in_round=piece.in_round))
            row = max(row + stretch.period, round(at * piece.rows_per_cm))
            row += (row - stretch.last) % _TWICE if not piece.in_round else 0
            ends.append(row)
        else:
            changed = _reshaped(rows, part, now, larger)
            if changed is None:
                return None
            rows, now = changed
            section.lines = (
                list(_next_rows(rows, part, in_round=piece.in_round))
                if _shapes(part)
                else folded_lines(rows, part[0].side, in_round=piece.in_round)
            )
            row += len(rows)
            was, at = was + len(part) / piece.rows_per_cm, at + len(rows) / piece.rows_per_cm
        sections.append(section)
    length = worked_out(Length(at, LengthUnit.CM), fine=True)
    return Resized(cast_on, tuple(sections), length, tuple(ends), row)


def _general(row: WorkedRow) -> WorkedRow:
    """Return a row whose "(k2, p2) 12 times" is "*k2, p2; rep from *", as there is room."""
    found = _TIMES.match(row.text)
    if found is None or any(sign in found[1] + found[2] + found[4] for sign in "*()["):
        return row
    tail = found[4].removeprefix(", ")
    taken = [_RUN.match(step) for step in tail.split(", ")] if tail else []
    if not all(taken):
        return row
    left = sum(int(one[2] or 1) for one in taken if one)
    to = "to end" if not left else "to last st" if left == 1 else f"to last {left} sts"
    text = f"{found[1]}*{found[2]}; rep from * {to}{found[4]}"
    return replace(row, text=text)


# --- shaping -------------------------------------------------------------------------------------


def _shapes(part: Sequence[Place]) -> list[int]:
    """Return the places of the rows that change the stitches and leave some."""
    return [
        at
        for at, place in enumerate(part)
        if place.before is not None and place.after not in {None, 0, place.before}
    ]


def _reshaped(
    rows: list[WorkedRow], part: Sequence[Place], now: int, larger: Fraction
) -> tuple[list[WorkedRow], int] | None:
    """Return the rows of a counted stretch from `now` stitches on, and the stitches after them."""
    shaping = _shapes(part)
    if not shaping:
        return rows, 0 if part[-1].after == 0 else now
    changes = {(part[at].after or 0) - (part[at].before or 0) for at in shaping}
    if len(changes) != 1 or len(shaping) < _TWICE:
        return None  # a single shaping row, or uneven ones: nobody can know what they are for
    (change,) = changes
    began, ended = part[shaping[0]].before or 0, part[shaping[-1]].after or 0
    closing = _is_wedge(rows[shaping[0]].text)
    if not closing and "*" in rows[shaping[0]].text:
        return None
    last = ended if closing else _share(now, Fraction(ended, began), change)
    times = (last - now) / Fraction(change)
    if times.denominator != 1 or times < 1:
        return None
    if closing:
        made = _closed(rows, shaping, now, change, int(times))
    else:
        made = _edged(rows, part, shaping, now, change, int(times), larger)
    return (made, last) if made is not None else None


def _is_wedge(text: str) -> bool:
    return _WEDGES.match(text) is not None


def _share(now: int, share: Fraction, change: int) -> int:
    """Return the count that is that share of `now` and can be reached in steps of `change`."""
    steps = round((now * share - now) / change)
    return now + max(1, steps) * change


def _closed(
    rows: list[WorkedRow], shaping: list[int], now: int, change: int, times: int
) -> list[WorkedRow] | None:
    """Return the rows that close a crown in so many shaping rows, aligned at its top."""
    made = list(rows[: shaping[0]])
    wedges = abs(change)
    bounds = [*shaping, len(rows)]
    for number in range(times):
        old = max(0, len(shaping) - times + number)
        before = now + number * change
        text = _wedge(rows[shaping[old]].text, before, wedges)
        if text is None:
            return None
        made.append(replace(rows[shaping[old]], text=text, count=before + change))
        made += rows[shaping[old] + 1 : bounds[old + 1]]
    return made


def _wedge(text: str, before: int, wedges: int) -> str | None:
    """Return "*k9, k2tog" for as many stitches as a wedge has now; None if it does not come out."""
    found = _WEDGES.match(text)
    if found is None or before % wedges:
        return None
    steps = found[1].split(", ")
    plain = [at for at, step in enumerate(steps) if _RUN.match(step)]
    others = [step for step in steps if not _RUN.match(step)]
    if (
        any(step not in {"k2tog", "ssk", "p2tog", "ssp", "skp"} for step in others)
        or len(plain) > 1
    ):
        return None
    left = before // wedges - _TWICE * len(others)
    if left < 0:
        return None
    sign = steps[plain[0]][0] if plain else "k"
    at = plain[0] if plain else 0
    kept = [step for number, step in enumerate(steps) if number not in plain]
    kept[at:at] = [f"{sign}{left}"] if left else []
    return text.replace(found[1], ", ".join(kept))


def _edged(  # noqa: PLR0917 (all that a stretch is made of)
    rows: list[WorkedRow], part: Sequence[Place], shaping: list[int], now: int, change: int,
    times: int, larger: Fraction,
) -> list[WorkedRow] | None:  # fmt: skip
    """Return the rows that shape at the edges, so often, over as much longer a stretch."""
    plain = {part[at].side: rows[at] for at in range(len(rows)) if at not in set(shaping)}
    span = round((shaping[-1] - shaping[0]) * larger)
    gap = span / Fraction(max(1, times - 1))
    one_side = len({part[at].side for at in shaping}) == 1 and part[0].side is not Side.ROUND
    step = _TWICE if one_side else 1
    places = [shaping[0] + step * round(number * gap / step) for number in range(times)]
    if len(set(places)) < times:
        return None
    other = {Side.RIGHT: Side.WRONG, Side.WRONG: Side.RIGHT, Side.ROUND: Side.ROUND}
    behind = len(rows) - 1 - shaping[-1]
    made: list[WorkedRow] = []
    side = part[0].side
    for at in range(places[-1] + 1 + behind):
        if at in places:
            now += change
            made.append(replace(rows[shaping[0]], count=now))
        elif (row := plain.get(side)) is not None:
            made.append(row)
        else:
            return None
        side = other[side]
    return made


# --- writing -------------------------------------------------------------------------------------


def _next_rows(
    rows: Sequence[WorkedRow], part: Sequence[Place], *, in_round: bool
) -> Iterator[WrittenLine]:
    """Write rows without numbers, so that sizes with more of them go on alike."""
    word = "rnd" if in_round else "row"
    at = 0
    for block in fold_rows([(*row.worked, row.note) for row in rows]):
        period = len(block.rows)
        for number, row in enumerate(rows[at : at + period]):
            side = SIDES[part[0].side] if at + number == 0 else ""
            yield written_line(row, f"Next {word}{side}:")
        if block.times > 1:
            last = rows[at + period * block.times - 1]
            counts = [row.count for row in rows[at : at + period * block.times] if row.count]
            stated = f" ({counts[-1]} sts)" if counts and last.count != 0 else ""
            more = block.times - 1
            which = f"last {word}" if period == 1 else f"last {period} {word}s"
            times = "once more" if more == 1 else f"{more} more times"
            yield WrittenLine(f"Rep {which} {times}{stated}")
        at += period * block.times


def _until(
    rows: Sequence[WorkedRow],
    part: Sequence[Place],
    stretch: Stretch,
    length: Length,
    *,
    in_round: bool,
) -> Iterator[WrittenLine]:
    for number, row in enumerate(rows[: stretch.period], 1):
        side = SIDES[part[0].side] if number == 1 else ""
        begin = heading(number, number, in_round=in_round).replace(":", f"{side}:")
        yield replace(written_line(row, begin, counted=False), note="")
    repeat = again(1, stretch.period, 1, in_round=in_round).removesuffix(" once more")
    ends = "" if in_round else f", ending with a {SIDES[part[-1].side].strip(' ()')} row"
    yield WrittenLine(f"{repeat} until piece measures {length} from cast-on edge{ends}")
