"""Turn-taking: it never listens to itself, and it always listens again."""

from __future__ import annotations

from dataclasses import dataclass, field

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from speech.speaking.playback import PlaybackOutcome
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
    Quiet,
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

LIMITS = Limits(tail_s=0.25, assumed_tail_s=0.6, grace_s=0.7, cap_s=30.0)


def play(*story: tuple[float, TurnEvent], turn: Turn | None = None) -> tuple[Turn, list[Effect]]:
    """Let a story of events happen and return the last turn and everything that was to be done."""
    turn = turn or Turn()
    effects: list[Effect] = []
    for now, event in story:
        turn, more = step(turn, event, now, LIMITS)
        effects.extend(more)
    return turn, effects


def test_the_microphone_is_closed_before_the_sound_and_opened_after_the_tail() -> None:
    """An ordinary answer: closed first, then spoken, open again a tail after the reported end."""
    turn, effects = play(
        (0.0, PlaybackWanted(1, 2.0)),
        (1.8, PlaybackEnded(1, PlaybackOutcome.DONE)),
        (2.04, TimePassed()),
    )
    assert effects == [Mute(), Begin(1)]
    assert not turn.open
    assert step(turn, TimePassed(), 2.06, LIMITS) == (Turn(), (Unmute(),))


def test_a_recording_is_never_closed_because_of_a_sound() -> None:
    """What plays a recording to itself goes on listening while it speaks."""
    turn, effects = play((0.0, PlaybackWanted(1, 2.0)), turn=Turn(hears_room=False))
    assert turn.open
    assert effects == [Begin(1)]


def test_a_lost_report_ends_at_the_deadline() -> None:
    """If nobody reports the end, the sound is told to stop and listening goes on."""
    turn, effects = play((0.0, PlaybackWanted(1, 2.0)), (4.51, TimePassed()), (5.2, TimePassed()))
    assert effects == [Mute(), Begin(1), TellToStop(1), Unmute()]
    assert turn.open


@pytest.mark.parametrize("outcome", list(PlaybackOutcome))
def test_every_outcome_leads_back_to_listening(outcome: PlaybackOutcome) -> None:
    """A sound that failed, was interrupted or only presumably ended is over all the same."""
    turn, _ = play((0.0, PlaybackWanted(1, 2.0)), (0.1, PlaybackEnded(1, outcome)))
    assert isinstance(turn.sound, DyingAway)
    assert turn.wakes_s == pytest.approx(0.7 if outcome is PlaybackOutcome.ASSUMED else 0.35)


def test_late_and_repeated_reports_change_nothing() -> None:
    """A report of an older sound does not open the microphone into the present one."""
    before, _ = play(
        (0.0, PlaybackWanted(1, 1.0)),
        (1.0, PlaybackEnded(1, PlaybackOutcome.DONE)),
        (1.1, PlaybackWanted(2, 1.0)),
    )
    after, effects = step(before, PlaybackEnded(1, PlaybackOutcome.DONE), 1.2, LIMITS)
    assert (after, effects) == (before, ())
    assert isinstance(after.sound, Sounding)
    assert after.sound.until_s == pytest.approx(4.1)
    assert step(Turn(), PlaybackEnded(1, PlaybackOutcome.DONE), 5.0, LIMITS) == (Turn(), ())


def test_an_interruption_stops_the_sound_and_waits_for_its_end() -> None:
    """The microphone opens when the sound is really gone, or soon if nobody says so."""
    turn, effects = play(
        (0.0, PlaybackWanted(1, 9.0)), (1.0, StopSounding()), (1.1, StopSounding())
    )
    assert effects == [Mute(), Begin(1), TellToStop(1)]
    assert not turn.open
    reported, _ = play(
        (1.15, PlaybackEnded(1, PlaybackOutcome.INTERRUPTED)), (1.45, TimePassed()), turn=turn
    )
    lost, _ = play((1.75, TimePassed()), (2.4, TimePassed()), turn=turn)
    assert reported.open
    assert lost.open


def test_a_sound_that_cannot_be_stopped_keeps_its_time() -> None:
    """Told to stop, a voice that cannot do so keeps the microphone closed until it has ended."""
    turn, _ = play((0.0, PlaybackWanted(1, 4.0, stoppable=False)), (1.0, StopSounding()))
    assert turn.wakes_s == pytest.approx(7.5)


def test_a_sound_waits_until_a_lost_one_has_surely_gone() -> None:
    """After an end that nobody reported the next sound begins later than after a reported one."""
    lost, _ = play((0.0, PlaybackWanted(1, 2.0)), (4.6, TimePassed()))
    assert play((4.7, PlaybackWanted(2, 1.0)), turn=lost)[1] == [Drop(2)]
    assert play((5.3, PlaybackWanted(2, 1.0)), turn=lost)[1] == [Begin(2)]


def test_stop_listening_while_it_speaks_leaves_it_closed() -> None:
    """The end of the sound does not open a microphone that the knitter has closed."""
    turn, effects = play(
        (0.0, PlaybackWanted(1, 1.0)),
        (0.5, ListeningWanted(wanted=False)),
        (1.0, PlaybackEnded(1, PlaybackOutcome.DONE)),
        (2.0, TimePassed()),
    )
    assert effects == [Mute(), Begin(1)]
    assert turn.sound == Quiet()
    assert not turn.open
    assert step(turn, ListeningWanted(wanted=True), 3.0, LIMITS)[1] == (Unmute(),)


def test_a_telephone_call_silences_and_deafens() -> None:
    """During a call it neither speaks nor listens; afterwards it listens."""
    turn, effects = play(
        (0.0, PlaybackWanted(1, 5.0)),
        (1.0, CallChanged(on_call=True)),
        (1.1, PlaybackEnded(1, PlaybackOutcome.INTERRUPTED)),
        (60.0, PlaybackWanted(2, 1.0)),
    )
    assert effects == [Mute(), Begin(1), TellToStop(1), Drop(2)]
    turn, effects = play((90.0, CallChanged(on_call=False)), turn=turn)
    assert effects == [Unmute()]
    assert turn.open


def test_silence_does_not_close_the_microphone() -> None:
    """A playback that nobody hears takes no turn."""
    turn, effects = play((0.0, PlaybackWanted(1, 5.0, audible=False)))
    assert effects == [Begin(1)]
    assert turn == Turn()


def test_two_sounds_do_not_talk_over_each_other() -> None:
    """A second sound is refused while the first one lasts."""
    _, effects = play((0.0, PlaybackWanted(1, 5.0)), (1.0, PlaybackWanted(2, 5.0)))
    assert effects == [Mute(), Begin(1), Drop(2)]


def test_changing_to_a_microphone_while_it_speaks_closes_it() -> None:
    """A source that hears the room does not begin in the middle of a sentence."""
    turn, effects = play(
        (0.0, PlaybackWanted(1, 5.0)),
        (1.0, SourceChanged(hears_room=True)),
        turn=Turn(hears_room=False),
    )
    assert effects == [Begin(1), Mute()]
    assert not turn.open


# --- any story ---------------------------------------------------------------------------------


@dataclass
class Room:
    """A room with loudspeaker and microphone in it, played against the state machine.

    A sound lasts as long as it likes. One that can be stopped falls silent within `slow_s` of being
    told to; one that cannot keeps to the time that was announced. Reports may come late, twice or
    never, but not before the sound has left the device's buffer by more than `buffer_s`.
    """

    turn: Turn
    slow_s: float = 0.0
    buffer_s: float = 0.0
    now: float = 0.0
    number: int = 0
    listening: bool = True
    opened: int = 0
    closed_since: float | None = None
    sounds: dict[int, tuple[float, float, bool]] = field(default_factory=dict)
    """By playback: from when to when it can be heard, and whether it can be stopped."""
    reports: list[tuple[float, PlaybackEnded]] = field(default_factory=list)
    plans: dict[int, Plan] = field(default_factory=dict)

    def happens(self, event: TurnEvent) -> None:
        """Let one event happen now."""
        self.turn, effects = step(self.turn, event, self.now, LIMITS)
        for effect in effects:
            self.does(effect)
        self.looks()

    def plays(self, plan: Plan) -> None:
        """Ask for a playback that will go as planned."""
        self.number += 1
        self.plans[self.number] = plan
        self.happens(PlaybackWanted(self.number, plan.expected_s, stoppable=plan.stoppable))

    def does(self, effect: Effect) -> None:
        """Do what the state machine asks for."""
        match effect:
            case Mute():
                assert self.listening
                self.listening = False
            case Unmute():
                assert not self.listening
                self.listening = True
                self.opened += 1
            case Begin(number):
                plan = self.plans[number]
                ends = self.now + plan.lasts_s
                self.sounds[number] = (self.now, ends, plan.stoppable)
                self.reports += [
                    (ends + late - self.buffer_s, PlaybackEnded(number, plan.outcome))
                    for late in plan.reports_s
                ]
            case TellToStop(number):
                began, ends, stoppable = self.sounds[number]
                if stoppable and self.now + self.slow_s < ends:
                    self.sounds[number] = (began, self.now + self.slow_s, stoppable)
                    # What was stopped early also reports early.
                    shift = ends - (self.now + self.slow_s)
                    self.reports = [
                        (at - shift if report.playback == number else at, report)
                        for at, report in self.reports
                    ]
            case Drop():
                pass

    def looks(self) -> None:
        """Look around the room: never heard itself, never deaf for too long, and as told."""
        sounding = [
            number for number, (began, ends, _) in self.sounds.items() if began <= self.now < ends
        ]
        assert self.listening == self.turn.open
        if self.turn.hears_room:
            assert not (self.listening and sounding), f"hears its own playback {sounding}"
        # What is left in the device's buffer is played before the next sound.
        at_once = [
            number for number in sounding if self.now < self.sounds[number][1] - self.buffer_s
        ]
        assert len(at_once) <= 1, "two sounds at once"
        may_listen = self.turn.wanted and not self.turn.on_call
        if not may_listen or self.listening:
            self.closed_since = None
        elif self.closed_since is None:
            self.closed_since = self.now
        else:
            deaf_s = self.now - self.closed_since
            assert deaf_s <= LIMITS.cap_s + 1e-6, "deaf for longer than the cap"

    def lives_until(self, then: float) -> None:
        """Let time pass, with every wake-up and every report in between at its own moment."""
        while True:
            due: list[tuple[float, int, TurnEvent]] = [
                (at, 0, report) for at, report in self.reports
            ]
            if self.turn.wakes_s is not None:
                due.append((self.turn.wakes_s, 1, TimePassed()))
            if not due:
                break
            at, _, event = min(due, key=lambda one: one[:2])
            if at > then:
                break
            self.now = max(self.now, at)
            if isinstance(event, PlaybackEnded):
                self.reports.remove((at, event))
            self.happens(event)
        self.now = max(self.now, then)
        self.looks()


@dataclass(frozen=True)
class Plan:
    """How a playback will go, unknown to the state machine."""

    expected_s: float
    lasts_s: float
    stoppable: bool
    outcome: PlaybackOutcome
    reports_s: tuple[float, ...]


def test_a_chain_of_sounds_is_broken_at_the_cap() -> None:
    """One answer after the other does not keep the knitter out for longer than the cap."""
    room = Room(Turn())
    for _ in range(60):
        room.plays(Plan(3.0, 3.0, stoppable=True, outcome=PlaybackOutcome.DONE, reports_s=(0.0,)))
        room.lives_until(room.now + 3.0)
    assert 5 <= room.opened <= 7


@st.composite
def plans(draw: st.DrawFn) -> Plan:
    """Draw a playback: stoppable ones last as long as they like, the others as announced."""
    expected = draw(st.floats(0.0, 25.0))
    stoppable = draw(st.booleans())
    longest = 120.0 if stoppable else LIMITS.deadline_s(expected)
    return Plan(
        expected,
        draw(st.floats(0.0, longest)),
        stoppable,
        draw(st.sampled_from(PlaybackOutcome)),
        tuple(draw(st.lists(st.floats(0.0, 40.0), max_size=3))),
    )


Happening = Plan | TurnEvent
happenings = st.one_of(
    plans(),
    st.just(StopSounding()),
    st.just(TimePassed()),
    st.builds(ListeningWanted, st.booleans()),
    st.builds(CallChanged, st.booleans()),
    st.builds(PlaybackEnded, st.integers(-1, -1), st.sampled_from(PlaybackOutcome)),
)
stories = st.lists(st.tuples(st.floats(0.0, 12.0), happenings), max_size=40)
LONG_LOST = Plan(20.0, 120.0, stoppable=True, outcome=PlaybackOutcome.DONE, reports_s=())


@given(
    story=stories,
    hears_room=st.booleans(),
    slow_s=st.floats(0.0, LIMITS.assumed_tail_s),
    buffer_s=st.floats(0.0, LIMITS.tail_s),
)
@example(story=[(0.0, LONG_LOST), (1.0, StopSounding())], hears_room=True, slow_s=0.6, buffer_s=0.0)
@example(story=[(0.0, LONG_LOST), (33.0, LONG_LOST)], hears_room=True, slow_s=0.6, buffer_s=0.25)
def test_it_always_listens_again_and_never_to_itself(
    *, story: list[tuple[float, Happening]], hears_room: bool, slow_s: float, buffer_s: float
) -> None:
    """Whatever happens, and whatever report is lost, late or doubled, both promises hold."""
    room = Room(Turn(hears_room=hears_room), slow_s=slow_s, buffer_s=buffer_s)
    for wait, happening in story:
        room.lives_until(room.now + wait)
        if isinstance(happening, Plan):
            room.plays(happening)
        else:
            room.happens(happening)
    room.happens(CallChanged(on_call=False))
    room.happens(ListeningWanted(wanted=True))
    room.lives_until(room.now + LIMITS.cap_s)
    assert room.listening


@given(st.lists(st.tuples(st.floats(0.0, 100.0), happenings), max_size=30))
def test_a_late_clock_loses_nothing(story: list[tuple[float, Happening]]) -> None:
    """A machine that slept wakes up listening: a deadline is kept even if nobody came to look."""
    turn, now = Turn(), 0.0
    for number, (wait, happening) in enumerate(story):
        now += wait
        event = (
            PlaybackWanted(number, happening.expected_s, stoppable=happening.stoppable)
            if isinstance(happening, Plan)
            else happening
        )
        turn, _ = step(turn, event, now, LIMITS)
    turn, _ = step(turn, CallChanged(on_call=False), now, LIMITS)
    turn, _ = step(turn, ListeningWanted(wanted=True), now, LIMITS)
    turn, _ = step(turn, TimePassed(), now + LIMITS.cap_s, LIMITS)
    turn, _ = step(turn, TimePassed(), now + LIMITS.cap_s + LIMITS.assumed_tail_s, LIMITS)
    assert turn.open
