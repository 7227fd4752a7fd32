"""Whether what a device sends is taken in, and how far its clock is off."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from coop.ids import LedgerId, MemberId, Subject
from coop.ledger.entries import Entry, draft, read_entry
from coop.ledger.states import DeviceState
from coop.people.may import ROLE_CODES
from coop.sync.admit import CLOCK_OFF, OFFSET_MAX, Bearer, offset_ms, why_it_waits

NOW = datetime(2025, 9, 17, 16, 0, tzinfo=UTC)
LEDGER, AUTHOR, OTHER, DEVICE, BATH, ENTRY = (
    f"0192f3c4-5d6e-7f80-9a1b-2c3d4e5f6a{n:02x}" for n in range(6)
)
MEMBER = frozenset({"member"})
ALL = frozenset(ROLE_CODES)
HERE = DeviceState(
    id=Subject(DEVICE),
    name="pocket",
    shared=False,
    enrolled_by=MemberId(AUTHOR),
    enrolled_at=NOW,
    members=(MemberId(AUTHOR),),
)
REVOKED = replace(HERE, revoked_at=NOW, revoked_reason="lost")
OTHERS = replace(HERE, members=(MemberId(OTHER),))


def written(kind: str = "bath.stopped", **body: str) -> Entry:
    said = draft(
        ledger=LedgerId(LEDGER),
        id=ENTRY,  # type: ignore[arg-type]  # an id
        kind=kind,
        body=body or {"bath": BATH, "reason": "looks_wrong"},
        author=MemberId(AUTHOR),
        happened_at=NOW,
        written_at=NOW,
    )
    return read_entry(said | {"device": DEVICE, "device_seq": 1})


CLEARED = written("bath.cleared", bath=BATH, reason="mended")
DESCRIBED = written(
    "paper.described",
    name="P-31",
    length={"typed": "70", "n": "70", "unit": "cm"},  # type: ignore[arg-type]  # a quantity
    width={"typed": "50", "n": "50", "unit": "cm"},  # type: ignore[arg-type]  # a quantity
    chalk="none",
)
STOPPED = written()


def test_what_a_member_writes_on_their_own_phone_waits_for_nobody():
    assert why_it_waits(STOPPED, HERE, MEMBER, own=True) is None


@pytest.mark.parametrize(
    ("entry", "device", "roles", "field", "code"),
    [
        (CLEARED, HERE, ALL, "kind", "needs-a-page"),
        (CLEARED, REVOKED, ALL, "kind", "needs-a-page"),
        (STOPPED, None, MEMBER, "author", "not-on-this-device"),
        (STOPPED, OTHERS, MEMBER, "author", "not-on-this-device"),
        (STOPPED, REVOKED, ALL, "device", "device-revoked"),
        (STOPPED, replace(OTHERS, revoked_at=NOW), ALL, "device", "device-revoked"),
        (STOPPED, HERE, frozenset(), "author", "has-left"),
        (DESCRIBED, HERE, MEMBER, "kind", "not-allowed"),
    ],
)
def test_what_needs_a_person_says_why(entry, device, roles, field, code):
    """The first reason is the one a person has to weigh."""
    found = why_it_waits(entry, device, roles, own=True)

    assert found is not None
    assert (found.field, found.code) == (field, code)


def test_what_is_not_ones_own_is_judged_by_the_table_as_a_form_is():
    correction = written("entry.corrected", target=BATH, outcome="void", reason="undone")

    assert why_it_waits(correction, HERE, MEMBER, own=True) is None
    refused = why_it_waits(correction, HERE, MEMBER, own=False)
    assert refused is not None
    assert refused.code == "not-allowed"
    assert why_it_waits(correction, HERE, MEMBER | {"coordinator"}, own=False) is None


@pytest.mark.parametrize(
    ("entry", "roles", "waits"),
    [
        (STOPPED, MEMBER, "handed-in"),
        (DESCRIBED, ALL - {"coordinator"}, "handed-in"),
        (STOPPED, MEMBER | {"coordinator"}, None),
        (DESCRIBED, MEMBER | {"coordinator"}, None),
    ],
)
def test_who_brings_anothers_line_answers_for_it_with_their_own_roles(entry, roles, waits):
    """A file names its authors as its maker wrote them."""
    bearer = Bearer(members=frozenset({MemberId(OTHER)}), roles=roles)

    found = why_it_waits(entry, HERE, ALL, own=True, bearer=bearer)

    assert (found.code if found else None) == waits
    bearer = Bearer(members=frozenset({MemberId(AUTHOR)}), roles=frozenset())
    assert why_it_waits(entry, HERE, ALL, own=True, bearer=bearer) is None


@pytest.mark.parametrize("ahead", [timedelta(0), CLOCK_OFF, timedelta(hours=-3)])
def test_a_clock_is_measured_to_the_millisecond(ahead):
    assert offset_ms(NOW + ahead, NOW) == ahead / timedelta(milliseconds=1)


def test_a_clock_beyond_forty_years_is_taken_as_forty():
    """Such a clock says nothing; the number must still fit where it is kept."""
    far = OFFSET_MAX / timedelta(milliseconds=1)

    assert offset_ms(NOW + timedelta(days=365 * 90), NOW) == far
    assert offset_ms(NOW - timedelta(days=365 * 90), NOW) == -far
    assert far < 2**53
