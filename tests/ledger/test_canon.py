"""The one byte form of a record: RFC 8785, and its SHA-256."""

import json

import pytest
import rfc8785
from hypothesis import given
from hypothesis import strategies as st

from coop.ledger.canon import (
    DEPTH_MAX,
    ENTRY_BYTES_MAX,
    NotCanonical,
    canonical,
    digest,
    parse,
)

keys = st.text(st.characters(codec="ascii"), max_size=8)
values = st.recursive(
    st.text(max_size=12) | st.integers(-(2**53) + 1, 2**53 - 1),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(keys, inner, max_size=3),
    max_leaves=8,
)
records = st.dictionaries(keys, values, max_size=4)


def depth(value):
    if isinstance(value, dict):
        value = list(value.values())
    return 1 + max(map(depth, value), default=0) if isinstance(value, list) else 0


@given(records.filter(lambda record: depth(record) <= DEPTH_MAX))
def test_the_form_is_that_of_rfc_8785(record) -> None:
    """Two programs that never met must hash the same bytes. Judge: the package rfc8785."""
    assert canonical(record) == rfc8785.dumps(record)


@given(records.filter(lambda record: depth(record) <= DEPTH_MAX))
def test_reading_the_form_gives_the_record_and_the_form_again(record) -> None:
    assert parse(canonical(record)) == record
    assert canonical(parse(canonical(record))) == canonical(record)


def test_signs_are_written_as_section_3_2_2_2_wants_them() -> None:
    """The string of RFC 8785, section 3.2.2 ('string' of its example)."""
    text = '€$\u000f\nA\'B"\\\\"/'

    written = r"""{"string":"€$\u000f\nA'B\"\\\\\"/"}"""

    assert canonical({"string": text}) == written.encode()


def test_keys_stand_in_order_of_their_code_units() -> None:
    """RFC 8785, section 3.2.3; with ASCII keys bytes, code points and UTF-16 agree."""
    assert canonical({"b": 1, "a": 2, "B": 3, "1": 4}) == b'{"1":4,"B":3,"a":2,"b":1}'


def test_the_digest_is_sha_256() -> None:
    """FIPS 180-4, example 'abc'."""
    published = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"

    assert digest(b"abc") == published


def test_a_draft_in_another_form_comes_to_the_same_bytes() -> None:
    """A page may send its keys in any order and with spaces."""
    assert canonical(parse(b' { "b" : 1 , "a":"\\u00e9" } ')) == canonical({"a": "é", "b": 1})


@pytest.mark.parametrize(
    ("data", "code"),
    [
        (b"{", "not-json"),
        (b"\xff{}", "not-json"),
        (b'{"a":' + b"9" * 5000 + b"}", "not-json"),
        (b"[" * 5000, "not-json"),
        (b"[]", "not-a-record"),
        (b'"a"', "not-a-record"),
        (b'{"a":1,"a":1}', "key-twice"),
        (b'{"a":{"b":1,"b":2}}', "key-twice"),
        (b'{"a":1.5}', "not-plain"),
        (b'{"a":1e2}', "not-plain"),
        (b'{"a":NaN}', "not-plain"),
        (b'{"a":null}', "not-plain"),
        (b'{"a":true}', "not-plain"),
        (b'{"a":9007199254740992}', "number-too-large"),
        ('{"ä":1}'.encode(), "key-not-ascii"),
        (b'{"a":"' + b"x" * ENTRY_BYTES_MAX + b'"}', "record-too-long"),
        (b'{"a":' * 10 + b"1" + b"}" * 10, "too-deep"),
    ],
)
def test_what_a_record_may_not_hold_is_refused_by_name(data: bytes, code: str) -> None:
    """No value may be read in two ways by two programs."""
    with pytest.raises(NotCanonical) as refused:
        parse(data)

    assert refused.value.code == code


def test_half_a_surrogate_pair_is_refused() -> None:
    with pytest.raises(NotCanonical, match="lone-surrogate"):
        canonical({"a": "\ud800"})


def test_the_place_of_what_is_not_allowed_is_named() -> None:
    with pytest.raises(NotCanonical, match=r"body\.salt\.0\.n") as refused:
        canonical({"body": {"salt": [{"n": 1.5}]}})

    assert refused.value.where == "body.salt.0.n"


def test_the_longest_record_still_fits() -> None:
    frame = len(json.dumps({"a": ""}, separators=(",", ":")))

    assert len(canonical({"a": "x" * (ENTRY_BYTES_MAX - frame)})) == ENTRY_BYTES_MAX
