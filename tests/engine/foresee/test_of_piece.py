"""The state of a piece in the terms of the tension chart and of the pace."""

from __future__ import annotations

import pytest

from engine.commands import Feel, Since, Source
from engine.events import RippedBack, RowsWorked
from engine.fabric import Fabric
from engine.forecast.of_piece import PieceFacts, hand_report, looks_of
from engine.forecast.pace import pace
from engine.forecast.stamps import row_stamps
from engine.forecast.tension import Hand, SwatchGauge
from engine.quantities import centimetres
from engine.records import Record
from engine.state import HandNote, PieceState, Reading, WidthReading

FACTS = PieceFacts(
    swatch=[SwatchGauge(Fabric.RESTED, 28, 20)],
    stitches_after=lambda row: 52 if row < 200 else None,
    part_of=lambda _row: "body",
    edge_stitches=2,
)


def length(row: int, millimetres: int, *, aside: bool = False) -> Reading:
    """Return a rested length from the cast-on."""
    cm = centimetres(millimetres).value / 10
    return Reading(
        row, centimetres(cm), Since.CAST_ON, 0, Fabric.RESTED, assumed=False, aside=aside
    )


def width(row: int, millimetres: int) -> WidthReading:
    """Return a rested width."""
    return WidthReading(row, centimetres(centimetres(millimetres).value / 10), Fabric.RESTED)


def test_a_tight_hand_is_reported_with_what_comes_of_it() -> None:
    """Eight per cent tighter from row 28 on: told with row, size to expect, and the notes."""
    state = PieceState(
        done=84,
        lengths=(length(14, 50), length(28, 100), length(42, 146), length(56, 192),
                 length(70, 238), length(84, 284)),
        widths=(width(28, 250), width(42, 230), width(56, 230), width(70, 230), width(84, 230)),
        hand=(HandNote(40, Feel.TIGHT),),
    )  # fmt: skip
    found = hand_report(state, FACTS, 40.0, 25.0, 112)
    assert found is not None
    assert found.tension.hand is Hand.TIGHTER
    assert found.tension.worth_a_word
    assert found.tension.since_row == pytest.approx(29, abs=13)
    assert found.width_cm == pytest.approx(23, abs=0.3)
    assert found.length_cm == pytest.approx(39.2, abs=0.3)
    assert any("tight" in point.notes for point in found.points)


def test_what_was_set_aside_is_not_looked_at() -> None:
    """Ripped lengths, and widths where the stitches are not known, make no look."""
    state = PieceState(
        done=30,
        lengths=(length(14, 50), length(28, 200, aside=True)),
        widths=(width(210, 250),),
    )
    assert looks_of(state, FACTS) == ()
    assert hand_report(state, FACTS) is None


def record(event: RowsWorked | RippedBack, seconds: float) -> Record:
    """Return a record of one writer."""
    return Record(
        (), 0, "w", "p", "g", "2026-01-01T00:00:00Z", int(1000 * seconds), Source.VOICE, event
    )


def test_pace_from_records() -> None:
    """Only rows worked are timed; ripping back is no row."""
    records = [record(RowsWorked("body", n, n), 60 * n) for n in range(1, 6)]
    records.insert(3, record(RippedBack(2, lifeline=False), 200))
    stamps = row_stamps(records)
    assert [stamp.row for stamp in stamps] == [1, 2, 3, 4, 5]
    found = pace(stamps)
    assert found is not None
    assert found.seconds_per_row == pytest.approx(60)
