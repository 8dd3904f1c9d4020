"""
A row that is said aloud: decoded by a closed grammar of its own, and read in every likely way.

It is asked only when the words for the commands begin like a row, or while a row is being said. No
reading is chosen here: all that are near the likeliest are handed on, with how far they lie behind
it, because the stitches on the needle tell more than the sound.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

from engine.composing import RepeatRows, SayRow
from speech.hearing.judging import Meaning
from speech.words.phrases import Form, Way
from speech.words.row_sampler import row_sentences
from speech.words.said_rows import opener_of, repeats_rows, rows_said
from speech.words.sampler import UNKNOWN

if TYPE_CHECKING:
    from collections.abc import Sequence

    from engine.composing import Composing
    from speech.hearing.decoder import Decoder, Hypothesis, Model
    from speech.hearing.sound import Samples
    from speech.words.phrases import PhraseBook

ROW_FORM: Final = Form(SayRow, Way.SPOKEN, ("this", "row"))
"""Stands for the form of a row: nothing else is said like it."""
_LOOKED_AT: Final = 40
"""So many readings of the commands' decoder are looked at for the opener of a row."""
_WITHIN: Final = 14.0
"""Readings that lie farther behind are no more heard than imagined (a guess)."""
_MOST: Final = 60
_SOMETHING: Final = "something"
_SURE_BY: Final = 1.5
"""As for the commands (`hearing.acceptance_rules`)."""
_SOUNDS_ALIKE: Final = 2.0
"""Of readings that sound alike only the likeliest is taken without a question."""


class RowJudge:
    """Reads rows; to be used by one thread, which also made it."""

    def __init__(self, model: Model, book: PhraseBook) -> None:
        """Prepare; the decoder is made when the first row is said."""
        self._model = model
        self._book = book
        self._decoder: Decoder | None = None

    def opened(self, found: Sequence[Hypothesis], attention: str | None = None) -> bool:
        """Tell whether what the commands' decoder heard begins like a row, or repeats some."""
        for one in found[:_LOOKED_AT]:
            words = one.words
            if attention is not None and not words.startswith(attention):
                continue
            words = words.removeprefix(attention or "")
            if opener_of(words.replace(UNKNOWN, " ").strip(), self._book) is not None:
                return True
            # What is said behind the rows is often no word of a command, and still there.
            if repeats_rows(words.replace(UNKNOWN, _SOMETHING), self._book):
                return True
        return False

    def read(
        self, voice: Samples, saying: str | None
    ) -> tuple[tuple[Composing, ...], Meaning] | None:
        """
        Return what a voice may say of a row, the likeliest first, and that as a meaning.

        None where it says nothing of rows. `saying` are the words so far of the row that is said.
        """
        if self._decoder is None:
            sentences = row_sentences(self._book, self._model.knows)
            self._decoder = self._model.closed((*sentences, UNKNOWN))
        self._decoder.feed(voice)
        heard = self._decoder.finish()
        readings = rows_heard(heard, self._book, saying=saying)
        if not readings:
            return None
        words = heard[0].words
        return readings, Meaning(readings[0], ROW_FORM, words, heard[0].score)


def rows_heard(
    heard: Sequence[Hypothesis], book: PhraseBook, *, saying: str | None = None
) -> tuple[Composing, ...]:
    """Return what scored readings of a voice may say of rows, the likeliest first."""
    best: dict[Composing, tuple[float, Composing]] = {}
    for one in heard:
        behind = heard[0].score - one.score
        if behind > _WITHIN or UNKNOWN in one.words:
            continue
        for said in rows_said(one.words, book, saying=saying):
            likeness = behind + (said.behind if isinstance(said, SayRow) else 0.0)
            same = replace(said, words="") if isinstance(said, SayRow) else said
            if same not in best or likeness < best[same][0]:
                best[same] = likeness, said
    alike = book.rows.alike if book.rows is not None else frozenset()
    heard_before: set[str] = set()
    found: list[Composing] = []
    likeliest = sorted(best.values(), key=lambda item: item[0])[:_MOST]
    repeats = [likeness for likeness, said in likeliest if isinstance(said, RepeatRows)]
    if len(repeats) > 1 and likeliest[0][0] == repeats[0] and repeats[1] - repeats[0] < _SURE_BY:
        return ()  # so many rows, or so many centimetres: no stitches tell which
    for likeness, said in likeliest:
        if isinstance(said, SayRow):
            sound = " ".join(word for word in said.words.split() if word not in alike)
            known, doubted = sound in heard_before, likeness + _SOUNDS_ALIKE
            heard_before.add(sound)
            found.append(replace(said, behind=doubted if known else likeness))
        else:
            found.append(said)
    return tuple(sorted(found, key=_likeness))


def _likeness(said: Composing) -> float:
    return said.behind if isinstance(said, SayRow) else 0.0
