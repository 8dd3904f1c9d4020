"""The reminder of a rest: by the time of knitting, shown when due, said once, put off, off."""

from __future__ import annotations

import queue
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest

from app import resources
from app.language import phrase_book
from app.session import assistant
from app.session.assistant import Assistant
from app.session.clock import SetClock
from app.session.opening import open_piece
from app.session.ports import Silent
from app.session.rest_reminder import Rests
from app.session.settings import REST_EVERY, Settings, read_settings, write_settings
from app.session.settings_file import keep_choices
from app.wiring import composition
from app.wording import reply_wording
from engine import events
from engine.commands import RowsDone, Source
from engine.forecast.breaks import LATER_MINUTES, BreakSettings
from engine.plan.advice_tables import read_breaks
from engine.replies import Say, reply
from engine.talk import RemindLater
from tests.made_up import record

if TYPE_CHECKING:
    from pathlib import Path

    from app.session.situation import Situation
    from engine.records import Record

MINUTE = 60.0


def row(number: int, at_s: float) -> list[Record]:
    """Return the record of a row that was done at a time."""
    made = record(events.RowsWorked("body", number, number))
    return [replace(made, monotonic_ms=int(at_s * 1000))]


def knitting(rests: Rests, start: int, end: int, *, row_s: float = 60.0) -> list[int]:
    """Knit rows `start` to `end`, one a minute; return the rows with which something was said."""
    said = []
    for number in range(start, end + 1):
        now = number * row_s
        rests.rows(row(number, now))
        rests.look(now)
        if rests.word() is not None:
            said.append(number)
    return said


def test_it_comes_after_the_usual_half_hour_and_once() -> None:
    """Thirty rows of a minute: said with the thirtieth, then a whole interval later."""
    rests = Rests()
    assert knitting(rests, 1, 59) == [30]
    assert rests.minutes == 30
    assert knitting(rests, 60, 61) == [60]


def test_the_usual_interval_is_that_of_the_table() -> None:
    """Settings, engine and the table of published advice name the same minutes."""
    advice = read_breaks(resources.text("shared/tables/breaks.toml"))
    assert Settings().rest_every == BreakSettings().every_minutes == advice.every_minutes
    inside = [minutes for minutes in REST_EVERY if minutes]
    assert advice.shortest_minutes <= min(inside)
    assert max(inside) <= advice.longest_minutes


def test_who_rests_is_not_reminded_and_the_offer_goes_away() -> None:
    """After a pause the time begins anew, and what was shown is gone."""
    rests = Rests()
    knitting(rests, 1, 31)
    assert rests.minutes is not None
    rests.rows(row(32, 31 * MINUTE + 10 * MINUTE))
    rests.look(41 * MINUTE)
    assert rests.minutes is None


def test_put_off_comes_again_ten_minutes_later() -> None:
    """Put off, the offer goes away for ten minutes of knitting."""
    rests = Rests()
    knitting(rests, 1, 31)
    rests.put_off(31 * MINUTE)
    assert rests.minutes is None
    assert knitting(rests, 32, 45) == [41]
    assert LATER_MINUTES == 10


def test_switched_off_nothing_comes() -> None:
    """Off is off, and takes away what is shown."""
    rests = Rests(BreakSettings(on=False))
    assert knitting(rests, 1, 90) == []
    assert rests.wait_s(90 * MINUTE) is None
    shown = Rests()
    knitting(shown, 1, 31)
    shown.change(BreakSettings(on=False))
    assert shown.minutes is None


def test_it_says_how_long_to_wait() -> None:
    """Nothing to wait for before the first row or while she rests; else until it is due."""
    rests = Rests(BreakSettings(every_minutes=10))
    assert rests.wait_s(0) is None
    knitting(rests, 1, 7)
    assert rests.wait_s(7 * MINUTE) is None  # without another row she would be resting by then
    knitting(rests, 8, 9)
    assert rests.wait_s(9 * MINUTE) == pytest.approx(MINUTE)
    assert rests.wait_s(9 * MINUTE + 200) is None


@pytest.mark.parametrize("minutes", REST_EVERY)
def test_the_setting_is_kept(minutes: int) -> None:
    """Every choice is written, read again, and means what it says."""
    settings, wrong = read_settings(write_settings(Settings(rest_every=minutes)))
    assert (settings.rest_every, wrong) == (minutes, "")
    assert settings.breaks.on is bool(minutes)
    if minutes:
        assert settings.breaks.every_minutes == minutes


def test_the_words_are_an_offer_with_care() -> None:
    """It offers and is no question, claims nothing, and points to a professional where it hurts."""
    written = reply_wording().written(reply(Say.REST, minutes=30))
    assert "perhaps" in written
    assert "doctor" in written
    care = read_breaks(resources.text("shared/tables/breaks.toml"))
    assert care.stop in written


# --- through the assistant ----------------------------------------------------------------------


_NEVER_S = 1e6


@pytest.fixture(autouse=True)
def _no_other_program(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nobody else writes to the journal: it is not looked for every two seconds."""
    monkeypatch.setattr(assistant, "_LOOK_EVERY_S", _NEVER_S)


class Waiting(queue.SimpleQueue[Any]):
    """An inbox beside a clock that is set: waiting for a time makes that time come."""

    def __init__(self, clock: SetClock) -> None:
        """Wait by this clock."""
        super().__init__()
        self.clock = clock
        self.waited: list[float] = []

    def get(self, block: bool = True, timeout: float | None = None) -> Any:  # noqa: FBT001, FBT002
        """Return what is there, or let the time pass that was to be waited."""
        if timeout is None or timeout >= _NEVER_S or not self.empty():
            return super().get(block)
        self.waited.append(timeout)
        self.clock.ms += int(timeout * 1000) + 1
        raise queue.Empty


class Sitting:
    """An assistant at work beside a clock that is set."""

    def __init__(self, path: Path) -> None:
        """Begin a mug sleeve."""
        self.clock = SetClock()
        self.last_ms = 0
        self.inbox = Waiting(self.clock)
        self.shown: list[Situation] = []
        self.voice = Silent()
        self.assistant = Assistant(
            lambda: open_piece(path, self.clock, None, fresh=False, source=Source.KEY),
            phrase_book(),
            self.shown.append,
            self.voice,
            self.clock,
        )
        self.assistant._inbox = self.inbox
        self.assistant.remind(BreakSettings(every_minutes=10))
        self.assistant.start()
        assert self.assistant.ready(), self.assistant.failed

    def row(self, seconds: int = 60) -> list[Say]:
        """Let a row's time pass, tell the row, and return what was answered."""
        self.last_ms += seconds * 1000  # waiting may have taken longer than the row
        self.clock.ms = max(self.clock.ms, self.last_ms)
        before = len(self.voice.answered)
        self.assistant.typed_and_answered("row done")
        return [one.say for replies in self.voice.answered[before:] for one in replies]


def test_it_is_shown_when_due_and_said_with_the_next_row(tmp_path: Path) -> None:
    """The timer of the inbox shows it without a sound; the next row's answer says it, once."""
    sitting = Sitting(tmp_path / "j.walesong")
    said = [Say.REST in sitting.row(55) for _ in range(13)]
    assert said.count(True) == 1
    assert any(one.rest is not None for one in sitting.shown)
    assert sitting.inbox.waited, "nothing was waited for"
    assert len(sitting.inbox.waited) < 5, "it wakes only when something is due"
    first = next(one for one in sitting.shown if one.rest is not None)
    assert first.rest == 10
    assert Say.REST not in {one.say for one in first.replies}
    sitting.assistant.stop()


def test_remind_me_later_and_switching_off(tmp_path: Path) -> None:
    """Put off by a word, the offer goes from the board; switched off, the word says so."""
    sitting = Sitting(tmp_path / "j.walesong")
    for _ in range(13):
        sitting.row(55)
    assert sitting.shown[-1].rest is not None
    sitting.assistant.typed_and_answered("remind me later")
    assert sitting.shown[-1].rest is None
    assert sitting.voice.answered[-1][0] == reply(
        Say.REST_LATER, sitting.voice.answered[-1][0].tone, minutes=LATER_MINUTES
    )
    sitting.assistant.remind(BreakSettings(on=False))
    sitting.assistant.submit(RemindLater(), Source.KEY)
    sitting.assistant.submit(RowsDone(), Source.KEY)
    sitting.assistant.stop()
    assert Say.REST_OFF in {one.say for replies in sitting.voice.answered for one in replies}


def test_what_is_kept_on_the_device_is_heeded(tmp_path: Path) -> None:
    """Reminders that were switched off stay off the next time, in the terminal too."""
    assert keep_choices(Settings(rest_every=0), "") == ""
    helper = composition.assistant(tmp_path / "j.walesong", None, lambda _: None, Silent())
    helper.start()
    assert helper.ready(), helper.failed
    helper.typed_and_answered("row done")
    assert not helper._rests.settings.on
    helper.stop()
