"""The words of the answers that come with Walesong, read once."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

from app import resources
from app.language import phrase_book
from speech.words.instructions import read_steps
from speech.words.level import Level
from speech.words.wording import Wording, read_wording


@cache
def reply_wording(level: Level = Level.ROW) -> Wording:
    """Return the words of the replies that come with Walesong; rows are read out at a level."""
    words = read_wording(resources.text("shared/phrases/replies.en.toml"), phrase_book().numbers)
    hands = read_steps(resources.text("shared/phrases/steps.en.toml"), words.rows)
    return replace(words, hands=hands, level=level)
