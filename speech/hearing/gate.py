"""The foreground gate: where a near voice begins and ends against the room and far talk.

It looks back. A few times a second it takes the last seconds as levels over time, finds the
loudest part, and follows it in both directions down to a threshold that lies between the room and
the voice. So a louder voice that comes in over other people's talk gets a tight segment of its
own, even if the gate had taken the talk for a voice until then. A tight segment is worth more
than any other measure when other people talk.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from speech.hearing.sound import RATE, SILENCE_DB

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from speech.hearing.sound import Samples

FRAME = RATE // 100
"""Samples in one step of the gate (10 ms)."""
BANDS = 14
"""Bands in which voice and room are compared, evenly spread on the mel scale."""
_STEPS_PER_S = RATE // FRAME
_WINDOW = 512  # 32 ms
_LOWEST_HZ, _HIGHEST_HZ = 150.0, 5000.0  # below is hum, above hardly any voice
_LEAST_NEXT = 8  # steps that are loud, before it counts as a voice again
_BEFORE_NEXT = 5  # steps in which a voice is still soft
_ONSET = 30  # steps in which a voice has reached its level
_LEAST_ROOM = 12  # steps before anything can stand out of a room


@dataclass(frozen=True, slots=True)
class GateSettings:
    """The gate's rules; levels in dB, times in seconds."""

    stands_out: float = 7.0
    """A voice is louder than the room by this much at its loudest."""
    above_room: float = 4.0
    """It is followed down to so far above the room,"""
    most_below_peak: float = 24.0
    """but never further than this below its loudest part,"""
    least_below_peak: float = 8.0
    """and always as far as this."""
    same_voice: float = 3.0
    """A word that is louder than those just before it by no more than this is of the same voice."""
    core_below_peak: float = 10.0
    """The core of a voice is no further than this below its loudest part."""
    bridged_s: float = 0.45
    """Gaps inside a voice are no longer than this."""
    shortest_s: float = 0.12
    """What is shorter is a click."""
    longest_s: float = 8.0
    """Nobody takes longer for a command."""
    room_s: float = 3.0
    """The room is judged over the time before the voice."""
    room_share: float = 0.85
    """Which share of that time was quieter than what counts as the room's level."""
    smoothed: int = 5
    """Steps over which levels are averaged."""
    floor_db: float = -75.0
    """A room is never taken to be quieter than this: then every rustle would be a voice."""


@dataclass(frozen=True, slots=True)
class Segment:
    """A near voice, in samples since the stream began, and how loud it and the room are."""

    start: int
    end: int
    """Where it was last heard; it may go on."""
    peak_db: float
    room_db: float
    silent_s: float
    """For how long it has been quiet since."""
    core_start: int
    core_end: int
    """The part that far talk cannot reach: all within `core_below_peak` of the loudest."""
    core_silent_s: float
    """For how long it has been quieter than that."""
    next_start: int | None = None
    """Where the next voice has begun behind a pause, if one has."""

    @property
    def seconds(self) -> float:
        """How long it lasts so far."""
        return (self.end - self.start) / RATE


class Gate:
    """Follows one stream of sound at `sound.RATE`, given in pieces of any length."""

    def __init__(self, settings: GateSettings) -> None:
        """Begin with an unknown room."""
        self._settings = settings
        self._rest: Samples = np.zeros(_WINDOW - FRAME, dtype=np.float32)
        kept = round((settings.longest_s + settings.room_s + 1) * _STEPS_PER_S)
        self._bands: NDArray[np.float32] = np.zeros((kept, BANDS), dtype=np.float32)
        self._voice: NDArray[np.bool_] = np.zeros(kept, dtype=bool)
        self._held = 0  # steps in the two histories, the latest last
        self._steps = 0  # since the stream began
        self._free = 0  # the first step that no told segment has taken
        self._began: int | None = None  # the step where the voice that goes on has begun
        self.level_db = SILENCE_DB
        """The level of the last piece."""
        self.room_db = settings.floor_db
        """The level of the room at the last look."""

    def feed(self, samples: Samples) -> None:
        """Take in the next samples."""
        joined = np.concatenate([self._rest, samples])
        count = (len(joined) - _WINDOW) // FRAME + 1
        if count <= 0:
            self._rest = joined
            return
        self._rest = joined[count * FRAME :]
        windows = np.lib.stride_tricks.sliding_window_view(joined, _WINDOW)[::FRAME][:count]
        power = np.square(np.abs(np.fft.rfft(windows * _TAPER))) / _TAPER_POWER
        bands = np.asarray(power @ _BAND_WEIGHTS, dtype=np.float32)
        kept = len(self._bands)
        bands = bands[-kept:]
        self._bands = np.concatenate([self._bands[len(bands) :], bands])
        self._voice = np.concatenate([self._voice[len(bands) :], np.zeros(len(bands), dtype=bool)])
        self._held = min(kept, self._held + len(bands))
        self._steps += count
        self.level_db = _db(float(bands.sum(axis=1).mean()))

    def segment(self) -> Segment | None:
        """Return the voice that is speaking or has just spoken, or None."""
        settings = self._settings
        first = self._steps - self._held  # the step where the history begins
        free = max(self._free - first, 0)
        bands = self._bands[len(self._bands) - self._held :]
        voice = self._voice[len(self._voice) - self._held :]
        if self._held - free < 2:  # noqa: PLR2004 (a voice is at least that)
            self._began = None
            return None
        noise = self._noise(bands, ~voice)
        levels = self._levels(bands, noise)
        peak_at = free + int(np.argmax(levels[free:]))
        peak = float(levels[peak_at])
        # A first guess tells which part of the time before was the room: what is nearly as loud as
        # the loudest part and not long ago is the same voice.
        room_db = settings.floor_db
        threshold = peak
        began = self._goes_on_since(levels, first, peak)
        start, end = _block(
            levels, peak - settings.least_below_peak, peak_at, free, 2 * self._bridged
        )
        for _ in range(2):
            before = max(0, min(start, began) - 10)
            room = levels[:before][~voice[:before]][-round(settings.room_s * _STEPS_PER_S) :]
            if len(room) < _LEAST_ROOM:  # the voice was there from the beginning
                room = np.array([settings.floor_db])
            room_db = max(settings.floor_db, float(np.quantile(room, settings.room_share)))
            lowest, highest = peak - settings.most_below_peak, peak - settings.least_below_peak
            threshold = min(max(room_db + settings.above_room, lowest), highest)
            start, end = _block(levels, threshold, peak_at, free, self._bridged)
        self.room_db = room_db
        if peak < room_db + settings.stands_out:
            self._began = None
            return None
        self._began = first + start
        behind = end + 1 + self._bridged
        again = np.flatnonzero(levels[behind:] > threshold)
        core = max(threshold, peak - settings.core_below_peak)
        core_start, core_end = _block(levels, core, peak_at, free, self._bridged)
        return Segment(
            start=(first + start) * FRAME,
            end=(first + end + 1) * FRAME,
            peak_db=peak,
            room_db=room_db,
            silent_s=(self._held - 1 - end) / _STEPS_PER_S,
            core_start=(first + core_start) * FRAME,
            core_end=(first + core_end + 1) * FRAME,
            core_silent_s=(self._held - 1 - core_end) / _STEPS_PER_S,
            next_start=(
                (first + behind + int(again[0])) * FRAME if len(again) >= _LEAST_NEXT else None
            ),
        )

    def take(self, segment: Segment) -> None:
        """
        Leave a segment behind: it was dealt with, and it was not the room.

        A voice that has begun behind it stays.
        """
        start, end = segment.start // FRAME, segment.end // FRAME
        offset = self._steps - len(self._voice)
        self._voice[max(0, start - offset) : max(0, end - offset)] = True
        went_on = segment.next_start
        self._free = self._steps if went_on is None else went_on // FRAME - _BEFORE_NEXT
        self._began = None

    def forget(self, *, but_s: float = 0.0) -> None:
        """Take everything until now, or until `but_s` seconds ago, for the room."""
        self._free = max(self._free, self._steps - round(but_s * _STEPS_PER_S))
        self._began = None

    def _goes_on_since(self, levels: NDArray[np.float32], first: int, peak: float) -> int:
        """
        Return where in the levels the voice has begun that the loudest part belongs to.

        It is their end if that is another voice: much louder than what was one until just now.
        What came before a word of the same voice was not the room, though it may be softer.
        """
        if self._began is None:
            return len(levels)
        began = max(self._began - first, 0)
        until_now = levels[began : max(len(levels) - _ONSET, began + 1)]
        same = peak < float(until_now.max()) + self._settings.same_voice
        return began if same else len(levels)

    @property
    def _bridged(self) -> int:
        return round(self._settings.bridged_s * _STEPS_PER_S)

    def _noise(self, bands: NDArray[np.float32], quiet: NDArray[np.bool_]) -> NDArray[np.float32]:
        """Return the steady part of the room, per band."""
        chosen = bands[quiet] if int(quiet.sum()) >= _LEAST_ROOM else bands
        return np.asarray(np.quantile(chosen, 0.3, axis=0), dtype=np.float32)

    def _levels(
        self, bands: NDArray[np.float32], noise: NDArray[np.float32]
    ) -> NDArray[np.float32]:
        """Return what stands above the steady noise, in dB, smoothed over time."""
        above = np.maximum(bands - 2 * noise, 0.1 * noise).sum(axis=1)
        width = self._settings.smoothed
        padded = np.concatenate(
            [np.repeat(above[:1], width // 2), above, np.repeat(above[-1:], width // 2)]
        )
        smooth = np.convolve(padded, np.full(width, 1 / width), mode="valid")
        return np.asarray(10 * np.log10(np.maximum(smooth, 1e-12)), dtype=np.float32)


def _block(
    levels: NDArray[np.float32], threshold: float, peak_at: int, free: int, bridged: int
) -> tuple[int, int]:
    """Follow the loudest place outwards over all gaps that are short enough."""
    loud = np.flatnonzero(levels[free:] > threshold) + free
    if len(loud) == 0:
        return peak_at, peak_at
    breaks = np.flatnonzero(np.diff(loud) > bridged)
    begins = np.concatenate([loud[:1], loud[breaks + 1]])
    ends = np.concatenate([loud[breaks], loud[-1:]])
    inside = int(np.searchsorted(begins, peak_at, side="right")) - 1
    inside = max(0, inside)
    return int(begins[inside]), int(ends[inside])


def _db(power: float) -> float:
    return float(10 * np.log10(max(power, 1e-12)))


def _band_weights() -> NDArray[np.float32]:
    """Return (bins, bands) weights of overlapping triangles on the mel scale (O'Shaughnessy)."""
    mels = np.linspace(_mel(_LOWEST_HZ), _mel(_HIGHEST_HZ), BANDS + 2)
    edges = 700 * (10 ** (mels / 2595) - 1)
    bins = np.fft.rfftfreq(_WINDOW, 1 / RATE)[:, None]
    rising = (bins - edges[:-2]) / (edges[1:-1] - edges[:-2])
    falling = (edges[2:] - bins) / (edges[2:] - edges[1:-1])
    return np.clip(np.minimum(rising, falling), 0, None).astype(np.float32)


def _mel(frequency: float) -> float:
    return float(2595 * np.log10(1 + frequency / 700))


_BAND_WEIGHTS = _band_weights()
_TAPER = np.hanning(_WINDOW + 1)[:-1].astype(np.float32)
_TAPER_POWER = float(np.sum(np.square(_TAPER))) * _WINDOW / 2
