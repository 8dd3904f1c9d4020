"""
The adapters for Android, run against a double of its classes on the Java of this machine.

Not collected with the others: Java is started once for a process and takes over signals, so
test_android.py runs this file in a process of its own.
"""

from __future__ import annotations

import queue
import sys
import threading
import time
from typing import TYPE_CHECKING

import jnius.reflect
import pytest
from jnius import JavaException, autoclass

from app import resources
from app.display.safe_area import Edges, Surroundings, kept_free
from app.wiring import pocket
from engine.replies import Tone
from speech import android
from speech.hearing.android_microphone import AndroidMicrophone
from speech.hearing.sources import NotAllowedError
from speech.speaking.android_call import AndroidCallWatch
from speech.speaking.android_tones import AndroidTones
from speech.speaking.android_voice import AndroidVoice
from speech.speaking.playback import PlaybackOutcome
from speech.speaking.tones import read_tones
from tests.contracts.listening import Case, SourceContract
from tests.contracts.playback import Reports, SpeakerContract, TonePlayerContract

if TYPE_CHECKING:
    from collections.abc import Iterator

_find = jnius.reflect.find_javaclass


def _as_android_finds(name: str) -> object:
    """Find on other threads no class of the program's own package, as a device does."""
    if name.startswith("org") and threading.current_thread() is not threading.main_thread():
        raise JavaException(f"There is no class {name} for this thread.")
    return _find(name)


jnius.reflect.find_javaclass = _as_android_finds
sys.getandroidapilevel = lambda: 33  # type: ignore[attr-defined]
android.look_up()

Activity = autoclass("org.kivy.android.PythonActivity")
Engine = autoclass("android.speech.tts.TextToSpeech")
Track = autoclass("android.media.AudioTrack")
Recorder = autoclass("android.media.AudioRecord")
Manager = autoclass("android.media.AudioManager")
Context = autoclass("android.content.Context")


def engine_log() -> list[str]:
    """Return what the engine was told to do."""
    return [str(line) for line in Engine.log.toArray()]


def track_log() -> list[str]:
    """Return what the tracks were told to do."""
    return [str(line) for line in Track.log.toArray()]


@pytest.fixture(autouse=True)
def fresh() -> None:
    """Begin every test with a working engine and an empty log."""
    Engine.reset()
    Track.reset()
    Recorder.reset()
    Activity.reset()


class TestAndroidVoice(SpeakerContract):
    """The voice of an Android device."""

    @pytest.fixture
    def device(self) -> Iterator[AndroidVoice]:
        """Return the voice, while its engine is still starting."""
        voice = AndroidVoice(Context())
        yield voice
        voice.close()
        until("shut down")

    def test_one_engine_lives_long(self, device: AndroidVoice) -> None:
        """Several texts, one engine; the pace is the one asked for; closing shuts it down."""
        reports = Reports()
        for rate in (1.0, 0.5):
            device.say("-v forty four", reports.of("said"), rate=rate)
            assert reports.next() == ("said", PlaybackOutcome.DONE)
        device.close()
        until("shut down")
        assert engine_log() == [
            "engine started", "speak 1.0 -v forty four", "speak 0.5 -v forty four", "shut down"
        ]  # fmt: skip

    def test_what_is_said_while_it_starts_is_said_later(self, device: AndroidVoice) -> None:
        """The engine takes a moment to start; nothing said meanwhile is lost."""
        reports = Reports()
        device.say("Good evening.", reports.of("early"))
        assert reports.next() == ("early", PlaybackOutcome.DONE)


def test_another_thread_finds_only_what_was_looked_up_before() -> None:
    """The double behaves as a device: a class of the package that nobody looked up is not found."""
    found: list[str] = []

    def look() -> None:
        for name in (*android.OWN_CLASSES, "org.kivy.android.Unknown"):
            try:
                autoclass(name)
            except JavaException:
                found.append(name)

    thread = threading.Thread(target=look)
    thread.start()
    thread.join()
    assert found == ["org.kivy.android.Unknown"]


def test_the_voice_and_the_calls_find_the_running_activity() -> None:
    """Nothing is handed to them: they speak and watch on threads of their own."""
    voice, reports = AndroidVoice(), Reports()
    voice.say("three rows done", reports.of("one"))
    assert reports.next() == ("one", PlaybackOutcome.DONE)
    voice.close()
    told: queue.Queue[bool] = queue.Queue()
    watch = AndroidCallWatch(told.put, every_s=0.01)
    Manager.mode = 2
    assert told.get(timeout=60) is True
    Manager.mode = 0
    assert told.get(timeout=60) is False
    watch.close()


def until(entry: str) -> None:
    """Wait until the engine was told something."""
    deadline = time.monotonic() + 60
    while entry not in engine_log():
        assert time.monotonic() < deadline, engine_log()
        time.sleep(0.01)


@pytest.mark.parametrize(
    ("field", "value", "fault"),
    [
        ("initStatus", -1, "The engine that speaks on this device has not started."),
        ("languageStatus", -2, "The engine that speaks on this device has no English voice."),
        ("networkOnly", True, "The voices of this device need the network, which is never used."),
    ],
)
def test_an_engine_that_cannot_speak_says_why(field: str, value: object, fault: str) -> None:
    """What is said fails, before and after the fault is known; it is told in one sentence."""
    setattr(Engine, field, value)
    voice, reports = AndroidVoice(Context()), Reports()
    for name in ("early", "late"):
        voice.say("text", reports.of(name))
        assert reports.next() == (name, PlaybackOutcome.FAILED)
    assert voice.fault == fault
    assert not [line for line in engine_log() if line.startswith("speak")]
    voice.close()
    until("shut down")


def test_a_voice_on_the_device_is_preferred() -> None:
    """If the engine would use the network, an English voice that is installed here is taken."""
    Engine.networkFirst = True
    voice, reports = AndroidVoice(Context()), Reports()
    voice.say("text", reports.of("one"))
    assert reports.next() == ("one", PlaybackOutcome.DONE)
    assert "voice en_GB []" in engine_log()
    voice.close()
    until("shut down")


def test_a_text_that_the_engine_refuses_has_failed() -> None:
    """An error of the engine is an outcome, and the next text is tried again."""
    voice, reports = AndroidVoice(Context()), Reports()
    Engine.speakStatus = -1
    voice.say("text", reports.of("one"))
    assert reports.next() == ("one", PlaybackOutcome.FAILED)
    Engine.speakStatus = 0
    voice.say("text", reports.of("two"))
    assert reports.next() == ("two", PlaybackOutcome.DONE)
    voice.close()


def test_a_telephone_call_is_noticed() -> None:
    """Ringing counts as a call already; its end is told once."""
    told: queue.Queue[bool] = queue.Queue()
    watch = AndroidCallWatch(told.put, Context(), every_s=0.01)
    Manager.mode = 1
    assert told.get(timeout=60) is True
    Manager.mode = 2
    time.sleep(0.05)
    Manager.mode = 0
    assert told.get(timeout=60) is False
    watch.close()
    Manager.mode = 2
    time.sleep(0.05)
    Manager.mode = 0
    assert told.empty()


def test_without_a_telephone_nothing_else_is_disturbed(caplog: pytest.LogCaptureFixture) -> None:
    """A device that does not answer ends the watch, with a line in the log."""
    told: list[bool] = []
    AndroidCallWatch(told.append, object(), every_s=0.01)
    deadline = time.monotonic() + 60
    while "Telephone calls are not noticed." not in caplog.text:
        assert time.monotonic() < deadline
        time.sleep(0.01)
    assert told == []


class TestAndroidTones(TonePlayerContract):
    """The tones on an Android device."""

    ends_well = (PlaybackOutcome.DONE,)

    @pytest.fixture
    def device(self) -> Iterator[AndroidTones]:
        """Return the player."""
        files = {tone: resources.data(f"assets/tones/{tone}.wav") for tone in Tone}
        player = AndroidTones(read_tones(files))
        yield player
        player.close()

    def test_the_samples_reach_the_track(self, device: AndroidTones) -> None:
        """All the bytes of the tone are written as they are, then played, then given back."""
        reports = Reports()
        device.play(Tone.HEARD, reports.of("one"))
        reports.next()
        samples = read_tones({tone: resources.data(f"assets/tones/{tone}.wav") for tone in Tone})[
            Tone.HEARD
        ].samples
        signed = samples[100] - 256 if samples[100] > 127 else samples[100]
        assert track_log() == [f"write {len(samples)} {signed}", "play", "release"]

    def test_a_track_that_is_stuck_has_failed(self, device: AndroidTones) -> None:
        """A device that never moves on is given up, and the track is given back."""
        Track.stuck = True
        reports = Reports()
        device.play(Tone.HEARD, reports.of("one"))
        assert reports.next() == ("one", PlaybackOutcome.FAILED)
        assert track_log()[-1] == "release"

    def test_a_track_that_takes_nothing_has_failed(self, device: AndroidTones) -> None:
        """An error code of the track is an outcome."""
        Track.broken = True
        reports = Reports()
        device.play(Tone.HEARD, reports.of("one"))
        assert reports.next() == ("one", PlaybackOutcome.FAILED)
        assert "play" not in track_log()


class TestAndroidMicrophone(SourceContract):
    """The microphone of an Android device."""

    @pytest.fixture
    def case(self) -> Iterator[Case]:
        """Return the microphone, opened."""
        microphone = AndroidMicrophone()
        microphone.open()
        yield Case(microphone, hears_room=True, ends=False)
        microphone.close()

    def test_the_samples_are_those_of_the_recorder(self, case: Case) -> None:
        """It asks for one channel of 16 bits at our rate, for speech; each sample comes through."""
        piece = case.source.read(0.2)
        assert piece is not None
        assert piece[:3].tolist() == [0.0, 256 / 32768, 512 / 32768]
        assert len(piece) == 640
        assert Recorder.log.get(0) == "opened 6 16000 16 2 12800"

    def test_one_that_is_lost_gives_nothing_and_keeps_nobody_busy(self, case: Case) -> None:
        """An error code is no sound; a read takes its time, so that waiting costs no power."""
        Recorder.lost = True
        begun = time.monotonic()
        assert [case.source.read(0.02) for _ in range(5)] == [None] * 5
        assert time.monotonic() - begun >= 0.1


def test_a_microphone_that_another_program_has_is_waited_for() -> None:
    """It is told with what helps, the recorder is given back, and later it opens."""
    Recorder.denied = True
    microphone = AndroidMicrophone()
    with pytest.raises(NotAllowedError, match="as soon as it is free"):
        microphone.open()
    assert Recorder.log.get(1) == "release"
    Recorder.denied = False
    microphone.open()
    assert microphone.read(0.2) is not None
    microphone.close()


def test_she_is_asked_once_and_listening_begins_when_she_allows_it() -> None:
    """The system asks her, no matter how often it is tried; then the same microphone opens."""
    Activity.granted = False
    microphone = AndroidMicrophone()
    for _ in range(3):
        with pytest.raises(NotAllowedError, match="Keys and touch work without it"):
            microphone.open()
    assert list(Activity.log.toArray()) == ["asked for android.permission.RECORD_AUDIO"]
    Activity.granted = True
    microphone.open()
    assert microphone.read(0.2) is not None
    microphone.close()


def test_another_program_that_gets_the_sound_is_no_quiet_room() -> None:
    """Zeros are sound in a quiet room, and none in place of what another program gets."""
    Recorder.feed(bytes(2))
    microphone = AndroidMicrophone()
    microphone.open()
    microphone.read(0.2)
    quiet = microphone.read(0.2)
    assert quiet is not None
    assert not quiet.any()
    Recorder.silenced = True
    assert microphone.read(0.2) is None
    Recorder.silenced = False
    assert microphone.read(0.2) is not None
    microphone.close()


def test_the_button_leads_to_the_systems_page_about_this_program() -> None:
    """After a refusal the system asks no more: its page about this very program is shown."""
    android.open_settings()
    page = "android.settings.APPLICATION_DETAILS_SETTINGS package:org.walesong.walesong"
    assert list(Activity.log.toArray()) == [f"started {page}"]


def test_the_back_key_goes_behind_the_program_before() -> None:
    """The activity stays, as with the home key: coming back finds everything as it was."""
    android.leave()
    assert list(Activity.log.toArray()) == ["went behind true"]


def test_what_the_system_covers_is_told() -> None:
    """Bars and cut-out of the whole window, and where ours begins, come as they are."""
    insets, view = autoclass("android.graphics.Insets"), autoclass("android.view.View")
    window = autoclass("android.view.WindowInsets")
    window.bars, window.cutout, window.radius = insets.of(0, 63, 0, 126), insets.of(0, 90, 0, 0), 80
    Activity.content = view(0, 63, 1080, 2151)
    told = pocket.surroundings()
    assert told == Surroundings(
        (1080, 2340), Edges(0, 63, 1080, 2214), Edges(0, 90, 0, 126), (80.0, 80.0, 80.0, 80.0)
    )
    assert kept_free(told) == Edges(0, 27, 0, 0)
    autoclass("android.os.Build$VERSION").SDK_INT = 28
    assert kept_free(pocket.surroundings()) == Edges()
    autoclass("android.os.Build$VERSION").SDK_INT = 33


def test_letters_are_as_large_as_the_device_has_them() -> None:
    """Her size of letters for the whole device is asked for."""
    assert pocket.font_scale() == 1.0
    Activity.mActivity.getResources().getConfiguration().fontScale = 2.0
    assert pocket.font_scale() == 2.0


def test_the_permission_is_asked_of_the_system() -> None:
    """Whether the way to the settings is to be offered."""
    assert not pocket.microphone_refused()
    Activity.granted = False
    assert pocket.microphone_refused()
