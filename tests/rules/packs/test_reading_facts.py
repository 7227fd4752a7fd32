"""Facts of a text, for who asks without a ledger: what nobody says is not known."""

import pytest

from coop.rules.packs.facts_file import read_facts
from coop.rules.packs.faults import Refused
from tests.rules.packs.at_hand import decided, pack, said

FACTS = """
at = 2026-11-27T10:00:00Z
waste = "size"
outlet = "sewer"
area = ["us"]
volume = { n = 3, unit = "l" }
"""
A_DAY = (
    'id = "day"\nkind = "TOTAL"\noutlets = ["sewer"]\nquantity = "volume"\n'
    'holds_if = "at_most"\nhigh = 20\nunit = "l"\nsum_of = "poured"\nspan = "day"\n'
)


def test_what_was_poured_counts_only_where_somebody_says_that_it_was_counted():
    plain, counted = (
        decided(read_facts(FACTS + more, name="bath.toml").facts, pack(A_DAY))
        for more in ("", 'counted = ["poured"]\n')
    )

    assert said(plain, "day").why == "not-counted"
    assert said(counted, "day").verdict == "holds"
    assert said(counted, "day").total == 3_000


def test_a_sum_that_there_is_not_is_told_with_its_line():
    with pytest.raises(Refused, match=r"line 7: counted = spilled: must be one of poured"):
        read_facts(FACTS + 'counted = ["spilled"]\n', name="bath.toml")
