"""How much is said of a row."""

from __future__ import annotations

from enum import StrEnum


class Level(StrEnum):
    """A row read out in whole words, or told as what the hands do."""

    ROW = "row"
    HANDS = "hands"
