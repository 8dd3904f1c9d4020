"""
From the text of a line to its phrases, by the grammar that the product's data holds.

Nothing is decided here that needs more than one phrase. The reader knows the names that a pattern
file defines (stitches, stitch patterns, colours): they are replaced by signs of private use
before the grammar sees the line, at the same length, so that every place stays where it was.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from lark.exceptions import LarkError, UnexpectedCharacters, UnexpectedInput, UnexpectedToken

from engine.limits import LONGEST_LINE, MOST_DIGITS, MOST_NAMES, spend
from engine.pattern.clauses_apart import parted, without_dots, yarn_moved
from engine.pattern.headings import HeadingKind
from engine.pattern.notation import Remark
from engine.pattern.open_words import OPEN, work_in
from engine.pattern.phrase_builder import PhraseBuilder
from engine.pattern.phrases import PhraseLine
from engine.pattern.problems import PatternError, Problem
from engine.pattern.prose import clause_at, plain_clause
from engine.pattern.row_tables import KeptTables, parser_of
from engine.pattern.set_aside import SETTING_ASIDE, all_harmless, live_word
from engine.pattern.spelling import row_number
from engine.pattern.words import Places, Words

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from lark import Lark, Token

    from engine.pattern.stitches import Stitch

MOST_BRACKETS = 20
MOST_ASIDE = 4
"""So many clauses of a line are set aside; each has the line read once more."""

_FILLER = "\ue000"
_ASIDE = "\ue700"
_FIRST_STITCH = 0xE100
_FIRST_PATTERN = 0xE400
_FIRST_COLOUR = 0xE500


@dataclass(frozen=True, slots=True)
class Names:
    """The names that a pattern file defines: its stitches, stitch patterns and colours."""

    stitches: Mapping[str, Stitch] = field(default_factory=dict)
    patterns: tuple[str, ...] = ()
    colours: tuple[str, ...] = ()


NO_NAMES = Names()


class RowReader:
    """Reads written lines; made once from the text of the grammar and then used for all files."""

    def __init__(self, grammar: str, words: str, kept: KeptTables | None = None) -> None:
        """Keep grammar and words; the tables are built, or taken as kept, for the first line."""
        self._grammar = grammar
        self.words = Words(words)
        self._kept = kept
        self._parser: Lark | None = None
        self._builder = PhraseBuilder()
        self._places = _Places()

    def read(self, text: str, names: Names = NO_NAMES) -> PhraseLine:
        """Return the line; raises PatternError whose column counts from the line's beginning."""
        return LineReader(self, names).read(text)

    def parse(self, prepared: str, names: _Signs, text: str, places: Places) -> PhraseLine:
        """Return the line that a prepared text means; raises lark's errors."""
        self._places.places = places
        self._places.text = text
        if self._parser is None:
            self._parser = parser_of(self._grammar, self._builder, self._places, self._kept)
        self._builder.signs = names.meaning
        self._builder.text = text
        line = self._parser.parse(prepared)
        if not isinstance(line, PhraseLine):
            raise TypeError("The grammar does not begin with a line.")
        return line


class _Places:
    """Gives the words that lark finds their places in the line as it was written."""

    always_accept: tuple[str, ...] = ()

    def __init__(self) -> None:
        self.places = Places()
        self.text = ""

    def process(self, stream: Iterator[Token]) -> Iterator[Token]:
        places = self.places
        for token in stream:
            if token.type in SETTING_ASIDE or token.type in OPEN or token.type == "PICOT_OFF":
                _nothing_lost(token, places, self.text)
            start, end = token.start_pos, token.end_pos
            if start is not None and end is not None:
                token.start_pos = places.start(start)
                token.end_pos = places.end(end)
            yield token


def _nothing_lost(token: Token, places: Places, text: str) -> None:
    """Raise at a live word among words that are set aside."""
    aside = token.type in SETTING_ASIDE
    found = (live_word if aside else work_in)(token.type, str(token))
    if found is None:
        return
    begun = token.start_pos or 0
    start, end = places.start(begun + found.start()), places.end(begun + found.end())
    among = "words that are only set aside" if aside else "words that only name a place"
    sentence = (
        f"'{text[start:end]}' stands among {among}, and it would be lost; "
        "write what is worked as a line of its own, and the rest as a note."
    )
    raise PatternError(Problem(sentence, 1, start + 1))


def _with_clause_aside(error: UnexpectedInput, prepared: str) -> str | None:
    """Return a line in which a clause without work, where it could not be read, is set aside."""
    place = getattr(error, "pos_in_stream", None)
    if not isinstance(error, UnexpectedCharacters) or not isinstance(place, int):
        return None
    start, end = clause_at(prepared, place)
    if not (all_harmless(prepared[start:end]) or plain_clause(prepared, start, end)):
        return None
    if _stands_for_work(prepared, start, end):
        return None
    start += len(prepared[start:end]) - len(prepared[start:end].lstrip())
    return f"{prepared[:start]}{_ASIDE * (end - start)}{prepared[end:]}"


def _stands_for_work(prepared: str, start: int, end: int) -> bool:
    """Whether a clause stands where a row's work stands: unknown words there are no note."""
    words = prepared[start:end].strip(" ()[]{}")
    if words.startswith(("then ", "and then ")):
        return True
    if _ROW_LABEL.search(prepared[:start].replace(_ASIDE, "")) is None:
        return False
    nothing_else = not prepared[end:].replace(_ASIDE, "").strip(" .,;:")
    return nothing_else or _BESIDE_WORK.match(words) is None


_ROW_LABEL = re.compile(r"(?<![a-z])(?:rows?|rnds?|rounds?|rs|ws)(?![a-z])[^:;.]*:[\s.,;]*$")
_BESIDE_WORK = re.compile(r"(?:with|using|holding|taking|keeping|being|from|for)(?![a-z])")


class LineReader:
    """Reads the lines of one pattern file, with the names that the file defines."""

    def __init__(self, reader: RowReader, names: Names) -> None:
        """Prepare the names."""
        self._reader = reader
        self._signs = _Signs(names)
        self._known: dict[str, PhraseLine] = {}

    def read(self, text: str) -> PhraseLine:
        """Return the line; raises PatternError whose column counts from the line's beginning."""
        if (problem := too_much_of(text)) is not None:
            raise PatternError(problem)
        if (
            sum(text.count(sign) for sign in "([{") > MOST_BRACKETS * 10
            or _depth(text) > MOST_BRACKETS
        ):
            raise PatternError(Problem("There are too many brackets in this line.", 1, 1))
        spend(_STEPS_OF_LINE + len(text) // _LETTERS_OF_STEP)
        signed = self._signs.put_into(yarn_moved(without_dots(_plain(text))))
        prepared, places = self._reader.words.usual(parted(signed))
        number = _ROW_NUMBER.match(prepared)
        if number is None:
            return self._parsed(prepared, text, places)
        # The same words under another row's number mean the same: they are parsed once.
        digits = number.end() - number.start(1)
        key = f"{prepared[: number.start(1)]}{'#' * digits}{prepared[number.end() :]}"
        known = self._known.get(key)
        if known is None or known.heading is None:
            known = self._parsed(prepared, text, places)
            self._known[key] = known
            return known
        label = " ".join(text[: places.end(number.end())].split())
        heading = replace(known.heading, numbers=(row_number(number.group(1)),), label=label)
        return replace(known, text=text, heading=heading)

    def _parsed(
        self, prepared: str, text: str, places: Places, asides: int = MOST_ASIDE
    ) -> PhraseLine:
        try:
            line = self._reader.parse(prepared, self._signs, text, places)
        except UnexpectedInput as error:
            without = _with_clause_aside(error, prepared) if asides else None
            if without is not None:
                return self._parsed(without, text, places, asides - 1)
            raise PatternError(self._not_read(error, text, places)) from None
        except LarkError as error:
            raise PatternError(Problem(f"This line cannot be read: {error}.", 1, 1)) from None
        numbered = line.heading is not None and line.heading.kind is HeadingKind.NUMBERED
        if numbered and line.phrases and all(isinstance(one, Remark) for one in line.phrases):
            sentence = "Nothing in this row can be worked; a note has no row number."
            raise PatternError(Problem(sentence, 1, line.phrases[0].at + 1))
        return line

    def _not_read(self, error: UnexpectedInput, text: str, places: Places) -> Problem:
        at_end = isinstance(error, UnexpectedToken) and error.token.type == "$END"
        position = getattr(error, "pos_in_stream", None)
        if isinstance(error, UnexpectedCharacters) and isinstance(position, int):
            position = places.start(position)
        if at_end or not isinstance(position, int) or not 0 <= position < len(text):
            return Problem(
                "Something is missing at the end of this line.", 1, len(text.rstrip()) + 1
            )
        found = WORD.match(text, position)
        word = found.group() if found else text[position]
        sentence = (
            f"'{word}' cannot be read here. Write it in the usual abbreviations, define it "
            "under [stitches], or mark the row (unchecked)."
        )
        return Problem(sentence, 1, position + 1)


def too_much_of(text: str) -> Problem | None:
    """Return what is too long in the text of a row, if anything is."""
    if len(text) > LONGEST_LINE:
        return Problem(f"This line is too long; break it up below {LONGEST_LINE} characters.", 1, 1)
    if (long := _LONG_NUMBER.search(text)) is not None:
        return Problem(f"This number has more than {MOST_DIGITS} digits.", 1, long.start() + 1)
    if (run := _NUMBERS_ON_END.search(text)) is not None:
        return Problem("So many numbers stand here one after the other.", 1, run.start() + 1)
    if (run := _NO_SIGN.search(text)) is not None:
        sentence = f"Set a comma or a full stop: {MOST_WITHOUT_SIGN} characters have none."
        return Problem(sentence, 1, run.start() + 1)
    return None


MOST_WITHOUT_SIGN = 600
_NUMBERS_ON_END = re.compile(r"(?:\d[\s.,:;/|()\[\]{}\N{EN DASH}x*-]{0,4}){120}")
_NO_SIGN = re.compile(rf"[^,;.:()\[\]{{}}\n]{{{MOST_WITHOUT_SIGN}}}")
_STEPS_OF_LINE = 20
_LETTERS_OF_STEP = 4
_LONG_NUMBER = re.compile(rf"\d{{{MOST_DIGITS + 1},}}")
_ROW_NUMBER = re.compile(r"\s*(?:row|rnd|round) (\d{1,6})(?=:)")
WORD = re.compile(r"[\w&/'-]+|\S")


def _depth(text: str) -> int:
    deepest = depth = 0
    for sign in text:
        if sign in "([{":
            depth += 1
            deepest = max(deepest, depth)
        elif sign in ")]}":
            depth -= 1
    return deepest


_SIGNS = str.maketrans(
    {
        "\N{EN DASH}": "-", "\N{EM DASH}": "-", "\N{MINUS SIGN}": "-", "\N{HYPHEN}": "-",
        "\N{NON-BREAKING HYPHEN}": "-", "\N{FIGURE DASH}": "-", "\N{HORIZONTAL BAR}": "-",
        "\N{NO-BREAK SPACE}": " ", "\N{NARROW NO-BREAK SPACE}": " ", "\N{THIN SPACE}": " ",
        "\N{EN SPACE}": " ", "\N{EM SPACE}": " ", "\N{HAIR SPACE}": " ",
        "\t": " ", "\n": " ", "\r": " ",
        "\N{RIGHT SINGLE QUOTATION MARK}": "'", "\N{LEFT SINGLE QUOTATION MARK}": "'",
        "\N{PRIME}": "'", "\N{DOUBLE PRIME}": '"', "\N{RIGHT DOUBLE QUOTATION MARK}": '"',
        "\N{LEFT DOUBLE QUOTATION MARK}": '"', "\N{MULTIPLICATION SIGN}": "x",
        "\N{ASTERISK OPERATOR}": "*", "\N{FRACTION SLASH}": "/", "\N{FULLWIDTH COLON}": ":",
        "<": "(", ">": ")", "\N{BULLET}": " ", "\N{MIDDLE DOT}": ",",
        **{chr(letter): chr(letter + 32) for letter in range(ord("A"), ord("Z") + 1)},
    }
)  # fmt: skip


_SIGNS_ONLY = {key: value for key, value in _SIGNS.items() if not chr(key).isupper()}


def _plain(text: str) -> str:
    """Return the text with one sign for each meaning, as long as before, letters not yet small."""
    if "\N{EM DASH}" in text:
        text = _COUNT_AFTER_DASH.sub(";", text)
    return text.translate(_SIGNS_ONLY)


_COUNT_AFTER_DASH = re.compile(
    r"(?<=[\w*)\]])\N{EM DASH}(?=\d+(?: ?[(\[{][^()\[\]{}]*[)\]}])? (?:sts?|stitch(?:es)?)\b)"
)
"""A dash between a row and its count: "k3-13 sts" would be a range."""


class _Signs:
    """Signs of private use for the names that a pattern defines."""

    def __init__(self, names: Names) -> None:
        self.meaning: dict[str, object] = {}
        replacing: list[tuple[str, str, bool]] = []
        for index, (name, stitch) in enumerate(list(names.stitches.items())[:MOST_NAMES]):
            sign = chr(_FIRST_STITCH + index)
            self.meaning[sign] = stitch
            replacing.append((name, sign, False))
        for index, name in enumerate(names.patterns[:MOST_NAMES]):
            sign = chr(_FIRST_PATTERN + index)
            self.meaning[sign] = name
            replacing.append((name, sign, False))
        letters = names.colours or _USUAL_COLOURS
        declared = tuple(re.escape(one) for one in names.colours if len(one) == 1 and one.isupper())
        self._before_number = (
            re.compile(rf"(?<![A-Za-z0-9])(?:{'|'.join(declared)})(?=\d+(?![A-Za-z0-9]))")
            if declared
            else None
        )
        for index, name in enumerate(letters[:MOST_NAMES]):
            sign = chr(_FIRST_COLOUR + index)
            self.meaning[sign] = name
            replacing.append((name, sign, True))
        # Longest first, so that "mb2" is not read as "mb" and a 2.
        replacing.sort(key=lambda entry: -len(entry[0]))
        self._plain = _one_of(
            "(?<![A-Za-z0-9])", (n for n, _, exact in replacing if not exact), re.IGNORECASE
        )
        # A colour is a capital letter after an amount or after "with"; elsewhere A is a marker's
        # name or the beginning of a sentence.
        exact = [name for name, _, exact in replacing if exact]
        self._exact = _one_of(_BEFORE_COLOUR, exact, re.NOFLAG)
        long = [name for name in exact if len(name) > 1 and name.isupper()]
        self._long = _one_of("(?<![A-Za-z0-9])", long, re.NOFLAG)
        self._signs = {
            (name if exact else name.casefold()): sign for name, sign, exact in replacing
        }

    def put_into(self, text: str) -> str:
        """Return the text with signs for names and small letters for the rest."""
        if self._plain is not None:
            text = self._plain.sub(lambda found: self._sign(found.group().casefold()), text)
        if self._exact is not None:
            text = self._exact.sub(self._colour_sign, text)
        for pattern in (self._long, self._before_number):
            if pattern is not None:
                text = pattern.sub(lambda found: self._sign(found.group()), text)
        return text.translate(_SIGNS)

    def _colour_sign(self, found: re.Match[str]) -> str:
        if _CROSSING.search(found.string[max(found.start() - 9, 0) : found.start()]):
            return found.group()
        return self._sign(found.group())

    def _sign(self, name: str) -> str:
        return self._signs[name] + _FILLER * (len(name) - 1)


_USUAL_COLOURS = ("A", "B", "C", "D", "E", "F", "G", "H", "MC", "CC", "CC1", "CC2", "CC3")


_BEFORE_COLOUR = (
    r"(?:(?<=\d )|(?<=\d)|(?<=[Ww]ith )|(?<=WITH )|(?<= in )|(?<= IN )|(?<=[Uu]sing )"
    r"|(?<=\bIn )|(?<= rows )|(?<= rnds )|(?<= rounds )"
    r"|(?<=colour )|(?<=color )|(?<=[Jj]oin )|(?<=[Cc]ut )|(?<=[Bb]reak )|(?<=hange to )"
    r"|(?<=witch to )|(?<=\()|(?<=[Ss]\) )(?=[A-Z]{1,3}:))"
)
# "C4F" is a cable whose F says where it crosses, no colour.
_CROSSING = re.compile(r"(?<![a-z])(?:[ct]|cr|tw|cable ?)\d{1,2} ?$", re.IGNORECASE)


# "Beg with A P ROW" means a purl row.
_AFTER_NAME = (
    r"(?![A-Za-z0-9])(?! (?i:k|p|knit|purl|ws|rs|wrong|right)(?:[ -](?i:side))? (?i:row|r))"
)


def _one_of(before: str, names: Iterable[str], flags: re.RegexFlag) -> re.Pattern[str] | None:
    words = "|".join(re.escape(name) for name in names)
    return re.compile(rf"{before}(?:{words}){_AFTER_NAME}", flags) if words else None
