"""
What a line of phrases means together: a row, rows to repeat, a stretch, a shaping, or a remark.

A line is prepared once for all sizes; the assembling for a size only puts the numbers in.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from enum import StrEnum
from itertools import pairwise
from typing import TYPE_CHECKING

from engine.pattern import phrases as ph
from engine.pattern.changes_said import change_stated
from engine.pattern.notation import (
    Amount,
    BindOff,
    CastOn,
    Hold,
    JoinRound,
    Marker,
    PickUp,
    Remark,
    TakeUp,
    TurnWork,
    Work,
    amounts,
    is_graded,
)
from engine.pattern.problems import PatternError, Problem
from engine.pattern.rows import Row, row_of
from engine.pattern.scopes import in_one_place, once_to_the_end
from engine.pattern.spelling import amount_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from engine.pattern.headings import Unchecked
    from engine.pattern.toml_positions import Value


class LineKind(StrEnum):
    """What a line is."""

    ROW = "row"
    EVENT = "event"
    SHAPING = "shaping"
    REPEAT = "repeat"
    IN_THIS_WAY = "in this way"
    STRETCH = "stretch"
    ROUTINE = "routine"
    GIVEN = "given"
    REMARK = "remark"
    COUNT = "count"
    MARK = "mark"
    UNCHECKED = "unchecked"


@dataclass(frozen=True)
class Prepared:
    """
    A line, what it is, and where it stands in the file.

    `row` is set for rows and events; `part` numbers the sentences of one row of the file. `stated`
    is the designer's count after the line, `marks` are the stars "**" that only mark a place.
    `cache` keeps what is the same for all sizes.
    """

    source: Value
    line: ph.PhraseLine
    kind: LineKind
    row: Row | None = None
    stated: ph.Stated | None = None
    note: str = ""
    marks: tuple[str, ...] = ()
    graded: bool = False
    meanwhile: bool = False
    part: int = 0
    cache: dict[str, object] = field(default_factory=dict, compare=False, repr=False)

    @property
    def phrases(self) -> tuple[ph.Phrase, ...]:
        """The phrases of the line."""
        return self.line.phrases

    def first(self, *kinds: type) -> ph.Phrase | None:
        """Return the first phrase of one of these kinds, or None."""
        return next((phrase for phrase in self.phrases if isinstance(phrase, kinds)), None)

    @property
    def label(self) -> str:
        """How the line is called: its heading, or its own words."""
        if self.line.heading is not None:
            return self.line.heading.label
        if self.line.unchecked is not None:
            return self.line.unchecked.label
        words = " ".join(self.line.text.split())
        return words if len(words) <= LONGEST_LABEL else f"{words[:LONGEST_LABEL]}..."


LONGEST_LABEL = 60

_ASIDE = (Hold, TakeUp, JoinRound, Marker, Remark, ph.OnHolder)
_SAID_ONLY = (ph.ShapingManner, ph.SideFacing, ph.Meanwhile, ph.Evenly)


def prepare(
    source: Value, line: ph.PhraseLine, *, stated: Amount | None = None, note: str = ""
) -> Prepared:
    """Return what a line means; raises PatternError where it means nothing."""
    if line.unchecked is not None:
        said = ph.Stated(stated) if stated is not None else _stated_in_words(line.unchecked)
        graded = said is not None and len(said.amount) > 1
        return Prepared(source, line, LineKind.UNCHECKED, stated=said, note=note, graded=graded)
    line = _colour_alone(_given_again(line))
    phrases, marks = _without_marks(change_stated(line))
    phrases = _announced(_placed_first(_stitch_placed(_rows_until(_going_on(phrases)))))
    line = ph.PhraseLine(line.text, phrases, line.heading, line.sizes, None)
    kind = _kind(line)
    _nothing_dropped(kind, line)
    in_one_place(line)
    row: Row | None = None
    said = ph.Stated(stated) if stated is not None else _stated(line)
    if kind in {LineKind.ROW, LineKind.EVENT}:
        row = row_of(_row_phrases(phrases))
        once_to_the_end(phrases, row)
        said = said if stated is not None else row.stated or row.changed
        if not row.items and not said:
            raise PatternError(Problem("This line says nothing to be worked.", 1, 1))
    return Prepared(
        source,
        line,
        kind,
        row,
        said,
        note,
        marks,
        graded=_is_graded(line, row, said),
        meanwhile=any(isinstance(phrase, ph.Meanwhile) for phrase in phrases),
    )


def _nothing_dropped(kind: LineKind, line: ph.PhraseLine) -> None:
    """Raise at stitches in a line that means other rows: they would not be worked."""
    if kind not in {LineKind.REPEAT, LineKind.STRETCH, LineKind.IN_THIS_WAY, LineKind.ROUTINE}:
        return
    for phrase in line.phrases:
        match phrase:
            case ph.Bracket() if _only_counts(phrase):
                continue
            case (
                ph.To()
                | ph.Bracket()
                | BindOff()
                | CastOn()
                | Hold()
                | PickUp()
                | TurnWork()
                | Work()
            ):
                sentence = "This is no part of the rows before it; write it as a line of its own."
                raise PatternError(Problem(sentence, 1, phrase.at + 1))
            case ph.PhraseTimes() | ph.Schedule() if kind is LineKind.STRETCH:
                raise PatternError(Problem(_HOW_OFTEN, 1, phrase.at + 1))
            case ph.Change() if kind in {LineKind.STRETCH, LineKind.ROUTINE}:
                raise PatternError(Problem(_SHAPED_ALONE, 1, phrase.at + 1))
            case _:
                continue


_HOW_OFTEN = "It is not clear what is done so often."
_SHAPED_ALONE = "Write this shaping as a line of its own: on which row it is worked is not clear."


def _colour_alone(line: ph.PhraseLine) -> ph.PhraseLine:
    """Read "With MC:" on a line of its own as words that stand before the next row."""
    only = all(isinstance(phrase, ph.ColourChange) for phrase in line.phrases)
    if not line.phrases or not only or line.heading is not None:
        return line
    return replace(line, phrases=(Remark(line.text.strip(" :.\n"), line.phrases[0].at),))


def _given_again(line: ph.PhraseLine) -> ph.PhraseLine:
    """Read a line that only says "rep from ** to **" as rows that were given before."""
    said = [phrase for phrase in line.phrases if not isinstance(phrase, Remark | ph.Stated)]
    match said:
        case [ph.RepeatFrom() as again] | [ph.RepeatFrom() as again, ph.PhraseTimes()]:
            pass
        case _:
            return line
    if len(again.sign) < 2 or again.stop is not None:  # noqa: PLR2004 (two marks)
        return line
    given: list[ph.Phrase] = [ph.AsGiven(line.text[again.at :], again.at)]
    if again.times is not None:
        given.append(again.times)
    rest = [phrase for phrase in line.phrases if phrase is not again]
    return replace(line, phrases=(*given, *rest))


def _rows_until(phrases: tuple[ph.Phrase, ...]) -> tuple[ph.Phrase, ...]:
    """Read "until 8 sts rem" as a count wherever whole rows are repeated or shaped."""
    if not any(isinstance(one, ph.RepeatRows | ph.Change | ph.Schedule) for one in phrases):
        return phrases
    return tuple(
        ph.UntilCount(one.amount, at=one.at) if isinstance(one, ph.Remaining) else one
        for one in phrases
    )


def _going_on(phrases: tuple[ph.Phrase, ...]) -> tuple[ph.Phrase, ...]:
    """Read "cont in patt" before a shaping as going on, not as rows to be repeated."""
    if not any(isinstance(one, ph.Change) for one in phrases):
        return phrases
    return tuple(
        ph.InPattern("as set", at=one.at)
        if isinstance(one, ph.RepeatRows) and one.everything
        else one
        for one in phrases
    )


def _stitch_placed(phrases: tuple[ph.Phrase, ...]) -> tuple[ph.Phrase, ...]:
    """Read "k2tog at each end of next row" like "dec 1 st at each end of next row"."""
    match phrases:
        case (Work() as work, ph.PhrasePlace() as place, *rest) if abs(work.stitch.net) == 1:
            up = work.stitch.net > 0
            change = ph.Change(up, work.amount, place.place, work.stitch.name, work.at)
            return (change, *rest)
        case _:
            return phrases


def _announced(phrases: tuple[ph.Phrase, ...]) -> tuple[ph.Phrase, ...]:
    """Leave out what only announces a row: "dec 1 st each end of next row as follows: k1, ..."."""
    end = next((n for n, one in enumerate(phrases) if _AS_FOLLOWS.search(_said(one))), None)
    if not end or not any(isinstance(one, ph.Change) for one in phrases[:end]):
        return phrases
    if not _has_stitches(phrases[end + 1 :]):
        return phrases
    for one in phrases[:end]:
        match one:
            case (
                ph.Change()
                | ph.PhrasePlace()
                | ph.Evenly()
                | ph.Stated()
                | ph.SideFacing()
                | Remark()
            ):
                continue
            case ph.Schedule() if one.times == (1,) and one.first in {None, 1}:
                continue
            case _:
                sentence = "Write the row first, and then on which rows it is worked again."
                raise PatternError(Problem(sentence, 1, one.at + 1))
    return phrases[end:]


_AS_FOLLOWS = re.compile(r"\b(?:as foll\w*|thus)\.?$", re.IGNORECASE)


def _said(phrase: ph.Phrase) -> str:
    return phrase.text if isinstance(phrase, Remark) else ""


def _placed_first(phrases: tuple[ph.Phrase, ...]) -> tuple[ph.Phrase, ...]:
    """Read "at beg of next 2 rows, bo 4 sts" like "bo 4 sts at beg of next 2 rows"."""
    match phrases:
        case (
            ph.PhrasePlace() as place,
            ph.Schedule() as when,
            BindOff() | CastOn() as what,
            *rest,
        ):
            return (ph.Bracket((what, place), at=what.at), when, *rest)
        case (
            BindOff(amount=None, stop=None) as what,
            Remark() as aside,
            ph.PhrasePlace() as place,
            *rest,
        ):
            return (aside, ph.Bracket((what, place), at=what.at), *rest)
        case (Remark() as aside, ph.PhrasePlace(), *rest):
            return (aside, *_placed_first(phrases[1:]))
        case (ph.PhrasePlace() as place, ph.Change(place=ph.ChangePlace.ANYWHERE) as what, *rest):
            return (replace(what, place=place.place, words=place.words), *rest)
        case (ph.PhrasePlace() as place, BindOff() | CastOn() as what, *rest):
            return (ph.Bracket((what, place), at=what.at), *rest)
        case (ph.PhrasePlace() as place, ph.Bracket(phrases=(BindOff() as what,)) as bound, *rest):
            return (replace(bound, phrases=(what, place)), *rest)
        case _:
            return phrases


def _without_marks(line: ph.PhraseLine) -> tuple[tuple[ph.Phrase, ...], tuple[str, ...]]:
    """Take out the stars of two and more that stand alone: they mark a place, no repeat."""
    used = {
        phrase.sign[: len(phrase.sign)]
        for phrase in line.phrases
        if isinstance(phrase, ph.RepeatFrom) and phrase.sign
    }
    kept: list[ph.Phrase] = []
    marks: list[str] = []
    for index, phrase in enumerate(line.phrases):
        outermost = index in {0, len(line.phrases) - 1}
        if (
            isinstance(phrase, ph.Star)
            and len(phrase.sign) > 1
            and outermost
            and phrase.sign not in used
        ):
            marks.append(phrase.sign)
        else:
            kept.append(phrase)
    return tuple(kept), tuple(marks)


def _kind(line: ph.PhraseLine) -> LineKind:  # noqa: PLR0911 (one line a kind)
    said = [phrase for phrase in line.phrases if not isinstance(phrase, _SAID_ONLY)]
    kinds = {type(phrase) for phrase in said}
    if not said:
        return LineKind.MARK if not line.heading else LineKind.ROW
    if ph.AsGiven in kinds:
        return LineKind.GIVEN
    if ph.InThisWay in kinds or (ph.Change in kinds and _like_before(line)):
        return LineKind.IN_THIS_WAY
    if ph.RepeatRows in kinds:
        return LineKind.REPEAT
    if _is_shaping(said):
        return LineKind.SHAPING
    stretch = {ph.HowManyRows, ph.UntilMeasures, ph.UntilSame, ph.EveryRow}
    if stretch & kinds and not _has_stitches(said):
        return LineKind.STRETCH
    if (
        kinds <= {ph.InPattern, ph.Beginning, ph.Stated, Remark, ph.Ending}
        and ph.InPattern in kinds
    ):
        return LineKind.STRETCH if line.heading else LineKind.ROUTINE
    if kinds <= {Remark}:
        return LineKind.REMARK
    if kinds <= {ph.Stated, ph.BareNumber, Remark, ph.UntilCount}:
        return LineKind.COUNT
    if all(isinstance(phrase, _ASIDE) for phrase in said) and not line.heading:
        return LineKind.EVENT
    if kinds <= {CastOn, ph.Stated, Remark, JoinRound, Marker} and not line.heading:
        return LineKind.EVENT
    return LineKind.ROW


def _is_shaping(said: Sequence[ph.Phrase]) -> bool:
    said = [phrase for phrase in said if not _only_counts(phrase)]
    kinds = {type(phrase) for phrase in said}
    placed = any(_placed_bind_off(phrase) for phrase in said)
    if placed:
        return True
    if ph.Change not in kinds:
        return False
    others = kinds - {
        ph.Beginning, ph.Change, ph.Schedule, ph.PhraseTimes, ph.UntilCount, ph.Stated,
        ph.BareNumber,
        ph.PhrasePlace,
        ph.EveryRow, ph.Evenly, ph.Ending, ph.InPattern, ph.HowManyRows, ph.UntilMeasures, Remark,
        ph.Bare, ph.SideFacing, ph.UntilSame, ph.Again, ph.When, ph.Meanwhile, ph.ColourChange,
        ph.ShapingManner,
    }  # fmt: skip
    return not others


def _like_before(line: ph.PhraseLine) -> bool:
    """Whether a shaping without a number of its own goes on "in this way"."""
    changes = [phrase for phrase in line.phrases if isinstance(phrase, ph.Change)]
    ways = [phrase for phrase in line.phrases if isinstance(phrase, ph.ShapingManner)]
    if any(not one.counted and _GOES_ON.match(line.text, one.at) for one in changes):
        return True  # "cont to dec every other row": as many as before
    for one, after in pairwise(line.phrases):
        if isinstance(one, ph.Change) and one.place is ph.ChangePlace.ANYWHERE:
            goes_on = isinstance(after, ph.InPattern) and after.name == "as set"
            if goes_on and one.amount == (1,) and _AS_BEFORE.match(line.text, one.at):
                return True  # "dec as set on every alt row"
    return all(change.amount == (1,) for change in changes) and any(
        way.text.startswith(("in this", "in the same", "in that", "like this")) for way in ways
    )


_GOES_ON = re.compile(r"(?:cont|keep)", re.IGNORECASE)
_AS_BEFORE = re.compile(r"[a-z']+ as (?:set|est|before)", re.IGNORECASE)


def _only_counts(phrase: ph.Phrase) -> bool:
    return isinstance(phrase, ph.Bracket) and all(
        isinstance(part, ph.Stated | ph.BareNumber) for part in phrase.phrases
    )


def _placed_bind_off(phrase: ph.Phrase) -> bool:
    return isinstance(phrase, ph.Bracket) and any(
        isinstance(part, ph.PhrasePlace) for part in phrase.phrases
    )


def _has_stitches(said: Sequence[ph.Phrase]) -> bool:
    return any(
        isinstance(phrase, ph.To | ph.Bracket | ph.RepeatFrom | BindOff | CastOn | Work)
        and not _only_counts(phrase)
        for phrase in said
    )


def _row_phrases(phrases: tuple[ph.Phrase, ...]) -> tuple[ph.Phrase, ...]:
    return tuple(phrase for phrase in phrases if not isinstance(phrase, ph.Meanwhile))


_LAST_COUNT = re.compile(
    r"(?:^|[^\w\s]|\b(?:have|are|be|now|total|leav\w+|mak\w+|giv\w+|rem|remain|until|to|is))"
    r"\s*(\d+(?:(?:/\d+)+|(?:-\d+){2,}|(?::\d+){2,})|(?:\d+|-)(?:\s*[(\[{][\d\s,;:/|-]*[)\]}])?)"
    r"\s*st(?:itch)?(?:e?s)?\b(?:\s+(?:rem\w*|now|in total|on (?:the )?needles?)\b)?[)\]}\s.]*$",
    re.IGNORECASE,
)


def _stated_in_words(unchecked: Unchecked) -> ph.Stated | None:
    """Return the count at the end of a row whose words are not understood."""
    found = _LAST_COUNT.search(unchecked.text.replace("\N{EN DASH}", "-"))
    amount = amount_of(found.group(1)) if found is not None else None
    if found is None or amount is None:
        return None
    return ph.Stated(amount, at=unchecked.at + found.start())


def _stated(line: ph.PhraseLine) -> ph.Stated | None:
    for index in range(len(line.phrases) - 1, -1, -1):
        phrase = line.phrases[index]
        after = line.phrases[index + 1] if index + 1 < len(line.phrases) else None
        match phrase:
            case ph.Stated() if isinstance(after, ph.PhraseTimes | ph.Schedule):
                continue  # "bo 4 sts once, 2 sts twice"
            case ph.Stated():
                return phrase
            case ph.BareNumber():
                return ph.Stated(phrase.amount, at=phrase.at)
            case ph.Bracket() if phrase.phrases and isinstance(phrase.phrases[0], ph.Stated):
                return phrase.phrases[0]
            case _:
                continue
    return None


def all_amounts(line: ph.PhraseLine, row: Row | None) -> Iterator[tuple[Amount, int]]:
    """Yield every amount in a line, with where it stands."""
    if row is not None:
        yield from amounts(row.items)
        for said in (row.stated, row.changed):
            if said is not None:
                yield said.amount, said.at
        return
    for phrase in line.phrases:
        yield from _phrase_amounts(phrase)


def _phrase_amounts(phrase: ph.Phrase) -> Iterator[tuple[Amount, int]]:
    match phrase:
        case (
            ph.PhraseTimes()
            | ph.Stated()
            | ph.BareNumber()
            | ph.HowManyRows()
            | ph.UntilCount()
            | ph.Change()
        ):
            yield phrase.amount, phrase.at
        case ph.RepeatRows() if phrase.last is not None:
            yield phrase.last, phrase.at
        case ph.Schedule():
            yield from ((one, phrase.at) for one in (phrase.times, phrase.by_size) if one)
        case ph.UntilMeasures():
            yield tuple(0 for _ in phrase.lengths), phrase.at
        case ph.Bracket():
            for inner in phrase.phrases:
                yield from _phrase_amounts(inner)
        case BindOff() | CastOn():
            yield from amounts((phrase,))
        case _:
            return


def _is_graded(line: ph.PhraseLine, row: Row | None, stated: ph.Stated | None) -> bool:
    if row is not None and is_graded(row.items):
        return True
    if stated is not None and len(stated.amount) > 1:
        return True
    return any(len(amount) > 1 for amount, _ in all_amounts(line, row))
