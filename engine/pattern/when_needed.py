"""Long patterns that most files never need: compiled when the first line asks for them."""

from __future__ import annotations

import re
from functools import cached_property


class WhenNeeded:
    """A regular expression like `re.Pattern`, compiled when it is first used."""

    def __init__(self, pattern: str) -> None:
        """Keep the pattern as text."""
        self.pattern = pattern

    @cached_property
    def _compiled(self) -> re.Pattern[str]:
        return re.compile(self.pattern)

    def search(self, text: str) -> re.Match[str] | None:
        """Return the first match anywhere in a text."""
        return self._compiled.search(text)

    def match(self, text: str) -> re.Match[str] | None:
        """Return the match at the beginning of a text."""
        return self._compiled.match(text)

    def fullmatch(self, text: str) -> re.Match[str] | None:
        """Return the match of a whole text."""
        return self._compiled.fullmatch(text)

    def blanked(self, text: str) -> str:
        """Return a text, as long as before, in which no letter of any match is left."""
        return self._compiled.sub(lambda found: "\0" * len(found.group()), text)
