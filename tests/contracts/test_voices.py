"""Every voice keeps the promises of a voice: the real ones, the rehearsal, and silence."""

from __future__ import annotations

import os
import shutil
import stat
import sys
import textwrap
import time
from typing import TYPE_CHECKING

import pytest

from speech.speaking.fake_voice import Rehearsal
from speech.speaking.playback import PlaybackOutcome, Speaker
from speech.speaking.plyer_voice import PlyerVoice
from speech.speaking.program import ESPEAK_NG, Program, ProgramVoice
from speech.speaking.silence import Silence
from tests.contracts.playback import Reports, SpeakerContract

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from tests.virtual_loudspeaker import VirtualLoudspeaker


class TestRehearsal(SpeakerContract):
    """The fake."""

    @pytest.fixture
    def device(self) -> Rehearsal:
        """Return a rehearsal that ends when told to."""
        return Rehearsal()

    def let_it_end(self, device: Speaker) -> None:
        """Tell it to end."""
        assert isinstance(device, Rehearsal)
        device.finish()


class TestSilence(SpeakerContract):
    """No sound at all; whatever is said is over before it can be stopped."""

    ends_stopped = (PlaybackOutcome.DONE,)

    @pytest.fixture
    def device(self) -> Silence:
        """Return silence."""
        return Silence()


class TestPlyerVoice(SpeakerContract):
    """The voice of plyer, with a program in its place that takes its time and cannot be stopped."""

    @pytest.fixture
    def device(self) -> Iterator[PlyerVoice]:
        """Return a voice that speaks for a twentieth of a second."""
        voice = PlyerVoice(lambda _: time.sleep(0.05))
        yield voice
        voice.close()


class TestPlyerVoiceOnAPhone(SpeakerContract):
    """The voice of plyer where it only hands the text over."""

    @pytest.fixture
    def device(self) -> Iterator[PlyerVoice]:
        """Return a voice whose end is estimated, with an estimate that is over soon."""
        voice = PlyerVoice(lambda _: None, returns_early=True, takes_s=lambda _: 0.05)
        yield voice
        voice.close()


@pytest.fixture
def program(tmp_path: Path) -> Program:
    """Return a speaking program of our own: it logs its arguments and what it reads."""
    script = tmp_path / "speaks"
    script.write_text(
        textwrap.dedent(f"""\
            #!{sys.executable}
            import sys, time
            text = sys.stdin.buffer.read()
            with open({str(tmp_path / "log")!r}, "ab") as log:
                log.write(repr((sys.argv[1:], text)).encode() + b"\\n")
            time.sleep(2.0 if len(text) > 100 else 0.02)
        """)
    )
    script.chmod(script.stat().st_mode | stat.S_IXUSR)
    return Program(str(script), lambda rate: ("-s", str(round(150 * rate)), "--stdin"))


@pytest.mark.skipif(sys.platform == "win32", reason="the script in place of a voice needs POSIX")
class TestProgramVoice(SpeakerContract):
    """A voice that is a program, with a script in its place."""

    @pytest.fixture
    def device(self, program: Program) -> Iterator[ProgramVoice]:
        """Return the voice."""
        voice = ProgramVoice(program)
        yield voice
        voice.close()

    def test_no_text_becomes_an_argument(self, device: ProgramVoice, tmp_path: Path) -> None:
        """What is said reaches the program's standard input alone, and its markup does not."""
        reports = Reports()
        device.say("-w /etc/passwd [[x]] <p>", reports.of("one"))
        reports.next()
        log = (tmp_path / "log").read_text()
        assert log == "(['-s', '150', '--stdin'], b'-w /etc/passwd x p')\n"

    def test_no_process_is_left_over(self, device: ProgramVoice) -> None:
        """After the report no child of ours runs, nor waits as a zombie."""
        import psutil  # noqa: PLC0415 (a test dependency that this test alone needs)

        before = set(psutil.Process().children(recursive=True))
        reports = Reports()
        for _ in range(3):
            device.say("x" * 200, reports.of("stopped"))
            device.stop()
            reports.next()
        assert set(psutil.Process().children(recursive=True)) <= before


@pytest.mark.skipif(sys.platform == "win32", reason="process groups are POSIX")
class TestStubbornProgram:
    """Programs that do not do what they are asked."""

    @staticmethod
    def voice(tmp_path: Path, script: str) -> ProgramVoice:
        """Return a voice that runs a shell script."""
        file = tmp_path / "speaks"
        file.write_text(f"#!/bin/sh\n{script}\n")
        file.chmod(0o700)
        return ProgramVoice(Program(str(file), lambda _: ()))

    def test_a_wrapper_takes_its_voice_along(self, tmp_path: Path) -> None:
        """Stopping a script also stops the program that the script has started."""
        voice = self.voice(tmp_path, f"sleep 60 & echo $! > {tmp_path}/child; wait")
        reports = Reports()
        voice.say("text", reports.of("wrapped"))
        deadline = time.monotonic() + 10
        while not (tmp_path / "child").exists() or not (tmp_path / "child").read_text().strip():
            assert time.monotonic() < deadline
            time.sleep(0.01)
        voice.stop()
        assert reports.next() == ("wrapped", PlaybackOutcome.INTERRUPTED)
        child = int((tmp_path / "child").read_text())
        while _runs(child):
            assert time.monotonic() < deadline
            time.sleep(0.01)

    def test_one_that_will_not_stop_is_ended(self, tmp_path: Path) -> None:
        """A program that ignores the request is ended by force half a second later."""
        voice = self.voice(tmp_path, f"trap '' TERM; touch {tmp_path}/ready; sleep 60")
        reports = Reports()
        voice.say("text", reports.of("stubborn"))
        deadline = time.monotonic() + 10
        while not (tmp_path / "ready").exists():
            assert time.monotonic() < deadline
            time.sleep(0.01)
        began = time.monotonic()
        voice.stop()
        assert reports.next() == ("stubborn", PlaybackOutcome.INTERRUPTED)
        assert time.monotonic() - began < 5.0

    @pytest.mark.parametrize(
        "script",
        ["exit 3", "echo 'error: No such file or directory' >&2", "exec 0<&-; exit 1"],
        ids=["bad status", "no sound device", "reads nothing"],
    )
    def test_failure_is_an_outcome(self, tmp_path: Path, script: str) -> None:
        """A program that cannot speak is reported as failed, not raised."""
        reports = Reports()
        self.voice(tmp_path, script).say("text " * 50_000, reports.of("failed"))
        assert reports.next() == ("failed", PlaybackOutcome.FAILED)

    def test_a_missing_program_is_an_outcome(self) -> None:
        """A program that is not there is reported as failed."""
        reports = Reports()
        ProgramVoice(Program("there-is-no-such-voice", lambda _: ())).say("x", reports.of("none"))
        assert reports.next() == ("none", PlaybackOutcome.FAILED)


def _runs(process: int) -> bool:
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    status = f"/proc/{process}/stat"
    if not os.path.exists(status):  # noqa: PTH110 (a path of the kernel)
        return True
    with open(status) as file:  # noqa: PTH123 (the same)
        return file.read().rsplit(")", 1)[1].split()[0] != "Z"


class TestPlyerPitfalls:
    """What plyer's voice cannot do does no harm."""

    def test_a_text_is_never_an_option(self) -> None:
        """Plyer hands the text over as an argument, so it never begins with a dash."""
        said: list[str] = []
        reports = Reports()
        PlyerVoice(said.append).say("-w file", reports.of("one"))
        reports.next()
        assert said == [" -w file"]

    def test_two_texts_do_not_talk_over_each_other(self) -> None:
        """A text waits for the one before, which cannot be stopped; what waited is left out."""
        speaking: list[str] = []
        most = 0

        def speak(text: str) -> None:
            nonlocal most
            speaking.append(text)
            most = max(most, len(speaking))
            time.sleep(0.05)
            speaking.remove(text)

        reports = Reports()
        voice = PlyerVoice(speak)
        for name in ("first", "second", "third"):
            voice.say(name, reports.of(name))
        outcomes = dict(reports.next() for _ in range(3))
        assert outcomes["second"] is PlaybackOutcome.INTERRUPTED
        assert outcomes["third"] is PlaybackOutcome.DONE
        assert most == 1

    def test_stopped_it_reports_the_real_end(self) -> None:
        """A sound that goes on after `stop` is reported as ended when it has ended, not before."""
        reports = Reports()
        voice = PlyerVoice(lambda _: time.sleep(0.2))
        voice.say("text", reports.of("one"))
        time.sleep(0.05)
        began = time.monotonic()
        voice.stop()
        assert reports.next() == ("one", PlaybackOutcome.INTERRUPTED)
        assert time.monotonic() - began > 0.1
        assert not voice.stoppable

    def test_whatever_plyer_raises_is_an_outcome(self) -> None:
        """Plyer raises a bare NotImplementedError where it has no voice."""

        def speak(_: str) -> None:
            raise NotImplementedError

        reports = Reports()
        PlyerVoice(speak).say("text", reports.of("one"))
        assert reports.next() == ("one", PlaybackOutcome.FAILED)


@pytest.mark.voice
@pytest.mark.skipif(shutil.which("espeak-ng") is None, reason="espeak-ng is not installed")
class TestEspeak(SpeakerContract):
    """The real espeak-ng on a virtual loudspeaker."""

    @pytest.fixture
    def device(self, loudspeaker: VirtualLoudspeaker) -> Iterator[ProgramVoice]:
        """Return the voice."""
        del loudspeaker
        voice = ProgramVoice(ESPEAK_NG)
        yield voice
        voice.close()

    def test_it_is_heard_until_it_is_done(
        self, device: ProgramVoice, loudspeaker: VirtualLoudspeaker
    ) -> None:
        """The report comes after the last audible sound, not while the voice still speaks."""
        reports = Reports()
        with loudspeaker.recording() as recorder:
            device.say("Forty four done.", reports.of("one"))
            assert reports.next() == ("one", PlaybackOutcome.DONE)
            heard_s = recorder.loud_s()
            time.sleep(0.3)
            assert 0.7 < heard_s < 3.0
            assert recorder.loud_s() - heard_s < 0.1

    def test_stopped_it_is_silent(
        self, device: ProgramVoice, loudspeaker: VirtualLoudspeaker
    ) -> None:
        """After the report of an interruption nothing is heard any more."""
        reports = Reports()
        with loudspeaker.recording() as recorder:
            device.say("Working forty nine, right side. " * 5, reports.of("one"))
            time.sleep(0.8)
            device.stop()
            assert reports.next() == ("one", PlaybackOutcome.INTERRUPTED)
            heard_s = recorder.loud_s()
            time.sleep(0.5)
            assert heard_s > 0.3
            assert recorder.loud_s() - heard_s < 0.1


@pytest.mark.voice
@pytest.mark.skipif(shutil.which("espeak-ng") is None, reason="espeak-ng is not installed")
def test_without_a_sound_device_espeak_has_failed(monkeypatch: pytest.MonkeyPatch) -> None:
    """espeak-ng returns success where it could not speak; we do not believe it."""
    monkeypatch.setenv("PULSE_SERVER", "unix:/nowhere")
    monkeypatch.setenv("ALSA_CONFIG_PATH", "/nowhere")
    reports = Reports()
    ProgramVoice(ESPEAK_NG).say("Forty four done.", reports.of("one"))
    assert reports.next() == ("one", PlaybackOutcome.FAILED)
