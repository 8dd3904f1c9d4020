"""What can be touched: every command and talk under a short name, with what it asks for first.

Nothing here knows Kivy. The names come from the product's data, the words to say from the phrases.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from enum import StrEnum
from fractions import Fraction
from typing import TYPE_CHECKING, Any, Final, TypeAlias

from engine.commands import COMMANDS, Command
from engine.quantities import Length, LengthUnit, Mass, MassUnit
from engine.talk import TALK, Talk
from engine.toml_text import TomlTextError, toml_of
from speech.words.phrases import Slot, Way
from speech.words.vocabulary import KNITTING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from speech.words.phrases import Form, PhraseBook


class ControlsError(ValueError):
    """The data of the controls cannot be used; the sentence says which entry and why."""


class Asks(StrEnum):
    """What a control asks for before it acts."""

    NOTHING = "nothing"
    NUMBER = "number"
    LENGTH = "length"
    MASS = "mass"
    TEXT = "text"


_ASKS: Final[Mapping[str, Asks]] = {
    "count": Asks.NUMBER,
    "stitches": Asks.NUMBER,
    "rows": Asks.NUMBER,
    "row": Asks.NUMBER,
    "after": Asks.NUMBER,
    "length": Asks.LENGTH,
    "mass": Asks.MASS,
    "text": Asks.TEXT,
}
_FROM_ZERO: Final = frozenset({("count_stitches", "count"), ("stop_in_row", "after")})

MINUS: Final = "\N{MINUS SIGN}"

Answer: TypeAlias = int | str | Length | Mass


@dataclass(frozen=True, slots=True)
class Control:
    """
    One thing to touch: the command it gives, the field whose value it asks for ("": none).

    `fixed` are values that are known beforehand, `further` the fields that it asks for next.
    """

    key: str
    name: str
    kind: type[Command | Talk]
    field: str = ""
    fixed: tuple[tuple[str, StrEnum | Answer], ...] = ()
    further: tuple[str, ...] = ()

    @property
    def asks(self) -> Asks:
        """What has to be asked for before it can act."""
        return _ASKS[self.field] if self.field else Asks.NOTHING

    @property
    def least(self) -> int:
        """The smallest number that it takes."""
        return 0 if (self.kind.name, self.field) in _FROM_ZERO else 1

    def said(self, answer: Answer | None = None) -> Command | Talk:
        """
        Return what it says; `answer` is the value asked for, None if it asks for nothing.

        Only once `following` has nothing more to ask for.
        """
        values: dict[str, Any] = dict(self.fixed)
        if self.field:
            values[self.field] = answer
        return self.kind(**values)

    def following(self, answer: Answer) -> Control | None:
        """Return the control that asks for the next value after this one; None: it has all."""
        if not self.further:
            return None
        known = (*self.fixed, (self.field, answer))
        return replace(self, field=self.further[0], fixed=known, further=self.further[1:])


@dataclass(frozen=True, slots=True)
class Controls:
    """
    All controls by key, the groups in which they are shown, and those of the board.

    `made_up` stands there in the place of `everyday` where a piece has no pattern.
    """

    by_key: Mapping[str, Control]
    groups: tuple[tuple[str, tuple[Control, ...]], ...]
    everyday: tuple[Control, ...]
    question: tuple[Control, ...]
    screens: tuple[Control, ...] = ()
    made_up: tuple[Control, ...] = ()

    def for_number(self, kind: type[Command | Talk]) -> Control | None:
        """Return the control that asks for a number or a text for a command, or None."""
        for control in self.by_key.values():
            if control.kind is kind and control.field:
                return control
        return None


def read_controls(text: str) -> Controls:
    """Read the data of the controls; ControlsError with one sentence if it is not usable."""
    try:
        data = toml_of(text)
    except TomlTextError as error:
        raise ControlsError(f"The controls are not TOML: {error}.") from error
    by_key = {key: _control(key, entry) for key, entry in data["controls"].items()}

    def chosen(keys: list[str]) -> tuple[Control, ...]:
        unknown = [key for key in keys if key not in by_key]
        if unknown:
            raise ControlsError(f"There is no control '{unknown[0]}'.")
        return tuple(by_key[key] for key in keys)

    groups = tuple((title, chosen(keys)) for title, keys in data["groups"].items())
    reached = {control.kind.name for _, controls in groups for control in controls}
    for name in (*COMMANDS, *TALK):
        if name not in reached:
            raise ControlsError(f"Nothing to touch gives the command '{name}'.")
    return Controls(
        by_key,
        groups,
        chosen(data["board"]["everyday"]),
        chosen(data["board"]["question"]),
        chosen(data["board"]["screens"]),
        chosen(data["board"]["made_up"]),
    )


def _control(key: str, entry: Mapping[str, Any]) -> Control:
    command = str(entry.get("command", ""))
    kinds: Mapping[str, type[Command | Talk]] = {**COMMANDS, **TALK}
    if command not in kinds:
        raise ControlsError(f"The control '{key}' gives '{command}', which is no command.")
    kind = kinds[command]
    known = {field.name for field in fields(kind)}
    asks = entry.get("ask", [])
    asked = [str(name) for name in asks] if isinstance(asks, list) else [str(asks)]
    fixed = tuple(
        (name, KNITTING.choices[name](value)) for name, value in dict(entry.get("with", {})).items()
    )
    wrong = [name for name in (*asked, *dict(fixed)) if name not in known]
    wrong += [name for name in asked if name not in _ASKS]
    if wrong:
        raise ControlsError(f"The control '{key}' names '{wrong[0]}' in vain.")
    field, further = (asked[0], tuple(asked[1:])) if asked else ("", ())
    return Control(key, str(entry["name"]), kind, field, fixed, further)


def phrase_of(control: Control, book: PhraseBook, *, answering: bool = False) -> str:
    """Return the words that say what a control does, with "…" for a value: "i count … stitches".

    The shortest that always works; while a question stands (`answering`), the shortest answer.
    Words to type stand in for a command that cannot be spoken.
    """
    wanted = {name for name in (control.field, *control.further) if name not in {"", "text"}}
    wanted |= {name for name, _ in control.fixed}
    forms = [form for form in book.all_forms if form.kind is control.kind]
    fitting = [form for form in forms if _slots(form) == wanted] or forms
    ways = [Way.ANSWER, Way.SPOKEN] if answering else [Way.SPOKEN, Way.ANSWER]
    fitting.sort(key=lambda form: ([*ways, Way.TYPED].index(form.way), len(form.items)))
    return " ".join(_word(item, control, book) for item in fitting[0].items)


def _slots(form: Form) -> set[str]:
    return {item.field for item in form.items if isinstance(item, Slot)}


def _word(item: str | Slot, control: Control, book: PhraseBook) -> str:
    if isinstance(item, str):
        return item
    value = dict(control.fixed).get(item.field)
    if value is None:
        return "…"
    if isinstance(value, StrEnum):
        return " ".join(book.choices[item.field][value][0])
    return str(value)


def speakable(control: Control, book: PhraseBook) -> bool:
    """Whether what a control does can be said, not only typed."""
    return any(form.kind is control.kind and form.way is not Way.TYPED for form in book.all_forms)


# --- values entered on a pad ---------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Entry:
    """
    A number being entered: digits, a point, an eighth of an inch, a unit.

    Every sign that is put in is kept and seen; what is then no number ("5.4" rows, "-5", "1/2") is
    answered by none until the sign is taken back.
    """

    asks: Asks
    digits: str = ""
    part: Fraction = Fraction(0)
    unit: LengthUnit | MassUnit | None = None

    def press(self, sign: str) -> Entry:
        """Return the entry after a sign, or "back"; four digits are the most."""
        if sign == "back":
            if self.part:
                return self._with(part=Fraction(0))
            return self._with(digits=self.digits[:-1])
        if sign == "." and self.asks is not Asks.NUMBER:
            if "." in self.digits or self.part:
                return self
            return self._with(digits=(self.digits or "0") + ".")
        if not sign.isdigit():
            return self if self.odd else self._with(digits=self.digits + sign)
        digits = (self.digits if self.digits != "0" else "") + sign
        too_long = len(digits.replace(".", "").strip(MINUS)) > 4  # noqa: PLR2004 (no piece has 10,000 rows)
        return self if too_long else self._with(digits=digits)

    def with_part(self, part: Fraction) -> Entry:
        """Return the entry with another part of a unit, in eighths below one."""
        if "." in self.digits or not 0 <= part < 1:
            return self
        return self._with(part=part)

    def in_unit(self, unit: LengthUnit | MassUnit) -> Entry:
        """Return the entry with another unit; the number stays as it was entered."""
        part = self.part if unit in {LengthUnit.IN, MassUnit.OZ} else Fraction(0)
        return Entry(self.asks, self.digits, part, unit)

    def _with(self, *, digits: str | None = None, part: Fraction | None = None) -> Entry:
        return Entry(
            self.asks,
            self.digits if digits is None else digits,
            self.part if part is None else part,
            self.unit,
        )

    @property
    def odd(self) -> bool:
        """Whether a sign is in it that makes it no number of the sort that is asked for."""
        plain = self.digits if self.asks is Asks.NUMBER else self.digits.replace(".", "", 1)
        return bool(plain) and not plain.isdigit()

    @property
    def number(self) -> Fraction | None:
        """The number entered, or None while there is none."""
        digits = self.digits.rstrip(".")
        if (not digits and not self.part) or self.odd:
            return None
        return Fraction(digits or "0") + self.part

    def answer(self, least: int = 1) -> Answer | None:
        """Return the value entered, or None while it is none that the control takes."""
        number = self.number
        if number is None or self.odd:
            return None
        match self.asks, self.unit:
            case Asks.NUMBER, _:
                return int(number) if number >= least else None
            case Asks.LENGTH, LengthUnit() as unit:
                return Length(number, unit) if number > 0 else None
            case Asks.MASS, MassUnit() as unit:
                return Mass(number, unit) if number >= 0 else None
            case _:
                return None
