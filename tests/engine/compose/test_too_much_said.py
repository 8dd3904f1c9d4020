"""Records that ask for more rows than are ever knitted end in a sentence, and soon."""

from __future__ import annotations

import pytest

from app.pieces.pattern_cache import course_of
from engine.composing import Shaping
from engine.limits import STEPS_OF_ANSWER, Allowance, TooMuchWorkError
from engine.said_events import RowSaid, RowsRepeated, ShapingSaid
from engine.soundness import MOST_NUMBER
from engine.state import PieceState

FAR = MOST_NUMBER - 1


@pytest.mark.parametrize(
    "said",
    [
        (
            RowSaid(1, 1, "k to end", None, in_round=False),
            ShapingSaid(2, FAR, 3, 2, 1, Shaping.DECREASE, None),
        ),
        (ShapingSaid(FAR - 1, FAR, FAR, 1, 1, Shaping.DECREASE, None),),
        (
            RowSaid(1, 1, "k to end", None, in_round=False),
            RowsRepeated(2, 1, FAR, 2, None, None),
        ),
    ],
    ids=["shaped", "shaped far off", "repeated"],
)
def test_a_million_rows_said_are_too_much_work(
    said: tuple[RowSaid | RowsRepeated | ShapingSaid, ...],
) -> None:
    """A million rows of a damaged record use up the allowance of an answer; nothing hangs."""
    with Allowance(STEPS_OF_ANSWER).used(), pytest.raises(TooMuchWorkError):
        course_of(PieceState(cast_on=40, said=said))
