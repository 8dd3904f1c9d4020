"""Control charts against the printed examples of the NIST/SEMATECH e-Handbook."""

from __future__ import annotations

import random

import pytest
import scipy.special

from engine.batch.control import Rule, Signal, individuals
from engine.forecast.charts import (
    cusum_run_length,
    ewma,
    gauss_legendre,
    tabular_cusum,
)

# NIST/SEMATECH e-Handbook 6.3.2.3 (public domain): value, upper sum, lower sum, plain sum.
CUSUM = [
    (324.925, 0, 0, -0.075), (324.675, 0, 0.0075, -0.400), (324.725, 0, 0, -0.675),
    (324.350, 0, 0.3325, -1.325), (325.350, 0.0325, 0, -0.975), (325.225, 0, 0, -0.750),
    (324.125, 0, 0.5575, -1.625), (324.525, 0, 0.7150, -2.100), (325.225, 0, 0.1725, -1.875),
    (324.600, 0, 0.2550, -2.275), (324.625, 0, 0.3125, -2.650), (325.150, 0, 0, -2.500),
    (328.325, 3.0075, 0, 0.825), (327.250, 4.9400, 0, 3.075), (327.825, 7.4475, 0, 5.900),
    (328.500, 10.6300, 0, 9.400), (326.675, 11.9875, 0, 11.075), (327.775, 14.4450, 0, 13.850),
    (326.875, 16.0025, 0, 15.725), (328.350, 19.0350, 0, 19.075),
]  # fmt: skip


def test_cusum_of_the_handbook() -> None:
    """Every sum of the e-Handbook's example comes out, and the first signal is at 14."""
    steps = tabular_cusum([row[0] for row in CUSUM], target=325, k=0.3175, h=4.1959)
    for step, (_, high, low, total) in zip(steps, CUSUM, strict=True):
        assert step.high == pytest.approx(high, abs=1e-9)
        assert step.low == pytest.approx(low, abs=1e-9)
        assert step.total == pytest.approx(total, abs=1e-9)
    signals = [place for place, step in enumerate(steps, start=1) if step.signal]
    assert signals[0] == 14
    assert all(step.signal == 1 for step in steps[13:])
    assert steps[13].since_high == 2, "the upper sum left zero two values ago"


# NIST/SEMATECH e-Handbook 6.3.2.4 (public domain).
EWMA_DATA = [
    52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5, 49.6, 47.6, 49.9, 51.3, 47.8,
    51.2, 52.6, 52.4, 53.6, 52.1,
]  # fmt: skip
EWMA_PRINTED = [
    50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33, 50.11, 49.36, 49.52,
    50.05, 49.38, 49.92, 50.73, 51.23, 51.94, 51.99,
]  # fmt: skip


def test_ewma_of_the_handbook() -> None:
    """The averages of the e-Handbook's example come out to the printed two decimals."""
    steps = ewma(EWMA_DATA, weight=0.3, start=50, sigma=2.0539)
    for step, printed in zip(steps, EWMA_PRINTED, strict=True):
        assert step.value == pytest.approx(printed, abs=0.0051)
        assert step.signal == 0
    assert steps[0].high == pytest.approx(50 + 3 * 2.0539 * 0.3)
    # The page prints the limits that the steps come to, 52.5884 and 47.4115 (its factor is cut to
    # four digits); after a hundred steps nothing is left of the beginning.
    last = ewma(EWMA_DATA * 5, weight=0.3, start=50, sigma=2.0539)[-1]
    assert last.high == pytest.approx(52.588432, abs=1e-6)
    assert last.low == pytest.approx(47.411568, abs=1e-6)


@pytest.mark.parametrize(
    ("h", "shift", "printed"),
    [
        # D. C. Montgomery, Introduction to Statistical Quality Control, table of run lengths of a
        # two-sided tabular CUSUM with k = 1/2 (from memory).
        (4, 0.0, 168), (4, 0.5, 26.6), (4, 1.0, 8.38), (4, 2.0, 3.34),
        (5, 0.0, 465), (5, 0.5, 38.0), (5, 1.0, 10.4), (5, 2.0, 4.01),
    ],
)  # fmt: skip
def test_run_lengths(h: float, shift: float, printed: float) -> None:
    """The run lengths of the textbook's table come out to its digits."""
    assert cusum_run_length(0.5, h, shift) == pytest.approx(printed, rel=0.003)


def test_run_length_by_trying() -> None:
    """Two thousand random charts run as long as the integral equation says."""
    rng = random.Random(3)
    lengths = []
    for _ in range(2000):
        high = low = 0.0
        count = 0
        while high <= 3 and low <= 3:
            value = rng.gauss(0.6, 1)
            high, low = max(0.0, high + value - 0.5), max(0.0, low - value - 0.5)
            count += 1
        lengths.append(count)
    mean = sum(lengths) / len(lengths)
    assert mean == pytest.approx(cusum_run_length(0.5, 3, 0.6), rel=0.06)


def test_head_start_signals_sooner() -> None:
    """A fast initial response shortens the run from the start (Lucas and Crosier 1982)."""
    plain = cusum_run_length(0.5, 5, 1.0, two_sided=False)
    fast = cusum_run_length(0.5, 5, 1.0, two_sided=False, head_start=2.5)
    assert fast < 0.75 * plain


def test_gauss_legendre_nodes() -> None:
    """Nodes and weights of the rule agree with scipy."""
    nodes, weights = scipy.special.roots_legendre(48)
    ours = sorted(gauss_legendre(48))
    assert [x for x, _ in ours] == pytest.approx(list(nodes), abs=1e-13)
    assert [w for _, w in ours] == pytest.approx(list(weights), abs=1e-13)


def test_charts_refuse_nonsense() -> None:
    """A chart without limits or with an impossible weight is refused."""
    with pytest.raises(ValueError, match="decision value"):
        tabular_cusum([1.0], target=0, k=0.5, h=0)
    with pytest.raises(ValueError, match="weight"):
        ewma([1.0], weight=0, start=0, sigma=1)


# NIST/SEMATECH e-Handbook 6.3.2.2 (public domain), individuals charts: ten flow rates, and the
# centre and limits that the page prints. The values are the last ten of the page on the EWMA.
FLOW_RATES = EWMA_DATA[10:]


def test_individuals_chart_of_the_handbook() -> None:
    """Centre, mean range and both limits come out as printed; nothing lies outside."""
    chart = individuals(FLOW_RATES)
    assert chart.centre == pytest.approx(50.81, abs=5e-5)
    assert chart.mean_range == pytest.approx(1.8778, abs=5e-5)
    assert chart.high == pytest.approx(55.8041, abs=5e-5)
    assert chart.low == pytest.approx(45.8159, abs=5e-5)
    assert [one.rule for one in chart.signals if one.rule is Rule.BEYOND_LIMIT] == []


# The rules of Western Electric as the e-Handbook's 6.3.2 words them, each on values by hand. The
# ends alternate so that sigma is 1 and the middle 0, which the middle of the row then breaks.


def _signals(middle: list[float]) -> set[tuple[int, Rule]]:
    quiet = [0.563, -0.565, 0.565, -0.563] * 30
    chart = individuals([*quiet, *middle, *quiet])
    return {(one.place - len(quiet), one.rule) for one in chart.signals}


def test_the_run_rules_one_by_one() -> None:
    """Each rule is broken by what it names, at its last value, and by no less."""
    assert (0, Rule.BEYOND_LIMIT) in _signals([3.4])
    assert _signals([2.4]) == set()
    assert (2, Rule.TWO_OF_THREE) in _signals([2.5, 0.0, 2.5])
    assert not any(rule is Rule.TWO_OF_THREE for _, rule in _signals([2.5, 0.0, -2.5]))
    assert (4, Rule.FOUR_OF_FIVE) in _signals([1.4, 1.4, 0.2, 1.4, 1.4])
    assert not any(rule is Rule.FOUR_OF_FIVE for _, rule in _signals([1.4, 1.4, 0.2, 1.4, 0.2]))
    sides = [place for place, rule in _signals([0.5] * 9) if rule is Rule.EIGHT_ON_ONE_SIDE]
    assert 7 in sides
    assert not any(rule is Rule.EIGHT_ON_ONE_SIDE for _, rule in _signals([0.5] * 5))


def test_all_rules_together_run_as_long_as_in_print() -> None:
    """About 92 values run before a rule breaks by chance (Champ, Woodall 1987; from memory)."""
    dice, lengths = random.Random(11), []
    known = [0.564, -0.564] * 400
    for _ in range(300):
        run = [dice.gauss(0, 1) for _ in range(600)]
        # What went before holds the limits at three sigma; a run is counted from its own start.
        chart = individuals([*known, *run])
        wide = [
            one.place - len(known)
            for one in chart.signals
            if one.place >= len(known) + 8 and one.rule is not Rule.RANGE
        ]
        lengths.append(min(wide, default=600) - 7)
    assert 75 <= sum(lengths) / len(lengths) <= 110


def test_readings_too_coarse_have_no_limits() -> None:
    """Lengths read in half centimetres that hardly differ have no limits but rounding."""
    chart = individuals([8.0, 8.0, 8.5, 8.0, 8.0, 8.0, 8.5, 8.0, 8.0, 8.0] * 2)
    assert chart.coarse
    assert chart.signals == ()
    assert individuals([8.0] * 20).coarse


def test_a_jump_is_told_by_its_range() -> None:
    """A single piece far off breaks the limit of the ranges as well."""
    chart = individuals([8.0, 8.1, 7.9, 8.0, 8.2, 8.0, 7.9, 8.1, 8.0, 9.4, 8.0, 8.1, 7.9, 8.0])
    assert Signal(9, Rule.RANGE) in chart.signals
