"""Everything that happened to a piece, in words: what was measured, counted, felt and noted."""

from __future__ import annotations

from typing import TYPE_CHECKING

from engine.plan.rounding import length_in

if TYPE_CHECKING:
    from app.display.screen_words import ScreenWording
    from engine.quantities import LengthUnit
    from engine.state import PieceState


def story_lines(
    state: PieceState, words: ScreenWording, unit: LengthUnit | None = None
) -> tuple[tuple[int, str], ...]:
    """Return everything that happened, by row, the newest first; lengths in `unit` if given."""
    found: list[tuple[int, int, str]] = []

    def add(row: int, order: int, key: str, *, aside: bool = False, **values: object) -> None:
        text = words("story", key, **values).strip()
        found.append((row, order, f"{text} {words('story', 'set_aside')}" if aside else text))

    for reading in state.lengths:
        add(reading.row, 0, "measured", aside=reading.aside, length=length_in(reading.length, unit))
    for width in state.widths:
        add(width.row, 1, "width", aside=width.aside, length=length_in(width.width, unit))
    for count in state.counts:
        key = "counted" if count.expected in {None, count.count} else "counted_off"
        add(count.row, 2, key, aside=count.aside, count=count.count, expected=count.expected)
    for weighing in state.weighings:
        add(weighing.row, 3, "weighed", aside=weighing.aside, mass=weighing.mass)
    for ball in state.balls:
        add(ball.row, 4, "ball", aside=ball.aside)
    for lifeline in state.lifelines:
        add(lifeline.row, 5, "lifeline")
    for felt in state.hand:
        add(felt.row, 6, "felt", feel=felt.feel.value)
    for note in state.notes:
        if note.about == "note" and note.text:
            found.append((note.row, 7, note.text))
        elif note.about in {"mistake", "dropped"}:
            add(note.row, 7, note.about, text=note.text)
        else:
            add(note.row, 7, "marked")
    return tuple((row, text) for row, _, text in sorted(found, reverse=True))
