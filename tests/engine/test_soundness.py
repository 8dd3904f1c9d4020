"""What cannot be is not written, not taken in, and set aside where an old journal holds it."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from hashlib import sha256
from typing import TYPE_CHECKING

import pytest

from app.command_line import main
from app.language import phrase_book
from app.pieces.values import NewPiece
from app.session.clock import SetClock
from app.session.conversation import Conversation
from engine import events
from engine.commands import Measure, RowsDone, Since, Source
from engine.fabric import Fabric
from engine.history import fold, live
from engine.journal.errors import UnsoundError
from engine.journal.exchange import take_in, to_lines
from engine.journal.memory import MemoryJournal
from engine.journal.salvage import mend
from engine.journal.sqlite import SqliteJournal
from engine.limits import MOST_DENOMINATOR
from engine.quantities import Length, LengthUnit, Mass, MassUnit, parse_number
from engine.records import LARGEST_NUMBER
from engine.replies import Say
from engine.soundness import MOST_LAMPORT, set_aside, why_unsound
from engine.talk import Yes
from speech.words.understand import understand
from tests.made_up import CAP, SLEEVE, knitted, record

if TYPE_CHECKING:
    from pathlib import Path

    from engine.events import Event
    from engine.records import Record

CM, G = LengthUnit.CM, MassUnit.G
TEXT = 'title = "Mug sleeve"\n'


def _measured(row: int, length: Length, from_row: int = 0) -> events.Measured:
    return events.Measured(row, length, Since.CAST_ON, from_row, Fabric.ON_NEEDLE, assumed=False)


def _cm(value: str) -> Length:
    return Length(Fraction(value), CM)


CAN_BE = [
    events.RowsWorked("body", 999_999, 1_000_000),
    events.PatternKept(sha256(TEXT.encode()).hexdigest(), TEXT),
    events.PieceBegun("blanket", "", None, None, 400, Length(Fraction(1000), LengthUnit.M), 12),
    events.PieceBegun("rows only", "", None, None, None, None, 0),
    events.YarnWeighed(3, Mass(Fraction(0), G)),
    events.SwatchCounted(Fraction(41, 2), _cm("10"), None, None, Fabric.WASHED, ""),
    _measured(40, _cm("11.25"), 40),
    events.RowNoted(3, "note", "a thin place in the yarn " * 100),
]
CANNOT_BE = [
    events.RowsWorked("body", 1, 1_000_001),
    events.RowsWorked("body", 5, 4),
    events.RowsWorked("body", 0, 4),
    events.RowsWorked("", 1, 1),
    events.LoopEnded("body", 10**12),
    events.Recounted(LARGEST_NUMBER),
    events.RowReopened(0),
    events.PatternKept("0" * 64, TEXT),
    events.PatternKept(sha256(TEXT.encode()).hexdigest(), TEXT + " "),
    events.PieceBegun("sleeve", "", None, None, 10**7, None, 0),
    events.PieceBegun("sleeve", "", None, None, 44, _cm("0"), 0),
    events.PieceBegun("s" * 501, "", None, None, 44, None, 0),
    _measured(40, _cm("100001")),
    _measured(40, Length(Fraction(1, 10**9), CM)),
    _measured(40, _cm("11"), 41),
    events.YarnWeighed(3, Mass(Fraction(100_001), G)),
    events.SwatchCounted(Fraction(0), _cm("10"), None, None, Fabric.WASHED, ""),
    events.SwatchCounted(Fraction(1, 10**9), _cm("10"), None, None, Fabric.WASHED, ""),
    events.RowNoted(3, "note", "x" * 100_001),
    events.PartnerPartKnitted("body", 10**9, 3, ended=False),
]


@pytest.mark.parametrize("event", CAN_BE, ids=lambda event: event.kind)
def test_what_people_knit_is_far_within_the_bounds(event: Event) -> None:
    """A blanket of a kilometre, a swatch with half a stitch, an empty ball: all of it can be."""
    assert why_unsound(event) == ""


@pytest.mark.parametrize("event", CANNOT_BE, ids=lambda event: event.kind)
def test_what_cannot_be_is_kept_but_counts_for_nothing(event: Event, tmp_path: Path) -> None:
    """In an old journal it changes no state, is counted and named, and a merge leaves it out."""
    history = knitted(5)
    bad = record(event, history)
    after = record(events.RowsWorked("body", 6, 6), [*history, bad])
    state = fold([*history, bad, after])
    assert state == replace(fold([*history, after]), aside=1)
    assert bad not in live([*history, bad, after])
    assert set_aside([*history, bad, after]).keys() == {bad.id}
    journal = MemoryJournal()
    gained = take_in(journal, [*history, bad, after])
    assert (gained.new, gained.known, len(gained.refused)) == (7, 0, 1)
    assert gained.refused[0].startswith(f"Record {bad.id[:12]} of 2026-01-10: ")
    assert bad not in journal.records()
    path = tmp_path / "old.walesong"
    with SqliteJournal.open(path) as old:
        old.append([*history, bad, after])
    assert len(mend(path).aside) == 1
    with SqliteJournal.open(path) as old:
        assert bad in old.records()


def _numbered(lamport: int, before: list[Record], event: Event | None = None) -> Record:
    row = record(event or events.RowsWorked("body", 6, 6), before)
    return replace(row, lamport=lamport, monotonic_ms=0)


def test_a_number_that_uses_up_all_others_is_set_aside() -> None:
    """After the largest number there is, in an old journal, the next row can still be written."""
    journal = MemoryJournal()
    history = knitted(5)
    hostile = _numbered(LARGEST_NUMBER, history)
    journal.append([*history, hostile])
    talk = Conversation(journal, SLEEVE, SetClock())
    assert (talk.state.done, talk.state.aside) == (5, 1)
    assert Say.SET_ASIDE in [one.say for one in talk.greet()]
    outcome = talk.hear(understand("row done", phrase_book()), Source.TYPED)
    assert [(one.lamport, one.after) for one in outcome.written] == [(7, (history[-1].id,))]
    assert fold(journal.records()).done == 6


def test_the_largest_number_that_is_taken_in_can_be_followed_for_ever() -> None:
    """What follows a number at the bound is sound on every device; what jumps beyond is not."""
    history = knitted(5)
    edge = _numbered(MOST_LAMPORT, history)
    next_one = _numbered(MOST_LAMPORT + 1, [edge], events.RowsWorked("body", 7, 7))
    jump = _numbered(MOST_LAMPORT + 3, [next_one], events.RowsWorked("body", 8, 8))
    ordered = [*history, edge, next_one, jump]
    assert set_aside(ordered).keys() == {jump.id}
    assert fold(ordered).done == 7


def test_typed_words_are_bounded_too() -> None:
    """Ten kilometres are refused before they are written, with a sentence, and nothing changes."""
    talk = Conversation.begin(MemoryJournal(), NewPiece("sleeve"), SetClock())
    outcome = talk.hear((RowsDone(1),), Source.TYPED)
    for said in ((Measure(Length(Fraction(10_000), LengthUnit.M)),), (Yes(),)):
        outcome = talk.hear(said, Source.TYPED)
        assert outcome.written == ()
    assert "The length is out of bounds" in outcome.trouble
    assert talk.state.lengths == ()


def test_a_piece_that_cannot_be_is_not_begun() -> None:
    """A target of nothing is refused before it is written."""
    journal = MemoryJournal()
    with pytest.raises(UnsoundError, match="target"):
        Conversation.begin(journal, NewPiece("sleeve", target=_cm("0")), SetClock())
    assert journal.records() == ()


def test_the_commands_show_what_is_set_aside(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Replay shows the record and why it counts for nothing; merge says what it left out."""
    history = knitted(5, CAP)
    bad = record(events.LoopEnded("body", 10**12), history, piece=CAP)
    path, into = tmp_path / "old.walesong", tmp_path / "new.walesong"
    with SqliteJournal.open(path) as journal:
        journal.append([*history, bad])
    assert main(["replay", str(path)]) == 0
    said = capsys.readouterr().out
    assert f"set aside: {bad.id[:12]}, The number 1000000000000 is out of bounds" in said
    lines = tmp_path / "old.jsonl"
    lines.write_bytes(b"".join(to_lines([*history, bad])))
    for other in (path, lines):
        assert main(["merge", str(other), "--into", str(into)]) == 0
        told = capsys.readouterr()
        assert "1 say what cannot be and were left out" in told.out
        assert f"Record {bad.id[:12]}" in told.err
    with SqliteJournal.open_to_read(into) as journal:
        assert journal.records() == tuple(history)


HOSTILE = [
    # Found by random histories: each made a later question crash.
    events.PartnerPartKnitted("%s", 2, 10**12, ended=False),
    events.LoopEnded("lower-rib", 10**12),
    events.PieceBegun("P", "P", None, None, 10**12, None, 12),
    events.PieceBegun("P", "P", None, None, None, Length(Fraction(0), LengthUnit.MM), 12),
    events.YarnWeighed(100, Mass(Fraction(9_999_999), MassUnit.OZ)),
]


@pytest.mark.parametrize("event", HOSTILE, ids=lambda event: event.kind)
def test_no_question_trips_over_what_was_brought(event: Event) -> None:
    """With such a record in an old journal every question is answered as without it."""
    history = [*knitted(5), record(_measured(5, _cm("3")), knitted(5))]
    with_it, without = MemoryJournal(), MemoryJournal()
    with_it.append([*history, record(event, history)])
    without.append(history)
    for words in ("how far left", "how long will it take", "will the yarn last", "which row now"):
        meant = understand(words, phrase_book())
        if not meant:
            continue
        answers = [
            Conversation(journal, SLEEVE, SetClock()).hear(meant, Source.TYPED).replies
            for journal in (with_it, without)
        ]
        assert answers[0] == answers[1]


def test_the_finest_number_that_is_sound_can_be_kept_and_read_again() -> None:
    """Up to the last part a number is read again in every unit; a finer one is not sound."""
    finest = Fraction(1, MOST_DENOMINATOR)
    numbers = (finest, 3 + finest, 4 - finest, Fraction(1, MOST_DENOMINATOR - 1))
    for number in numbers:
        masses = [events.YarnWeighed(3, Mass(number, unit)) for unit in MassUnit]
        lengths = [_measured(40, Length(number, unit)) for unit in LengthUnit]
        swatch = events.SwatchCounted(number, _cm("10"), None, None, Fabric.WASHED, "")
        said: tuple[events.Event, ...] = (*masses, *lengths, swatch)
        for event in said:
            assert why_unsound(event) == ""
            MemoryJournal().append([record(event)])
    finer = Fraction(1, MOST_DENOMINATOR + 1)
    assert why_unsound(_measured(40, Length(finer, LengthUnit.IN))) != ""
    assert parse_number(f"1/{MOST_DENOMINATOR + 1}") is None
