"""A piece on the engine alone, knitted by events, for tests of what swatch and partner say."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from app.pieces.pattern_cache import document_of
from engine import events
from engine.answering.answer import answer
from engine.commands import Since
from engine.fabric import Fabric
from engine.facts.swatches import counted_over
from engine.history import fold
from engine.judging.decide import decide
from engine.judging.decision import Accepted
from engine.pattern import Course, PatternDocument, plain_course
from engine.quantities import Length, centimetres
from tests.made_up import record

if TYPE_CHECKING:
    from engine.commands import Command
    from engine.records import Record
    from engine.replies import Reply
    from engine.state import PieceState

SLEEVE = """
title = "Bottle sleeve"
cast_on = 50
gauge = "20 sts and 28 rows to 10 cm in stockinette, washed"
length = "40 cm"
[[section]]
id = "rib"
rows = ["Row 1 (RS): *k2, p2; rep from * to last 2 sts, k2",
        "Row 2 (WS): *p2, k2; rep from * to last 2 sts, p2",
        "Rep rows 1 and 2 once more"]
[[section]]
id = "body"
rows = ["Row 1 (RS): k to end", "Row 2 (WS): k1, p to last st, k1",
        "Rep rows 1 and 2 until piece measures 38 cm from cast-on edge"]
[[section]]
id = "top"
rows = ["Row 1 (RS): k to end", "Row 2 (WS): p to end"]
"""
TEN = centimetres(10)


def sleeve() -> Course:
    """Return the course of the sleeve."""
    document = document_of(SLEEVE)
    assert isinstance(document, PatternDocument), document
    return document.course()


class Work:
    """One piece whose events are written one after the other."""

    def __init__(self, course: Course | None = None, target: Length | None = None) -> None:
        """Cast on; without a course rows are only counted."""
        self.course = course or plain_course(50)
        self.records: list[Record] = []
        self.happens(events.PieceBegun("sleeve", "hut", None, None, 50, target, 0))

    @property
    def state(self) -> PieceState:
        """Where the piece stands."""
        return fold(self.records)

    def happens(self, *happened: events.Event) -> Work:
        """Write events."""
        for event in happened:
            self.records.append(record(event, self.records[-1:]))
        return self

    def swatch(
        self,
        rows: int | None,
        fabric: Fabric,
        stitches: int | None = None,
        needle: str = "",
    ) -> Work:
        """Count a swatch over 10 cm."""
        return self.happens(counted_over(stitches, rows, TEN, fabric, needle))

    def knits(self, to: int) -> Work:
        """Work rows up to `to`."""
        first = self.state.working
        part = self.course.where(self.state.loops_ended, first).section
        return self.happens(events.RowsWorked(part, first, to))

    def measures(self, cm: str, fabric: Fabric = Fabric.ON_NEEDLE) -> Work:
        """Measure from the cast-on after the last row."""
        length = centimetres(Fraction(cm))
        return self.happens(
            events.Measured(self.state.done, length, Since.CAST_ON, 0, fabric, assumed=False)
        )

    def says(self, *candidates: Command, confirmed: bool = False) -> tuple[Reply, ...]:
        """Say something that is accepted; return the answer."""
        before = self.state
        decision = decide(before, self.course, candidates, confirmed=confirmed)
        assert isinstance(decision, Accepted), decision
        self.happens(*decision.events)
        return answer(before, self.state, self.course, decision.command)
