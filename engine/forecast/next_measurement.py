"""At which row the next measurement is worth most.

A late measurement says more about the end, an early one is of use for longer. Worth is counted as
the rows that are left after it times the standard deviation that it takes off the forecast of the
end; both follow from the belief alone, before anybody has measured.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from engine.fabric import Fabric
    from engine.forecast.belief import Belief
    from engine.forecast.growth import Growth, Habits

# Not sooner: the same hand lays the same ruler on, so a second look after a few rows is hardly new.
_CANDIDATES: Final = (0.4, 0.5, 0.6, 0.7, 0.8)
_FEWEST_ROWS: Final = 2


def measure_again_at(  # noqa: PLR0917 (where the piece stands and where it goes)
    growth: Growth,
    habits: Habits,
    belief: Belief,
    row_now: int,
    rows_left: int,
    fabric: Fabric,
    target_fabric: Fabric,
    mark: int = 0,
) -> int | None:
    """Return the row of the measurement worth most; None when the end is too near for one.

    `belief` is of `row_now`, `fabric` the state in which the knitter will measure, the target is
    meant in `target_fabric` and measured from row `mark`.
    """
    end = row_now + rows_left
    blind = _error_at(growth, habits, belief, row_now, end, target_fabric, mark)
    best_row, best_worth = None, 0.0
    for share in _CANDIDATES:
        row = row_now + max(1, round(share * rows_left))
        if end - row < _FEWEST_ROWS:
            continue
        seen = belief.copy()
        growth.advance(seen, habits, row_now, row)
        constant, weights = growth.length(row, fabric, mark)
        length = constant + seen.expect(weights)[0]
        seen.observe(weights, length - constant, growth.error(habits, length))
        worth = (end - row) * (
            blind - _error_at(growth, habits, seen, row, end, target_fabric, mark)
        )
        if worth > best_worth:
            best_row, best_worth = row, worth
    return best_row


def _error_at(  # noqa: PLR0917 (as above)
    growth: Growth,
    habits: Habits,
    belief: Belief,
    row: int,
    end: int,
    fabric: Fabric,
    mark: int,
) -> float:
    later = belief.copy()
    growth.advance(later, habits, row, end)
    return math.sqrt(later.expect(growth.length(end, fabric, mark)[1])[1])
