"""
Who is in the class and what the board shows: values, and one keeper that every thread may ask.

Nobody has a name: a learner is a seat with a number and a secret that only her phone knows. What
she can say is one of three words; what she can read is the lesson's own steps.
"""

from __future__ import annotations

import secrets
import threading
import time
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Callable

    from app.lessons.leading import LessonNow
    from app.lessons.lesson import Lesson

MOST_SEATS: Final = 60
"""So many phones are let in: a class of forty, and some that came in twice."""


class Answer(StrEnum):
    """What a learner tells of herself."""

    KNITTING = "knitting"
    READY = "ready"
    STUCK = "stuck"


@dataclass(frozen=True, slots=True)
class Seat:
    """One learner: her number, her last answer, and whether her drawings are mirrored."""

    number: int
    answer: Answer = Answer.KNITTING
    left_handed: bool = False


@dataclass(frozen=True, slots=True)
class StepTold:
    """For the story: a step by its number from 0, how many were stuck, how long it was shown."""

    at: int
    stuck: int = 0
    seconds: float = 0.0


@dataclass(frozen=True, slots=True)
class Story:
    """What a class got through: its lesson (None: none yet), its seats, and the steps shown."""

    lesson: Lesson | None
    seats: int
    steps: tuple[StepTold, ...]


class Room:
    """Keeps the seats and what the board shows; any thread may call any method."""

    def __init__(self, now_s: Callable[[], float] = time.monotonic) -> None:
        """Begin with an empty room and nothing on the board; `now_s` is a clock in seconds."""
        self._now_s = now_s
        self._shown_s: dict[int, float] = {}
        self._since_s = now_s()
        self._lock = threading.Lock()
        self._seats: dict[str, Seat] = {}
        self._now: LessonNow | None = None
        self._turn = 0
        self._stuck: dict[int, set[int]] = {}
        self.changed: Callable[[int], None] = lambda _: None
        """Called with the new turn after the board has changed; it must not wait."""

    @property
    def now(self) -> LessonNow | None:
        """The lesson as it stands on the board."""
        return self._now

    @property
    def turn(self) -> int:
        """How many times the board has changed."""
        return self._turn

    def follow(self, now: LessonNow | None) -> None:
        """Show what the board shows; with another step all are knitting again."""
        with self._lock:
            if now == self._now:
                return
            another = self._step(now) != self._step(self._now)
            if another:
                self._seats = {
                    token: replace(seat, answer=Answer.KNITTING)
                    for token, seat in self._seats.items()
                }
                self._count_time()
                if now is not None:
                    self._stuck.setdefault(now.leading.at, set())
            self._now = now
            self._turn += 1
            turn = self._turn
        self.changed(turn)

    def _count_time(self) -> None:
        """Count the time since the last step for the one that stands."""
        at, moment = self._step(self._now), self._now_s()
        if at is not None:
            self._shown_s[at] = self._shown_s.get(at, 0.0) + moment - self._since_s
        self._since_s = moment

    @staticmethod
    def _step(now: LessonNow | None) -> int | None:
        return now.leading.at if now is not None else None

    def join(self) -> str | None:
        """Let a phone in; return its secret, or None if the room is full."""
        with self._lock:
            if len(self._seats) >= MOST_SEATS:
                return None
            token = secrets.token_urlsafe(24)
            self._seats[token] = Seat(len(self._seats) + 1)
            return token

    def seat(self, token: str) -> Seat | None:
        """Return the seat of a phone by its secret; None: it is not in the room."""
        with self._lock:
            return self._seats.get(token)

    def tell(self, token: str, answer: Answer) -> bool:
        """Take a learner's answer; False: she is not in the room."""
        with self._lock:
            seat = self._seats.get(token)
            if seat is None:
                return False
            self._seats[token] = replace(seat, answer=answer)
            if answer is Answer.STUCK and self._now is not None:
                self._stuck.setdefault(self._now.leading.at, set()).add(seat.number)
            return True

    def turn_hands(self, token: str, *, left_handed: bool) -> bool:
        """Mirror a learner's drawings, or not; False: she is not in the room."""
        with self._lock:
            seat = self._seats.get(token)
            if seat is None:
                return False
            self._seats[token] = replace(seat, left_handed=left_handed)
            return True

    def empty(self) -> None:
        """Let every phone go; what was shown is forgotten."""
        with self._lock:
            self._seats, self._stuck, self._shown_s = {}, {}, {}
            self._since_s = self._now_s()

    def seats(self) -> tuple[Seat, ...]:
        """Return all seats in the order of their numbers."""
        with self._lock:
            return tuple(self._seats.values())

    def story(self) -> Story:
        """Return the steps that were shown, in order, and how many were stuck at each."""
        with self._lock:
            self._count_time()
            steps = tuple(
                StepTold(at, len(who), self._shown_s.get(at, 0.0))
                for at, who in sorted(self._stuck.items())
            )
            lesson = self._now.leading.lesson if self._now is not None else None
            return Story(lesson, len(self._seats), steps)
