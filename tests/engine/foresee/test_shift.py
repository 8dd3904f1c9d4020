"""One sequential test for a change of the hand, against numpy and against made-up hands."""

from __future__ import annotations

import math
import random

import numpy as np
import pytest
import scipy.stats

from engine.forecast import shift as module
from engine.forecast.shift import Shift, ShiftTest, Sign, shift


def looked(rng: random.Random, rows: int, change_row: int, size: float) -> list[Sign]:
    """Return a length and a width every ten rows of an uneven hand that changes at a row."""
    signs, grown, wander = [], 0.0, 0.0
    for row in range(1, rows + 1):
        wander = 0.8 * wander + rng.gauss(0, 0.006)
        grown += 1 + wander + (size if row >= change_row else 0.0)
        if row % 10 == 0:
            now = wander + (size if row >= change_row else 0.0)
            read = grown / row - 1 + rng.gauss(0, 0.2 / (0.36 * row))
            signs.append(Sign(1, row, read, 0.2 / (0.36 * row), start_error=0.4 / (0.36 * row)))
            signs.append(Sign(row - 9, row, now + rng.gauss(0, 0.01), 0.012, across=True))
    return signs


def heard(signs: list[Sign]) -> tuple[int | None, Shift]:
    """Return the row at which the chance of a change first passes nine in ten."""
    test = ShiftTest()
    found = Shift(0.0, 0.0, 1)
    for place in range(0, len(signs), 2):
        test.look(*signs[place : place + 2])
        found = test.found()
        if found.chance > 0.9:
            return signs[place].row, found
    return None, found


def test_the_likelihood_is_that_of_a_normal_distribution() -> None:
    """Without a change the looks have the density of scipy's multivariate normal."""
    signs = looked(random.Random(1), 60, 999, 0.0)
    test = ShiftTest()
    for sign in signs:
        test.look(sign)
    values = np.log1p([sign.value for sign in signs])
    for one in test.sets:
        covariance = np.array(
            [[_covariance(a, b, one.wander, one.tape) for b in signs] for a in signs]
        )
        density = scipy.stats.multivariate_normal(np.zeros(len(signs)), covariance)
        ours = -0.5 * sum(z * z for z in one.looks) - one.log_scale
        ours -= len(signs) / 2 * math.log(2 * math.pi)
        assert ours == pytest.approx(density.logpdf(values), abs=1e-6)


def _covariance(a: Sign, b: Sign, wander: float, tape: float) -> float:
    """Return the covariance of two looks, the wander summed row by row."""
    same = module._OFFSET**2 + (module._OWN_OFFSET**2 if a.across == b.across else 0.0)
    if not a.across and not b.across:
        same += a.start_error * b.start_error
    rows = [
        share * math.exp(-abs(r - s) / memory)
        for memory, share in module._MEMORIES
        for r in range(a.first, a.row + 1)
        for s in range(b.first, b.row + 1)
    ]
    same += wander**2 * sum(rows) / (a.row - a.first + 1) / (b.row - b.first + 1)
    return same + ((tape * a.error) ** 2 if a is b else 0.0)


def test_a_change_is_found_soon_with_its_row_and_size() -> None:
    """Of 30 hands that change by 8 % at row 81 most are found in 30 rows, at about that row."""
    found = [heard(looked(random.Random(seed), 200, 81, -0.08)) for seed in range(30)]
    rows = sorted(row if row is not None else 999 for row, _ in found)
    assert rows[15] <= 110
    assert rows[0] > 80
    assert sorted(abs(one.since - 81) for _, one in found)[15] <= 8
    # Those that look large are found first: the size at that moment is a little too large.
    assert sorted(one.size for _, one in found)[15] == pytest.approx(-0.09, abs=0.015)


def test_an_even_hand_is_let_be() -> None:
    """Of 30 hands that never change, 300 rows each, hardly one is suspected."""
    found = [heard(looked(random.Random(seed), 300, 999, 0.0))[0] for seed in range(100, 130)]
    assert sum(row is not None for row in found) <= 2


def test_what_felt_tight_counts_for_a_tighter_hand() -> None:
    """The same looks and two rows that felt tight are surer, and felt loose less sure."""
    signs = [Sign(10 * n - 9, 10 * n, -0.03 if n > 5 else 0.0, 0.02) for n in range(1, 9)]
    plain, tight, loose = (
        shift(signs, felt) for felt in ((), ((60, -1), (70, -1)), ((60, 1), (70, 1)))
    )
    assert plain is not None
    assert tight is not None
    assert loose is not None
    assert loose.chance < plain.chance < tight.chance
    assert shift([]) is None


def test_a_million_rows_take_no_more_room_than_a_long_scarf() -> None:
    """Rows beyond any scarf are no more places where a change may have come."""
    test = ShiftTest()
    test.look(Sign(1, 1_000_000, 0.01, 0.02))
    assert len(test.starts) < 3_000
    assert test.found().chance < 0.5
