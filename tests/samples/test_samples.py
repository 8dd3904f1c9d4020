"""Records kept from every schema that was ever written with: readable for ever, to the same value.

Each file is one line of an exported journal, as the Walesong of that schema wrote it. The files
are never changed; a new kind of event gets a new file (the failing test prints its line) in the
folder of the schema it came with.
"""

from __future__ import annotations

import json
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

from jsonschema import Draft202012Validator

from app import resources
from engine import events, order_events, said_events
from engine.commands import Feel, Since, Source
from engine.composing import Shaping
from engine.fabric import Fabric
from engine.journal.exchange import from_lines, to_lines
from engine.quantities import Length, LengthUnit, Mass, MassUnit
from engine.records import Record, from_json
from engine.stages import Stage, Trait

if TYPE_CHECKING:
    import pytest

    from engine.events import Event

_FOLDER = Path(__file__).parent

_PATTERN = "d5544a9db88f968e05519d9a69c59eb3979ec1e92e537d1c2a9bcbcc67bba1d9"

SCHEMA_1: dict[str, Event] = {
    "pattern_kept": events.PatternKept(
        _PATTERN, 'name = "Mug sleeve"\n\n[size.mug]\ncast_on = 44  # k2, p2 all round\n'
    ),
    "piece_begun": events.PieceBegun(
        name="Mug sleeve 7",
        project="Hut evenings",
        pattern=_PATTERN,
        size="mug",
        cast_on=44,
        target=Length(Fraction(35, 8), LengthUnit.IN),
        count_every=8,
    ),
    "piece_begun-rows_only": events.PieceBegun(
        name="Probeläppchen", project="", pattern=None, size=None, cast_on=None, target=None,
        count_every=0,
    ),
    "pattern_changed": events.PatternChanged(_PATTERN, "bottle", 12),
    "pattern_changed-no_size": events.PatternChanged(_PATTERN, None, 1),
    "piece_finished": events.PieceFinished(46),
    "rows_worked": events.RowsWorked("cuff", 5, 8),
    "loop_ended": events.LoopEnded("body", 40),
    "ripped_back": events.RippedBack(36, lifeline=False),
    "recounted": events.Recounted(37),
    "row_reopened": events.RowReopened(38),
    "stopped_in_row": events.StoppedInRow(39, 22),
    "stopped_in_row-not_said": events.StoppedInRow(39, None),
    "bit_reached": events.BitReached(39, 2),
    "lifeline_placed": events.LifelinePlaced(30, 44),
    "lifeline_placed-not_known": events.LifelinePlaced(30, None),
    "marker_placed": events.MarkerPlaced(10),
    "ball_joined": events.BallJoined(21, "B 4107/2"),
    "measured": events.Measured(
        row=40,
        length=Length(Fraction(35, 8), LengthUnit.IN),
        since=Since.CAST_ON,
        from_row=0,
        fabric=Fabric.ON_NEEDLE,
        assumed=True,
    ),
    "measured-third_of_a_centimetre": events.Measured(
        row=40,
        length=Length(Fraction(34, 3), LengthUnit.CM),
        since=Since.MARKER,
        from_row=10,
        fabric=Fabric.RESTED,
        assumed=False,
    ),
    "width_measured": events.WidthMeasured(
        40, Length(Fraction(23, 2), LengthUnit.CM), Fabric.WASHED
    ),
    "measuring_agreed": events.MeasuringAgreed(Since.UNDERARM, 20, Fabric.RESTED),
    "stitches_counted": events.StitchesCounted(24, 43, 44),
    "stitches_counted-not_known": events.StitchesCounted(24, 43, None),
    "yarn_weighed": events.YarnWeighed(24, Mass(Fraction(83, 2), MassUnit.G)),
    "yarn_weighed-ounces": events.YarnWeighed(24, Mass(Fraction(7, 4), MassUnit.OZ)),
    "hand_noted": events.HandNoted(25, Feel.TIGHT),
    "row_noted": events.RowNoted(26, "mistake", 'purl for knit ("3rd rib"); left as it is'),
    "undone": events.Undone("000102030405060708090a0b0c0d0e0f"),
}  # fmt: skip


SCHEMA_2: dict[str, Event] = {
    "swatch_counted": events.SwatchCounted(
        stitches=Fraction(41, 2),
        stitches_over=Length(Fraction(4), LengthUnit.IN),
        rows=Fraction(28),
        rows_over=Length(Fraction(10), LengthUnit.CM),
        fabric=Fabric.WASHED,
        needle="4.5 mm",
    ),
    "swatch_counted-rows_only": events.SwatchCounted(
        stitches=None,
        stitches_over=None,
        rows=Fraction(41),
        rows_over=Length(Fraction(15), LengthUnit.CM),
        fabric=Fabric.RESTED,
        needle="",
    ),
    "swatch_weighed": events.SwatchWeighed(Mass(Fraction(7), MassUnit.G), 30, 40, "US 7"),
    "partner_named": events.PartnerNamed(
        partner="e" * 32, name="Bottle sleeve", rows=50, finished=True, mirrored=False
    ),
    "partner_part": events.PartnerPartKnitted("body-1", rows=42, after=46, ended=True),
    "partner_measured": events.PartnerMeasured(
        46, Length(Fraction(33, 2), LengthUnit.CM), Fabric.ON_NEEDLE
    ),
    "yarn_joined": events.YarnJoined(41, 23, "4711"),
    "yarn_joined-cast_on": events.YarnJoined(0, None, ""),
    "needle_changed": events.NeedleChanged(41, "5 mm"),
    "needle_changed-not_said": events.NeedleChanged(1, ""),
}

SCHEMA_3: dict[str, Event] = {
    "pattern_piece_chosen": events.PatternPieceChosen("Left front"),
}

SCHEMA_4: dict[str, Event] = {
    "piece_weighed": order_events.PieceWeighed(Mass(Fraction(121, 10), MassUnit.G)),
    "partner_made": order_events.PartnerMade("4.5 mm", "4711"),
    "partner_wide": order_events.PartnerWide(
        46, Length(Fraction(26), LengthUnit.CM), Fabric.WASHED
    ),
    "partner_tolerance": order_events.PartnerTolerance(
        Trait.LENGTH, Length(Fraction(1, 4), LengthUnit.IN), None
    ),
    "tolerance_set": order_events.ToleranceSet(
        0, Trait.LENGTH, Length(Fraction(3, 10), LengthUnit.CM), None
    ),
    "tolerance_set-weight": order_events.ToleranceSet(25, Trait.WEIGHT, None, Fraction(15, 2)),
    "tolerance_set-none": order_events.ToleranceSet(25, Trait.ROWS, None, None),
    "order_begun": order_events.OrderBegun("The hut's sleeves", "2026-03-01"),
    "order_begun-no_day": order_events.OrderBegun("Spare sleeves", ""),
    "order_line": order_events.OrderLine(25, "Bottle sleeve", "", "grey", 16, 2),
    "line_wanted": order_events.LineWanted(
        25,
        piece="",
        rows=50,
        stitches=54,
        length=Length(Fraction(18), LengthUnit.CM),
        width=Length(Fraction(26), LengthUnit.CM),
        mass=Mass(Fraction(28), MassUnit.G),
    ),
    "line_wanted-as_a_piece": order_events.LineWanted(1, "e" * 32, None, None, None, None, None),
    "piece_given": order_events.PieceGiven(12, "the warden"),
    "piece_tied": order_events.PieceTied(12, "e" * 32),
    "stage_reached": order_events.StageReached(12, Stage.WASHED),
    "piece_checked": order_events.PieceChecked(
        12,
        rows=22,
        length=Length(Fraction(81, 10), LengthUnit.CM),
        width=Length(Fraction(19, 2), LengthUnit.IN),
        mass=Mass(Fraction(61, 5), MassUnit.G),
        minutes=55,
    ),
    "piece_checked-length_only": order_events.PieceChecked(
        12, None, Length(Fraction(8), LengthUnit.CM), None, None, None
    ),
    "piece_rejected": order_events.PieceRejected(12, "a dropped stitch, felted over"),
    "hours_a_week": order_events.HoursAWeek("the warden", Fraction(9, 2)),
    "hours_a_week-not_known": order_events.HoursAWeek("the warden", None),
    "yarn_stocked": order_events.YarnStocked("grey", "4711", 14, Mass(Fraction(100), MassUnit.G)),
}

SCHEMA_5: dict[str, Event] = {
    "cast_on_said": said_events.CastOnSaid(50),
    "row_said": said_events.RowSaid(
        5, 8, "*k2, p2; rep from * to last 2 sts, k2", 50, in_round=False
    ),
    "row_said-stitches_known": said_events.RowSaid(9, 9, "k to end", None, in_round=True),
    "row_begun": said_events.RowBegun(
        9, 9, "knit two purl two to the end", "*k2, p2; rep from * to end", in_round=False
    ),
    "rows_repeated": said_events.RowsRepeated(
        10, 8, 9, None, Length(Fraction(35, 8), LengthUnit.IN), None
    ),
    "rows_repeated-times": said_events.RowsRepeated(10, 8, 9, 4, None, 50),
    "shaping_said": said_events.ShapingSaid(20, 35, 23, 4, 1, Shaping.DECREASE, None),
    "row_mended": said_events.RowMended(7, "p to end"),
}


def _record(schema: int, event: Event, source: Source) -> Record:
    """Return the record in which the sample of this event was kept."""
    return Record(
        after=("b" * 64, "a" * 64),
        lamport=41,
        writer="0f0e0d0c0b0a09080706050403020100",
        piece="f" * 32,
        group="1" * 32,
        wall="2026-01-10T18:30:00Z",
        monotonic_ms=5_400_123,
        source=source,
        event=event,
        schema=schema,
    )


_SOURCES = {
    "rows_worked": Source.PEDAL,
    "bit_reached": Source.KEY,
    "ripped_back": Source.TOUCH,
    "row_noted": Source.TYPED,
}
"""How a sample came in, where it was not by voice."""

SAMPLES = {
    _FOLDER / f"schema-{schema}" / f"{name}.json": _record(
        schema, event, _SOURCES.get(name, Source.VOICE)
    )
    for schema, kept in ((1, SCHEMA_1), (2, SCHEMA_2), (3, SCHEMA_3), (4, SCHEMA_4), (5, SCHEMA_5))
    for name, event in kept.items()
}


def test_reads_as_it_was_meant(subtests: pytest.Subtests) -> None:
    """Today's code reads the kept line to the same record, and writes it back byte for byte."""
    for file, expected in SAMPLES.items():
        with subtests.test(sample=file.stem):
            _, line = to_lines([expected])
            assert file.exists(), f"Keep this line in {file.name}: {line.decode()}"
            kept = file.read_bytes()
            assert from_json(json.loads(kept)) == expected
            assert from_lines([kept]).records == (expected,)
            assert kept.rstrip(b"\r\n") + b"\n" == line


def test_fits_the_schema(subtests: pytest.Subtests) -> None:
    """The JSON Schema of today still describes the kept line."""
    validator = Draft202012Validator(json.loads(resources.text("shared/journal.schema.json")))
    for file, expected in SAMPLES.items():
        with subtests.test(sample=file.stem):
            values = json.loads(file.read_bytes())
            validator.validate(values)
            assert values["kind"] == expected.event.kind


def test_every_kind_has_a_sample() -> None:
    """No kind of event and no source goes without a kept record, and no file without its test."""
    assert {record.event.kind for record in SAMPLES.values()} == set(events.EVENTS)
    assert {record.source for record in SAMPLES.values()} == set(Source)
    assert set(_FOLDER.glob("schema-*/*.json")) == set(SAMPLES)
