"""The phrase data: every form in which a command can be said or typed, read from one TOML text.

The decoder's sentences, the strict parser, the help and the test recordings all come from the
`PhraseBook` made here. A knitter's own phrases are a second text of the same form, read on top of
the first. Whatever is wrong in either is a `PhraseError` with one sentence that names the phrase.
"""

from __future__ import annotations

import re
from dataclasses import MISSING, dataclass, fields, replace
from enum import StrEnum
from fractions import Fraction
from itertools import product
from math import prod
from typing import TYPE_CHECKING, cast

from engine.limits import MOST_PHRASES, MOST_WAYS
from engine.quantities import LengthUnit, MassUnit
from engine.toml_text import TomlTextError, toml_of
from speech.words.numbers import NumberWords
from speech.words.vocabulary import KNITTING, Vocabulary

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping

    from engine.commands import Command
    from engine.talk import Talk
    from speech.words.row_language import RowLanguage


class PhraseError(ValueError):
    """The phrase data cannot be used; the sentence says which phrase and why."""


class Way(StrEnum):
    """How a form may come in."""

    SPOKEN = "say"
    """Spoken at any time, and typed."""
    ANSWER = "answer"
    """Spoken only while a question stands, typed at any time: too short for more."""
    TYPED = "type"
    """Only typed."""


@dataclass(frozen=True, slots=True)
class Slot:
    """A place in a form that is filled with the value of a command's field."""

    field: str


Item = str | Slot

_LEAST_WORDS = 2


@dataclass(frozen=True, slots=True)
class Form:
    """One way of saying one command, without anything left open but its slots."""

    kind: type[Command | Talk]
    way: Way
    items: tuple[Item, ...]

    @property
    def text(self) -> str:
        """The form as it is written: "measure {length} wide"."""
        return " ".join(
            f"{{{item.field}}}" if isinstance(item, Slot) else item for item in self.items
        )

    @property
    def fixed(self) -> bool:
        """Whether it has no slots."""
        return not any(isinstance(item, Slot) for item in self.items)


@dataclass(frozen=True, slots=True)
class PhraseBook:
    """Everything that can be said and typed, in one language."""

    language: str
    vocabulary: Vocabulary
    numbers: NumberWords
    units: Mapping[LengthUnit | MassUnit, tuple[str, ...]]
    """Spoken names of the units; the first is one, the second many."""
    choices: Mapping[str, Mapping[str, tuple[tuple[str, ...], ...]]]
    """Per field ("since", "fabric", "feel", "screen") and value the words that say it."""
    aliases: Mapping[str, tuple[str, ...]]
    """Words of the trade that the speech model lacks, by the words that it hears instead."""
    help: Mapping[str, str]
    """Per command one sentence that says what it is for."""
    written: Mapping[str, tuple[str, ...]]
    """Per command its spoken forms as written in the data, choices not yet spread out."""
    typed: Mapping[str, tuple[str, ...]]
    """Per command what can be typed besides, as written in the data."""
    all_forms: tuple[Form, ...]
    fillers: tuple[tuple[str, ...], ...] = ()
    """What is said while thinking and says nothing, each in its words."""
    repairs: tuple[tuple[str, ...], ...] = ()
    """What is said before something is said better."""
    rows: RowLanguage | None = None
    """How the rows that she makes up are said; None: that is not listened for."""

    @property
    def forms(self) -> Mapping[str, tuple[str, ...]]:
        """Per command name its forms, spoken ones first ("measure {length} wide")."""
        found: dict[str, tuple[str, ...]] = dict.fromkeys(self.vocabulary.kinds, ())
        for form in self.all_forms:
            found[form.kind.name] = (*found[form.kind.name], form.text)
        return found

    def spoken(self) -> tuple[Form, ...]:
        """Return the forms that can be spoken, those that answer a question too."""
        return tuple(form for form in self.all_forms if form.way is not Way.TYPED)

    def model_words(self) -> frozenset[str]:
        """Return every word that the speech model has to know."""
        words = {
            word
            for form in self.spoken()
            for item in form.items
            if isinstance(item, str)
            for word in self.aliases.get(item, (item,))
        }
        words |= self.numbers.everything
        words |= {name for names in self.units.values() for name in names}
        words |= {word for said in self.aliases.values() for word in said}
        words |= {word for said in (*self.fillers, *self.repairs) for word in said}
        words |= {
            word
            for values in self.choices.values()
            for ways in values.values()
            for way in ways
            for one in way
            for word in self.aliases.get(one, (one,))
        }
        return frozenset(words)

    def help_lines(self) -> tuple[str, ...]:
        """Return one line per command: how it is said, then what it is for."""
        return tuple(
            f"{' / '.join(self.written[name]) or '(typed) ' + self.forms[name][0]}: {sentence}"
            for name, sentence in self.help.items()
        )


def read_phrases(text: str, vocabulary: Vocabulary = KNITTING) -> PhraseBook:
    """Read the phrase data of a language; PhraseError with one sentence if it is not usable."""
    data = _toml(text)
    numbers = _numbers(_table(data, "numbers"))
    hesitation = _table(data, "hesitation")
    empty = PhraseBook(
        language=_text(data, "language"),
        vocabulary=vocabulary,
        numbers=numbers,
        units=_units(_table(data, "units")),
        choices=_choices(_table(data, "choices"), vocabulary),
        aliases=_aliases(data),
        help={},
        written={},
        typed={},
        all_forms=(),
        fillers=tuple(tuple(one.split()) for one in _words(hesitation, "fillers")),
        repairs=tuple(tuple(one.split()) for one in _words(hesitation, "repairs")),
    )
    book = _with_forms(empty, data)
    for name in vocabulary.kinds:
        if name not in book.help:
            raise PhraseError(f"The phrases lack the command '{name}'.")
    return book


def with_own_phrases(book: PhraseBook, text: str) -> PhraseBook:
    """Return the book with a knitter's own phrases added; PhraseError leaves it as it was.

    Her text has the same form and needs only the commands she has other words for.
    """
    data = _toml(text)
    unknown = set(data) - {"commands", "talk", "aliases", "language"}
    if unknown:
        raise PhraseError(
            f"Your own phrases can change commands, talk and aliases, not '{min(unknown)}'."
        )
    return _with_forms(replace(book, aliases={**book.aliases, **_aliases(data)}), data)


def unknown_words(book: PhraseBook, knows: Callable[[str], bool]) -> tuple[str, ...]:
    """Return the words of the spoken forms that a speech model does not know, in order."""
    return tuple(sorted(word for word in book.model_words() if not knows(word)))


# --- reading -------------------------------------------------------------------------------------


def _toml(text: str) -> dict[str, object]:
    try:
        return toml_of(text)
    except TomlTextError as error:
        raise PhraseError(f"The phrase file cannot be read: {error}") from error


def _table(data: Mapping[str, object], name: str) -> dict[str, object]:
    found = data.get(name, {})
    if not isinstance(found, dict):
        raise PhraseError(f"'{name}' in the phrase file has to be a table.")
    return cast("dict[str, object]", found)


def _aliases(data: Mapping[str, object]) -> dict[str, tuple[str, ...]]:
    found: dict[str, tuple[str, ...]] = {}
    for word, said in _table(data, "aliases").items():
        if not word.strip() or not isinstance(said, str) or not said.split():
            raise PhraseError(f"The alias '{word}' needs the words that are heard instead.")
        found[word] = tuple(said.split())
    return found


def _text(data: Mapping[str, object], name: str) -> str:
    found = data.get(name)
    if not isinstance(found, str) or not found.strip():
        raise PhraseError(f"The phrase file lacks the text '{name}'.")
    return found


def _words(data: Mapping[str, object], name: str) -> tuple[str, ...]:
    found = data.get(name, [])
    if not isinstance(found, list) or not all(isinstance(word, str) for word in found):
        raise PhraseError(f"'{name}' in the phrase file has to be a list of texts.")
    return tuple(str(word).strip() for word in found)


def _numbers(data: Mapping[str, object]) -> NumberWords:
    ones, teens, tens = (_words(data, name) for name in ("ones", "teens", "tens"))
    if (len(ones), len(teens), len(tens)) != (10, 10, 8):
        raise PhraseError("The numbers need ten ones, ten teens and eight tens.")
    parts: dict[str, Fraction] = {}
    for word, value in _table(data, "parts").items():
        try:
            parts[word] = Fraction(str(value))
        except (ValueError, ZeroDivisionError) as error:
            raise PhraseError(f"The part '{word}' needs a value such as 1/2.") from error
    return NumberWords(
        ones=ones,
        zeros=_words(data, "zeros"),
        teens=teens,
        tens=tens,
        hundred=_text(data, "hundred"),
        thousand=_text(data, "thousand"),
        and_word=_text(data, "and"),
        point=_text(data, "point"),
        of=_text(data, "of"),
        articles=_words(data, "articles"),
        parts=parts,
        minus=_words(data, "minus"),
    )


def _units(data: Mapping[str, object]) -> dict[LengthUnit | MassUnit, tuple[str, ...]]:
    known: dict[str, LengthUnit | MassUnit] = {
        unit.value: unit for unit in (*LengthUnit, *MassUnit)
    }
    found: dict[LengthUnit | MassUnit, tuple[str, ...]] = {}
    for name in data:
        if name not in known:
            raise PhraseError(f"There is no unit '{name}'; there are {', '.join(known)}.")
        found[known[name]] = _words(data, name)
        if len(found[known[name]]) < _LEAST_WORDS:
            raise PhraseError(f"The unit '{name}' needs two words: for one and for many.")
    return found


def _choices(
    data: Mapping[str, object], vocabulary: Vocabulary
) -> dict[str, dict[str, tuple[tuple[str, ...], ...]]]:
    found: dict[str, dict[str, tuple[tuple[str, ...], ...]]] = {}
    for field, kind in vocabulary.choices.items():
        values = _table(data, field)
        found[field] = {}
        for value in kind:
            ways = _words(values, value.value)
            if not ways:
                raise PhraseError(f"No words say '{value.value}' for {{{field}}}.")
            found[field][value.value] = tuple(tuple(way.split()) for way in ways)
        unknown = set(values) - set(found[field])
        if unknown:
            raise PhraseError(f"{{{field}}} cannot be '{min(unknown)}'.")
    return found


def _with_forms(book: PhraseBook, data: Mapping[str, object]) -> PhraseBook:
    """Add the forms of a text to a book and check the whole."""
    sentences, forms = dict(book.help), list(book.all_forms)
    written, typed = dict(book.written), dict(book.typed)
    vocabulary = book.vocabulary
    for group, known in vocabulary.groups.items():
        for name, entry in _table(data, group).items():
            if name not in known:
                raise PhraseError(f"There is no command '{name}' among the {group}.")
            if not isinstance(entry, dict):
                raise PhraseError(f"The command '{name}' has to be a table with 'say'.")
            _only({*(way.value for way in Way), "help"}, entry, name)
            if "help" in entry or name not in sentences:
                sentences[name] = _text(entry, "help")
            written[name] = (*written.get(name, ()), *_words(entry, Way.SPOKEN))
            typed[name] = (*typed.get(name, ()), *_words(entry, Way.TYPED))
            for way in Way:
                for text in _words(entry, way.value):
                    forms += [
                        _form(known[name], way, items, vocabulary)
                        for items in _spread(text, vocabulary)
                    ]
                    if len(forms) > MOST_PHRASES:
                        raise PhraseError(
                            f"More than {MOST_PHRASES} ways of saying things are too many."
                        )
    unique = tuple(dict.fromkeys(forms))
    _check(unique)
    return replace(book, help=sentences, written=written, typed=typed, all_forms=unique)


def _only(allowed: set[str], entry: Mapping[str, object], name: str) -> None:
    unknown = set(entry) - allowed
    if unknown:
        raise PhraseError(f"The command '{name}' cannot have '{min(unknown)}'.")


_PIECE = re.compile(
    r"\[(?P<optional>[^\[\]()]+)\]|\((?P<choice>[^\[\]()]+)\)|(?P<plain>[^\[\]()\s]+)"
)


def _spread(text: str, vocabulary: Vocabulary) -> Iterator[tuple[Item, ...]]:
    """Spread "[a] (b|c) {d}" out into the plain forms that it stands for."""
    if re.sub(_PIECE, "", text).strip() or not text.strip():
        raise PhraseError(f"The brackets in '{text}' do not match, or it is empty.")
    pieces: list[tuple[str, ...]] = []
    for found in _PIECE.finditer(text):
        if found["optional"] is not None:
            pieces.append((*found["optional"].split("|"), ""))
        elif found["choice"] is not None:
            pieces.append(tuple(found["choice"].split("|")))
        else:
            pieces.append((found["plain"],))
    if prod(len(piece) for piece in pieces) > MOST_WAYS:
        raise PhraseError(f"'{text[:60]}' can be said in more than {MOST_WAYS} ways.")
    for chosen in product(*pieces):
        items = tuple(_item(word, text, vocabulary) for word in " ".join(chosen).split())
        if not items:
            raise PhraseError(f"'{text}' can be said without any word.")
        yield items


def _item(word: str, text: str, vocabulary: Vocabulary) -> Item:
    if word.startswith("{") and word.endswith("}"):
        if word[1:-1] not in vocabulary.slots:
            raise PhraseError(f"'{text}' has {word}, which nothing can fill.")
        return Slot(word[1:-1])
    if not re.fullmatch(r"[a-z]+('[a-z]+)?|\?", word):
        raise PhraseError(f"'{text}' has '{word}': words are written in small letters.")
    return word


def _form(
    kind: type[Command | Talk], way: Way, items: tuple[Item, ...], vocabulary: Vocabulary
) -> Form:
    """Make one form and check it by itself."""
    form = Form(kind, way, items)
    taken = {field.name for field in fields(kind)}
    slots = [item.field for item in items if isinstance(item, Slot)]
    for slot in slots:
        if slot not in taken:
            raise PhraseError(f"'{form.text}': the command '{kind.name}' has no {{{slot}}}.")
    for field in fields(kind):
        needed = field.default is MISSING and field.default_factory is MISSING
        if needed and field.name not in slots:
            raise PhraseError(f"'{form.text}' has to say {{{field.name}}} somewhere.")
    if len(set(slots)) < len(slots):
        raise PhraseError(f"'{form.text}' has the same slot twice.")
    if way is not Way.TYPED:
        _check_spoken(form, vocabulary)
    elif Slot("text") in items[:-1]:
        raise PhraseError(f"'{form.text}': {{text}} takes everything to the end.")
    return form


def _check_spoken(form: Form, vocabulary: Vocabulary) -> None:
    """Refuse spoken forms that cannot be heard well."""
    if Slot("text") in form.items:
        raise PhraseError(f"'{form.text}': {{text}} can only be typed; say 'take a note'.")
    last = form.items[-1]
    if isinstance(last, Slot) and last.field in vocabulary.wholes - vocabulary.may_end:
        raise PhraseError(
            f"'{form.text}' ends in a number: a word has to close it, such as rows or stitches."
        )
    if form.way is Way.SPOKEN and form.fixed and len(form.items) < _LEAST_WORDS:
        raise PhraseError(f"'{form.text}' is too short: one word is heard by mistake too easily.")
    for one, two in zip(form.items, form.items[1:], strict=False):
        if (
            isinstance(one, Slot)
            and isinstance(two, Slot)
            and {one.field, two.field} <= vocabulary.wholes
        ):
            raise PhraseError(f"'{form.text}' has two numbers with no word between them.")


def _check(forms: tuple[Form, ...]) -> None:
    """Refuse forms that say two things, or that end where another one goes on."""
    meaning: dict[tuple[Item, ...], Form] = {}
    for form in forms:
        other = meaning.setdefault(form.items, form)
        if other.kind is not form.kind:
            raise PhraseError(
                f"'{form.text}' would mean both '{other.kind.name}' and '{form.kind.name}'."
            )
    fixed = [form for form in forms if form.fixed and form.way is Way.SPOKEN]
    starts = {form.items: form for form in fixed}
    for form in fixed:
        for length in range(1, len(form.items)):
            other_form = starts.get(form.items[:length])
            if other_form is not None and other_form.kind is not form.kind:
                raise PhraseError(
                    f"'{other_form.text}' is the beginning of '{form.text}': "
                    "it would be acted on before the rest is said."
                )
