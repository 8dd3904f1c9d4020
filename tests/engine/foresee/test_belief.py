"""The Gaussian belief: it agrees with batch least squares and stays a belief."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.forecast.belief import Belief


def test_agrees_with_batch_least_squares() -> None:
    """Ten measurements one by one give the posterior that linear algebra gives at once."""
    rng = np.random.default_rng(5)
    prior_mean, prior_sd = [1.0, -2.0, 0.5], [2.0, 1.0, 3.0]
    design, noise = rng.normal(size=(10, 3)), rng.uniform(0.1, 1.0, size=10)
    values = design @ np.array([0.7, -1.0, 2.0]) + rng.normal(size=10) * noise
    belief = Belief.independent(prior_mean, prior_sd)
    for row, value, error in zip(design, values, noise, strict=True):
        belief.observe(list(map(float, row)), float(value), float(error) ** 2)
    information = np.diag(1 / np.square(prior_sd)) + design.T @ np.diag(noise**-2) @ design
    covariance = np.linalg.inv(information)
    mean = covariance @ (
        np.array(prior_mean) / np.square(prior_sd) + design.T @ (values / noise**2)
    )
    assert belief.mean == pytest.approx(mean.tolist(), rel=1e-9)
    assert np.array(belief.covariance) == pytest.approx(covariance, rel=1e-8, abs=1e-12)
    total = np.diag(noise**2) + design @ np.diag(np.square(prior_sd)) @ design.T
    residual = values - design @ np.array(prior_mean)
    likelihood = -0.5 * (
        residual @ np.linalg.solve(total, residual)
        + np.linalg.slogdet(total)[1]
        + 10 * math.log(2 * math.pi)
    )
    assert belief.log_likelihood == pytest.approx(likelihood, rel=1e-9)


def test_growing_is_a_linear_map() -> None:
    """Adding a multiple of one number to another changes means and covariances as it should."""
    belief = Belief([1.0, 2.0], [[4.0, 1.0], [1.0, 9.0]])
    belief.grow(0, 1, 0.5)
    assert belief.mean == [2.0, 2.0]
    assert belief.covariance == [[4 + 1 + 9 / 4, 1 + 4.5], [1 + 4.5, 9.0]]


def test_remembering_is_a_copy() -> None:
    """A remembered number is the same now and parts from the other as that goes on."""
    belief = Belief([0.0, 3.0, 0.0], [[1.0, 0.2, 0.0], [0.2, 2.0, 0.0], [0.0, 0.0, 0.0]])
    belief.remember(2, 1)
    mean, variance = belief.expect([0.0, 1.0, -1.0])
    assert mean == 0
    assert variance == pytest.approx(0, abs=1e-12)
    belief.covariance[1][1] += 1
    assert belief.expect([0.0, 1.0, -1.0])[1] == pytest.approx(1)


@given(
    st.lists(
        st.tuples(
            st.lists(st.floats(-3, 3), min_size=3, max_size=3),
            st.floats(-50, 50),
            st.floats(0.01, 10),
        ),
        max_size=8,
    )
)
def test_measurements_never_add_doubt(told: list[tuple[list[float], float, float]]) -> None:
    """Variances stay variances, and no measurement makes any number less certain."""
    belief = Belief.independent([0.0, 1.0, 2.0], [1.0, 2.0, 3.0])
    for weights, value, variance in told:
        before = [belief.covariance[place][place] for place in range(3)]
        belief.observe(weights, value, variance)
        after = [belief.covariance[place][place] for place in range(3)]
        assert all(-1e-9 <= new <= old + 1e-9 for old, new in zip(before, after, strict=True))
