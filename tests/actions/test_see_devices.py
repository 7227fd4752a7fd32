"""Which counts of a device never came: the same as counting one by one, at any size."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coop.actions.see_devices import CODE_LENGTH_MAX, MISSING, code_of, runs_between
from coop.sync.limits import WHOLE_MAX

COUNTS = st.integers(1, 40)
RUNS = st.lists(st.tuples(COUNTS, COUNTS).map(lambda two: (min(two), max(two))), max_size=8)


@given(runs=RUNS, last=st.integers(0, 40))
def test_what_no_run_covers_is_missing_and_nothing_else(runs, last):
    """Runs may overlap, lie in each other, and reach beyond the last count."""
    covered = {one for first, upto in runs for one in range(first, upto + 1)}

    found = list(runs_between(runs, last=last))

    counted = [one for first, upto in found for one in range(first, upto + 1)]
    assert counted == [one for one in range(1, last + 1) if one not in covered]
    assert all(upto + 1 < first for (_, upto), (first, _) in pairwise(found))


def test_a_count_of_any_size_is_two_numbers():
    assert list(runs_between([(5, 5)], last=WHOLE_MAX)) == [(1, 4), (6, WHOLE_MAX)]


@pytest.mark.parametrize("many", [1, 9, 400])
def test_a_code_names_as_many_runs_as_fit_and_always_one(many):
    runs = [(WHOLE_MAX - 1, WHOLE_MAX), *((n, n) for n in range(1, many))]

    assert len(code_of(MISSING, runs)) <= CODE_LENGTH_MAX
    assert code_of(MISSING, runs).startswith(f"gap:{WHOLE_MAX - 1}-{WHOLE_MAX}")
