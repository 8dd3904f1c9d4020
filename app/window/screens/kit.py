"""What every screen is built with."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from engine.quantities import LengthUnit

if TYPE_CHECKING:
    from app.display.screen_words import ScreenWording
    from app.session.controls import Controls
    from app.session.keys import KeyMap
    from app.window.look import Look
    from engine.quantities import MassUnit
    from speech.words.phrases import PhraseBook


@dataclass(frozen=True, slots=True)
class Kit:
    """The look, and the product's data as far as screens show it."""

    look: Look
    controls: Controls
    keys: KeyMap
    book: PhraseBook
    words: ScreenWording
    units: tuple[LengthUnit | MassUnit, ...] = ()

    @property
    def length_unit(self) -> LengthUnit | None:
        """The unit that the knitter has chosen for lengths."""
        return next((unit for unit in self.units if isinstance(unit, LengthUnit)), None)
