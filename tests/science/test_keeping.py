"""Spoiling with warmth: printed growth, the formula of USP <1160>, and warm days."""

from statistics import correlation, fmean, linear_regression

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coop.science import defaults, keeping
from coop.science.keeping import Kept
from tests.science.handbook import as_printed, rows

DAY = [Kept(8, 25), Kept(16, 5)]
LAWS = {
    "q10": lambda c, q: keeping.q10_rate(at_c=c, q10=q),
    "arrhenius": lambda c, e: keeping.arrhenius_rate(at_c=c, activation_kj_per_mol=e),
    "square-root": lambda c, m: keeping.square_root_rate(at_c=c, min_c=m),
}
DEFAULT_LAWS = {
    "q10": lambda c: keeping.q10_rate(at_c=c),
    "arrhenius": lambda c: keeping.arrhenius_rate(at_c=c),
    "square-root": lambda c: keeping.square_root_rate(at_c=c),
}
warmth = st.floats(-5, 40)
stretches = st.lists(st.builds(Kept, st.floats(0.1, 100), warmth), min_size=1, max_size=20)


def kept_of(text):
    """Read '672@20 48@35' as stretches of time."""
    return [Kept(*map(float, one.split("@"))) for one in text.split()]


@pytest.mark.parametrize("row", rows("keeping_mean_kinetic"), ids=lambda row: row["kept"])
def test_the_mean_kinetic_temperature_is_that_of_the_formula(row):
    found = keeping.mean_kinetic_c(kept=kept_of(row["kept"]))

    assert as_printed(found, row["mean_kinetic_c"])


@given(warmth, st.floats(0.1, 1000))
def test_one_temperature_is_its_own_mean(at_c, hours):
    assert keeping.mean_kinetic_c(kept=[Kept(hours, at_c)]) == pytest.approx(at_c, abs=1e-9)


@given(stretches)
def test_the_mean_kinetic_temperature_is_never_under_the_plain_mean(kept):
    """ICH Q1A, from memory: it is higher than the arithmetic mean."""
    hours = sum(one.hours for one in kept)
    plain = sum(one.hours * one.at_c for one in kept) / hours

    found = keeping.mean_kinetic_c(kept=kept)

    assert plain - 1e-9 <= found <= max(one.at_c for one in kept) + 1e-9


@given(stretches)
def test_a_thing_is_as_old_as_if_it_had_stood_at_its_mean_kinetic_temperature(kept):
    """That is what the temperature means; the two sums share nothing but the law."""
    rate = DEFAULT_LAWS["arrhenius"]
    steady_h = sum(one.hours for one in kept) * rate(keeping.mean_kinetic_c(kept=kept))

    assert keeping.effective_age_h(kept=kept, rate=rate) == pytest.approx(steady_h)


@pytest.mark.parametrize("row", rows("keeping_activation"), ids=lambda row: row["q10"])
def test_a_factor_for_ten_degrees_has_its_activation_energy(row):
    energy = keeping.activation_of_q10_kj_per_mol(q10=float(row["q10"]), from_c=20)

    assert as_printed(energy, row["activation_kj_per_mol"])
    assert keeping.arrhenius_rate(
        at_c=30, ref_c=20, activation_kj_per_mol=energy
    ) == pytest.approx(float(row["q10"]))


def test_the_constants_of_the_pharmacopoeia_are_ten_thousand_kelvin():
    """83.144 kJ/mol over 8.3144e-3 kJ/(mol K), USP <1160>."""
    ratio_k = defaults.value("spoiling_kj_per_mol") / keeping.GAS_KJ_PER_MOL_K

    assert ratio_k == pytest.approx(10_000, rel=1e-12)


@pytest.mark.parametrize(
    "row", rows("keeping_effective_age"), ids=lambda r: f"{r['law']} {r['constant']}"
)
def test_a_warm_day_and_a_cold_night_have_their_effective_age(row):
    law, constant = LAWS[row["law"]], float(row["constant"])

    age_h = keeping.effective_age_h(kept=DAY, rate=lambda at_c: law(at_c, constant))

    assert as_printed(age_h, row["effective_h"])


def test_the_square_root_law_is_that_of_printed_growth():
    """Least squares by the standard library on the printed rates: b, Tmin, r2, two rates."""
    table = rows("keeping_growth")
    warm = [float(row["c"]) for row in table]
    roots = [float(row["per_h"]) ** 0.5 for row in table]
    fit = linear_regression(warm, roots)
    min_c = -fit.intercept / fit.slope

    assert as_printed(fit.slope, "0.022738")
    assert as_printed(min_c, "2.958")
    assert as_printed(correlation(warm, roots) ** 2, "0.9983")
    for at_c, printed in ((15, "0.07497"), (25, "0.25119")):
        at_20 = (fit.slope * (20 - min_c)) ** 2
        rate = keeping.square_root_rate(at_c=at_c, ref_c=20, min_c=min_c)
        assert as_printed(rate * at_20, printed)


@pytest.mark.parametrize("row", rows("keeping_chilled_food"), ids=lambda row: row["c"])
def test_chilled_food_spoils_at_its_known_rates(row):
    """(1 + 0.1 T)^2 is the square-root law with nothing growing under -10 C."""
    rate = keeping.square_root_rate(at_c=float(row["c"]), ref_c=0, min_c=-10)

    assert as_printed(rate, row["rate"])


@pytest.mark.parametrize(("at_c", "days"), [(4, "18.4"), (7, "12.5"), (25, "2.9"), (30, "2.2")])
def test_four_days_at_room_warmth_are_so_many_elsewhere(at_c, days):
    """Four days are instruction pages' (common practice); scaled apart from this code."""
    assert as_printed(4 / keeping.square_root_rate(at_c=at_c), days)


def test_nothing_grows_under_the_lowest_temperature():
    assert keeping.square_root_rate(at_c=2, min_c=2.958) == 0


def test_a_chilled_day_counts_what_the_laws_say_of_a_refrigerator():
    """At 4 C they give from a tenth to a third of a warm day; the default lies between."""
    row = defaults.default("chilled_fraction")
    at_4_c = [
        LAWS["square-root"](4, -10),
        LAWS["arrhenius"](4, 83.144),
        LAWS["q10"](4, 2),
        LAWS["q10"](4, 4),
    ]

    assert row.low < min(at_4_c) < row.value < max(at_4_c) < row.high
    assert row.value == pytest.approx(fmean(at_4_c), abs=0.05)


@pytest.mark.parametrize("law", DEFAULT_LAWS)
@given(st.floats(-20, 60), st.floats(0, 30))
def test_warmer_never_spoils_slower(law, at_c, more):
    rate = DEFAULT_LAWS[law]

    assert rate(min(60, at_c + more)) >= rate(at_c) >= 0


@pytest.mark.parametrize("law", DEFAULT_LAWS)
def test_every_law_is_one_at_room_warmth(law):
    """A warm day is a day at 20 C by each of them."""
    assert DEFAULT_LAWS[law](defaults.value("spoiling_ref_c")) == pytest.approx(1)


def test_a_day_in_the_room_and_two_in_the_cold_are_under_a_day_and_a_half():
    """1 + 2 x 0.2, by hand."""
    assert keeping.warm_days(room_h=24, chilled_h=48) == pytest.approx(1.4)


@given(st.floats(0, 4000), st.floats(0, 4000), st.floats(0, 1), st.floats(0, 1))
def test_chilling_only_ever_saves(room_h, chilled_h, fraction, more):
    """Never older than by the calendar, never younger than by the room alone."""
    less, most = sorted((fraction, more))
    found = keeping.warm_days(room_h=room_h, chilled_h=chilled_h, chilled_fraction=less)
    other = keeping.warm_days(room_h=room_h, chilled_h=chilled_h, chilled_fraction=most)

    assert room_h / 24 <= found <= other <= (room_h + chilled_h) / 24 + 1e-9


@pytest.mark.parametrize(
    ("sum_of", "told"),
    [
        (lambda: keeping.warm_days(room_h=-1, chilled_h=0), "room_h: must be from 0 to 8784"),
        (lambda: keeping.warm_days(room_h=0, chilled_h=9000), "chilled_h: must be from 0"),
        (
            lambda: keeping.warm_days(room_h=0, chilled_h=1, chilled_fraction=1.1),
            "chilled_fraction: must be from 0 to 1, is 1.1",
        ),
        (lambda: keeping.q10_rate(at_c=61), "at_c: must be from -20 to 60"),
        (lambda: keeping.q10_rate(at_c=20, q10=0.5), "q10: must be from 1 to 10"),
        (
            lambda: keeping.activation_of_q10_kj_per_mol(q10=2, from_c=float("nan")),
            "from_c: must be from -20",
        ),
        (
            lambda: keeping.arrhenius_rate(at_c=20, activation_kj_per_mol=83_144),
            "activation_kj_per_mol: must be from 1 to 200",
        ),
        (
            lambda: keeping.square_root_rate(at_c=20, ref_c=-10, min_c=-10),
            "ref_c: must be over min_c, -10, and at most 60, is -10",
        ),
        (
            lambda: keeping.effective_age_h(kept=[], rate=DEFAULT_LAWS["q10"]),
            "kept: must be 1 to 1000 stretches of time, is 0",
        ),
        (
            lambda: keeping.effective_age_h(kept=[Kept(-1, 20)], rate=DEFAULT_LAWS["q10"]),
            "hours: must be from 0 to 8784, is -1",
        ),
        (
            lambda: keeping.mean_kinetic_c(kept=[Kept(8784, 20), Kept(1, 20)]),
            "hours together: must be from 0 to 8784, is 8785",
        ),
        (
            lambda: keeping.mean_kinetic_c(kept=[Kept(0, 20)]),
            "hours together: must be over 0 for a mean",
        ),
    ],
)
def test_what_cannot_be_is_refused_with_what_could(sum_of, told):
    with pytest.raises(ValueError, match=told):
        sum_of()
