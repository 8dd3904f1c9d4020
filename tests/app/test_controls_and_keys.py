"""Touch and keys: every command can be reached, and a key that is held counts once."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app import resources
from app.language import phrase_book
from app.session.controls import (
    Answer,
    Asks,
    Control,
    ControlsError,
    Entry,
    phrase_of,
    read_controls,
    speakable,
)
from app.session.keys import (
    Doing,
    KeysError,
    Presses,
    read_keys,
    with_own_keys,
    write_own_keys,
)
from engine.commands import COMMANDS, Command, HandFelt, Source
from engine.quantities import Length, LengthUnit, Mass, MassUnit
from engine.talk import TALK, Talk, value_of
from speech.words.understand import understand

CONTROLS = read_controls(resources.text("shared/window/controls.toml"))
KEYS = read_keys(resources.text("shared/keys.toml"), CONTROLS)
BOOK = phrase_book()
ANSWERS: dict[Asks, Answer] = {
    Asks.NUMBER: 7,
    Asks.LENGTH: Length(Fraction(11), LengthUnit.CM),
    Asks.MASS: Mass(Fraction(41), MassUnit.G),
    Asks.TEXT: "too tight",
}


def said(control: Control) -> Command | Talk:
    """Return what a control says, with a value for everything that it asks for."""
    following = control.following(ANSWERS[control.asks]) if control.further else None
    return said(following) if following else control.said(ANSWERS.get(control.asks))


def filled(control: Control) -> str:
    """Return the phrase of a control once everything that it asks for is known."""
    while control.further:
        following = control.following(ANSWERS[control.asks])
        assert following is not None
        control = following
    words = {Asks.NUMBER: "7", Asks.LENGTH: "11 cm", Asks.MASS: "41 g"}.get(control.asks, "")
    return phrase_of(control, BOOK).replace("\N{HORIZONTAL ELLIPSIS}", words)


def test_every_command_has_a_control(subtests: pytest.Subtests) -> None:
    """Whatever can be said can be touched: every command is in one of the groups."""
    for name in [*COMMANDS, *TALK]:
        with subtests.test(command=name):
            grouped = (one for _, group in CONTROLS.groups for one in group)
            reached = [one for one in grouped if one.kind.name == name]
            assert reached
            assert all(said(one).name == name for one in reached)


def test_every_command_has_a_key() -> None:
    """Whatever can be said has a key, directly or through the pad that asks for its value."""
    bound = [one.bound for one in KEYS.bindings.values() if isinstance(one.bound, Control)]
    assert {*COMMANDS, *TALK} - {control.kind.name for control in bound} == set()


def test_the_words_on_a_control_do_what_the_control_does(subtests: pytest.Subtests) -> None:
    """The phrase shown on a control, with its value filled in, is understood as just that.

    The text of a note alone is dictated, not said in one breath.
    """
    for control in CONTROLS.by_key.values():
        if control.asks is not Asks.TEXT:
            with subtests.test(control=control.key):
                assert understand(filled(control), BOOK) == (said(control),)


def test_only_one_talk_cannot_be_said() -> None:
    """All can be spoken but to listen again, which nobody would hear; shaping is said as rows."""
    silent = {one.kind.name for one in CONTROLS.by_key.values() if not speakable(one, BOOK)}
    assert silent == {"start_listening", "shape_rows"}


def test_answers_are_shorter_than_sentences() -> None:
    """While a question stands, the control shows the short answer."""
    yes = CONTROLS.by_key["yes"]
    assert phrase_of(yes, BOOK, answering=True) == "yes"
    assert phrase_of(yes, BOOK) == "yes that's right"


def test_a_control_with_a_fixed_value_says_it() -> None:
    """A control for one of several values says that value."""
    assert CONTROLS.by_key["felt_tight"].said() == HandFelt(feel="tight")  # type: ignore[arg-type]
    assert value_of(CONTROLS.by_key["felt_tight"].said()) == "tight"


@pytest.mark.parametrize(
    ("old", "new", "sentence"),
    [
        ('command = "undo"', 'command = "undone"', "no command"),
        ('ask = "length"', 'ask = "size"', "in vain"),
        ('question = ["yes"', 'question = ["perhaps"', "no control 'perhaps'"),
        (
            '"yarn_lasts", "how_long"',
            '"how_long"',
            "Nothing to touch gives the command 'yarn_lasts'",
        ),
    ],
)
def test_wrong_controls_are_refused(old: str, new: str, sentence: str) -> None:
    """Data that names what is not there, or forgets a command, is refused with a sentence."""
    text = resources.text("shared/window/controls.toml")
    assert old in text
    with pytest.raises(ControlsError, match=sentence):
        read_controls(text.replace(old, new))


# --- keys ----------------------------------------------------------------------------------------


def test_no_key_does_two_things() -> None:
    """Every key of the map has one name and does one thing; codes are not doubled."""
    assert len(set(KEYS.names.values())) == len(KEYS.names)
    assert {Doing.TYPE, Doing.EVERYTHING, Doing.KEYS, Doing.CLOSE} <= {
        one.bound for one in KEYS.bindings.values() if isinstance(one.bound, Doing)
    }


def test_pedals_are_told_from_keys() -> None:
    """What pedals send counts as a pedal, the space bar as a key."""
    assert KEYS.bindings[281].source is Source.PEDAL
    assert KEYS.bindings[32].source is Source.KEY


def test_shift_gives_what_is_bound_with_it_and_else_the_plain_key() -> None:
    """Shift and L is not L; Shift and the space bar, which has nothing of its own, counts a row."""
    shifted = KEYS.binding(ord("l"), shift=True)
    assert shifted is not None
    assert shifted.key == "shift l"
    assert shifted != KEYS.binding(ord("l"), shift=False)
    assert KEYS.binding(32, shift=True) == KEYS.binding(32, shift=False)
    own = with_own_keys(KEYS, '[keys]\nshift_space = "undo"\n', CONTROLS)
    space = own.binding(32, shift=True)
    assert space is not None
    assert space.bound == CONTROLS.by_key["undo"]
    assert with_own_keys(KEYS, write_own_keys({space.code: space}), CONTROLS) == own


def test_own_bindings_come_back() -> None:
    """What a knitter teaches is written, read again and lies over the usual map."""
    learned = KEYS.learned(98, CONTROLS.by_key["row_done"], Source.PEDAL)
    learned = learned.learned(999, Doing.TYPE, Source.KEY)
    own = {code: learned.bindings[code] for code in (98, 999)}
    again = with_own_keys(KEYS, write_own_keys(own), CONTROLS)
    assert again.bindings == learned.bindings
    assert again.key_name(999) == "key 999"


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ('[keys]\nhyper = "undo"', "no key 'hyper'"),
        ('[keys]\nb = "jump"', "nothing called 'jump'"),
        ("[keys", "not written as TOML"),
    ],
)
def test_wrong_key_maps_are_refused(text: str, sentence: str) -> None:
    """A key map that names what is not there is refused with a sentence."""
    with pytest.raises(KeysError, match=sentence):
        with_own_keys(KEYS, text, CONTROLS)


@given(st.integers(1, 60), st.integers(20, 700))
def test_a_held_key_counts_once(repeats: int, every_ms: int) -> None:
    """However often a held key repeats, it is one press; after its key-up it counts again."""
    presses = Presses()
    times = [at * every_ms for at in range(repeats)]
    assert [presses.pressed(32, at) for at in times] == [True] + [False] * (repeats - 1)
    presses.released(32)
    assert presses.pressed(32, times[-1] + 1)


def test_a_pedal_without_key_up_counts_again_after_a_while() -> None:
    """A pedal that never says that it was released is not dead after its first press."""
    presses = Presses()
    assert presses.pressed(281, 0)
    assert presses.pressed(281, 5000)


def test_two_keys_do_not_hide_each_other() -> None:
    """A key pressed while another is held counts."""
    presses = Presses()
    assert presses.pressed(32, 0)
    assert presses.pressed(8, 10)
    assert not presses.pressed(32, 20)


# --- numbers on the pad --------------------------------------------------------------------------


def entered(asks: Asks, signs: str, unit: LengthUnit | MassUnit | None = None) -> Entry:
    """Return an entry after some signs; "<" takes back."""
    entry = Entry(asks, unit=unit)
    for sign in signs:
        entry = entry.press("back" if sign == "<" else sign)
    return entry


def test_a_length_with_eighths() -> None:
    """Four, a quarter and an eighth are 4 3/8 inches, exactly."""
    entry = entered(Asks.LENGTH, "4", LengthUnit.IN)
    entry = entry.with_part(Fraction(1, 4)).with_part(Fraction(3, 8))
    assert entry.answer() == Length(Fraction(35, 8), LengthUnit.IN)


def test_taking_back_takes_the_part_first() -> None:
    """Back takes away the fraction, then the last digit, then nothing more."""
    entry = entered(Asks.LENGTH, "12", LengthUnit.IN).with_part(Fraction(1, 2))
    assert entry.press("back").answer() == Length(Fraction(12), LengthUnit.IN)
    assert entered(Asks.NUMBER, "12<<<").answer() is None


@pytest.mark.parametrize(
    ("asks", "signs", "unit", "answer"),
    [
        (Asks.NUMBER, "54", None, 54),
        (Asks.NUMBER, "5.4", None, None),
        (Asks.NUMBER, "5.4<<", None, 5),
        (Asks.NUMBER, "\N{MINUS SIGN}5", None, None),
        (Asks.NUMBER, "\N{MINUS SIGN}<5", None, 5),
        (Asks.NUMBER, "1/2", None, None),
        (Asks.NUMBER, "5+5", None, None),
        (Asks.LENGTH, "\N{MINUS SIGN}7", LengthUnit.CM, None),
        (Asks.LENGTH, "1/2", LengthUnit.CM, None),
        (Asks.MASS, "\N{MINUS SIGN}7.5", MassUnit.G, None),
        (Asks.NUMBER, "0", None, None),
        (Asks.NUMBER, "123456", None, 1234),
        (Asks.LENGTH, "11.5", LengthUnit.CM, Length(Fraction(23, 2), LengthUnit.CM)),
        (Asks.LENGTH, ".5", LengthUnit.CM, Length(Fraction(1, 2), LengthUnit.CM)),
        (Asks.LENGTH, "1..5", LengthUnit.CM, Length(Fraction(3, 2), LengthUnit.CM)),
        (Asks.LENGTH, "0", LengthUnit.CM, None),
        (Asks.LENGTH, "", LengthUnit.CM, None),
        (Asks.MASS, "0", MassUnit.G, Mass(Fraction(0), MassUnit.G)),
        (Asks.MASS, "41", MassUnit.G, Mass(Fraction(41), MassUnit.G)),
    ],
)
def test_what_is_entered_is_what_is_meant(
    asks: Asks, signs: str, unit: LengthUnit | MassUnit | None, answer: object
) -> None:
    """The pad gives the number entered, or nothing while it is none the control takes."""
    assert entered(asks, signs, unit).answer() == answer


def test_no_stitches_can_be_counted_but_not_no_rows() -> None:
    """Zero is a count of stitches; zero rows done is no command."""
    zero = entered(Asks.NUMBER, "0")
    assert zero.answer(CONTROLS.by_key["count"].least) == 0
    assert zero.answer(CONTROLS.by_key["rows_done"].least) is None


def test_a_fraction_and_a_point_do_not_mix() -> None:
    """A decimal point and eighths exclude each other; another unit clears the eighths."""
    assert entered(Asks.LENGTH, "1.5", LengthUnit.IN).with_part(Fraction(1, 2)).part == 0
    half = entered(Asks.LENGTH, "1", LengthUnit.IN).with_part(Fraction(1, 2))
    assert half.press(".").digits == "1"
    assert half.in_unit(LengthUnit.CM).answer() == Length(Fraction(1), LengthUnit.CM)
