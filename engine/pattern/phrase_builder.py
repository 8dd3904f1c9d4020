"""Builds the phrases of a line while lark parses it: one method for each rule of the grammar."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from lark import Discard, Token, Transformer

from engine.pattern import phrases as ph
from engine.pattern.notation import (
    Amount,
    BindOff,
    CastOn,
    Hold,
    HoldWhich,
    JoinRound,
    Marker,
    MarkerMove,
    PickUp,
    Remark,
    Stop,
    StopAt,
    TakeUp,
    Turn,
    TurnKind,
    Work,
)
from engine.pattern.problems import PatternError, Problem
from engine.pattern.spelling import (
    amount_of,
    how_of,
    lengths_of,
    marker_name,
    routine_of,
    rows_listed,
    schedule_of,
    side_of,
    stitch_of,
    which_of,
)
from engine.pattern.stitches import STITCHES, Stitch

if TYPE_CHECKING:
    from collections.abc import Iterable

    from engine.quantities import Length

Child = object


class PhraseBuilder(Transformer[Token, ph.Line]):
    """Turns the grammar's rules into phrases; `signs` are the names of the pattern file."""

    def __init__(self) -> None:
        """Start without names."""
        super().__init__(visit_tokens=False)
        self.signs: dict[str, object] = {}
        self.text = ""

    # --- the line and its heading ----------------------------------------------------------------

    def start(self, children: list[Child]) -> ph.Line:
        """Gather a whole line."""
        heading = sizes = unchecked = None
        found: list[ph.Phrase] = []
        for child in children:
            match child:
                case Token():
                    pass
                case ph.Heading():
                    heading = child
                case ph.SizesOnly():
                    sizes = child
                case ph.Unchecked():
                    unchecked = child
                case _:
                    found.append(child)  # type: ignore[arg-type]
        return ph.Line(self.text, tuple(found), heading, sizes, unchecked)

    def sizes_only(self, children: list[Token]) -> ph.SizesOnly:
        """Read "sizes M and L only"."""
        token = children[0]
        return ph.SizesOnly(self._original(token), _start(token))

    def unchecked(self, children: list[Token]) -> ph.Unchecked:
        """Read a line that is not to be counted."""
        label, text = children
        words = self._original(label).rstrip(" :")
        return ph.Unchecked(words, self._original(text).strip(), _start(text))

    def numbered_heading(self, children: list[Child]) -> ph.Heading:
        """Read "Row 1 (RS):", "Rows 2 and 4:", "Rnd 2 and all even rnds:"."""
        tokens = [child for child in children if isinstance(child, Token)]
        numbers = next(token for token in tokens if token.type == "ROW_LIST")
        listed, is_range = rows_listed(numbers)
        return self._heading(ph.HeadingKind.NUMBERED, children, numbers=listed, is_range=is_range)

    def ordinal_heading(self, children: list[Child]) -> ph.Heading:
        """Read "1st and 3rd rows:"."""
        listed, is_range = rows_listed(str(children[0]))
        return self._heading(ph.HeadingKind.NUMBERED, children, numbers=listed, is_range=is_range)

    def every_heading(self, children: list[Child]) -> ph.Heading:
        """Read "All WS rows:"."""
        return self._heading(ph.HeadingKind.WHICH, children, also=which_of(str(children[0])))

    def next_heading(self, children: list[Child]) -> ph.Heading:
        """Read "Next row:", "Next 3 rows:"."""
        return self._heading(
            ph.HeadingKind.NEXT, children, count=amount_of(str(children[0])) or (1,)
        )

    def named_heading(self, children: list[Child]) -> ph.Heading:
        """Read "Set-up row:", "Dec rnd 2:"."""
        name = " ".join(str(children[0]).split())
        return self._heading(ph.HeadingKind.NAMED, children, name=name)

    def head_note(self, children: list[Token]) -> Token:
        """Keep what is said in brackets after a row's number."""
        return children[0]

    def _heading(
        self,
        kind: ph.HeadingKind,
        children: list[Child],
        *,
        numbers: tuple[int, ...] = (),
        is_range: bool = False,
        also: ph.Which | None = None,
        count: Amount = (1,),
        name: str = "",
    ) -> ph.Heading:
        tokens = [child for child in children if isinstance(child, Token)]
        words = [token for token in tokens if token.type != "HEAD_END"]
        notes = " ".join(self._original(token) for token in tokens if token.type == "HEAD_NOTE")
        extra = [token for token in tokens if token.type == "ROW_ALSO"]
        first, last = words[0], words[-1]
        label = self.text[_start(first) : _end(last)].strip()
        head = str(first)
        side = side_of(" ".join(str(token) for token in tokens if token.type != "ROW_ALSO"))
        if extra:
            also = which_of(str(extra[0]))
        return ph.Heading(
            kind,
            " ".join(label.split()),
            numbers,
            is_range,
            also,
            count,
            side,
            name,
            "rnd" in head or "round" in head,
            notes,
            _start(first),
        )

    # --- stitches --------------------------------------------------------------------------------

    def plain(self, children: list[Child]) -> ph.Phrase:
        """Read knit, purl, slip or work, with what is said about it."""
        word = _token(children[0])
        stitch = STITCHES[stitch_of(word)]
        return self._worked(stitch, _start(word), children[1:], named=False)

    def as_face(self, children: list[Child]) -> ph.Phrase:
        """Read "k the knits and p the purls"."""
        word = _token(children[0])
        return self._worked(STITCHES["work as they face"], _start(word), children[1:], named=False)

    def shaped(self, children: list[Child]) -> ph.Phrase:
        """Read a stitch that has a name of its own."""
        word = _token(children[0])
        at = _start(word)
        if word.type == "DEFINED_STITCH":
            stitch = self.signs[str(word)[0]]
            if not isinstance(stitch, Stitch):
                raise TypeError("A sign for a stitch means something else.")
            return self._worked(stitch, at, children[1:], named=True)
        name, times = stitch_of(word), {"YO2": 2, "YO3": 3}.get(word.type, 1)
        phrase = self._worked(stitch_named(name), at, children[1:], named=True)
        if times > 1 and isinstance(phrase, Work):
            return replace(phrase, amount=tuple(a and a * times for a in phrase.amount))
        return phrase

    def stitch(self, children: list[Token]) -> Token:
        """Hand on the stitch's own word."""
        return children[0]

    def _worked(self, stitch: Stitch, at: int, parts: list[Child], *, named: bool) -> ph.Phrase:
        amount: Amount | None = None
        how: list[str] = []
        colour = ""
        stop: Stop | None = None
        times: ph.Times | None = None
        for part in parts:
            match part:
                case Stop():
                    stop = part
                case ph.Times():
                    times = part
                case tuple():
                    amount = part
                case ph.ColourChange():
                    colour = part.colour
                case str():
                    how.append(part)
        how_words = tuple(dict.fromkeys(how))
        work = Work(stitch, amount or (1,), how_words, colour, at)
        if stop is not None:
            return ph.To(work, stop, amount is not None, at)
        if times is not None:
            return ph.Bracket((work,), times=times, at=at)
        if amount is None and not named:
            return ph.Bare(work, at)
        return work

    def amount(self, children: list[Child]) -> Child:
        """Hand on how many stitches are meant."""
        return next(child for child in children if isinstance(child, tuple))

    def one(self, _: list[Child]) -> Amount:
        """Read "next st"."""
        return (1,)

    def all_of_them(self, _: list[Child]) -> Stop:
        """Read "all sts"."""
        return Stop()

    def graded(self, children: list[Token]) -> Amount:
        """Read a number, with one for every size if there are several."""
        return self._amount(children[0])

    def graded_sts(self, children: list[Token]) -> Amount:
        """Read "24 (28, 32) sts"."""
        return self._amount(children[0])

    def how(self, children: list[Child]) -> Child:
        """Read "tbl", "wyif", "with B"."""
        word = _token(children[0])
        if word.type in {"COLOUR", "WITH_COLOUR"}:
            return self._colour(word)
        return how_of(word.type)

    def colour(self, children: list[Token]) -> ph.ColourChange:
        """Read a colour that stands alone."""
        return self._colour(children[0])

    def with_colour(self, children: list[Token]) -> ph.ColourChange:
        """Read "with B"."""
        return self._colour(children[0])

    def _colour(self, word: Token) -> ph.ColourChange:
        sign = next(letter for letter in str(word) if letter in self.signs)
        return ph.ColourChange(str(self.signs[sign]), _start(word))

    def group(self, children: list[Child]) -> ph.Bracket:
        """Read what stands in brackets."""
        inner: list[ph.Phrase] = []
        stop: Stop | None = None
        times: ph.Times | None = None
        into: int | None = None
        closed = False
        for child in children[1:]:
            match child:
                case Token(type="RPAR"):
                    closed = True
                case Token(type="INTO"):
                    into = _into(child)
                case Token():
                    pass
                case Stop() if closed:
                    stop = child
                case ph.Times() if closed:
                    times = child
                case _:
                    inner.append(child)  # type: ignore[arg-type]
        return ph.Bracket(tuple(inner), stop, times, into, _start(_token(children[0])))

    def into(self, children: list[Token]) -> ph.Into:
        """Read "in next st"."""
        return ph.Into(_into(children[0]), str(children[0]).startswith("all"), _start(children[0]))

    def star(self, children: list[Token]) -> ph.Star:
        """Read a star."""
        return ph.Star(str(children[0]), _start(children[0]))

    def repeat_star(self, children: list[Child]) -> ph.RepeatFrom:
        """Read "rep from * to end"."""
        word = _token(children[0])
        signs = "".join(letter for letter in str(word) if letter in "*†‡")
        return self._repeat(signs, word, children[1:], said=True)

    def repeat_stop(self, children: list[Child]) -> ph.RepeatFrom:
        """Read "rep to end", or an end that stands alone."""
        word = children[0]
        if isinstance(word, Token):
            return self._repeat("", word, children[1:], said=True)
        return ph.RepeatFrom("", word if isinstance(word, Stop) else None, said=False)

    def _repeat(self, sign: str, word: Token, parts: list[Child], *, said: bool) -> ph.RepeatFrom:
        stop = next((part for part in parts if isinstance(part, Stop)), None)
        times = next((part for part in parts if isinstance(part, ph.Times)), None)
        return ph.RepeatFrom(sign, stop, times, said, _start(word))

    def psso(self, children: list[Token]) -> ph.PassOver:
        """Read "psso"."""
        word = str(children[0])
        count = 2 if "2" in word or "two" in word or "both" in word else 3 if "3" in word else 1
        return ph.PassOver(count, _start(children[0]))

    # --- ends, times, markers --------------------------------------------------------------------

    def to_end(self, _: list[Child]) -> Stop:
        """Read "to end"."""
        return Stop()

    def to_last(self, children: list[Child]) -> Stop:
        """Read "to last 2 sts"."""
        return Stop(left=_first_amount(children))

    def to_remain(self, children: list[Child]) -> ph.Remaining:
        """Read "until 8 sts remain", which is an end of a stitch or of rows."""
        return ph.Remaining(_first_amount(children))

    def to_centre(self, _: list[Child]) -> Stop:
        """Read "to centre st"."""
        return Stop(StopAt.MARKER, mark=CENTRE)

    def to_made(self, children: list[Child]) -> ph.Made:
        """Read "until there are 20 sts on right needle"."""
        return ph.Made(_first_amount(children))

    def to_mark(self, children: list[Token]) -> Stop:
        """Read "to m"."""
        return Stop(StopAt.MARKER, mark=marker_name(children[0]))

    def to_before_mark(self, children: list[Child]) -> Stop:
        """Read "to 2 sts before m"."""
        mark = _token(children[-1])
        if "rnd" in mark or "round" in mark or "bor" in mark:
            return Stop(left=_first_amount(children))
        return Stop(StopAt.MARKER, _first_amount(children), marker_name(mark))

    def to_gap(self, _: list[Child]) -> Stop:
        """Read "to gap"."""
        return Stop(StopAt.GAP)

    def to_before_gap(self, children: list[Child]) -> Stop:
        """Read "to 1 st before gap"."""
        return Stop(StopAt.GAP, _first_amount(children))

    def end_with(self, _: list[Child]) -> object:
        """Drop "ending with" before the last stitches of a row."""
        return Discard

    def on_cable(self, children: list[Token]) -> ph.OnCable:
        """Read "onto cn and hold in front"."""
        return ph.OnCable(str(children[0]), _start(children[0]))

    def when(self, children: list[Child]) -> ph.When:
        """Read "when piece measures 20 cm"."""
        lengths = next(child for child in children if isinstance(child, tuple))
        word = _token(children[0])
        return ph.When(ph.UntilMeasures(lengths, at=_start(word)), _start(word))

    def again(self, children: list[Child]) -> ph.Again:
        """Read "2 sts at beg of", after a shaping of the same kind."""
        places = [child for child in children if isinstance(child, ph.Place)]
        return ph.Again(_first_amount(children), places[0].place, places[0].at)

    def counted_times(self, children: list[Token]) -> ph.Times:
        """Read "3 (4, 5) more times", "x3"."""
        words = " ".join(str(child) for child in children)
        number = next(child for child in children if child.type in {"NUMBER_TIMES", "NUMBER"})
        return ph.Times(self._amount(number), _more(words), _start(children[0]))

    def worded_times(self, children: list[Token]) -> ph.Times:
        """Read "twice", "three times", "once more"."""
        word = str(children[0])
        count = {"once": 1, "twice": 2, "thrice": 3}.get(word.split(maxsplit=1)[0])
        amount = (count,) if count is not None else amount_of(word) or (1,)
        return ph.Times(amount, _more(word), _start(children[0]))

    def mark_place(self, children: list[Token]) -> Marker:
        """Read "pm"."""
        return Marker(MarkerMove.PLACE, marker_name(children[0]), _start(children[0]))

    def mark_slip(self, children: list[Token]) -> Marker:
        """Read "sm"."""
        return Marker(MarkerMove.SLIP, marker_name(children[0]), _start(children[0]))

    def mark_remove(self, children: list[Token]) -> Marker:
        """Read "rm"."""
        return Marker(MarkerMove.REMOVE, marker_name(children[0]), _start(children[0]))

    def turn(self, children: list[Token]) -> Turn:
        """Read "turn", "w&t"."""
        word = str(children[0])
        kind = TurnKind.WRAP if word.startswith("w") else TurnKind.PLAIN
        return Turn(kind, _start(children[0]))

    # --- casting on and off, holding, picking up ---------------------------------------------------

    def bind_off(self, children: list[Child]) -> ph.Phrase:
        """Read "bo 5 sts", "cast off all sts", "bo 5 at beg of ..."."""
        word = _token(children[0])
        amount: Amount | None = None
        stop: Stop | None = None
        how: list[str] = []
        place: ph.Place | None = None
        times: ph.Times | None = None
        for part in children[1:]:
            match part:
                case Stop():
                    stop = part
                case ph.Times():
                    times = part
                case tuple():
                    amount = part
                case ph.Place():
                    place = part
                case str() if not isinstance(part, Token):
                    how.append(part)
        if stop is not None and stop == Stop() and amount is None:
            stop = None
        item = BindOff(amount, None if amount is not None else stop, tuple(how), _start(word))
        if place is not None:
            return ph.Bracket((item, place), at=_start(word))
        if times is not None:
            return ph.Bracket((item,), times=times, at=_start(word))
        return item

    def cast_on(self, children: list[Child]) -> ph.Phrase:
        """Read "co 6", "cast on 24 sts over gap"."""
        word = _token(children[0])
        amount = next((child for child in children if isinstance(child, tuple)), None)
        if amount is None:
            raise _problem("Say how many stitches are cast on.", _start(word))
        how = " ".join(
            str(child)
            for child in children[1:]
            if isinstance(child, Token) and child.type == "CAST_PLACE"
        )
        return CastOn(amount, how.strip(), _start(word))

    def pick_up(self, children: list[Child]) -> ph.Phrase:
        """Read "pick up and knit 40 sts along neck edge"."""
        word = _token(children[0])
        amount = next((child for child in children if isinstance(child, tuple)), None)
        if amount is None:
            raise _problem("Say how many stitches are picked up.", _start(word))
        along = " ".join(str(child) for child in children[1:] if isinstance(child, Token))
        return PickUp(amount, along.strip(), _start(word))

    def hold(self, children: list[Child]) -> Hold | TakeUp:
        """Read "place next 20 sts on holder", "return held sts to needle"."""
        word = _token(children[0])
        amount = next((child for child in children if isinstance(child, tuple)), None)
        tokens = [child for child in children[1:] if isinstance(child, Token)]
        words = " ".join(str(token) for token in tokens)
        holders = [str(token) for token in tokens if token.type == "ON_HOLDER"]
        sources = [str(token) for token in tokens if token.type == "HELD"]
        back = str(word) in {"return", "replace"} or bool(sources) or "held" in words
        if back:
            name = " ".join(sources).partition(" for ")[2].strip()
            return TakeUp(name, amount, beside=False, at=_start(word))
        name = " ".join(holders).partition(" for ")[2].strip()
        which = HoldWhich.NEXT
        if "last" in words:
            which = HoldWhich.LAST
        elif amount is None and "rem" in words:
            which = HoldWhich.REST
        elif amount is None:
            which = HoldWhich.ALL
        return Hold(which, amount, name, _start(word))

    def on_holder(self, children: list[Token]) -> ph.OnHolder:
        """Read "onto a holder"."""
        name = str(children[0]).partition(" for ")[2].strip()
        return ph.OnHolder(name, _start(children[0]))

    def rejoin(self, children: list[Token]) -> ph.Phrase:
        """Read "rejoin yarn to rem sts"."""
        word = str(children[0])
        if "st" in word.rpartition(" to ")[2] or word.startswith("rejoin"):
            return TakeUp(at=_start(children[0]))
        return Remark(self._original(children[0]), _start(children[0]))

    def join_round(self, children: list[Token]) -> JoinRound:
        """Read "join in the round"."""
        return JoinRound(_start(children[0]))

    # --- counts ------------------------------------------------------------------------------------

    def count(self, children: list[Child]) -> ph.Stated:
        """Read "24 sts", "2 sts inc'd"."""
        tails = " ".join(
            str(child)
            for child in children
            if isinstance(child, Token) and child.type == "COUNT_TAIL"
        )
        led = any(isinstance(child, Token) and child.type == "COUNT_LEAD" for child in children)
        change = 1 if "inc" in tails else -1 if "dec" in tails or "off" in tails else 0
        return ph.Stated(_first_amount(children), change, led)

    def bare_count(self, children: list[Token]) -> ph.BareNumber:
        """Read a number in brackets."""
        return ph.BareNumber(self._amount(children[0]), _start(children[0]))

    # --- rows, lengths, shaping ----------------------------------------------------------------------

    def repeat_numbered(self, children: list[Child]) -> ph.RepeatRows:
        """Read "rep rows 1-4"."""
        numbers = next(
            child for child in children if isinstance(child, Token) and child.type == "ROW_LIST"
        )
        listed, is_range = rows_listed(numbers)
        return ph.RepeatRows(listed, is_range, at=_start(_token(children[0])))

    def repeat_last(self, children: list[Token]) -> ph.RepeatRows:
        """Read "rep last 2 rows"."""
        numbers = [child for child in children if child.type == "NUMBER_ROWS"]
        last = self._amount(numbers[0]) if numbers else (1,)
        return ph.RepeatRows(last=last, at=_start(children[0]))

    def repeat_all(self, children: list[Token]) -> ph.RepeatRows:
        """Read "rep the pattern"."""
        return ph.RepeatRows(everything=True, at=_start(children[0]))

    def repeat_named(self, children: list[Token]) -> ph.RepeatRows:
        """Read "rep dec row"."""
        words = str(children[0]).split()
        while words and words[0].rstrip(".") in _REPEAT_WORDS:
            words.pop(0)
        return ph.RepeatRows(name=" ".join(words), at=_start(children[0]))

    def how_many_rows(self, children: list[Token]) -> ph.HowManyRows:
        """Read "3 rows"."""
        number = next(child for child in children if child.type == "NUMBER_ROWS")
        row = next(child for child in children if child.type == "ROW")
        amount = self._amount(number)
        if "ridge" in row:
            amount = tuple(a and a * 2 for a in amount)
        return ph.HowManyRows(amount, "more" in row, _start(number))

    def every_row(self, children: list[Token]) -> ph.EveryRow:
        """Read "every row"."""
        return ph.EveryRow(_start(children[0]))

    def in_pattern(self, children: list[Token]) -> ph.InPattern:
        """Read "in st st", "as set", or a stitch pattern of the file."""
        word = str(children[0])
        for letter in word:
            name = self.signs.get(letter)
            if isinstance(name, str):
                return ph.InPattern(name, at=_start(children[0]))
        return ph.InPattern(routine_of(word), at=_start(children[0]))

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
        return ph.UntilMeasures(lengths, where, for_length, _start(tokens[0]) if tokens else 0)

    def length(self, children: list[Token]) -> tuple[Length, ...]:
        """Read "8 (9, 10) cm"."""
        lengths = lengths_of(str(children[0]), str(children[1]))
        if lengths is None:
            raise _problem(f"'{children[0]}' is no length.", _start(children[0]))
        return lengths

    def until_same(self, children: list[Token]) -> ph.UntilSame:
        """Read "until same length as back"."""
        return ph.UntilSame(self._original(children[0]), _start(children[0]))

    def until_count(self, children: list[Child]) -> ph.UntilCount:
        """Read "to 46 sts"."""
        return ph.UntilCount(_first_amount(children))

    def ending(self, children: list[Token]) -> ph.Ending:
        """Read "ending with a WS row"."""
        word = str(children[0])
        side = side_of(word)
        if side is not None and "facing" in word:
            # "With RS facing for next row" means that the last row worked is a WS row.
            side = ph.Side.WRONG if side is ph.Side.RIGHT else ph.Side.RIGHT
        digits = "".join(letter for letter in word if letter.isdigit())
        words = word.split()
        face = "k" if {"k", "knit"} & set(words) else "p" if {"p", "purl"} & set(words) else ""
        row = int(digits) if digits and len(digits) < 6 else None  # noqa: PLR2004 (no row has more)
        return ph.Ending(side, face, row, _start(children[0]))

    def beginning(self, children: list[Token]) -> ph.Beginning:
        """Read "beg with a k row"."""
        word = str(children[0])
        words = word.split()
        face = "k" if {"k", "knit"} & set(words) else "p" if {"p", "purl"} & set(words) else ""
        return ph.Beginning(side_of(word), face, _start(children[0]))

    def change(self, children: list[Child]) -> ph.Change:
        """Read "dec 1 st each end"."""
        word = _token(children[0])
        amount = next((child for child in children if isinstance(child, tuple)), (1,))
        places = [child.place for child in children if isinstance(child, ph.Place)]
        place = places[0] if places else ph.ChangePlace.ANYWHERE
        return ph.Change(str(word).startswith("inc"), amount, place, at=_start(word))

    def place(self, children: list[Token]) -> ph.Place:
        """Read "each end of"."""
        places = {
            "EACH_END": ph.ChangePlace.EACH_END,
            "AT_BEG": ph.ChangePlace.BEGINNING,
            "AT_END_OF": ph.ChangePlace.END,
            "AT_EDGE": ph.ChangePlace.EDGE,
            "AT_MARK": ph.ChangePlace.MARKERS,
        }
        return ph.Place(places[children[0].type], _start(children[0]))

    def schedule(self, children: list[Token]) -> ph.Schedule:
        """Read "on next and every foll 6th row"."""
        return replace(schedule_of(str(children[0])), at=_start(children[0]))

    def evenly(self, children: list[Token]) -> ph.Evenly:
        """Read "evenly across"."""
        return ph.Evenly(_start(children[0]))

    def as_given(self, children: list[Token]) -> ph.AsGiven:
        """Read "work as for back to **"."""
        return ph.AsGiven(str(children[0]), _start(children[0]))

    def meanwhile(self, children: list[Token]) -> ph.Meanwhile:
        """Read "at the same time"."""
        return ph.Meanwhile(_start(children[0]))

    def side_facing(self, children: list[Token]) -> ph.SideFacing:
        """Read "with RS facing"."""
        side = side_of(str(children[0])) or ph.Side.RIGHT
        return ph.SideFacing(side, _start(children[0]))

    def manner(self, children: list[Token]) -> ph.Manner:
        """Read "loosely"."""
        return ph.Manner(str(children[0]), _start(children[0]))

    def remark(self, children: list[Token]) -> Remark:
        """Keep words that change no stitch."""
        return Remark(self._original(children[0]).strip(), _start(children[0]))

    # --- parts -------------------------------------------------------------------------------------

    def _original(self, token: Token) -> str:
        return self.text[_start(token) : _end(token)]

    def _amount(self, token: Token) -> Amount:
        amount = amount_of(str(token))
        if amount is None:
            raise _problem(
                f"'{self._original(token)}' is no number that a row can have.", _start(token)
            )
        return amount


def stitch_named(name: str) -> Stitch:
    """Return a stitch of the trade by its canonical name; KeyError if there is none."""
    from engine.pattern.stitches import cable, together  # noqa: PLC0415

    if name in STITCHES:
        return STITCHES[name]
    if name.endswith("tog") and name[1:-3].isdigit():
        return together(name[0], int(name[1:-3]))
    return cable(name)


_REPEAT_WORDS = {"rep", "repeat", "repeating", "work", "a", "the", "this", "last"}


def _more(words: str) -> bool | None:
    if any(word in words for word in ("more", "further", "another", "again")):
        return True
    if any(word in words for word in ("total", "in all", "altogether")):
        return False
    return None


def _into(token: Token) -> int:
    return 2 if "double" in token or "2" in token or "twice" in token else 1


def _first_amount(children: Iterable[Child]) -> Amount:
    return next((child for child in children if isinstance(child, tuple)), (1,))


def _token(child: Child) -> Token:
    if not isinstance(child, Token):
        raise TypeError("A rule of the grammar does not begin with its word.")
    return child


def _start(token: Token) -> int:
    return token.start_pos or 0


def _end(token: Token) -> int:
    return token.end_pos or 0


def _problem(sentence: str, at: int) -> PatternError:
    return PatternError(Problem(sentence, 1, at + 1))
