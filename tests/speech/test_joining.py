"""A pause inside a command: what belongs together is judged together, and what is close doubted."""

from __future__ import annotations

import numpy as np
import pytest

from app import resources
from engine.commands import Recount, RowsDone
from speech.hearing.acceptance import AcceptanceSettings
from speech.hearing.decoder import Hypothesis
from speech.hearing.events import Heard, Reason
from speech.hearing.joining import JoiningSettings, Piece, belongs, judged
from speech.hearing.judging import likely_goes_on, meanings
from speech.hearing.sound import RATE
from speech.hearing.verdict import Verdict
from speech.words.phrases import Way, read_phrases
from speech.words.repairs import repaired
from speech.words.understand import readings, understand
from tests.speech.test_acceptance import decided, scripted, spoken

BOOK = read_phrases(resources.text("shared/phrases/en.toml"))
RULES = JoiningSettings()
SOUND = np.zeros(RATE, dtype=np.float32)


def piece(words: str, *, accepted: bool) -> Piece:
    """Return a piece of a second that begins with the stream."""
    return Piece(words, accepted, 0, RATE, SOUND, SOUND)


def at(gap_s: float) -> int:
    """Return the sample that comes so long after the piece."""
    return round((1 + gap_s) * RATE)


@pytest.mark.parametrize(
    ("gap_s", "expected"), [(0.5, True), (1.5, True), (1.6, False), (-0.1, False)]
)
def test_only_what_follows_soon_belongs_to_a_piece(gap_s: float, *, expected: bool) -> None:
    """Up to a second and a half a pause is one; what overlaps was decided already."""
    alone = Verdict("seven", reason=Reason.NOT_A_COMMAND)
    before = piece("row one hundred and twenty", accepted=True)
    assert belongs(before, alone, at(gap_s), at(gap_s + 0.5), RULES) is expected


def test_two_commands_are_never_joined() -> None:
    """A command behind a command is a new one, however soon it comes."""
    before = piece("really on row twenty", accepted=True)
    assert not belongs(before, heard("row done"), at(0.5), at(1.0), RULES)


def heard(words: str) -> Verdict:
    """Return the verdict on words that are a command."""
    (meaning,) = meanings([Hypothesis(words, 50.0)], BOOK)
    return Verdict(words, meaning, (meaning.said,))


def test_a_refused_piece_and_its_end_are_one_command() -> None:
    """What begins with the words of the refused piece counts, from where that began."""
    alone = Verdict("rows done", reason=Reason.NOT_A_COMMAND)
    whole = heard("ninety two rows done")
    found = judged(piece("ninety two", accepted=False), alone, whole, at(1.0), RULES)
    assert found.candidates == (RowsDone(92),)
    assert (found.joined, found.mends) == (True, False)
    other = judged(piece("cast off the", accepted=False), alone, whole, at(1.0), RULES)
    assert other is alone, "it begins otherwise"


def test_an_afterthought_mends_and_says_so() -> None:
    """Row one hundred and twenty becomes 127 when "seven" follows."""
    before = piece("really on row one hundred and twenty", accepted=True)
    alone = Verdict("seven", reason=Reason.NOT_A_COMMAND)
    whole = heard("really on row one hundred and twenty seven")
    found = judged(before, alone, whole, at(1.2), RULES)
    assert found.candidates == (Recount(127),)
    assert found.mends
    other = heard("really on row one hundred and seventy")
    assert judged(before, alone, other, at(1.2), RULES) is alone, "that is no longer one"


def test_a_command_close_behind_a_refused_piece_is_doubted() -> None:
    """The end of "weighs two hundred ninety two grams" must not count ninety two rounds."""
    before = piece("weighs two hundred", accepted=False)
    alone = heard("ninety two rounds done")
    whole = Verdict("weighs two hundred ninety rounds", reason=Reason.NOT_A_COMMAND)
    close = judged(before, alone, whole, at(0.6), RULES)
    assert (close.meaning, close.reason) == (None, Reason.UNSURE)
    assert judged(before, alone, whole, at(1.2), RULES) is alone


@pytest.mark.parametrize(
    ("words", "likely"),
    [
        ("really on row one hundred and twenty", True),
        ("really on row two hundred", True),
        ("really on row twenty seven", False),
        ("really on row thirteen", False),
        ("twenty rows done", False),
        ("measure twenty centimetres", False),
    ],
)
def test_only_half_an_open_number_is_waited_for_long(words: str, *, likely: bool) -> None:
    """Behind tens and hundreds there is mostly more; behind teens, digits and units not."""
    found = readings(words, BOOK, {Way.SPOKEN})[0]
    assert likely_goes_on(words, found.form, BOOK) is likely


def test_half_a_number_waits_longer_than_a_whole_one() -> None:
    """In the stream, row 120 is decided about half a second later than row 127."""
    half, whole = (
        decided(scripted([[Hypothesis(f"really on row one hundred and {end}", 50.0)]]), spoken())[0]
        for end in ("twenty", "twenty seven")
    )
    assert isinstance(half, Heard)
    assert isinstance(whole, Heard)
    settings = AcceptanceSettings()
    longer = settings.likely_goes_on_s - settings.goes_on_s
    assert half.span.decided_s - whole.span.decided_s == pytest.approx(longer, abs=0.06)


def test_in_the_stream_a_pause_mends_what_was_taken() -> None:
    """Row 120, a pause of 1.2 s, "seven": first 120 is heard, then 127 that mends it."""
    rest = spoken(0.4, before=0.2)
    first = [Hypothesis("really on row one hundred and twenty", 50.0)]
    end = [Hypothesis("seven", 20.0)]
    whole = [Hypothesis("really on row one hundred and twenty seven", 60.0)]
    acceptance = scripted([first, end, whole], [first, whole])
    early, late = (one for one in decided(acceptance, spoken(), rest) if isinstance(one, Heard))
    assert (early.candidates, early.mends) == ((Recount(120),), False)
    assert (late.candidates, late.mends) == ((Recount(127),), True)
    assert late.span.start_s == pytest.approx(early.span.start_s, abs=0.06)


def test_a_tick_between_hides_no_afterthought_but_a_gap_in_the_sound_does() -> None:
    """Sound thrown away while Walesong ticks is a pause; after a reset nothing is gone on with."""
    first = [Hypothesis("really on row one hundred and twenty", 50.0)]
    end = [Hypothesis("seven", 20.0)]
    whole = [Hypothesis("really on row one hundred and twenty seven", 60.0)]
    for forget, commands in ((False, 2), (True, 1)):
        acceptance = scripted([first, end, whole], [first, whole])
        events = decided(acceptance, spoken()[: round(2.95 * RATE)])
        acceptance.skip(round(0.1 * RATE))
        if forget:
            acceptance.reset()
        events += decided(acceptance, spoken(0.4, before=0.25))
        assert sum(isinstance(one, Heard) for one in events) == commands


@pytest.mark.parametrize(
    ("words", "means"),
    [
        ("really on row one hundred and no ninety seven", Recount(97)),
        ("really on on row ninety seven", Recount(97)),
        ("fourteen fourteen rows done", RowsDone(14)),
        ("two two rows done", None),
        ("really on no ninety seven", None),
        ("row done no", None),
    ],
)
def test_what_is_corrected_counts_as_corrected(words: str, means: object) -> None:
    """Behind "no" stands what is meant, a word twice counts once; a digit twice is a doubt."""
    meant = [said for one in repaired(words, BOOK) for said in understand(one, BOOK)]
    assert meant == ([] if means is None else [means])
