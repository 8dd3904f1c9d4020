"""
A row at two levels: read out in whole words, or as the small moves that the hands make.

The knitter who knows how hears the row; the beginner who asks how hears every stitch of it once, as
"in, round, through, off". The words of the moves are data (shared/phrases/steps.en.toml), read here
once and checked against the table of stitches, so that none is missing in the middle of a row.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, assert_never, cast

from engine.pattern.crossings import crossing_of
from engine.pattern.instruction import Instruction
from engine.pattern.notation import (
    Along,
    BindOff,
    CastOn,
    Group,
    Hold,
    InStitch,
    Item,
    JoinRound,
    Marker,
    PickUp,
    Remark,
    TakeUp,
    TurnKind,
    TurnWork,
    Work,
)
from engine.pattern.stitches import STITCHES, Kind
from engine.toml_text import TomlTextError, toml_of
from speech.words.level import Level
from speech.words.templates import SentenceForm, TemplateError, read_template

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from engine.pattern.stitches import Stitch
    from speech.words.spoken_rows import RowWords

Moves = tuple[str, ...]


class StepsError(ValueError):
    """The data of the moves cannot be used; the sentence says where and why."""


@dataclass(frozen=True, slots=True)
class Step:
    """
    One thing of a row: its words as in the row, and the moves that make it.

    `inside` are the steps of what is repeated or worked into one stitch; the step has then no moves
    of its own. Both empty: the words are all there is to say. `again` says how long to go on with
    the same moves.
    """

    said: str
    moves: Moves = ()
    inside: tuple[Step, ...] = ()
    again: str = ""
    item: Item | None = None
    """What the moves make."""


@dataclass(frozen=True, slots=True)
class Told:
    """One sentence of how a row is made: about which item, and which of its moves (-1: none)."""

    words: str
    item: Item | None = None
    move: int = -1


@dataclass(frozen=True, slots=True)
class HandWords:
    """The words for both levels, in one language."""

    rows: RowWords
    moves: Mapping[str, str]
    stitches: Mapping[str, Moves]
    together: Mapping[str, Moves]
    how: Mapping[str, Mapping[str, Moves]]
    row: Mapping[str, Moves]

    def say(self, instruction: Instruction, level: Level) -> str:
        """Say a row, or a bit of one, at a level."""
        match level:
            case Level.ROW:
                return self.rows.say(instruction)
            case Level.HANDS:
                return " ".join(self.told(instruction))
            case _:
                assert_never(level)

    def told(self, instruction: Instruction) -> tuple[str, ...]:
        """
        Tell a row one move after the other, as the hands come to them.

        A step is named with its first move; the moves of each kind of stitch are told only the
        first time it comes. Never empty.
        """
        return tuple(one.words for one in self.told_of(instruction))

    def told_of(self, instruction: Instruction) -> tuple[Told, ...]:
        """Tell the same, each sentence with what it is about."""
        return tuple(self._told(self.steps(instruction)))

    def steps(self, instruction: Instruction) -> tuple[Step, ...]:
        """Return the steps of a row in order; a row in the designer's own text is one step."""
        if instruction.text:
            return (Step(self.rows.say(instruction)),)
        return tuple(map(self._step, instruction.items))

    def _told(self, steps: tuple[Step, ...]) -> Iterator[Told]:
        known: set[Moves] = set()
        for step in steps:
            yield from self._told_once(step, known)

    def _told_once(self, step: Step, known: set[Moves]) -> Iterator[Told]:
        said = step.said.rstrip(".")
        label = f"{said[:1].upper()}{said[1:]}."
        if step.inside:
            yield Told(label, step.item)
            # What is repeated has been said in one; now only how its stitches are made.
            for inner in step.inside:
                yield from (one for one in self._told_once(inner, known) if inner.moves)
        elif step.moves and step.moves not in known:
            known.add(step.moves)
            yield Told(f"{label} {step.moves[0]}", step.item, 0)
            for at, move in enumerate(step.moves[1:], 1):
                yield Told(move, step.item, at)
            if step.again:
                yield Told(step.again, step.item)
        else:
            yield Told(label, step.item)

    # --- items ---------------------------------------------------------------------------------

    def _step(self, item: Item) -> Step:
        said = self.rows.say(Instruction((item,)))
        match item:
            case Along() if len(item.body) == 1 and isinstance(item.body[0], Work):
                worked = item.body[0]
                again = self._named("along")[0]
                return Step(said, self._work(worked), again=again, item=worked)
            case Group() | InStitch() | Along():
                return Step(said, inside=tuple(map(self._step, item.body)), item=item)
            case Work():
                count = item.amount[0] or 0
                again = self._named("again", count)[0] if count > 1 else ""
                return Step(said, self._work(item), again=again, item=item)
            case _:
                return Step(said, self._other(item), item=item)

    def _other(
        self,
        item: BindOff | CastOn | PickUp | Marker | TurnWork | Hold | TakeUp | JoinRound | Remark,
    ) -> Moves:
        match item:
            case BindOff():
                if item.amount is None:
                    return self._named("bind_off_all")
                return self._named("bind_off", item.amount[0] or 0)
            case CastOn():
                return self._named("cast_on", item.amount[0] or 0)
            case PickUp():
                return self._named("pick_up", item.amount[0] or 0)
            case Marker():
                return self._named(item.move.value)
            case TurnWork():
                return self._named("turn" if item.kind is TurnKind.PLAIN else "wrap")
            case Hold():
                return self._named("hold")
            case TakeUp():
                return self._named("take_up")
            case JoinRound():
                return self._named("join_round")
            case Remark():
                return ()
            case _:
                assert_never(item)

    def _work(self, item: Work) -> Moves:
        changed: dict[str, Moves] = {}
        for word in item.how:
            changed |= self.how.get(word, {})
        if item.stitch.kind is Kind.CABLE and (crossed := self._crossed(item.stitch)):
            return crossed
        names = self._moves_of(item.stitch)
        return self._filled(
            tuple(part for name in names for part in changed.get(name, (name,))), item.stitch.takes
        )

    def _crossed(self, stitch: Stitch) -> Moves:
        """Tell a crossing by its own numbers; nothing if its name does not say them."""
        crossing = crossing_of(stitch.name)
        if crossing is None:
            return ()
        others, middle, waited = crossing.purls
        wait = "wait_front" if crossing.front else "wait_back"
        steps = [(wait, crossing.moved)]
        if crossing.middle:
            steps.append(("wait_middle", crossing.middle))
        steps.append(("others_purl" if others else "others_knit", crossing.other))
        if crossing.middle:
            steps.append(("middle_purl" if middle else "middle_knit", crossing.middle))
        steps.append(("waited_purl" if waited else "waited_knit", crossing.moved))
        return tuple(move for name, count in steps for move in self._named(name, count))

    def _moves_of(self, stitch: Stitch) -> Moves:
        if stitch.name in self.stitches:
            return self.stitches[stitch.name]
        if stitch.kind is Kind.CABLE:
            return self.row["cable"]
        if stitch.name.endswith("tog"):
            return self.together[stitch.name[:1]]
        # A stitch of the designer's own: her words have been said already.
        return ()

    def _named(self, name: str, count: int = 0) -> Moves:
        return self._filled(self.row[name], count)

    def _filled(self, names: Moves, count: int) -> Moves:
        return tuple(self._sentence(self.moves.get(name, name), count) for name in names)

    def _sentence(self, text: str, count: int) -> str:
        return read_template(text).fill({"count": count}, self._number)

    def _number(self, value: object, _form: SentenceForm) -> str:
        return self.rows.speller.whole(value) if isinstance(value, int) else str(value)


def read_steps(text: str, rows: RowWords) -> HandWords:
    """Read the data of the moves; StepsError with one sentence if it is not usable or complete."""
    try:
        data = cast("dict[str, object]", toml_of(text))
    except TomlTextError as error:
        raise StepsError(f"The data of the moves is not TOML: {error}.") from error
    words = HandWords(
        rows,
        moves={name: _one(moves, f"moves.{name}") for name, moves in _table(data, "moves").items()},
        stitches=_lists(data, "stitches"),
        together=_lists(data, "together"),
        how={
            name: {move: _several(to, f"how.{name}") for move, to in _inner(moves, name).items()}
            for name, moves in _table(data, "how").items()
        },
        row=_lists(data, "row"),
    )
    _complete(words)
    return words


_ROW_NAMES = frozenset(
    {
        "cable", "bind_off", "bind_off_all", "cast_on", "pick_up", "pm", "sm", "rm", "turn", "wrap",
        "hold", "take_up", "join_round", "again", "along", "wait_front", "wait_back", "wait_middle",
        "others_knit", "others_purl", "middle_knit", "middle_purl", "waited_knit", "waited_purl",
    }
)  # fmt: skip


def _complete(words: HandWords) -> None:
    for where, there, wanted in (
        ("stitches", words.stitches, frozenset(STITCHES)),
        ("together", words.together, frozenset("kp")),
        ("row", words.row, _ROW_NAMES),
    ):
        if missing := wanted - set(there):
            raise StepsError(f"[{where}] says nothing of '{min(missing)}'.")
    named = [*words.stitches.values(), *words.together.values(), *words.row.values()]
    named += [moves for changed in words.how.values() for moves in changed.values()]
    for names in named:
        for name in names:
            sentence = words.moves.get(name, name)
            if " " not in sentence:
                raise StepsError(f"There is no move '{name}'.")
            try:
                needs = read_template(sentence).names
            except TemplateError as error:
                raise StepsError(str(error)) from error
            if not needs <= {"count"}:
                raise StepsError(f"'{sentence}' may only name a count.")


def _table(data: Mapping[str, object], name: str) -> dict[str, object]:
    return _inner(data.get(name), name)


def _inner(table: object, name: str) -> dict[str, object]:
    if not isinstance(table, dict):
        raise StepsError(f"The data of the moves has no table [{name}].")
    return cast("dict[str, object]", table)


def _lists(data: Mapping[str, object], name: str) -> dict[str, Moves]:
    return {key: _several(moves, f"{name}.{key}") for key, moves in _table(data, name).items()}


def _several(moves: object, where: str) -> Moves:
    if isinstance(moves, str):
        return (moves,)
    if not isinstance(moves, list) or not all(isinstance(move, str) for move in moves):
        raise StepsError(f"{where} is no list of moves.")
    return tuple(moves)


def _one(move: object, where: str) -> str:
    if not isinstance(move, str):
        raise StepsError(f"{where} is no sentence.")
    return move
