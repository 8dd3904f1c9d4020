"""
A row that is said aloud: decoded by a closed grammar of its own, and read in every likely way.

It is asked only when the words for the commands begin like a row, or while a row is being said. No
reading is chosen here: all that are near the likeliest are handed on, with how far they lie behind
it, because the stitches on the needle tell more than the sound.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

from engine.composing import SayRow
from speech.hearing.judging import Meaning
from speech.words.phrases import Form, Way
from speech.words.row_sampler import row_sentences
from speech.words.said_rows import opener_of, rows_said
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
        """Tell whether what the decoder of the commands heard begins like a row."""
        heard = (one.words.replace(UNKNOWN, " ").strip() for one in found[:_LOOKED_AT])
        if attention is not None:
            heard = (one.removeprefix(attention) for one in heard if one.startswith(attention))
        return any(opener_of(one, self._book) is not None for one in heard)

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
    for likeness, said in sorted(best.values(), key=lambda item: item[0])[:_MOST]:
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
