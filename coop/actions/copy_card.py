"""
Copy a tally card: what was pencilled on a tub's tag, a row a line, all of it or nothing.

What stands on a card was done and is over, so it is not asked why; of which moment a row is,
is known to a day or a part of one.
"""

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta, tzinfo
from typing import Any

from coop.actions.ask_about import refused
from coop.actions.come_late import note_changes, words_before
from coop.actions.see_baths import see_any
from coop.actions.see_entries import entries_of
from coop.actions.write import Clash, Draft, Outcome, Who, Written, judge
from coop.ids import EntryId, MemberId, Subject
from coop.ledger import kinds
from coop.ledger.any_bath import AnyBath
from coop.ledger.entries import Entry
from coop.ledger.force import InForce
from coop.ledger.kinds import Content
from coop.ledger.part_of_day import part_of, placed, precision_of, window
from coop.ledger.ports import Admission, Attachment, Journal
from coop.ledger.schema import Refused
from coop.ledger.states import StackState
from coop.rules.baths import BathLook
from coop.rules.liquid_looks import LiquidLook

LINES = 12
"""So many rows stand on the card of a tub's tag."""
BACK_MAX = timedelta(days=366)
"""An older card is not copied: a slip of the year is likelier."""
TO_COME, TOO_EARLY, TOO_OLD = "to-come", "before-the-mixing", "too-old"
ALREADY_DONE = "already_done"
ASKED = frozenset({"reason-needed", "water-only"})


@dataclass(frozen=True, slots=True, kw_only=True)
class CardLine:
    """
    One row of a card, as it was read off.

    Attributes:
        id: The entry's, made when the page was first shown.
        row: Which row of the card it is, from 1.
        part: Of the day; empty when it is not known.
        initials: As they stand there; empty where nobody can read them.
        body: The entry's body; `content` is the same, read.
    """

    id: EntryId
    row: int
    kind: str
    day: date
    part: str
    initials: str
    body: Mapping[str, Any]
    content: Content
    attached: tuple[Attachment, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Copied:
    """What a card came to: what was written, and the bath before it and after it."""

    written: tuple[Written, ...]
    before: BathLook | LiquidLook
    after: BathLook | LiquidLook


class NotAll(Exception):
    """Some lines were not taken, by their ids: nothing of the card is kept."""

    def __init__(self, outcomes: Mapping[EntryId, Refused | Clash]) -> None:
        super().__init__(*outcomes)
        self.outcomes = outcomes


def why_not_then(bath: AnyBath, day: date, part: str, *, zone: tzinfo, now: datetime) -> str:
    """Return the code of why a bath cannot have been used in a part of a day; else empty."""
    begins, ends = window(day, part, zone)
    if begins > now:
        return TO_COME
    if now - ends > BACK_MAX:
        return TOO_OLD
    return TOO_EARLY if ends < bath.mixed_at else ""


def copy_card(
    journal: Journal,
    who: Who,
    bath: AnyBath,
    lines: Sequence[CardLine],
    *,
    zone: tzinfo,
    now: datetime,
) -> Copied:
    """
    Write the lines of a card, within one unit of work.

    What was topped up is judged after the sheets, which made room for it.

    Args:
        bath: What the card hangs on: alum, or a size.
        lines: Of days of which `why_not_then` says nothing.
        zone: The studio's.

    Raises:
        NotAll: A line was refused; whoever opened the unit of work undoes it by this.
    """
    before = see_any(journal, bath, now=now)
    sheets = [one for one in lines if isinstance(one.content, kinds.SheetsThrough)]
    poured = [[one] for one in lines if one not in sheets]
    outcomes: dict[EntryId, Outcome] = {}
    for some in filter(None, (sheets, *poured)):
        drafts = [(one, _draft(journal, bath, one, zone, now)) for one in some]
        outcomes |= _write(journal, who, drafts, now)
    wrong = {key: one for key, one in outcomes.items() if not isinstance(one, Written)}
    if wrong:
        raise NotAll(wrong)
    return Copied(
        written=tuple(one for one in outcomes.values() if isinstance(one, Written)),
        before=before,
        after=see_any(journal, journal.state("bath", bath.id), now=now),
    )


def _draft(
    journal: Journal,
    bath: AnyBath,
    line: CardLine,
    zone: tzinfo,
    now: datetime,
) -> Draft:
    """Return a line as an entry, with its moment within what is said of its day."""
    stack: StackState | None = journal.state("stack", getattr(line.content, "stack", None))
    begins, ends = window(line.day, line.part, zone)
    over = bath.finished_at or now
    since = max(bath.mixed_at, stack.at) if stack and stack.at <= ends else bath.mixed_at
    return Draft(
        id=line.id,
        kind=line.kind,
        body=line.body,
        happened_at=placed(
            line.day,
            line.part,
            zone=zone,
            since=since,
            until=over if begins <= over <= now else now,
            turn=(line.row, LINES),
        ),
        typed=f"{line.day.isoformat()} {line.part}".rstrip(),
        precision=precision_of(line.part),
        attached=line.attached,
    )


def _write(
    journal: Journal, who: Who, drafts: Sequence[tuple[CardLine, Draft]], now: datetime
) -> dict[EntryId, Outcome]:
    """Judge lines and seal those that are new; all of them, or none."""
    judged = {line.id: _judged(journal, who, draft, now) for line, draft in drafts}
    judged |= _over_a_stack(journal, drafts, judged)
    new = [one for one in judged.values() if isinstance(one, Entry)]
    kept = {key: one for key, one in judged.items() if not isinstance(one, Entry)}
    if any(not isinstance(one, Written) for one in kept.values()):
        return kept
    before = words_before(journal, [(one, 0) for one in new], now=now)
    sealed = journal.append(new, Admission(at=now, by=who.member))
    for line, _ in drafts:
        for one in line.attached if line.id not in kept else ():
            journal.keep(one)
    note_changes(journal, before, now=now)
    return kept | {one.entry.id: Written(sealed=one) for one in sealed}


def _judged(journal: Journal, who: Who, draft: Draft, now: datetime) -> Entry | Outcome:
    """Judge a line; where a page would ask why, it is said that it was done already."""
    found = judge(journal, who, draft, now=now)
    asked = isinstance(found, Refused) and found.code in ASKED
    if not asked and not isinstance(found, Clash):
        return found
    done = replace(draft, body={**draft.body, "reason": ALREADY_DONE})
    again = judge(journal, who, done, now=now)
    return found if isinstance(again, Clash) else again


def _over_a_stack(
    journal: Journal,
    drafts: Iterable[tuple[CardLine, Draft]],
    judged: Mapping[EntryId, Entry | Outcome],
) -> dict[EntryId, Refused]:
    """Refuse lines that together lay more of a stack than is left of it."""
    laid: dict[Subject, int] = {}
    odd: dict[EntryId, Refused] = {}
    for line, _ in drafts:
        said = line.content
        if not isinstance(said, kinds.SheetsThrough) or said.stack is None:
            continue
        if not isinstance(judged[line.id], Entry):
            continue
        stack: StackState = journal.state("stack", said.stack)
        left = stack.left_count - laid.get(stack.id, 0)
        laid[stack.id] = laid.get(stack.id, 0) + said.sheet_count
        if said.sheet_count > left:
            told = {"left": str(max(0, left))}
            odd[line.id] = refused("sheet_count", "more-than-is-left", **told)
    return odd


@dataclass(frozen=True, slots=True, kw_only=True)
class There:
    """
    What the ledger has of a bath already.

    Attributes:
        precision: How exact its time is.
        note: What its writer noted, such as the initials on a card.
    """

    entry: EntryId
    at: datetime
    precision: str
    by: MemberId
    note: str
    content: Content


def already_there(
    journal: Journal, bath: Subject, days: Collection[date], *, zone: tzinfo
) -> tuple[There, ...]:
    """Return what went through a bath, or into it, on some days; the earliest first."""
    found = [
        one
        for one in entries_of(journal, bath).here
        if isinstance(one.content, kinds.SheetsThrough | kinds.BathToppedUp)
        and one.at.astimezone(zone).date() in days
    ]
    notes = journal.attachments(filter(None, (_note(one) for one in found)))
    return tuple(_there(one, notes.get(_note(one))) for one in found)


def _note(one: InForce) -> str:
    return str(getattr(one.content, "note", ""))


def _there(one: InForce, noted: Attachment | None) -> There:
    return There(
        entry=one.id,
        at=one.at,
        precision=one.precision,
        by=one.hand,
        note=noted.data.decode() if noted else "",
        content=one.content,
    )


def part_said(one: There, *, zone: tzinfo) -> str:
    """Return the part of its day that something happened in."""
    return part_of(one.at.astimezone(zone))


def likely_twins(
    lines: Iterable[CardLine],
    there: Iterable[There],
    *,
    zone: tzinfo,
    initials_of: Callable[[MemberId], str],
) -> dict[EntryId, There]:
    """
    Return the lines that somebody seems to have written already, each with that entry.

    Alike are the day, what was done and how much of it, and the initials; those that nobody
    can read are anybody's. Each entry is the twin of one line at most. What a line wrote
    itself, when the card was sent before, is no twin.
    """
    lines = tuple(lines)
    own = {one.id for one in lines}
    left = [one for one in there if one.entry not in own]
    found: dict[EntryId, There] = {}
    for line in lines:
        alike = (
            one
            for one in left
            if one.at.astimezone(zone).date() == line.day
            and _deed(one.content) == _deed(line.content)
            and _same_hand(line.initials, initials_of(one.by), one.note)
        )
        twin = next(alike, None)
        if twin is not None:
            left.remove(twin)
            found[line.id] = twin
    return found


def _deed(said: Content) -> tuple[object, ...]:
    """Return what two entries have alike that tell of one deed."""
    match said:
        case kinds.SheetsThrough():
            return "sheets", said.sheet_count, said.sheet_format
        case kinds.BathToppedUp():
            parts = sorted((part.lot, part.amount.base) for part in said.salt)
            return "topped-up", said.water.base if said.water else None, *parts
        case _:
            return (said,)


def _same_hand(initials: str, writer: str, note: str) -> bool:
    """Say whether initials are those of who wrote an entry, or of whom its note names."""
    wanted = letters(initials)
    if not wanted:
        return True
    return wanted == letters(writer) or wanted in map(letters, note.split())


def letters(text: str) -> str:
    """Return initials as they are compared: "K.R." and "kr" are the same."""
    return "".join(one for one in text.casefold() if one.isalnum())
