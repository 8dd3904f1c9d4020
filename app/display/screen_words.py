"""The words that the screens show: read from the product's data, filled in where they are used."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING, cast

from engine.toml_text import toml_of
from speech.words.rounds import in_rounds
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
    rounds: bool = False
    """Whether they are said of a piece that is worked in rounds."""

    def in_rounds(self) -> ScreenWording:
        """Return the same words for a piece that is worked in rounds."""
        return replace(self, reply=lambda one: self.reply(replace(one, rounds=True)), rounds=True)

    def __call__(self, table: str, key: str, /, **values: object) -> str:
        """Return the words with that name, filled in; KeyError if there are none."""
        template = _template(self.texts[table][key])
        return (in_rounds(template) if self.rounds else template).fill(values, _write)


@lru_cache(maxsize=1024)
def _template(text: str) -> Template:
    return read_template(text)


def _write(value: object, _: SentenceForm) -> str:
    return str(value)


def read_texts(text: str) -> Mapping[str, Mapping[str, str]]:
    """Read the screens' own words."""
    return cast("Mapping[str, Mapping[str, str]]", toml_of(text))
