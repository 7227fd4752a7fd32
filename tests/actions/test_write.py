"""The one path by which a person's word gets into the ledger."""

import hashlib
import json

import pytest

from coop.actions.write import (
    Clash,
    Draft,
    Who,
    Written,
    card,
    note,
    write,
)
from coop.ids import EntryId, MemberId, Subject
from coop.ledger.entries import Entry
from coop.ledger.ports import NOTE_BYTES_MAX, Admission
from coop.ledger.schema import Refused, Slip
from tests.support.memory import MemoryJournal
from tests.support.sayings import (
    AMINA,
    BATH,
    KAHU,
    LEDGER,
    LOT,
    NODE,
    PAPER_LOT,
    STUDIO,
    VESSEL,
    an_id,
    described,
    mixed,
    on,
    q,
    say,
)

NOW = on(20, 10)
MEMBER = Who(member=KAHU, roles=frozenset({"member"}))
COORDINATOR = Who(member=AMINA, roles=frozenset({"member", "coordinator"}))
ID = EntryId(an_id(50))
STARCH = {"powder": "starch", "lot": LOT, "amount": q(9, "g")}
NOBODY, OTHER, JUG = an_id(99), an_id(61), an_id(62)


def jug() -> Entry:
    return say("jug.found", JUG, at=on(18), studio=STUDIO, where="shelf", look="clear")


@pytest.fixture
def journal() -> MemoryJournal:
    made = MemoryJournal(ledger=LEDGER, node=NODE)
    made.append([*described(), mixed()], Admission(at=on(17, 19), by=AMINA))
    return made


def sheets(count: object = 20, **changes: object) -> Draft:
    body = {"bath": BATH, "sheet_count": str(count), "sheet_format": "half", "method": "dip",
            "lot": PAPER_LOT}  # fmt: skip
    return Draft(id=ID, kind="sheets.through", body=body | changes)


@pytest.mark.parametrize(
    ("kind", "body", "field"),
    [
        ("bath.mixed", {"salt": [{"lot": PAPER_LOT, "amount": q(480, "g")}]}, "salt.0.lot"),
        (
            "bath.mixed",
            {
                "what": "paste",
                "powder": [{"powder": "starch", "lot": LOT, "amount": q(9, "g")}],
            },
            "powder.0.lot",
        ),
        ("bath.topped_up", {"salt": [{"lot": PAPER_LOT, "amount": q(9, "g")}]}, "salt.0.lot"),
    ],
)
def test_nothing_is_taken_out_of_a_lot_of_something_else(
    journal: MemoryJournal, kind: str, body: dict[str, object], field: str
) -> None:
    """A page offers only fitting lots; what is posted past it would spoil the stock."""
    new = {"name": "R-P1", "studio": STUDIO, "vessel": VESSEL, "water": q(2, "l")}
    said = (new if kind == "bath.mixed" else {"bath": BATH}) | body

    outcome = write(journal, MEMBER, Draft(id=ID, kind=kind, body=said), now=NOW)

    assert outcome == Refused(field=field, code="not-a-choice")


def test_what_a_member_says_is_sealed_under_their_name(journal: MemoryJournal) -> None:
    outcome = write(journal, MEMBER, sheets(), now=NOW)

    assert isinstance(outcome, Written)
    assert not outcome.already
    entry, seal = outcome.sealed.entry, outcome.sealed.first
    assert (entry.author, entry.happened_at, entry.written_at) == (KAHU, NOW, NOW)
    assert (seal.admitted_at, seal.admitted_by, seal.offset_ms) == (NOW, KAHU, 0)
    assert journal.state("bath", BATH).half_count == 20


def test_a_second_post_of_a_form_is_already_there(journal: MemoryJournal) -> None:
    """A double tap, or a page sent again after the answer was lost."""
    first = write(journal, MEMBER, sheets(), now=NOW)
    again = write(journal, MEMBER, sheets(), now=on(20, 11))

    assert isinstance(first, Written)
    assert again == Written(sealed=first.sealed, already=True)
    assert journal.state("bath", BATH).half_count == 20


@pytest.mark.parametrize(
    ("who", "draft"),
    [
        (MEMBER, sheets(21)),
        (COORDINATOR, sheets()),
        (MEMBER, Draft(id=ID, kind="bath.cared", body={"bath": BATH, "care": "covered"})),
    ],
    ids=["another body", "another person", "another kind"],
)
def test_an_id_that_stands_for_something_else_seals_nothing(
    journal: MemoryJournal, who: Who, draft: Draft
) -> None:
    """The page asks: correct it, or a second entry?"""
    first = write(journal, MEMBER, sheets(), now=NOW)
    head = journal.head()
    outcome = write(journal, who, draft, now=NOW)

    assert isinstance(first, Written)
    assert outcome == Clash(existing=first.sealed)
    assert journal.head() == head


def test_a_slip_is_answered_with_its_field_and_nothing_is_sealed(
    journal: MemoryJournal,
) -> None:
    head = journal.head()
    outcome = write(journal, MEMBER, sheets("many"), now=NOW)

    assert isinstance(outcome, Refused)
    assert (outcome.field, outcome.code) == ("sheet_count", "not-a-whole-number")
    assert journal.head() == head


def test_what_no_record_may_hold_is_refused_at_its_place(journal: MemoryJournal) -> None:
    outcome = write(journal, MEMBER, sheets(sheet_format=1.5), now=NOW)

    assert outcome == Refused(field="body.sheet_format", code="not-plain")


def test_who_may_not_write_a_kind_is_told_so(journal: MemoryJournal) -> None:
    tub = {"studio": STUDIO, "name": "tub 2", "brim": q(9, "l"), "lidded": "yes", "place": "2"}
    draft = Draft(id=ID, kind="vessel.described", body=tub)

    assert write(journal, MEMBER, draft, now=NOW) == Refused(field="kind", code="not-allowed")
    assert isinstance(write(journal, COORDINATOR, draft, now=NOW), Written)


def test_a_time_that_was_typed_is_kept_as_it_was_typed(journal: MemoryJournal) -> None:
    """'Yesterday 18:30' tells more than the minute it was reckoned to."""
    draft = Draft(id=ID, kind="bath.cared", body={"bath": BATH, "care": "covered"},
                  happened_at=on(19, 18, 30), typed="yesterday 18:30")  # fmt: skip
    outcome = write(journal, MEMBER, draft, now=NOW)

    assert isinstance(outcome, Written)
    record = json.loads(outcome.sealed.entry.data)
    assert record["said"] == {"typed": "yesterday 18:30", "precision": "minute"}
    assert outcome.sealed.entry.happened_at == on(19, 18, 30)
    assert outcome.sealed.entry.written_at == NOW


def correction(target: str, *, outcome: str = "void") -> Draft:
    body = {"target": target, "outcome": outcome, "reason": "typing_slip"}
    return Draft(id=EntryId(an_id(60)), kind="entry.corrected", body=body)


def test_a_member_takes_back_what_is_their_own(journal: MemoryJournal) -> None:
    write(journal, MEMBER, sheets(200), now=NOW)

    assert isinstance(write(journal, MEMBER, correction(ID), now=NOW), Written)
    assert journal.state("bath", BATH).half_count == 0


def test_a_member_does_not_take_back_what_is_anothers(journal: MemoryJournal) -> None:
    outcome = write(journal, MEMBER, correction(BATH), now=NOW)

    assert outcome == Refused(field="kind", code="not-allowed")


def test_a_coordinator_mends_for_others(journal: MemoryJournal) -> None:
    write(journal, MEMBER, sheets(200), now=NOW)

    assert isinstance(write(journal, COORDINATOR, correction(ID), now=NOW), Written)


def test_a_lot_nobody_knows_is_asked_about_on_the_page(journal: MemoryJournal) -> None:
    outcome = write(journal, MEMBER, sheets(lot=an_id(99)), now=NOW)

    assert outcome == Refused(field="lot", code="not-known")


@pytest.mark.parametrize(
    ("kind", "body", "field"),
    [
        (
            "bath.mixed",
            {"name": "R-A9", "studio": STUDIO, "vessel": OTHER, "water": q(4, "l"),
             "salt": [{"lot": LOT, "amount": q(160, "g")}], "recipe": NOBODY},
            "recipe",
        ),
        ("bath.kept_for", {"bath": BATH, "member": NOBODY}, "member"),
        ("sheets.sorted", {"stack": ID, "good": "2", "size": NOBODY}, "size"),
        ("stack.warning_seen", {"stack": ID, "about": NOBODY}, "about"),
        ("jug.found", {"studio": NOBODY, "where": "shelf", "look": "clear"}, "studio"),
        ("jug.known", {"jug": JUG, "bath": NOBODY, "made_it": "no"}, "bath"),
        (
            "jar.vouched",
            {"jug": JUG, "bath": NOBODY, "waste": "size", "metal_pigments": "no",
             "litres": q(2, "l")},
            "bath",
        ),
        ("mishap.noted", {"studio": NOBODY, "what": "spill"}, "studio"),
        (
            "waste.carried",
            {"bath": BATH, "from_studio": NOBODY, "studio": STUDIO},
            "from_studio",
        ),
    ],
)  # fmt: skip
def test_a_page_names_nothing_that_nobody_knows(
    journal: MemoryJournal, kind: str, body: dict[str, object], field: str
) -> None:
    """What a draft names may still be on its way; what a page names is in its own list."""
    tub = say("vessel.described", OTHER, at=on(2), studio=STUDIO, name="tub 2", brim=q(8, "l"),
              lidded="yes", place="1")  # fmt: skip
    journal.append([tub, jug()], Admission(at=on(18), by=AMINA))
    write(journal, MEMBER, sheets(), now=NOW)
    draft = Draft(id=EntryId(an_id(60)), kind=kind, body=body)

    assert write(journal, MEMBER, draft, now=NOW) == Refused(field=field, code="not-known")
    if field not in ("about", "studio", "from_studio"):
        rest = {key: value for key, value in body.items() if key != field}
        draft = Draft(id=EntryId(an_id(60)), kind=kind, body=rest)
        assert isinstance(write(journal, MEMBER, draft, now=NOW), Written)


@pytest.mark.parametrize(
    ("kind", "more"),
    [("jug.known", {}), ("jar.vouched", {"waste": "alum_bath", "metal_pigments": "no"})],
)
def test_i_made_it_is_said_by_who_made_it_or_had_it_last(
    journal: MemoryJournal, kind: str, more: dict[str, object]
) -> None:
    """A wrong tag on a jug is worse than none."""
    journal.append([jug()], Admission(at=on(18), by=AMINA))
    state = journal.state("bath", BATH)
    stranger = Who(member=MemberId(an_id(77)), roles=frozenset({"member"}))
    body = {"jug": JUG, "bath": BATH, "made_it": "yes", **more}
    known = Draft(id=ID, kind=kind, body=body)

    outcome = write(journal, stranger, known, now=NOW)
    assert outcome == Refused(field="bath", code="not-allowed")
    maker = Who(member=state.mixed_by, roles=frozenset({"member"}))
    assert isinstance(write(journal, maker, known, now=NOW), Written)
    assert journal.state("jug", Subject(JUG)).made_it


def test_a_note_has_a_name_that_tells_nothing_once_it_is_erased() -> None:
    """SHA-256 over 16 random bytes and the text: without them nobody can try out texts."""
    made = note(" smelt of vinegar \n", salt=b"s" * 16)

    assert made is not None
    assert made.data == b"smelt of vinegar"
    assert made.name == hashlib.sha256(b"s" * 16 + b"smelt of vinegar").hexdigest()
    assert made.reach == "personal"


def test_an_empty_note_is_none() -> None:
    assert note(" \n", salt=b"s" * 16) is None


def test_a_note_too_long_is_refused_with_its_limit() -> None:
    assert note("x" * NOTE_BYTES_MAX, salt=b"s" * 16) is not None
    with pytest.raises(Slip) as slip:
        note("x" * (NOTE_BYTES_MAX + 1), salt=b"s" * 16)

    assert slip.value.refused.limits == (("longest", str(NOTE_BYTES_MAX)),)


def test_a_card_is_personal_and_read_back() -> None:
    made = card(name="Kahu R.", initials="KR", salt=b"s" * 16)

    assert json.loads(made.data) == {"name": "Kahu R.", "initials": "KR"}
    assert made.name == hashlib.sha256(b"s" * 16 + made.data).hexdigest()
    assert made.reach == "personal"


def test_salt_out_of_two_lots_is_written_in_one_entry(journal: MemoryJournal) -> None:
    body = {"bath": BATH, "salt": [{"lot": LOT, "amount": q(40, "g")}] * 2}
    outcome = write(journal, MEMBER, Draft(id=ID, kind="bath.topped_up", body=body), now=NOW)

    assert isinstance(outcome, Written)
    assert journal.state("bath", BATH).estimate.salt_g.came_in == 560
    assert journal.state("vessel", VESSEL).last_bath == BATH
