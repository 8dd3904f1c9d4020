"""Keys and pedals: which control a key gives, by key code, with a held key counted once.

Nothing here knows Kivy. A key may also name one of the screen's own doings (`Doing`). The
knitter's own bindings are a second text of the same form, laid over the first.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from enum import StrEnum
from typing import TYPE_CHECKING, Any, Final, TypeAlias

from app.session.controls import MINUS
from engine.commands import Source
from engine.talk import (
    BeginPiece,
    ClassStory,
    CloseClass,
    HoldToTalk,
    ListenFreely,
    OpenClass,
    Show,
    SpeakAgain,
    StartListening,
    StopListening,
    TonesOnly,
    TryVoice,
    WithoutSound,
    WordFirst,
)
from engine.toml_text import TomlTextError, toml_of

if TYPE_CHECKING:
    from collections.abc import Mapping

    from app.session.controls import Control, Controls

SHIFTED: Final = 2_000_000_000
"""Added to a key's code where Shift is held; no keyboard sends codes as large."""
RELEASE_AFTER_MS: Final = 1500
"""A key-down that comes later than this after the last one of the same key is a new press.

A held key repeats every 30 to 80 ms after a delay of up to 660 ms (measured), later when the
machine is busy; some pedals never send the key-up. Rather miss a press than count a row twice.
"""
SIGNS: Final = {
    **{48 + digit: str(digit) for digit in range(10)},
    **{256 + digit: str(digit) for digit in range(10)},
    46: ".", 44: ".", 266: ".", 1073741957: ".", 8: "back", 127: "back",
    45: MINUS, 269: MINUS, 47: "/", 267: "/", 268: "*", 270: "+", 61: "=", 43: "+", 42: "*",
}  # fmt: skip
ESCAPE: Final = 27  # also "back" on a phone
ENTER: Final = frozenset({13, 271})
"""What the keys of a keyboard mean on a number pad, by code."""


class KeysError(ValueError):
    """The key map cannot be used; the sentence says which entry and why."""


class Doing(StrEnum):
    """What a key can do on the screen beside giving a command."""

    TYPE = "type"
    EVERYTHING = "everything"
    KEYS = "keys"
    CLOSE = "close"
    TALK = "talk"
    """As long as it is held, what is said is one command."""


Bound: TypeAlias = "Control | Doing"


@dataclass(frozen=True, slots=True)
class Binding:
    """What a key gives, and whether it counts as a pedal."""

    code: int
    key: str
    bound: Bound
    source: Source


@dataclass(frozen=True, slots=True)
class KeyMap:
    """All bindings by key code, and the names of the keys."""

    bindings: Mapping[int, Binding]
    names: Mapping[int, str]

    def key_name(self, code: int) -> str:
        """Return how a key is called: "page down"; a key without a name by its number."""
        if code >= SHIFTED:
            return f"shift {self.key_name(code - SHIFTED)}"
        return self.names.get(code, f"key {code}")

    def binding(self, code: int, *, shift: bool) -> Binding | None:
        """Return what a key gives; with Shift what it gives alone, unless both are bound."""
        return (self.bindings.get(code + SHIFTED) if shift else None) or self.bindings.get(code)

    def keys_of(self, control: Control) -> tuple[str, ...]:
        """Return the names of the keys that give a control."""
        return tuple(one.key for one in self.bindings.values() if one.bound == control)

    def learned(self, code: int, bound: Bound, source: Source) -> KeyMap:
        """Return the map with one more key taught."""
        binding = Binding(code, self.key_name(code), bound, source)
        return replace(self, bindings={**self.bindings, code: binding})


def read_keys(text: str, controls: Controls) -> KeyMap:
    """Read a key map; KeysError with one sentence if it is not usable."""
    data = _toml(text)
    codes = {str(name): int(code) for name, code in data.get("codes", {}).items()}
    names = {code: name.replace("_", " ") for name, code in codes.items()}
    return _bind(KeyMap({}, names), data, codes, controls)


def with_own_keys(keys: KeyMap, text: str, controls: Controls) -> KeyMap:
    """Return the map with the knitter's own bindings laid over it; KeysError if unusable.

    Her keys are named, or are codes written as numbers.
    """
    data = _toml(text)
    codes = {name.replace(" ", "_"): code for code, name in keys.names.items()}
    return _bind(keys, data, codes, controls)


def write_own_keys(bindings: Mapping[int, Binding]) -> str:
    """Write the knitter's own bindings as `with_own_keys` reads them."""
    lines: list[str] = []
    for source, table in ((Source.PEDAL, "pedal"), (Source.KEY, "keys")):
        lines.append(f"[{table}]")
        for code, one in sorted(bindings.items()):
            if one.source is source:
                bound = one.bound.value if isinstance(one.bound, Doing) else one.bound.key
                lines.append(f'"{code}" = "{bound}"')
    return "\n".join(lines) + "\n"


def _toml(text: str) -> dict[str, Any]:
    try:
        return toml_of(text)
    except TomlTextError as error:
        raise KeysError(f"The key map cannot be read: {error}") from error


def _bind(
    keys: KeyMap, data: Mapping[str, Any], codes: Mapping[str, int], controls: Controls
) -> KeyMap:
    bindings = dict(keys.bindings)
    for table, source in (("pedal", Source.PEDAL), ("keys", Source.KEY)):
        bound = data.get(table, {})
        if not isinstance(bound, dict):
            raise KeysError(f"'{table}' must be a table of keys.")
        for key, name in bound.items():
            code = _code(key, codes)
            bindings[code] = Binding(code, keys.key_name(code), _bound(str(name), controls), source)
    return replace(keys, bindings=bindings)


def _code(key: str, codes: Mapping[str, int]) -> int:
    """Return the code of a key by its name, "shift_" and its name, or its number."""
    plain = key.removeprefix("shift_")
    code = codes.get(plain, int(plain) if _CODE.fullmatch(plain) else None)
    if code is None:
        raise KeysError(f"There is no key '{key}'.")
    return code + SHIFTED if plain != key else code


_CODE: Final = re.compile(r"[0-9]{1,10}")


def _bound(name: str, controls: Controls) -> Bound:
    if name in {doing.value for doing in Doing}:
        return Doing(name)
    control = controls.by_key.get(name)
    if control is None:
        raise KeysError(f"There is nothing called '{name}' that a key could do.")
    return control


def for_any_page(control: Control) -> bool:
    """Whether a key acts over any page: it leads to one, or changes how she is listened to.

    Every other key belongs to the board: what is behind a page is not changed unseen.
    """
    return issubclass(control.kind, _FOR_ANY_PAGE)


_FOR_ANY_PAGE: Final = (
    *(Show, BeginPiece, StopListening, StartListening, TonesOnly, SpeakAgain, WithoutSound),
    *(WordFirst, HoldToTalk, ListenFreely, TryVoice, OpenClass, CloseClass),
    ClassStory,
)


@dataclass
class Presses:
    """Turns key-downs into presses: a key that is held gives one."""

    down: dict[int, int] = field(default_factory=dict)
    """Key codes that are down, with the time of their last key-down in ms."""

    def pressed(self, code: int, now_ms: int) -> bool:
        """Tell whether a key-down is a new press (and not the repeat of a held key)."""
        before = self.down.get(code)
        self.down[code] = now_ms
        return before is None or now_ms - before > RELEASE_AFTER_MS

    def released(self, code: int) -> None:
        """Take note of a key-up."""
        self.down.pop(code, None)
