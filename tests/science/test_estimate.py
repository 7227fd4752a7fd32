"""Doubt as numbers, held against printed tables and an independent library."""

from math import cos, expm1, isclose, log, sin, sqrt
from statistics import NormalDist, correlation, fmean, stdev

import pytest
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import ufloat

from coop.science import estimate
from coop.science.defaults import Z_90, default

# kalmanfilter.net, "Estimating the height of a building": ten readings with sd 5 m (read in
# the published example); start 60 m and variance 225 from memory.
HEIGHTS_M = (48.54, 47.11, 55.01, 55.15, 49.89, 40.85, 46.72, 50.05, 51.27, 49.95)
HEIGHT_TABLE = (
    (0.9000, 49.686, 22.5),
    (0.4737, 48.4658, 11.8421),
    (0.3214, 50.5693, 8.0357),
    (0.2432, 51.6835, 6.0811),
    (0.1957, 51.3326, 4.8913),
    (0.1636, 49.6173, 4.0909),
    (0.1406, 49.2098, 3.5156),
    (0.1233, 49.3134, 3.0822),
    (0.1098, 49.5282, 2.7439),
    (0.0989, 49.5699, 2.4725),
)


def test_a_filter_over_ten_readings_gives_the_published_table():
    """The bath's filter is this one in three dimensions; kalmanfilter.net, building height."""
    mean, variance = 60.0, 225.0

    for reading, (gain, height, left) in zip(HEIGHTS_M, HEIGHT_TABLE, strict=True):
        after = estimate.kalman_updated(
            mean=mean, variance=variance, reading=reading, reading_variance=25
        )
        mean, variance = after.mean, after.variance
        assert after.gain == pytest.approx(gain, abs=0.5e-4)
        assert after.mean == pytest.approx(height, abs=0.5e-4)
        assert after.variance == pytest.approx(left, abs=0.5e-4)


def test_a_filter_without_moves_is_the_precision_weighted_mean():
    """49.569890 and 2.472527 by the batch formula, so the order of readings cannot matter."""
    readings = [(60.0, 225.0), *((height, 25.0) for height in HEIGHTS_M)]

    mean, variance = estimate.weighted_mean(readings=readings)

    assert mean == pytest.approx(49.569890, abs=0.5e-6)
    assert variance == pytest.approx(2.472527, abs=0.5e-6)


@given(st.permutations(HEIGHTS_M))
def test_the_order_of_readings_changes_nothing(heights):
    """A filter that depended on it would tell two phones two things."""
    mean, variance = 60.0, 225.0

    for reading in heights:
        after = estimate.kalman_updated(
            mean=mean, variance=variance, reading=reading, reading_variance=25
        )
        mean, variance = after.mean, after.variance

    assert isclose(mean, 49.569890, abs_tol=1e-6)
    assert isclose(variance, 2.472527, abs_tol=1e-6)


def test_a_move_brings_its_own_doubt():
    """Variances add; the gain of no reading is nought."""
    moved = estimate.kalman_predicted(mean=50, variance=4, moved_by=-8, added_variance=1)

    assert (moved.mean, moved.variance, moved.gain) == (42, 5, 0)


@pytest.mark.parametrize(("kept", "probability"), [(Z_90, 0.95), (estimate.Z_20_PERCENT, 0.80)])
def test_the_normal_quantiles_are_those_of_the_standard_library(kept, probability):
    """1.645 is the printed figure, so it holds to its own last digit."""
    assert kept == pytest.approx(NormalDist().inv_cdf(probability), abs=0.0005)


def test_a_bare_spoon_of_alum_is_one_spread_on_the_logarithm():
    """Printed figures for a tablespoon of alum run from 11 to 20 g around 14.8."""
    spoon = default("alum_g_per_us_tbsp")
    ln_sd = estimate.ln_sd_of_range(low=spoon.low, high=spoon.high)

    low, high = estimate.lognormal_interval(ln_mean=log(spoon.value), ln_sd=ln_sd)

    assert low == pytest.approx(11, abs=0.05)
    assert high == pytest.approx(20, abs=0.05)


@given(st.floats(-5, 8), st.floats(0.001, 2), st.sampled_from([0.05, 0.2, 0.5, 0.8, 0.95]))
def test_a_log_normal_quantile_is_the_normal_one_of_the_logarithm(ln_mean, ln_sd, probability):
    """Held against the standard library's normal distribution."""
    z = NormalDist().inv_cdf(probability)

    quantile = estimate.lognormal_quantile(ln_mean=ln_mean, ln_sd=ln_sd, z=z)

    assert NormalDist(ln_mean, ln_sd).cdf(log(quantile)) == pytest.approx(probability)


@given(st.floats(0, 1.2))
def test_the_spread_of_a_log_normal_amount_counts_its_long_tail(ln_sd):
    """Held against the mean square of its own quantiles, by the standard library."""
    steps = 20_000
    quantiles = (NormalDist().inv_cdf((n + 0.5) / steps) for n in range(steps))
    square = fmean(expm1(ln_sd * z) ** 2 for z in quantiles)

    assert estimate.lognormal_spread(ln_sd=ln_sd) == pytest.approx(sqrt(square), rel=0.03)


def _gauge_length_nm(of):
    spread = of["alpha_difference"] * of["theta"] + of["alpha"] * of["theta_difference"]
    return of["standard"] + of["difference"] - of["standard"] * spread


def _gauge_inputs():
    difference_sd = sqrt(5.8**2 + 3.9**2 + 6.7**2)
    return {
        "standard": (50_000_623.0, 25.0),
        "difference": (215.0, difference_sd),
        "alpha_difference": (0.0, 1e-6 / sqrt(3)),
        "theta": (-0.1, 0.41),
        "alpha": (11.5e-6, 1.2e-6),
        "theta_difference": (0.0, 0.05 / sqrt(3)),
    }


def test_the_end_gauge_of_the_guide_comes_out_at_50000838_with_32_nm():
    """JCGM 100:2008 (GUM) example H.1, input figures as in the GTC documentation's H1."""
    budget = estimate.uncertainty_budget(function=_gauge_length_nm, inputs=_gauge_inputs())

    assert budget.value == pytest.approx(50_000_838, abs=0.5)
    assert budget.sd == pytest.approx(31.6639, abs=0.5e-4)
    assert abs(budget.parts["standard"]) == pytest.approx(25, abs=0.05)
    assert abs(budget.parts["theta_difference"]) == pytest.approx(16.599, abs=0.5e-3)
    assert abs(budget.parts["alpha_difference"]) == pytest.approx(2.887, abs=0.5e-3)
    assert budget.parts["alpha"] == 0
    assert budget.parts["theta"] == 0


def test_the_end_gauge_agrees_with_an_independent_library():
    """The uncertainties package propagates by exact slopes, this one by differences."""
    inputs = _gauge_inputs()

    ours = estimate.uncertainty_budget(function=_gauge_length_nm, inputs=inputs)
    theirs = _gauge_length_nm({name: ufloat(*number) for name, number in inputs.items()})

    assert ours.value == pytest.approx(theirs.nominal_value, abs=1e-6)
    assert ours.sd == pytest.approx(theirs.std_dev, abs=1e-4)


# JCGM 100:2008 (GUM) example H.2, raw readings from memory.
VOLTS = (5.007, 4.994, 5.005, 4.990, 4.999)
MILLIAMPS = (19.663, 19.639, 19.640, 19.685, 19.678)
PHASES_RAD = (1.0456, 1.0438, 1.0468, 1.0428, 1.0433)


def _resistance(of):
    return 1000 * of["v"] / of["i"] * cos(of["phi"])


def _reactance(of):
    return 1000 * of["v"] / of["i"] * sin(of["phi"])


def _impedance(of):
    return 1000 * of["v"] / of["i"]


@pytest.mark.parametrize(
    ("function", "value", "sd"),
    [
        (_resistance, 127.732, 0.07107),
        (_reactance, 219.847, 0.29558),
        (_impedance, 254.260, 0.23634),
    ],
)
def test_three_correlated_readings_give_the_impedance_of_the_guide(function, value, sd):
    """The guide prints 0.071, 0.295 and 0.236 ohm; without the correlations all are off."""
    series = {"v": VOLTS, "i": MILLIAMPS, "phi": PHASES_RAD}
    inputs = {name: (fmean(xs), stdev(xs) / sqrt(len(xs))) for name, xs in series.items()}
    pairs = [("v", "i"), ("v", "phi"), ("i", "phi")]

    budget = estimate.uncertainty_budget(
        function=function,
        inputs=inputs,
        correlations={(a, b): correlation(series[a], series[b]) for a, b in pairs},
    )

    assert budget.value == pytest.approx(value, abs=0.5e-3)
    assert budget.sd == pytest.approx(sd, abs=0.6e-5)


@pytest.mark.parametrize(
    ("function", "sd", "digits"),
    [(_resistance, 0.070, 3), (_reactance, 0.30, 2), (_impedance, 0.24, 2)],
)
def test_the_rounded_inputs_of_the_example_give_the_printed_brackets(function, sd, digits):
    """127.732(70), 219.85(30), 254.26(24) ohm in the GTC documentation's H2."""
    budget = estimate.uncertainty_budget(
        function=function,
        inputs={"v": (4.999, 0.0032), "i": (19.661, 0.0095), "phi": (1.04446, 0.00075)},
        correlations={("v", "i"): -0.36, ("v", "phi"): 0.86, ("i", "phi"): -0.65},
    )

    assert round(budget.sd, digits) == sd


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: estimate.sd_of_half_width(half_width=-1), "half_width"),
        (lambda: estimate.ln_sd_of_range(low=0, high=2), "low"),
        (lambda: estimate.ln_sd_of_range(low=3, high=2), "high"),
        (lambda: estimate.ln_sd_of_fraction(fraction=1), "fraction"),
        (lambda: estimate.weighted_mean(readings=[]), "readings"),
        (
            lambda: estimate.kalman_updated(mean=1, variance=1, reading=1, reading_variance=0),
            "reading_variance",
        ),
        (
            lambda: estimate.uncertainty_budget(
                function=_impedance,
                inputs={"v": (1, 0.1), "i": (1, 0.1)},
                correlations={("v", "i"): 1.5},
            ),
            "v with i",
        ),
    ],
)
def test_a_figure_out_of_range_is_named(call, says):
    """The message says what and what would be right."""
    with pytest.raises(ValueError, match=says):
        call()
