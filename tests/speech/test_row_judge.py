"""Rows that are said aloud: a decoder of their own, asked only behind an opener."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest

from app import resources
from app.language import phrase_book
from engine.commands import RowsDone
from engine.composing import RepeatRows, SayRow
from engine.quantities import centimetres
from speech.hearing.acceptance_rules import AcceptanceSettings
from speech.hearing.decoder import Hypothesis, ScriptedModel
from speech.hearing.row_judge import rows_heard
from speech.hearing.verdict import Judge
from speech.hearing.vosk_decoder import VoskModel
from speech.words.row_sampler import row_sentences
from speech.words.said_rows import opener_of, rows_said

BOOK = phrase_book()
VOICE = np.full(16_000, 0.1, dtype=np.float32)
ROOM = np.zeros(16_000, dtype=np.float32)


def judge(*heard: tuple[Hypothesis, ...]) -> tuple[Judge, ScriptedModel]:
    """Return a judge whose decoder of commands and decoder of rows hear these in turn."""
    model = ScriptedModel(heard)
    return Judge(model, BOOK, (), AcceptanceSettings(), None), model


def texts(found: object) -> list[str]:
    """Return the rows among some candidates, as they are written."""
    assert isinstance(found, tuple)
    return [one.text for one in found if isinstance(one, SayRow)]


def test_what_begins_like_a_row_is_read_by_the_rows_decoder() -> None:
    """The commands' decoder hears the opener only; the row comes from the other one."""
    ears, model = judge(
        (Hypothesis("this row [unk]", -10.0),),
        (Hypothesis("this row knit two pearl two to the end", -20.0),
         Hypothesis("this row knit ten pearl two to the end", -21.0)),
    )  # fmt: skip
    verdict = ears.judge(VOICE, ROOM, stands_out=40.0, answers=False)
    assert texts(verdict.candidates) == [
        "*k2, p2; rep from * to end",
        "*k10, p2; rep from * to end",
    ]
    assert [one.behind for one in verdict.candidates if isinstance(one, SayRow)] == [0.0, 1.0]
    assert len(model.asked_for) == 3


def test_commands_never_ask_the_rows_decoder() -> None:
    """Counting goes as ever: no third decoder is made for "row done", even while a row is said."""
    ears, model = judge((Hypothesis("row done", -10.0),))
    ears.saying = "knit two"
    verdict = ears.judge(VOICE, ROOM, stands_out=40.0, answers=False)
    assert verdict.meaning is not None
    assert verdict.meaning.said == RowsDone(1)
    assert len(model.asked_for) == 2


def test_more_of_a_row_is_read_without_its_opener() -> None:
    """While a row is being said, words that are no command may be more of it."""
    heard = (Hypothesis("[unk]", -10.0),), (Hypothesis("knit two", -9.0),)
    ears, _ = judge(*heard)
    ears.saying = "knit two purl two to the end"
    verdict = ears.judge(VOICE, ROOM, stands_out=40.0, answers=False)
    assert texts(verdict.candidates) == ["*k2, p2; rep from *, k2"]
    deaf, model = judge(*heard)
    assert deaf.judge(VOICE, ROOM, stands_out=40.0, answers=False).meaning is None
    assert len(model.asked_for) == 2


def test_readings_far_behind_are_left_out() -> None:
    """What is hardly heard is no candidate, nor is anything with an unknown word in it."""
    found = rows_heard(
        (Hypothesis("this row knit [unk] two", 0.0), Hypothesis("this row knit two", -1.0),
         Hypothesis("this row knit ten", -30.0)), BOOK,
    )  # fmt: skip
    assert texts(found) == ["k2"]


def test_the_sentences_are_rows() -> None:
    """What is listened for are steps of rows, most behind an opener, always the same."""
    sentences = row_sentences(BOOK, lambda _: True)
    assert sentences == row_sentences(BOOK, lambda _: True)
    opened = [one for one in sentences if opener_of(one.replace("pearl", "purl"), BOOK)]
    assert len(opened) > len(sentences) / 2
    assert not any("tog" in one.split() for one in row_sentences(BOOK, lambda word: word != "tog"))
    understood = [one for one in opened if rows_said(one, BOOK)]
    assert len(understood) > len(opened) / 4


@pytest.mark.model
def test_the_speech_model_makes_a_decoder_of_them() -> None:
    """Every word of the sentences is known to the model: else there would be no decoder."""
    model = VoskModel(resources.model_folder())
    model.closed(row_sentences(BOOK, model.knows))


REPEAT = "repeat the last two rows until it measures six and a half centimetres"


def test_a_repeat_with_its_length_is_read_by_the_rows_decoder() -> None:
    """The commands' decoder hears which rows come again; until when comes from the other one."""
    ears, model = judge(
        (Hypothesis("repeat the last two rows [unk]", -10.0),), (Hypothesis(REPEAT, -20.0),)
    )
    verdict = ears.judge(VOICE, ROOM, stands_out=40.0, answers=False)
    assert verdict.candidates == (RepeatRows(rows=2, length=centimetres(Fraction(13, 2))),)
    assert len(model.asked_for) == 3


def test_two_lengths_that_lie_close_are_not_taken() -> None:
    """Sixteen or sixty centimetres: no stitches tell which, so nothing is understood."""
    two = (Hypothesis("repeat the last row until it measures sixteen centimetres", 0.0),
           Hypothesis("repeat the last row until it measures sixty centimetres", -1.0))  # fmt: skip
    assert rows_heard(two, BOOK) == ()
    assert len(rows_heard(two[:1], BOOK)) == 1


def test_repeats_are_among_what_the_rows_decoder_listens_for() -> None:
    """So often, and until a length in centimetres or inches, are in the sampled sentences."""
    sentences = row_sentences(BOOK, lambda _: True)
    repeats = [one for one in sentences if one.startswith("repeat the last")]
    assert any("until it measures" in one and "centimetres" in one for one in repeats)
    assert any("inches" in one for one in repeats)
    assert any(one.endswith("times") for one in repeats)
