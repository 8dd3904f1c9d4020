"""Whether what a decoder made of a voice is a command: pure rules over scored readings.

The decoder stitches words of different phrases together, so each of its readings is parsed
strictly and the likeliest that is a whole command counts. It has to be clearly likelier than a
different command, and among everyday words it must not be clearly less likely than those.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from speech.words.phrases import Form, PhraseBook, Slot, Way
from speech.words.repairs import repaired
from speech.words.sampler import IN_PARTS, UNKNOWN
from speech.words.understand import readings as readings_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from engine.commands import Command
    from engine.talk import Talk
    from speech.hearing.decoder import Hypothesis

_EVERY_SPOKEN = frozenset({Way.SPOKEN, Way.ANSWER})


@dataclass(frozen=True, slots=True)
class JudgingSettings:
    """Differences of scores (natural logarithms of likelihoods)."""

    sure_by: float = 1.5
    """A command is taken if no other one comes so near to it,"""
    sure_by_more_in_noise: float = 1.5
    """and in the loudest room by so much more,"""
    stitched_by: float = 4.0
    """and if no stitched words are so much likelier;"""
    stitched_by_in_noise: float = 7.0
    """noise likes stitched words, so there they tell less."""
    paces: tuple[float, ...] = (0.94, 1.06)
    """Where it is loud and no command stands out, the voice is read slower and faster as well;"""
    sure_by_together: float = 2.6
    """then the first has to stand out by so much on the average of all readings."""
    candidate_within: float = 4.0
    """Other numbers that come so near are handed over as candidates."""
    unlike_at_least: float = 1.0
    """Everyday words that are no likelier than this never refuse a command;"""
    unlike_by: float = -1.5
    """they refuse it if they are likelier by more than this"""
    unlike_by_word: float = 1.3
    """and this for each of its words: a long command is hardly ever said by chance,"""
    unlike_by_in_noise: float = 0.0
    unlike_by_word_in_noise: float = 1.2
    """while every one of its words may be heard a little wrongly."""
    loud_room: float = 25.0
    """A room is loud if the voice is less than so many dB above it,"""
    loudest_room: float = 10.0
    """and loudest if it is so many."""


@dataclass(frozen=True, slots=True)
class Meaning:
    """A command that an utterance may be, and how likely."""

    said: Command | Talk
    form: Form
    words: str
    """In the words of the model; what was repaired in them is."""
    score: float
    reading: str = ""
    """What was read, before anything was repaired and without the attention word."""


def meanings(
    readings: Sequence[Hypothesis], book: PhraseBook, *, attention: str | None = None
) -> tuple[Meaning, ...]:
    """Return the commands among some readings, each with its best score, the likeliest first.

    With an `attention` word only readings that begin with it count. Short answers are among them.
    """
    best: dict[Command | Talk, Meaning] = {}
    for one in readings:
        words = one.words
        if UNKNOWN in words:
            continue
        if attention is not None:
            first, _, words = words.partition(" ")
            if first != attention:
                continue
        for said in (words, *repaired(words, book)):
            for found in readings_of(said, book, _EVERY_SPOKEN):
                if found.said not in best or best[found.said].score < one.score:
                    best[found.said] = Meaning(found.said, found.form, said, one.score, words)
    return tuple(sorted(best.values(), key=lambda meaning: -meaning.score))


def stitched(
    found: Sequence[Meaning], likeliest: float, settings: JudgingSettings, above: float
) -> bool:
    """Whether words that are no command are so much likelier than the first meaning.

    `above` is how many dB the voice is above the room.
    """
    loud = above < settings.loud_room
    most = settings.stitched_by_in_noise if loud else settings.stitched_by
    return likeliest - found[0].score > most


def rivals(
    found: Sequence[Meaning], settings: JudgingSettings, above: float
) -> tuple[Meaning, ...]:
    """Return the meanings from which the first one does not stand out.

    `above` is how many dB the voice is above the room: the noisier it is, the more has to be sure.
    """
    noisy = (settings.loud_room - above) / (settings.loud_room - settings.loudest_room)
    margin = settings.sure_by + settings.sure_by_more_in_noise * min(max(noisy, 0.0), 1.0)
    return tuple(other for other in found[1:] if found[0].score - other.score < margin)


def together(views: Sequence[Sequence[Meaning]], settings: JudgingSettings) -> tuple[Meaning, ...]:
    """
    Return the meanings of the first view in the order that all views of one voice give together.

    It is () unless the likeliest on the average stands out, and the first view has it. What a view
    lacks counts there as a little less likely than all that it has.
    """
    least = [min((one.score for one in view), default=0.0) - 1.0 for view in views]
    scores = [{one.said: one.score for one in view} for view in views]
    sums = {
        one.said: sum(view.get(one.said, low) for view, low in zip(scores, least, strict=True))
        for view in views
        for one in view
    }
    order = sorted(sums, key=lambda said: -sums[said])
    if len(order) > 1:
        ahead = (sums[order[0]] - sums[order[1]]) / len(views)
        if ahead < settings.sure_by_together:
            return ()
    place = {said: at for at, said in enumerate(order)}
    found = tuple(sorted(views[0], key=lambda one: place[one.said]))
    return found if found and found[0].said == order[0] else ()


def candidates(found: Sequence[Meaning], settings: JudgingSettings) -> tuple[Command | Talk, ...]:
    """Return the first meaning and after it the same command with other numbers that come near."""
    first = found[0]
    return tuple(
        one.said
        for one in found
        if one.said.name == first.said.name and first.score - one.score <= settings.candidate_within
    )


def unlike(
    meaning: Meaning, second: Sequence[Hypothesis], settings: JudgingSettings, above: float
) -> bool:
    """Whether everyday words fit the sound clearly better than the command does."""
    count = len(meaning.words.split())
    allowed = (
        settings.unlike_by_in_noise + settings.unlike_by_word_in_noise * count
        if above < settings.loud_room
        else settings.unlike_by + settings.unlike_by_word * count
    )
    allowed = max(allowed, settings.unlike_at_least)
    return bool(second) and second[0].score - meaning.score > allowed


def may_go_on(form: Form, book: PhraseBook) -> bool:
    """Whether somebody who has said this form may still be saying a longer one.

    After "two ounces" there may come "and a half", after "row thirty" a "four".
    """
    last = form.items[-1]
    if isinstance(last, Slot) and last.field in {"row", "length", "mass"}:
        return True
    length = len(form.items)
    return any(
        len(other.items) > length and other.items[:length] == form.items for other in book.spoken()
    )


def value_may_follow(words: str, form: Form, book: PhraseBook) -> bool:
    """
    Whether what may follow soon would say something new: a place, or "and a half" of an inch.

    "Now" behind "stop listening" does not, nor does anything behind a number that has its end.
    """
    length = len(form.items)
    new = (
        any(isinstance(item, Slot) for item in other.items[length:])
        for other in book.all_forms
        if other.way in _EVERY_SPOKEN and other.items[:length] == form.items
    )
    in_parts = {name for unit in IN_PARTS for name in book.units[unit]}
    return any(new) or words.rsplit(maxsplit=1)[-1] in in_parts


def likely_goes_on(words: str, form: Form, book: PhraseBook) -> bool:
    """
    Whether a sentence ends in an open number that is as likely as not the first part of another.

    Nine in ten numbers from twenty to a hundred have something behind the tens. A single digit may
    be followed by a hundred, but seldom is.
    """
    last = form.items[-1]
    numbers = book.numbers
    firsts = {*numbers.tens, numbers.hundred, numbers.thousand}
    return isinstance(last, Slot) and last.field == "row" and words.rsplit(maxsplit=1)[-1] in firsts
