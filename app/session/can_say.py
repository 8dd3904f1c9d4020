"""What makes sense to say now: five sentences in plain words, by where piece and talk are."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

from app import resources
from engine.replies import Say, reply
from engine.toml_text import toml_of

if TYPE_CHECKING:
    from engine.judging.decision import Question
    from engine.pattern import Course
    from engine.replies import Reply
    from engine.state import PieceState

_DATA = "shared/phrases/now.en.toml"


@cache
def sentences() -> dict[str, tuple[tuple[str, str], ...]]:
    """Return the sentences of every moment, each with what it is for."""
    data = toml_of(resources.text(_DATA))
    return {moment: tuple(words.items()) for moment, words in data.items()}


def can_say(
    state: PieceState, course: Course, question: Question | None, *, showing: bool
) -> tuple[Reply, ...]:
    """Return the sentences that make sense now, and where the rest is."""
    now = sentences()[_moment(state, course, question, showing=showing)]
    said = (reply(Say.CAN_SAY, words=words, purpose=purpose) for words, purpose in now)
    return (*said, reply(Say.CAN_SAY_MORE))


_ASKED = {Say.ASK_AFTER: "asked_after", Say.ASK_UNCOUNTED: "asked_count"}


def _moment(state: PieceState, course: Course, question: Question | None, *, showing: bool) -> str:
    place = course.where(state.loops_ended, state.working)
    if question is not None and question.yes is not None:
        return "asked"
    if question is not None:
        return _ASKED.get(question.asks.say, "asked_how")
    if showing:
        return "showing"
    if state.fork:
        return "forked"
    if state.finished or place.finished:
        return "finished"
    if not state.done:
        return "begun"
    return "to_a_measure" if place.open_loop is not None else "knitting"
