"""Advice on rests and on things for children: kept within what is published, and never a claim."""

from __future__ import annotations

from app import resources
from engine.forecast.breaks import LONGEST_MINUTES, SHORTEST_MINUTES, BreakSettings
from engine.plan.advice_tables import read_breaks, read_child_rules

BREAKS = read_breaks(resources.text("shared/tables/breaks.toml"))
CHILD = read_child_rules(resources.text("shared/tables/safety.toml"))


def test_the_usual_reminder_is_the_table_s() -> None:
    """Half an hour, adjustable from ten minutes to an hour, in table and settings alike."""
    assert BreakSettings().every_minutes == BREAKS.every_minutes == 30
    assert (
        BREAKS.shortest_minutes, BREAKS.longest_minutes,
    ) == (SHORTEST_MINUTES, LONGEST_MINUTES)  # fmt: skip
    assert BREAKS.pause_minutes == (1, 5)


def test_published_advice_names_its_bodies() -> None:
    """Every piece of advice says whose it is; the doubt about the evidence is among them."""
    assert len(BREAKS.published) >= 6
    assert all(advice.body and advice.says for advice in BREAKS.published)
    assert any("low quality" in advice.says for advice in BREAKS.published)


def test_no_table_claims_too_much() -> None:
    """No promise of prevention or cure, nothing called safe or compliant; a doctor is named."""
    words = " ".join(
        [BREAKS.often, BREAKS.stop, *(advice.says for advice in BREAKS.published)]
        + [f"{caution.figure} {caution.note}" for caution in CHILD]
    ).casefold()
    for claim in ("prevent", "cure", "safe", "compliant", "guarantee"):
        assert claim not in words
    assert "doctor" in BREAKS.stop


def test_figures_for_children() -> None:
    """The cylinder of 16 CFR 1501.4 and the cords of EN 14682 and 16 CFR 1120 are there."""
    topics = {caution.topic: caution for caution in CHILD}
    assert "1.25 in" in topics["small parts, under three years"].figure
    assert "16 CFR 1501.4" in topics["small parts, under three years"].source
    assert any("EN 14682" in caution.source for caution in CHILD)
    assert any("16 CFR 1120" in caution.source for caution in CHILD)
    assert len(CHILD) == 4
