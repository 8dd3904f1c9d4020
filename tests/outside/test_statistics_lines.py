"""Straight lines against certified and printed values, and against two reference libraries."""

from __future__ import annotations

import math
import random
from itertools import product

import pytest
import scipy.stats
import statsmodels.api as sm

from bench.least_squares import least_squares
from bench.line import Interval, Line, Unbounded, fit_line
from bench.student import student_cdf, student_quantile

# NIST Statistical Reference Datasets, linear regression, "Norris" (public domain).
NORRIS_X = [
    0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777.0, 558.2, 0.4, 0.6, 775.5,
    666.9, 338.0, 447.5, 11.6, 556.0, 228.1, 995.8, 887.6, 120.2, 0.3, 0.3, 556.8, 339.1, 887.2,
    999.0, 779.0, 11.1, 118.3, 229.2, 669.1, 448.9, 0.5,
]  # fmt: skip
NORRIS_Y = [
    0.1, 338.8, 118.1, 888.0, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3, 0.1, 778.1,
    668.8, 339.3, 448.9, 10.8, 557.7, 228.3, 998.0, 888.8, 119.6, 0.3, 0.6, 557.6, 339.3, 888.0,
    998.5, 778.9, 10.2, 117.6, 228.9, 668.4, 449.2, 0.2,
]  # fmt: skip

# NIST data file MODEL-4_4_4: pressure against temperature of a vessel, n = 40 (public domain).
TEMPERATURE = [
    54.749, 23.323, 58.775, 25.854, 68.297, 37.481, 49.542, 34.101, 33.901, 29.242, 39.506,
    43.004, 53.226, 54.467, 57.549, 61.204, 31.489, 68.476, 51.144, 68.774, 55.350, 44.692,
    50.995, 21.602, 54.673, 41.449, 35.451, 42.989, 48.599, 21.448, 56.982, 47.901, 40.285,
    25.609, 22.971, 25.838, 49.127, 54.936, 50.917, 41.976,
]  # fmt: skip
PRESSURE = [
    225.066, 100.331, 230.863, 106.160, 277.502, 148.314, 197.562, 138.537, 137.969, 117.410,
    164.442, 181.044, 222.179, 227.010, 232.496, 253.557, 139.894, 273.931, 207.969, 280.205,
    227.060, 180.605, 206.229, 91.464, 223.869, 172.910, 152.073, 169.427, 192.561, 94.448,
    222.794, 199.003, 168.668, 109.387, 98.445, 110.987, 202.662, 224.773, 216.058, 171.469,
]  # fmt: skip


def same(found: float, printed: str) -> bool:
    """Return whether the value rounds to the printed digits (one unit in the last place spare)."""
    mantissa, _, exponent = printed.lower().partition("e")
    decimals = len(mantissa.partition(".")[2])
    unit = 10.0 ** (int(exponent or 0) - decimals)
    return abs(found - float(printed)) <= 0.51 * unit


@pytest.mark.parametrize(
    ("quantity", "certified"),
    [
        ("intercept", "-0.262323073774029"),
        ("slope", "1.00211681802045"),
        ("intercept_sd", "0.232818234301152"),
        ("slope_sd", "0.000429796848199937"),
        ("residual_sd", "0.884796396144373"),
        ("r_squared", "0.999993745883712"),
    ],
)
def test_norris(quantity: str, certified: str) -> None:
    """All certified digits of NIST StRD "Norris" come out."""
    assert same(getattr(fit_line(NORRIS_X, NORRIS_Y), quantity), certified)


def test_norris_sums() -> None:
    """Residual sum of squares and F of NIST StRD "Norris" come out."""
    fit = fit_line(NORRIS_X, NORRIS_Y).fit
    assert fit.df == 34
    assert same(float(fit.residual_squares), "26.6173985294224")
    assert same(fit.f_statistic, "5436385.54079785")


def test_noint1() -> None:
    """A line through the origin gives all certified digits of NIST StRD "NoInt1"."""
    line = fit_line(range(60, 71), range(130, 141), intercept=False)
    assert same(line.slope, "2.07438016528926")
    assert same(line.slope_sd, "0.0165289256198347")
    assert same(line.residual_sd, "3.56753034006338")
    assert line.df == 10
    assert same(line.r_squared, "0.999365492298663")
    assert same(float(line.fit.model_squares), "200457.727272727")
    assert same(float(line.fit.residual_squares), "127.272727272727")
    assert same(line.fit.f_statistic, "15750.25")
    assert line.intercept == 0


def test_noint2() -> None:
    """Three points through the origin: NIST StRD "NoInt2" (certified values from memory)."""
    line = fit_line([4, 5, 6], [3, 4, 4], intercept=False)
    assert same(line.slope, "0.727272727272727")
    assert same(line.slope_sd, "0.0420827318078432")
    assert same(line.residual_sd, "0.369274472937998")
    assert same(line.r_squared, "0.993348115299335")


def test_polynomials_of_wampler() -> None:
    """Fifth-degree polynomials (R. H. Wampler, J. Am. Stat. Assoc. 65 (1970) 549-565; NIST StRD
    "Wampler1" and "Wampler2") come out exactly, by their construction.
    """
    powers = [[x**power for power in range(1, 6)] for x in range(21)]
    ones = least_squares(powers, [1 + sum(row) for row in powers])
    assert list(map(float, ones.coefficients)) == [1.0] * 6
    assert ones.residual_squares == 0
    assert ones.f_statistic == math.inf
    tenths = [1 + sum(x**p / 10**p for p in range(1, 6)) for x in range(21)]
    found = least_squares(powers, [round(value, 5) for value in tenths])
    assert [float(value) for value in found.coefficients] == [1, 0.1, 0.01, 0.001, 1e-4, 1e-5]


def test_longley() -> None:
    """The badly conditioned NIST StRD "Longley" (data as shipped with statsmodels, certified values
    from memory) comes out to 14 digits.
    """
    data = sm.datasets.longley.load_pandas()
    fit = least_squares(data.exog.to_numpy().tolist(), data.endog.tolist())
    certified = [
        -3482258.63459582, 15.0618722713733, -0.0358191792925910, -2.02022980381683,
        -1.03322686717359, -0.0511041056535807, 1829.15146461355,
    ]  # fmt: skip
    assert [float(b) for b in fit.coefficients] == pytest.approx(certified, rel=1e-14)
    assert fit.residual_sd == pytest.approx(304.854073561965, rel=1e-14)


@pytest.mark.parametrize(
    ("at", "fitted", "se_mean", "half_mean", "se_new", "half_new", "low", "high"),
    [
        (25, "106.0025083", "1.197616158", "2.424447161", "4.462794627", "9.034455397",
         "96.9680530", "115.0369637"),
        (45, "184.6053171", "0.6803245009", "1.377244949", "4.352596104", "8.811370151",
         "175.7939470", "193.4166873"),
        (65, "263.2081259", "1.244162043", "2.518674379", "4.475510095", "9.060196516",
         "254.1479294", "272.2683224"),
    ],
)  # fmt: skip
def test_prediction_interval(  # noqa: PLR0917 (the columns of the table)
    at: int, fitted: str, se_mean: str, half_mean: str, se_new: str, half_new: str, low: str,
    high: str,
) -> None:  # fmt: skip
    """Confidence and prediction intervals of the pressure data, recomputed apart from this
    project (data: NIST/SEMATECH e-Handbook, MODEL-4_4_4).
    """
    line = fit_line(TEMPERATURE, PRESSURE)
    mean, new = line.mean_interval(at), line.prediction_interval(at)
    assert same(mean.estimate, fitted)
    assert same(mean.error, se_mean)
    assert same((mean.high - mean.low) / 2, half_mean)
    assert same(new.error, se_new)
    assert same((new.high - new.low) / 2, half_new)
    assert same(new.low, low)
    assert same(new.high, high)


def test_pressure_line() -> None:
    """Coefficients of the pressure data (NIST/SEMATECH e-Handbook, MODEL-4_4_4)."""
    line = fit_line(TEMPERATURE, PRESSURE)
    assert same(line.intercept, "7.74899739")
    assert same(line.slope, "3.93014044")
    assert same(line.residual_sd, "4.29909891")
    assert same(float(line.mean_x), "44.44735")
    assert same(float(line.spread_x), "7189.6463891")


THERMOMETER = fit_line(
    range(96, 111, 2), [95.71, 98.16, 99.52, 102.09, 103.79, 106.18, 108.14, 110.21]
)
CRYSTALS = fit_line(
    range(2, 29, 2),
    [0.08, 1.12, 4.43, 4.98, 4.92, 7.18, 5.57, 8.40, 8.81, 10.81, 11.16, 10.12, 13.12, 15.04],
)
_ARSENIC = {
    0: (0.17, 0.25, 0.01, 0.12), 1: (1.25, 0.86, 1.25, 1.10), 2: (2.01, 2.03, 2.14, 1.74),
    3: (3.18, 2.99, 3.23, 3.37), 4: (3.91, 3.90, 3.61, 4.27), 5: (4.88, 5.33, 4.96, 4.98),
    6: (6.09, 6.17, 6.07, 5.97), 7: (6.67, 7.02, 7.14, 7.30),
}  # fmt: skip
ARSENIC = fit_line(
    [x for x, ys in _ARSENIC.items() for _ in ys], [y for ys in _ARSENIC.values() for y in ys]
)


@pytest.mark.parametrize(
    ("line", "y", "kind", "level", "estimate", "low", "high"),
    [
        # Graybill and Iyer, Regression Analysis (1994) p. 431, thermometer.
        (THERMOMETER, 104, "single", 0.95, "103.995", "103.4", "104.6"),
        (THERMOMETER, 104, "single", 0.95, "103.994916", "103.404051", "104.589459"),
        (THERMOMETER, 100, "single", 0.90, "100.1", "99.63", "100.59"),
        (THERMOMETER, 100, "single", 0.90, "100.112318", "99.629403", "100.588503"),
        # The same, p. 434, crystals.
        (CRYSTALS, 5, "mean", 0.90, "9.93", "8.65", "11.05"),
        (CRYSTALS, 5, "mean", 0.90, "9.92905789", "8.6502591", "11.0478965"),
        # Greenwell and Schubert Kabban, R Journal 6/1 (2014) 90-100, arsenic.
        (ARSENIC, 3, "single", 0.90, "2.9314", "2.6035", "3.2587"),
        (ARSENIC, 3, "single", 0.90, "2.93144906", "2.60353727", "3.25865794"),
    ],
)
def test_fieller(  # noqa: PLR0917 (the columns of the table)
    line: Line,
    y: float,
    kind: str,
    level: float,
    estimate: str,
    low: str,
    high: str,
) -> None:
    """Inverse prediction gives the printed intervals of the cited books."""
    found = line.inverse_mean(y, level) if kind == "mean" else line.inverse_prediction(y, level)
    assert isinstance(found, Interval)
    assert same(found.estimate, estimate)
    assert same(found.low, low)
    assert same(found.high, high)


def test_wald() -> None:
    """The first-order standard errors that the R Journal article prints come out too."""
    arsenic = ARSENIC.inverse_prediction(3, 0.90)
    single, mean = CRYSTALS.inverse_prediction(5, 0.90), CRYSTALS.inverse_mean(5, 0.90)
    assert isinstance(arsenic, Interval)
    assert isinstance(single, Interval)
    assert isinstance(mean, Interval)
    assert same(arsenic.error, "0.1929")
    t = student_quantile(0.95, ARSENIC.df)
    assert same(arsenic.estimate - t * arsenic.error, "2.6040")
    assert same(arsenic.estimate + t * arsenic.error, "3.2589")
    assert same(single.error, "2.211698")
    assert same(mean.error, "0.6658998")


def test_fieller_limits_solve_their_equation() -> None:
    """A limit x of Fieller's interval is where the prediction limit at x meets the observation."""
    for line, y in ((CRYSTALS, 5.0), (ARSENIC, 3.0)):
        found = line.inverse_prediction(y, 0.9)
        assert isinstance(found, Interval)
        assert line.prediction_interval(found.low, 0.9).high == pytest.approx(y, abs=1e-9)
        assert line.prediction_interval(found.high, 0.9).low == pytest.approx(y, abs=1e-9)
    origin = fit_line([10, 20, 30, 40], [4.1, 7.8, 12.3, 15.9], intercept=False)
    found = origin.inverse_prediction(20, 0.9)
    assert isinstance(found, Interval)
    assert origin.prediction_interval(found.low, 0.9).high == pytest.approx(20, abs=1e-9)
    assert origin.prediction_interval(found.high, 0.9).low == pytest.approx(20, abs=1e-9)


def test_fieller_without_ends() -> None:
    """Where the slope may be nothing (g >= 1), there is no interval."""
    flat = fit_line([1, 2, 3, 4], [1.0, 3.0, 0.5, 2.5])
    found = flat.inverse_prediction(9, 0.9)
    assert isinstance(found, Unbounded)
    assert found.g > 1


def test_inverse_of_several_observations_is_narrower() -> None:
    """Three observations of the same unknown pin it better than one of them."""
    one, three = ARSENIC.inverse_prediction(3), ARSENIC.inverse_prediction([2.9, 3.0, 3.1])
    assert isinstance(one, Interval)
    assert isinstance(three, Interval)
    assert three.high - three.low < one.high - one.low
    assert three.estimate == pytest.approx(one.estimate)


def test_against_statsmodels() -> None:
    """Random lines, with and without intercept, agree with statsmodels and scipy."""
    rng = random.Random(7)
    for _ in range(20):
        xs = [rng.uniform(-50, 200) for _ in range(rng.randint(4, 40))]
        ys = [3 + 0.4 * x + rng.gauss(0, 2) for x in xs]
        line = fit_line(xs, ys)
        other = sm.OLS(ys, sm.add_constant(xs)).fit()
        assert line.slope == pytest.approx(other.params[1], rel=1e-9)
        assert line.intercept_sd == pytest.approx(other.bse[0], rel=1e-9)
        frame = other.get_prediction([[1, 77.0]]).summary_frame(alpha=0.1)
        new, mean = line.prediction_interval(77.0, 0.9), line.mean_interval(77.0, 0.9)
        assert new.low == pytest.approx(frame["obs_ci_lower"].iloc[0], rel=1e-9)
        assert mean.high == pytest.approx(frame["mean_ci_upper"].iloc[0], rel=1e-9)
        assert line.slope_sd == pytest.approx(scipy.stats.linregress(xs, ys).stderr, rel=1e-9)
        origin, bare = fit_line(xs, ys, intercept=False), sm.OLS(ys, xs).fit()
        assert origin.slope == pytest.approx(bare.params[0], rel=1e-9)
        assert origin.r_squared == pytest.approx(bare.rsquared, rel=1e-9)
        frame = bare.get_prediction([[77.0]]).summary_frame(alpha=0.1)
        new = origin.prediction_interval(77.0, 0.9)
        assert new.high == pytest.approx(frame["obs_ci_upper"].iloc[0], rel=1e-9)


DEGREES = (1, 2, 2.5, 4, 10, 38, 1000, math.inf)
CHANCES = (1e-9, 0.05, 0.4, 0.5, 0.9, 0.975, 0.9999)


def test_quantiles_of_student(subtests: pytest.Subtests) -> None:
    """Quantiles of Student's t agree with scipy, and the distribution function takes them back."""
    for df, chance in product(DEGREES, CHANCES):
        with subtests.test(df=df, chance=chance):
            found = student_quantile(chance, df)
            reference = scipy.stats.t(df).ppf(chance)
            assert found == pytest.approx(reference, rel=1e-9, abs=1e-12)
            if not math.isinf(df):
                assert student_cdf(found, df) == pytest.approx(chance, rel=1e-12)


@pytest.mark.parametrize(
    ("chance", "df", "printed"),
    [
        # NIST/SEMATECH e-Handbook 1.3.6.7.2, table of upper critical values (from memory).
        (0.90, 1, "3.078"), (0.95, 1, "6.314"), (0.975, 1, "12.706"), (0.95, 5, "2.015"),
        (0.975, 10, "2.228"), (0.99, 20, "2.528"), (0.975, 30, "2.042"), (0.999, 5, "5.893"),
    ],
)  # fmt: skip
def test_table_of_student(chance: float, df: int, printed: str) -> None:
    """The usual table of critical values comes out."""
    assert same(student_quantile(chance, df), printed)


def test_what_cannot_be_fitted_is_refused() -> None:
    """Too few points, points on one spot and unequal lists are refused with a sentence."""
    with pytest.raises(ValueError, match="too few"):
        fit_line([1], [2])
    with pytest.raises(ValueError, match="do not determine"):
        fit_line([3, 3, 3], [1, 2, 3])
    with pytest.raises(ValueError, match="own row"):
        fit_line([1, 2, 3], [1, 2])
    with pytest.raises(ValueError, match="has no error"):
        fit_line([1, 2], [1, 2]).prediction_interval(3)
