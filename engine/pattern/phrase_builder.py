"""Builds the phrases of a line while lark parses it: one method for each rule of the grammar."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

from lark import Token

from engine.pattern import phrases as ph
from engine.pattern.headings import Heading, HeadingKind, SizesOnly, Unchecked, Which
from engine.pattern.spelling import (
    amount_of,
    row_number,
    rows_listed,
    side_of,
    which_of,
)

if TYPE_CHECKING:
    from collections.abc import Iterable

    from engine.pattern.notation import (
        Amount,
    )


from engine.pattern.line_parts import Child, token_end, token_start
from engine.pattern.needle_phrases import NeedlePhrases
from engine.pattern.notation import Remark
from engine.pattern.row_phrases import RowPhrases
from engine.pattern.stitch_phrases import StitchPhrases, needle_name

_BEFORE_COLON = re.compile(r"\w+\s*:")
_UP_TO = re.compile(r"(?:to|through|thru|until)\s+(?:(?:row|rnd|round)\s+)?(\d{1,5})")
_SPAN = re.compile(r"(?<=[\d)\]}]) *(?:-|to|thru|through) *(?=\d)")
_UNMARKED = re.compile(r"\s*[(\[]\s*unchecked\s*[)\]]\s*:?|^\s*unchecked\s*:", re.IGNORECASE)


class PhraseBuilder(StitchPhrases, NeedlePhrases, RowPhrases):
    """Turns the grammar's rules into phrases; the line and its heading are built here."""

    def start(self, children: list[Child]) -> ph.PhraseLine:
        """Gather a whole line."""
        heading = sizes = unchecked = None
        found: list[ph.Phrase] = []
        for child in children:
            match child:
                case Token(type="LEAD" | "LEAD_NAME"):
                    found.append(self._lead(child))
                case Token():
                    pass
                case Heading():
                    heading = child
                case SizesOnly():
                    sizes = child
                case Unchecked():
                    unchecked = child
                case _:
                    found.append(child)  # type: ignore[arg-type]
        first = found[0] if found else None
        coloured = isinstance(first, ph.ColourChange) and _BEFORE_COLON.match(self.text, first.at)
        if heading is not None and isinstance(first, ph.ColourChange) and coloured:
            label = f"{heading.label} {first.colour}"
            mark = heading.mark or first.colour.casefold()
            heading = replace(heading, mark=mark, label=label)
        return ph.PhraseLine(self.text, tuple(found), heading, sizes, unchecked)

    def _lead(self, token: Token) -> ph.Phrase:
        """Keep what stands before the heading: a mark such as "**", or "Shape crown"."""
        words = self._original(token).strip(" :-")
        at = token_start(token)
        return Remark(words, at) if words[:1].isalpha() else ph.Star(words, at)

    def sizes_only(self, children: list[Token]) -> SizesOnly:
        """Read "sizes M and L only"."""
        token = children[0]
        return SizesOnly(self._original(token), token_start(token))

    def unchecked(self, children: list[Token]) -> Unchecked:
        """Read a line that is not to be counted."""
        label, text = children[0], children[-1]
        words = _UNMARKED.sub("", self._original(label)).strip(" :")
        said = _UNMARKED.sub("", self._original(text)).strip(" :")
        return Unchecked(words or "Unchecked", said, token_start(text))

    def numbered_heading(self, children: list[Child]) -> Heading:
        """Read "Row 1 (RS):", "Rows 2 and 4:", "Rnd 2 and all even rnds:"."""
        tokens = [child for child in children if isinstance(child, Token)]
        numbers = next(token for token in tokens if token.type in {"ROW_LIST", "ROW_SPAN"})
        if numbers.type == "ROW_SPAN":
            first, last = (self._amount(numbers.update(value=one)) for one in _SPAN.split(numbers))
            for number in (*first, *last):
                row_number(str(number or 0))
            heading = self._heading(HeadingKind.NUMBERED, children, is_range=True)
            return replace(heading, span=(first, last))
        listed, is_range = rows_listed(numbers)
        return self._heading(HeadingKind.NUMBERED, children, numbers=listed, is_range=is_range)

    def ordinal_heading(self, children: list[Child]) -> Heading:
        """Read "1st and 3rd rows:"."""
        listed, is_range = rows_listed(str(children[0]))
        return self._heading(HeadingKind.NUMBERED, children, numbers=listed, is_range=is_range)

    def ordinal_also_heading(self, children: list[Child]) -> Heading:
        """Read "2nd and every alt row:"."""
        words = str(children[0])
        first, _, also = words.replace("&", "and").partition("and")
        listed, _ = rows_listed(first)
        return self._heading(HeadingKind.NUMBERED, children, numbers=listed, also=which_of(also))

    def every_heading(self, children: list[Child]) -> Heading:
        """Read "All WS rows:"."""
        return self._heading(HeadingKind.WHICH, children, also=which_of(str(children[0])))

    def next_heading(self, children: list[Child]) -> Heading:
        """Read "Next row:", "Next 3 rows:"."""
        return self._heading(HeadingKind.NEXT, children, count=amount_of(str(children[0])) or (1,))

    def named_heading(self, children: list[Child]) -> Heading:
        """Read "Set-up row:", "Dec rnd 2:"."""
        name = " ".join(str(children[0]).split())
        return self._heading(HeadingKind.NAMED, children, name=name)

    def needle_heading(self, children: list[Child]) -> Heading:
        """Read "Needle 1:"."""
        return self._heading(HeadingKind.NAMED, children, name=needle_name(str(children[0])))

    def head_note(self, children: list[Token]) -> Token:
        """Keep what is said in brackets after a row's number."""
        return children[0]

    def _heading(
        self,
        kind: HeadingKind,
        children: list[Child],
        *,
        numbers: tuple[int, ...] = (),
        is_range: bool = False,
        also: Which | None = None,
        count: Amount = (1,),
        name: str = "",
    ) -> Heading:
        tokens = [child for child in children if isinstance(child, Token)]
        words = [token for token in tokens if token.type != "HEAD_END"]
        aside = [token for token in tokens if token.type in {"HEAD_NOTE", "HEAD_COLOUR"}]
        notes = " ".join(self._original(token) for token in aside)
        extra = [token for token in tokens if token.type == "ROW_ALSO"]
        first, last = words[0], words[-1]
        label = self.text[token_start(first) : token_end(last)].strip()
        head = str(first)
        side = side_of(" ".join(str(token) for token in tokens if token.type != "ROW_ALSO"))
        if extra:
            also = which_of(str(extra[0]))
        if is_range and numbers and (every := _EVERY_OTHER.search(notes)) is not None:
            # "Rows 2-10 (even rows):" are five rows, not nine.
            odd = numbers[0] % 2 if every[1] is None else every[1].casefold() == "odd"
            numbers = tuple(number for number in numbers if number % 2 == odd)
            is_range = False
        return Heading(
            kind,
            " ".join(label.split()),
            numbers,
            is_range,
            also,
            count,
            side,
            name,
            "rnd" in head or "round" in head or head.startswith("rd"),
            notes,
            token_start(first),
            self._mark_of(aside),
            _last_alike(str(extra[0])) if extra else None,
        )

    def _mark_of(self, notes: Iterable[Token]) -> str:
        """Return the letter or the colour by which rows of one number are told apart."""
        words = [str(note).strip("()[]{}, ") for note in notes]
        letters = [word for word in words if len(word) == 1 and word.isascii()]
        return next(iter(letters), "") or next(filter(None, map(self.colour_in, words)), "")


_EVERY_OTHER = re.compile(
    r"^[(\[{](?:(?:all|every) )?"
    r"(?:(even|odd)(?:[ -]numbered)?(?: (?:rows|rnds|rounds))?"
    r"|(?:rs|ws|right[ -]side|wrong[ -]side) (?:rows|rnds|rounds))(?: only)?[)\]}]$",
    re.IGNORECASE,
)
"""Which rows of a range are meant: "(even rows)", "(WS rows)"."""


def _last_alike(words: str) -> int | None:
    """Return the last row of "and all even rows to 10"."""
    found = _UP_TO.search(words)
    return int(found[1]) if found is not None else None
