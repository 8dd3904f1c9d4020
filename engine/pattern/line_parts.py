"""What the builders of phrases share: the text of the line, its names, and where words stand."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from lark import Token, Transformer

from engine.pattern import phrases as ph
from engine.pattern.notation import StopWork
from engine.pattern.problems import PatternError, Problem
from engine.pattern.spelling import (
    amount_of,
)

if TYPE_CHECKING:
    from collections.abc import Iterable

    from engine.pattern.notation import (
        Amount,
    )


Child = object


class LineParts(Transformer[Token, ph.PhraseLine]):
    """The text of a line while it is parsed; `signs` are the names of the pattern file."""

    def __init__(self) -> None:
        """Start without names."""
        super().__init__(visit_tokens=False)
        self.signs: dict[str, object] = {}
        self.text = ""

    def _original(self, token: Token) -> str:
        return self.text[token_start(token) : token_end(token)]

    def colour_in(self, word: str) -> str:
        """Return the name of the colour whose sign is in a word, in small letters; or nothing."""
        names = (self.signs.get(letter) for letter in word if _is_colour(letter))
        return next((name.casefold() for name in names if isinstance(name, str)), "")

    def _amount(self, token: Token) -> Amount:
        amount = amount_of(str(token))
        if amount is None:
            raise problem_at(
                f"'{self._original(token)}' is no number that a row can have.", token_start(token)
            )
        return amount


def _is_colour(letter: str) -> bool:
    return "\ue500" <= letter <= "\ue5ff"


def amount_among(children: Iterable[Child]) -> Amount | None:
    """Return the first amount among the parts, or None."""
    for child in children:
        match child:
            case tuple():
                return child
            case ph.HeldAmount():
                return child.amount
            case _:
                continue
    return None


def said_once(children: Iterable[Child]) -> None:
    """Raise at two amounts, two ends or two numbers of times: one of them would be lost."""
    seen: set[str] = set()
    for child in children:
        kind = _kind_of(child)
        if kind and kind in seen:
            at = getattr(child, "at", None)
            raise PatternError(Problem(_TWICE.format(kind), 1, (at or 0) + 1))
        seen.add(kind)


_TWICE = "Two {}s stand here for one stitch; part them by a comma, or leave one out."


def _kind_of(child: Child) -> str:
    match child:
        case tuple() | ph.HeldAmount():
            return "number"
        case ph.PhraseTimes():
            return "number of time"
        case StopWork() if child != StopWork():
            return "end"
        case ph.Remaining() | ph.Made():
            return "end"
        case _:
            return ""


def first_amount(children: Iterable[Child]) -> Amount:
    """Return the first amount among the parts; one if none is said."""
    return amount_among(children) or (1,)


def stop_of(part: StopWork | ph.Remaining) -> StopWork:
    """Return the end within a row; "until 8 sts rem" is eight before the row's end."""
    return part if isinstance(part, StopWork) else StopWork(left=part.amount)


def token_of(child: Child) -> Token:
    """Return the word that a rule begins with."""
    if not isinstance(child, Token):
        raise TypeError("A rule of the grammar does not begin with its word.")
    return child


def token_start(token: Token) -> int:
    """Return where a word begins in the line."""
    return token.start_pos or 0


def token_end(token: Token) -> int:
    """Return where a word ends in the line."""
    return token.end_pos or 0


def problem_at(sentence: str, at: int) -> PatternError:
    """Return the error that points at a place in the line."""
    return PatternError(Problem(sentence, 1, at + 1))


def two_sides(word: Token) -> None:
    """Raise at "each needle", "each sleeve", "in each repeat": how many there are is not known."""
    if re.search(r"needle|sleeve|section|rep", word) is not None:
        raise problem_at("Say how many stitches that is in all.", token_start(word))
