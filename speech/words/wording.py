"""
The words of every reply: short and whole words for the voice, figures and more for the board.

All of it is data (shared/phrases/replies.en.toml), read here once and checked, so that a slip in
the data is found at the start and not in the middle of a row.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, cast

from engine.commands import Since, Term
from engine.fabric import Fabric
from engine.pattern.headings import Side
from engine.pattern.instruction import Instruction
from engine.pattern.notation import BindOff
from engine.quantities import Length, LengthUnit, Mass, MassUnit, number_text
from engine.replies import Say, Thing
from engine.show_how import Move
from engine.stages import Stage
from engine.toml_text import TomlTextError, toml_of
from speech.words.level import Level
from speech.words.rounds import in_rounds
from speech.words.spoken_numbers import Speller
from speech.words.spoken_rows import RowWords
from speech.words.templates import SentenceForm, Template, TemplateError, read_template

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from engine.pattern.notation import Item
    from engine.replies import Reply
    from speech.words.instructions import HandWords
    from speech.words.numbers import NumberWords


@dataclass(frozen=True, slots=True)
class Showing:
    """
    One sentence of how something is made: the number `number` of `count`, about `item`.

    `move` is which of the item's own moves it tells, counted from 0; -1: none of them.
    """

    words: str
    number: int
    count: int
    item: Item | None
    move: int = -1


_OF_ROWS: Final = frozenset(
    {
        *(Say.PIECE_IS, Say.ASK_CAST_ON_FAULTY, Say.SWATCH_NOTED, Say.SWATCH_ROWS),
        *(Say.SWATCH_NEEDS_COUNTS, Say.COUNTED_TWICE, Say.FORKED, Say.COUNT_ROWS),
    }
)
"""Answers about something else than this piece, or with words that are to be said as they are."""


class WordingError(ValueError):
    """The reply data cannot be used; the sentence says where and why."""


@dataclass(frozen=True, slots=True)
class Wording:
    """The words for every reply, in one language."""

    language: str
    speller: Speller
    rows: RowWords
    say: Mapping[Say, Template]
    board: Mapping[Say, Template]
    names: Mapping[str, str]
    """The words for sides, for where a length is measured from, and for the state of the fabric."""
    to: str
    """Between the two ends of a range."""
    hands: HandWords | None = None
    """What the hands do; without it a move is read as its row."""
    level: Level = Level.ROW
    """How rows are read out; the board always shows them in full words."""

    def spoken(self, reply: Reply) -> str:
        """Return what the voice says; "" for a reply that is only a tone."""
        template = _of(self.say[reply.say], reply)
        return _capital(template.fill(dict(reply.values), self._say, self.to))

    def written(self, reply: Reply) -> str:
        """Return what the board and the terminal write; "" for a reply that is only a tone."""
        template = _of(self.board.get(reply.say, self.say[reply.say]), reply)
        return _capital(template.fill(dict(reply.values), self._write, self.to))

    def said_aloud(self, replies: Iterable[Reply]) -> str:
        """Return everything that is to be said for several replies."""
        return " ".join(words for words in map(self.spoken, replies) if words)

    def _say(self, value: object, form: SentenceForm) -> str:
        match value:
            case int():
                ordinal = form is SentenceForm.ORDINAL
                return self.speller.ordinal(value) if ordinal else self.speller.whole(value)
            case Length() | Mass():
                bare = form is SentenceForm.BARE
                return self.speller.bare(value) if bare else self.speller.quantity(value)
            case Instruction() if self.hands is not None:
                return self.hands.say(value, self.level).rstrip(".")
            case Instruction():
                return self.rows.say(value)
            case Move():
                return self.showing(value).words
            case _:
                return self._name(value)

    def moves(self, instruction: Instruction) -> tuple[str, ...]:
        """Return all sentences of how something is made by hand."""
        if self.hands is None:
            return (f"{_capital(self.rows.say(instruction))}.",)
        return self.hands.told(instruction)

    def showing(self, move: Move) -> Showing:
        """Return one sentence of how something is made by hand, the last one if it has no more."""
        items = move.instruction.items
        if self.hands is None:
            words = self.moves(move.instruction)[0]
            return Showing(words, 1, 1, items[0] if items else None)
        told = self.hands.told_of(move.instruction)
        at = min(move.at, len(told) - 1)
        return Showing(told[at].words, at + 1, len(told), told[at].item, told[at].move)

    def _write(self, value: object, form: SentenceForm) -> str:
        match value:
            case int() if form is SentenceForm.ORDINAL:
                return self.speller.ordinal(value)
            case Length() | Mass() if form is SentenceForm.BARE:
                return number_text(value.value, value.unit)
            case Instruction(items=(BindOff(amount=None),), text=""):
                return self.rows.say(value)  # as on the board: nobody reads "bo all sts" gladly
            case int() | Length() | Mass() | Instruction():
                return str(value)
            case Move():
                return self.showing(value).words
            case _:
                return self._name(value)

    def _name(self, value: object) -> str:
        if isinstance(value, Side | Since | Fabric | Thing | Term | Stage):
            return self.names[_name_key(value)]
        return str(value)


def read_wording(text: str, numbers: NumberWords) -> Wording:
    """
    Read the reply data; `numbers` are the words below a thousand, from the phrase data.

    Raises WordingError with one sentence if it is not usable or not complete.
    """
    try:
        data = cast("dict[str, object]", toml_of(text))
    except TomlTextError as error:
        raise WordingError(f"The reply data is not TOML: {error}.") from error
    speller = _speller(data, numbers)
    say, board = _replies(data)
    return Wording(
        language=_text(data, "language", "the reply data"),
        speller=speller,
        rows=RowWords(
            speller,
            stitches=_templates(data, "stitches"),
            along=_words(data, "along"),
            together=_templates(data, "together"),
            cables=_words(data, "cables"),
            how=_words(data, "how"),
            row=_templates(data, "row"),
            prose=_words(data, "prose"),
        ),
        say=say,
        board=board,
        names=_names(data),
        to=_text(_table(data, "numbers"), "range", "[numbers]"),
    )


# --- reading -----------------------------------------------------------------------------------


def _replies(data: Mapping[str, object]) -> tuple[dict[Say, Template], dict[Say, Template]]:
    replies = _table(data, "replies")
    for key in replies:
        if key not in set(Say):
            raise WordingError(f"There is no reply '{key}'.")
    say: dict[Say, Template] = {}
    board: dict[Say, Template] = {}
    for key in Say:
        if key not in replies:
            raise WordingError(f"The reply '{key}' has no words.")
        where = f"[replies.{key}]"
        reply = _table(replies, key, where)
        say[key] = _template(_text(reply, "say", where), where)
        if "board" in reply:
            board[key] = _template(_text(reply, "board", where), where)
        strange = set(reply) - {"say", "board"}
        if strange:
            raise WordingError(f"{where} has an unknown entry '{min(strange)}'.")
    return say, board


def _speller(data: Mapping[str, object], numbers: NumberWords) -> Speller:
    table = _table(data, "numbers")
    parts = _table(table, "parts", "[numbers] parts")
    units = _table(data, "units")
    if not all(part.isdigit() and int(part) > 1 for part in parts):
        raise WordingError("[numbers] parts are named by what the whole is divided into.")
    return Speller(
        numbers=numbers,
        minus=_text(table, "minus", "[numbers]"),
        about=_text(table, "about", "[numbers]"),
        scales=_list(table, "scales", "[numbers]"),
        ordinals=_words(table, "ordinals"),
        ordinal_ending=_text(table, "ordinal_ending", "[numbers]"),
        parts={int(part): _pair(parts, part, "[numbers] parts") for part in parts},
        units={unit: _pair(units, unit.value, "[units]") for unit in (*LengthUnit, *MassUnit)},
    )


def _names(data: Mapping[str, object]) -> dict[str, str]:
    found: dict[str, str] = {}
    for table, kind in (
        ("sides", Side),
        ("since", Since),
        ("fabric", Fabric),
        ("thing", Thing),
        ("meaning", Term),
        ("stage", Stage),
    ):
        words = _table(data, table)
        for value in kind:
            found[_name_key(value)] = _text(words, value.value, f"[{table}]")
    return found


def _name_key(value: Side | Since | Fabric | Thing | Term | Stage) -> str:
    return f"{type(value).__name__}.{value.value}"


def _templates(data: Mapping[str, object], name: str) -> dict[str, Template]:
    return {key: _template(text, f"[{name}]") for key, text in _words(data, name).items()}


def _template(text: str, where: str) -> Template:
    try:
        return read_template(text)
    except TemplateError as error:
        raise WordingError(f"{where}: {error}") from error


def _words(data: Mapping[str, object], name: str) -> dict[str, str]:
    table = _table(data, name)
    return {key: _text(table, key, f"[{name}]") for key in table}


def _table(data: Mapping[str, object], name: str, where: str = "") -> dict[str, object]:
    table = data.get(name)
    if not isinstance(table, dict):
        raise WordingError(f"The reply data has no table {where or f'[{name}]'}.")
    return cast("dict[str, object]", table)


def _text(table: Mapping[str, object], name: str, where: str) -> str:
    text = table.get(name)
    if not isinstance(text, str):
        raise WordingError(f"{where} has no text '{name}'.")
    return text


def _list(table: Mapping[str, object], name: str, where: str) -> tuple[str, ...]:
    words = table.get(name)
    if not isinstance(words, list) or not all(isinstance(word, str) for word in words):
        raise WordingError(f"{where} has no list of words '{name}'.")
    return tuple(words)


def _pair(table: Mapping[str, object], name: str, where: str) -> tuple[str, str]:
    words = _list(table, name, where)
    if len(words) != 2:  # noqa: PLR2004 (one and several)
        raise WordingError(f"{where} needs two words for '{name}': for one and for several.")
    return words[0], words[1]


def _of(template: Template, reply: Reply) -> Template:
    """Return the words for a reply; those about another piece or a swatch stay as they are."""
    return in_rounds(template) if reply.rounds and reply.say not in _OF_ROWS else template


def _capital(sentence: str) -> str:
    return sentence[:1].upper() + sentence[1:]
