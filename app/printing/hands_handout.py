"""A handout of what the hands do: every topic that is drawn, with a sentence under each picture."""

from __future__ import annotations

from typing import TYPE_CHECKING

from app import resources
from app.drawings.hands.album import TOPICS
from app.lessons.topics import TopicsError, read_topics
from app.printing.data import print_data
from app.printing.hands_drawing import draw_pose
from app.printing.sheet import HandsSheet, Illustration, PatternSheet

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from app.lessons.topics import Topic, TopicWords
    from app.session.settings import YarnHand


def handout(topics: Iterable[Topic], hand: YarnHand, *, left_handed: bool) -> PatternSheet:
    """Return the sheet for these topics, in their order."""
    data = print_data()
    title, words = read_handout(resources.text("shared/print/hands.en.toml"))
    caution = data.wording.say("hands", often=data.rest_often, stop=data.rest_stop)
    sheets = []
    for topic in topics:
        said_of = words[topic]
        poses = [draw(hand) for draw in TOPICS[topic]]
        pictures = tuple(
            Illustration(draw_pose(pose.mirrored() if left_handed else pose, said), (said,))
            for pose, said in zip(poses, said_of.moves, strict=True)
        )
        sheets.append(HandsSheet(said_of.title, pictures))
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


def read_handout(text: str) -> tuple[str, Mapping[Topic, TopicWords]]:
    """
    Return the title, and the name and the sentences of every topic.

    Raises TopicsError if a topic is missing or has not one sentence for each of its pictures.
    """
    title, found = read_topics(text)
    for topic, drawings in TOPICS.items():
        moves = found[topic].moves
        if len(moves) != len(drawings):
            raise TopicsError(
                f"'{topic}' has {len(moves)} sentences for {len(drawings)} pictures; "
                "write one for each."
            )
    return title, found
