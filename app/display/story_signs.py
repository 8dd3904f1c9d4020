"""What the story says beside its drawings: each sign at its place, and the same in a sentence.

Nothing here knows Kivy. Only what is drawn is explained, so that nobody has to learn a key.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING, Final

from engine.quantities import Length

if TYPE_CHECKING:
    from app.display.screen_words import ScreenWording
    from app.drawings.story import Curve, Story
    from engine.quantities import LengthUnit

_TOLD: Final = 3
"""So many of the last lengths are told in words; the others are in the list below."""


@dataclass(frozen=True, slots=True)
class Signs:
    """The words that stand at the signs of a drawing; "" for a sign that is not there."""

    goal: str = ""
    done: str = ""
    cone: str = ""
    last: str = ""
    aside: str = ""
    noted: str = ""
    tight: str = ""
    loose: str = ""


def story_signs(story: Story, words: ScreenWording) -> Signs:
    """Return the words at the signs of the drawing of lengths."""
    last, cone = story.last, story.cone
    return Signs(
        goal=words("story", "goal", length=_length(story.target, story.unit))
        if story.target is not None
        else "",
        done=words("story", "done", row=story.done) if story.done else "",
        cone=words("story", "cone", first=cone[0], last=cone[1])
        if cone is not None and story.target is not None
        else "",
        last=words("story", "read", length=_length(last.length, story.unit)) if last else "",
        aside=words("story", "aside") if any(one.aside for one in story.points) else "",
        noted=words("story", "noted") if story.noted else "",
    )


def hand_signs(curve: Curve, words: ScreenWording) -> Signs:
    """Return the words at the signs of the drawing of the hand."""
    feels = {feel for _, feel in curve.felt}
    return Signs(
        done=words("story", "done", row=curve.done) if curve.done else "",
        noted=words("story", "noted") if curve.noted else "",
        tight=words("story", "felt", feel="tight") if 1 in feels else "",
        loose=words("story", "felt", feel="loose") if -1 in feels else "",
    )


def yarn_signs(curve: Curve, words: ScreenWording) -> Signs:
    """Return the words at the signs of the drawing of the yarn."""
    return Signs(
        goal=words("story", "needed") if curve.needed is not None else "",
        done=words("story", "done", row=curve.done) if curve.needed != curve.done else "",
        cone=words("story", "reach", first=curve.reach[0], last=curve.reach[1])
        if curve.reach is not None
        else "",
        last=words("story", "grams", grams=f"{curve.points[-1][1]:g}") if curve.points else "",
    )


def lengths_told(story: Story, words: ScreenWording, *, last: bool) -> str:
    """Say lengths in a sentence, for who does not read charts; "" without any.

    `last`: with the last one; otherwise those before it.
    """
    holding = [one for one in story.points if not one.aside]
    holding = (holding if last else holding[:-1])[-_TOLD:]
    if not holding:
        return ""
    each = [
        words("story", "after", length=_length(one.length, story.unit), row=one.row)
        for one in holding
    ]
    return words("story", "grew" if last else "grew_before", lengths=", ".join(each))


def _length(value: float, unit: LengthUnit) -> str:
    return str(Length(Fraction(value).limit_denominator(1000), unit))
