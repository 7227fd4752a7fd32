"""
Take in what a device kept while it had no signal.

Each draft is answered for itself: sealed, already, waiting or refused; a bad one spoils no
other. What is odd but possible is sealed and becomes a finding: its moment has passed.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from itertools import chain

from coop.actions.ask_about_mending import about_author
from coop.actions.come_late import note_changes, words_before
from coop.actions.settle_draft import settle_sealed
from coop.actions.write import all_by, own, same_as
from coop.ids import Digest, EntryId, MemberId, Subject
from coop.ledger.entries import Entry, Sealed, put_right
from coop.ledger.kinds import EntryCorrected
from coop.ledger.ports import BATCH_MAX, Admission, Journal
from coop.ledger.schema import Refused
from coop.ledger.states import DeviceState, MemberState
from coop.people.may import may_correct
from coop.sync.admit import Bearer, offset_ms, why_it_waits
from coop.sync.limits import DRAFTS_MAX, HELD_MAX, WAITED_MAX
from coop.sync.message import Answered, Push, Pushed
from coop.sync.outbox import Kept, Unread, name_of, read_outbox, storable, without_note
from coop.sync.ports import ALREADY, GIVEN_UP, LEFT_OUT, WAITING, Held, Shelf

assert DRAFTS_MAX <= BATCH_MAX
NO_ROLES: frozenset[str] = frozenset()
NOBODY = Bearer(members=frozenset(), roles=NO_ROLES)


@dataclass(slots=True)
class _Room:
    """How much more of a sender's the shelf takes; what is on it already is no more."""

    shelf: Shelf
    sender: Subject
    left: int

    @classmethod
    def on(cls, shelf: Shelf, sender: Subject) -> "_Room":
        return cls(shelf, sender, HELD_MAX - shelf.left_by(sender))

    def hold(self, one: Held) -> Refused | None:
        """Put a text on the shelf, or say why not."""
        if self.left <= 0 and one.digest not in {its.digest for its in self.shelf.held(one.id)}:
            return Refused(field="", code="shelf-full")
        self.shelf.hold(one)
        self.left -= 1
        return None


@dataclass(slots=True)
class _Batch:
    """
    What one push comes to while its drafts are judged one after the other.

    Attributes:
        here: What the ledger has under the drafts' ids, and under those that they correct.
        bearer: Who answers for them.
        room: Where those go that must wait.
        offsets: How far each device's clock is ahead [ms]; one never heard is taken as right.
    """

    here: Mapping[EntryId, tuple[Sealed, ...]]
    bearer: Bearer
    room: _Room
    offsets: Mapping[Subject, int]
    taken: dict[Digest, Kept] = field(default_factory=dict)
    by_id: dict[EntryId, list[Entry]] = field(default_factory=dict)

    def under(self, entry_id: EntryId) -> list[Entry]:
        """Return what is here under an id, or about to be sealed."""
        here = [one.entry for one in self.here.get(entry_id, ())]
        return here + self.by_id.get(entry_id, [])

    def offset_of(self, entry: Entry) -> int:
        """Return how far the clock was ahead that wrote an entry [ms]."""
        return 0 if entry.device is None else self.offsets.get(entry.device, 0)


def push_drafts(
    journal: Journal, shelf: Shelf, device: Subject, push: Push, *, now: datetime
) -> Pushed:
    """
    Take in a push of an enrolled device, within one unit of work.

    Args:
        device: The device that pushes; drafts of another one, out of a rescue file, name
            theirs themselves.
    """
    offset = offset_ms(push.now, now)
    answers = take_in(
        journal,
        shelf,
        push.drafts,
        by=MemberId(device),
        bearer=_writers(journal, device) if push.drafts else NOBODY,
        sender=device,
        offset=offset,
        now=now,
    )
    room = _Room.on(shelf, device)
    given_up = tuple(_give_up(journal, room, text, offset, now) for text in push.given_up)
    taken = {one.taken for one in (*answers, *given_up)}
    asked = _asked(journal, shelf, push.asked)
    here = journal.by_ids(EntryId(one) for one, _ in push.kept)
    return Pushed(
        answers=answers,
        settled=(
            *given_up,
            *(one for one in asked.values() if one is not None and one.outcome),
        ),
        lacks=(
            *(one for one, answer in asked.items() if answer is None),
            *(one for one, digest in push.kept if not _has(here, one, digest)),
        ),
        unsent=tuple(one for one in push.unsent if (device, one) not in taken),
    )


def take_in(
    journal: Journal,
    shelf: Shelf,
    texts: Sequence[str],
    *,
    by: MemberId,
    bearer: Bearer,
    sender: Subject,
    offset: int,
    now: datetime,
) -> tuple[Answered, ...]:
    """
    Judge and seal outbox texts; one answer for each, in their order.

    Args:
        by: On whose word they are sealed: the device, or the member who hands in a file.
        bearer: Who answers for lines that name another phone.
        sender: The device that what must wait is held under, where it names none itself.
        offset: How far the clock of the sender is ahead [ms]; it says nothing of another's.
    """
    read = [read_outbox(text) for text in texts]
    here = journal.by_ids(chain.from_iterable(map(_ids_of, read)))
    others = {one.entry.device for one in read if isinstance(one, Kept)} - {sender, None}
    offsets = {**shelf.offsets(filter(None, others)), sender: offset}
    room = _Room.on(shelf, sender)
    batch = _Batch(here=here, bearer=bearer, room=room, offsets=offsets)
    first = {
        n: _judge(journal, batch, one, now)
        for n, one in sorted(enumerate(read), key=lambda pair: _corrects(pair[1]))
    }
    sealed = _seal(journal, batch, by, now)
    return tuple(
        _sealed_answer(sealed[one], "sealed") if isinstance(one, str) else one
        for _, one in sorted(first.items())
    )


def _seal(journal: Journal, batch: _Batch, by: MemberId, now: datetime) -> dict[Digest, Sealed]:
    """Seal what is taken in, each line with the offset of the clock that wrote it."""
    taken = [(one.entry, batch.offset_of(one.entry)) for one in batch.taken.values()]
    before = words_before(journal, taken, now=now)
    sealed: dict[Digest, Sealed] = {}
    for offset in dict.fromkeys(offset for _, offset in taken):
        entries = [entry for entry, its in taken if its == offset]
        admission = Admission(at=now, by=by, offset_ms=offset)
        sealed |= {one.entry.digest: one for one in journal.append(entries, admission)}
    for one in batch.taken.values():
        if one.note is not None:
            journal.keep(one.note)
    note_changes(journal, before, now=now)
    _settle(journal, batch)
    return sealed


def _settle(journal: Journal, batch: _Batch) -> None:
    """Let nothing wait for a person that is sealed, now or by another way."""
    shelf = batch.room.shelf
    for one in shelf.held_any({*batch.here, *batch.by_id}):
        if one.outcome == WAITING:
            settle_sealed(journal, shelf, one, batch.under(EntryId(one.id)))


def _corrects(one: Kept | Unread) -> bool:
    return isinstance(one, Kept) and isinstance(one.entry.content, EntryCorrected)


def _ids_of(one: Kept | Unread) -> tuple[EntryId, ...]:
    """Return the id of a draft, and of what it corrects."""
    if isinstance(one, Unread):
        return ()
    said = one.entry.content
    return (one.entry.id, *([EntryId(said.target)] if isinstance(said, EntryCorrected) else []))


def _judge(
    journal: Journal, batch: _Batch, kept: Kept | Unread, now: datetime
) -> Answered | Digest:
    """Return the answer, or the digest of what is to be sealed."""
    if isinstance(kept, Unread):
        return Answered(id=kept.id, outcome="refused", refused=kept.refused)
    entry = kept.entry
    if entry.ledger != journal.ledger:
        refused = Refused(field="ledger", code="other-ledger")
        return Answered(id=entry.id, outcome="refused", refused=refused)
    there = batch.here.get(entry.id, ())
    already = same_as(entry, (one.entry for one in there))
    if already is not None:
        if _count(already) != _count(entry):
            _account(batch, kept, now)
        answer = _sealed_answer(next(one for one in there if one.entry is already), "already")
        return replace(answer, taken=_count(entry))
    again = same_as(entry, batch.by_id.get(entry.id, ()))
    if again is not None:
        return again.digest
    waits = _why_it_waits(journal, batch, entry, now)
    if waits is not None:
        return _waits(batch, kept, waits, now)
    batch.taken[entry.digest] = kept
    batch.by_id.setdefault(entry.id, []).append(entry)
    return entry.digest


def _account(batch: _Batch, kept: Kept, now: datetime) -> None:
    """Note the count of a draft whose words came another way, such as from a page."""
    entry, room = kept.entry, batch.room
    if entry.device is None:
        return
    room.shelf.hold(
        Held(
            id=entry.id,
            digest=name_of(kept.text),
            sender=room.sender,
            device=entry.device,
            device_seq=entry.device_seq,
            text=without_note(kept.text),
            refused=Refused(field="", code="came-already"),
            received_at=now,
            offset_ms=batch.offset_of(entry),
            outcome=ALREADY,
        )
    )


def _sealed_answer(one: Sealed, outcome: str) -> Answered:
    seal = one.first
    return Answered(
        id=one.entry.id,
        outcome=outcome,
        digest=one.entry.digest,
        seal=(seal.node, seal.seq),
        taken=_count(one.entry),
    )


def _count(entry: Entry) -> tuple[str, int] | None:
    """Return where an entry was typed, with that device's count; None from elsewhere."""
    if entry.device is None or entry.device_seq is None:
        return None
    return entry.device, entry.device_seq


def _writers(journal: Journal, device: Subject) -> Bearer:
    """
    Return who writes on a device: they answer for lines of others that it brings.

    Which of them brought it cannot be known, so they have the roles that all of them have.
    """
    state: DeviceState | None = journal.state("device", device)
    members = frozenset(state.members) if state else frozenset()
    states = journal.states("member", map(Subject, members))
    roles = [
        frozenset(states[one].roles) if one in states else frozenset()
        for one in map(Subject, members)
    ]
    return Bearer(members=members, roles=frozenset.intersection(*roles) if roles else NO_ROLES)


def _why_it_waits(
    journal: Journal, batch: _Batch, entry: Entry, now: datetime
) -> Refused | None:
    device: DeviceState | None = journal.state("device", entry.device)
    member: MemberState | None = journal.state("member", Subject(entry.author))
    roles = frozenset(member.roles) if member else frozenset()
    said = entry.content
    if not isinstance(said, EntryCorrected):
        mine = own(journal, entry)
        return why_it_waits(entry, device, roles, own=mine, bearer=batch.bearer)
    targets = batch.under(EntryId(said.target))
    mine = not targets or all_by(entry.author, targets)
    corrected = [one.kind for one in targets]
    waits = why_it_waits(
        entry, device, roles, own=mine, corrected=corrected, bearer=batch.bearer
    )
    if waits is None and not targets:
        return Refused(field="target", code="not-here")
    whose = about_author(journal, said, targets, roles)
    return waits or whose or _too_late(batch, entry, roles, now)


def _too_late(
    batch: _Batch, entry: Entry, roles: frozenset[str], now: datetime
) -> Refused | None:
    """
    Hold a correction to the time its writer had.

    When it was written is the device's claim: by the server's clock it may have waited there
    for `WAITED_MAX` and no longer.
    """
    written = max(put_right(entry.written_at, batch.offset_of(entry)), now - WAITED_MAX)
    for one in batch.here.get(EntryId(entry.content.target), ()):  # type: ignore[union-attr]  # a correction
        mine = one.entry.author == entry.author
        age = written - one.first.admitted_at
        if not may_correct(roles, one.entry.kind, own=mine, age=age, undo=False):
            return Refused(field="target", code="too-late")
    return None


def _waits(batch: _Batch, kept: Kept, waits: Refused, now: datetime) -> Answered:
    """Let a draft wait for a person."""
    entry, sender = kept.entry, batch.room.sender
    full = batch.room.hold(
        Held(
            id=entry.id,
            digest=name_of(kept.text),
            sender=sender,
            device=entry.device or sender,
            device_seq=entry.device_seq,
            text=kept.text,
            refused=waits,
            received_at=now,
            offset_ms=batch.offset_of(entry),
            outcome=WAITING,
        )
    )
    if full is not None:
        return Answered(id=entry.id, outcome="refused", refused=full)
    return Answered(id=entry.id, outcome="waiting", refused=waits, taken=_count(entry))


def _give_up(journal: Journal, room: _Room, text: str, offset: int, now: datetime) -> Answered:
    """
    Keep the text of what its writer gave up, so that its count is accounted for.

    Its free note lies beside the ledger like any other, where it can be erased.
    """
    read = read_outbox(text)
    made, count, device = read.id, read.device_seq, read.device or room.sender
    full = room.hold(
        Held(
            id=made or name_of(text),
            digest=name_of(text),
            sender=room.sender,
            device=device,
            device_seq=count,
            text=storable(text if read.note is None else without_note(text)),
            refused=Refused(field="", code="given-up"),
            received_at=now,
            offset_ms=offset if device == room.sender else 0,
            outcome=GIVEN_UP,
        )
    )
    if full is not None:
        return Answered(id=made, outcome="refused", refused=full)
    if read.note is not None:
        journal.keep(read.note)
    return Answered(
        id=made, outcome="given-up", taken=None if count is None else (device, count)
    )


def _asked(
    journal: Journal, shelf: Shelf, draft_ids: Sequence[str]
) -> dict[str, Answered | None]:
    """Return what became of drafts; an empty outcome while one waits, None if not here."""
    sealed = journal.by_ids(map(EntryId, draft_ids))
    held: dict[str, list[Held]] = {}
    for one in shelf.held_any(draft_ids):
        held.setdefault(one.id, []).append(one)
    return {
        one: _became(one, sealed.get(EntryId(one), ()), held.get(one, ())) for one in draft_ids
    }


def _became(draft_id: str, sealed: Sequence[Sealed], held: Sequence[Held]) -> Answered | None:
    if sealed:
        return _sealed_answer(sealed[0], "already")
    if any(one.outcome == WAITING for one in held):
        return Answered(id=draft_id, outcome="")
    if any(one.outcome == LEFT_OUT for one in held):
        refused = Refused(field="", code="left-out")
        return Answered(id=draft_id, outcome="refused", refused=refused)
    return None


def _has(here: Mapping[EntryId, tuple[Sealed, ...]], draft_id: str, digest: str) -> bool:
    return any(one.entry.digest == digest for one in here.get(EntryId(draft_id), ()))
