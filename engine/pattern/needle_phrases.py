"""Builds the phrases about casting on and off, stitches on hold, picking up and counts."""

from __future__ import annotations

import re

from lark import Token

from engine.pattern import phrases as ph
from engine.pattern.line_parts import (
    Child,
    LineParts,
    amount_among,
    first_amount,
    problem_at,
    said_once,
    stop_of,
    token_end,
    token_of,
    token_start,
    two_sides,
)
from engine.pattern.notation import (
    Amount,
    BindOff,
    CastOn,
    Hold,
    HoldWhich,
    JoinRound,
    PickUp,
    Remark,
    StopWork,
    TakeUp,
)
from engine.pattern.over_gaps import GAPS_NAMED
from engine.pattern.spelling import amount_of

_JOINED_TO = re.compile(
    r"(\d+(?: ?[(\[][^()\[\]]*[)\]])?) (?:[a-z]+ )?(?:sts?|stitch(?:es)?)(?![a-z])"
)
_END_NAMED = re.compile(r"\s*(?:the )?(first|last) \d", re.IGNORECASE)
_BACK_ON = re.compile(r"(?:back )?on(?:to)? (?:the |left |right )*needles?")
_CHANGES = {"COUNT_SIGN", "COUNT_CHANGE"}
_REST_OF_THEM = re.compile(r"\s*(?:the )?(?:rem|remaining)\b\.?\s+\d", re.IGNORECASE)
_ALONG_EACH = re.compile(
    r"\beach of (?:the )?(?:other |rem )*(two|three|four|2|3|4) (?:sides|edges)\b"
)
_ALONG_BOTH = re.compile(r"\b(?:each|both)(?: \w+)? (?:sides?|edges?|fronts?|necks?|sleeves?)\b")


_ONTO_ANOTHER = re.compile(
    r"\bon(?:to)? (?:a |an |the )?(?:\w+ )*?(?:holders?|pins?|thread|waste yarn|hold)\b"
)


class NeedlePhrases(LineParts):
    """One method for each rule of the grammar about the stitches on the needle."""

    def bind_off(self, children: list[Child]) -> ph.Phrase:
        """Read "bo 5 sts", "cast off all sts", "bo 5 at beg of ..."."""
        word = token_of(children[0])
        amount: Amount | None = None
        stop: StopWork | None = None
        how: list[str] = []
        place: ph.PhrasePlace | None = None
        times: ph.PhraseTimes | None = None
        said_once(children[1:])
        for part in children[1:]:
            match part:
                case Token(type="EACH_PART"):
                    two_sides(part)
                    place = ph.PhrasePlace(ph.ChangePlace.EACH_END)
                case StopWork() | ph.Remaining():
                    stop = stop_of(part)
                case ph.PhraseTimes():
                    times = part
                case tuple():
                    amount = part
                case ph.PhrasePlace():
                    place = part
                case str() if not isinstance(part, Token):
                    how.append(part)
        if stop is not None and stop == StopWork() and amount is None:
            stop = None
        if place is not None and place.words:
            how.append(place.words)
        rest = amount is not None and _REST_OF_THEM.match(self.text, token_end(word)) is not None
        item = BindOff(
            amount, None if amount is not None else stop, tuple(how), token_start(word), rest=rest
        )
        if place is None and str(word)[1:4] in {"ind", "ast"} and "ing" in word:
            place = self._end_named(word)
        if place is not None:
            return ph.Bracket((item, place), times=times, at=token_start(word))
        if times is not None:
            return ph.Bracket((item,), times=times, at=token_start(word))
        return item

    def _end_named(self, word: Token) -> ph.PhrasePlace | None:
        """Return the end of the row in "binding off the last 4 sts", said of a whole row."""
        named = _END_NAMED.match(self.text, token_end(word))
        if named is None:
            return None
        first = named[1].casefold() == "first"
        place = ph.ChangePlace.BEGINNING if first else ph.ChangePlace.END
        return ph.PhrasePlace(place, at=token_start(word))

    def cast_on(self, children: list[Child]) -> ph.Phrase:
        """Read "co 6", "cast on 24 sts over gap"."""
        word = token_of(children[0])
        amount = next((child for child in children if isinstance(child, tuple)), None)
        if amount is None:
            raise problem_at("Say how many stitches are cast on.", token_start(word))
        said_once(children[1:])
        how = " ".join(
            str(child)
            for child in children[1:]
            if isinstance(child, Token)
            and child.type in {"WHERE", "PICKED_WHERE"}
            and GAPS_NAMED.search(str(child).casefold())
        )
        item = CastOn(amount, how.strip(), token_start(word))
        place = next((child for child in children if isinstance(child, ph.PhrasePlace)), None)
        return ph.Bracket((item, place), at=item.at) if place is not None else item

    def pick_up(self, children: list[Child]) -> ph.Phrase:
        """Read "pick up and knit 40 sts along neck edge"."""
        word = token_of(children[0])
        amount = next((child for child in children if isinstance(child, tuple)), None)
        if amount is None:
            raise problem_at("Say how many stitches are picked up.", token_start(word))
        said_once(children[1:])
        along = " ".join(str(child) for child in children[1:] if isinstance(child, Token))
        if (many := _ALONG_EACH.search(along)) is not None:
            sides = (amount_of(many[1]) or (1,))[0] or 1
            amount = tuple(number and number * sides for number in amount)
        elif _ALONG_BOTH.search(along):
            raise problem_at(
                "Say how many stitches are picked up along the one edge and along the other.",
                token_start(word),
            )
        return PickUp(amount, along.strip(), token_start(word))

    def again_up(self, children: list[Child]) -> ph.AlsoPickedUp:
        """Read "20 sts across back neck", after stitches that are picked up."""
        words = [child for child in children if isinstance(child, Token)]
        where = next(word for word in words if word.type == "PICKED_WHERE")
        return ph.AlsoPickedUp(first_amount(children), str(where).strip(), token_start(where))

    def graded_up(self, children: list[Token]) -> Amount:
        """Read the number in "12 along the edge"."""
        return self._amount(children[0])

    def graded_at(self, children: list[Token]) -> Amount:
        """Read the number in "3 at beg of next 2 rows"."""
        return self._amount(children[0])

    def picot_off(self, children: list[Token]) -> BindOff:
        """Read "picot bind-off: ...": however it is done, nothing is left."""
        return BindOff(None, None, ("picot",), token_start(children[0]))

    def take_in(self, children: list[Child]) -> TakeUp:
        """Read "take in 32 held sts"."""
        amount = amount_among(children)
        return TakeUp("", amount, beside=True, at=token_start(token_of(children[0])))

    def hold(self, children: list[Child]) -> Hold | TakeUp | ph.OnHolder:
        """Read "place next 20 sts on holder", "return held sts to needle"."""
        word = token_of(children[0])
        said_once(children[1:])
        amount = amount_among(children)
        held = any(isinstance(child, ph.HeldAmount) and not child.whose for child in children)
        tokens = [child for child in children[1:] if isinstance(child, Token)]
        words = " ".join(str(token) for token in tokens)
        holders = [str(token) for token in tokens if token.type == "ON_HOLDER"]
        sources = [str(token) for token in tokens if token.type == "HELD"]
        back = (
            str(word).split()[0] in {"return", "replace"}
            or bool(sources)
            or held
            or "held" in words
        )
        if sources and amount is not None and _ONTO_ANOTHER.search(" ".join([*sources, *holders])):
            return Hold(HoldWhich.NEXT, amount, at=token_start(word), parted=True)
        if back:
            name = " ".join(sources).partition(" for ")[2].strip()
            return TakeUp(name, amount, beside=False, at=token_start(word))
        name = " ".join(holders).partition(" for ")[2].strip()
        if amount is None and {"these", "those"} & set(words.split()):
            return ph.OnHolder(name, these=True, at=token_start(word))
        if amount is None and any(token.type == "STS" and _single(token) for token in tokens):
            amount = (1,)  # "slip centre st on a pin"
        if amount is not None and "both" in words.split():
            amount = tuple(number and number * 2 for number in amount)
        onto = [*holders, *(str(token) for token in tokens if token.type == "OF_NEEDLE")]
        if onto and all(_BACK_ON.fullmatch(each) for each in onto):
            return TakeUp("", amount, beside=False, at=token_start(word))
        which = HoldWhich.NEXT
        if "last" in words:
            which = HoldWhich.LAST
        elif amount is None and "rem" in words:
            which = HoldWhich.REST
        elif amount is None:
            which = HoldWhich.ALL
        return Hold(which, amount, name, token_start(word))

    def hold_sets(self, children: list[Child]) -> Hold:
        """Read "place both sets of 18 sts on holders": all stitches, and how many those are."""
        amount = amount_among(children)
        both = None if amount is None else tuple(n and 2 * n for n in amount)
        return Hold(HoldWhich.ALL, both, at=token_start(token_of(children[0])))

    def on_holder(self, children: list[Token]) -> ph.OnHolder:
        """Read "onto a holder"."""
        name = str(children[0]).partition(" for ")[2].strip()
        return ph.OnHolder(name, at=token_start(children[0]))

    def rejoin(self, children: list[Token]) -> ph.Phrase:
        """Read "rejoin yarn to rem sts"."""
        word = str(children[0])
        to = word.rpartition(" to ")[2]
        if "st" in to or "rejoin" in word:
            said = _JOINED_TO.search(to)
            amount = self._amount(children[0].update(value=said[1])) if said else None
            whole = said is not None and "rem" in to
            yarn = "" if "st" in to else self._original(children[0])
            return TakeUp("", amount, whole=whole, yarn=yarn, at=token_start(children[0]))
        return Remark(self._original(children[0]), token_start(children[0]))

    def join_round(self, children: list[Token]) -> JoinRound:
        """Read "join in the round"."""
        return JoinRound(token_start(children[0]))

    def count(self, children: list[Child]) -> ph.Stated:
        """Read "24 sts", "2 sts inc'd"."""
        said_once(children)
        tails = " ".join(
            str(child)
            for child in children
            if isinstance(child, Token) and child.type in {"COUNT_TAIL", "COUNT_CHANGE"}
        )
        led = any(isinstance(child, Token) and child.type == "COUNT_LEAD" for child in children)
        for child in children:
            if isinstance(child, Token) and child.type == "REMAIN" and "unw" in child:
                raise problem_at("Say how many stitches are there in all.", token_start(child))
        change = 1 if "inc" in tails else -1 if "dec" in tails or "off" in tails else 0
        kinds = {child.type for child in children if isinstance(child, Token)}
        part = "between" if "BETWEEN_MARKS" in kinds else ""
        if "EACH_PART" in kinds:
            part = self._each_part(children)
        return ph.Stated(first_amount(children), change, led, part)

    @staticmethod
    def _each_part(children: list[Child]) -> str:
        """Return "both" where a piece has just two such parts, "each" where it may have more."""
        words = " ".join(
            str(child)
            for child in children
            if isinstance(child, Token) and child.type == "EACH_PART"
        )
        return "both" if "side" in words or "shoulder" in words else "each"

    def count_change(self, children: list[Child]) -> ph.Stated:
        """Read "+2 sts", "2 inc" in brackets."""
        sign = next(str(c) for c in children if isinstance(c, Token) and c.type in _CHANGES)
        return ph.Stated(first_amount(children), -1 if sign[0] in "-d" else 1)

    def graded_change(self, children: list[Token]) -> Amount:
        """Read the number in "2 inc"."""
        return self._amount(children[0])

    def bare_count(self, children: list[Token]) -> ph.BareNumber:
        """Read a number in brackets."""
        return ph.BareNumber(self._amount(children[0]), token_start(children[0]))


def _single(word: Token) -> bool:
    """Whether a word for stitches means one of them."""
    return str(word).rstrip(".").rsplit(maxsplit=1)[-1] in {"st", "stitch", "loop"}
