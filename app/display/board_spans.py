"""What stands on the working board, as words in their inks."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from app.display.board_values import Mood
from app.display.flow import TextSpan

if TYPE_CHECKING:
    from app.display.board_values import BoardView

_THEN: Final = 0.4
"""What to do after a stop, by the size of the stop itself."""
_MOOD_INKS: Final = {Mood.GOOD: "good", Mood.REFUSED: "alert", Mood.PLAIN: "ink"}


def answer_spans(view: BoardView) -> list[TextSpan]:
    """Return the answer in the ink of its mood."""
    if not view.answer:
        return []
    return [TextSpan(f"\N{RIGHTWARDS ARROW} {view.answer} ", _MOOD_INKS[view.mood], bold=True)]


def stop_spans(view: BoardView) -> list[TextSpan]:
    """Return what must stop her hands, large, and what to do then."""
    if view.stop is None:
        return []
    head, then = view.stop
    spans = [TextSpan(head, "alert", bold=True)]
    return [*spans, TextSpan(f"\n{then}", scale=_THEN)] if then else spans


def trouble_spans(view: BoardView) -> list[TextSpan]:
    """Return what went wrong."""
    return [TextSpan(view.trouble, "alert", bold=True)] if view.trouble else []


def bit_spans(view: BoardView, first: int, last: int, *, dots: bool = True) -> list[TextSpan]:
    """Return the bits from `first` up to before `last`, with dots for those that are left out."""
    spans: list[TextSpan] = []
    if first > 0 and dots:
        spans.append(TextSpan("\N{HORIZONTAL ELLIPSIS} ", "soft"))
    for at in range(first, last):
        comma = "," if at < len(view.bits) - 1 else ""
        if at == view.bit:
            spans.append(TextSpan(view.bits[at], "mark_ink", ground="mark"))
            spans.append(TextSpan(f"{comma} ", "ink"))
        else:
            spans.append(TextSpan(f"{view.bits[at]}{comma} ", "soft" if at < view.bit else "ink"))
    if last < len(view.bits) and dots:
        spans.append(TextSpan("\N{HORIZONTAL ELLIPSIS}", "soft"))
    return spans
