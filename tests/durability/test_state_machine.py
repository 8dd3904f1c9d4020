"""
Two devices, one piece: words, keys, undo, redo, kills, merges and clocks that jump, in any order.

Whatever is done is done to the product (the conversation over a journal file) and to a small model
that shares nothing with the engine but the names of the records. After every step both must agree
on the rows, on what can be taken back, and on whether the devices disagree; nothing that was
acknowledged may ever be missing.
"""

from __future__ import annotations

import shutil
from contextlib import ExitStack
from dataclasses import dataclass
from functools import cache
from itertools import count
from typing import TYPE_CHECKING, Any
from unittest.mock import patch

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule

from app.language import phrase_book
from app.pieces.values import NewPiece
from app.session.clock import SetClock
from app.session.conversation import Conversation
from app.session.dialogue import QUESTION_LASTS_MS
from engine import events
from engine.commands import RowsDone, Source, Undo
from engine.history import fold
from engine.journal.exchange import from_lines, take_in, to_lines
from engine.journal.on_disk import beside
from engine.journal.sqlite import SqliteJournal
from engine.talk import Yes
from speech.words.understand import understand
from tests.in_memory import folder_in_memory

if TYPE_CHECKING:
    from collections.abc import Collection
    from pathlib import Path
    from random import Random

    from engine.commands import Command
    from engine.events import Event
    from engine.records import Record
    from engine.talk import Talk

# --- the model -----------------------------------------------------------------------------------


@dataclass(frozen=True)
class Entry:
    """What a record did: `what` is a word and a number or group; `before` are all its ancestors."""

    name: str
    lamport: int
    before: frozenset[str]
    group: str
    what: tuple[str, Any]


MOVES = {"rows", "rip", "count", "open"}


def holding(entries: Collection[Entry]) -> list[Entry]:
    """Return the entries whose group nothing that holds takes back, in the one order."""
    undos = [(entry.group, entry.what[1]) for entry in entries if entry.what[0] == "undo"]

    @cache
    def holds(group: str) -> bool:
        return not any(taken == group and holds(by) for by, taken in undos)

    ordered = sorted(entries, key=lambda entry: (entry.lamport, entry.name))
    return [entry for entry in ordered if holds(entry.group)]


def place(entries: Collection[Entry]) -> tuple[int, int]:
    """Return how many rows are done and which row is open (0: none)."""
    done = opened = 0
    for word, value in (entry.what for entry in holding(entries)):
        if word == "rows" and value > done:
            done, opened = value, 0
        elif word == "rip":
            done, opened = min(done, value), 0
        elif word == "count":
            done, opened = value, 0
        elif word == "open":
            done, opened = value - 1, value
    return done, opened


def fork(entries: Collection[Entry]) -> tuple[int, ...]:
    """Return where the newest moves leave the work, when not all of them leave it at one row."""
    moved = {entry.group for entry in entries if entry.what[0] in MOVES}
    movers = [e for e in holding(entries) if e.what[0] in MOVES or e.what[1] in moved]
    tips = [one for one in movers if not any(one.name in other.before for other in movers)]
    ends = {place([e for e in entries if e.name in tip.before | {tip.name}])[0] for tip in tips}
    return tuple(sorted(ends)) if len(ends) > 1 else ()


def undoable(entries: Collection[Entry]) -> str | None:
    """Return the newest group that holds and is neither an undo nor the casting on."""
    groups = [e.group for e in holding(entries) if e.what[0] not in {"undo", "cast on"}]
    return groups[-1] if groups else None


def redoable(entries: Collection[Entry]) -> list[str]:
    """Return the undos of the last thing that was taken back, if nothing else was done since."""
    undos = {entry.group for entry in entries if entry.what[0] == "undo"}
    last = max((e.lamport, e.name) for e in entries if e.what[0] != "undo")
    since = [e for e in holding(entries) if (e.lamport, e.name) > last]
    plain = [e for e in since if e.what[1] not in undos]
    return sorted({e.group for e in plain if e.what[1] == plain[-1].what[1]})


# --- the product ---------------------------------------------------------------------------------


class Device:
    """A phone or tablet: a journal file, the talk over it, a clock, and what the model knows."""

    def __init__(self, folder: Path) -> None:
        """Begin with an empty journal."""
        self.folder = folder
        self.starts = 0
        self.clock = SetClock()
        self.path = folder / "0.walesong"
        self.journal = SqliteJournal.open(self.path)
        self.talk: Conversation
        self.known: dict[str, Entry] = {}

    def hear(self, meant: tuple[Command | Talk, ...], source: Source) -> tuple[Record, ...]:
        """Act on what was meant and return what was written."""
        return self.talk.hear(meant, source).written

    def say(self, words: str) -> tuple[Record, ...]:
        """Type words and return what was written."""
        meant = understand(words, phrase_book())
        assert meant, words
        return self.hear(meant, Source.TYPED)

    def restart(self, *, killed: bool) -> None:
        """Start again: after a kill, from the files as the kill leaves them."""
        self.starts += 1
        if killed:
            left = self.folder / f"{self.starts}.walesong"
            for suffix in ("", "-wal"):
                shutil.copy(beside(self.path, suffix), beside(left, suffix))
            self.path = left
        self.journal.close()
        piece = self.talk.piece
        self.journal = SqliteJournal.open(self.path)
        self.talk = Conversation(self.journal, piece, self.clock)

    def learn(self, written: tuple[Record, ...], expected: list[tuple[str, Any]]) -> None:
        """Compare what was written with what the model expects, and take it into the model."""
        assert [as_told(record.event) for record in written] == expected
        assert len({record.group for record in written}) <= 1
        for record in written:
            ancestors = frozenset(self.known)
            newest = ancestors - {name for e in self.known.values() for name in e.before}
            lamport = 1 + max((entry.lamport for entry in self.known.values()), default=0)
            assert set(record.after) == newest
            assert record.lamport == lamport
            told = as_told(record.event)
            self.known[record.id] = Entry(record.id, lamport, ancestors, record.group, told)


def as_told(event: Event) -> tuple[str, Any]:
    """Return an event in the words of the model."""
    match event:
        case events.RowsWorked(last=last):
            return "rows", last
        case events.RippedBack(to=to):
            return "rip", to
        case events.Recounted(done=done):
            return "count", done
        case events.RowReopened(row=row):
            return "open", row
        case events.Undone(group=group):
            return "undo", group
        case events.PieceBegun(name=name):
            return "cast on", name
        case _:
            return "note", event.kind


which = st.integers(0, 1)
few = st.integers(1, 9)
acts = st.sampled_from(["rows", "rows", "note", "undo", "redo", "rip", "open"])


class TwoDevices(RuleBasedStateMachine):
    """Everything that can happen to a piece that is knitted with two devices."""

    @initialize()
    def cast_on(self) -> None:
        """Cast on with one device and bring it to the other."""
        # Kills leave the files as they are; what the disk does to them is for other tests.
        self.place = ExitStack()
        self.folder = self.place.enter_context(folder_in_memory())
        # Real names are random, and break ties in the order: a failure could not be played again.
        names = (f"{number:032x}" for number in count())
        self.names = patch("app.session.conversation.new_name", lambda: next(names))
        self.names.start()
        self.devices = [self._device(name) for name in ("home", "hut")]
        first, second = self.devices
        first.talk = Conversation.begin(first.journal, NewPiece("mug sleeve"), first.clock)
        first.learn(first.talk.records, [("cast on", "mug sleeve")])
        second.talk = Conversation(second.journal, first.talk.piece, second.clock)
        self._bring(first, second, None)

    def _device(self, name: str) -> Device:
        (self.folder / name).mkdir()
        return Device(self.folder / name)

    # --- knitting ---

    @rule(at=which, rows=few, key=st.booleans())
    def rows_done(self, at: int, rows: int, *, key: bool) -> None:
        """Work some rows, by words or by a key; refused while the devices disagree."""
        device = self.devices[at]
        done, _ = place(device.known.values())
        expected = [] if fork(device.known.values()) else [("rows", done + rows)]
        if key:
            written = device.hear((RowsDone(rows),), Source.KEY)
        else:
            written = device.say(f"{rows} rows done")
        device.learn(written, expected)

    @rule(at=which, rows=few)
    def ripped_back(self, at: int, rows: int) -> None:
        """Rip rows back, once asked; never more than there are."""
        device = self.devices[at]
        done, _ = place(device.known.values())
        possible = not fork(device.known.values()) and rows <= done
        device.learn(device.say(f"ripped back {rows} rows"), [])
        device.learn(device.say("yes"), [("rip", done - rows)] if possible else [])

    @rule(at=which, row=few)
    def recounted(self, at: int, row: int) -> None:
        """Count the rows by eye; this is also how a disagreement is settled."""
        device = self.devices[at]
        device.learn(device.say(f"really on row {row}"), [])
        device.learn(device.say("yes"), [("count", row - 1)])
        assert fork(device.known.values()) == ()

    @rule(at=which)
    def unpicked(self, at: int) -> None:
        """Open the last row again, or the one that is open already."""
        device = self.devices[at]
        done, opened = place(device.known.values())
        row = opened or done
        possible = row > 0 and not fork(device.known.values())
        device.learn(device.say("unpicking this row"), [("open", row)] if possible else [])

    @rule(at=which, count=few)
    def stitches_counted(self, at: int, count: int) -> None:
        """Record something that moves nothing, disagreement or not."""
        device = self.devices[at]
        device.learn(device.say(f"i count 4{count} stitches"), [("note", "stitches_counted")])

    # --- taking back ---

    @rule(at=which, key=st.booleans())
    def taken_back(self, at: int, *, key: bool) -> None:
        """Take back the last thing that holds, on whichever device it was said."""
        device = self.devices[at]
        group = undoable(device.known.values())
        written = device.hear((Undo(),), Source.KEY) if key else device.say("take that back")
        device.learn(written, [("undo", group)] if group else [])

    @rule(at=which)
    def put_back(self, at: int) -> None:
        """Let hold again what was taken back last."""
        device = self.devices[at]
        expected = [("undo", group) for group in redoable(device.known.values())]
        device.learn(device.say("put that back"), expected)

    # --- what happens to devices ---

    @rule(at=which, killed=st.booleans(), ms=st.integers(0, 10**9))
    def started_again(self, at: int, ms: int, *, killed: bool) -> None:
        """Close or kill the program and start it again; its monotonic clock begins anew."""
        device = self.devices[at]
        device.clock.ms = ms
        device.restart(killed=killed)

    @rule(at=which)
    def killed_before_the_answer(self, at: int) -> None:
        """Kill the program while a question stands: answering it then means nothing."""
        device = self.devices[at]
        device.learn(device.say("really on row 5"), [])
        device.restart(killed=True)
        device.learn(device.hear((Yes(),), Source.KEY), [])

    @rule(at=which, date=st.datetimes(), ms=st.integers(0, 3 * QUESTION_LASTS_MS))
    def clock_jumped(self, at: int, date: Any, ms: int) -> None:
        """Set the wall clock to anything and let time pass; a question does not wait for ever."""
        device = self.devices[at]
        device.learn(device.say("really on row 5"), [])
        device.clock.date = f"{date:%Y-%m-%dT%H:%M:%SZ}"
        device.clock.ms += ms
        expected = [("count", 4)] if ms <= QUESTION_LASTS_MS else []
        device.learn(device.say("yes"), expected)

    @rule(at=which, dice=st.randoms(use_true_random=False))
    def brought_over(self, at: int, dice: Random) -> None:
        """Bring to one device what the other knows, in any order, as lines of a file."""
        self._bring(self.devices[1 - at], self.devices[at], dice)

    @rule(acts=st.tuples(acts, acts), rows=st.tuples(few, few), both=st.booleans())
    def done_apart(self, acts: tuple[str, str], rows: tuple[int, int], *, both: bool) -> None:
        """Do something with each device before one hears of the other, or both do."""
        for at, (act, number) in enumerate(zip(acts, rows, strict=True)):
            match act:
                case "rows":
                    self.rows_done(at, number, key=False)
                case "rip":
                    self.ripped_back(at, number)
                case "open":
                    self.unpicked(at)
                case "note":
                    self.stitches_counted(at, number)
                case "undo":
                    self.taken_back(at, key=False)
                case "redo":
                    self.put_back(at)
        self._bring(self.devices[0], self.devices[1], None)
        if both:
            self._bring(self.devices[1], self.devices[0], None)

    def _bring(self, giver: Device, taker: Device, dice: Random | None) -> None:
        lines = list(to_lines(giver.journal.records()))
        if dice is not None:
            dice.shuffle(lines)
        gained = take_in(taker.journal, from_lines(lines).records)
        assert gained.new == len(giver.known.keys() - taker.known.keys())
        assert gained.missing == ()
        taker.known |= giver.known
        taker.talk.reload()

    # --- what must always be so ---

    @invariant()
    def the_product_says_what_the_model_says(self) -> None:
        """Compare rows, the open row, what can be taken and put back, and disagreement."""
        for device in self.devices:
            entries, state = device.known.values(), device.talk.state
            done, opened = place(entries)
            assert (state.done, state.working) == (done, done + 1)
            assert (state.in_row.row if state.in_row else 0) == opened
            assert state.fork == fork(entries)
            assert state.undoable == undoable(entries)
            assert list(state.redoable) == redoable(entries)

    @invariant()
    def nothing_acknowledged_is_missing(self) -> None:
        """Find in the journal exactly what was acknowledged; it folds to what is shown."""
        for device in self.devices:
            records = device.journal.records()
            assert {record.id for record in records} == device.known.keys()
            assert fold(reversed(records)) == device.talk.state

    def teardown(self) -> None:
        """Let both hear of each other in the end: they agree, and one recount settles the rest."""
        first, second = self.devices
        self._bring(first, second, None)
        self._bring(second, first, None)
        assert first.talk.state == second.talk.state
        first.learn(first.say("really on row 7"), [])
        first.learn(first.say("yes"), [("count", 6)])
        self._bring(first, second, None)
        assert first.talk.state == second.talk.state
        assert (second.talk.state.done, second.talk.state.fork) == (6, ())
        self.names.stop()
        for device in self.devices:
            device.journal.close()
        self.place.close()


TestTwoDevices = TwoDevices.TestCase
TestTwoDevices.settings = settings(
    max_examples=settings().max_examples * 2 // 5, stateful_step_count=25
)
