"""At which row the next measurement is worth most.

A late measurement says more about the end, an early one is of use for longer. Worth is counted as
the rows that are left after it times the standard deviation that it takes off the forecast of the
end; both follow from what is known by now, before anybody has measured.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from engine.fabric import Fabric
    from engine.forecast.evidence import Evidence

# Not sooner: the same hand lays the same ruler on, so a second look after a few rows is hardly new.
_CANDIDATES: Final = (0.4, 0.5, 0.6, 0.7, 0.8)
_FEWEST_ROWS: Final = 2


def measure_again_at(
    evidence: Evidence,
    row_now: int,
    rows_left: int,
    fabric: Fabric,
    target_fabric: Fabric,
    mark: int = 0,
) -> int | None:
    """Return the row of the measurement worth most; None when the end is too near for one.

    `fabric` is the state in which the knitter will measure, the target is meant in `target_fabric`
    and measured from row `mark`.
    """
    growth = evidence.growth
    end = row_now + rows_left
    rows = [row_now + max(1, round(share * rows_left)) for share in _CANDIDATES]
    rows = [row for row in dict.fromkeys(rows) if end - row >= _FEWEST_ROWS]
    spans = [growth.span(end, target_fabric, mark)]
    spans += [growth.span(row, fabric, mark) for row in rows]
    variances, with_end, errors = evidence.ahead(spans)
    best_row, best_worth = None, 0.0
    for row, variance, shared, error in zip(
        rows, variances[1:], with_end[1:], errors[1:], strict=True
    ):
        taken = min(variances[0], shared**2 / (variance + error))
        worth = (end - row) * (math.sqrt(variances[0]) - math.sqrt(variances[0] - taken))
        if worth > best_worth:
            best_row, best_worth = row, worth
    return best_row
