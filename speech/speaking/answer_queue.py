"""
Speaking: answers are waited for, given one after the other, and never heard by the machine itself.

Two threads of its own. The *keeper* owns the turn (`speech.speaking.turns`), what waits to be said
and all deadlines; it never calls a device. The *player* calls the devices; should one of them
hang, the keeper still opens the microphone when the deadline has passed. Whoever asks for an
answer only leaves a message and goes on.
"""

from __future__ import annotations

import contextlib
import itertools
import logging
import math
import queue
import threading
import time
from collections import deque
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, assert_never

from engine.replies import Tone
from speech.speaking.answering import AnswerManner, AnswerWay
from speech.speaking.errands import Errands
from speech.speaking.playback import PlaybackOutcome, speaking_seconds
from speech.speaking.tones import tone_seconds
from speech.speaking.turns import (
    Begin,
    CallChanged,
    Drop,
    DyingAway,
    Effect,
    Limits,
    ListeningWanted,
    Mute,
    PlaybackEnded,
    PlaybackWanted,
    Sounding,
    SourceChanged,
    StopSounding,
    TellToStop,
    TimePassed,
    Turn,
    TurnEvent,
    Unmute,
    step,
)

if TYPE_CHECKING:
    from collections.abc import Callable

    from speech.speaking.answering import Devices, OwnEars
    from speech.speaking.playback import Done, Speaker, TonePlayer

_log = logging.getLogger(__name__)

STALE_TONE_S = 1.0
"""A tone that has waited for longer says nothing any more about what the knitter just did."""
_TRY_AGAIN_S = 0.5
"""After so long a microphone that failed to open or close is told again."""
_END_S = 2.0
"""So long each of the two threads is waited for at the end."""
MOST_WAITING = 8
"""More answers than this are not waited for: the oldest are left out."""


@dataclass(frozen=True, slots=True)
class _Asked:
    """A sound that was asked for at `at_s`: a tone or words."""

    number: int
    what: Tone | str
    at_s: float
    rate: float


@dataclass(frozen=True, slots=True)
class _Add:
    asked: tuple[_Asked, ...]
    manner: AnswerManner


@dataclass(frozen=True, slots=True)
class _Hush:
    """Break off what is said and forget what waits."""


@dataclass(frozen=True, slots=True)
class _Wait:
    """Let no sound begin that the microphone hears before `until_s`."""

    until_s: float


@dataclass(frozen=True, slots=True)
class _Close:
    """End both threads."""


_Message = _Add | _Hush | _Wait | _Close | TurnEvent


@dataclass(frozen=True, slots=True)
class _Sound:
    """What was asked for, as a sound of one device."""

    device: Speaker | TonePlayer
    expected_s: float
    begin: Callable[[Done], None]


class Speaking:
    """
    The answering half of a conversation; see the module.

    All methods may be called from any thread and return at once, but for `wait_until_quiet` and
    `close`.
    """

    def __init__(
        self,
        devices: Devices,
        ears: OwnEars,
        *,
        hears_room: bool = True,
        limits: Limits | None = None,
        on_turn: Callable[[Turn], None] | None = None,
    ) -> None:
        """
        Start to answer through `devices`, keeping `ears` closed meanwhile.

        `hears_room` says whether the source of sound is a microphone in the same room. `on_turn` is
        called on the keeper's thread whenever the turn has changed, to show whether the machine
        listens.
        """
        self.rate = 1.0
        """How fast the voice speaks, relative to its usual pace."""
        self.answering = AnswerWay.VOICE
        self._devices = devices
        self._ears = ears
        self._limits = limits or Limits()
        self._on_turn = on_turn
        self._turn = Turn(hears_room=hears_room)
        self._ears_open = self._turn.open
        self._numbers = itertools.count(1)
        self._inbox: queue.SimpleQueue[_Message] = queue.SimpleQueue()
        self._player = Errands("walesong-playback", at_end=self._close_devices)
        self._waiting: deque[_Asked] = deque()
        self._hers_until_s = -math.inf
        self._floor: int | None = None
        """What was told to begin; the player leaves alone what has lost the floor meanwhile."""
        self._unsettled: set[int] = set()
        self._quiet = threading.Condition()
        self._keeper = threading.Thread(target=self._keep, name="walesong-turns", daemon=True)
        self._keeper.start()

    # --- what others ask for -------------------------------------------------------------------

    @property
    def turn(self) -> Turn:
        """Whose turn it is now."""
        return self._turn

    def answer(
        self, tone: Tone | None = None, words: str = "", manner: AnswerManner = AnswerManner.QUEUE
    ) -> None:
        """
        Give a tone, or words, or a tone and then words, in the way the knitter has chosen.

        Where no words are wanted, a tone stands for them, so that she knows to look at the board.
        """
        if tone is None and words and self.answering is not AnswerWay.VOICE:
            tone = Tone.HEARD
        if self.answering is not AnswerWay.VOICE:
            words = ""
        wanted: list[Tone | str] = [what for what in (tone, words) if what]
        if self.answering is AnswerWay.SILENT:
            wanted = []
        now, rate = time.monotonic(), self.rate
        asked = tuple(_Asked(next(self._numbers), what, now, rate) for what in wanted)
        with self._quiet:
            self._unsettled.update(one.number for one in asked)
        self._inbox.put(_Add(asked, manner))

    def interrupt(self) -> None:
        """Break off what is said, and forget what waits to be said."""
        self._inbox.put(_Hush())

    def wait(self, for_s: float) -> None:
        """
        Let nothing begin for so long: the knitter may go on, and would not be heard meanwhile.

        The last wish counts; 0 ends it. Where the microphone does not hear it, nothing waits.
        """
        self._inbox.put(_Wait(time.monotonic() + for_s))

    def listen(self, *, wanted: bool) -> None:
        """Listen, or do not: the knitter's own wish."""
        self._inbox.put(ListeningWanted(wanted))

    def call(self, *, on_call: bool) -> None:
        """Take note that a telephone call has begun or ended."""
        self._inbox.put(CallChanged(on_call))

    def source(self, *, hears_room: bool) -> None:
        """Another source of sound is listened to."""
        self._inbox.put(SourceChanged(hears_room))

    def wait_until_quiet(self, timeout_s: float) -> bool:
        """Wait until everything asked for has been said or dropped; False if that takes longer."""
        with self._quiet:
            return self._quiet.wait_for(lambda: not self._unsettled, timeout_s)

    def close(self, *, patience_s: float = 0.0) -> None:
        """Let it finish for up to `patience_s`, then fall silent and give the devices back."""
        if patience_s:
            self.wait_until_quiet(patience_s)
        self._inbox.put(_Close())
        self._keeper.join(timeout=_END_S)
        self._player.end(timeout_s=_END_S)

    # --- the keeper ----------------------------------------------------------------------------

    def _keep(self) -> None:
        while not isinstance(message := self._next_message(), _Close):
            before = self._turn
            try:
                self._deal_with(message)
            except Exception:  # noqa: BLE001 (whatever is wrong with one answer, listening goes on)
                _log.exception("An answer could not be given.")
            if self._turn != before:
                self._show_turn()
        self._forget_waiting()
        self._floor = None
        self._player.end()

    def _next_message(self) -> _Message:
        wakes = self._turn.wakes_s
        timeout = None if wakes is None else max(0.0, wakes - time.monotonic())
        if self._ears_open is not self._turn.open:
            timeout = min(_TRY_AGAIN_S, _TRY_AGAIN_S if timeout is None else timeout)
        if self._waiting and (left_s := self._hers_until_s - time.monotonic()) > 0:
            timeout = left_s if timeout is None else min(timeout, left_s)
        try:
            return self._inbox.get(timeout=timeout)
        except queue.Empty:
            return TimePassed()

    def _deal_with(self, message: _Message) -> None:
        match message:
            case _Add(asked, manner):
                if manner is AnswerManner.INTERRUPT:
                    self._hush()
                self._wait_in_line(asked)
            case _Hush():
                self._hush()
            case _Wait(until_s):
                self._hers_until_s = until_s
            case TimePassed() if self._waiting and isinstance(self._turn.sound, DyingAway):
                pass  # what waits begins now, so that the microphone does not open between the two
            case _Close():
                pass
            case _:
                self._step(message)
        self._set_ears()
        self._begin_next()

    def _step(self, event: TurnEvent) -> tuple[Effect, ...]:
        """Let `event` happen to the turn, do what comes of it, and return that."""
        self._turn, effects = step(self._turn, event, time.monotonic(), self._limits)
        for effect in effects:
            match effect:
                case Mute() | Unmute():
                    self._set_ears()
                case Drop(number):
                    self._settle(number)
                    self._forget_waiting()
                case TellToStop():
                    self._player.do(self._stop_devices)
                case Begin():
                    pass  # by the caller, who knows what is to sound
                case _:
                    assert_never(effect)
        sound = self._turn.sound
        if self._floor is not None and not (
            isinstance(sound, Sounding) and sound.playback == self._floor
        ):
            self._settle(self._floor)
            self._floor = None
        return effects

    def _set_ears(self) -> None:
        """Make the ears as open as the turn wants them; if they fail, it is tried again."""
        wanted = self._turn.open
        if self._ears_open is wanted:
            return
        try:
            if wanted:
                self._ears.unmute()
            else:
                self._ears.mute()
        except Exception:  # noqa: BLE001 (a broken source of sound must not end the answers)
            _log.exception("The microphone could not be %s.", "opened" if wanted else "closed")
        else:
            self._ears_open = wanted

    def _begin_next(self) -> None:
        """Begin what has waited longest, if it may begin now; during a call nothing waits."""
        if self._turn.on_call:
            self._forget_waiting()
        while self._waiting and self._may_begin():
            one = self._waiting.popleft()
            sound = self._as_sound(one)
            if sound is None:
                self._settle(one.number)
                continue
            device = sound.device
            wanted = PlaybackWanted(
                one.number, sound.expected_s, audible=device.audible, stoppable=device.stoppable
            )
            if Begin(one.number) in self._step(wanted):
                self._begin(one.number, sound)

    def _may_begin(self) -> bool:
        heard = self._turn.hears_room and self.answering is not AnswerWay.VIBRATION
        if heard and self._hers_until_s > time.monotonic():
            return False
        sound = self._turn.sound
        faded = isinstance(sound, DyingAway) and sound.until_s <= time.monotonic()
        return self._turn.free or (faded and not self._turn.on_call)

    def _as_sound(self, one: _Asked) -> _Sound | None:
        """Return the sound for what was asked, or None if it is not wanted any more."""
        devices, answering = self._devices, self.answering
        match one.what:
            case Tone() as tone:
                stale = time.monotonic() - max(one.at_s, self._hers_until_s) > STALE_TONE_S
                if stale or answering is AnswerWay.SILENT:
                    return None
                player = devices.vibration if answering is AnswerWay.VIBRATION else devices.tones
                return _Sound(player, tone_seconds(tone), partial(player.play, tone))
            case words:
                if answering is not AnswerWay.VOICE:
                    return None
                say = partial(devices.speaker.say, words, rate=one.rate)
                return _Sound(devices.speaker, speaking_seconds(words, one.rate), say)

    def _begin(self, number: int, sound: _Sound) -> None:
        if not sound.device.audible:
            self._settle(number)
        elif self._turn.hears_room and self._ears_open:
            # The microphone would not close: better no answer than one that is heard.
            self._settle(number)
            self._report(number, PlaybackOutcome.FAILED)
            return
        else:
            self._floor = number
        self._player.do(partial(self._begin_on_device, number, sound))

    def _wait_in_line(self, asked: tuple[_Asked, ...]) -> None:
        for one in asked:
            if len(self._waiting) == MOST_WAITING:
                self._settle(self._waiting.popleft().number)
            self._waiting.append(one)

    def _hush(self) -> None:
        self._forget_waiting()
        self._step(StopSounding())

    def _forget_waiting(self) -> None:
        while self._waiting:
            self._settle(self._waiting.popleft().number)

    def _settle(self, number: int) -> None:
        with self._quiet:
            self._unsettled.discard(number)
            self._quiet.notify_all()

    def _show_turn(self) -> None:
        if self._on_turn is None:
            return
        try:
            self._on_turn(self._turn)
        except Exception:  # noqa: BLE001 (showing the turn must not end it)
            _log.exception("Whose turn it is could not be shown.")

    # --- the player ----------------------------------------------------------------------------

    def _begin_on_device(self, number: int, sound: _Sound) -> None:
        if sound.device.audible and self._floor != number:
            return  # it took so long to get here that the floor is lost
        try:
            sound.begin(partial(self._report, number))
        except Exception:
            self._report(number, PlaybackOutcome.FAILED)
            raise

    def _report(self, number: int, outcome: PlaybackOutcome) -> None:
        self._inbox.put(PlaybackEnded(number, outcome))

    def _stop_devices(self) -> None:
        for device in self._all_devices():
            device.stop()

    def _close_devices(self) -> None:
        for device in self._all_devices():
            with contextlib.suppress(Exception):
                device.close()

    def _all_devices(self) -> tuple[Speaker | TonePlayer, ...]:
        return (self._devices.speaker, self._devices.tones, self._devices.vibration)
