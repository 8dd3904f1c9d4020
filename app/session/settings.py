"""What the knitter has chosen for this device: looks, units, voice, reminders, keys; as one value.

Settings are a small TOML text. What cannot be read is left at its usual value and named, so that
a damaged file never keeps the program from starting.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from enum import StrEnum
from typing import Any, Final

from app.session.manner import Answering, Listening, Manner
from engine.forecast.breaks import BreakSettings
from engine.quantities import LengthUnit, MassUnit
from engine.talk import AttentionWord
from engine.toml_text import TomlTextError, toml_of
from speech.words.level import Level

PALETTES: Final = ("light", "dark", "contrast")
TEXT_SCALES: Final = (1.0, 1.25, 1.5, 1.75, 2.0)
RATES: Final = (120, 150, 175, 200)
"""Words a minute of the voice; 150 is easy to follow."""
COUNT_EVERY: Final = (0, 8, 10, 12, 16, 20)
"""Rows between two reminders to count; 0: only after shaping."""
REST_EVERY: Final = (0, 10, 15, 20, 30, 45, 60)
"""Minutes of knitting after which a short rest is offered; 0: never."""
CLASS_SCREENS: Final = (0, 24, 32, 43, 50, 55, 65, 75, 86, 100, 120)
"""Diagonals in inches of screens for a class; 0: as the screen itself tells, often wrongly."""
CLASS_DISTANCES: Final = (3, 4, 5, 6, 8, 10)
"""Metres from the board to the farthest seat."""
SCALE_STEPS: Final = (0.0, 0.1, 0.5, 1.0, 2.0, 5.0, 10.0)
"""Grams between two weights that the scale can show; 0: learnt from what was weighed."""


class YarnHand(StrEnum):
    """Over which hand the yarn runs, for right-handed knitters; for left-handed ones mirrored."""

    RIGHT = "right"  # the hand of the free needle lays the yarn
    LEFT = "left"  # the free needle fetches the yarn from the other hand


@dataclass(frozen=True, slots=True)
class Settings:
    """The choices; the defaults are those of a first start."""

    palette: str = "light"
    text_scale: float = 1.0
    motion: bool = True
    """Whether a row is seen to grow; what the device's own settings say of motion comes first."""
    left_handed: bool = False
    yarn_hand: YarnHand = YarnHand.RIGHT
    length_unit: LengthUnit = LengthUnit.CM
    mass_unit: MassUnit = MassUnit.G
    listening: Listening = Listening.FREELY
    word: AttentionWord = AttentionWord.TAPESTRY
    answering: Answering = Answering.VOICE
    rate: int = 150
    level: Level = Level.ROW
    """Whether a row is read out in words, or told as what the hands do (for a beginner)."""
    count_every: int = 12
    rest_every: int = 30
    scale_step: float = 0.0
    class_screen: int = 0
    class_distance: int = 5

    @property
    def manner(self) -> Manner:
        """How she wants to be listened to and answered."""
        return Manner(self.listening, self.word, self.answering, self.rate)

    def with_manner(self, manner: Manner) -> Settings:
        """Return the settings with another manner: it was changed by voice, key or touch."""
        return replace(
            self,
            listening=manner.listening,
            word=manner.word,
            answering=manner.answering,
            rate=manner.rate,
        )

    @property
    def breaks(self) -> BreakSettings:
        """When a rest is offered."""
        if not self.rest_every:
            return BreakSettings(on=False)
        return BreakSettings(every_minutes=self.rest_every)

    @property
    def scale_g(self) -> float | None:
        """The step of her scale in grams; None: it is learnt from what she weighs."""
        return self.scale_step or None

    @property
    def units(self) -> tuple[LengthUnit | MassUnit, ...]:
        """The knitter's own units."""
        return self.length_unit, self.mass_unit


_ALLOWED: Final[dict[str, tuple[Any, ...]]] = {
    "palette": PALETTES,
    "text_scale": TEXT_SCALES,
    "motion": (True, False),
    "left_handed": (False, True),
    "yarn_hand": tuple(YarnHand),
    "length_unit": (LengthUnit.CM, LengthUnit.IN),
    "mass_unit": (MassUnit.G, MassUnit.OZ),
    "listening": tuple(Listening),
    "word": tuple(AttentionWord),
    "answering": tuple(Answering),
    "rate": RATES,
    "level": tuple(Level),
    "count_every": COUNT_EVERY,
    "rest_every": REST_EVERY,
    "scale_step": SCALE_STEPS,
    "class_screen": CLASS_SCREENS,
    "class_distance": CLASS_DISTANCES,
}


def choices(name: str) -> tuple[Any, ...]:
    """Return what can be chosen for a setting; KeyError if there is none of that name."""
    return _ALLOWED[name]


def read_settings(text: str) -> tuple[Settings, str]:
    """Return the settings in a text and a sentence about what could not be read ("" if all)."""
    try:
        data = toml_of(text)
    except TomlTextError as error:
        return Settings(), f"The settings could not be read and are as at the first start: {error}"
    settings, wrong = Settings(), []
    for name, value in data.items():
        allowed = _ALLOWED.get(name, ())
        found = [
            one
            for one in allowed
            if one == value and isinstance(value, bool) is isinstance(one, bool)
        ]
        if found:
            settings = replace(settings, **{name: found[0]})
        else:
            wrong.append(name)
    if wrong:
        return settings, f"These settings mean nothing and are left out: {_some(wrong)}."
    return settings, ""


def _some(names: list[str]) -> str:
    """Name the first few, and how many more there are."""
    told = ", ".join(name[:_LONGEST_NAME] for name in names[:_NAMED])
    more = len(names) - _NAMED
    return f"{told} and {more} more" if more > 0 else told


_NAMED: Final = 5
_LONGEST_NAME: Final = 40


def write_settings(settings: Settings) -> str:
    """Write settings as `read_settings` reads them."""
    lines = ["# What was chosen on this device."]
    for field in fields(settings):
        value = getattr(settings, field.name)
        match value:
            case bool():
                written = "true" if value else "false"
            case int() | float():
                written = repr(value)
            case _:
                written = f'"{value}"'
        lines.append(f"{field.name} = {written}")
    return "\n".join(lines) + "\n"
