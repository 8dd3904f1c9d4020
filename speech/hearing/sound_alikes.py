"""Which of a knitter's own phrases the recogniser takes for another command: spoken and heard."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from speech.hearing.events import Heard, Reason, RefusedSpeech
from speech.hearing.sound import RATE
from speech.words.phrases import Way
from speech.words.understand import understand

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from engine.commands import Command
    from engine.talk import Talk
    from speech.hearing.acceptance import Acceptance
    from speech.hearing.sound import Samples
    from speech.words.phrases import PhraseBook

_AROUND_S = 1.0
"""Silence before and after each phrase, in seconds."""
_LEVEL = 0.06
"""Root mean square of a phrase: a voice at a table's distance."""


def own_fixed(book: PhraseBook, shipped: PhraseBook) -> tuple[str, ...]:
    """Return the spoken phrases without a number that a book has and the shipped one has not."""
    known = set(shipped.all_forms)
    return tuple(
        form.text
        for form in book.all_forms
        if form not in known and form.fixed and form.way is Way.SPOKEN
    )


def taken_for(
    spoken: Mapping[str, Sequence[Samples]], book: PhraseBook, acceptance: Acceptance
) -> dict[str, str]:
    """
    Return the phrases that are confused, each with a phrase of the command that was heard.

    It is "" where it only did not stand out from another command.

    A phrase fails if any voice's is taken for another command, or does not stand out from one; all
    that come with Walesong pass this (`tests/speech/test_no_two_alike.py`).

    Args:
        spoken: what to try, each phrase as some voices say it (mono, at `sound.RATE`).
        book: what can be said, the phrases among it.
        acceptance: listens for the whole book; its stream begins anew with each phrase.

    """
    confused: dict[str, str] = {}
    for phrase, voices in spoken.items():
        meant = understand(phrase, book)[0]
        heard = [_heard(acceptance, said) for said in voices]
        taken = [
            one.candidates[0]
            for one in heard
            if isinstance(one, Heard) and one.candidates[0] != meant
        ]
        doubts = [
            one for one in heard if isinstance(one, RefusedSpeech) and one.reason is Reason.UNSURE
        ]
        if taken:
            confused[phrase] = _said(book, taken[0])
        elif doubts:
            others = [one for one in understand(doubts[0].words, book) if one != meant]
            confused[phrase] = _said(book, others[0]) if others else ""
    return confused


def without(book: PhraseBook, phrases: Iterable[str]) -> PhraseBook:
    """Return the book with these phrases only typed."""
    left_out = set(phrases)
    return replace(
        book,
        all_forms=tuple(
            replace(form, way=Way.TYPED)
            if form.text in left_out and form.way is Way.SPOKEN
            else form
            for form in book.all_forms
        ),
    )


def _heard(acceptance: Acceptance, said: Samples) -> Heard | RefusedSpeech | None:
    """Return what comes of one phrase, spoken in a silent room at an ordinary level."""
    acceptance.start_over()
    silence = np.zeros(round(_AROUND_S * RATE), dtype=np.float32)
    loud = float(np.sqrt(np.mean(np.square(said)))) if len(said) else 0.0
    levelled = said * np.float32(_LEVEL / loud if loud else 1.0)
    events = acceptance.feed(np.concatenate([silence, levelled, silence]))
    told = [event for event in events if isinstance(event, Heard | RefusedSpeech)]
    return told[-1] if told else None


def _said(book: PhraseBook, command: Command | Talk) -> str:
    """Return the first phrase of a command as it is written."""
    return next(form.text for form in book.all_forms if form.kind is type(command))
