"""Builds the phrases about rows, lengths and shaping said in words."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

from lark import Token

from engine.limits import LONGEST_LENGTH_CM
from engine.pattern import phrases as ph
from engine.pattern.headings import Side
from engine.pattern.notation import Remark, Work
from engine.pattern.spelling import (
    lengths_of,
    routine_of,
    rows_listed,
    schedule_of,
    side_of,
)
from engine.pattern.stitches import STITCHES

if TYPE_CHECKING:
    from engine.quantities import Length

from engine.pattern.line_parts import (
    Child,
    LineParts,
    first_amount,
    problem_at,
    said_once,
    token_of,
    token_start,
    two_sides,
)

LONGEST_ROW_NUMBER = 5
"""In digits."""
_MARKED = re.compile(r"(\d+) ?(?:([a-d])|[\ue500-\ue5ff])")


class RowPhrases(LineParts):
    """One method for each rule of the grammar about whole rows."""

    def repeat_numbered(self, children: list[Child]) -> ph.RepeatRows:
        """Read "rep rows 1-4"."""
        words = ("ROW_LIST", "REP_ORDINALS")
        numbers = next(
            child for child in children if isinstance(child, Token) and child.type in words
        )
        listed, is_range = rows_listed(numbers)
        of = [c for c in children if isinstance(c, Token) and c.type == "OF_PATTERN"]
        part = re.sub(r"^of (?:the )?", "", self._original(of[0]).casefold()) if of else ""
        at = token_start(token_of(children[0]))
        return ph.RepeatRows(listed, is_range=is_range, of=part, at=at)

    def repeat_marked(self, children: list[Token]) -> ph.RepeatRows:
        """Read "rep rnds 1 MC and 1 CC", "rep rows 1a-2b"."""
        found = list(_MARKED.finditer(str(children[1])))
        marks = tuple(one[2] or self.colour_in(one[0]) for one in found)
        numbers = tuple(int(one[1][:LONGEST_ROW_NUMBER]) for one in found)
        is_range = bool(re.search("-|to", str(children[1])))
        return ph.RepeatRows(numbers, marks, is_range, at=token_start(children[0]))

    def repeat_last(self, children: list[Token]) -> ph.RepeatRows:
        """Read "rep last 2 rows"."""
        numbers = [child for child in children if child.type == "NUMBER_ROWS"]
        last = self._amount(numbers[0]) if numbers else (1,)
        return ph.RepeatRows(last=last, at=token_start(children[0]))

    def repeat_all(self, children: list[Token]) -> ph.RepeatRows:
        """Read "rep the pattern"."""
        return ph.RepeatRows(everything=True, at=token_start(children[0]))

    def repeat_named(self, children: list[Token]) -> ph.RepeatRows:
        """Read "rep dec row"."""
        words = str(children[0]).split()
        last = (1,) if {"this", "last"} & set(words[:3]) else None
        while words and words[0].rstrip(".") in _REPEAT_WORDS:
            words.pop(0)
        return ph.RepeatRows(name=" ".join(words), last=last, at=token_start(children[0]))

    def how_many_rows(self, children: list[Token]) -> ph.HowManyRows:
        """Read "3 rows"."""
        number = next(child for child in children if child.type == "NUMBER_ROWS")
        row = next(child for child in children if child.type == "ROW")
        amount = self._amount(number)
        if "ridge" in row:
            amount = tuple(a and a * 2 for a in amount)
        return ph.HowManyRows(amount, "more" in row, token_start(number))

    def every_row(self, children: list[Token]) -> ph.EveryRow:
        """Read "every row"."""
        return ph.EveryRow(token_start(children[0]))

    def in_pattern(self, children: list[Child]) -> ph.Phrase:
        """Read "in st st", "as set", "moss st 5", or a stitch pattern of the file."""
        word = str(children[0])
        at = token_start(token_of(children[0]))
        if len(children) > 1:
            return Work(STITCHES["work"], first_amount(children), at=at)
        for letter in word:
            name = self.signs.get(letter)
            if isinstance(name, str):
                return ph.InPattern(name, at=at)
        verb = word.split(maxsplit=1)[0] in {"work", "working", "cont", "continue", "keep"}
        return ph.InPattern(routine_of(word), work=verb, at=at)

    def until_measures(self, children: list[Child]) -> ph.UntilMeasures:
        """Read "until piece measures 8 (9, 10) cm from cast-on edge"."""
        return self._until(children, for_length=False)

    def for_length(self, children: list[Child]) -> ph.UntilMeasures:
        """Read "for 5 cm"."""
        return self._until(children, for_length=True)

    def _until(self, children: list[Child], *, for_length: bool) -> ph.UntilMeasures:
        lengths = next(child for child in children if isinstance(child, tuple))
        where = " ".join(
            str(child)
            for child in children
            if isinstance(child, Token) and child.type == "FROM_WHERE"
        )
        tokens = [child for child in children if isinstance(child, Token)]
        return ph.UntilMeasures(lengths, where, for_length, token_start(tokens[0]) if tokens else 0)

    def length(self, children: list[Token]) -> tuple[Length, ...]:
        """Read "8 (9, 10) cm"."""
        lengths = lengths_of(str(children[0]), str(children[1]))
        if lengths is None:
            raise problem_at(f"'{children[0]}' is no length.", token_start(children[0]))
        if any(length.cm > LONGEST_LENGTH_CM for length in lengths):
            raise problem_at("Nothing is longer than a kilometre.", token_start(children[0]))
        return lengths

    def until_worked(self, children: list[Token]) -> ph.UntilWorked:
        """Read "until all sts have been worked"."""
        return ph.UntilWorked(token_start(children[0]))

    def until_same(self, children: list[Token]) -> ph.UntilSame:
        """Read "until same length as back"."""
        return ph.UntilSame(self._original(children[0]), token_start(children[0]))

    def until_event(self, children: list[Token]) -> ph.UntilSame:
        """Read "until band reaches centre back neck": the knitter says when."""
        return ph.UntilSame(self._original(children[0]), token_start(children[0]))

    def in_this_way(self, children: list[Token]) -> ph.InThisWay:
        """Read "continue in this way, working 1 more st before each turn"."""
        return ph.InThisWay(self._original(children[0]), token_start(children[0]))

    def until_count(self, children: list[Child]) -> ph.UntilCount:
        """Read "to 46 sts"."""
        return ph.UntilCount(first_amount(children))

    def until_between(self, children: list[Child]) -> ph.UntilCount:
        """Read "until there are 14 sts between markers"."""
        return ph.UntilCount(first_amount(children), between=True)

    def ending(self, children: list[Token]) -> ph.Ending:
        """Read "ending with a WS row"."""
        word = str(children[0])
        side = side_of(word)
        if side is not None and "facing" in word:
            # "With RS facing for next row" means that the last row worked is a WS row.
            side = Side.WRONG if side is Side.RIGHT else Side.RIGHT
        numbers = re.findall(r"\d+", word)
        digits = numbers[0] if len(numbers) == 1 else ""
        words = word.split()
        face = "k" if {"k", "knit"} & set(words) else "p" if {"p", "purl"} & set(words) else ""
        row = int(digits) if digits and len(digits) <= LONGEST_ROW_NUMBER else None
        return ph.Ending(side, face, row, at=token_start(children[0]))

    def ending_short(self, children: list[Child]) -> ph.Ending:
        """Read "ending last rnd 5 sts before marker"."""
        return ph.Ending(short=first_amount(children), at=token_start(token_of(children[0])))

    def beginning(self, children: list[Token]) -> ph.Beginning:
        """Read "beg with a k row"."""
        word = str(children[0])
        words = word.split()
        face = "k" if {"k", "knit"} & set(words) else "p" if {"p", "purl"} & set(words) else ""
        return ph.Beginning(side_of(word), face, token_start(children[0]))

    def change(self, children: list[Child]) -> ph.Change:
        """Read "dec 1 st each end"."""
        word = token_of(children[0])
        said_once(children[1:])
        amount = next((child for child in children if isinstance(child, tuple)), (1,))
        if word.type == "WORKED_TOG" and "first" in word:
            children = [*children, ph.PhrasePlace(ph.ChangePlace.BEGINNING)]
        places = [child.place for child in children if isinstance(child, ph.PhrasePlace)]
        for child in children:
            if isinstance(child, Token) and child.type == "EACH_PART":
                two_sides(child)
                places.append(ph.ChangePlace.EACH_END)
        place = places[0] if places else ph.ChangePlace.ANYWHERE
        words = next((child.words for child in children if isinstance(child, ph.PhrasePlace)), "")
        counted = len(children) > 1 and any(isinstance(child, tuple) for child in children)
        return ph.Change("inc" in word, amount, place, words, token_start(word), counted)

    def place(self, children: list[Token]) -> ph.PhrasePlace:
        """Read "each end of"."""
        places = {
            "EACH_END": ph.ChangePlace.EACH_END,
            "BOTH_ENDS": ph.ChangePlace.EACH_END,
            "AT_BEG": ph.ChangePlace.BEGINNING,
            "AT_END_OF": ph.ChangePlace.END,
            "AT_EDGE": ph.ChangePlace.EDGE,
            "AT_MARK": ph.ChangePlace.MARKERS,
        }
        word = children[0]
        words = "at the neck edge" if word.type == "BOTH_ENDS" and "neck" in word else ""
        return ph.PhrasePlace(places[word.type], words, at=token_start(word))

    def schedule(self, children: list[Token]) -> ph.Schedule:
        """Read "on next and every foll 6th row"."""
        return replace(schedule_of(str(children[0])), at=token_start(children[0]))

    def evenly(self, children: list[Token]) -> ph.Evenly:
        """Read "evenly across"."""
        first = re.search(r"\bfirst (?:row|rnd|round)\b", str(children[0])) is not None
        return ph.Evenly(token_start(children[0]), first)

    def as_given(self, children: list[Token]) -> ph.AsGiven:
        """Read "work as for back to **"."""
        return ph.AsGiven(str(children[0]), token_start(children[0]))

    def meanwhile(self, children: list[Token]) -> ph.Meanwhile:
        """Read "at the same time"."""
        return ph.Meanwhile(token_start(children[0]))

    def side_facing(self, children: list[Token]) -> ph.SideFacing:
        """Read "with RS facing"."""
        side = side_of(str(children[0])) or Side.RIGHT
        return ph.SideFacing(side, token_start(children[0]))

    def manner(self, children: list[Token]) -> ph.ShapingManner:
        """Read "loosely"."""
        return ph.ShapingManner(str(children[0]), token_start(children[0]))

    def remark(self, children: list[Token]) -> Remark:
        """Keep words that change no stitch."""
        return Remark(self._original(children[0]).strip(), token_start(children[0]))


_REPEAT_WORDS = {"as", "rep", "repeat", "repeating", "work", "a", "the", "this", "last"}
