"""What every voice and every tone player promises, as test classes to be run on each of them."""

from __future__ import annotations

import queue
import threading
from typing import TYPE_CHECKING, Generic, Protocol, TypeVar

import pytest

from engine.replies import Tone
from speech.speaking.playback import PlaybackOutcome, Speaker, TonePlayer

if TYPE_CHECKING:
    from speech.speaking.playback import Done

SHORT = "Forty four done."
LONG = "Working forty nine, right side. " * 8
PATIENCE_S = 100.0


class Reports:
    """Collects the reports of several playbacks."""

    def __init__(self) -> None:
        """Begin without reports."""
        self._reports: queue.Queue[tuple[str, PlaybackOutcome]] = queue.Queue()

    def of(self, name: str) -> Done:
        """Return the `done` of the playback called `name`."""

        def done(outcome: PlaybackOutcome) -> None:
            self._reports.put((name, outcome))

        return done

    def next(self) -> tuple[str, PlaybackOutcome]:
        """Wait for the next report."""
        return self._reports.get(timeout=PATIENCE_S)

    def no_more(self) -> bool:
        """Wait a moment, and return whether no further report came."""
        try:
            extra = self._reports.get(timeout=0.15)
        except queue.Empty:
            return True
        raise AssertionError(f"one report too many: {extra}")


class Stoppable(Protocol):
    """What voices and tone players have in common."""

    def stop(self) -> None:
        """Fall silent."""

    def close(self) -> None:
        """Fall silent for good."""


Device = TypeVar("Device", bound=Stoppable)


class PlaybackContract(Generic[Device]):
    """Promises that voices and tone players share; a subclass gives `begin` something to play."""

    ends_well: tuple[PlaybackOutcome, ...] = (PlaybackOutcome.DONE, PlaybackOutcome.ASSUMED)
    """Outcomes of a playback that nobody disturbs."""
    ends_stopped: tuple[PlaybackOutcome, ...] = (PlaybackOutcome.INTERRUPTED,)
    """Outcomes of a playback that is stopped on the way."""

    @pytest.fixture
    def device(self) -> Device:
        """Return the device under test."""
        raise NotImplementedError

    def begin(self, device: Device, done: Done, *, long: bool = False) -> None:
        """Begin something short, or the longest the device has."""
        raise NotImplementedError

    def let_it_end(self, device: Device) -> None:
        """Do what is needed for a playback to come to its end; real ones need nothing."""

    def test_it_reports_the_end_once(self, device: Device) -> None:
        """An undisturbed playback is reported as ended exactly once."""
        reports = Reports()
        self.begin(device, reports.of("only"))
        self.let_it_end(device)
        name, outcome = reports.next()
        assert name == "only"
        assert outcome in self.ends_well
        assert reports.no_more()

    def test_stop_ends_it(self, device: Device) -> None:
        """Stopped on the way, it reports an interruption once; stopping again is harmless."""
        reports = Reports()
        self.begin(device, reports.of("stopped"), long=True)
        device.stop()
        device.stop()
        assert reports.next()[1] in self.ends_stopped
        assert reports.no_more()

    def test_stop_without_sound_is_harmless(self, device: Device) -> None:
        """Told to stop when nothing sounds, it does nothing, and plays afterwards."""
        device.stop()
        reports = Reports()
        self.begin(device, reports.of("after"))
        self.let_it_end(device)
        assert reports.next()[1] in self.ends_well

    def test_a_second_playback_ends_the_first(self, device: Device) -> None:
        """Both are reported, the first as interrupted."""
        reports = Reports()
        self.begin(device, reports.of("first"), long=True)
        self.begin(device, reports.of("second"))
        self.let_it_end(device)
        outcomes = dict([reports.next(), reports.next()])
        assert outcomes["first"] in self.ends_stopped
        assert outcomes["second"] in self.ends_well
        assert reports.no_more()

    def test_closed_it_plays_nothing(self, device: Device) -> None:
        """Closing ends what sounds; later playbacks fail; closing twice is harmless."""
        reports = Reports()
        self.begin(device, reports.of("open"), long=True)
        device.close()
        device.close()
        self.begin(device, reports.of("closed"))
        outcomes = dict([reports.next(), reports.next()])
        assert outcomes["open"] in self.ends_stopped
        assert outcomes["closed"] is PlaybackOutcome.FAILED

    def test_it_may_be_stopped_from_another_thread(self, device: Device) -> None:
        """A stop that comes from elsewhere ends the playback as well."""
        reports = Reports()
        self.begin(device, reports.of("stopped"), long=True)
        stopper = threading.Thread(target=device.stop)
        stopper.start()
        stopper.join()
        assert reports.next()[1] in self.ends_stopped


class SpeakerContract(PlaybackContract[Speaker]):
    """What every voice promises."""

    @pytest.fixture
    def device(self) -> Speaker:
        """Return the voice under test."""
        raise NotImplementedError

    def begin(self, device: Speaker, done: Done, *, long: bool = False) -> None:
        """Say something."""
        device.say(LONG if long else SHORT, done, rate=2.0)

    @pytest.mark.parametrize("nothing", ["", "  \n\t ", "[]", "\x00"])
    def test_nothing_to_say_is_done(self, device: Speaker, nothing: str) -> None:
        """A text without anything speakable is done at once."""
        reports = Reports()
        device.say(nothing, reports.of("nothing"))
        assert reports.next() == ("nothing", PlaybackOutcome.DONE)

    @pytest.mark.parametrize(
        "odd", ["-h", "--version", "-v", "a\nb", "\ud800", "½ — “x”", "[[h@l'oU]] <b>x</b>"]
    )
    def test_odd_texts_are_texts(self, device: Speaker, odd: str) -> None:
        """A text that looks like an option, markup or rubbish is spoken like every other."""
        reports = Reports()
        device.say(odd, reports.of("odd"), rate=2.0)
        self.let_it_end(device)
        assert reports.next()[1] in self.ends_well

    @pytest.mark.parametrize("rate", [0.0, 2.0, 1e9])
    def test_any_rate_is_spoken(self, device: Speaker, rate: float) -> None:
        """A rate out of its bounds is held within them."""
        reports = Reports()
        device.say("A.", reports.of("rated"), rate=rate)
        self.let_it_end(device)
        assert reports.next()[1] in self.ends_well


class TonePlayerContract(PlaybackContract[TonePlayer]):
    """What every tone player promises."""

    @pytest.fixture
    def device(self) -> TonePlayer:
        """Return the tone player under test."""
        raise NotImplementedError

    def begin(self, device: TonePlayer, done: Done, *, long: bool = False) -> None:
        """Play a tone."""
        device.play(Tone.NEXT_DIFFERS if long else Tone.HEARD, done)

    @pytest.mark.parametrize("tone", list(Tone))
    def test_it_plays_every_tone(self, device: TonePlayer, tone: Tone) -> None:
        """Each of the three comes to its end."""
        reports = Reports()
        device.play(tone, reports.of(tone))
        self.let_it_end(device)
        assert reports.next()[1] in self.ends_well
