"""What a waste jar can do to a person: all that is in it together, the stricter class first."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coop.ledger.kinds import HAZARD_TAGS, SALTS, SUBSTANCES
from coop.rules.hazards import CARDS, COVERS, hazards, signal_of
from coop.rules.jar_hazards import (
    CARDS_OF_METALS,
    CARDS_OF_SUBSTANCE,
    diamonds,
    jar_hazards,
)


def held(*substances: str, metals: str = "no", salts: tuple[str, ...] = ()) -> set[str]:
    return {one.code for one in jar_hazards(substances, metal_pigments=metals, salts=salts)}


def test_every_card_that_a_jar_counts_by_is_there() -> None:
    named = {code for codes in CARDS_OF_SUBSTANCE.values() for code in codes}

    assert named | set(CARDS_OF_METALS) <= CARDS.keys()
    assert CARDS_OF_SUBSTANCE.keys() <= set(SUBSTANCES)


def test_alum_of_which_nobody_said_which_salt_has_the_strictest_class() -> None:
    """H318 of aluminium sulfate, as compiled by the classification inventories (read)."""
    assert "H318" in held("alum")
    assert "H401" not in held("alum", salts=("potash_alum",))


@pytest.mark.parametrize(
    ("substances", "signal"),
    [(("bleach",), "danger"), (("soda",), "warning"), (("water", "chalk", "other"), "")],
)
def test_the_signal_word_is_that_of_the_strongest_part(
    substances: tuple[str, ...], signal: str
) -> None:
    assert signal_of(held(*substances)) == signal


def test_metal_colours_of_which_nobody_said_which_count_for_all_of_them() -> None:
    assert {"H350", "H360Df", "H410"} <= held("colour", metals="yes")
    assert held("colour", metals="not_known") == set()


@given(
    st.lists(st.sampled_from(SUBSTANCES), max_size=5),
    st.sampled_from(SUBSTANCES),
    st.sampled_from(["yes", "no", "not_known"]),
    st.sets(st.sampled_from(SALTS)),
)
def test_what_is_put_to_it_takes_no_hazard_away(
    inside: list[str], more: str, metals: str, salts: set[str]
) -> None:
    """A hazard goes only where a stricter one of the same harm came."""
    before = held(*inside, metals=metals, salts=tuple(salts))
    after = held(*inside, more, metals=metals, salts=tuple(salts))
    covered = {code for one in after for code in COVERS.get(one, ())}

    assert before <= after | covered


@pytest.mark.parametrize("what", ["bleach", "lime", "ammonia", "ammonium_alum"])
def test_a_jar_of_one_substance_has_the_hazards_of_its_card(what: str) -> None:
    assert held(what) == {one.code for one in hazards(CARDS[what])}


@given(st.sets(st.sampled_from(HAZARD_TAGS)))
def test_a_stated_hazard_shows_its_diamond_once(tags: set[str]) -> None:
    shown = diamonds(["H318", "H335"], tags)

    assert shown == ("corrosive", "harmful")
