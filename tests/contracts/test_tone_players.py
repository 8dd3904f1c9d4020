"""Every tone player keeps the promises of one: the real ones, the rehearsal, and silence."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING

import pytest

from app import resources
from engine.replies import Tone
from speech.speaking.fake_voice import Rehearsal
from speech.speaking.loudspeaker import Loudspeaker, loudspeaker_fault
from speech.speaking.playback import PlaybackOutcome, TonePlayer
from speech.speaking.silence import Silence
from speech.speaking.tones import MELODIES, ToneSound, read_tones
from speech.speaking.vibration import Vibration, rhythm
from tests.contracts.playback import Reports, TonePlayerContract

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tests.virtual_loudspeaker import VirtualLoudspeaker


class TestRehearsal(TonePlayerContract):
    """The fake."""

    @pytest.fixture
    def device(self) -> Rehearsal:
        """Return a rehearsal that ends when told to."""
        return Rehearsal()

    def let_it_end(self, device: TonePlayer) -> None:
        """Tell it to end."""
        assert isinstance(device, Rehearsal)
        device.finish()


class TestSilence(TonePlayerContract):
    """No tone at all."""

    ends_stopped = (PlaybackOutcome.DONE,)

    @pytest.fixture
    def device(self) -> Silence:
        """Return silence."""
        return Silence()


class Motor:
    """A motor that remembers what it did."""

    def __init__(self) -> None:
        """Begin at rest."""
        self.did: list[tuple[list[float], int] | None] = []

    def exists(self) -> bool:
        """Return that it is there."""
        return True

    def pattern(self, pattern: list[float], repeat: int) -> None:
        """Remember the pattern."""
        self.did.append((pattern, repeat))

    def cancel(self) -> None:
        """Remember that it was stopped."""
        self.did.append(None)


class TestVibration(TonePlayerContract):
    """Vibration, on a motor that remembers."""

    @pytest.fixture
    def device(self) -> Iterator[Vibration]:
        """Return the vibration."""
        vibration = Vibration(Motor())
        yield vibration
        vibration.close()


def test_the_rhythm_of_a_tone_is_felt() -> None:
    """A tone of three strokes vibrates three times, once, with pauses that can be felt."""
    motor, reports = Motor(), Reports()
    Vibration(motor).play(Tone.NEXT_DIFFERS, reports.of("one"))
    assert reports.next() == ("one", PlaybackOutcome.ASSUMED)
    assert motor.did == [([0.0, 0.09, 0.08, 0.09, 0.08, 0.14], -1)]
    for tone in Tone:
        pauses, strokes = rhythm(tone)[2::2], rhythm(tone)[1::2]
        assert len(strokes) == len(MELODIES[tone])
        assert min(*strokes, *pauses, 1.0) >= 0.08


def test_a_motor_that_fails_is_an_outcome() -> None:
    """A motor that raises does not end the thread: the next tone is tried again."""

    class Broken(Motor):
        """A motor that will not turn."""

        def pattern(self, pattern: list[float], repeat: int) -> None:
            """Fail."""
            raise OSError(pattern, repeat)

    reports = Reports()
    vibration = Vibration(Broken())
    for name in ("one", "two"):
        vibration.play(Tone.HEARD, reports.of(name))
        assert reports.next() == (name, PlaybackOutcome.FAILED)


@pytest.fixture(scope="module")
def sounds() -> dict[Tone, ToneSound]:
    """Return the tones that are shipped."""
    return read_tones({tone: resources.data(f"assets/tones/{tone}.wav") for tone in Tone})


class TestLoudspeaker(TonePlayerContract):
    """The real loudspeaker of a desktop, a virtual one here."""

    ends_well = (PlaybackOutcome.DONE,)

    @pytest.fixture
    def device(
        self, loudspeaker: VirtualLoudspeaker, sounds: dict[Tone, ToneSound]
    ) -> Iterator[Loudspeaker]:
        """Return the loudspeaker."""
        del loudspeaker
        player = Loudspeaker(sounds)
        yield player
        player.close()

    def test_it_is_there(self, loudspeaker: VirtualLoudspeaker) -> None:
        """Where a loudspeaker can be opened, nothing is complained of."""
        del loudspeaker
        assert loudspeaker_fault() is None

    @pytest.mark.parametrize("tone", list(Tone))
    def test_the_whole_tone_is_heard(
        self,
        device: Loudspeaker,
        loudspeaker: VirtualLoudspeaker,
        sounds: dict[Tone, ToneSound],
        tone: Tone,
    ) -> None:
        """Nothing of a tone is cut off, and nothing of it is heard long after the report."""
        reports = Reports()
        with loudspeaker.recording() as recorder:
            device.play(tone, reports.of("one"))
            assert reports.next() == ("one", PlaybackOutcome.DONE)
            time.sleep(0.1)
            at_report_s = recorder.loud_s()
            time.sleep(0.2)
            assert recorder.loud_s() == at_report_s
            assert at_report_s > sounds[tone].seconds - 0.02


def test_without_a_sound_device_it_says_so_once(
    monkeypatch: pytest.MonkeyPatch,
    capfd: pytest.CaptureFixture[str],
    sounds: dict[Tone, ToneSound],
) -> None:
    """Without a loudspeaker there is one sentence, a failed tone, and no page of complaints."""
    monkeypatch.setenv("PULSE_SERVER", "unix:/nowhere")
    monkeypatch.setenv("ALSA_CONFIG_PATH", "/nowhere")
    reports = Reports()
    assert loudspeaker_fault() == "This machine has no loudspeaker that can be opened."
    Loudspeaker(sounds).play(Tone.HEARD, reports.of("one"))
    assert reports.next() == ("one", PlaybackOutcome.FAILED)
    assert capfd.readouterr() == ("", "")
