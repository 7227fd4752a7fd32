"""Learned pick-up: a published consensus, and hidden papers that it must find again."""

from collections.abc import Sequence
from math import exp, log
from random import Random
from statistics import NormalDist, fmean

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coop.science import defaults, pickup
from coop.science.pickup import Pair
from tests.science.handbook import as_printed, rows

SEED = 20_250_918
PAPERS = 300
TRUE_ML_PER_M2 = 140.0


def pairs_of(
    luck: Random, pair_count: int, ln_sd: float, sd_ml: float, middle: float = TRUE_ML_PER_M2
) -> list[Pair]:
    """Entries of 25 to 100 half sheets, each with its own factor, read with noise."""
    found = []
    for _ in range(pair_count):
        area_m2 = luck.uniform(4, 18)
        taken = area_m2 * exp(luck.gauss(log(middle), ln_sd))
        found.append(Pair(area_m2=area_m2, gone_ml=taken + luck.gauss(0, sd_ml), sd_ml=sd_ml))
    return found


def learned_papers(pair_count: int, ln_sd: float, sd_ml: float) -> list[pickup.Learned]:
    luck = Random(f"{SEED} {pair_count} {ln_sd} {sd_ml}")
    found = [
        pickup.learned(pairs=pairs_of(luck, pair_count, ln_sd, sd_ml)) for _ in range(PAPERS)
    ]
    return [one for one in found if one is not None]


def covered(papers: Sequence[pickup.Learned], ln_sd: float) -> float:
    """How often a later entry's own factor lies in the range: exact, not drawn."""
    true = NormalDist(log(TRUE_ML_PER_M2), ln_sd)
    return fmean(
        true.cdf(log(one.high_ml_per_m2)) - true.cdf(log(one.low_ml_per_m2)) for one in papers
    )


CASES = [
    (30, 0.10, 20), (30, 0.10, 150), (30, 0.15, 20), (30, 0.15, 150), (30, 0.15, 300),
    (30, 0.15, 520), (30, 0.25, 20), (30, 0.25, 300), (30, 0.25, 520), (100, 0.15, 150),
    (100, 0.15, 520), (100, 0.25, 20),
]  # fmt: skip


@pytest.mark.parametrize(("pair_count", "ln_sd", "sd_ml"), CASES)
def test_a_hidden_paper_is_found_again(pair_count, ln_sd, sd_ml):
    """Middle within 1 %, and a later entry lies in its range 85 to 95 times in 100."""
    papers = learned_papers(pair_count, ln_sd, sd_ml)

    assert len(papers) == PAPERS
    off = fmean(log(one.middle_ml_per_m2 / TRUE_ML_PER_M2) for one in papers)
    assert abs(off) < 0.01
    assert 0.85 <= covered(papers, ln_sd) <= 0.95


@pytest.mark.parametrize(("pair_count", "ln_sd", "sd_ml"), CASES)
def test_the_range_of_the_middle_holds_the_middle(pair_count, ln_sd, sd_ml):
    """Of three hundred papers 90 +- 6 in a hundred, which is over three standard deviations."""
    papers = learned_papers(pair_count, ln_sd, sd_ml)

    held = fmean(
        one.middle_low_ml_per_m2 <= TRUE_ML_PER_M2 <= one.middle_high_ml_per_m2
        for one in papers
    )
    assert 0.84 <= held <= 0.96


def test_readings_alone_would_teach_a_spread_that_is_not_there():
    """With the noise left in, the range would be half as wide again."""
    luck = Random(SEED)
    told = pairs_of(luck, 200, 0.15, 300)
    untold = [Pair(area_m2=p.area_m2, gone_ml=p.gone_ml, sd_ml=0) for p in told]

    with_noise_off, with_noise_in = pickup.learned(pairs=told), pickup.learned(pairs=untold)

    assert with_noise_off is not None
    assert with_noise_in is not None
    assert with_noise_off.ln_sd < 0.2 < with_noise_in.ln_sd


def test_a_paper_that_never_differs_keeps_a_range():
    """Thirty like pairs do not promise the thirty-first: +- 12 %, our own floor."""
    found = pickup.learned(pairs=[Pair(area_m2=10, gone_ml=1400, sd_ml=0)] * 30)

    assert found is not None
    assert found.middle_ml_per_m2 == pytest.approx(140)
    assert found.high_ml_per_m2 / found.low_ml_per_m2 == pytest.approx(1.12 / 0.88)
    assert defaults.value("pickup_spread_min_fraction") == 0.12


def test_a_later_entry_is_never_surer_than_the_middle():
    """Rough readings leave the middle in doubt, and every later entry with it."""
    found = pickup.learned(pairs=[Pair(area_m2=10, gone_ml=1400, sd_ml=1000)] * 30)

    assert found is not None
    assert found.low_ml_per_m2 < found.middle_low_ml_per_m2
    assert found.high_ml_per_m2 > found.middle_high_ml_per_m2


def test_twenty_nine_pairs_teach_nothing_yet():
    """A learned figure replaces the usual one, so it waits until it is worth it."""
    pairs = pairs_of(Random(SEED), 30, 0.15, 60)

    assert pickup.learned(pairs=pairs[:29]) is None
    assert pickup.learned(pairs=pairs) is not None
    assert pickup.learned(pairs=pairs[:29], pairs_min=29) is not None


def test_a_tub_that_did_not_go_down_teaches_nothing():
    """Readings that say the sheets brought liquid along are wrong, not a paper's habit."""
    assert pickup.learned(pairs=[Pair(area_m2=10, gone_ml=-100, sd_ml=50)] * 30) is None


def test_one_reading_below_nothing_is_kept():
    """Left out, only the readings that err upwards would stay."""
    luck = Random(SEED)
    pairs = pairs_of(luck, 40, 0.15, 900)
    found = pickup.learned(pairs=pairs)

    assert min(one.gone_ml for one in pairs) < 0
    assert found is not None
    assert found.middle_low_ml_per_m2 <= TRUE_ML_PER_M2 <= found.middle_high_ml_per_m2


@given(middle=st.floats(20, 800), seed=st.integers(0, 1000))
def test_a_thirstier_paper_scales_everything(middle, seed):
    """No figure of the usual paper stands in the sum."""
    usual = pickup.learned(pairs=pairs_of(Random(seed), 30, 0.2, 0))
    other = pickup.learned(pairs=pairs_of(Random(seed), 30, 0.2, 0, middle))

    assert usual is not None
    assert other is not None
    by = middle / TRUE_ML_PER_M2
    assert other.middle_ml_per_m2 == pytest.approx(usual.middle_ml_per_m2 * by, rel=1e-6)
    assert other.high_ml_per_m2 == pytest.approx(usual.high_ml_per_m2 * by, rel=1e-6)


@given(seed=st.integers(0, 1000))
def test_the_order_of_the_pairs_does_not_matter(seed):
    pairs = pairs_of(Random(seed), 30, 0.2, 100)
    there, back = pickup.learned(pairs=pairs), pickup.learned(pairs=pairs[::-1])

    assert there is not None
    assert back is not None
    assert there.middle_ml_per_m2 == pytest.approx(back.middle_ml_per_m2)
    assert there.ln_sd == pytest.approx(back.ln_sd)


def test_the_published_consensus_of_thirteen_trials_comes_out():
    """Logarithms of the ratio of risks, with their variances: 0.3181 and -0.7150."""
    readings = []
    for row in rows("consensus_trials"):
        a, b, c, d = (float(text) for text in row.values())
        readings.append(
            (log(a / (a + b) / (c / (c + d))), 1 / a - 1 / (a + b) + 1 / c - 1 / (c + d))
        )
    agreed = pickup.consensus(readings=readings)

    assert as_printed(agreed.between_variance, "0.3181")
    assert as_printed(agreed.mean, "-0.7150")


def test_readings_without_noise_agree_on_the_plain_mean_and_variance():
    """By hand: 1, 2, 3, 6 have the mean 3 and the variance 14/3."""
    agreed = pickup.consensus(readings=[(1, 0), (2, 0), (3, 0), (6, 0)])

    assert agreed.mean == pytest.approx(3)
    assert agreed.between_variance == pytest.approx(14 / 3)
    assert agreed.mean_variance == pytest.approx(14 / 12)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (
            lambda: pickup.learned(pairs=[Pair(area_m2=0, gone_ml=1, sd_ml=1)]),
            "^area_m2: must be over 0, to 1000, is 0",
        ),
        (
            lambda: pickup.learned(pairs=[Pair(area_m2=1, gone_ml=2e6, sd_ml=1)]),
            r"^gone_ml: must be from -1000000 to 1000000, is 2e\+06",
        ),
        (
            lambda: pickup.learned(pairs=[Pair(area_m2=1, gone_ml=1, sd_ml=-1)]),
            "^sd_ml: must be from 0 to 1000000, is -1",
        ),
        (
            lambda: pickup.learned(pairs=[Pair(area_m2=1, gone_ml=1, sd_ml=1)] * 10_001),
            "^pairs: must be 10000 at most, is 10001",
        ),
        (lambda: pickup.learned(pairs=[], pairs_min=1), "^pairs_min: must be 2 or more, is 1"),
        (lambda: pickup.consensus(readings=[(1, 1)]), "^readings: must be 2 or more, is 1"),
        (
            lambda: pickup.consensus(readings=[(1, 1), (2, -1)]),
            "^readings: no variance must be under 0",
        ),
    ],
)
def test_pairs_that_cannot_be_are_refused(call, message):
    with pytest.raises(ValueError, match=message):
        call()
