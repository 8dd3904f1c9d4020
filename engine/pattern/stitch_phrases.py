"""Builds the phrases that are stitches, repeats of stitches, ends and markers."""

from __future__ import annotations

import re
from dataclasses import replace

from lark import Token

from engine.pattern import phrases as ph
from engine.pattern.line_parts import (
    Child,
    LineParts,
    first_amount,
    problem_at,
    said_once,
    stop_of,
    token_of,
    token_start,
)
from engine.pattern.notation import (
    ALL_MARKERS,
    BOUND_OFF,
    CENTRE,
    NEEDLE,
    Amount,
    Marker,
    MarkerMove,
    StopAt,
    StopWork,
    TurnKind,
    TurnWork,
    Work,
)
from engine.pattern.spelling import (
    amount_of,
    how_of,
    marker_name,
    stitch_of,
)
from engine.pattern.stitches import STITCHES, Stitch, cable, together


class StitchPhrases(LineParts):
    """One method for each rule of the grammar about stitches."""

    def plain(self, children: list[Child]) -> ph.Phrase:
        """Read knit, purl, slip or work, with what is said about it."""
        word = token_of(children[0])
        stitch, at = STITCHES[stitch_of(word)], token_start(word)
        these = any(isinstance(part, ph.TheseAmount) for part in children)
        parts = [part.amount if isinstance(part, ph.TheseAmount) else part for part in children[1:]]
        phrase = self._worked(stitch, at, parts, named=False)
        return ph.These(phrase, at) if these and isinstance(phrase, Work) else phrase

    def as_face(self, children: list[Child]) -> ph.Phrase:
        """Read "k the knits and p the purls"."""
        word = token_of(children[0])
        return self._worked(
            STITCHES["work as they face"], token_start(word), children[1:], named=False
        )

    def shaped(self, children: list[Child]) -> ph.Phrase:
        """Read a stitch that has a name of its own."""
        word = token_of(children[0])
        at = token_start(word)
        if word.type == "DEFINED_STITCH":
            stitch = self.signs[str(word)[0]]
            if not isinstance(stitch, Stitch):
                raise TypeError("A sign for a stitch means something else.")
            return self._worked(stitch, at, children[1:], named=True)
        if word.type == "KFB" and _IN_LAST.search(word) and len(children) == 1:
            return ph.Change(increases=True, at=at)  # after "k to end" it belongs to the row's end
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
        stop: StopWork | None = None
        times: ph.PhraseTimes | None = None
        made: ph.Made | None = None
        held: Amount | None = None
        whose = whence = ""
        said_once(parts)
        for part in parts:
            match part:
                case StopWork() | ph.Remaining():
                    stop = stop_of(part)
                case ph.Made():
                    made = part
                case ph.PhraseTimes():
                    times = part
                case tuple():
                    amount = part
                case ph.HeldAmount():
                    held, whose = part.amount, part.whose
                case Token(type="HELD" | "HELD_ON" | "PIECE_OF"):
                    whence = str(part)
                case ph.ColourChange():
                    colour = part.colour
                case str():
                    how.append(part)
        how_words = tuple(dict.fromkeys(how))
        work = Work(stitch, amount or held or (1,), how_words, colour, at)
        if whence:
            held = held or amount
            return ph.AcrossHeld(replace(work, amount=held or (None,)), held, "", whence, at)
        if held is not None:
            piece = whose if whose in _PIECES else ""
            return ph.AcrossHeld(replace(work, amount=held), held, whose, piece, at)
        if made is not None or stop is not None:
            _not_so_often(times)
            return ph.To(work, stop or StopWork(), amount is not None, made, at)
        if times is not None:
            return ph.Bracket((work,), times=times, at=at)
        if amount is None and not named:
            return ph.Bare(work, at)
        return work

    def amount(self, children: list[Child]) -> Child:
        """Hand on how many stitches are meant."""
        return next(child for child in children if isinstance(child, tuple | ph.HeldAmount))

    def one(self, _: list[Child]) -> Amount:
        """Read "next st"."""
        return (1,)

    def all_of_them(self, _: list[Child]) -> StopWork:
        """Read "all sts"."""
        return StopWork()

    def graded(self, children: list[Token]) -> Amount:
        """Read a number, with one for every size if there are several."""
        return self._amount(children[0])

    def graded_sts(self, children: list[Token]) -> Amount | ph.HeldAmount:
        """Read "24 (28, 32) sts"."""
        amount = self._amount(children[0])
        words = str(children[1]).split()
        whose = next((word for word in words if word in _WHOSE), "")
        if "held" in words:
            return ph.HeldAmount(amount)
        return ph.HeldAmount(amount, whose) if whose else amount

    def these(self, children: list[Child]) -> ph.TheseAmount | ph.HeldAmount:
        """Read "these 60 sts"."""
        meant = children[-1]
        return meant if isinstance(meant, ph.HeldAmount) else ph.TheseAmount(first_amount(children))

    def how(self, children: list[Child]) -> Child:
        """Read "tbl", "wyif", "with B"."""
        word = token_of(children[0])
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
        return ph.ColourChange(str(self.signs[sign]), token_start(word))

    def group(self, children: list[Child]) -> ph.Bracket:
        """Read what stands in brackets."""
        inner: list[ph.Phrase] = []
        stop: StopWork | None = None
        times: ph.PhraseTimes | None = None
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
                case StopWork() | ph.Remaining() if closed:
                    stop = stop_of(child)
                case ph.PhraseTimes() if closed:
                    times = child
                case _:
                    inner.append(child)  # type: ignore[arg-type]
        return ph.Bracket(tuple(inner), stop, times, into, token_start(token_of(children[0])))

    def into(self, children: list[Token]) -> ph.Into:
        """Read "in next st"."""
        return ph.Into(
            _into(children[0]), str(children[0]).startswith("all"), token_start(children[0])
        )

    def star(self, children: list[Token]) -> ph.Star:
        """Read a star."""
        return ph.Star(str(children[0]), token_start(children[0]))

    def repeat_star(self, children: list[Child]) -> ph.RepeatFrom:
        """Read "rep from * to end"."""
        word = token_of(children[0])
        signs = "".join(letter for letter in str(word) if letter in "*†‡§#+")
        needles = [c for c in children[1:] if isinstance(c, Token) and c.type == "ON_NEEDLE"]
        if needles:
            if "each" in needles[0]:
                raise problem_at("Say on how many needles this is done.", token_start(word))
            once = ph.PhraseTimes((1,), more=True, at=token_start(word))
            return self._repeat(signs, word, [once], said=True)
        return self._repeat(signs, word, children[1:], said=True)

    def repeat_stop(self, children: list[Child]) -> ph.RepeatFrom | ph.Remaining | ph.Made:
        """Read "rep to end", or an end that stands alone."""
        word = children[0]
        if isinstance(word, Token):
            return self._repeat("", word, children[1:], said=True)
        if isinstance(word, ph.Remaining | ph.Made):
            return word
        return ph.RepeatFrom("", word if isinstance(word, StopWork) else None, said=False)

    def times_first(self, children: list[Child]) -> ph.Phrase:
        """Read "2 x k2tog"."""
        word = token_of(children[0])
        times = ph.PhraseTimes((int(word.partition("x")[0]),), at=token_start(word))
        match children[1]:
            case ph.Bracket(stop=None, times=None) as group:
                return replace(group, times=times)
            case Work() as work:
                return ph.Bracket((work,), times=times, at=token_start(word))
            case _:
                raise problem_at("It is not clear what is done so often.", times.at)

    def rep_group(self, children: list[Child]) -> Child:
        """Read "rep (k2, k2tog)": the verb before the brackets says nothing more."""
        return children[1]

    def _repeat(self, sign: str, word: Token, parts: list[Child], *, said: bool) -> ph.RepeatFrom:
        said_once(parts)
        stops = (stop_of(part) for part in parts if isinstance(part, StopWork | ph.Remaining))
        stop = next(stops, None)
        times = next((part for part in parts if isinstance(part, ph.PhraseTimes)), None)
        over = next((part for part in parts if isinstance(part, tuple)), None)
        return ph.RepeatFrom(sign, stop, times, said, over, token_start(word))

    def over(self, children: list[Child]) -> Amount:
        """Read "over next 28 sts"."""
        return first_amount(children)

    def psso(self, children: list[Token]) -> ph.PassOver:
        """Read "psso"."""
        word = str(children[0])
        if _ONE_OVER.match(word):
            return ph.PassOver(1, token_start(children[0]))
        word = word.partition(" over")[0]
        count = 2 if "2" in word or "two" in word or "both" in word else 3 if "3" in word else 1
        return ph.PassOver(count, token_start(children[0]))

    def to_end(self, _: list[Child]) -> StopWork:
        """Read "to end"."""
        return StopWork()

    def to_last(self, children: list[Child]) -> StopWork:
        """Read "to last 2 sts", "to last 3 sts on needle 1"."""
        last = children[-1]
        if isinstance(last, Token) and last.type == "OF_NEEDLE":
            _one_needle(last)
            return StopWork(StopAt.MARKER, first_amount(children), needle_name(last))
        return StopWork(left=first_amount(children))

    def to_remain(self, children: list[Child]) -> ph.Remaining:
        """Read "until 8 sts remain", which is an end of a stitch or of rows."""
        return ph.Remaining(first_amount(children))

    def to_before_center(self, children: list[Child]) -> StopWork:
        """Read "to 1 st before the center st"."""
        return StopWork(StopAt.MARKER, first_amount(children), CENTRE)

    def to_centre(self, _: list[Child]) -> StopWork:
        """Read "to centre st"."""
        return StopWork(StopAt.MARKER, mark=CENTRE)

    def to_made(self, children: list[Child]) -> ph.Made:
        """Read "until there are 20 sts on right needle"."""
        return ph.Made(first_amount(children))

    def to_bound_off(self, _: list[Child]) -> StopWork:
        """Read "to bound-off sts": where stitches were bound off on the row before."""
        return StopWork(StopAt.MARKER, mark=BOUND_OFF)

    def to_mark(self, children: list[Token]) -> StopWork:
        """Read "to m"."""
        return StopWork(StopAt.MARKER, mark=marker_name(children[0]))

    def to_before_mark(self, children: list[Child]) -> StopWork:
        """Read "to 2 sts before m"."""
        mark = token_of(children[-1])
        if "rnd" in mark or "round" in mark or "bor" in mark:
            return StopWork(left=first_amount(children))
        return StopWork(StopAt.MARKER, first_amount(children), marker_name(mark))

    def to_gap(self, _: list[Child]) -> StopWork:
        """Read "to gap"."""
        return StopWork(StopAt.GAP)

    def to_before_gap(self, children: list[Child]) -> StopWork:
        """Read "to 1 st before gap"."""
        return StopWork(StopAt.GAP, first_amount(children))

    def end_with(self, children: list[Child]) -> ph.EndWith:
        """Read "ending with" before the last stitches of a row."""
        return ph.EndWith(token_start(token_of(children[0])))

    def on_needle(self, children: list[Token]) -> ph.OnNeedle:
        """Read "needle 2:", "on needle 2"."""
        _one_needle(children[0])
        return ph.OnNeedle(needle_name(children[0]), token_start(children[0]))

    def onto_needle(self, children: list[Child]) -> Work:
        """Read "onto needle holding the 12 sts just cast on": they come first, unworked."""
        at = token_start(token_of(children[0]))
        return Work(STITCHES["sl"], first_amount(children[1:]), at=at)

    def joined_edge(self, children: list[Token]) -> Work:
        """Read "k1 from front needle tog with 1 from back needle", where a hem is closed."""
        at = token_start(children[0])
        if _HEMMED.search(self.text) is None:
            sentence = "Say which edge is joined here: that of a hem, or other stitches."
            raise problem_at(sentence, at)
        return Work(STITCHES["k"], (1,), ("together with its stitch of the other edge",), at=at)

    def colour_run(self, children: list[Token]) -> Work:
        """Read "2 A", "A2": so many stitches in a colour, knit ones if no purl is spoken of."""
        amount = next(
            self._amount(child) for child in children if child.type in {"NUMBER_COLOUR", "NUMBER"}
        )
        colour = next(child for child in children if child.type in {"COLOUR", "COLOUR_FIRST"})
        at = token_start(children[0])
        worked = _VERBS.findall(self.text[:at])
        stitch = STITCHES[worked[-1].casefold() if worked else "k"]
        return Work(stitch, amount, (), self._colour(colour).colour, at)

    def in_each(self, children: list[Child]) -> Amount:
        """Read "in each of next 3 sts"."""
        return first_amount(children)

    def kyok(self, children: list[Token]) -> ph.Bracket:
        """Read "kyok": knit, yarn over, knit in one stitch."""
        at = token_start(children[0])
        body = (Work(STITCHES["k"], at=at), Work(STITCHES["yo"], at=at), Work(STITCHES["k"], at=at))
        return ph.Bracket(body, into=1, at=at)

    def wraps(self, children: list[Token]) -> ph.Wraps:
        """Read "working wraps together with their sts"."""
        return ph.Wraps(token_start(children[0]))

    def on_cable(self, children: list[Token]) -> ph.OnCable:
        """Read "onto cn and hold in front"."""
        return ph.OnCable(str(children[0]), token_start(children[0]))

    def when(self, children: list[Child]) -> ph.When:
        """Read "when piece measures 20 cm"."""
        lengths = next(child for child in children if isinstance(child, tuple))
        word = token_of(children[0])
        return ph.When(ph.UntilMeasures(lengths, at=token_start(word)), token_start(word))

    def again(self, children: list[Child]) -> ph.Again:
        """Read "2 sts at beg of", after a shaping of the same kind."""
        places = [child for child in children if isinstance(child, ph.PhrasePlace)]
        return ph.Again(first_amount(children), places[0].place, places[0].at)

    def counted_times(self, children: list[Token]) -> ph.PhraseTimes:
        """Read "3 (4, 5) more times", "x3"."""
        words = " ".join(str(child) for child in children)
        number = next(child for child in children if child.type in {"NUMBER_TIMES", "NUMBER"})
        return ph.PhraseTimes(self._amount(number), _more(words), token_start(children[0]))

    def worded_times(self, children: list[Token]) -> ph.PhraseTimes:
        """Read "twice", "three times", "once more"."""
        word = str(children[0]).strip("([)]")
        count = {"once": 1, "twice": 2, "thrice": 3}.get(word.split(maxsplit=1)[0])
        amount = (count,) if count is not None else amount_of(word) or (1,)
        return ph.PhraseTimes(amount, _more(word), token_start(children[0]))

    def mark_place(self, children: list[Token]) -> Marker:
        """Read "pm"."""
        return Marker(MarkerMove.PLACE, marker_name(children[0]), token_start(children[0]))

    def mark_slip(self, children: list[Token]) -> Marker:
        """Read "sm"."""
        return Marker(MarkerMove.SLIP, marker_name(children[0]), token_start(children[0]))

    def mark_remove(self, children: list[Token]) -> Marker:
        """Read "rm"."""
        word = str(children[0])
        every = "markers" in word or word.endswith(" all")
        name = ALL_MARKERS if every else marker_name(children[0])
        return Marker(MarkerMove.REMOVE, name, token_start(children[0]))

    def turn(self, children: list[Token]) -> TurnWork:
        """Read "turn", "w&t"."""
        word = str(children[0])
        kind = TurnKind.WRAP if word.startswith("w") else TurnKind.PLAIN
        return TurnWork(kind, token_start(children[0]))


_IN_LAST = re.compile(r"in(?:to)? (?:the )?last (?:st|stitch)$")
_ONE_OVER = re.compile(
    r"(?:pass|lift|pull|slip|bring)(?:ing)? (?:the )?"
    r"(?:first|1st|2nd|second|third|3rd|prev|last|right)"
)
"""One stitch is lifted over others, however many these are."""
_VERBS = re.compile(r"(?<![a-z])([kp])(?:nit|url)?\s*(?=[\d*(\[])", re.IGNORECASE)
_HEMMED = re.compile(r"\b(?:hems?|facing|picots?|provisional|cast[ -]on)\b", re.IGNORECASE)
_WHOSE = {"instep", "heel", "sleeve", "front", "back", "thumb", "body", "neck"}
"""Parts of a piece whose stitches may be on a needle of their own all the time."""
_PIECES = {"sleeve", "front", "back", "body"}
"""Those that may be pieces of their own, joined in one round."""


def _not_so_often(times: ph.PhraseTimes | None) -> None:
    """Raise at "each st twice": a stitch worked to an end is worked once."""
    if times is not None and times.amount != (1,):
        raise problem_at("It is not clear what is done so often.", times.at)


def stitch_named(name: str) -> Stitch:
    """Return a stitch of the trade by its canonical name; KeyError if there is none."""
    if name in STITCHES:
        return STITCHES[name]
    if name.endswith("tog") and name[1:-3].isdigit():
        return together(name[0], int(name[1:-3]))
    return cable(name)


def _one_needle(word: Token) -> None:
    """Raise at "each needle": on how many needles the stitches are is not known."""
    if "each" in word:
        raise problem_at("Say on how many needles this is done.", token_start(word))


def needle_name(word: str) -> str:
    """Return the name of the end of a needle: "needle 2"; "needle" where it has no number."""
    digits = "".join(letter for letter in word if letter.isdigit())
    ordinals = {"first": "1", "second": "2", "third": "3", "fourth": "4"}
    spelled = next((number for name, number in ordinals.items() if name in word), "")
    return f"{NEEDLE} {digits[:2] or spelled}".strip()


def _more(words: str) -> bool | None:
    if any(word in words for word in ("more", "further", "another", "again")):
        return True
    if any(word in words for word in ("total", "in all", "altogether")):
        return False
    return None


def _into(token: Token) -> int:
    return 2 if "double" in token or "2" in token or "twice" in token else 1
