"""
Turn-taking: who has the floor, the knitter or the machine, as a pure state machine.

A microphone in the room hears the machine's own voice, so it is closed from just before a sound
begins until its end is *reported* and has died away. Reports get lost, come late, or come twice, so
every closing has a deadline of its own: when it passes, the sound is told to stop and the
microphone opens again, whatever was reported. A recording does not hear the room and is never
closed because of a sound.

Nothing here knows of threads, devices or clocks: `step` takes the time (seconds that never run
backwards) and returns what is to be done, in order.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import assert_never

from speech.speaking.playback import PlaybackOutcome


@dataclass(frozen=True, slots=True)
class Limits:
    """How long the microphone may stay closed, in seconds."""

    tail_s: float = 0.25
    """After a reported end: what is still in the device's buffer and in the room."""
    assumed_tail_s: float = 0.6
    """After an end that is only assumed."""
    grace_s: float = 0.7
    """How long a sound that was told to stop may take to report its end."""
    cap_s: float = 30.0
    """The longest time for which the microphone is closed without a break."""

    def deadline_s(self, expected_s: float) -> float:
        """Return how long a playback of about `expected_s` may take before its report is lost."""
        return min(self.cap_s, 1.5 * expected_s + 1.5)


# --- where a sound stands ------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Quiet:
    """Nothing sounds."""


@dataclass(frozen=True, slots=True)
class Sounding:
    """Playback `playback` sounds, the first or a later one since `since_s` without a break."""

    playback: int
    until_s: float
    """When its report counts as lost."""
    since_s: float
    stoppable: bool = True
    told: bool = False
    """It was told to stop."""


@dataclass(frozen=True, slots=True)
class DyingAway:
    """The sound has ended; buffer and room are empty at `until_s`."""

    until_s: float
    since_s: float
    sure: bool
    """Its end was reported by what played it."""


Sound = Quiet | Sounding | DyingAway


@dataclass(frozen=True, slots=True)
class Turn:
    """Everything that decides whether the machine listens, and whether it may make a sound."""

    sound: Sound = Quiet()
    hears_room: bool = True
    """The source of sound is a microphone in the same room."""
    wanted: bool = True
    """The knitter wants to be listened to."""
    on_call: bool = False
    """A telephone call has the microphone and the loudspeaker."""

    @property
    def open(self) -> bool:
        """Whether the machine listens."""
        deafened = self.hears_room and not isinstance(self.sound, Quiet)
        return self.wanted and not self.on_call and not deafened

    @property
    def free(self) -> bool:
        """Whether a sound may begin."""
        ended = isinstance(self.sound, Quiet) or (
            isinstance(self.sound, DyingAway) and self.sound.sure
        )
        return ended and not self.on_call

    @property
    def wakes_s(self) -> float | None:
        """When `TimePassed` has to come next, or None if it need not come."""
        return None if isinstance(self.sound, Quiet) else self.sound.until_s


# --- what happens --------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class PlaybackWanted:
    """Playback `playback` is to begin; it takes about `expected_s`."""

    playback: int
    expected_s: float
    audible: bool = True
    """A microphone in the room hears it."""
    stoppable: bool = True
    """What plays it can stop on the way."""


@dataclass(frozen=True, slots=True)
class PlaybackEnded:
    """Somebody reports that `playback` has ended: perhaps late, or twice, or an older one."""

    playback: int
    outcome: PlaybackOutcome


@dataclass(frozen=True, slots=True)
class StopSounding:
    """Whatever sounds is to stop: the knitter interrupts."""


@dataclass(frozen=True, slots=True)
class TimePassed:
    """The clock has moved on."""


@dataclass(frozen=True, slots=True)
class ListeningWanted:
    """The knitter wants to be listened to (or not)."""

    wanted: bool


@dataclass(frozen=True, slots=True)
class CallChanged:
    """A telephone call has begun or ended."""

    on_call: bool


@dataclass(frozen=True, slots=True)
class SourceChanged:
    """Another source of sound is listened to."""

    hears_room: bool


_NoPlayback = (
    PlaybackEnded | StopSounding | TimePassed | ListeningWanted | CallChanged | SourceChanged
)
TurnEvent = PlaybackWanted | _NoPlayback


# --- what is to be done --------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Mute:
    """Stop listening, and forget what is half heard."""


@dataclass(frozen=True, slots=True)
class Unmute:
    """Listen."""


@dataclass(frozen=True, slots=True)
class Begin:
    """Begin playback `playback`, now that the machine does not listen."""

    playback: int


@dataclass(frozen=True, slots=True)
class Drop:
    """Do not play `playback`: a call, or another sound, has the floor."""

    playback: int


@dataclass(frozen=True, slots=True)
class TellToStop:
    """Tell what plays `playback` to stop."""

    playback: int


Effect = Mute | Unmute | Begin | Drop | TellToStop


def step(
    turn: Turn, event: TurnEvent, now_s: float, limits: Limits
) -> tuple[Turn, tuple[Effect, ...]]:
    """
    Return the turn after `event` at `now_s`, and what is to be done, in that order.

    A deadline that has passed by `now_s` is dealt with first, so that a late `TimePassed` loses
    nothing.
    """
    after, effects = _time_passes(turn, now_s, limits)
    if isinstance(event, PlaybackWanted):
        # Nobody has listened since the last sound if this one follows in the same step.
        since = now_s if isinstance(turn.sound, Quiet) else turn.sound.since_s
        after, more = _begin(after, event, now_s, since, limits)
    else:
        after, more = _happens(after, event, now_s, limits)
    return after, _with_microphone(turn, after, (*effects, *more))


def _with_microphone(before: Turn, after: Turn, effects: tuple[Effect, ...]) -> tuple[Effect, ...]:
    """Close the microphone before anything else, open it after everything else."""
    if before.open and not after.open:
        return (Mute(), *effects)
    if after.open and not before.open:
        return (*effects, Unmute())
    return effects


def _time_passes(turn: Turn, now_s: float, limits: Limits) -> tuple[Turn, tuple[Effect, ...]]:
    match turn.sound:
        case Quiet():
            return turn, ()
        case Sounding() as sound if now_s >= sound.until_s:
            # The report is lost. Tell the sound to stop in case it is not, and wait for it to die
            # away.
            return (
                replace(turn, sound=_dying_away(sound, now_s, limits, sure=False)),
                (TellToStop(sound.playback),),
            )
        case DyingAway() as sound if now_s >= sound.until_s:
            return replace(turn, sound=Quiet()), ()
        case _:
            return turn, ()


def _happens(
    turn: Turn, event: _NoPlayback, now_s: float, limits: Limits
) -> tuple[Turn, tuple[Effect, ...]]:
    match event:
        case PlaybackEnded():
            return _ended(turn, event, now_s, limits), ()
        case StopSounding():
            return _told_to_stop(turn, now_s, limits)
        case CallChanged(on_call):
            after, effects = _told_to_stop(turn, now_s, limits) if on_call else (turn, ())
            return replace(after, on_call=on_call), effects
        case ListeningWanted(wanted):
            return replace(turn, wanted=wanted), ()
        case SourceChanged(hears_room):
            return replace(turn, hears_room=hears_room), ()
        case TimePassed():
            return turn, ()
        case _:
            assert_never(event)


def _begin(
    turn: Turn, event: PlaybackWanted, now_s: float, since_s: float, limits: Limits
) -> tuple[Turn, tuple[Effect, ...]]:
    if not turn.free:
        return turn, (Drop(event.playback),)
    if not event.audible:
        return turn, (Begin(event.playback),)
    latest = since_s + limits.cap_s - limits.assumed_tail_s
    until = min(now_s + limits.deadline_s(event.expected_s), latest)
    if until <= now_s:
        # One sound after the other has kept the microphone closed for too long: now it opens first.
        return turn, (Drop(event.playback),)
    sound = Sounding(event.playback, until, since_s, event.stoppable)
    return replace(turn, sound=sound), (Begin(event.playback),)


def _ended(turn: Turn, event: PlaybackEnded, now_s: float, limits: Limits) -> Turn:
    if not isinstance(turn.sound, Sounding) or turn.sound.playback != event.playback:
        return turn
    sure = event.outcome is not PlaybackOutcome.ASSUMED
    return replace(turn, sound=_dying_away(turn.sound, now_s, limits, sure=sure))


def _told_to_stop(turn: Turn, now_s: float, limits: Limits) -> tuple[Turn, tuple[Effect, ...]]:
    if not isinstance(turn.sound, Sounding) or turn.sound.told:
        return turn, ()
    told = replace(turn.sound, told=True)
    if turn.sound.stoppable:
        told = replace(told, until_s=min(told.until_s, now_s + limits.grace_s))
    return replace(turn, sound=told), (TellToStop(turn.sound.playback),)


def _dying_away(sound: Sounding, now_s: float, limits: Limits, *, sure: bool) -> DyingAway:
    tail = limits.tail_s if sure else limits.assumed_tail_s
    return DyingAway(now_s + tail, sound.since_s, sure)
