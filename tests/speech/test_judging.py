"""The pure rules that make a command of scored readings, or nothing."""

from __future__ import annotations

from app import resources
from engine.commands import CountStitches, HowFar, RowsDone
from speech.hearing.decoder import Hypothesis
from speech.hearing.judging import (
    JudgingSettings,
    Meaning,
    candidates,
    may_go_on,
    meanings,
    rivals,
    stitched,
    together,
    unlike,
)
from speech.words.phrases import read_phrases
from speech.words.understand import readings

BOOK = read_phrases(resources.text("shared/phrases/en.toml"))
RULES = JudgingSettings()
QUIET, LOUD = 45.0, 10.0
"""How far a voice is above the room, in dB."""


def test_the_likeliest_whole_command_counts_not_the_likeliest_words() -> None:
    """Stitched words that come first are passed over for a whole command close behind."""
    found = meanings([Hypothesis("rows done", 80.0), Hypothesis("row done", 79.0)], BOOK)
    assert [one.said for one in found] == [RowsDone(1)]
    assert not stitched(found, 80.0, RULES, QUIET)
    assert stitched(found, 80.0 + RULES.stitched_by, RULES, QUIET)
    assert not stitched(found, 80.0 + RULES.stitched_by, RULES, LOUD), "noise likes stitched words"
    assert stitched(found, 80.0 + RULES.stitched_by_in_noise, RULES, LOUD)


def test_words_that_are_unknown_are_never_dropped() -> None:
    """A command with something else before or after it is not that command."""
    assert (
        meanings([Hypothesis("[unk] row done", 9.0), Hypothesis("row done [unk]", 8.0)], BOOK) == ()
    )


def test_one_command_said_in_two_ways_is_no_doubt() -> None:
    """Two spellings of the same command do not stand against each other."""
    two = [Hypothesis("how far left", 50.0), Hypothesis("how many rows left", 49.9)]
    for heard in (two, two[::-1]):
        found = meanings(heard, BOOK)
        assert [(one.said, one.score) for one in found] == [(HowFar(), 50.0)]


def test_two_commands_close_together_are_a_doubt() -> None:
    """What could be fifty or fifteen is not acted on, and in a loud room even less."""
    close = [
        Hypothesis("i count fifty stitches", 50.0),
        Hypothesis("i count fifteen stitches", 50.0 - RULES.sure_by - 0.2),
    ]
    found = meanings(close, BOOK)
    assert rivals(found, RULES, QUIET) == ()
    assert [other.said for other in rivals(found, RULES, LOUD)] == [CountStitches(15)]
    assert candidates(found, RULES) == (CountStitches(50), CountStitches(15))


def view(**scores: float) -> tuple[Meaning, ...]:
    """Return the meanings of one view, by the counted stitches."""
    found = [Hypothesis(f"i count {count} stitches", score) for count, score in scores.items()]
    return meanings(found, BOOK)


def test_what_stands_out_in_all_views_together_is_sure() -> None:
    """Two more readings of the same voice can settle a doubt; the first reading's scores stay."""
    first = view(fifty=50.0, fifteen=49.0)
    found = together([first, view(fifty=40.0, fifteen=36.0), view(fifty=60.0, fifteen=56.0)], RULES)
    assert found == first
    lower = view(fifty=49.0, fifteen=50.0)
    found = together([lower, view(fifty=40.0, fifteen=35.0), view(fifty=60.0, fifteen=54.0)], RULES)
    assert [(one.said, one.score) for one in found] == [
        (CountStitches(50), 49.0),
        (CountStitches(15), 50.0),
    ]


def test_what_does_not_stand_out_in_all_views_together_stays_a_doubt() -> None:
    """Views that disagree, or agree by too little, or on what the first lacks, settle nothing."""
    first = view(fifty=50.0, fifteen=49.0)
    assert together([first, view(fifty=40.0, fifteen=44.0)], RULES) == ()
    assert together([first, view(fifty=41.0, fifteen=40.0)], RULES) == ()
    seven = view(seventeen=50.0)
    assert together([first, seven, seven, seven, seven, seven], RULES) == ()
    assert together([(), ()], RULES) == ()


def test_a_view_without_the_second_counts_for_the_first() -> None:
    """What a view lacks is a little less likely there than all that it has."""
    first = view(fifty=50.0, fifteen=48.0)
    alone = view(fifty=50.0, sixty=45.0)
    assert [one.said for one in together([first, alone, alone], RULES)][:1] == [CountStitches(50)]


def test_only_other_numbers_of_the_same_command_are_candidates() -> None:
    """A different command is never offered as what might have been meant."""
    found = meanings([Hypothesis("row done", 50.0), Hypothesis("round done now", 49.0)], BOOK)
    other = meanings([Hypothesis("how far left", 48.0)], BOOK)
    assert candidates((*found, *other), RULES) == (RowsDone(1),)


def test_everyday_words_that_fit_better_refuse() -> None:
    """The second opinion refuses by a clear difference only, by a clearer one where it is loud."""
    (meaning,) = meanings([Hypothesis("row done", 50.0)], BOOK)
    clearly = [Hypothesis("road works", 50.0 + RULES.unlike_by + 2 * RULES.unlike_by_word + 0.1)]
    assert unlike(meaning, clearly, RULES, QUIET)
    assert not unlike(meaning, clearly, RULES, LOUD)
    assert not unlike(meaning, [Hypothesis("row done", 50.5)], RULES, QUIET)
    assert not unlike(meaning, [], RULES, QUIET)


def test_a_long_command_is_refused_less_easily_than_a_short_one() -> None:
    """Everyday words that refuse two words leave a longer command alone, and a bare yes too."""
    (short,) = meanings([Hypothesis("row done", 50.0)], BOOK)
    (longer,) = meanings([Hypothesis("i count fifty stitches", 50.0)], BOOK)
    (answer,) = meanings([Hypothesis("yes", 50.0)], BOOK)
    everyday = [Hypothesis("road works", 52.0)]
    assert unlike(short, everyday, RULES, QUIET)
    assert not unlike(longer, everyday, RULES, QUIET)
    assert not unlike(answer, [Hypothesis("yes", 50.0)], RULES, QUIET)


def test_with_an_attention_word_nothing_counts_without_it() -> None:
    """The attention word has to come first, and is no part of the command."""
    heard = [Hypothesis("row done", 60.0), Hypothesis("marigold how far left", 50.0)]
    found = meanings(heard, BOOK, attention="marigold")
    assert [(one.said, one.words) for one in found] == [(HowFar(), "how far left")]


def test_what_may_go_on_waits_a_little_longer() -> None:
    """A row number may get another digit, a length a place; "row done" is done."""
    expected = {
        "row done": False,
        "how far left": False,
        "i count fifty stitches": False,
        "measure eleven centimetres": True,
        "mistake in row thirty": True,
        "measure eleven centimetres from the marker": False,
    }
    forms = {words: readings(words, BOOK)[0].form for words in expected}
    assert {words: may_go_on(form, BOOK) for words, form in forms.items()} == expected
