"""The theme: colours, sizes and fonts from the theme file, and the contrast between two colours.

Nothing here knows Kivy; `app.window.look` brings a theme onto the screen.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from typing import Final, cast

from engine.toml_text import TomlTextError, toml_of

AT_LEAST_TEXT: Final = 7.0
"""Contrast of text against its ground (WCAG 2.2, success criterion 1.4.6)."""
AT_LEAST_SIGN: Final = 3.0
"""Contrast of signs and lines against their ground (WCAG 2.2, success criterion 1.4.11)."""

_COLOUR: Final = re.compile(r"#[0-9A-Fa-f]{6}")


class ThemeError(ValueError):
    """The theme file cannot be used; the sentence says what is missing or wrong."""


@dataclass(frozen=True, slots=True)
class Colour:
    """A colour of 8 bits a channel, 0..255."""

    red: int
    green: int
    blue: int

    @property
    def rgba(self) -> tuple[float, float, float, float]:
        """The colour as four numbers in 0..1, opaque."""
        return self.red / 255, self.green / 255, self.blue / 255, 1.0

    @property
    def hex(self) -> str:
        """The colour as "#rrggbb", for marked-up text."""
        return f"#{self.red:02x}{self.green:02x}{self.blue:02x}"


@dataclass(frozen=True, slots=True)
class Palette:
    """The colours of one theme by what they are for; `..._ink` is the text on that ground."""

    name: str
    page: Colour
    panel: Colour
    control: Colour
    control_ink: Colour
    control_soft_ink: Colour
    strong: Colour
    strong_ink: Colour
    ink: Colour
    soft: Colour
    good: Colour
    alert: Colour
    mark: Colour
    mark_ink: Colour
    ask: Colour
    ask_ink: Colour
    line: Colour
    band: Colour
    tape: Colour
    tape_ink: Colour
    needle: Colour
    shade: float
    """How much darker wool is drawn, 0..1."""

    def colour(self, role: str) -> Colour:
        """Return the colour with that role; KeyError if there is none."""
        found: object = getattr(self, role, None)
        if not isinstance(found, Colour):
            raise KeyError(role)
        return found


@dataclass(frozen=True, slots=True)
class Sizes:
    """Sizes on the screen in millimetres: heights of capitals for text, sides for targets."""

    numeral: float
    instruction: float
    far_words: float
    words: float
    small: float
    target: float
    gap: float


@dataclass(frozen=True, slots=True)
class Fonts:
    """Font files (as `app.resources` names them) and their measures by the size of the letters."""

    regular: str
    bold: str
    capital: float
    ascent: float
    descent: float

    @property
    def line(self) -> float:
        """Height of a line as the font itself wants it."""
        return self.ascent + self.descent


@dataclass(frozen=True, slots=True)
class Theme:
    """Everything in the theme file."""

    palettes: Mapping[str, Palette]
    wools: Mapping[str, Colour]
    sizes: Sizes
    """Sizes on a screen that is held in the hand, unless this is the theme `on_table`."""
    table_sizes: Sizes
    fonts: Fonts
    wool_words: Mapping[str, str]
    """The name of the wool in which a colour that is said is drawn."""
    text_pairs: tuple[tuple[str, str], ...]
    """(text role, ground role): at least 7:1."""
    sign_pairs: tuple[tuple[str, str], ...]
    """(sign role, ground role): at least 3:1."""

    @property
    def on_table(self) -> Theme:
        """The same theme with the sizes of a screen that stands at arm's length."""
        return replace(self, sizes=self.table_sizes)

    def wool_for(self, piece: str) -> Colour:
        """Return the wool in which a piece is drawn: always the same one for the same piece."""
        names = list(self.wools)
        return self.wools[names[sum(piece.encode()) % len(names)]]

    def wool_called(self, colour: str, piece: str) -> Colour:
        """Return the wool of a colour in her words; where they name none, that of the piece."""
        found = (self.wool_words.get(word) for word in colour.casefold().split())
        name = next((one for one in found if one in self.wools), None)
        return self.wools[name] if name is not None else self.wool_for(piece)

    def wools_with(self, first: Colour, count: int) -> tuple[Colour, ...]:
        """
        Return wools for so many yarns, the first one given.

        Each further one is as unlike those before it in lightness as can be, because a hue alone
        tells nobody apart. More yarns than there are wools take them in turn.
        """
        chosen = [first]
        left = [wool for wool in self.wools.values() if wool != first]
        while left and len(chosen) < count:
            chosen.append(max(left, key=lambda wool: min(contrast(wool, one) for one in chosen)))
            left.remove(chosen[-1])
        return tuple(chosen[at % len(chosen)] for at in range(count))


def contrast(one: Colour, other: Colour) -> float:
    """Return the contrast ratio of two colours, 1..21 (WCAG 2.2, relative luminance)."""
    lighter, darker = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


def _luminance(colour: Colour) -> float:
    def channel(value: int) -> float:
        share = value / 255
        return share / 12.92 if share <= 0.04045 else ((share + 0.055) / 1.055) ** 2.4  # noqa: PLR2004 (the standard's figures)

    return (
        0.2126 * channel(colour.red)
        + 0.7152 * channel(colour.green)
        + 0.0722 * channel(colour.blue)
    )


def read_colour(text: str) -> Colour:
    """Read "#RRGGBB"; ThemeError if it is something else."""
    if not _COLOUR.fullmatch(text):
        raise ThemeError(f"'{text}' is not a colour: write it like #FAF4E8.")
    return Colour(*(int(text[at : at + 2], 16) for at in (1, 3, 5)))


def read_theme(text: str) -> Theme:
    """Read the theme file's text; ThemeError with one sentence if it is not usable."""
    try:
        data = cast("dict[str, object]", toml_of(text))
    except TomlTextError as error:
        raise ThemeError(f"The theme file is not TOML: {error}.") from error
    themes = _table(data, "themes")
    sizes = {field.name: _number(data, "sizes", field.name) for field in fields(Sizes)}
    larger = _table(_table(data, "sizes"), "on_table")
    return Theme(
        palettes={name: _palette(name, _table(themes, name)) for name in themes},
        wools={name: read_colour(str(colour)) for name, colour in _table(data, "wools").items()},
        wool_words={word: str(name) for word, name in _table(data, "wool_words").items()},
        sizes=Sizes(**sizes),
        table_sizes=Sizes(**{**sizes, **{name: _measure(name, larger[name]) for name in larger}}),
        fonts=Fonts(
            regular=str(_entry(data, "fonts", "regular")),
            bold=str(_entry(data, "fonts", "bold")),
            capital=_number(data, "fonts", "capital"),
            ascent=_number(data, "fonts", "ascent"),
            descent=_number(data, "fonts", "descent"),
        ),
        text_pairs=_pairs(data, "pairs"),
        sign_pairs=_pairs(data, "signs"),
    )


def _palette(name: str, table: Mapping[str, object]) -> Palette:
    roles = [field.name for field in fields(Palette) if field.name not in {"name", "shade"}]
    missing = [role for role in (*roles, "shade") if role not in table]
    if missing:
        raise ThemeError(f"The theme '{name}' lacks '{missing[0]}'.")
    colours = {role: read_colour(str(table[role])) for role in roles}
    return Palette(name=name, shade=float(str(table["shade"])), **colours)


def _pairs(data: Mapping[str, object], key: str) -> tuple[tuple[str, str], ...]:
    return tuple(
        (str(text), ground)
        for ground, texts in _table(data, key).items()
        for text in cast("list[object]", texts)
    )


def _table(data: Mapping[str, object], key: str) -> Mapping[str, object]:
    found = data.get(key)
    if not isinstance(found, Mapping):
        raise ThemeError(f"The theme file lacks the table '{key}'.")
    return cast("Mapping[str, object]", found)


def _entry(data: Mapping[str, object], table: str, key: str) -> object:
    found = _table(data, table).get(key)
    if found is None:
        raise ThemeError(f"The theme file lacks '{key}' in '{table}'.")
    return found


def _number(data: Mapping[str, object], table: str, key: str) -> float:
    return _measure(f"{key}' in '{table}", _entry(data, table, key))


def _measure(name: str, found: object) -> float:
    if not isinstance(found, int | float) or isinstance(found, bool) or found <= 0:
        raise ThemeError(f"'{name}' has to be a number above zero.")
    return float(found)
