"""The listener's thread: what it tells and when, what it is told, and what cannot end it.

A script of sound and a notebook in place of acceptance drive it, so that every moment is known.
"""

from __future__ import annotations

import threading
import time
from typing import TYPE_CHECKING, cast

import numpy as np
import pytest

from speech.hearing.decoder import ModelError
from speech.hearing.events import (
    Ended,
    Failed,
    HearingEvent,
    MicBack,
    MicLost,
    NothingHeard,
    Ready,
    Reason,
    RefusedSpeech,
    SoundLevel,
    Span,
    SpeechStarted,
)
from speech.hearing.listener import Listener, Patience
from speech.hearing.sound import RATE
from speech.hearing.sources import NotAllowedError, ScriptedSource, SourceError

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from speech.hearing.acceptance import Acceptance
    from speech.hearing.sound import Samples
    from speech.hearing.sources import SoundSource

PIECE: Samples = np.full(800, 0.1, dtype=np.float32)
QUICK = Patience(read_s=0.01, lost_after_s=0.1, reopen_every_s=0.02, nothing_after_s=60.0)
SPAN = Span(0.0, 0.5, 0.8, 0.01)
REFUSED = RefusedSpeech(Reason.NOT_A_COMMAND, "Not a whole command.", "soup pot", None, SPAN)


class Notebook:
    """Stands where acceptance does: notes what is done with it and tells what it was told to."""

    def __init__(self, told: Sequence[tuple[HearingEvent, ...]] = ()) -> None:
        """Tell the entries in turn, one for each piece of sound that is listened to."""
        self._told = list(told)
        self.answers = False
        self.dictating = False
        self.did: list[str] = []
        self.dictated: list[bool] = []
        self.answered: list[bool] = []
        self.threads: set[int] = set()
        self.heard_s = 0.0

    def feed(self, samples: Samples) -> tuple[HearingEvent, ...]:
        """Note it."""
        self._note("feed")
        self.dictated.append(self.dictating)
        self.answered.append(self.answers)
        self.heard_s += len(samples) / RATE
        return self._told.pop(0) if self._told else ()

    def skip(self, samples: int) -> None:
        """Note it."""
        self._note("skip")
        self.heard_s += samples / RATE

    def reset(self) -> None:
        """Note it."""
        self._note("reset")

    def hold(self) -> None:
        """Note it."""
        self._note("hold")

    def release(self) -> tuple[HearingEvent, ...]:
        """Note it."""
        self._note("release")
        return (REFUSED,)

    def _note(self, what: str) -> None:
        self.did.append(what)
        self.threads.add(threading.get_ident())
        assert len(self.threads) == 1, "a recogniser on two threads aborts the process"


class Desk:
    """A listener at work, and everything that it told."""

    def __init__(
        self,
        source: SoundSource,
        notebook: Notebook | None = None,
        patience: Patience = QUICK,
        then: Callable[[Desk, HearingEvent], None] = lambda *_: None,
    ) -> None:
        """Prepare; `then` is called with every event, on the listener's thread."""
        self.told: list[HearingEvent] = []
        self.notebook = notebook or Notebook()
        self._then = then
        self.listener = Listener(
            source, lambda: cast("Acceptance", self.notebook), self._take, patience
        )

    def _take(self, event: HearingEvent) -> None:
        self.told.append(event)
        self._then(self, event)

    def run(self) -> list[HearingEvent]:
        """Listen until the source has ended."""
        self.listener.start()
        assert self.listener.wait(20.0), "the listener does not end"
        return self.told

    @property
    def kinds(self) -> list[str]:
        """The kinds of events told so far."""
        return [type(event).__name__ for event in self.told]


class Endless(ScriptedSource):
    """A source that goes on until it is stopped, at a pace that leaves room for others."""

    def __init__(self) -> None:
        """Give sound without end."""
        super().__init__([])
        self.closed = 0

    @property
    def ended(self) -> bool:
        """Never."""
        return False

    def read(self, timeout_s: float) -> Samples | None:
        """Return a piece after a moment."""
        time.sleep(min(timeout_s, 0.005))
        return PIECE

    def close(self) -> None:
        """Count it."""
        self.closed += 1


def _until(condition: Callable[[], bool]) -> None:
    deadline = time.monotonic() + 60.0
    while not condition():
        assert time.monotonic() < deadline, "it does not come"
        time.sleep(0.005)


def _seconds(told: Sequence[HearingEvent]) -> float:
    """Return how much sound there was, as the last event has it."""
    last = told[-1]
    assert isinstance(last, Ended)
    return last.at_s


# --- order ---------------------------------------------------------------------------------------


def test_ready_first_and_ended_last() -> None:
    """Between them come the events of each piece in their order, and nothing twice."""
    said = [(SpeechStarted(0.1),), (), (SoundLevel(-20.0, -60.0), REFUSED)]
    desk = Desk(ScriptedSource([PIECE] * 4), Notebook(said))
    told = desk.run()
    assert isinstance(told[0], Ready)
    assert told[1:-1] == [event for piece in said for event in piece]
    assert _seconds(told) == pytest.approx(4 * 0.05)


def test_a_failing_callback_does_not_end_listening() -> None:
    """Whoever takes the events may fail at each; the listener goes on to the end."""

    def fail(_: Desk, event: HearingEvent) -> None:
        raise ValueError(event)

    desk = Desk(ScriptedSource([PIECE] * 3), Notebook([(REFUSED,)] * 3), then=fail)
    assert desk.run()[1:-1] == [REFUSED] * 3


def test_only_one_thread_touches_the_recogniser() -> None:
    """Wishes from many threads at once are carried out on the listener's own."""
    desk = Desk(Endless())
    desk.listener.start()
    wishes = (
        desk.listener.mute,
        desk.listener.unmute,
        desk.listener.pause,
        desk.listener.resume,
        desk.listener.dictate,
        desk.listener.hold,
        desk.listener.release,
        lambda: desk.listener.expect_answer(expected=True),
    )
    threads = [
        threading.Thread(target=lambda: [wish() for wish in wishes for _ in range(50)])
        for _ in range(4)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    desk.listener.unmute()
    desk.listener.resume()
    _until(lambda: desk.notebook.did.count("release") == 200)
    desk.listener.stop()
    assert len(desk.notebook.threads) == 1
    assert threading.get_ident() not in desk.notebook.threads
    assert "Failed" not in desk.kinds


# --- muted, paused, asked ------------------------------------------------------------------------


def test_muted_sound_is_thrown_away_but_time_passes() -> None:
    """From the answer on nothing is listened to, the rest of the same piece neither."""

    def mute(desk: Desk, event: HearingEvent) -> None:
        if isinstance(event, SpeechStarted):
            desk.listener.mute()

    said: list[tuple[HearingEvent, ...]] = [(), (SpeechStarted(0.05), REFUSED)]
    desk = Desk(ScriptedSource([PIECE] * 6), Notebook(said), then=mute)
    told = desk.run()
    assert desk.notebook.did == ["feed"] * 2 + ["skip"] * 4
    assert REFUSED not in told
    assert _seconds(told) == pytest.approx(6 * 0.05)


def test_unmuted_it_listens_again_and_a_pause_stays_a_pause() -> None:
    """The end of our own voice does not end a pause that the knitter asked for."""
    desk = Desk(Endless())
    listener, did = desk.listener, desk.notebook.did
    listener.mute()
    listener.pause()
    listener.start()
    _until(lambda: len(did) > 2)
    listener.unmute()
    paused_at = len(did) + 1  # one piece may be on its way
    _until(lambda: len(did) > paused_at + 3)
    assert set(did) == {"skip"}
    listener.resume()
    _until(lambda: did[-1] == "feed")
    listener.mute()
    _until(lambda: did[-1] == "skip")
    listener.unmute()
    _until(lambda: did[-1] == "feed")
    listener.stop()


def test_dictation_is_asked_for_once() -> None:
    """The wish is taken up before the next piece of sound, and is then spent."""
    desk = Desk(ScriptedSource([PIECE] * 2))
    desk.listener.dictate()
    desk.run()
    assert desk.notebook.dictated == [True, True]  # acceptance itself puts it back
    assert not desk.listener._dictation.is_set()


def test_a_question_opens_the_ears_before_the_next_piece() -> None:
    """Asked during one piece, yes and no are listened for in the next, until it is answered."""

    def ask(desk: Desk, event: HearingEvent) -> None:
        if isinstance(event, RefusedSpeech):
            desk.listener.expect_answer(expected=True)
        if isinstance(event, SpeechStarted):
            desk.listener.expect_answer(expected=False)

    said: list[tuple[HearingEvent, ...]] = [(), (REFUSED,), (), (SpeechStarted(0.2),)]
    desk = Desk(ScriptedSource([PIECE] * 6), Notebook(said), then=ask)
    desk.run()
    assert desk.notebook.answered == [False, False, True, True, False, False]


def test_a_held_key_makes_one_utterance() -> None:
    """Holding and letting go are carried out in their order, with the sound between them."""
    desk = Desk(Endless())
    desk.listener.hold()
    desk.listener.start()
    _until(lambda: "feed" in desk.notebook.did)
    desk.listener.release()
    _until(lambda: REFUSED in desk.told)
    desk.listener.stop()
    did = desk.notebook.did
    assert did[:2] == ["hold", "feed"]
    assert did.index("release") > did.index("feed")


def test_only_while_held_nothing_else_is_listened_to() -> None:
    """Sound is thrown away until the key is down and after it is up; nobody is missed meanwhile."""
    desk = Desk(Endless(), patience=Patience(read_s=0.01, nothing_after_s=0.1))
    listener, did = desk.listener, desk.notebook.did
    listener.listen_while_held(only=True)
    listener.start()
    _until(lambda: len(did) > 40)
    assert set(did) == {"skip"}
    listener.hold()
    _until(lambda: "feed" in did)
    listener.release()
    _until(lambda: did[-1] == "skip")
    listener.listen_while_held(only=False)
    _until(lambda: did[-1] == "feed")
    listener.stop()
    order = [what for at, what in enumerate(did) if at == 0 or did[at - 1] != what]
    assert order == ["skip", "hold", "feed", "release", "skip", "feed"]
    assert "NothingHeard" not in desk.kinds[: desk.kinds.index("RefusedSpeech")]


def test_after_a_sleep_nothing_half_heard_goes_on(monkeypatch: pytest.MonkeyPatch) -> None:
    """The clock on the wall has gone on without ours: what was half heard is forgotten, once."""
    desk = Desk(Endless())
    asleep = 0.0
    wall = time.time
    monkeypatch.setattr("speech.hearing.listener.time.time", lambda: wall() + asleep)
    desk.listener.start()
    _until(lambda: len(desk.notebook.did) > 5)
    assert "reset" not in desk.notebook.did
    asleep = 3600.0
    _until(lambda: "reset" in desk.notebook.did)
    _until(lambda: desk.notebook.did[-20:] == ["feed"] * 20)
    desk.listener.stop()
    assert desk.notebook.did.count("reset") == 1
    assert "MicLost" not in desk.kinds


# --- a microphone that goes and comes ------------------------------------------------------------


def test_a_lost_microphone_is_told_and_comes_back() -> None:
    """No sound: it is told once, the source is opened until it works, and listening goes on."""
    script = [PIECE, *[None] * 40, PIECE, PIECE, PIECE]
    source = ScriptedSource(script, refusals=3)
    desk = Desk(source)
    begun = time.monotonic()
    lost_after: list[float] = []

    def when(_: Desk, event: HearingEvent) -> None:
        if isinstance(event, MicLost):
            lost_after.append(time.monotonic() - begun)

    desk._then = when
    told = desk.run()
    assert [kind for kind in desk.kinds if kind.startswith("Mic")] == ["MicLost", "MicBack"]
    assert lost_after[0] > QUICK.lost_after_s
    lost, back = (event for event in told if isinstance(event, MicLost | MicBack))
    assert isinstance(lost, MicLost)
    assert "microphone" in lost.sentence
    assert isinstance(back, MicBack)
    assert back.lost_for_s > 3 * QUICK.reopen_every_s
    assert source.opened >= 2
    assert "reset" in desk.notebook.did, "half an utterance from before would be joined to the next"
    assert desk.notebook.did[-1] == "feed"


def test_the_usual_patience_tells_within_about_a_second() -> None:
    """Sound that hesitates is no loss, a second without any is told before it is over."""
    assert 0.5 <= Patience().lost_after_s + Patience().read_s <= 0.9
    assert Patience().reopen_every_s < 1.0


def test_it_can_be_stopped_while_it_looks_for_the_microphone() -> None:
    """Nobody waits for a microphone that never comes back."""
    source = ScriptedSource([PIECE, *[None] * 10_000], refusals=10_000)
    desk = Desk(source)
    desk.listener.start()
    _until(lambda: "MicLost" in desk.kinds)
    desk.listener.stop()
    assert desk.listener.wait(0.0)
    assert "MicBack" not in desk.kinds


def test_listening_begins_when_she_allows_it() -> None:
    """It is ready, says what it waits for, and hears as soon as the source opens."""

    class Asked(ScriptedSource):
        def open(self) -> None:
            super().open()
            if self.opened <= 3:
                raise NotAllowedError("Allow the microphone.")

    desk = Desk(Asked([PIECE, PIECE, PIECE]))
    told = desk.run()
    assert desk.kinds[:3] == ["Ready", "MicLost", "MicBack"]
    assert MicLost("Allow the microphone.") in told
    assert desk.notebook.did[-1] == "feed"


def test_nothing_heard_is_told_once_until_something_is() -> None:
    """It is told again only after something was heard in between."""

    def say(desk: Desk, event: HearingEvent) -> None:
        if isinstance(event, NothingHeard) and desk.kinds.count("NothingHeard") == 1:
            told.wait(0.2)  # long enough for a second telling
            desk.notebook._told = [(REFUSED,)]

    told = threading.Event()
    patience = Patience(read_s=0.01, nothing_after_s=0.1)
    desk = Desk(Endless(), patience=patience, then=say)
    desk.listener.start()
    _until(lambda: desk.kinds.count("NothingHeard") == 2)
    desk.listener.stop()
    kinds = [kind for kind in desk.kinds if kind in {"NothingHeard", "RefusedSpeech"}]
    assert kinds == ["NothingHeard", "RefusedSpeech", "NothingHeard"]


def test_muted_time_is_not_silence_of_the_knitter() -> None:
    """While it may not listen, it does not complain that it hears nothing."""
    desk = Desk(Endless(), patience=Patience(read_s=0.01, nothing_after_s=0.1))
    desk.listener.pause()
    desk.listener.start()
    _until(lambda: len(desk.notebook.did) > 60)
    desk.listener.stop()
    assert "NothingHeard" not in desk.kinds


# --- the end -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("error", "sentence"),
    [
        (ModelError("There is no speech model. Fetch it."), "There is no speech model. Fetch it."),
        (ZeroDivisionError(), "keys and touch still work"),
    ],
)
def test_without_a_model_it_says_why(error: Exception, sentence: str) -> None:
    """One sentence is the last event; the microphone is not even opened."""
    source = Endless()
    told: list[HearingEvent] = []

    def prepare() -> Acceptance:
        raise error

    listener = Listener(source, prepare, told.append)
    listener.start()
    assert listener.wait(5.0)
    assert len(told) == 1
    assert isinstance(told[0], Failed)
    assert sentence in told[0].sentence
    assert source.opened == 0


def test_without_a_microphone_it_says_why() -> None:
    """A source that cannot be opened at the start is one sentence too."""

    class Absent(Endless):
        def open(self) -> None:
            raise SourceError("There is no microphone: plug one in.")

    desk = Desk(Absent())
    assert desk.run() == [Failed("There is no microphone: plug one in.")]


def test_a_failure_in_the_middle_is_told_and_gives_the_source_back() -> None:
    """What cannot go on says so and does not keep the microphone."""

    class Broken(Notebook):
        def feed(self, samples: Samples) -> tuple[HearingEvent, ...]:
            raise ZeroDivisionError(len(samples))

    source = Endless()
    desk = Desk(source, Broken())
    assert desk.kinds == []
    desk.run()
    assert desk.kinds == ["Ready", "Failed"]
    assert source.closed == 1


def test_it_may_be_stopped_by_what_it_tells() -> None:
    """Stopping from inside the callback does not wait for itself."""

    def stop(desk: Desk, _: HearingEvent) -> None:
        desk.listener.stop()

    source = Endless()
    desk = Desk(source, then=stop)
    assert [type(event) for event in desk.run()] == [Ready]
    assert source.closed == 1


def test_stopping_what_never_began_does_nothing() -> None:
    """A window that is closed before the listening began is closed in order."""
    Desk(Endless()).listener.stop()
