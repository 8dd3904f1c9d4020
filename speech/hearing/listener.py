"""
The listener: one thread that owns the source of sound and the recogniser.

It reads the source, hands the sound to acceptance, and posts what comes of it. Whoever wants
something of it (mute, pause, dictation) leaves a wish, which the thread takes up before the next
piece of sound; so the recogniser is never touched by two threads, nor changed while sound is in
it. A source that falls silent is opened again until it is back.
"""

from __future__ import annotations

import contextlib
import logging
import queue
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from speech.hearing.decoder import ModelError
from speech.hearing.events import (
    Ended,
    Failed,
    Heard,
    MicBack,
    MicLost,
    NothingHeard,
    Ready,
    RefusedSpeech,
)
from speech.hearing.sources import NotAllowedError, SourceError

if TYPE_CHECKING:
    from speech.hearing.acceptance import Acceptance
    from speech.hearing.events import HearingEvent
    from speech.hearing.sources import SoundSource
    from speech.hearing.voice_check import HerNumbers

_log = logging.getLogger(__name__)

_RESTING = "Not listening while Walesong is not on the screen."

_Wish = Callable[["Acceptance"], "tuple[HearingEvent, ...]"]
"""Something to be done on the listener's thread, and what comes of it."""


@dataclass(frozen=True, slots=True)
class Patience:
    """How long the listener waits for what, in seconds."""

    read_s: float = 0.1
    """For the next piece of sound, before it looks for wishes again."""
    lost_after_s: float = 0.7
    """Without a piece of sound: then the microphone counts as lost."""
    reopen_every_s: float = 0.5
    """Between attempts to open it again."""
    nothing_after_s: float = 20 * 60.0
    """Without anything heard: then it is told, once."""
    slept_s: float = 2.0
    """If the clock on the wall has gone on so much further than ours, the machine has slept."""


class Listener:
    """Listens on its own thread; its methods may be called from any thread and return at once."""

    def __init__(
        self,
        source: SoundSource,
        prepare: Callable[[], Acceptance],
        post: Callable[[HearingEvent], None],
        patience: Patience | None = None,
    ) -> None:
        """
        Prepare; nothing is opened or loaded before `start`.

        Args:
            source: where sound comes from.
            prepare: loads the model and makes the acceptance; called on the listener's thread.
            post: gets every event, on the listener's thread.
            patience: how long to wait for what.

        """
        self._source = source
        self._prepare = prepare
        self._post = post
        self._patience = patience or Patience()
        self._stopping = threading.Event()
        self._awake = threading.Event()
        self._awake.set()
        self._muted = threading.Event()
        self._paused = threading.Event()
        self._dictation = threading.Event()
        self._only_held = threading.Event()
        self._holding = False  # for the listener's own thread
        self._asked = threading.Event()
        self._wishes: queue.SimpleQueue[_Wish] = queue.SimpleQueue()
        self._thread = threading.Thread(target=self._run, name="listener", daemon=True)

    @property
    def hears_room(self) -> bool:
        """Whether the source hears what Walesong itself says."""
        return self._source.hears_room

    def start(self) -> None:
        """Begin to listen."""
        self._thread.start()

    def stop(self, timeout_s: float = 5.0) -> None:
        """Stop listening for good and give the source back."""
        self._stopping.set()
        self._awake.set()
        if self._thread.is_alive() and threading.current_thread() is not self._thread:
            self._thread.join(timeout_s)

    def wait(self, timeout_s: float | None = None) -> bool:
        """Wait until the source has ended; False if it has not within `timeout_s`."""
        self._thread.join(timeout_s)
        return not self._thread.is_alive()

    def mute(self) -> None:
        """Throw sound away from now on: Walesong itself is heard."""
        self._muted.set()

    def unmute(self) -> None:
        """Use sound again, from now on; a pause stays a pause."""
        self._muted.clear()

    def pause(self) -> None:
        """Decode no sound until `resume`."""
        self._paused.set()

    def resume(self) -> None:
        """Decode sound again."""
        self._paused.clear()

    def rest(self) -> None:
        """Give the source back until `wake`: a device that is put away hears nobody."""
        self._awake.clear()

    def wake(self) -> None:
        """Open the source again after a rest."""
        self._awake.set()

    def dictate(self) -> None:
        """Write down the next utterance freely."""
        self._dictation.set()

    def expect_answer(self, *, expected: bool) -> None:
        """Say whether a question stands, so that short answers are listened for."""
        if expected:
            self._asked.set()
        else:
            self._asked.clear()

    def expect_row(self, saying: str | None) -> None:
        """Name the words so far of the row that is being said (None: none is): more may come."""

        def wish(acceptance: Acceptance) -> tuple[HearingEvent, ...]:
            acceptance.expect_row(saying)
            return ()

        self._wishes.put(wish)

    def listen_for(self, attention: str | None) -> None:
        """Take commands only after an attention word from now on, or again without one (None)."""

        def wish(acceptance: Acceptance) -> tuple[HearingEvent, ...]:
            acceptance.listen_for(attention)
            return ()

        self._wishes.put(wish)

    def know(self, numbers: HerNumbers) -> None:
        """Use what a voice check has learned of the knitter's voice."""

        def wish(acceptance: Acceptance) -> tuple[HearingEvent, ...]:
            acceptance.know(numbers)
            return ()

        self._wishes.put(wish)

    def listen_while_held(self, *, only: bool) -> None:
        """Decode only what is said between `hold` and `release` from now on, or everything."""
        if only:
            self._only_held.set()
        else:
            self._only_held.clear()

    def hold(self) -> None:
        """Begin to talk with a key or pedal held: all until `release` is one utterance."""

        def wish(acceptance: Acceptance) -> tuple[HearingEvent, ...]:
            acceptance.hold()
            self._holding = True
            return ()

        self._wishes.put(wish)

    def release(self) -> None:
        """Let the key or pedal go: what was said meanwhile is decided."""

        def wish(acceptance: Acceptance) -> tuple[HearingEvent, ...]:
            self._holding = False
            return acceptance.release()

        self._wishes.put(wish)

    # --- on the listener's own thread ---------------------------------------------------------

    def _run(self) -> None:
        try:
            begun = time.monotonic()
            acceptance = self._prepare()
            waits_for = self._opened()
        except (ModelError, SourceError) as error:
            self._tell(Failed(str(error)))
            return
        except Exception:  # noqa: BLE001 (the thread's edge: nothing may end it unheard)
            _log.exception("The listening could not be prepared.")
            self._tell(Failed("The listening could not be started; keys and touch still work."))
            return
        try:
            self._tell(Ready(time.monotonic() - begun))
            if not waits_for or self._find_again(begun, waits_for):
                self._listen(acceptance)
        except Exception:  # noqa: BLE001 (the thread's edge: nothing may end it unheard)
            _log.exception("The listening has failed.")
            self._tell(Failed("The listening has stopped; keys and touch still work."))
        finally:
            with contextlib.suppress(Exception):
                self._source.close()

    def _opened(self) -> str:
        """Open the source; return what is waited for if it may not be opened yet."""
        self._awake.wait()  # she can only be asked while we are on the screen
        try:
            self._source.open()
        except NotAllowedError as error:
            return str(error)
        return ""

    def _listen(self, acceptance: Acceptance) -> None:
        last_sound = last_heard = time.monotonic()
        told_nothing = False
        ahead = time.time() - time.monotonic()
        while not self._stopping.is_set():
            piece = self._source.read(self._patience.read_s)
            now = time.monotonic()
            before, ahead = ahead, time.time() - now
            if not self._awake.is_set():
                acceptance.reset()
                if not self._find_again(now, _RESTING):
                    return
                last_sound = last_heard = time.monotonic()
                continue
            if abs(ahead - before) > self._patience.slept_s:
                # The machine has slept: what was half heard before does not go on now.
                acceptance.reset()
                last_sound = now
            if piece is None:
                if self._source.ended:
                    self._tell(Ended(acceptance.heard_s))
                    return
                if now - last_sound > self._patience.lost_after_s:
                    acceptance.reset()
                    if not self._find_again(last_sound, "The microphone is gone; looking for it."):
                        return
                    last_sound = time.monotonic()
                continue
            last_sound = now
            if not self._muted.is_set() and not self._paused.is_set():
                self._take_up_wishes(acceptance)
            if self._deaf():
                acceptance.skip(len(piece))
                last_heard = now  # nobody is expected to speak
                continue
            for event in acceptance.feed(piece):
                if isinstance(event, Heard | RefusedSpeech):
                    last_heard, told_nothing = now, False
                self._tell(event)
                self._take_up_wishes(acceptance)
                if self._deaf():
                    break  # what else was in this piece was said before the answer
            if not told_nothing and now - last_heard > self._patience.nothing_after_s:
                told_nothing = True
                self._tell(NothingHeard(now - last_heard))

    def _deaf(self) -> bool:
        """Whether sound is thrown away now: none of it is decoded."""
        only_held = self._only_held.is_set() and not self._holding
        return self._muted.is_set() or self._paused.is_set() or only_held

    def _take_up_wishes(self, acceptance: Acceptance) -> None:
        while not self._wishes.empty():
            for event in self._wishes.get()(acceptance):
                self._tell(event)
        acceptance.answers = self._asked.is_set()
        if self._dictation.is_set():
            self._dictation.clear()
            acceptance.dictating = True

    def _find_again(self, since: float, sentence: str) -> bool:
        """Open a lost source again and again; False if listening was stopped meanwhile."""
        self._tell(MicLost(sentence))
        while not self._stopping.is_set():
            with contextlib.suppress(Exception):
                self._source.close()
            self._awake.wait()
            if self._stopping.is_set():
                break
            try:
                self._source.open()
                piece = self._source.read(self._patience.lost_after_s)
            except SourceError:
                piece = None
            if piece is not None:
                self._tell(MicBack(time.monotonic() - since))
                return True
            self._stopping.wait(self._patience.reopen_every_s)
        return False

    def _tell(self, event: HearingEvent) -> None:
        try:
            self._post(event)
        except Exception:  # noqa: BLE001 (the thread's edge: nothing may end it unheard)
            _log.exception("What was heard could not be handed over.")
