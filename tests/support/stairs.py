"""
Seeded histories of four phones and one server, with everything that goes wrong on the way.

Answers are lost before and after they were written down, messages come twice, clocks are off
by years and jump, the server is set back to its last backup, people come and go.  At the end
all is quiet for a while; then nothing that was ever acknowledged may be missing.
"""

import json
import random
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import timedelta
from typing import Any

from coop.actions.settle_draft import Settling, why_not_sealed
from coop.actions.write import Who
from coop.ids import EntryId, LedgerId, uuid7
from coop.ledger.kinds import EntryCorrected
from tests.support.memory import MemoryJournal
from tests.support.phone import Phone
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
    q,
    say,
)
from tests.support.studio import MemoryStudio, Studio

STEPS = 60
QUIET_ROUNDS = 12
STARTS_AT = on(18, 9)
WRITERS = (AMINA, KAHU, PRIYA, KAHU)
COORDINATOR = Who(member=AMINA, roles=frozenset({"member", "coordinator"}))
YEARS = timedelta(days=365)
CLOCKS = (timedelta(), timedelta(), timedelta(hours=1), -2 * YEARS, 10 * YEARS, -10 * YEARS)


@dataclass
class Wrongs:
    """Known mistakes to make on purpose; the harness must find each of them out."""

    phones_keep: bool = True
    renews_node: bool = True
    answers_before_it_keeps: bool = False
    phones_keep_refused: bool = True


Open = Callable[[LedgerId, Callable[[], str]], Studio]


@dataclass
class Stairs:
    """
    One history: what is, what was acknowledged, and the dice.

    Attributes:
        open: Makes the server; one in memory, when none is given.
        goes_back: Whether the server is set back now and then.
    """

    seed: int
    wrongs: Wrongs = field(default_factory=Wrongs)
    open: Open | None = None
    goes_back: bool = True
    acknowledged: set[str] = field(default_factory=set)
    written: Counter[str] = field(default_factory=Counter)

    def __post_init__(self) -> None:
        self.dice = random.Random(self.seed)
        self.now = STARTS_AT
        self._ids = 1000
        self.studio = self._opened()
        self._furnish()
        self.phones = [self._enrol(n, writer) for n, writer in enumerate(WRITERS)]
        self.old_messages: list[tuple[str, Any]] = []
        self._back_up()

    def new_id(self) -> str:
        self._ids += 1
        ms = int(self.now.timestamp() * 1000)
        return uuid7(now_ms=ms, random=self._ids.to_bytes(10, "big"))

    def _opened(self) -> Studio:
        if self.open is not None:
            return self.open(LEDGER, self.new_id)
        return MemoryStudio(LEDGER, self.new_id, renews_node=self.wrongs.renews_node)

    def _furnish(self) -> None:
        member: dict[str, Any] = {"at": LONG_AGO, "by": AMINA}
        opened = [
            say(
                "ledger.opened", an_id(30), name="Test", zone="UTC", coordinator=AMINA, **member
            ),
            *(
                say("member.role_set", an_id(31 + n), member=one, roles=["member"], **member)
                for n, one in enumerate((KAHU, PRIYA))
            ),
        ]
        self.studio.say(*opened, *described(), mixed(at=on(17, 18)), now=STARTS_AT)

    def _enrol(self, n: int, writer: str) -> Phone:
        device = self.new_id()
        self.studio.say(
            say("device.enrolled", device, by=writer, name=f"phone {n}", shared="no"),
            now=self.now,
        )
        phone = Phone(
            id=device,
            ledger=LEDGER,
            author=writer,
            new_id=self.new_id,
            ahead=self.dice.choice(CLOCKS),
            keeps=self.wrongs.phones_keep,
        )
        return phone

    # --- what happens ---

    def run(self) -> None:
        """Play the whole history out, then let it be quiet."""
        acts: list[tuple[Callable[[], None], int]] = [
            (self.somebody_writes, 10),
            (self.a_phone_pushes, 10),
            (self.an_old_message_comes_again, 2),
            (self.a_clock_jumps, 1),
            (self.a_page_writes, 2),
            (self.somebody_is_taken_off, 1),
            (self.a_coordinator_settles, 2),
            (self._back_up, 1),
            (self.the_server_is_set_back, 1),
        ]
        names, weights = zip(*acts, strict=True)
        for _ in range(STEPS):
            self.now += timedelta(minutes=self.dice.randrange(1, 240))
            self.dice.choices(names, weights)[0]()
        for _ in range(QUIET_ROUNDS):
            self.now += timedelta(minutes=1)
            for phone in self.phones:
                self._push(phone)

    def somebody_writes(self) -> None:
        phone = self.dice.choice(self.phones)
        kind, body = self._something(phone)
        written = phone.write(kind, now=self.now, **body)
        self.written[written] += 1

    def _something(self, phone: Phone) -> tuple[str, dict[str, Any]]:
        match self.dice.randrange(8):
            case 0:
                water = {"water": q(1, "l"), "reason": "level_only"}
                return "bath.topped_up", {"bath": BATH, **water}
            case 1:
                return "bath.stopped", {"bath": BATH, "reason": "looks_wrong"}
            case 2:
                return "bath.cleared", {"bath": BATH, "reason": "mended"}  # needs a page
            case 3 if phone.records:
                target = self.dice.choice(sorted(phone.records))
                void = {"target": target, "outcome": "void", "reason": "undone"}
                return "entry.corrected", void
            case 4:
                return "sheets.through", {"bath": BATH, "sheet_count": "2001"}  # refused
            case _:
                return "sheets.through", {
                    "bath": BATH if self.dice.random() < 0.9 else self.new_id(),
                    "sheet_count": str(self.dice.randrange(1, 60)),
                    "sheet_format": "half",
                    "method": "dip",
                    "lot": PAPER_LOT,
                }

    def a_phone_pushes(self) -> None:
        self._push(self.dice.choice(self.phones), lost=self.dice.random())

    def _push(self, phone: Phone, *, lost: float = 1.0) -> None:
        """Push: under 0.15 the message is lost, under 0.3 the answer."""
        message = phone.message(now=self.now)
        self.old_messages.append((phone.id, message))
        if lost < 0.15:
            return
        answer = self._received(phone, message, dies=0.8 < lost < 1)
        if lost < 0.3:
            return
        phone.settle(message, answer, now=self.now)
        for told in (*answer["answers"], *answer["settled"]):
            if told["outcome"] in ("sealed", "already"):
                self.acknowledged.add(told["id"])
        if not self.wrongs.phones_keep_refused:
            for one in phone.in_state("refused"):
                del phone.records[one.id]

    def _received(self, phone: Phone, message: Any, *, dies: bool) -> Any:
        """Let the server answer; one that answers before it keeps may die in between."""
        studio = self.studio
        if not (dies and self.wrongs.answers_before_it_keeps):
            return studio.receive(phone.id, message, now=self.now)
        assert isinstance(studio, MemoryStudio)
        before = studio.journal.copy()
        answer = studio.receive(phone.id, message, now=self.now)
        studio.journal = before
        return answer

    def an_old_message_comes_again(self) -> None:
        """A network may deliver twice, and late; nobody hears the answer."""
        if self.old_messages:
            device, message = self.dice.choice(self.old_messages)
            self.studio.receive(device, message, now=self.now)

    def a_clock_jumps(self) -> None:
        self.dice.choice(self.phones).ahead = self.dice.choice(CLOCKS)

    def a_page_writes(self) -> None:
        cared = say("bath.cared", self.new_id(), at=self.now, bath=BATH, care="strained")
        self.studio.say(cared, now=self.now)

    def somebody_is_taken_off(self) -> None:
        phone = self.dice.choice(self.phones[1:])
        kind = self.dice.choice(("device.member_removed", "device.member_added"))
        who: dict[str, Any] = {"device": phone.id, "member": phone.author}
        self.studio.say(say(kind, self.new_id(), at=self.now, **who), now=self.now)

    def a_coordinator_settles(self) -> None:
        for held in self.studio.waiting()[:3]:
            with self.studio.unit() as (journal, _):
                may_seal = why_not_sealed(journal, held) is None
            seal = may_seal and self.dice.random() < 0.5
            settling = Settling(
                id=EntryId(self.new_id()),
                outcome="sealed" if seal else "left_out",
                reason="right_as_it_is" if seal else "not_ours",
            )
            self.studio.settle(COORDINATOR, held, settling, now=self.now)

    def the_server_is_set_back(self) -> None:
        if self.goes_back:
            self.studio.set_back(now=self.now)

    def _back_up(self) -> None:
        self.studio.back_up(now=self.now)

    # --- what must hold at the end ---

    def lost(self) -> set[str]:
        """
        Return what is nowhere: not in the ledger, not on a phone, not before a person.

        What was acknowledged must be in the ledger again, or wait for a person: its writer
        may have been taken off the phone before a server that was set back was refilled.
        """
        here = {one.entry.id for one in self.studio.everything()}
        on_phones = {
            one.id
            for phone in self.phones
            for one in phone.in_state("waiting", "refused", "needs")
        }
        on_shelf = {one.id for one in self.studio.held(self.written)}
        gone = {one for one in self.written if one not in here | on_phones | on_shelf}
        return gone | (self.acknowledged - here - on_shelf)

    def unsettled(self) -> list[str]:
        """Return what still waits though all has been quiet."""
        return [one.id for phone in self.phones for one in phone.in_state("waiting")]

    def twice(self) -> list[str]:
        """Return ids under which more than one entry was sealed."""
        ids = Counter(one.entry.id for one in self.studio.everything())
        return [entry for entry, count in ids.items() if count > 1]

    def unaccounted(self) -> list[tuple[str, int]]:
        """Return counts that a phone gave and nobody can say anything of."""
        missing = []
        everything = self.studio.everything()
        for phone in self.phones:
            known = {one.entry.device_seq for one in everything if one.entry.device == phone.id}
            known |= {one.device_seq for one in phone.records.values()}
            known |= {one.device_seq for one in self._held(phone)}
            gaps = set(range(1, phone.last_seq + 1)) - known
            missing += [(phone.id, seq) for seq in sorted(gaps)]
        return missing

    def _held(self, phone: Phone) -> list[Any]:
        ids = [json.loads(one.text)["entry"]["id"] for one in phone.records.values()]
        held = self.studio.held({*ids, *self.written})
        return [one for one in held if one.device == phone.id]

    def differs_in_another_order(self) -> bool:
        """Say whether the bath reads otherwise when the same entries come in another order."""
        seals = list(self.studio.everything())
        self.dice.shuffle(seals)
        other = MemoryJournal(ledger=LEDGER, node=NODE)
        other.take_over(seals)
        return bool(other.state("bath", BATH) != self.studio.state("bath", BATH))

    def taken_out(self) -> int:
        """Return how many corrections there are, so that a test knows it saw some."""
        return sum(
            isinstance(one.entry.content, EntryCorrected) for one in self.studio.everything()
        )
