"""How the trade spells things: from the words that the grammar has found to what they mean."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

from engine.limits import MOST_ROW_NUMBER
from engine.pattern.headings import Side, Which
from engine.pattern.phrases import Schedule
from engine.pattern.problems import PatternError, Problem
from engine.quantities import Length, LengthUnit, parse_number, parse_unit

if TYPE_CHECKING:
    from lark import Token

    from engine.pattern.notation import Amount

LARGEST_NUMBER = 1_000_000_000

_WORDS = {
    "one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7, "eight": 8,
    "nine": 9, "ten": 10, "eleven": 11, "twelve": 12, "thirteen": 13, "fourteen": 14,
    "fifteen": 15, "sixteen": 16, "seventeen": 17, "eighteen": 18, "nineteen": 19, "twenty": 20,
    "second": 2, "third": 3, "fourth": 4,
    "fifth": 5, "sixth": 6, "eighth": 8, "tenth": 10,
}  # fmt: skip
_TENS = ("twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")
_UNITS = ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
_WORDS |= {ten: 20 + 10 * place for place, ten in enumerate(_TENS)}
_WORDS |= {
    f"{ten}{sign}{unit}": 20 + 10 * place + number
    for place, ten in enumerate(_TENS)
    for number, unit in enumerate(_UNITS, 1)
    for sign in ("", "-", " ")
}
_LONGEST_FIRST = "|".join(sorted(_WORDS, key=lambda word: -len(word)))
_NUMBERS = re.compile(rf"\d+|(?<![a-z])(?:{_LONGEST_FIRST})(?![a-z])|-(?=\s*[(\[{{,:;/)\]}}])")


def amount_of(text: str) -> Amount | None:
    """Return the numbers in "24 (28, -, 32)" or "two"; None without any or with one too large."""
    if text.isdecimal() and len(text) < len(str(LARGEST_NUMBER)):
        return (int(text),)
    numbers: list[int | None] = []
    for word in _NUMBERS.findall(text):
        if word == "-":
            numbers.append(None)
        elif word in _WORDS:
            numbers.append(_WORDS[word])
        elif len(word) <= len(str(LARGEST_NUMBER)) and int(word) <= LARGEST_NUMBER:
            numbers.append(int(word))
        else:
            return None
    return tuple(numbers) or None


def rows_listed(text: str) -> tuple[tuple[int, ...], bool]:
    """
    Return the row numbers in "1-3", "2, 4 and 6" and whether it is one range.

    Raises PatternError for a number that no row has.
    """
    numbers: list[int] = []
    ranges = 0
    joined = False
    for word in re.findall(r"\d+|-|(?<![a-z])to(?![a-z])|through|thru", text):
        if not word.isdigit():
            joined = True
            continue
        number = row_number(word)
        if joined and numbers and numbers[-1] < number:
            numbers.extend(range(numbers[-1] + 1, number + 1))
            ranges += 1
        elif not (joined and numbers and numbers[-1] == number):
            numbers.append(number)
        joined = False
    return tuple(numbers), ranges == 1 and len(numbers) > 1 and numbers[-1] - numbers[0] == len(
        numbers
    ) - 1


def row_number(digits: str) -> int:
    """Return the number before a row; raises PatternError for one that no row has."""
    if len(digits) > len(str(MOST_ROW_NUMBER)) or int(digits) > MOST_ROW_NUMBER:
        sentence = f"Rows are numbered up to {MOST_ROW_NUMBER:,}; write a longer piece as a repeat."
        raise PatternError(Problem(sentence, 1, 1))
    return int(digits)


def side_of(text: str) -> Side | None:
    """Return the side that the words name, or None."""
    if re.search(r"(?<![a-z])(?:rs|right[ -]side)(?![a-z])", text):
        return Side.RIGHT
    if re.search(r"(?<![a-z])(?:ws|wrong[ -]side)(?![a-z])", text):
        return Side.WRONG
    return None


def which_of(text: str) -> Which:
    """Return which rows are meant by "all WS rows", "every foll alt row"."""
    side = side_of(text)
    if side is not None:
        return Which.RIGHT if side is Side.RIGHT else Which.WRONG
    for word, which in (
        ("even", Which.EVEN),
        ("odd", Which.ODD),
        ("alt", Which.ALTERNATE),
        ("2nd", Which.ALTERNATE),
        ("every other", Which.ALTERNATE),
        ("each other", Which.ALTERNATE),
        ("other", Which.OTHER),
        ("rem", Which.OTHER),
        ("foll", Which.ALTERNATE),
    ):
        if word in text:
            return which
    return Which.ALL


def stitch_of(token: Token) -> str:
    """Return the canonical name of the stitch that a word spells."""
    word = str(token).strip(" .")
    match token.type:
        case "PLAIN":
            return _plain_stitch(word)
        case "TOGETHER":
            count = amount_of(word) or (2,)
            return f"{word[0]}{count[0]}tog"
        case "CABLE":
            return " ".join(word.split())
        case "YO2" | "YO3":
            return "yo"
        case _:
            return _NAMES.get(token.type, token.type.lower())


_NAMES = {
    "BOBBLE": "mb",
    "DOUBLE_STITCH": "mds",
    "CHART": "chart",
    "DROP": "drop",
    "EDGE_STITCH": "work",
}


def _plain_stitch(word: str) -> str:
    last = word.rsplit(maxsplit=1)[-1]
    if last.startswith("k"):
        return "k" if last != "keep" else "work"
    if last.startswith("patt"):
        return "work"
    if last.startswith("p"):
        return "p"
    if last.startswith("s"):
        return "sl"
    return "work"


_HOW = {
    "TBL": "tbl",
    "WYIF": "wyif",
    "WYIB": "wyib",
    "PWISE": "pwise",
    "KWISE": "kwise",
    "BELOW": "below",
    "FROM_CABLE": "from cn",
}


def how_of(kind: str) -> str:
    """Return the canonical word for how a stitch is worked."""
    return _HOW[kind]


def marker_name(text: str) -> str:
    """Return the name of a marker in small letters ("sm a" -> "a"), "" if it has none."""
    words = text.split()
    last = words[-1] if len(words) > 1 else ""
    return last if len(last) == 1 and last != "m" else ""


def routine_of(text: str) -> str:
    """Return the name of the stitch pattern that the words mean."""
    if "single" in text or "double" in text:
        return "rib 1 1" if "single" in text else "rib 2 2"
    if "rib" in text and "as" not in text.split() and "correct" not in text:
        numbers = re.findall(r"\d+", text)
        return f"rib {numbers[0]} {numbers[1]}" if len(numbers) > 1 else "as set"
    if "rev" in text:
        return "reverse stockinette"
    if "garter" in text or re.search(r"g\.? ?st", text):
        return "garter"
    if "seed" in text or "moss" in text:
        return "seed"
    if re.search(r"st(?:oc\w+)?\.? ?st|stock", text):
        return "stockinette"
    return "as set"


def schedule_of(text: str) -> Schedule:
    """Return on which rows something is done: "next and every foll 6th row", "foll 3 alt rows"."""
    apart = _GRADED_ORDINAL.search(text)
    if apart is not None:
        by_size = amount_of(re.sub(r"(?:st|nd|rd|th)\b", "", apart.group())) or (1,)
        text = f"{text[: apart.start()]}{by_size[0] or 1}th{text[apart.end() :]}"
        return replace(schedule_of(text), by_size=by_size)
    graded = _GRADED_COUNT.search(text)
    if graded is not None:
        text = f"{text[: graded.start()]}{graded.group(1)}{text[graded.end() :]}"
    words = re.findall(r"[a-z]+|\d+(?:st|nd|rd|th)?", text)
    ordinals = [int(word[:-2]) for word in words if re.fullmatch(r"\d+(?:st|nd|rd|th)", word)]
    ordinals += [_WORDS[word] for word in words if word in _ORDINAL_WORDS]
    counts = [int(word) for word in words if word.isdigit()]
    counts += [_WORDS[word] for word in words if word in _WORDS and word not in _ORDINAL_WORDS]
    side = side_of(text)
    if side is None and (face := _FACE.search(text)) is not None:
        side = Side.RIGHT if face[1] == "k" else Side.WRONG
    repeats = bool({"every", "each", "foll", "following"} & set(words))
    every = _distance(words, ordinals, repeats=repeats, side=side)
    if len(ordinals) > 1 and not repeats and "next" not in words:
        # "on 3rd and 5th rows": all the rows named
        return Schedule(ordinals[0], ordinals[1] - ordinals[0], (len(ordinals),), side)
    if "this" in words and "next" in words:
        return Schedule(1, 1, (2,), side)  # "this and next row"
    has_next = bool({"next", "this"} & set(words))
    first: int | None = None
    if has_next:
        first = 1
    elif (len(ordinals) > 1 and repeats) or (ordinals and not repeats):
        first = ordinals[0]
    times: Amount | None = None
    if counts and ("alt" in text or has_next or not repeats or "foll" in text):
        times = (amount_of(graded.group()) if graded is not None else None) or (counts[0],)
        if every is None:
            every = 1 if side is None else 2  # "foll 3 RS rows": every other row is one
    elif counts and every is None:
        every = counts[0]
    singular = words[-1] in {"row", "rnd", "round"}
    if times is None and singular and every and not {"every", "each"} & set(words):
        # "3rd and foll 4th row": two rows; "next and foll 4th row" counts the next by itself
        times = (2,) if first not in {None, 1} and len(ordinals) > 1 else (1,)
    if times is None and every is None and not repeats:
        times = (1,)
    return Schedule(first, every, times, side, also_next=has_next and repeats)


_GRADED_ORDINAL = re.compile(
    r"\d+\s*(?:[(\[{][\d\s,:;/-]+[)\]}]|(?:[:/]\d+)+)\s*(?:st|nd|rd|th)\b"
    r"|\d+(?:st|nd|rd|th)\s*[(\[{]\s*\d+(?:st|nd|rd|th)[^)\]}]*[)\]}]"
)
_GRADED_COUNT = re.compile(r"(\d+)\s*[(\[{][\d\s,;:/|-]*[)\]}]")
_FACE = re.compile(r"(?:every|each) (?:foll\w* )?(k|p)(?:nit|url)? row")
"""Worked flat, a row that is knitted is one of the right side."""
_ORDINAL_WORDS = {"second", "third", "fourth", "fifth", "sixth", "eighth", "tenth"}


def _distance(
    words: list[str], ordinals: list[int], *, repeats: bool, side: Side | None
) -> int | None:
    if {"alt", "alternate", "other", "eor", "e"} & set(words):
        return 2
    if ordinals and repeats:
        return ordinals[-1]
    if side is not None and {"every", "each"} & set(words):
        return 2
    if {"every", "each"} & set(words) and not any(word.isdigit() for word in words):
        return 1
    return None


def lengths_of(numbers: str, unit: str) -> tuple[Length, ...] | None:
    """Return the lengths in "8 (9, 10)" with their unit; None if one is not a length."""
    found = parse_unit(unit.strip(" ."))
    if not isinstance(found, LengthUnit):
        return None
    lengths = []
    for word in _lengths_apart(numbers):
        value = parse_number(word)
        if value is None:
            return None
        lengths.append(Length(value, found))
    return tuple(lengths) or None


_SIZE_SIGNS = re.compile(r"[()\[\]{},:;|]| - ")
_FRACTION = re.compile(r"(?:\d+[ -])?(\d{1,2})/(2|3|4|8|16)")
"""A rule is marked in these parts of an inch; other numbers with a slash are of two sizes."""


def _lengths_apart(numbers: str) -> list[str]:
    """Return the lengths of all sizes one by one; a slash is a fraction or parts two sizes."""
    apart: list[str] = []
    for words in filter(None, map(str.strip, _SIZE_SIGNS.split(numbers))):
        fraction = _FRACTION.fullmatch(words)
        if fraction is not None and int(fraction.group(1)) < int(fraction.group(2)):
            apart.append(words)
        else:
            apart.extend(words.split("/"))
    return apart
