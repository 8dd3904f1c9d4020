"""The words that the screens show: read from the product's data, filled in where they are used."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING, cast

from engine.toml_text import toml_of
from speech.words.templates import SentenceForm, Template, read_template

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from engine.pattern import Instruction
    from engine.replies import Reply
    from engine.show_how import Move
    from speech.words.wording import Showing


@dataclass(frozen=True, slots=True)
class ScreenWording:
    """
    Everything that turns values into words for the screens.

    `texts` are the screens' own words by table and name; `reply` and `instruction` put answers and
    written rows into full words, `showing` tells what the hands do.
    """

    texts: Mapping[str, Mapping[str, str]]
    reply: Callable[[Reply], str]
    instruction: Callable[[Instruction], str]
    showing: Callable[[Move], Showing]

    def in_rounds(self) -> ScreenWording:
        """Return the same words for a piece that is worked in rounds."""
        board, tape = (dict(self.texts[table]) for table in ("board", "tape"))
        for table in (board, tape):
            table.update({key: _rounds(text) for key, text in table.items() if key != "fork"})
        return replace(self, texts={**self.texts, "board": board, "tape": tape})

    def __call__(self, table: str, key: str, /, **values: object) -> str:
        """Return the words with that name, filled in; KeyError if there are none."""
        return _template(self.texts[table][key]).fill(values, _write)


@lru_cache(maxsize=256)
def _rounds(text: str) -> str:
    """Say round for row; the gaps that are named so keep their names."""
    return _ROW.sub(r"\1ound\2", text)


_ROW = re.compile(r"(?<![{~])\b([Rr])ow(s?)\b")


@lru_cache(maxsize=1024)
def _template(text: str) -> Template:
    return read_template(text)


def _write(value: object, _: SentenceForm) -> str:
    return str(value)


def read_texts(text: str) -> Mapping[str, Mapping[str, str]]:
    """Read the screens' own words."""
    return cast("Mapping[str, Mapping[str, str]]", toml_of(text))
