"""Counts of spoiled sheets: Fisher's own examples, every sum by hand, published intervals."""

from fractions import Fraction
from math import comb
from time import perf_counter

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coop.science import counts, defaults
from tests.science.handbook import as_printed, rows

Z_95 = 1.959964
"""97.5 % quantile of the standard normal, common tables."""


def exact(k: int, n: int, rest_k: int, rest_n: int) -> Fraction:
    """The chance by counting every way to draw the part."""
    marked, everything = k + rest_k, n + rest_n
    ways = sum(
        comb(marked, i) * comb(everything - marked, n - i) for i in range(k, min(n, marked) + 1)
    )
    return Fraction(ways, comb(everything, n))


def chance(k: int, n: int, rest_k: int, rest_n: int) -> float:
    return counts.chance_of_so_many(
        fault_count=k, sheet_count=n, rest_fault_count=rest_k, rest_sheet_count=rest_n
    )


def compared(k: int, n: int, rest_k: int, rest_n: int) -> counts.Compared:
    return counts.compared(
        fault_count=k, sheet_count=n, rest_fault_count=rest_k, rest_sheet_count=rest_n
    )


@pytest.mark.parametrize(
    ("table", "printed"),
    [
        ((4, 4, 0, 4), Fraction(1, 70)),
        ((3, 4, 1, 4), Fraction(17, 70)),
        ((2, 4, 2, 4), Fraction(53, 70)),
        ((1, 4, 3, 4), Fraction(69, 70)),
        ((10, 13, 2, 17), Fraction(619, 1_330_665)),
    ],
)
def test_fisher_s_own_examples_come_out(table, printed):
    """
    Cups of tea (The Design of Experiments, 1935) and convicted twins (The Logic of Inductive
    Inference, J R Stat Soc 98:39-82, 1935), both from memory.
    """
    assert chance(*table) == pytest.approx(float(printed), rel=1e-12)


parts = st.integers(1, 60).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n)))


@given(part=parts, rest=parts)
def test_the_sum_is_every_way_counted_by_hand(part, rest):
    assert chance(*part, *rest) == pytest.approx(float(exact(*part, *rest)), rel=1e-12)


@pytest.mark.parametrize(
    "table", [(180, 900, 300, 4000), (7, 3000, 90, 100_000), (150, 150, 0, 3000)]
)
def test_large_counts_lose_no_digits(table):
    """A quarter's sheets are thousands, and the last chance is 4 in 10 to the 261."""
    expected = exact(*table)

    assert chance(*table) == pytest.approx(float(expected), rel=1e-11)


def test_a_hundred_thousand_sheets_take_no_time():
    """The sum runs while a person sorts; a tenth of a second is already long."""
    started = perf_counter()

    at_half = chance(50_000, 100_000, 50_000, 100_000)

    assert perf_counter() - started < 2
    assert at_half == pytest.approx(0.5, abs=0.002)


@given(part=parts, rest=parts)
def test_one_more_spoiled_sheet_is_never_more_usual(part, rest):
    k, n = part
    if k < n:
        assert chance(k + 1, n, *rest) <= chance(k, n, *rest) * (1 + 1e-12)


@given(rest=parts, n=st.integers(1, 60))
def test_none_or_more_is_certain(rest, n):
    assert chance(0, n, *rest) == pytest.approx(1)


def test_seven_of_forty_are_no_news_among_all_the_faults_of_those_weeks():
    """
    Before 18 September 26 of 294 sheets were spoiled, by any word; 7 of 40 then come one
    time in twelve. Computed apart from this code: 0.0812791.
    """
    found = compared(7, 40, 26, 294)

    assert as_printed(found.chance, "0.0812791")
    assert (found.one_in, found.speaks) == (12, False)
    assert as_printed(found.usual_count, "3.54")


def test_seven_of_forty_speak_when_the_others_seldom_wash_off():
    """The same 7 sheets against one word: 9 of those 294 washed off, 1.2 were usual."""
    found = compared(7, 40, 9, 294)

    assert found.speaks
    assert found.chance == pytest.approx(float(exact(7, 40, 9, 294)), rel=1e-12)
    assert as_printed(found.usual_count, "1.2")


def test_saturday_s_sheets_speak_whatever_the_word():
    """31 of 46 on the watered bath, against 33 of 334 until then."""
    found = compared(31, 46, 33, 334)

    assert found.speaks
    assert found.one_in == counts.ONE_IN_MAX


def test_three_sheets_say_nothing_however_seldom():
    """One sheet in a thousand is spoiled, and three of three may still be one dirty rake."""
    found = compared(3, 3, 1, 1000)

    assert found.chance < defaults.value("fault_speaks_under")
    assert not found.speaks


@pytest.mark.parametrize("table", [(19, 19, 0, 1), (12, 14, 0, 2), (12, 12, 2, 4)])
def test_exactly_one_time_in_twenty_is_not_under_it(table):
    """As 19 of 19 beside the one good sheet: C(19, 19) / C(20, 19)."""
    assert exact(*table) == Fraction(1, 20)

    found = compared(*table)

    assert (found.one_in, found.speaks) == (20, False)


def test_a_house_may_draw_its_own_lines():
    figures = {
        "fault_count": 3, "sheet_count": 20, "rest_fault_count": 10, "rest_sheet_count": 200,
    }  # fmt: skip

    assert not counts.compared(**figures).speaks
    assert counts.compared(**figures, speaks_under=0.2, fault_sheets_min=3).speaks


@pytest.mark.parametrize("row", rows("wilson"), ids=lambda row: f"{row['k']}-{row['n']}")
def test_wilson_s_interval_is_the_printed_one(row):
    low, high = counts.wilson_interval(
        fault_count=int(row["k"]), sheet_count=int(row["n"]), z=Z_95
    )

    assert as_printed(low, row["low"])
    assert as_printed(high, row["high"])


@given(part=parts)
def test_wilson_s_interval_holds_the_share_and_stays_a_share(part):
    k, n = part
    low, high = counts.wilson_interval(fault_count=k, sheet_count=n)

    assert 0 <= low <= k / n <= high <= 1


@given(part=parts)
def test_good_sheets_have_the_mirrored_interval(part):
    k, n = part
    low, high = counts.wilson_interval(fault_count=k, sheet_count=n)
    good_low, good_high = counts.wilson_interval(fault_count=n - k, sheet_count=n)

    assert (1 - good_high, 1 - good_low) == pytest.approx((low, high))


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: chance(5, 4, 0, 4), "^fault_count: must be from 0 to 4, is 5"),
        (lambda: chance(-1, 4, 0, 4), "^fault_count: must be from 0 to 4, is -1"),
        (lambda: chance(0, 0, 0, 4), "^sheet_count: must be from 1 to 100000, is 0"),
        (lambda: chance(0, 4, 0, 0), "^rest_sheet_count: must be from 1 to 100000, is 0"),
        (lambda: chance(0, 4, 9, 8), "^rest_fault_count: must be from 0 to 8, is 9"),
        (lambda: chance(0, 4, 9, 100_001), "^rest_sheet_count: must be from 1 to 100000"),
        (
            lambda: counts.wilson_interval(fault_count=3, sheet_count=2),
            "^fault_count: must be from 0 to 2, is 3",
        ),
        (
            lambda: counts.wilson_interval(fault_count=1, sheet_count=2, z=0),
            "^z: must be over 0, is 0",
        ),
    ],
)
def test_what_cannot_be_counted_is_refused_with_its_range(call, message):
    with pytest.raises(ValueError, match=message):
        call()
