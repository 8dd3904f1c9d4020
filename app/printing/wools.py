"""The colours in which the picture of the first page is drawn: its yarns, as well as paper can.

A colour that the pattern names by a common word is drawn as that word is understood; else a piece
has one of the wools of the screens, always the same one for the same title.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from app.display.theme import Colour, Theme


@dataclass(frozen=True, slots=True)
class Wools:
    """The wools of the screens, and the colours that have a common word."""

    theme: Theme
    words: Mapping[str, Colour]

    def of(self, title: str, said: str, letters: Sequence[str]) -> tuple[Colour, ...]:
        """Return a colour for every yarn; `said` names them: "A natural, B red"."""
        named = [self._named(said, letter) for letter in letters]
        known = tuple(colour for colour in named if colour is not None)
        if known and len(known) == len(letters):
            return known
        return self.theme.wools_with(self.theme.wool_for(title), max(len(letters), 1))

    def _named(self, said: str, letter: str) -> Colour | None:
        found = re.search(rf"(?:^|, ){re.escape(letter)} ([^,]+)", said) if letter else None
        words = found[1].casefold().split() if found is not None else []
        return next((self.words[word] for word in words if word in self.words), None)
