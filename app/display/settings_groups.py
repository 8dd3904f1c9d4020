"""The settings by what one wants, and what each choice is like: a sample in words.

Nothing here knows Kivy. The sample of how it looks is drawn by the page itself.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, Final

from app.display.class_board import capitals_mm
from app.session.manner import Answering, Listening
from engine.pattern import Instruction
from engine.pattern.notation import Work
from engine.pattern.stitches import STITCHES
from engine.plan.rounding import companion_mass, length_in
from engine.quantities import Length, LengthUnit, Mass, MassUnit
from engine.show_how import Move
from speech.words.level import Level

if TYPE_CHECKING:
    from app.display.screen_words import ScreenWording
    from app.session.settings import Settings

LOOKS: Final = "looks"
ANSWERS: Final = "answers"
LISTENS: Final = "listens"
HANDS: Final = "hands"
CLASS: Final = "class"
WORDS: Final = "words"

GROUPS: Final[tuple[tuple[str, tuple[str, ...]], ...]] = (
    (LOOKS, ("palette", "text_scale", "motion")),
    (ANSWERS, ("answering", "rate", "level")),
    (LISTENS, ("listening", "word")),
    (
        HANDS,
        (
            "left_handed",
            "yarn_hand",
            "length_unit",
            "mass_unit",
            "count_every",
            "rest_every",
            "scale_step",
        ),
    ),
    (CLASS, ("class_screen", "class_distance")),
    (WORDS, ()),
)
"""The groups in their order, and which settings stand in each."""

_ROW: Final = Instruction((Work(STITCHES["k"], (2,)), Work(STITCHES["p"], (2,))))
_SLEEVE: Final = Length(Fraction(8), LengthUnit.CM)
_BALL: Final = Mass(Fraction(50), MassUnit.G)


def sample(group: str, settings: Settings, words: ScreenWording) -> str:
    """Return what a group of settings makes of something that every knitter knows; "" for none."""
    match group:
        case "answers":
            row = words.instruction(_ROW)
            if settings.level is Level.HANDS:
                row = words.showing(Move(_ROW)).words
            how = f"answers_{settings.answering}"
            if settings.answering is not Answering.VOICE:
                return words("settings", how)
            return words("settings", how, row=row.rstrip("."), rate=settings.rate)
        case "listens":
            how = {
                Listening.FREELY: "listens_freely",
                Listening.WORD: "listens_word",
                Listening.HELD: "listens_held",
            }[settings.listening]
            return words("settings", how, word=str(settings.word))
        case "hands":
            length = length_in(_SLEEVE, settings.length_unit)
            mass = _BALL if settings.mass_unit is MassUnit.G else companion_mass(_BALL)
            hand = "left" if settings.left_handed else "right"
            return words("settings", f"hands_{hand}", length=length, mass=mass)
        case "class":
            high = capitals_mm(settings.class_distance)
            return words("settings", "class_sample", high=round(high))
        case _:
            return ""
