"""A letter comes back from its pack, so that the next edition starts from all of the last."""

import tomllib
from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coop.rules.packs import documents
from coop.rules.packs.letter import data_of
from coop.rules.packs.letter_back import letter_in
from tests.rules.packs.at_hand import FOLDER
from tests.rules.packs.test_letter import BARN_SAID, PLAIN_LINES, ROPEWALK_SAID, letter


@pytest.mark.parametrize("said", [ROPEWALK_SAID, BARN_SAID])
@pytest.mark.parametrize("reference", ["", "SB 12/3", "a, b"])
def test_a_letter_comes_back_from_its_pack(said, reference):
    wanted = replace(said, reference=reference)
    assert letter_in(data_of(wanted, pack_id="ropewalk", edition=3)) == wanted


@given(st.lists(st.sampled_from(PLAIN_LINES), min_size=1, max_size=12, unique=True))
def test_any_letter_comes_back_after_it_was_kept_with_the_ledger(lines):
    """As it is kept, a whole figure has lost that it was a decimal one."""
    wanted = letter(*lines)
    kept = documents.document_of(data_of(wanted, pack_id="a-letter", edition=1))
    assert letter_in(documents.data_of(kept)) == wanted


@pytest.mark.parametrize(
    "more", [{"fresh_h": 12}, {"duties": ["keep_record"]}, {"if_fails": "not_down_here"}]
)
def test_a_pack_that_says_more_than_a_letter_can_comes_from_none(more):
    """Else a form would show less than the rules say, and the next edition would lose it."""
    data = data_of(ROPEWALK_SAID, pack_id="ropewalk", edition=1)
    data["rules"][0] |= more
    assert letter_in(data) is None


@pytest.mark.parametrize("name", ["us-federal-floor", "us-federal-waste", "demo-district-a"])
def test_a_pack_that_was_written_by_hand_comes_from_no_letter(name):
    data = tomllib.loads((FOLDER / f"{name}.toml").read_text(), parse_float=Decimal)
    assert letter_in(data) is None
