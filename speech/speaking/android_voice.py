"""
The voice of an Android device: one long-lived TextToSpeech, reached through pyjnius.

Proven against a Java double on a desktop's Java; nobody has tried it on a phone yet. All calls into
Java are made on one thread. The end of an utterance is heard through OnUtteranceCompletedListener:
deprecated, but an interface, which Python can implement; its successor is an abstract class, which
it cannot.
"""

from __future__ import annotations

import itertools
import logging
import threading
from functools import partial
from typing import TYPE_CHECKING, Any

from jnius import PythonJavaClass, autoclass, detach, java_method

from speech import android
from speech.speaking.errands import Errands
from speech.speaking.playback import PlaybackOutcome, bounded_rate, speakable

if TYPE_CHECKING:
    from collections.abc import Callable

    from speech.speaking.playback import Done

_log = logging.getLogger(__name__)

# android.speech.tts.TextToSpeech
_SUCCESS = 0
_QUEUE_FLUSH = 0
_NOT_INSTALLED = "notInstalled"

_LISTENERS: list[object] = []
"""
What Java may still call, kept for ever: a call to an object that Python has freed ends the process.

There are two for each voice, and one voice for each run.
"""


class AndroidVoice:
    """Speaks through the device's own engine, with a voice that needs no network."""

    audible = True
    stoppable = True

    def __init__(self, context: object | None = None) -> None:
        """Start the engine in the background; `context` is the running activity unless given."""
        self.fault: str | None = None
        """Why nothing is spoken, as one sentence, once that is known."""
        self._context = context
        self._engine: Any = None
        self._usable = False
        self._closed = False
        self._numbers = itertools.count(1)
        self._lock = threading.Lock()
        self._present: _Saying | None = None
        self._errands = Errands("walesong-android-voice", at_end=self._shut_down)
        self._errands.do(self._start)

    def say(self, text: str, done: Done, rate: float = 1.0) -> None:
        """Say `text`, as soon as the engine has started; see `Speaker.say`."""
        self.stop()
        plain = speakable(text)
        if self._closed or self.fault is not None or not plain:
            done(PlaybackOutcome.DONE if not plain and not self._closed else PlaybackOutcome.FAILED)
            return
        present = _Saying(str(next(self._numbers)), plain, bounded_rate(rate), done)
        with self._lock:
            self._present = present
        self._errands.do(partial(self._begin, present))

    def stop(self) -> None:
        """Have the engine fall silent."""
        with self._lock:
            present = self._present
        if present is not None:
            self._errands.do(partial(self._stop, present))

    def close(self) -> None:
        """Fall silent and give the engine back."""
        if not self._closed:
            self.stop()
            self._closed = True
            self._errands.end()

    # --- on the one thread that talks to Java --------------------------------------------------

    def _start(self) -> None:
        try:
            context = self._context or android.activity()
            ready = _Ready(lambda status: self._errands.do(partial(self._set_up, status)))
            _LISTENERS.append(ready)
            self._engine = autoclass("android.speech.tts.TextToSpeech")(context, ready)
        except Exception:  # Java's exceptions have no common parent of ours
            self._give_up("This device has no engine that speaks.")
            raise

    def _set_up(self, status: int) -> None:
        english = autoclass("java.util.Locale").US
        if status != _SUCCESS:
            self._give_up("The engine that speaks on this device has not started.")
        elif self._engine.setLanguage(english) < 0:
            self._give_up("The engine that speaks on this device has no English voice.")
        elif not self._choose_voice():
            self._give_up("The voices of this device need the network, which is never used.")
        else:
            completed = _Completed(self._completed)
            _LISTENERS.append(completed)
            self._engine.setOnUtteranceCompletedListener(completed)
            self._usable = True
            with self._lock:
                present = self._present
            if present is not None:
                self._begin(present)

    def _choose_voice(self) -> bool:
        """Take a voice that speaks on the device itself; False if there is none."""
        present = self._engine.getVoice()
        if present is not None and not present.isNetworkConnectionRequired():
            return True
        for voice in self._engine.getVoices().toArray():
            here = not voice.isNetworkConnectionRequired()
            installed = not voice.getFeatures().contains(_NOT_INSTALLED)
            if here and installed and voice.getLocale().getLanguage() == "en":
                return bool(self._engine.setVoice(voice) == _SUCCESS)
        return False

    def _give_up(self, fault: str) -> None:
        self.fault = fault
        _log.warning("No voice: %s", fault)
        with self._lock:
            present = self._present
        if present is not None:
            self._end(present, PlaybackOutcome.FAILED)

    def _begin(self, present: _Saying) -> None:
        if self.fault is not None:
            self._end(present, PlaybackOutcome.FAILED)
        if present.ended or present.begun or not self._usable:
            return
        present.begun = True
        self._engine.setSpeechRate(present.rate)
        status = self._engine.speak(present.text, _QUEUE_FLUSH, None, present.name)
        if status != _SUCCESS:
            self._end(present, PlaybackOutcome.FAILED)

    def _stop(self, present: _Saying) -> None:
        if not present.ended:
            if present.begun:
                self._engine.stop()
            self._end(present, PlaybackOutcome.INTERRUPTED)

    def _shut_down(self) -> None:
        try:
            if self._engine is not None:
                self._engine.shutdown()
        finally:
            detach()

    # --- from any thread -----------------------------------------------------------------------

    def _completed(self, name: str) -> None:
        with self._lock:
            present = self._present
        if present is not None and present.name == name:
            self._end(present, PlaybackOutcome.DONE)

    def _end(self, present: _Saying, outcome: PlaybackOutcome) -> None:
        """Report the end of `present`, if nobody has done so."""
        with self._lock:
            if present.ended:
                return
            present.ended = True
            if self._present is present:
                self._present = None
        present.done(outcome)


class _Saying:
    """One text on its way."""

    def __init__(self, name: str, text: str, rate: float, done: Done) -> None:
        self.name = name
        self.text = text
        self.rate = rate
        self.done = done
        self.begun = False
        self.ended = False


class _Ready(PythonJavaClass):  # type: ignore[misc]
    """Hears that the engine has started."""

    __javainterfaces__ = ["android/speech/tts/TextToSpeech$OnInitListener"]  # noqa: RUF012

    def __init__(self, heard: Callable[[int], None]) -> None:
        super().__init__()
        self._heard = heard

    @java_method("(I)V")  # type: ignore[untyped-decorator]
    def onInit(self, status: int) -> None:  # noqa: N802 (the name is Java's)
        self._heard(status)


class _Completed(PythonJavaClass):  # type: ignore[misc]
    """Hears that an utterance has ended, in whatever way."""

    __javainterfaces__ = [  # noqa: RUF012
        "android/speech/tts/TextToSpeech$OnUtteranceCompletedListener"
    ]

    def __init__(self, heard: Callable[[str], None]) -> None:
        super().__init__()
        self._heard = heard

    @java_method("(Ljava/lang/String;)V")  # type: ignore[untyped-decorator]
    def onUtteranceCompleted(self, name: str) -> None:  # noqa: N802 (the name is Java's)
        self._heard(name)
