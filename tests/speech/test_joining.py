"""A pause inside a command: what belongs together is judged together, and what is close doubted."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest

from app import resources
from engine.commands import CountStitches, CountSwatch, Recount, RidgesDone, RowsDone
from speech.hearing.acceptance import AcceptanceSettings
from speech.hearing.afterthoughts import Afterthoughts
from speech.hearing.decoder import Hypothesis
from speech.hearing.events import Heard, Reason, RefusedSpeech, Span, SpeechStarted
from speech.hearing.floor import Floor
from speech.hearing.joining import JoiningSettings, Piece, belongs, doubted, joined, kept
from speech.hearing.judging import likely_goes_on, meanings, value_may_follow
from speech.hearing.sound import RATE
from speech.hearing.verdict import Verdict
from speech.words.phrases import Way, read_phrases
from speech.words.repairs import repaired
from speech.words.understand import readings, understand
from tests.speech.test_acceptance import decided, scripted, spoken

if TYPE_CHECKING:
    from speech.hearing.acceptance import Acceptance
    from speech.hearing.sound import Samples

BOOK = read_phrases(resources.text("shared/phrases/en.toml"))
RULES = JoiningSettings()
MEASURED = "measure eleven centimetres"
SOUND = np.zeros(RATE, dtype=np.float32)


def piece(words: str, *, accepted: bool) -> Piece:
    """Return a piece of a second that begins with the stream."""
    return Piece((words,), 0, RATE, SOUND, SOUND, accepted=accepted)


def at(gap_s: float) -> int:
    """Return the sample that comes so long after the piece."""
    return round((1 + gap_s) * RATE)


@pytest.mark.parametrize(
    ("gap_s", "expected"), [(0.5, True), (1.5, True), (1.7, False), (-0.1, False)]
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
    found = joined(piece("ninety two", accepted=False), alone, whole)
    assert found is not None
    assert found.candidates == (RowsDone(92),)
    assert (found.begins, found.mends) == (0, False)
    other = piece("cast off the", accepted=False)
    assert joined(other, alone, whole) is None, "it begins otherwise"


def test_an_afterthought_mends_and_says_so() -> None:
    """Row one hundred and twenty becomes 127 when "seven" follows."""
    before = piece("really on row one hundred and twenty", accepted=True)
    alone = Verdict("seven", reason=Reason.NOT_A_COMMAND)
    whole = heard("really on row one hundred and twenty seven")
    found = joined(before, alone, whole)
    assert found is not None
    assert found.candidates == (Recount(127),)
    assert found.mends
    other = heard("really on row one hundred and seventy")
    assert joined(before, alone, other) is None, "that is no longer one"


def test_a_command_close_behind_a_refused_piece_is_doubted() -> None:
    """The end of "weighs two hundred ninety two grams" must not count ninety two rounds."""
    before = piece("weighs two hundred", accepted=False)
    alone = heard("ninety two rounds done")
    whole = Verdict("weighs two hundred ninety rounds", reason=Reason.NOT_A_COMMAND)
    assert joined(before, alone, whole) is None
    close = doubted(before, alone, at(0.6), RULES)
    assert (close.meaning, close.reason) == (None, Reason.UNSURE)
    assert (close.candidates, close.doubted) == ((RowsDone(92),), True), "it is asked about"
    assert doubted(before, alone, at(1.2), RULES) is alone


def test_in_the_stream_a_doubted_command_is_handed_on_to_be_asked() -> None:
    """Behind "weighs two hundred" there is a refusal that tells what may have been meant."""
    first = [Hypothesis("weighs two hundred", 20.0)]
    rest = [Hypothesis("ninety two rounds done", 50.0)]
    both = [Hypothesis("weighs two hundred ninety rounds", 60.0)]
    acceptance = scripted([first, rest, both], [rest])
    sound = (spoken()[: round(2.7 * RATE)], spoken(0.6, before=0.1))
    early, late = (one for one in decided(acceptance, *sound) if isinstance(one, RefusedSpeech))
    assert (early.maybe, early.doubted) == ((), False)
    assert (late.maybe, late.doubted) == ((RowsDone(92),), True)


@pytest.mark.parametrize(("noise", "kept_s"), [(0.0, 0.3), (0.1, 1.0)])
def test_a_loud_room_hides_words_between_two_pieces(noise: float, kept_s: float) -> None:
    """Of a pause of a second a quiet room keeps a third, a loud one all that may be soft words."""
    sound = np.random.default_rng(1).normal(0.0, noise, 6 * RATE).astype(np.float32)
    sound[RATE : 2 * RATE] += np.sin(np.arange(RATE) / 8, dtype=np.float32) / 10
    settings = AcceptanceSettings()
    stream = Afterthoughts(BOOK, settings, lambda start, end: sound[start:end])
    refused = Verdict("ninety two", reason=Reason.NOT_A_COMMAND,
                      readings=(Hypothesis("ninety two", 9.0),))  # fmt: skip
    stream.keep(refused, (RATE, 2 * RATE), sound[:RATE])
    judged: list[int] = []

    def judge(voice: Samples, _room: Samples) -> Verdict:
        judged.append(len(voice))
        return heard("ninety two rows done")

    alone = Verdict("rows done", reason=Reason.NOT_A_COMMAND)
    found = stream.judge(alone, (3 * RATE, 4 * RATE), judge)
    assert found.candidates == (RowsDone(92),)
    ahead_s, behind_s = settings.padding_before_s, settings.padding_after_s
    spoken_s = ahead_s + 2.0 + behind_s
    assert judged == [pytest.approx((spoken_s + kept_s) * RATE, abs=2)]


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
    """In the stream, row 120 is decided about a second later than row 127."""
    sound = np.concatenate([spoken(), spoken(0.0, before=0.0)])
    half, whole = (
        decided(scripted([[Hypothesis(f"really on row one hundred and {end}", 50.0)]]), sound)[0]
        for end in ("twenty", "twenty seven")
    )
    assert isinstance(half, Heard)
    assert isinstance(whole, Heard)
    settings = AcceptanceSettings()
    longer = settings.likely_goes_on_s - settings.goes_on_s
    assert half.span.decided_s - whole.span.decided_s == pytest.approx(longer, abs=0.06)


def test_in_the_stream_a_pause_mends_what_was_taken() -> None:
    """Eleven centimetres, a pause of 1.2 s, a place: first the one is heard, then both mend it."""
    rest = spoken(0.4, before=0.2)
    first = [Hypothesis(MEASURED, 50.0)]
    end = [Hypothesis("from the cast on", 20.0)]
    whole = [Hypothesis(f"{MEASURED} from the cast on", 60.0)]
    acceptance = scripted([first, end, whole], [first, whole])
    early, late = (one for one in decided(acceptance, spoken(), rest) if isinstance(one, Heard))
    assert (early.words, early.mends) == (MEASURED, False)
    assert (late.words, late.mends) == (f"{MEASURED} from the cast on", True)
    assert late.span.start_s == pytest.approx(early.span.start_s, abs=0.06)


@pytest.mark.parametrize("asked", [False, True])
@pytest.mark.parametrize("pause_s", [0.6, 1.0, 1.5])
def test_an_answer_that_the_microphone_hears_swallows_no_place(
    pause_s: float, *, asked: bool
) -> None:
    """The answer begins when nothing can follow: then a place still mends, and it sounds once.

    Also where the first half has raised a question, of which "from the cast on" is an answer.
    """
    first = [Hypothesis(MEASURED, 50.0)]
    end = [Hypothesis("from the cast on", 20.0)]
    whole = [Hypothesis(f"{MEASURED} from the cast on", 60.0)]
    acceptance = scripted([first, end, whole], [first, *([end] if asked else []), whole])
    sounding, deaf = playing(acceptance, pause_s, asked=asked)
    assert [(one.words, one.mends) for one in sounding] == [(whole[0].words, True)]
    assert deaf == 1


def playing(acceptance: Acceptance, pause_s: float, *, asked: bool) -> tuple[list[Heard], int]:
    """
    Let something be said and gone on with where each answer closes the microphone for a second.

    Returns what was answered in the end, and how often an answer has sounded.
    """
    floor, held, sounds_at, answered, deaf = Floor(), None, 0.0, [], 0
    rest = spoken(1.0, before=pause_s)
    sound = np.concatenate([spoken()[: 2 * RATE], rest, spoken(0.0, before=2.0)])
    step, deaf_until_s = RATE // 20, 0.0
    for begins in range(0, len(sound), step):
        now_s = begins / RATE
        if held is not None and now_s >= sounds_at:
            answered.append(held)
            held, deaf, deaf_until_s = None, deaf + 1, now_s + 1.0
        if now_s < deaf_until_s:
            acceptance.skip(step)
            continue
        for event in acceptance.feed(sound[begins : begins + step]):
            silent_s = floor.after(event)
            sounds_at = sounds_at if silent_s is None else acceptance.heard_s + silent_s
            if isinstance(event, Heard):
                held, acceptance.answers = event, asked
    return answered, deaf


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        (MEASURED, True),
        ("swatch has fourteen rows", True),
        ("yarn weighs two ounces", True),
        ("yarn weighs forty one grams", False),
        ("really on row twenty seven", False),
        ("row done", False),
        ("stop listening", False),
    ],
)
def test_an_answer_waits_only_where_a_value_may_follow(words: str, *, expected: bool) -> None:
    """A place, a state of the fabric, "and a half"; "please" and "now" say nothing new."""
    found = readings(words, BOOK, {Way.SPOKEN})[0]
    assert value_may_follow(words, found.form, BOOK) is expected


def test_talk_holds_an_answer_back_for_a_few_seconds_at_most() -> None:
    """A voice that begins in time is waited for; refused, or after 3 s, the answer sounds."""
    floor = Floor()
    taken = Heard((RowsDone(),), "", Span(1.0, 2.0, 2.4, 0.0), goes_on=True)
    refused = RefusedSpeech(Reason.NOT_A_COMMAND, "", "", None, Span(3.0, 4.0, 4.6, 0.0))
    assert floor.after(SpeechStarted(1.5)) is None, "nothing is to be gone on with"
    assert floor.after(taken) == pytest.approx(1.55)
    assert floor.after(SpeechStarted(3.0)) == 3.0
    assert floor.after(refused) == 0.0
    assert floor.after(SpeechStarted(4.0)) is None, "too late"
    assert floor.after(taken) == pytest.approx(1.55)
    assert floor.after(replace(taken, goes_on=False)) == 0.0


def test_a_tick_between_hides_no_afterthought_but_a_gap_in_the_sound_does() -> None:
    """Sound thrown away while Walesong ticks is a pause; after a reset nothing is gone on with."""
    first = [Hypothesis(MEASURED, 50.0)]
    end = [Hypothesis("from the cast on", 20.0)]
    whole = [Hypothesis(f"{MEASURED} from the cast on", 60.0)]
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
        ("um fourteen er rows let me see done", RowsDone(14)),
        ("really on row thirty um", None),
        ("swatch has swatch has fourteen rows", CountSwatch(None, 14)),
        ("i count forty seven stitches no forty nine stitches", CountStitches(49)),
        ("i count forty seven stitches sorry forty nine", CountStitches(49)),
        ("fourteen rows no sixteen rows done", RowsDone(16)),
        ("row done no wait twenty rows done", None),
        ("twenty rows i mean twenty two rows done", RowsDone(22)),
        ("really on no ninety seven", None),
        ("row done no", None),
    ],
)
def test_what_is_corrected_counts_as_corrected(words: str, means: object) -> None:
    """
    Behind "no" stands what is meant, a word twice counts once, "um" not at all.

    A digit twice is a doubt, and behind "um" there is more to come.
    """
    meant = [said for one in repaired(words, BOOK) for said in understand(one, BOOK)]
    assert meant == ([] if means is None else [means])


def test_a_piece_may_be_read_with_an_end_that_it_has_not() -> None:
    """A piece read as "what lost" is the beginning of "what does ...", if that is about as near."""
    readings_of_piece = (Hypothesis("what lost", 40.0), Hypothesis("what does", 34.0))
    refused = Verdict("what lost", reason=Reason.NOT_A_COMMAND, readings=readings_of_piece)
    whole = heard("what does bind off mean")
    alone = Verdict("bind off mean", reason=Reason.NOT_A_COMMAND)
    for within, one_command in ((8.0, True), (4.0, False)):
        rules = JoiningSettings(begins_within=within)
        before = kept(refused, BOOK, rules, (0, RATE), (SOUND, SOUND))
        assert before is not None
        assert (joined(before, alone, whole) is not None) is one_command


def test_two_pauses_in_one_command() -> None:
    """In the stream, "seven | ridges | done" is one command; each piece alone is none."""
    pieces = [[Hypothesis(words, 20.0)] for words in ("seven", "ridges", "done")]
    two = [Hypothesis("seven ridges", 40.0)]
    whole = [Hypothesis("seven ridges done", 60.0)]
    acceptance = scripted([pieces[0], pieces[1], two, pieces[2], whole], [whole])
    rest = spoken(0.4, before=0.4)[: round(1.5 * RATE)]
    told = decided(acceptance, spoken()[: round(3.3 * RATE)], rest, rest)
    assert [one.candidates for one in told if isinstance(one, Heard)] == [(RidgesDone(7),)]
