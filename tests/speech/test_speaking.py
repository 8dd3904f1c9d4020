"""Answers are given in turn, on threads of their own, and listening always goes on."""

from __future__ import annotations

import threading
import time
from typing import TYPE_CHECKING

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.replies import Tone
from speech.speaking.answer_queue import STALE_TONE_S, Speaking
from speech.speaking.answering import AnswerManner, AnswerWay, Devices
from speech.speaking.fake_voice import Rehearsal
from speech.speaking.playback import PlaybackOutcome
from speech.speaking.silence import Silence
from speech.speaking.turns import Limits, Turn
from tests.rehearsed import LIMITS, PATIENCE_S, Ears, Stage

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from speech.speaking.playback import Done


@pytest.fixture
def stage() -> Iterator[Stage]:
    """Return a conversation whose words end when the test says so, tones by themselves."""
    made = Stage(Rehearsal(), Rehearsal(by_itself=True))
    yield made
    made.speaking.close()


def until(condition: Callable[[], bool]) -> None:
    """Wait until a condition holds."""
    deadline = time.monotonic() + PATIENCE_S
    while not condition():
        assert time.monotonic() < deadline
        time.sleep(0.002)


def test_an_answer_is_a_tone_and_then_words_with_closed_ears(stage: Stage) -> None:
    """The ears close before the tone, and open after the words and their tail, not in between."""
    stage.speaking.answer(Tone.HEARD, "Forty four done.")
    stage.begun()
    assert not stage.ears.open
    assert stage.tones.played == [Tone.HEARD]
    stage.voice.finish()
    assert stage.ears.become(open_=True)
    assert stage.ears.told == ["mute", "unmute"]
    assert stage.voice.played == ["Forty four done."]
    assert stage.speaking.turn == Turn()
    assert stage.turns[-1] == Turn()


def test_words_wait_for_words(stage: Stage) -> None:
    """The second answer is said when the first has been reported to end."""
    stage.speaking.answer(words="One.")
    stage.speaking.answer(words="Two.")
    stage.begun()
    time.sleep(0.05)
    assert stage.voice.played == ["One."]
    stage.voice.finish()
    stage.begun()
    stage.voice.finish()
    stage.quiet()
    assert stage.voice.played == ["One.", "Two."]
    assert stage.ears.become(open_=True)
    assert stage.ears.told == ["mute", "unmute"]


def test_an_urgent_answer_breaks_off_the_others(stage: Stage) -> None:
    """What is said is stopped, what waits is dropped, and the urgent one is said."""
    for words in ("One.", "Two.", "Three."):
        stage.speaking.answer(words=words)
    stage.begun()
    stage.speaking.answer(words="Stop. Pin it.", manner=AnswerManner.INTERRUPT)
    stage.begun()
    assert stage.voice.played == ["One.", "Stop. Pin it."]
    stage.voice.finish()
    stage.quiet()


def test_an_interruption_leaves_silence(stage: Stage) -> None:
    """The knitter wants no more of it: nothing is said, and she is listened to."""
    stage.speaking.answer(words="One.")
    stage.speaking.answer(words="Two.")
    stage.begun()
    stage.speaking.interrupt()
    stage.quiet()
    assert stage.ears.become(open_=True)
    assert stage.voice.played == ["One."]


def test_a_lost_report_is_survived(stage: Stage) -> None:
    """A voice that never says it is done keeps the ears closed for the cap, and not for ever."""
    began = time.monotonic()
    stage.speaking.answer(words="One.")
    stage.begun()
    stage.voice.lose_report()
    assert stage.ears.become(open_=True)
    assert time.monotonic() - began >= LIMITS.cap_s
    stage.quiet()
    stage.speaking.answer(words="Two.")
    stage.begun()
    assert stage.voice.played == ["One.", "Two."]


def test_a_late_report_does_not_open_the_ears_into_the_next_answer() -> None:
    """The end of the first, reported during the second, is not taken for the end of the second."""
    reports: list[Done] = []

    class Late(Rehearsal):
        """A voice that keeps its reports."""

        def say(self, text: str, done: Done, rate: float = 1.0) -> None:
            """Begin, and keep the report for later."""
            reports.append(done)
            super().say(text, done, rate)

    voice = Late()
    other = Stage(voice, Rehearsal(by_itself=True))
    other.speaking.answer(words="One.")
    other.begun()
    voice.lose_report()
    assert other.ears.become(open_=True)
    other.speaking.answer(words="Two.")
    other.begun()
    reports[0](PlaybackOutcome.DONE)
    reports[0](PlaybackOutcome.DONE)
    time.sleep(0.1)
    assert not other.ears.open
    other.speaking.close()


def test_a_voice_that_hangs_does_not_deafen() -> None:
    """Even if the call to a device never returns, the ears open; nothing is said afterwards."""
    hang = threading.Event()

    class Hanging(Rehearsal):
        """A voice whose call takes for ever."""

        def say(self, text: str, done: Done, rate: float = 1.0) -> None:
            """Hang."""
            self.begun.release()
            hang.wait(PATIENCE_S)
            super().say(text, done, rate)

    voice = Hanging()
    stage = Stage(voice, Rehearsal(by_itself=True))
    stage.speaking.answer(words="One.")
    stage.begun()
    assert stage.ears.become(open_=True)
    stage.speaking.answer(words="Two.")
    assert stage.ears.become(open_=False)
    assert stage.ears.become(open_=True)
    hang.set()
    time.sleep(0.1)
    assert voice.played == ["One."], "what had lost the floor was not begun"
    assert stage.speaking.wait_until_quiet(PATIENCE_S)
    stage.speaking.close()


def test_a_voice_that_raises_has_failed(caplog: pytest.LogCaptureFixture) -> None:
    """An exception in a device ends that answer, not the conversation."""

    class Broken(Rehearsal):
        """A voice that raises."""

        def say(self, text: str, done: Done, rate: float = 1.0) -> None:
            """Raise."""
            raise OSError(text, done, rate)

    stage = Stage(Broken(), Rehearsal(by_itself=True))
    stage.speaking.answer(words="One.")
    stage.quiet()
    assert stage.ears.become(open_=True)
    stage.speaking.answer(Tone.HEARD)
    stage.quiet()
    assert stage.tones.played == [Tone.HEARD]
    assert "A device for answers failed." in caplog.text
    stage.speaking.close()


def test_ears_that_do_not_close_get_no_answer(
    stage: Stage, caplog: pytest.LogCaptureFixture
) -> None:
    """If the microphone cannot be closed nothing is said into it."""
    stage.ears.fail = 1
    stage.speaking.answer(words="One.")
    stage.quiet()
    assert stage.voice.played == []
    stage.speaking.answer(words="Two.")
    stage.begun()
    assert stage.voice.played == ["Two."]
    assert not stage.ears.open
    assert "could not be closed" in caplog.text


def test_ears_that_do_not_open_are_told_again(
    stage: Stage, caplog: pytest.LogCaptureFixture
) -> None:
    """If the microphone cannot be opened at once it is opened a little later."""
    stage.speaking.answer(words="One.")
    stage.begun()
    stage.ears.fail = 1
    stage.voice.finish()
    assert stage.ears.become(open_=True)
    assert "could not be opened" in caplog.text


def test_a_recording_goes_on_while_it_speaks() -> None:
    """A source that does not hear the room is never told to close."""
    stage = Stage(Rehearsal(), Rehearsal(by_itself=True), hears_room=False)
    stage.speaking.answer(Tone.HEARD, "One.")
    stage.begun()
    stage.voice.finish()
    stage.quiet()
    assert stage.ears.told == []
    stage.speaking.close()


def test_silence_leaves_the_ears_open() -> None:
    """Without a voice and tones there is nothing to hear, so listening never stops."""
    ears = Ears()
    speaking = Speaking(Devices(Silence(), Silence()), ears, limits=LIMITS)
    for _ in range(20):
        speaking.answer(Tone.HEARD, "One.")
    assert speaking.wait_until_quiet(PATIENCE_S)
    assert ears.told == []
    speaking.close()


@pytest.mark.parametrize(
    ("answering", "tones", "words", "felt"),
    [
        (AnswerWay.VOICE, [Tone.NEXT_DIFFERS], ["Row 53.", "Eleven."], []),
        (AnswerWay.TONES, [Tone.NEXT_DIFFERS, Tone.HEARD], [], []),
        (AnswerWay.VIBRATION, [], [], [Tone.NEXT_DIFFERS, Tone.HEARD]),
        (AnswerWay.SILENT, [], [], []),
    ],
)
def test_she_is_answered_in_the_way_she_chose(
    answering: AnswerWay, tones: list[Tone], words: list[str], felt: list[Tone]
) -> None:
    """With words, with tones alone, felt, or not at all; a tone stands for words left out."""
    devices = [Rehearsal(by_itself=True) for _ in range(3)]
    speaking = Speaking(Devices(*devices), Ears(), limits=LIMITS)
    speaking.answering = answering
    speaking.answer(Tone.NEXT_DIFFERS, "Row 53.")
    speaking.answer(None, "Eleven.")
    assert speaking.wait_until_quiet(PATIENCE_S)
    assert [device.played for device in devices] == [words, tones, felt]
    speaking.close()


def test_words_that_wait_are_left_out_once_only_tones_are_wanted(stage: Stage) -> None:
    """Asked for tones only, it does not first say all that waits."""
    stage.speaking.answer(words="One.")
    stage.speaking.answer(words="Two.")
    stage.begun()
    stage.speaking.answering = AnswerWay.TONES
    stage.voice.finish()
    stage.quiet()
    assert stage.voice.played == ["One."]


def test_a_tone_that_waited_too_long_is_left_out(
    stage: Stage, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A tick that comes seconds after the row would be taken for another row's."""
    monkeypatch.setattr("speech.speaking.answer_queue.STALE_TONE_S", 0.05)
    stage.speaking.answer(words="One.")
    stage.begun()
    stage.speaking.answer(Tone.HEARD)
    time.sleep(0.1)
    stage.voice.finish()
    stage.quiet()
    assert stage.tones.played == []


def test_old_answers_are_left_out_when_too_many_wait(stage: Stage) -> None:
    """Of twenty answers asked for at once the latest eight are said."""
    for number in range(20):
        stage.speaking.answer(words=f"{number}.")
    until(lambda: stage.voice.begun.acquire(blocking=False))
    deadline = time.monotonic() + PATIENCE_S
    while not stage.speaking.wait_until_quiet(0.005):
        stage.voice.finish()
        assert time.monotonic() < deadline
    assert stage.voice.played == ["0.", *(f"{number}." for number in range(12, 20))]


def test_stop_listening_and_start_again(stage: Stage) -> None:
    """Her wish not to be listened to outlasts every answer."""
    stage.speaking.answer(words="Not listening.")
    stage.begun()
    stage.speaking.listen(wanted=False)
    stage.voice.finish()
    stage.quiet()
    time.sleep(0.1)
    assert not stage.ears.open
    stage.speaking.listen(wanted=True)
    assert stage.ears.become(open_=True)


def test_during_a_call_nothing_is_said(stage: Stage) -> None:
    """A telephone call breaks off what is said; what is asked for meanwhile is dropped."""
    stage.speaking.answer(words="One.")
    stage.begun()
    stage.speaking.call(on_call=True)
    stage.speaking.answer(words="Two.")
    stage.quiet()
    stage.speaking.call(on_call=False)
    assert stage.ears.become(open_=True)
    assert stage.voice.played == ["One."]


def test_the_rate_is_the_one_at_the_time_of_asking(stage: Stage) -> None:
    """A slower pace is for what is asked for afterwards."""
    stage.speaking.rate = 0.8
    stage.speaking.answer(words="One.")
    stage.begun()
    assert stage.voice.rates == [0.8]


def test_closing_lets_it_finish_if_asked_to(stage: Stage) -> None:
    """The last words of a session are said before the devices are given back."""
    stage.speaking.answer(words="Good night.")
    stage.begun()
    threading.Timer(0.05, stage.voice.finish).start()
    stage.speaking.close(patience_s=PATIENCE_S)
    reported: list[PlaybackOutcome] = []
    stage.voice.say("More.", reported.append)
    assert reported == [PlaybackOutcome.FAILED], "the device is closed"
    assert stage.voice.played == ["Good night."]


class Watched(Rehearsal):
    """A rehearsal that notes when it is begun with open ears."""

    def __init__(self, ears: Ears, *, by_itself: bool) -> None:
        """Watch `ears`."""
        super().__init__(by_itself=by_itself)
        self.ears = ears
        self.overheard = 0

    def say(self, text: str, done: Done, rate: float = 1.0) -> None:
        """Begin, and look at the ears."""
        self.overheard += self.ears.open
        super().say(text, done, rate)

    def play(self, tone: Tone, done: Done) -> None:
        """Begin, and look at the ears."""
        self.overheard += self.ears.open
        super().play(tone, done)


DEEDS = ("words", "tone", "urgent", "hush", "end", "lose", "deaf", "call", "wait")


@settings(max_examples=15)
@given(st.lists(st.sampled_from(DEEDS), max_size=25))
def test_whatever_is_done_it_listens_again(deeds: list[str]) -> None:
    """On real threads, with lost reports, calls and interruptions, it listens again."""
    ears = Ears()
    voice, tones = Watched(ears, by_itself=False), Watched(ears, by_itself=True)
    limits = Limits(tail_s=0.005, assumed_tail_s=0.05, grace_s=0.15, cap_s=0.3)
    speaking = Speaking(Devices(voice, tones), ears, limits=limits)
    may_listen = {"deaf": True, "call": True}
    does: dict[str, Callable[[], None]] = {
        "words": lambda: speaking.answer(words="One."),
        "tone": lambda: speaking.answer(Tone.HEARD),
        "urgent": lambda: speaking.answer(Tone.NOT_HEARD, "Two.", AnswerManner.INTERRUPT),
        "hush": speaking.interrupt,
        "end": voice.finish,
        "lose": voice.lose_report,
        "deaf": lambda: speaking.listen(wanted=may_listen["deaf"]),
        "call": lambda: speaking.call(on_call=not may_listen["call"]),
        "wait": lambda: time.sleep(0.01),
    }
    for deed in deeds:
        if deed in may_listen:
            may_listen[deed] = not may_listen[deed]
        does[deed]()
    speaking.listen(wanted=True)
    speaking.call(on_call=False)
    assert speaking.wait_until_quiet(PATIENCE_S)
    assert ears.become(open_=True)
    assert (voice.overheard, tones.overheard) == (0, 0)
    speaking.close()


def test_showing_the_turn_may_fail(caplog: pytest.LogCaptureFixture) -> None:
    """A screen that raises does not end the conversation."""

    def show(_: Turn) -> None:
        raise RuntimeError("no screen")

    ears = Ears()
    voice = Rehearsal(by_itself=True)
    speaking = Speaking(Devices(voice, Silence()), ears, limits=LIMITS, on_turn=show)
    speaking.answer(words="One.")
    assert ears.become(open_=False) or voice.played
    assert ears.become(open_=True)
    assert "could not be shown" in caplog.text
    speaking.close()


def test_an_answer_waits_while_she_may_go_on(stage: Stage) -> None:
    """Nothing sounds and she is heard; the answer to the whole takes the first one's place."""
    stage.speaking.wait(60.0)
    stage.speaking.answer(Tone.HEARD, "Eleven centimetres.")
    time.sleep(0.05)
    assert (stage.voice.played, stage.tones.played, stage.ears.told) == ([], [], [])
    stage.speaking.answer(words="From the cast-on.", manner=AnswerManner.INTERRUPT)
    stage.speaking.wait(0.0)
    stage.begun()
    assert stage.voice.played == ["From the cast-on."]
    stage.voice.finish()
    stage.quiet()


def test_an_answer_that_has_waited_sounds_whole(stage: Stage) -> None:
    """When nothing came in time tone and words begin by themselves; the tone is not too old."""
    stage.speaking.wait(STALE_TONE_S + 0.1)
    stage.speaking.answer(Tone.HEARD, "Eleven centimetres.")
    stage.begun()
    assert stage.tones.played == [Tone.HEARD]
    stage.voice.finish()
    stage.quiet()


def test_no_answer_waits_where_the_microphone_does_not_hear_it() -> None:
    """With headphones she is heard all the same."""
    stage = Stage(Rehearsal(), Rehearsal(by_itself=True), hears_room=False)
    stage.speaking.wait(60.0)
    stage.speaking.answer(words="Eleven centimetres.")
    stage.begun()
    stage.voice.finish()
    stage.quiet()
    stage.speaking.close()
