"""The phrase data: one file for all forms, and one sentence for whatever is wrong in it."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise
from random import Random

import pytest

from app import resources
from engine.commands import COMMANDS
from engine.quantities import LengthUnit, MassUnit
from engine.talk import TALK
from speech.hearing.vosk_decoder import VoskModel
from speech.words.numbers import say_quantity, say_whole
from speech.words.phrases import (
    Form,
    PhraseError,
    Slot,
    Way,
    read_phrases,
    unknown_words,
    with_own_phrases,
)
from speech.words.sampler import cover_sentences, read_fillers
from speech.words.understand import understand, understand_heard

TEXT = resources.text("shared/phrases/en.toml")
BOOK = read_phrases(TEXT)


def test_every_command_has_its_forms_and_its_line_of_help() -> None:
    """The forms and the help cover exactly the commands that exist."""
    assert set(BOOK.forms) == {*COMMANDS, *TALK}
    assert all(BOOK.forms.values())
    assert set(BOOK.help) == {*COMMANDS, *TALK}
    assert len(BOOK.help_lines()) == len(BOOK.help)


@pytest.mark.model
def test_the_speech_model_knows_every_word() -> None:
    """No word that can be said is missing from the speech model, aliases and units included."""
    model = VoskModel(resources.model_folder())
    assert unknown_words(BOOK, model.knows) == ()
    assert unknown_words(BOOK, lambda word: word != "row") == ("row",)


def test_words_the_model_lacks_are_said_by_what_they_sound_like() -> None:
    """The decoder gets "thinking" for tinking, and what it hears is understood again."""
    sentences = set(cover_sentences(BOOK))
    assert "thinking this row" in sentences
    assert not any("tinking" in sentence.split() for sentence in sentences)
    assert [said.name for said in understand_heard("thinking this row", BOOK)] == ["unpick"]


def test_the_decoder_listens_for_every_pair_of_words_that_can_be_said() -> None:
    """Any value in any form that is spoken is made of pairs of words in the decoder's sentences."""
    listened = {pair for one in cover_sentences(BOOK) for pair in _pairs(one)}
    dice = Random(5)
    for form in BOOK.spoken():
        for _ in range(60):
            words = " ".join(
                _value(item.field, form, dice) if isinstance(item, Slot) else item
                for item in form.items
            )
            heard = " ".join(
                one for word in words.split() for one in BOOK.aliases.get(word, (word,))
            )
            assert _pairs(heard) <= listened, words


def _pairs(words: str) -> set[tuple[str, str]]:
    return {*pairwise(["<s>", *words.split(), "</s>"])}


def _value(field: str, form: Form, dice: Random) -> str:
    if field in BOOK.vocabulary.wholes:
        most = 20 if {"piece", "pattern"} & {*form.items} else 999
        return say_whole(dice.randint(1, most), BOOK.numbers)
    if field in BOOK.vocabulary.choices:
        ways = dice.choice([*BOOK.choices[field].values()])
        return " ".join(dice.choice(ways))
    kind = LengthUnit if field == "length" else MassUnit
    one, many = BOOK.units[dice.choice([unit for unit in BOOK.units if isinstance(unit, kind)])][:2]
    value = Fraction(dice.randint(1, 999), dice.choice([1, 8]))
    return say_quantity(value, one, many, BOOK.numbers)


def test_spoken_numbers_end_in_a_closing_word() -> None:
    """No spoken form ends in a count that somebody might still be saying, only a row may."""
    for form in BOOK.spoken():
        assert form.text.split()[-1] not in {"{count}", "{rows}", "{after}"}


def test_what_is_always_listened_for_has_two_words_at_least() -> None:
    """Single words are heard only as answers."""
    for form in BOOK.all_forms:
        if form.way is Way.SPOKEN:
            assert len(form.items) >= 2, form.text


@pytest.mark.parametrize(
    ("old", "new", "sentence"),
    [
        ('["take that back"]', '["take that back", "row done"]', "would mean both"),
        ('["take that back"]', '["back"]', "one word is heard by mistake"),
        ('["take that back"]', '["what comes"]', "is the beginning of"),
        ('["take that back"]', '["take {count} back"]', "has no {count}"),
        ('["take that back"]', '["take {that} back"]', "nothing can fill"),
        ('["take that back"]', '["take [that back"]', "do not match"),
        ('["take that back"]', '["Take that back"]', "small letters"),
        ('["take that back"]', '"take that back"', "has to be a list"),
        ('["i count {count} stitches"]', '["i count {count}"]', "ends in a number"),
        ('"i count {count} stitches"', '"i count some stitches"', "has to say {count}"),
        ("[commands.undo]", "[commands.undoing]", "no command 'undoing'"),
        ("[commands.undo]\nhelp", "[commands.undo]\nhelps", "cannot have 'helps'"),
        ('[commands.undo]\nhelp = "Take', '[commands.undo]\n#"Take', "lacks the text 'help'"),
        ('cm = ["centimetre"', 'ell = ["centimetre"', "no unit 'ell'"),
        ('tight = ["tight"]', "", "No words say 'tight'"),
        ('language = "en"', "language = ", "not written as TOML"),
        ('half = "1/2"', 'half = "one"', "needs a value such as 1/2"),
    ],
)
def test_bad_phrases_get_one_sentence(old: str, new: str, sentence: str) -> None:
    """Whatever is wrong in the phrase file is said in one sentence that names the place."""
    assert old in TEXT
    with pytest.raises(PhraseError, match=sentence.replace("{", r"\{")) as failed:
        read_phrases(TEXT.replace(old, new, 1))
    assert "\n" not in str(failed.value).strip()


def test_a_missing_command_is_named() -> None:
    """A phrase file has to have every command."""
    start = TEXT.index("[commands.undo]")
    cut = TEXT[:start] + TEXT[TEXT.index("[commands.redo]") :]
    with pytest.raises(PhraseError, match="lack the command 'undo'"):
        read_phrases(cut)


def test_a_knitter_adds_her_own_phrases() -> None:
    """Her own words are understood beside the others, heard and typed."""
    own = with_own_phrases(BOOK, '[commands.undo]\nsay = ["scratch that please"]')
    assert [said.name for said in understand_heard("scratch that please", own)] == ["undo"]
    assert [said.name for said in understand("take that back", own)] == ["undo"]
    assert "scratch that please" in set(cover_sentences(own))
    assert understand_heard("scratch that please", BOOK) == ()


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ('[commands.undo]\nsay = ["row done"]', "would mean both"),
        ('[commands.nothing]\nsay = ["la la"]', "no command 'nothing'"),
        ("[numbers]\nones = []", "can change commands, talk and aliases"),
    ],
)
def test_her_bad_phrases_change_nothing(text: str, sentence: str) -> None:
    """A phrase of hers that would confuse is refused with a sentence."""
    with pytest.raises(PhraseError, match=sentence):
        with_own_phrases(BOOK, text)


def test_everyday_words_are_none_of_the_commands() -> None:
    """The list is in order, has no word twice, and none that a command is made of."""
    fillers = read_fillers(resources.text("shared/phrases/filler.en.txt"))
    assert list(fillers) == sorted(set(fillers))
    assert len(fillers) > 1500
    assert not set(fillers) & BOOK.model_words()
