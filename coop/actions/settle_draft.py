"""Settle what a device sent and the table did not let through: seal it, or leave it out."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from coop.actions.come_late import note_changes, words_before
from coop.actions.write import Clash, Draft, Who, Written, same_as, write
from coop.ids import EntryId
from coop.ledger.entries import Entry
from coop.ledger.kinds import EntryCorrected
from coop.ledger.ports import Admission, Attachment, Journal
from coop.ledger.schema import Refused
from coop.ledger.table import KINDS
from coop.sync.outbox import Kept, read_outbox
from coop.sync.ports import ALREADY, LEFT_OUT, SEALED, WAITING, Held, Shelf


@dataclass(frozen=True, slots=True, kw_only=True)
class Settling:
    """What a person decided: an outcome and a reason, codes of `draft.settled`."""

    id: EntryId
    outcome: str
    reason: str
    note: Attachment | None = None


def why_not_sealed(journal: Journal, one: Held) -> Refused | None:
    """
    Say why a person may not let it in unchanged; None where they may.

    What needs a page of its own does, and so does a correction of such a thing, also where
    its target came only later; of one that is not here nobody can tell.
    """
    kept = read_outbox(one.text)
    if one.refused.code == "needs-a-page" or not isinstance(kept, Kept):
        return Refused(field="outcome", code="needs-a-page")
    said = kept.entry.content
    if not isinstance(said, EntryCorrected):
        return None
    targets = journal.by_id(EntryId(said.target))
    if not targets:
        return Refused(field="outcome", code="not-here")
    on_a_page = any(KINDS[there.entry.kind].signed_in_only for there in targets)
    return Refused(field="outcome", code="needs-a-page") if on_a_page else None


def settle_draft(
    journal: Journal, shelf: Shelf, who: Who, one: Held, settling: Settling, *, now: datetime
) -> Written | Clash | Refused:
    """
    Write down what a person decided, and seal the draft word for word if that was it.

    Settled already, by anybody, or sealed by another way, it is refused: nothing is decided
    twice.
    """
    here = [there.entry for there in journal.by_id(EntryId(one.id))]
    if one.outcome != WAITING or settle_sealed(journal, shelf, one, here):
        return Refused(field="outcome", code="corrected-meanwhile")
    kept = read_outbox(one.text)
    seal = settling.outcome == SEALED
    odd = why_not_sealed(journal, one) if seal else None
    if odd is not None:
        return odd
    body: dict[str, Any] = {
        "draft": one.id,
        "device": one.device,
        "outcome": settling.outcome,
        "reason": settling.reason,
    }
    if settling.note is not None:
        body["note"] = settling.note.name
    attached = (settling.note,) if settling.note is not None else ()
    said = Draft(id=settling.id, kind="draft.settled", body=body, attached=attached)
    outcome = write(journal, who, said, now=now)
    if not isinstance(outcome, Written):
        return outcome
    if isinstance(kept, Kept) and kept.note is not None:
        journal.keep(kept.note)  # left out, it may still be erased when somebody asks
    if seal and isinstance(kept, Kept):
        _seal(journal, who, kept, one, now)
    shelf.settle(one, SEALED if seal else LEFT_OUT)
    return outcome


def settle_sealed(journal: Journal, shelf: Shelf, one: Held, sealed: Iterable[Entry]) -> bool:
    """Settle a draft as sealed where its content is; say whether that was so."""
    kept = read_outbox(one.text)
    there = same_as(kept.entry, sealed) if isinstance(kept, Kept) else None
    if not isinstance(kept, Kept) or there is None:
        return False
    if kept.note is not None:
        journal.keep(kept.note)
    counted = (there.device, there.device_seq) == (one.device, one.device_seq)
    shelf.settle(one, SEALED if counted else ALREADY)
    return True


def _seal(journal: Journal, who: Who, kept: Kept, one: Held, now: datetime) -> None:
    before = words_before(journal, [(kept.entry, one.offset_ms)], now=now)
    journal.append([kept.entry], Admission(at=now, by=who.member, offset_ms=one.offset_ms))
    note_changes(journal, before, now=now)
