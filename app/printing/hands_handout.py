"""A handout of what the hands do: every topic that is drawn, with a sentence under each picture."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

from app import resources
from app.drawings.hands.album import TOPICS, Topic
from app.printing.data import print_data
from app.printing.hands_drawing import draw_pose
from app.printing.sheet import HandsSheet, Illustration, PatternSheet
from engine.toml_text import TomlTextError, toml_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from app.session.settings import YarnHand


class HandoutError(ValueError):
    """The words of the handout cannot be used; the sentence says why."""


def handout(topics: Iterable[Topic], hand: YarnHand, *, left_handed: bool) -> PatternSheet:
    """Return the sheet for these topics, in their order."""
    data = print_data()
    title, words = read_handout(resources.text("shared/print/hands.en.toml"))
    caution = data.wording.say("hands", often=data.rest_often, stop=data.rest_stop)
    sheets = []
    for topic in topics:
        name, moves = words[topic]
        poses = [draw(hand) for draw in TOPICS[topic]]
        pictures = tuple(
            Illustration(draw_pose(pose.mirrored() if left_handed else pose, said), (said,))
            for pose, said in zip(poses, moves, strict=True)
        )
        sheets.append(HandsSheet(name, pictures))
    return PatternSheet(
        language=data.wording.language,
        headings=data.wording.headings,
        title=title,
        byline="",
        sizes=(),
        warning="",
        problems=(),
        verdict=(),
        cautions=(caution,),
        measurements=None,
        materials=(),
        gauge=(),
        abbreviations=(),
        stitch_patterns=(),
        pieces=(),
        care=(),
        facts=(),
        foot=title,
        hands=tuple(sheets),
    )


def read_handout(text: str) -> tuple[str, Mapping[Topic, tuple[str, tuple[str, ...]]]]:
    """
    Return the title, and the name and the sentences of every topic.

    Raises HandoutError if a topic is missing or has not one sentence for each of its pictures.
    """
    try:
        data = toml_of(text)
    except TomlTextError as error:
        raise HandoutError(f"The words of the handout are not TOML: {error}") from error
    title, tables = data.get("title"), data.get("topics")
    if not isinstance(title, str) or not isinstance(tables, dict):
        raise HandoutError("The handout needs a title and the topics.")
    found = {}
    for topic, drawings in TOPICS.items():
        table = tables.get(topic.value)
        if not isinstance(table, dict) or not isinstance(table.get("title"), str):
            raise HandoutError(f"The handout has no title for '{topic}'.")
        moves = table.get("moves")
        if not isinstance(moves, list) or not all(isinstance(one, str) for one in moves):
            raise HandoutError(f"The handout has no sentences for '{topic}'.")
        if len(moves) != len(drawings):
            raise HandoutError(
                f"'{topic}' has {len(moves)} sentences for {len(drawings)} pictures; "
                "write one for each."
            )
        found[topic] = cast("str", table["title"]), tuple(moves)
    return title, found
