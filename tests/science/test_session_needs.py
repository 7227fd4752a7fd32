"""What a class takes: the usual class of twelve, and never less for a larger one."""

from dataclasses import astuple
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coop.science.bath import PICKUPS
from coop.science.paper import SHEET_FORMATS
from coop.science.session_needs import HEADS_MAX, session_needs

SMALL: dict[str, Any] = {"sheet_format": "quarter", "method": "sponge"}


def test_a_class_of_twelve_takes_what_it_usually_takes():
    """Common practice, no source: 48 L of size, 240 g, 150 small sheets, 1.05 L sponged."""
    needs = session_needs(head_count=12, **SMALL)

    assert (needs.size_l, needs.size_powder_g, needs.sheet_count) == (48, 240, 150)
    assert needs.alum_l == needs.alum_drawn_l == pytest.approx(1.05)
    assert needs.area_m2 == pytest.approx(13.125)
    assert needs.gloves_pair_count == 12


def test_two_hundred_half_sheets_dipped_take_their_batch_of_alum():
    """Common practice: 5 L drawn and 7 L to lay in are 12 L at 40 g/L, 480 g."""
    needs = session_needs(
        head_count=1, sheets_each=200, sheet_format="half", method="dip", laying_l=7
    )

    assert needs.alum_drawn_l == pytest.approx(5, rel=0.03)
    assert needs.alum_l == pytest.approx(needs.alum_drawn_l + 7)
    assert needs.alum_g == pytest.approx(480, rel=0.02)


def test_half_a_sheet_is_a_sheet_and_a_hair_is_none():
    """One person of 12.5 sheets needs 13; ten of 0.7 need 7, whatever binary fractions say."""
    assert session_needs(head_count=1, **SMALL).sheet_count == 13
    assert session_needs(head_count=10, sheets_each=0.7, **SMALL).sheet_count == 7


@given(
    fewer=st.integers(1, HEADS_MAX),
    more=st.integers(1, HEADS_MAX),
    sheet_format=st.sampled_from([*SHEET_FORMATS]),
    method=st.sampled_from([*PICKUPS]),
    each=st.fixed_dictionaries(
        {
            "laying_l": st.floats(0, 50),
            "sheets_each": st.floats(0.01, 100),
            "size_l_each": st.floats(0.01, 30),
            "size_g_per_l": st.floats(1, 15),
            "alum_g_per_l": st.floats(10, 90),
            "gloves_pairs_each": st.floats(0.1, 5),
        }
    ),
)
def test_a_larger_class_never_takes_less_of_anything(fewer, more, sheet_format, method, each):
    """Whoever adds a name to the list must not find less to bring."""
    fewer, more = sorted((fewer, more))
    small, large = (
        astuple(
            session_needs(head_count=heads, sheet_format=sheet_format, method=method, **each)
        )
        for heads in (fewer, more)
    )

    assert all(one <= other for one, other in zip(small, large, strict=True))


@given(head_count=st.integers(1, HEADS_MAX), method=st.sampled_from([*PICKUPS]))
def test_nobody_is_left_without(head_count, method):
    """Sheets and gloves are whole, and enough for everyone."""
    needs = session_needs(head_count=head_count, sheet_format="A3", method=method)

    assert 0 <= needs.sheet_count - 12.5 * head_count < 1
    assert needs.gloves_pair_count >= head_count
    assert min(astuple(needs)) > 0


@pytest.mark.parametrize(
    ("wrong", "message"),
    [
        ({"head_count": 0}, "^head_count: must be over 0 and at most 200, is 0"),
        ({"head_count": 201}, "^head_count: .* is 201"),
        ({"sheets_each": -1}, "^sheets_each: must be over 0 and at most 500, is -1"),
        ({"size_l_each": float("nan")}, "^size_l_each: .* is nan"),
        ({"size_g_per_l": 61}, "^size_g_per_l: must be over 0 and at most 60, is 61"),
        ({"alum_g_per_l": 0}, "^alum_g_per_l: must be over 0 and at most 2000, is 0"),
        ({"gloves_pairs_each": 21}, "^gloves_pairs_each: must be over 0 and at most 20"),
        ({"laying_l": -1}, "^laying_l: must be from 0 to 1000, is -1"),
        ({"method": "mop"}, "^method: must be one of dip, sponge, brush, is mop"),
        ({"sheet_format": "folio"}, "^sheet_format: must be one of full, half, .* is folio"),
    ],
)
def test_what_cannot_be_needed_is_refused_with_its_range(wrong, message):
    with pytest.raises(ValueError, match=message):
        session_needs(**{"head_count": 12, **SMALL, **wrong})
