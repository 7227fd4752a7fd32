"""The doubt is honest: simulated baths lie where the estimate says, as often as it says."""

from random import Random
from statistics import fmean

import pytest

from coop.science import alum, bath_belief
from coop.science.defaults import default
from tests.bench import honesty
from tests.bench.simulated import METHODS, Truth, even, hidden, lived, noise, pickup_ml_per_m2

DRAWN = 20_000


@pytest.fixture(scope="module")
def figures():
    """All that is held against what is wanted, by its name."""
    return {one.what: one for one in honesty.figures(honesty.found(honesty.BATHS))}


def test_every_figure_of_the_report_is_as_wanted(figures):
    """Strength and litres, by readings, papers and mixing; sheets left; what is flagged."""
    off = {what: one.value for what, one in figures.items() if not one.holds}

    assert off == {}


@pytest.mark.parametrize(
    "what",
    [
        "strength lies in its interval, all baths",
        "litres lie in their interval, all baths",
        "strength lies in its interval, without readings",
        "litres lie in their interval, without readings",
        "strength lies in its interval, two papers",
        "litres lie in their interval, two papers",
        "at least the low sheets left, the same paper",
        "water forgotten is flagged, read before",
        "readings flagged when nothing was forgotten",
    ],
)
def test_what_is_promised_is_in_the_report_with_enough_baths(figures, what):
    """A figure that is missing, or of a handful of baths, shows nothing."""
    assert figures[what].wanted is not None
    assert figures[what].count >= 500


def test_errors_drawn_anew_each_time_would_be_found_out(monkeypatch):
    """The simulation must tell a doubt that is too small from an honest one."""
    monkeypatch.setattr(bath_belief, "LASTING_MAX", 0)
    baths = honesty.found(200)

    assert fmean(bath.strength_covered for bath in baths) < honesty.COVERS[0]
    assert fmean(bath.litres_covered for bath in baths) < honesty.COVERS[0]


def test_no_bath_tells_of_another_and_the_same_seed_is_the_same_bath():
    first, again, other = lived(1), lived(1), lived(2)

    assert first.truth == again.truth
    assert [one.digest for one in first.entries] == [one.digest for one in again.entries]
    assert first.truth != other.truth


@pytest.mark.parametrize("method", METHODS)
def test_nine_hidden_pick_ups_in_ten_lie_in_the_published_range(method):
    """The shapes are others than the estimate's own; the range is the one it was told."""
    draw, row = Random(3), default(f"pickup_{method}_ml_per_m2")
    drawn = [pickup_ml_per_m2(draw, method) for _ in range(DRAWN)]

    assert 0.87 <= fmean(row.low <= one <= row.high for one in drawn) <= 0.93


@pytest.mark.parametrize("shape", [noise, even])
def test_nine_errors_in_ten_lie_in_their_half_width(shape):
    draw = Random(4)

    assert fmean(abs(shape(draw, 2)) <= 2 for _ in range(DRAWN)) == pytest.approx(0.9, abs=0.01)


@pytest.mark.parametrize("salt", ["aluminium_sulfate_14", "potash_alum"])
def test_the_truth_weighs_what_the_density_curves_say(salt):
    """A tub by mass balance beside the curve, within the curve's own doubt of 3 %."""
    gravities = []
    for seed in range(200):
        tub = Truth(hidden=hidden(Random(seed), salt), salt=salt, water_ml=10_000, salt_g=400)
        in_liquid = 1000 * tub.salt_g / tub.liquid_ml
        curve = alum.specific_gravity(strength_g_per_l=in_liquid, salt=salt)
        gravities.append((tub.gravity_sg - 1) / (curve - 1))

    assert fmean(gravities) == pytest.approx(1, abs=0.005)
    assert 0.96 <= min(gravities) <= max(gravities) <= 1.04


def test_sheets_take_liquid_at_the_strength_of_the_bath():
    """By the truth as by the trade: what is carried off does not weaken, what is bound does."""
    draw = Random(5)
    tub = Truth(
        hidden=hidden(draw, "potash_alum"), salt="potash_alum", water_ml=10_000, salt_g=400
    )
    before = tub.strength_g_per_l

    tub.sheets(50, 0.175, 0, "sponge")
    assert tub.strength_g_per_l == pytest.approx(before)
    tub.sheets(50, 0.175, 0, "dip")
    assert tub.strength_g_per_l < before
