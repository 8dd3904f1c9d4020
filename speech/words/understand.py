"""From words to commands: strictly, the whole utterance is one command or it is nothing.

Spoken and typed words go through the same forms. Figures ("4 3/8 in", "13"), capitals and
punctuation are for the keyboard; the decoder only ever says words. No sign is dropped that could
make a number another one: a minus, "3-4", "~5" or "5?" fit no form (`speech.words.signs`). What was
heard may stand for two numbers (thirteen, thirty): `understand_heard` hands over both, the one
heard first.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from engine.commands import ASKING, Mistake, NoteRow
from engine.quantities import Length, LengthUnit, Mass, MassUnit, parse_unit
from engine.talk import TALK, Yes
from speech.words.numbers import amounts, misheard, parts, say_quantity, say_whole, whole_numbers
from speech.words.phrases import Form, PhraseBook, Slot, Way
from speech.words.signs import has_minus, tokens_in, without_signs

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence

    from engine.commands import Command
    from engine.talk import Talk

_SOME_ROW = re.compile(r"(?:(?:in|on)\s+)?row\s+\W*\d", re.IGNORECASE)
_BELOW_NOTHING = re.compile(r"\s*[^\w\s(\"\']\s*\d")
_FROM_ZERO = frozenset({("count_stitches", "count"), ("stop_in_row", "after")})
"""Counts that may be zero; rows and ridges are at least one."""


EVERY_WAY = frozenset(Way)


@dataclass(frozen=True, slots=True)
class _Text:
    """An utterance as tokens, with the places in the original where they begin."""

    tokens: tuple[str, ...]
    starts: tuple[int, ...]
    original: str
    asks: bool = False
    """Whether a question mark ends it."""


@dataclass(frozen=True, slots=True)
class Understood:
    """One reading of an utterance and the form that it follows."""

    said: Command | Talk
    form: Form


def understand(words: str, book: PhraseBook) -> tuple[Command | Talk, ...]:
    """Return what the words say: one command, or () when they are not exactly one.

    More than one only if the phrase data lets the same words mean several things; the first form
    in the data comes first.
    """
    return tuple(dict.fromkeys(one.said for one in readings(words, book)))


def understand_heard(
    words: str, book: PhraseBook, *, asked: bool = False
) -> tuple[Command | Talk, ...]:
    """
    Return what spoken words may say: the reading itself first, then teens for tens and back.

    Only spoken forms count, and the short answers only when something was `asked`.
    """
    ways = {Way.SPOKEN, Way.ANSWER} if asked else {Way.SPOKEN}
    found = list(readings(words, book, ways))
    if found:
        for other in misheard(_tokens(words, book).tokens, book.numbers):
            found += readings(" ".join(other), book, ways)
    return tuple(dict.fromkeys(one.said for one in found))


def readings(
    words: str, book: PhraseBook, ways: frozenset[Way] | set[Way] = EVERY_WAY
) -> tuple[Understood, ...]:
    """Return every reading with its form; forms with free text give way to closer ones."""
    text = _tokens(words, book)
    found: list[tuple[int, Understood]] = []
    for form in book.all_forms:
        if form.way not in ways or (text.asks and not _can_ask(form.kind)):
            continue
        first = form.items[0]
        if isinstance(first, str) and (not text.tokens or text.tokens[0] != first):
            continue
        for values in _match(form, 0, text, 0, book):
            said = _build(form, values, book)
            if said is not None:
                free = len(str(values.get("text", "")))
                found.append((free, Understood(said, form)))
    least = min((free for free, _ in found), default=0)
    closest = tuple(one for free, one in found if free == least)
    if not least:
        return closest
    plain = without_signs(words, book.numbers.minus)
    if plain != words and (
        _numbers_in(readings(plain, book, ways), book) - _numbers_in(closest, book)
    ):
        return ()  # the sign stands where a number would be: that number is not free text
    return tuple(one for one in closest if not _hides_number(one, book))


def said_without_minus(words: str, book: PhraseBook) -> Command | Talk | None:
    """Return what words would say without the minus in them; None if there is none, or nothing."""
    if not has_minus(words, book.numbers.minus):
        return None
    return next(iter(understand(without_signs(words, book.numbers.minus), book)), None)


def _numbers_in(found: Iterable[Understood], book: PhraseBook) -> set[str]:
    """Return the fields that readings take numbers for."""
    slots = {item.field for one in found for item in one.form.items if isinstance(item, Slot)}
    return slots - {"text"} - book.vocabulary.choices.keys()


def _hides_number(one: Understood, book: PhraseBook) -> bool:
    """Tell free text that would be a number if it could be read: "in row 5.5", a needle of -4."""
    text = str(getattr(one.said, "text", None) or getattr(one.said, "lot", None) or "")
    if isinstance(one.said, NoteRow | Mistake):
        return one.said.row is None and bool(_SOME_ROW.match(text))
    first = text.casefold().split()[:1]
    return bool(_BELOW_NOTHING.match(text)) or bool({*first} & {*book.numbers.minus})


def _can_ask(kind: type[Command | Talk]) -> bool:
    return kind in ASKING or (kind in TALK.values() and kind is not Yes)


def tokens_of(words: str, book: PhraseBook) -> tuple[str, ...]:
    """Return the words, numbers and signs of a text, as the forms have them."""
    return _tokens(words, book).tokens


def example(form: Form, book: PhraseBook) -> str:
    """Return a sentence of a form, for help: "measure eleven centimetres"."""
    said: list[str] = []
    for item in form.items:
        match item:
            case str():
                said.append(item)
            case Slot(field="count" | "after" | "stitches"):
                said.append(say_whole(3 if "rows" in form.items else 50, book.numbers))
            case Slot(field="rows"):
                said.append(say_whole(5, book.numbers))
            case Slot(field="row"):
                said.append(say_whole(31, book.numbers))
            case Slot(field="length"):
                said.append(_example_quantity(11, LengthUnit.CM, book))
            case Slot(field="mass"):
                said.append(_example_quantity(41, MassUnit.G, book))
            case Slot(field="text"):
                said.append("cable crossed wrong")
            case Slot(field=field):
                said.append(" ".join(next(iter(book.choices[field].values()))[0]))
    return " ".join(said)


def _example_quantity(value: int, unit: LengthUnit | MassUnit, book: PhraseBook) -> str:
    one, many = book.units[unit][:2]
    return say_quantity(Fraction(value), one, many, book.numbers)


# --- matching ------------------------------------------------------------------------------------


def _tokens(words: str, book: PhraseBook) -> _Text:
    original = words.replace("\N{RIGHT SINGLE QUOTATION MARK}", "'")
    found = list(tokens_in(original.casefold()))
    asks = False
    while (
        len(found) > 1 and found[-1].group() == "?"
    ):  # a question is asked; alone it asks for help
        found.pop()
        asks = True
    tokens = [one.group().removesuffix("'") for one in found]
    starts = [one.start() for one in found]
    for word, said in book.aliases.items():
        at = 0
        while at + len(said) <= len(tokens):
            if tuple(tokens[at : at + len(said)]) == said:
                tokens[at : at + len(said)] = [word]
                del starts[at + 1 : at + len(said)]
            at += 1
    return _Text(tuple(tokens), tuple(starts), original, asks)


def _match(
    form: Form, item_at: int, text: _Text, at: int, book: PhraseBook
) -> Iterator[dict[str, object]]:
    """Yield the values of the slots for every way in which the rest of a form fits."""
    if item_at == len(form.items):
        if at == len(text.tokens):
            yield {}
        return
    item = form.items[item_at]
    if isinstance(item, str):
        if at < len(text.tokens) and text.tokens[at] == item:
            yield from _match(form, item_at + 1, text, at + 1, book)
        return
    for value, end in _fill(item, text, at, book):
        for rest in _match(form, item_at + 1, text, end, book):
            yield {item.field: value, **rest}


def _fill(slot: Slot, text: _Text, at: int, book: PhraseBook) -> Iterator[tuple[object, int]]:
    tokens = text.tokens
    if slot.field in book.vocabulary.wholes:
        yield from whole_numbers(tokens, at, book.numbers)
    elif slot.field in book.vocabulary.choices:
        for value, ways in book.choices[slot.field].items():
            for way in ways:
                if tokens[at : at + len(way)] == way:
                    yield book.vocabulary.choices[slot.field](value), at + len(way)
    elif slot.field == "text":
        if at < len(tokens):
            yield text.original[text.starts[at] :].strip(), len(tokens)
    else:
        yield from _quantity(slot.field, tokens, at, book)


def _quantity(
    field: str, tokens: Sequence[str], at: int, book: PhraseBook
) -> Iterator[tuple[Length | Mass, int]]:
    for value, end in _before_unit(tokens, at, book):
        if end >= len(tokens) or value <= 0:
            continue
        unit = unit_of(tokens[end], book)
        for said, behind in _with_parts(value, tokens, end + 1, book):
            match unit:
                case LengthUnit() if field == "length":
                    yield Length(said, unit), behind
                case MassUnit() if field == "mass":
                    yield Mass(said, unit), behind
                case _:
                    pass


def _before_unit(
    tokens: Sequence[str], at: int, book: PhraseBook
) -> Iterator[tuple[Fraction, int]]:
    """Yield the numbers that may stand before a unit: "an" is one of it, too."""
    yield from amounts(tokens, at, book.numbers)
    if at < len(tokens) and tokens[at] in book.numbers.articles:
        yield Fraction(1), at + 1


def _with_parts(
    value: Fraction, tokens: Sequence[str], at: int, book: PhraseBook
) -> Iterator[tuple[Fraction, int]]:
    """Yield a value, and what it is with parts behind its unit: "an inch and a half"."""
    yield value, at
    if value.denominator == 1 and at < len(tokens) and tokens[at] == book.numbers.and_word:
        for part, end in parts(tokens, at + 1, book.numbers):
            yield value + part, end


def read_quantity(words: str, book: PhraseBook) -> Length | Mass | None:
    """Return the one length or weight that the words say, in words or figures; None if none."""
    tokens = tokens_of(words, book)
    for field in ("length", "mass"):
        for said, end in _quantity(field, tokens, 0, book):
            if end == len(tokens):
                return said
    return None


def unit_of(token: str, book: PhraseBook) -> LengthUnit | MassUnit | None:
    """Return the unit that a word or symbol names; None if it names none."""
    for unit, names in book.units.items():
        if token in names:
            return unit
    return parse_unit(token)


def _build(form: Form, values: Mapping[str, object], book: PhraseBook) -> Command | Talk | None:
    """Build the command, or None if a number is below what it can be."""
    for field in book.vocabulary.wholes & values.keys():
        if values[field] == 0 and (form.kind.name, field) not in _FROM_ZERO:
            return None
    kind: Callable[..., Command | Talk] = (
        form.kind
    )  # the phrase data was checked against its fields
    return kind(**values)
