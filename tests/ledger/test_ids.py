"""Identifiers: UUIDv7, made where a thing was written."""

from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coop.ids import is_uuid, uuid7

tens = st.binary(min_size=10, max_size=10)
moments = st.integers(0, 2**48 - 1)


def test_the_example_of_the_standard_comes_out() -> None:
    """RFC 9562, appendix A.6: 22 February 2022, 14:22:22 GMT-05:00."""
    random = (0xCC3 << 64 | 0x18C4DC0C0C07398F).to_bytes(10, "big")

    assert uuid7(now_ms=0x17F22E279B0, random=random) == "017f22e2-79b0-7cc3-98c4-dc0c0c07398f"


@given(moments, tens)
def test_version_and_variant_are_those_of_the_standard(now_ms: int, random: bytes) -> None:
    """RFC 9562, sections 4.1, 4.2 and 5.7."""
    value = UUID(uuid7(now_ms=now_ms, random=random))

    assert value.version == 7
    assert value.variant == "specified in RFC 4122"
    assert value.int >> 80 == now_ms


@given(moments, moments, tens, tens)
def test_ids_sort_by_the_time_they_were_made(a: int, b: int, one: bytes, two: bytes) -> None:
    if a < b:
        assert uuid7(now_ms=a, random=one) < uuid7(now_ms=b, random=two)


@pytest.mark.parametrize(
    ("text", "yes"),
    [
        ("017f22e2-79b0-7cc3-98c4-dc0c0c07398f", True),
        ("017F22E2-79B0-7CC3-98C4-DC0C0C07398F", False),
        ("017f22e279b07cc398c4dc0c0c07398f", False),
        ("{017f22e2-79b0-7cc3-98c4-dc0c0c07398f}", False),
        ("", False),
        ("bath", False),
    ],
)
def test_an_id_has_one_written_form(text: str, yes: bool) -> None:
    """Two spellings of one id would be two entries."""
    assert is_uuid(text) is yes
