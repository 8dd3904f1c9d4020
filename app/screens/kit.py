"""What every screen is built with."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from app.controls import Controls
    from app.keys import KeyMap
    from app.look import Look
    from app.window_words import Wording
    from engine.quantities import LengthUnit, MassUnit
    from speech.phrases import PhraseBook


@dataclass(frozen=True, slots=True)
class Kit:
    """The look, and the product's data as far as screens show it."""

    look: Look
    controls: Controls
    keys: KeyMap
    book: PhraseBook
    words: Wording
    units: tuple[LengthUnit | MassUnit, ...] = ()
