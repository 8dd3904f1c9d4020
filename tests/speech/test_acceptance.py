"""From sound to what was meant: with scripted decoders stage by stage, and with the real model."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from app import resources
from engine.commands import (
    CountStitches,
    HowFar,
    Measure,
    NoteRow,
    Recount,
    RipBack,
    RowsDone,
    Undo,
    WhatNext,
)
from engine.quantities import centimetres
from engine.talk import Yes
from speech.hearing.acceptance import Acceptance
from speech.hearing.decoder import Hypothesis, ScriptedDecoder, ScriptedModel
from speech.hearing.events import (
    Clipping,
    Dictated,
    Heard,
    HearingEvent,
    Reason,
    RefusedSpeech,
    SoundLevel,
    SpeechStarted,
)
from speech.hearing.sound import RATE, Sound, at_rate, read_wav
from speech.hearing.vosk_decoder import VoskModel
from speech.words.phrases import read_phrases
from speech.words.sampler import read_fillers

if TYPE_CHECKING:
    from pathlib import Path

    from speech.hearing.sound import Samples

BOOK = read_phrases(resources.text("shared/phrases/en.toml"))
FILLERS = read_fillers(resources.text("shared/phrases/filler.en.txt"))


def spoken(seconds: float = 1.0, level: float = 0.1, *, before: float = 1.0) -> Samples:
    """Return a voice made of noise in a quiet room, with a second of quiet after it."""
    dice = np.random.default_rng(5)
    length = round((before + seconds + 1) * RATE)
    sound = 1e-4 * dice.standard_normal(length)
    start, end = round(before * RATE), round((before + seconds) * RATE)
    sound[start:end] += level * dice.standard_normal(end - start)
    return np.asarray(sound, dtype=np.float32)


def decided(acceptance: Acceptance, *sounds: Samples) -> list[HearingEvent]:
    """Return all that was decided about some sounds, levels left out."""
    events = [event for sound in sounds for event in acceptance.feed(sound)]
    return [event for event in events if not isinstance(event, SoundLevel | SpeechStarted)]


def scripted(
    first: list[list[Hypothesis]],
    second: list[list[Hypothesis]] | None = None,
    attention: str | None = None,
    dictated: list[list[Hypothesis]] | None = None,
) -> Acceptance:
    """Return acceptance with decoders that hear what they are told to."""
    model = ScriptedModel(
        [tuple(one) for one in first],
        [tuple(one) for one in second or first],
        [tuple(one) for one in dictated or []],
    )
    return Acceptance(model, BOOK, (), attention=attention)


def test_a_command_passes_all_stages() -> None:
    """A voice that is a command is heard once, with its times, soon after its end."""
    (event,) = decided(scripted([[Hypothesis("row done", 50.0)]]), spoken())
    assert isinstance(event, Heard)
    assert event.candidates == (RowsDone(1),)
    assert event.span.start_s == pytest.approx(1.0, abs=0.05)
    assert event.span.end_s == pytest.approx(2.0, abs=0.05)
    assert 0.2 <= event.span.decided_s - event.span.end_s <= 0.32


def test_a_command_that_may_go_on_is_waited_for() -> None:
    """A length is decided a little later than a finished sentence: a place may still follow."""
    (short,) = decided(scripted([[Hypothesis("how far left", 50.0)]]), spoken())
    (longer,) = decided(scripted([[Hypothesis("measure eleven centimetres", 50.0)]]), spoken())
    assert isinstance(short, Heard)
    assert isinstance(longer, Heard)
    assert longer.span.decided_s > short.span.decided_s + 0.05


def test_only_everyday_words_refuse_a_command() -> None:
    """What is stitched of our own words, such as "rows done", says nothing against "row done"."""
    second = [Hypothesis("rows done", 54.0), Hypothesis("row done", 50.0)]
    (only,) = decided(scripted([[Hypothesis("row done", 50.0)]], [second]), spoken())
    assert isinstance(only, Heard)
    assert only.candidates == (RowsDone(),)
    second = [Hypothesis("four rows done", 54.0), Hypothesis("row done", 50.0)]
    (other,) = decided(scripted([[Hypothesis("row done", 50.0)]], [second]), spoken())
    assert isinstance(other, RefusedSpeech), "another command does speak against it"


@pytest.mark.parametrize(("ahead", "taken"), [(3.8, False), (0.8, True)])
def test_words_behind_a_command_refuse_it_whatever_they_were_taken_for(
    ahead: float, *, taken: bool
) -> None:
    """The rest of "stop listening to him" is filled with words of ours: it is no command, then."""
    more = Hypothesis("stop listening thirteen", 79.4 + ahead)
    plain = Hypothesis("stop listening", 79.4)
    (event,) = decided(scripted([[more, plain]], [[more]]), spoken())
    assert isinstance(event, Heard) is taken
    if isinstance(event, RefusedSpeech):
        assert event.reason is Reason.OTHER_WORDS


@pytest.mark.parametrize(
    ("first", "second", "reason"),
    [
        ([], [], Reason.NO_WORDS),
        ([Hypothesis("[unk]", 9.0)], [], Reason.NO_WORDS),
        ([Hypothesis("row the yarn", 9.0)], [], Reason.NOT_A_COMMAND),
        ([Hypothesis("row done", 50.0)], [Hypothesis("road works", 60.0)], Reason.OTHER_WORDS),
        (
            [
                Hypothesis("i count fifty stitches", 50.0),
                Hypothesis("i count fifteen stitches", 49.9),
            ],
            [],
            Reason.UNSURE,
        ),
        ([Hypothesis("yes", 50.0)], [Hypothesis("yes", 50.0)], Reason.ONLY_AN_ANSWER),
    ],
)
def test_each_stage_refuses_with_its_own_reason(
    first: list[Hypothesis], second: list[Hypothesis], reason: Reason
) -> None:
    """What does not get through is refused with the reason of the stage, in one sentence."""
    (event,) = decided(scripted([first], [second]), spoken())
    assert isinstance(event, RefusedSpeech)
    assert event.reason is reason
    assert event.sentence.endswith(".")


def test_where_only_a_number_is_unsure_it_is_told_what_it_may_be() -> None:
    """Fifty or fifteen can be asked about; another command, or everyday words, cannot."""
    first = [
        Hypothesis("i count fifty stitches", 50.0),
        Hypothesis("i count fifteen stitches", 49.9),
    ]
    (numbers,) = decided(scripted([first], [[]]), spoken())
    assert isinstance(numbers, RefusedSpeech)
    assert numbers.maybe == (CountStitches(50), CountStitches(15))
    (everyday,) = decided(scripted([first], [[Hypothesis("high counts", 70.0)]]), spoken())
    assert isinstance(everyday, RefusedSpeech)
    assert (everyday.reason, everyday.maybe) == (Reason.OTHER_WORDS, ())
    another = [Hypothesis("three rows done", 50.0), Hypothesis("how far left", 49.9)]
    (commands,) = decided(scripted([another], [[]]), spoken())
    assert isinstance(commands, RefusedSpeech)
    assert (commands.reason, commands.maybe) == (Reason.UNSURE, ())


def test_a_click_and_a_speech_are_no_commands() -> None:
    """Too short and too long are refused without asking the decoder."""
    (click,) = decided(scripted([]), spoken(0.06))
    assert isinstance(click, RefusedSpeech)
    assert click.reason in {Reason.TOO_SHORT, Reason.NO_WORDS}
    speech = decided(scripted([]), spoken(12.0))
    assert Reason.TOO_LONG in {one.reason for one in speech if isinstance(one, RefusedSpeech)}
    assert not [one for one in speech if isinstance(one, Heard)]


def test_an_answer_counts_while_a_question_stands() -> None:
    """A bare yes is taken when something was asked."""
    acceptance = scripted([[Hypothesis("yes", 50.0)]])
    acceptance.answers = True
    (event,) = decided(acceptance, spoken())
    assert isinstance(event, Heard)
    assert event.candidates == (Yes(),)


def test_the_attention_word_comes_first_or_nothing_counts() -> None:
    """With an attention word chosen, a command without it is refused and one with it is heard."""
    acceptance = scripted(
        [[Hypothesis("row done", 50.0)], [Hypothesis("marigold row done", 50.0)]],
        attention="marigold",
    )
    without, with_it = decided(acceptance, spoken(), spoken())
    assert isinstance(without, RefusedSpeech)
    assert without.reason is Reason.NO_ATTENTION_WORD
    assert isinstance(with_it, Heard)
    assert with_it.words == "row done"


def test_a_voice_far_below_the_knitters_is_not_hers() -> None:
    """Once her level is known, a voice 20 dB below it is refused before it is decoded."""
    row = [Hypothesis("row done", 50.0)]
    acceptance = scripted([row, row, row, row])
    decided(acceptance, spoken(level=0.2), spoken(level=0.2), spoken(level=0.2))
    assert acceptance.knitter_db is not None
    (event,) = decided(acceptance, spoken(level=0.02))
    assert isinstance(event, RefusedSpeech)
    assert event.reason is Reason.TOO_QUIET


def test_a_note_is_written_down_freely() -> None:
    """While dictating the next utterance is text, pauses inside it are allowed, then it is over."""
    acceptance = scripted(
        [[Hypothesis("row done", 50.0)]], dictated=[[Hypothesis("the cable leans left", 50.0)]]
    )
    acceptance.dictating = True
    note, command = decided(acceptance, spoken(before=1.0), spoken())
    assert isinstance(note, Dictated)
    assert note.text == "the cable leans left"
    assert isinstance(command, Heard)


def test_too_loud_a_voice_is_told_once() -> None:
    """Clipped sound is told, but not at every sentence."""
    row = [Hypothesis("row done", 50.0)]
    loud = np.clip(spoken(level=2.0), -1, 1)
    events = decided(scripted([row, row]), loud, loud)
    assert sum(isinstance(event, Clipping) for event in events) == 1


def test_all_between_hold_and_release_is_one_utterance() -> None:
    """With a key held, pauses decide nothing; letting go does."""
    acceptance = scripted([[Hypothesis("row done", 50.0)]])
    acceptance.hold()
    assert decided(acceptance, spoken()) == []
    (event,) = acceptance.release()
    assert isinstance(event, Heard)
    assert acceptance.release() == ()


def test_held_silence_is_told_and_a_short_press_is_a_click() -> None:
    """Whoever held and said nothing hears that nothing was heard; a mere touch is too short."""
    quiet = np.random.default_rng(3).normal(0, 1e-4, RATE).astype(np.float32)
    acceptance = scripted([[]])
    acceptance.hold()
    assert decided(acceptance, quiet) == []
    (event,) = acceptance.release()
    assert isinstance(event, RefusedSpeech)
    assert event.reason is Reason.NO_WORDS
    acceptance.hold()
    acceptance.feed(quiet[: RATE // 20])
    (event,) = acceptance.release()
    assert isinstance(event, RefusedSpeech)
    assert event.reason is Reason.TOO_SHORT


def test_a_pause_while_held_does_not_cut_the_sentence() -> None:
    """If the loudest part alone is no command, all that was held is judged."""
    acceptance = scripted([[Hypothesis("eleven", 20.0)], [Hypothesis("row done", 50.0)]])
    acceptance.hold()
    assert decided(acceptance, spoken(0.5), spoken(0.6, before=1.0)) == []
    (event,) = acceptance.release()
    assert isinstance(event, Heard)
    assert event.words == "row done"


def test_a_key_that_never_comes_up_ends_by_itself() -> None:
    """Held for longer than any command lasts it is refused once, and listening goes on."""
    acceptance = scripted([[Hypothesis("row done", 50.0)]])
    acceptance.hold()
    events = decided(acceptance, np.zeros(9 * RATE, dtype=np.float32))
    assert [one.reason for one in events if isinstance(one, RefusedSpeech)] == [Reason.TOO_LONG]
    assert acceptance.release() == ()
    (event,) = decided(acceptance, spoken())
    assert isinstance(event, Heard)


def test_a_note_can_be_dictated_while_held() -> None:
    """What is held while a note is asked for becomes the note."""
    acceptance = scripted([], dictated=[[Hypothesis("cable crossed wrong", 9.0)]])
    acceptance.dictating = True
    acceptance.hold()
    acceptance.feed(spoken())
    (event,) = acceptance.release()
    assert isinstance(event, Dictated)
    assert event.text == "cable crossed wrong"


def test_too_loud_is_told_again_only_after_it_was_better() -> None:
    """Minutes of shouting are told once; after a voice of the right strength, anew."""
    row = [Hypothesis("row done", 50.0)]
    loud, well = np.clip(spoken(level=2.0), -1, 1), spoken(level=0.2)
    acceptance = scripted([row] * 6)
    pause = np.zeros(61 * RATE, dtype=np.float32)
    told = [
        sum(isinstance(event, Clipping) for event in decided(acceptance, pause, sound))
        for sound in (loud, loud, well, loud)
    ]
    assert told == [1, 0, 0, 1]


def test_too_loud_is_not_told_again_within_a_minute() -> None:
    """Loud, well and loud again within the interval is told once; after it, once more."""
    row = [Hypothesis("row done", 50.0)]
    loud, well = np.clip(spoken(level=2.0), -1, 1), spoken(level=0.2)
    acceptance = scripted([row] * 5)
    pause = np.zeros(61 * RATE, dtype=np.float32)
    told = [
        sum(isinstance(event, Clipping) for event in decided(acceptance, sound))
        for sound in (loud, well, loud, well, np.concatenate([pause, loud]))
    ]
    assert told == [1, 0, 0, 0, 1]


# --- with the real model -------------------------------------------------------------------------


@pytest.fixture(scope="module")
def real() -> Acceptance:
    """Return acceptance with the real speech model."""
    return Acceptance(VoskModel(resources.model_folder()), BOOK, FILLERS)


def recording(request: pytest.FixtureRequest, name: str) -> Sound:
    """Read a recording that lies beside this test."""
    path: Path = request.path.parent / "recordings" / f"{name}.wav"
    return read_wav(path.read_bytes())


class ByLength(ScriptedDecoder):
    """Hears one thing in a short voice and another in a long one."""

    def __init__(self, short: str, long: str) -> None:
        """Name both."""
        super().__init__([])
        self._said = (short, long)

    def finish(self) -> tuple[Hypothesis, ...]:
        """Return what is heard in a voice of this length, with its padding."""
        super().finish()
        return (Hypothesis(self._said[self.fed[-1] > 1.7 * RATE], 50.0),)


class LengthModel(ScriptedModel):
    """A model whose decoders go by the length of the voice."""

    def __init__(self, short: str, long: str) -> None:
        """Name what is heard."""
        super().__init__([])
        self._closed = [ByLength(short, long), ByLength(short, long)]


def soft_end() -> Samples:
    """Return a voice whose last 0.4 of 1.4 seconds are soft, in a room that is loud."""
    dice = np.random.default_rng(6)
    level = np.full(4 * RATE, 0.06)
    level[RATE : 2 * RATE] = 0.3
    level[2 * RATE : round(2.4 * RATE)] = 0.08
    return np.asarray(level * dice.standard_normal(len(level)), dtype=np.float32)


@pytest.mark.parametrize(
    ("short", "long", "expected"),
    [
        ("i'm really on row six", "i'm really on row sixty", Recount(60)),
        ("i'm really on row thirty", "i'm really on row thirty four", Recount(34)),
        ("i'm really on row six", "i'm really on row six", Recount(6)),
        ("i'm really on row six", "the yarn", Recount(6)),
    ],
)
def test_the_soft_end_of_a_number_is_heard_where_it_is_loud(
    short: str, long: str, expected: Recount
) -> None:
    """What goes on softly behind the loud part of a voice may be the rest of the number."""
    acceptance = Acceptance(LengthModel(short, long), BOOK, ())
    (event,) = decided(acceptance, soft_end())
    assert isinstance(event, Heard)
    assert event.candidates[0] == expected


def test_a_soft_end_that_says_another_number_is_a_doubt() -> None:
    """If the loud part says one number and the whole another, neither is acted on."""
    acceptance = Acceptance(
        LengthModel("i'm really on row six", "i'm really on row forty"), BOOK, ()
    )
    (event,) = decided(acceptance, soft_end())
    assert isinstance(event, RefusedSpeech)
    assert event.reason is Reason.UNSURE
    assert event.maybe == (Recount(6), Recount(40))


@pytest.mark.model
@pytest.mark.parametrize(
    ("name", "means"),
    [
        ("row-done", RowsDone(1)),
        ("three-rows", RowsDone(3)),
        ("eleven-centimetres", Measure(centimetres(11))),
        ("fifty-stitches", CountStitches(50)),
        ("how-far", HowFar()),
        ("take-that-back", Undo()),
        ("really-on-row", Recount(38)),
        ("ripped-back", RipBack(5)),
        ("what-comes-next", WhatNext()),
        ("note-this-row", NoteRow()),
    ],
)
def test_real_recordings_are_understood(
    request: pytest.FixtureRequest, real: Acceptance, name: str, means: object
) -> None:
    """A spoken sentence goes through the real recogniser and means what was said."""
    real.start_over()
    (event,) = decided(real, recording(request, name).samples)
    assert isinstance(event, Heard), event
    assert event.candidates[0] == means


@pytest.mark.model
def test_real_talk_is_not_obeyed(request: pytest.FixtureRequest, real: Acceptance) -> None:
    """An everyday sentence is refused, with a reason."""
    real.start_over()
    events = decided(real, recording(request, "not-for-us").samples)
    assert events
    assert all(isinstance(event, RefusedSpeech) for event in events)


@pytest.mark.model
def test_other_rates_and_a_second_microphone_hear_the_same(
    request: pytest.FixtureRequest, real: Acceptance
) -> None:
    """The same sentence from a file of 48 kHz is heard the same."""
    sound = recording(request, "eleven-centimetres")
    fast = at_rate(sound, 48000)
    real.start_over()
    (event,) = decided(real, at_rate(Sound(fast, 48000)))
    assert isinstance(event, Heard)
    assert event.candidates[0] == Measure(centimetres(11))
