"""What can be shown by hands, and its words: a title, and one sentence for each of its pictures."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from typing import TYPE_CHECKING, cast

from app import resources
from engine.toml_text import TomlTextError, toml_of

if TYPE_CHECKING:
    from collections.abc import Mapping

_DATA = "shared/print/hands.en.toml"


class Topic(StrEnum):
    """What can be shown by hands, step by step."""

    SLIP_KNOT = "slip_knot"
    LONG_TAIL = "long_tail"
    KNITTED_CAST_ON = "knitted_cast_on"
    HOLD = "hold"
    KNIT = "knit"
    PURL = "purl"
    TURN = "turn"
    SLIP = "slip"
    KNIT_TWO_TOGETHER = "knit_two_together"
    SLIP_SLIP_KNIT = "slip_slip_knit"
    YARN_OVER = "yarn_over"
    MAKE_ONE = "make_one"
    BIND_OFF = "bind_off"
    PICK_UP = "pick_up"
    WEAVE_IN = "weave_in"
    DROPPED = "dropped"
    STRAY_OVER = "stray_over"
    EDGE_PULLED = "edge_pulled"
    TWISTED = "twisted"
    SPLIT = "split"
    UNPICK = "unpick"


class TopicsError(ValueError):
    """The words of the topics cannot be used; the sentence says why."""


@dataclass(frozen=True, slots=True)
class TopicWords:
    """How a topic is called, and a sentence for each of its pictures, in their order."""

    title: str
    moves: tuple[str, ...]


def read_topics(text: str) -> tuple[str, Mapping[Topic, TopicWords]]:
    """Return the title of all, and the words of every topic; TopicsError with one sentence."""
    try:
        data = toml_of(text)
    except TomlTextError as error:
        raise TopicsError(f"The words of the handout are not TOML: {error}") from error
    title, tables = data.get("title"), data.get("topics")
    if not isinstance(title, str) or not isinstance(tables, dict):
        raise TopicsError("The handout needs a title and the topics.")
    found = {}
    for topic in Topic:
        table = tables.get(topic.value)
        if not isinstance(table, dict) or not isinstance(table.get("title"), str):
            raise TopicsError(f"The handout has no title for '{topic}'.")
        moves = table.get("moves")
        if not moves or not isinstance(moves, list) or not all(isinstance(m, str) for m in moves):
            raise TopicsError(f"The handout has no sentences for '{topic}'.")
        found[topic] = TopicWords(cast("str", table["title"]), tuple(moves))
    return title, found


@cache
def topics() -> Mapping[Topic, TopicWords]:
    """Return the words of every topic, as the product's data has them."""
    return read_topics(resources.text(_DATA))[1]
