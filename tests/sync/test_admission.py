"""
What becomes of a draft: the whole table, each row through the real taking-in.

The same `may` judges a form; here it is asked for every kind, role and device there can be.
"""

import hashlib
import json
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from itertools import product
from typing import Any

import pytest

from coop.actions.push_drafts import push_drafts
from coop.actions.settle_draft import Settling, settle_draft, why_not_sealed
from coop.actions.write import Draft, Who, Written, write
from coop.ids import EntryId, MemberId, NodeId, Subject
from coop.ledger.entries import read_entry
from coop.ledger.ports import Admission
from coop.ledger.schema import Refused
from coop.ledger.table import KINDS
from coop.people.may import CORRECT_OWN_FOR, ROLE_CODES, may
from coop.sync.admit import why_it_waits
from coop.sync.limits import WAITED_MAX
from coop.sync.message import Answered, Pushed, read_push
from coop.sync.outbox import Kept, read_outbox
from coop.sync.ports import LEFT_OUT, SEALED
from tests.support.memory import MemoryJournal
from tests.support.sayings import (
    AMINA,
    BATH,
    KAHU,
    LEDGER,
    LONG_AGO,
    NODE,
    PAPER_LOT,
    PRIYA,
    an_id,
    described,
    mixed,
    on,
    say,
    through,
    wire,
)
from tests.support.studio import MemoryShelf

NOW = on(18, 12)
PHONE, OTHERS_PHONE, REVOKED_PHONE = an_id(40), an_id(41), an_id(42)
OWN_SHEETS, OTHERS_SHEETS = an_id(50), an_id(51)
COORDINATOR = Who(member=AMINA, roles=frozenset({"coordinator"}))
SALT = "00112233445566778899aabbccddeeff"


@dataclass
class House:
    """A ledger in memory: kahu's phone and priya's, a bath, sheets by each of them."""

    roles: tuple[str, ...] = ("member",)
    left: bool = False
    shelf: MemoryShelf = field(default_factory=MemoryShelf)
    now: datetime = NOW

    def __post_init__(self) -> None:
        self.journal = MemoryJournal(ledger=LEDGER, node=NodeId(NODE))
        ago: dict[str, Any] = {"at": LONG_AGO, "by": AMINA}
        opened = say(
            "ledger.opened", an_id(30), name="Test", zone="UTC", coordinator=AMINA, **ago
        )
        people = [
            say("member.role_set", an_id(31 + n), member=who, roles=list(roles), **ago)
            for n, (who, roles) in enumerate(((KAHU, self.roles), (PRIYA, ("member",))))
        ]
        phones = [
            say("device.enrolled", one, at=LONG_AGO, by=who, name="phone", shared="no")
            for one, who in ((PHONE, KAHU), (OTHERS_PHONE, PRIYA), (REVOKED_PHONE, KAHU))
        ]
        lost = say("device.revoked", an_id(43), device=REVOKED_PHONE, reason="lost", **ago)
        gone = [say("member.left", an_id(44), member=KAHU, **ago)] if self.left else []
        self.seal(opened, *people, *phones, lost, *gone, *described(), mixed(at=on(17, 18)))
        self.seal(
            through(OWN_SHEETS, 10, at=on(18, 9), by=KAHU),
            through(OTHERS_SHEETS, 20, at=on(18, 9), by=PRIYA),
            at=on(18, 9),
        )

    def seal(self, *entries: Any, at: datetime = LONG_AGO) -> None:
        self.journal.append(list(entries), Admission(at=at, by=AMINA))

    def push(self, *texts: str, asked: tuple[str, ...] = ()) -> Pushed:
        """Push texts, and ask after ids, from kahu's phone."""
        message = {
            "v": 1,
            "now": self.now.isoformat(),
            "last_seq": 99,
            "heard": {},
            "kept_count": 0,
            "drafts": texts,
            "asked": asked,
        }
        push = read_push(json.dumps(message).encode())
        return push_drafts(self.journal, self.shelf, Subject(PHONE), push, now=self.now)

    def answers(self, *texts: str) -> tuple[Answered, ...]:
        return self.push(*texts).answers

    def settle(self, draft: str, outcome: str, who: Who = COORDINATOR, n: int = 90) -> Any:
        (held,) = self.shelf.held(draft)
        settling = Settling(id=EntryId(an_id(n)), outcome=outcome, reason="right_as_it_is")
        return settle_draft(self.journal, self.shelf, who, held, settling, now=self.now)

    def ids(self, entry_id: str) -> list[str]:
        """Return the digests of what is sealed under an id."""
        return [one.entry.digest for one in self.journal.by_id(EntryId(entry_id))]

    @property
    def half_count(self) -> int:
        count: int = self.journal.state("bath", BATH).half_count
        return count


def text(
    kind: str, n: int = 60, *, at: datetime = NOW, note: Any = None, **changes: Any
) -> str:
    """Return an outbox text: the shipped record of a kind, said by kahu on his phone."""
    record = wire(kind)
    body = record["body"] | changes.pop("body", {})
    if note is None:
        body.pop("note", None)
    record |= {
        "ledger": LEDGER,
        "id": an_id(n),
        "author": KAHU,
        "device": PHONE,
        "device_seq": n,
        "body": body,
        "happened_at": at.isoformat(),
        "written_at": at.isoformat(),
    }
    record.pop("said", None)
    parts = {} if note is None else {"note": note}
    return json.dumps({"v": 1, "entry": record | changes, **parts})


def sheets(n: int = 60, count: int = 7, **more: Any) -> str:
    body = {
        "bath": BATH,
        "sheet_count": str(count),
        "sheet_format": "half",
        "method": "dip",
        "lot": PAPER_LOT,
    }
    record = json.loads(text("sheets.through", n, **more))
    record["entry"]["body"] = body | more.get("body", {})
    return json.dumps(record)


def void(target: str, n: int = 70, **more: Any) -> str:
    record = json.loads(text("entry.corrected", n, **more))
    record["entry"]["body"] = {"target": target, "outcome": "void", "reason": "undone"}
    return json.dumps(record)


# --- the table ------------------------------------------------------------------------


def drafted(kind: str, *, own: bool, device: str) -> str:
    """Return a draft that concerns what is its author's own, or somebody else's."""
    if kind == "entry.corrected":
        return void(OWN_SHEETS if own else OTHERS_SHEETS, device=device)
    if kind in ("device.member_added", "device.member_removed"):
        whose = {"device": OTHERS_PHONE, "member": KAHU if own else PRIYA}
        return text(kind, device=device, body=whose)
    if kind == "device.revoked":
        whose = {"device": PHONE if own else OTHERS_PHONE}
        return text(kind, device=device, body=whose)
    return text(kind, device=device)


def expected(kind: str, role: str, *, own: bool, on_it: bool, left: bool) -> str:
    """Say by the one table what a draft waits for; empty when it is sealed."""
    if KINDS[kind].signed_in_only:
        return "needs-a-page"
    if not on_it:
        return "not-on-this-device"
    if left:
        return "has-left"
    return "" if may(frozenset({role}), kind, own=own) else "not-allowed"


@pytest.mark.parametrize("role", ROLE_CODES)
@pytest.mark.parametrize("kind", KINDS)
def test_a_draft_is_judged_as_a_form_is(kind: str, role: str) -> None:
    """Every kind, role, own or another's, on one's own device or not, here or gone."""
    for own, on_it, left in product((True, False), repeat=3):
        house = House(roles=(role,), left=left)
        draft = drafted(kind, own=own, device=PHONE if on_it else OTHERS_PHONE)
        waits = expected(kind, role, own=own, on_it=on_it, left=left)

        (answer,) = house.answers(draft)

        case = (own, on_it, left)
        assert answer.outcome == ("waiting" if waits else "sealed"), case
        assert (answer.refused.code if answer.refused else "") == waits, case
        assert bool(house.ids(an_id(60)) or house.ids(an_id(70))) == (not waits), case
        assert [one.text for one in house.shelf.waiting()] == ([draft] if waits else []), case


def test_the_table_and_the_judge_agree_on_what_the_ledger_holds() -> None:
    """The states that the taking-in looks up are the ones that the judge wants."""
    house = House(roles=("teacher",))
    read = read_outbox(text("paper.described"))
    assert isinstance(read, Kept)
    device = house.journal.state("device", Subject(PHONE))
    roles = frozenset(house.journal.state("member", Subject(KAHU)).roles)

    waits = why_it_waits(read.entry, device, roles, own=True)

    (answer,) = house.answers(read.text)
    assert waits is not None
    assert answer.refused == waits


OTHER_DEVICES = [(an_id(77), "not-on-this-device"), (REVOKED_PHONE, "device-revoked")]


@pytest.mark.parametrize(("device", "code"), OTHER_DEVICES)
def test_what_names_another_device_is_judged_by_that_one(device: str, code: str) -> None:
    """A rescue file may be handed in by any phone; it is not the word of that phone."""
    house = House(roles=ROLE_CODES)

    (answer,) = house.answers(sheets(device=device))

    assert answer.refused
    assert (answer.outcome, answer.refused.code) == ("waiting", code)
    (held,) = house.shelf.waiting()
    assert held.device == device


def test_an_entry_of_another_ledger_is_refused() -> None:
    """It can never be sealed here: it stays on the phone, that its writer sees it."""
    house = House()

    (answer,) = house.answers(sheets(ledger=an_id(88)))

    assert answer.refused == Refused(field="ledger", code="other-ledger")
    assert (answer.outcome, answer.taken) == ("refused", None)
    assert house.shelf.waiting() == ()
    assert house.ids(an_id(60)) == []


# --- the same, and not the same -------------------------------------------------------


@pytest.mark.parametrize("in_one_push", [True, False])
def test_one_id_with_two_contents_is_evidence(in_one_push: bool) -> None:
    """Both are kept, the first counts, and one line says so under 'Sort it out'."""
    house = House()
    drafts = [sheets(count=5), sheets(count=9)]
    before = house.half_count

    answers = (
        house.answers(*drafts)
        if in_one_push
        else (*house.answers(drafts[0]), *house.answers(drafts[1]))
    )

    assert [one.outcome for one in answers] == ["sealed", "sealed"]
    assert house.ids(an_id(60)) == [one.digest for one in answers]
    assert house.half_count == before + 5
    found = [one for _, one in house.journal.findings(codes=["same-id-other-content"])]
    assert [one.entry for one in {*found}] == [an_id(60)]


@pytest.mark.parametrize("in_one_push", [True, False])
def test_the_same_content_with_other_times_is_one_entry(in_one_push: bool) -> None:
    """A form saved twice, a clock that jumped: the first text stands."""
    house = House()
    first, again = sheets(), sheets(at=NOW + timedelta(minutes=3), device_seq=61)

    one, two = (
        house.answers(first, again)
        if in_one_push
        else (*house.answers(first), *house.answers(again))
    )

    assert two.outcome == ("sealed" if in_one_push else "already")
    assert (two.digest, two.seal) == (one.digest, one.seal)
    assert house.ids(an_id(60)) == [one.digest]


def test_what_a_plain_form_brought_first_is_already_there() -> None:
    """The form went out just as the signal came back: both ways bring the same id."""
    house = House()
    body = json.loads(sheets())["entry"]["body"]
    form = Draft(id=EntryId(an_id(60)), kind="sheets.through", body=body)
    who = Who(member=KAHU, roles=frozenset({"member"}))
    written = write(house.journal, who, form, now=NOW - timedelta(minutes=1))
    assert isinstance(written, Written), written

    (answer,) = house.answers(sheets())

    assert answer.outcome == "already"
    assert house.ids(an_id(60)) == [answer.digest]


def test_what_waits_and_comes_again_waits_once() -> None:
    house = House(left=True)

    house.push(sheets())
    house.push(sheets())

    assert len(house.shelf.waiting()) == 1


# --- corrections and notes ------------------------------------------------------------


def test_an_entry_and_its_correction_may_come_together() -> None:
    """Logged and undone on the stairs: the bath never counts those sheets."""
    house = House()
    before = house.half_count

    answers = house.answers(sheets(), void(an_id(60)))

    assert [one.outcome for one in answers] == ["sealed", "sealed"]
    assert house.half_count == before


@pytest.mark.parametrize("turned", [False, True])
def test_the_order_of_a_line_and_its_undo_in_one_push_is_all_the_same(turned: bool) -> None:
    """A phone sends in the order of its counts; a file may have been put together by hand."""
    house = House()
    before = house.half_count
    drafts = [sheets(), void(an_id(60))]

    answers = house.answers(*(reversed(drafts) if turned else drafts))

    assert [one.outcome for one in answers] == ["sealed", "sealed"]
    assert [one.id for one in answers] == (
        [an_id(70), an_id(60)] if turned else [an_id(60), an_id(70)]
    )
    assert house.half_count == before


@pytest.mark.parametrize("turned", [False, True])
def test_nobody_takes_out_anothers_line_by_bringing_both_at_once(turned: bool) -> None:
    """The line is not here yet; whose it is stands in the push as well."""
    house = House()
    drafts = [sheets(author=PRIYA, device=OTHERS_PHONE), void(an_id(60))]

    answers = house.answers(*(reversed(drafts) if turned else drafts))

    (told,) = (one for one in answers if one.id == an_id(70))
    assert told.outcome == "waiting"
    assert house.ids(an_id(70)) == []


@pytest.mark.parametrize("roles", [("member",), ("member", "coordinator")])
def test_what_changes_a_line_that_is_not_here_waits(roles: tuple[str, ...]) -> None:
    """Whose line it will be cannot be known: it may be anybody's, still on their phone."""
    house = House(roles=roles)

    (answer,) = house.answers(void(an_id(60)))

    assert answer.outcome == "waiting"
    assert answer.refused == Refused(field="target", code="not-here")
    assert house.ids(an_id(70)) == []


def replaced(target: str, body: dict[str, Any], n: int = 70, *, author: str = KAHU) -> str:
    """Return a correction that puts another body, and maybe another author, in place."""
    record = json.loads(text("entry.corrected", n))
    content = {"author": author, "happened_at": NOW.isoformat(), "body": body}
    record["entry"]["body"] = {
        "target": target,
        "outcome": "replace",
        "reason": "typing_slip",
        "content": content,
    }
    return json.dumps(record)


def test_a_correction_waits_for_a_page_where_its_target_would() -> None:
    """On a shared tablet anybody can put a coordinator's name: roles are given signed in."""
    house = House(roles=("member", "coordinator"))
    before = house.journal.state("member", Subject(PRIYA)).roles
    roles = {"member": PRIYA, "roles": ["member", "coordinator"]}

    (answer,) = house.answers(replaced(an_id(32), roles))

    assert answer.outcome == "waiting"
    assert answer.refused == Refused(field="kind", code="needs-a-page")
    assert house.settle(an_id(70), SEALED) == Refused(field="outcome", code="needs-a-page")
    assert house.journal.state("member", Subject(PRIYA)).roles == before


@pytest.mark.parametrize(
    ("roles", "author", "code"),
    [
        (("member",), KAHU, ""),
        (("member",), PRIYA, "not-allowed"),
        (("coordinator",), PRIYA, ""),
        (("coordinator",), an_id(89), "not-allowed"),
    ],
)
def test_who_wrote_a_line_is_not_for_anybody_to_change(
    roles: Any, author: str, code: str
) -> None:
    """A coordinator may say that it was another member; nobody names somebody unknown."""
    house = House(roles=roles)
    body = json.loads(sheets())["entry"]["body"]

    (answer,) = house.answers(replaced(OWN_SHEETS, body, author=author))

    assert (answer.refused.code if answer.refused else "") == code


def test_a_correction_that_came_before_its_target_is_asked_no_less() -> None:
    """It waits for the line it changes; a person who then lets it in would give the role."""
    house = House(roles=("member", "coordinator"))
    roles = {"member": PRIYA, "roles": ["member", "coordinator"]}
    given = an_id(61)
    (answer,) = house.answers(replaced(given, roles))
    assert answer.refused == Refused(field="target", code="not-here")
    assert house.settle(an_id(70), SEALED) == Refused(field="outcome", code="not-here")
    house.seal(say("member.role_set", given, member=PRIYA, roles=["member"], by=AMINA))

    outcome = house.settle(an_id(70), SEALED)

    assert outcome == Refused(field="outcome", code="needs-a-page")
    assert house.ids(an_id(70)) == []


@pytest.mark.parametrize("turned", [False, True])
def test_neither_a_role_nor_its_correction_goes_in_by_one_push(turned: bool) -> None:
    house = House(roles=("member", "coordinator"))
    given = text("member.role_set", 61, body={"member": PRIYA, "roles": ["member"]})
    drafts = [given, replaced(an_id(61), {"member": PRIYA, "roles": ["coordinator"]})]

    answers = house.answers(*(reversed(drafts) if turned else drafts))

    assert {one.outcome for one in answers} == {"waiting"}


def test_a_line_and_its_undo_go_in_one_after_the_other() -> None:
    """A push holds so many; the undo may come in the next one."""
    house = House()
    before = house.half_count

    answers = (*house.answers(sheets()), *house.answers(void(an_id(60))))

    assert [one.outcome for one in answers] == ["sealed", "sealed"]
    assert house.half_count == before


AGES = [
    (CORRECT_OWN_FOR, ("member",), ""),
    (CORRECT_OWN_FOR + timedelta(minutes=1), ("member",), "too-late"),
    (CORRECT_OWN_FOR + timedelta(days=400), ("coordinator",), ""),
]


@pytest.mark.parametrize(("age", "roles", "code"), AGES)
def test_a_correction_is_held_to_the_time_its_writer_had(
    age: timedelta, roles: tuple[str, ...], code: str
) -> None:
    """Fourteen days from when the entry came in, by the phone's clock put right."""
    house = House(roles=roles)
    house.now = on(18, 9) + age

    (answer,) = house.answers(void(OWN_SHEETS, at=house.now))

    assert (answer.refused.code if answer.refused else "") == code
    assert (answer.outcome == "waiting") == bool(code)


@pytest.mark.parametrize(
    ("age", "outcome"),
    [
        (CORRECT_OWN_FOR + WAITED_MAX, "sealed"),
        (CORRECT_OWN_FOR + WAITED_MAX + timedelta(minutes=1), "waiting"),
        (timedelta(days=400), "waiting"),
    ],
)
def test_a_correction_written_in_time_may_be_a_month_on_its_way(
    age: timedelta, outcome: str
) -> None:
    """
    A month without a signal takes nobody's right away.

    After that a person looks: a clock can be set back, and what a year relied on was taken out.
    """
    house = House()
    house.now = on(18, 9) + age

    (answer,) = house.answers(void(OWN_SHEETS, at=on(18, 9) + timedelta(days=2)))

    assert answer.outcome == outcome
    if outcome == "waiting":
        assert answer.refused == Refused(field="target", code="too-late")


def noted(words: str, **more: Any) -> tuple[str, str]:
    """Return a draft with a note, and the note's name."""
    name = hashlib.sha256(bytes.fromhex(SALT) + words.encode()).hexdigest()
    note = {"salt": SALT, "text": words}
    return sheets(body={"note": name}, note=note, **more), name


def test_a_note_comes_with_its_entry() -> None:
    house = House()
    draft, name = noted("tub stood in the sun")

    (answer,) = house.answers(draft)

    assert answer.outcome == "sealed"
    kept = house.journal.attachment(name)
    assert kept is not None
    assert (kept.data, kept.reach) == (b"tub stood in the sun", "personal")


# --- a person decides -----------------------------------------------------------------


def test_what_a_person_seals_is_sealed_word_for_word() -> None:
    house = House(left=True)
    draft, name = noted("before I left")
    house.push(draft)
    read = read_outbox(draft)
    assert isinstance(read, Kept)
    assert house.journal.attachment(name) is None

    outcome = house.settle(an_id(60), SEALED)

    assert isinstance(outcome, Written)
    (sealed,) = house.journal.by_id(EntryId(an_id(60)))
    assert sealed.entry.digest == read.entry.digest
    assert (sealed.entry.author, sealed.first.admitted_by) == (KAHU, MemberId(AMINA))
    assert house.journal.attachment(name) is not None
    (told,) = house.push(asked=(an_id(60),)).settled
    assert (told.outcome, told.digest) == ("already", read.entry.digest)


def test_what_a_person_leaves_out_is_said_to_the_phone() -> None:
    house = House(left=True)
    house.push(sheets())

    assert isinstance(house.settle(an_id(60), LEFT_OUT), Written)

    assert house.ids(an_id(60)) == []
    (told,) = house.push(asked=(an_id(60),)).settled
    assert (told.outcome, told.refused) == ("refused", Refused(field="", code="left-out"))


@pytest.mark.parametrize("first", [SEALED, LEFT_OUT])
@pytest.mark.parametrize("second", [SEALED, LEFT_OUT])
def test_nothing_is_decided_twice(first: str, second: str) -> None:
    """Two coordinators open the same page: the second learns that it is settled."""
    house = House(left=True)
    house.push(sheets())
    house.settle(an_id(60), first)
    sealed = house.ids(an_id(60))

    outcome = house.settle(an_id(60), second, n=91)

    assert outcome == Refused(field="outcome", code="corrected-meanwhile")
    assert house.ids(an_id(60)) == sealed


def test_what_needs_a_page_is_never_sealed_from_a_phone() -> None:
    """Somebody has to stand in front of the bath and say why it may be used again."""
    house = House()
    house.push(text("bath.cleared", body={"bath": BATH}))
    (held,) = house.shelf.waiting()
    assert why_not_sealed(house.journal, held)

    outcome = house.settle(held.id, SEALED)

    assert outcome == Refused(field="outcome", code="needs-a-page")
    assert house.ids(held.id) == []
    assert isinstance(house.settle(held.id, LEFT_OUT), Written)


@pytest.mark.parametrize("role", sorted({*ROLE_CODES} - {"coordinator"}))
def test_only_a_coordinator_decides(role: str) -> None:
    house = House(left=True)
    house.push(sheets())

    outcome = house.settle(an_id(60), SEALED, Who(member=PRIYA, roles=frozenset({role})))

    assert outcome == Refused(field="kind", code="not-allowed")
    assert house.ids(an_id(60)) == []
    assert len(house.shelf.waiting()) == 1


def test_while_it_waits_the_phone_is_told_nothing_and_the_unknown_is_lacked() -> None:
    """A server set back does not know what waited: the phone sends that text again."""
    house = House(left=True)
    house.push(sheets())

    told = house.push(asked=(an_id(60), an_id(61)))

    assert told.settled == ()
    assert told.lacks == (an_id(61),)


def test_every_shipped_record_makes_a_draft() -> None:
    """The table above is walked with what is really sent, not with what is refused anyway."""
    for kind in KINDS:
        read = read_outbox(text(kind))
        assert isinstance(read, Kept), kind
        assert read.entry == read_entry(json.loads(read.entry.data))
