"""The sentences that the decoder listens for, sampled from the phrase data.

The decoder turns its list of sentences into a bigram language model with backoff: a word may follow
any word that it follows in some sentence, the likelier the more often it does. So the list need
not hold every legal sentence, only every legal pair of words, and repeating sentences makes
illegal pairs rarer. What is stitched together all the same is caught by the strict parser.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise, product
from typing import TYPE_CHECKING

from engine.quantities import LengthUnit, MassUnit
from speech.words.numbers import NumberWords, say_quantity, say_whole
from speech.words.phrases import Form, PhraseBook, Slot, Way

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

UNKNOWN = "[unk]"
"""The decoder's word for sound that is none of its words."""
_NUMBERED_FEW = {"piece", "pattern"}
FEW = 20
"""Nobody has more pieces or patterns at hand than this: so sixteen is never heard as sixty."""
_OFTEN_MANY = {"count", "after"}
"""Only of stitches on the needle is there ever a thousand; rows and swatches have fewer."""
IN_PARTS: set[LengthUnit | MassUnit] = {LengthUnit.IN, MassUnit.OZ}
"""Nobody says thirds and sixteenths of anything else, nor "and a half" behind it."""
HESITATION_WEIGHT = 40
"""How often what is said while thinking is repeated: it may stand between any two words."""
FIXED_WEIGHT = 6
"""How often a phrase without numbers is repeated, so that the numbers do not crowd it out."""


def cover_sentences(
    book: PhraseBook, *, answers: bool = True, attention: str | None = None
) -> tuple[str, ...]:
    """Return sentences in the model's words that contain every legal pair of neighbouring words.

    With `answers` the short answers are among them; with an `attention` word it begins each one.
    """
    covered: set[tuple[str, str]] = set()
    sentences: list[str] = []
    values = _Values(book)
    for form in book.spoken():
        if form.way is Way.ANSWER and not answers:
            continue
        for words in _fillings(form, values):
            said = [word for one in words for word in book.aliases.get(one, (one,))]
            if attention is not None:
                said = [attention, *said]
            pairs = set(pairwise(["<s>", *said, "</s>"]))
            if pairs <= covered:
                continue
            covered |= pairs
            sentences += [" ".join(said)] * (FIXED_WEIGHT if form.fixed else 1)
    between = [" ".join(one) for one in (*book.fillers, *book.repairs)]
    return (*sentences, *between * HESITATION_WEIGHT)


def _fillings(form: Form, values_of: _Values) -> Iterator[tuple[str, ...]]:
    """Yield the words of a form with values that bring in every pair of words."""
    slots = [item for item in form.items if isinstance(item, Slot)]
    values = {slot.field: values_of.of(slot, form) for slot in slots}
    longest = max((len(said) for said in values.values()), default=1)
    for turn in range(longest):
        yield _filled(form, {name: said[turn % len(said)] for name, said in values.items()})
    first = {name: said[0] for name, said in values.items()}
    for one, two in pairwise(form.items):
        if isinstance(one, Slot) and isinstance(two, Slot):
            ends = {said.split()[-1]: said for said in values[one.field]}
            begins = {said.split()[0]: said for said in values[two.field]}
            for end, begin in product(ends.values(), begins.values()):
                yield _filled(form, {**first, one.field: end, two.field: begin})


def _filled(form: Form, values: Mapping[str, str]) -> tuple[str, ...]:
    said = [values[item.field] if isinstance(item, Slot) else item for item in form.items]
    return tuple(" ".join(said).split())


class _Values:
    """The values that bring in every pair of words, said once for all forms that have them."""

    def __init__(self, book: PhraseBook) -> None:
        self._book = book
        self._known: dict[tuple[str, bool, bool], tuple[str, ...]] = {}
        self._enough: dict[tuple[str, bool, bool], tuple[str, ...]] = {}

    def of(self, slot: Slot, form: Form) -> tuple[str, ...]:
        """Return the values for a slot of a form; of two slots each meets many of the other's."""
        whole = slot.field in self._book.vocabulary.wholes
        few = whole and bool(_NUMBERED_FEW & set(form.items))
        many = whole and slot.field in _OFTEN_MANY and "stitches" in form.items
        key = ("" if whole else slot.field, few, many)
        if key not in self._known:
            self._known[key] = tuple(_values(slot.field, self._book, few=few, many=many))
            self._enough[key] = tuple(_needed(self._known[key]))
        alone = sum(isinstance(item, Slot) for item in form.items) == 1
        return (self._enough if alone else self._known)[key]


def _needed(values: Iterable[str]) -> Iterator[str]:
    """Leave out values that begin, go on and end as others before them do."""
    covered: set[tuple[str, str]] = set()
    for said in values:
        pairs = set(pairwise(["<s>", *said.split(), "</s>"]))
        if not pairs <= covered:
            covered |= pairs
            yield said


def _values(field: str, book: PhraseBook, *, few: bool, many: bool) -> Iterator[str]:
    """Yield what can be said for a field; `few` and `many` tell of whole numbers how large."""
    words = book.numbers
    if field in book.vocabulary.wholes:
        for number in range(1, FEW + 1) if few else _whole_numbers():
            yield say_whole(number, words)
            if number > 100 and number % 100:  # noqa: PLR2004 (only those can leave "and" out)
                yield say_whole(number, words, with_and=False)
        if many:
            yield from (say_whole(number, words) for number in _thousands())
            yield f"{words.articles[0]} {words.thousand}"
    elif field in book.vocabulary.choices:
        for ways in book.choices[field].values():
            yield from (" ".join(way) for way in ways)
    else:
        for unit, names in book.units.items():
            if isinstance(unit, LengthUnit) is (field == "length"):
                yield from _quantities(unit, names, words)


def _whole_numbers() -> Iterator[int]:
    """Every pair of number words, and every one of them first and last."""
    yield from range(100)
    yield from range(100, 200)
    yield from range(200, 1000, 100)


def _thousands() -> Iterator[int]:
    """Every pair with "thousand" in it; what comes behind is in the smaller numbers."""
    yield from range(1000, 10_000, 1000)
    yield from range(1100, 2000, 100)
    yield 1001


def _quantities(
    unit: LengthUnit | MassUnit, names: Sequence[str], words: NumberWords
) -> Iterator[str]:
    one, many = names[:2]  # another spelling sounds the same and would only crowd the readings
    for number in _whole_numbers():
        yield say_quantity(Fraction(number), one, many, words)
    for number in range(100):
        for part in (Fraction(1, 2), Fraction(1, 10) * (1 + number % 9), *_parts(8)):
            yield say_quantity(number + part, one, many, words)
    for digit in words.ones[1:]:  # "point five" is what is read, though "a half" is what we say
        yield " ".join([words.zeros[0], words.point, digit, many])
    if unit in IN_PARTS:
        for part in (*_parts(3), *_parts(16)):
            yield say_quantity(part, one, many, words)
            yield say_quantity(1 + part, one, many, words)
        of_one = say_quantity(Fraction(1, 2), one, many, words).split()
        half, an = of_one[:2], of_one[-2]
        for whole in ([an, one], [words.ones[2], many]):
            yield " ".join([*whole, words.and_word, *half])


def _parts(of: int) -> Iterator[Fraction]:
    yield from (Fraction(top, of) for top in range(1, of))


def recheck_sentences(
    commands: Sequence[str], fillers: Sequence[str], *, weight: int = 1
) -> tuple[str, ...]:
    """Return the sentences of the second opinion: the commands among everyday words.

    `weight` is how often the commands are repeated.
    """
    return (*(list(commands) * weight), *fillers)


def read_fillers(text: str) -> tuple[str, ...]:
    """Read a list of everyday words, one a line; lines that begin with # are comments."""
    lines = (line.strip() for line in text.splitlines())
    return tuple(line for line in lines if line and not line.startswith("#"))
