"""
Thousands of altered drafts from a member's own phone, among the honest ones of another's.

The forger is a member with a phone of her own, and has what the other's phone keeps, such as
its rescue file: she replays it, changes it field by field and byte by byte, gives it to other
people and phones, and takes back what is not hers.
"""

import json
from collections.abc import Iterator
from dataclasses import dataclass
from random import Random
from typing import Any

import pytest

from coop.actions.push_drafts import push_drafts
from coop.ids import Digest, Subject
from coop.ledger.entries import read_entry
from coop.ledger.table import KINDS
from coop.ledger.view import FOLDS
from coop.sync import admit
from coop.sync.limits import DRAFTS_MAX
from coop.sync.message import OUTCOMES, Answered, read_push
from tests.support.sayings import AMINA, BATH, KAHU, LEDGER, PRIYA, an_id, wire
from tests.sync.test_admission import (
    OTHERS_PHONE,
    OTHERS_SHEETS,
    OWN_SHEETS,
    PHONE,
    REVOKED_PHONE,
    House,
    sheets,
    text,
    void,
)

HONEST = 40
ODD: tuple[Any, ...] = (
    None, True, 0, -1, 1.5, 2**53, "", "\0", "\ud800", "a" * 64, [], {}, [[]], "x" * 9_000,
    "2025-09-17T18:00:00+02:00", "9998-12-31T23:59:59Z", "coordinator", "9" * 400,
)  # fmt: skip


def honest() -> list[str]:
    """Return what kahu wrote on his phone."""
    reading = {"bath": BATH, "instrument": "strip_print", "outcome": "sharp"}
    made = [sheets(100 + n, count=1 + n % 9) for n in range(HONEST - 3)]
    return [
        *made,
        text("reading.taken", 150, body=reading),
        text("bath.cared", 151, body={"bath": BATH, "care": "strained"}),
        void(OWN_SHEETS, 152),
    ]


# --- the forger -------------------------------------------------------------------------


@dataclass
class Forger:
    """Makes altered drafts of honest ones; `chance` is seeded, so that all come again."""

    chance: Random
    texts: list[str]

    def draft(self) -> str:
        way = self.chance.choice(
            (self.replayed, self.other_person, self.other_phone, self.other_kind, self.field,
             self.part, self.bytes_of, self.taken_back, self.other_ledger)
        )  # fmt: skip
        return way()

    def record(self) -> dict[str, Any]:
        found: dict[str, Any] = json.loads(self.chance.choice(self.texts))
        return found

    def changed(self, **changes: Any) -> str:
        record = self.record()
        return json.dumps(record | {"entry": record["entry"] | changes})

    def replayed(self) -> str:
        return self.chance.choice(self.texts)

    def other_person(self) -> str:
        """Say it in another's name, under a new id or the same."""
        made = an_id(self.chance.randrange(1_000, 10**6))
        author = self.chance.choice((AMINA, PRIYA, KAHU))
        return self.changed(author=author, id=made if author == KAHU else self.an_id(made))

    def an_id(self, made: str) -> str:
        return self.chance.choice((made, str(self.record()["entry"]["id"])))

    def other_phone(self) -> str:
        phone = self.chance.choice((OTHERS_PHONE, REVOKED_PHONE, an_id(77), None))
        return self.changed(device=phone, device_seq=self.chance.randrange(1, 10**6))

    def other_kind(self) -> str:
        kind = self.chance.choice(sorted(KINDS))
        return self.changed(kind=kind, body=wire(kind)["body"])

    def field(self) -> str:
        record = self.record()["entry"]
        return self.changed(**{self.chance.choice(sorted(record)): self.chance.choice(ODD)})

    def part(self) -> str:
        body = self.record()["entry"]["body"]
        name = self.chance.choice(sorted(body))
        return self.changed(body=body | {name: self.chance.choice((*ODD, "7", BATH))})

    def bytes_of(self) -> str:
        said = self.replayed()
        at = self.chance.randrange(len(said))
        return said[:at] + chr(self.chance.randrange(32, 127)) + said[at + 1 :]

    def taken_back(self) -> str:
        target = self.chance.choice((OWN_SHEETS, OTHERS_SHEETS, self.record()["entry"]["id"]))
        record = json.loads(void(target, self.chance.randrange(1_000, 10**6)))
        outcome = self.chance.choice(("void", "restore"))
        record["entry"]["body"] |= {"outcome": outcome}
        return json.dumps(record)

    def other_ledger(self) -> str:
        return self.changed(ledger=an_id(88))


def push(house: House, phone: str, texts: list[str]) -> Iterator[Answered]:
    """Push texts from a phone, as many at once as are taken; yield the answers."""
    for first in range(0, len(texts), DRAFTS_MAX):
        message = {
            "v": 1, "now": house.now.isoformat(), "last_seq": 99, "heard": {},
            "kept_count": 0, "drafts": texts[first : first + DRAFTS_MAX],
        }  # fmt: skip
        said = read_push(json.dumps(message).encode())
        pushed = push_drafts(house.journal, house.shelf, Subject(phone), said, now=house.now)
        yield from pushed.answers


def sealed(house: House) -> set[Digest]:
    return {one.entry.digest for one in house.journal.everything()}


def states(house: House) -> dict[str, Any]:
    """Return every state there is."""
    return {sort: house.journal.listed(sort) for sort in sorted(FOLDS)}


def attack(seed: int, many: int) -> None:
    """Let altered drafts come before, among and after the honest ones; compare with none."""
    told = f"seed {seed}, {many} altered drafts"
    quiet, house, texts = House(), House(), honest()
    forger = Forger(Random(seed), texts)
    altered = [forger.draft() for _ in range(many)]
    half = many // 2

    before = list(push(house, OTHERS_PHONE, altered[:half]))
    assert sealed(house) == sealed(quiet), told
    answers = list(push(house, PHONE, texts))
    after = list(push(house, OTHERS_PHONE, altered[half:]))
    control = list(push(quiet, PHONE, texts))

    assert {one.outcome for one in (*before, *after)} <= set(OUTCOMES) - {"sealed"}, told
    assert {one.outcome for one in answers} == {"sealed"}, told
    assert [one.digest for one in answers] == [one.digest for one in control], told
    assert sealed(house) == sealed(quiet), told
    assert states(house) == states(quiet), told


@pytest.mark.parametrize("seed", [1, 2])
def test_no_altered_draft_is_in_force_and_no_honest_one_out(seed: int) -> None:
    """A thousand each: the ledger with the forger is the ledger without her."""
    attack(seed, 1_000)


@pytest.mark.long
@pytest.mark.parametrize("seed", [3])
def test_ten_thousand_altered_drafts_change_nothing(seed: int) -> None:
    """Near to what one sender's shelf holds: full for her, it still takes in what he sends."""
    attack(seed, 10_000)


def test_the_trial_finds_a_judge_that_asks_not_who_brings_a_draft(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The known mistake: then anybody's phone could write in anybody's name."""
    monkeypatch.setattr(admit, "_is_beyond", lambda bearer, entry: False)

    with pytest.raises(AssertionError, match="seed 1"):
        attack(1, 1_000)


def test_who_steals_an_id_before_the_honest_draft_arrives_is_found_out() -> None:
    """
    Her own sheets under his id are her own word, and hers was here first.

    Both are kept, and one line under "Sort it out" names them; a person puts it right.
    """
    house = House()
    (mine,) = push(
        house, OTHERS_PHONE, [sheets(60, count=3, author=PRIYA, device=OTHERS_PHONE)]
    )
    (his,) = push(house, PHONE, [sheets(60, count=9)])

    assert (mine.outcome, his.outcome) == ("sealed", "sealed")
    assert house.ids(an_id(60)) == [mine.digest, his.digest]
    found = [one for _, one in house.journal.findings(codes=["same-id-other-content"])]
    assert [one.entry for one in {*found}] == [an_id(60)]


def test_the_honest_drafts_of_the_trial_are_honest() -> None:
    """Else none of them could be put out."""
    for one in honest():
        entry = read_entry(json.loads(one)["entry"])
        assert (entry.author, entry.device, entry.ledger) == (KAHU, PHONE, LEDGER)
