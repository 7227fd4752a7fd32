"""A bath's history in lines: who, when, what, and what corrections made of it."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from coop.actions.correct_entry import may_mend, may_undo
from coop.actions.see_baths import BathHistory
from coop.actions.see_entries import BathEntries
from coop.actions.see_liquid_history import LiquidHistory
from coop.ids import EntryId, MemberId, Subject
from coop.ledger.any_bath import AnyBath
from coop.ledger.baths import BathState, still_odd
from coop.ledger.entries import Sealed
from coop.ledger.force import Finding, InForce
from coop.ledger.kinds import Content, EntryCorrected, LotSpoonWeighed
from coop.ledger.part_of_day import MINUTE
from coop.ledger.ports import Attachment
from coop.ledger.states import DeviceState
from coop.web import amounts, reasons
from coop.web import words as say
from coop.web.page import desk, face, faces, now, who, words
from coop.web.reasons import Telling
from coop.web.told import Names, telling, told

NO_NOTE = ""
LATE = timedelta(hours=1)
"""An entry taken in later than this after it happened is said to have arrived then."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """
    One line of a history.

    `text` says what counts; `before` what was first written, where a correction put other
    content in its place; `mended` says who corrected it, when and why. `odd` are findings.
    `arrived` says when it was taken in, where that was late; `came` by which phone.
    """

    entry: str
    when: str
    arrived: str
    came: str
    by: str
    text: str
    note: str
    struck: bool
    mended: str
    before: str
    odd: tuple[str, ...]
    correct: bool
    undo: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """An entry in a history, before it is put into words."""

    original: Sealed
    at: datetime
    by: MemberId
    content: Content
    correction: Sealed | None
    precision: str = MINUTE
    codes: tuple[str, ...] = ()
    struck: bool = False
    moved: bool = False
    aside: bool = False

    @property
    def id(self) -> EntryId:
        return self.original.entry.id


class Ways:
    """
    Tells by which phone or tablet entries came, and who let them in or brought them.

    Whose they are is then what that device says; what is needed for it is read at once.
    """

    def __init__(self, sealed: Iterable[Sealed]) -> None:
        found = tuple(sealed)
        typed = {Subject(one.entry.device) for one in found if one.entry.device is not None}
        others = {Subject(one.first.admitted_by) for one in found} - typed
        others -= {Subject(one.entry.author) for one in found}
        journal = desk().journal
        self._devices: dict[Subject, DeviceState] = journal.states("device", typed)
        if others:
            self._devices |= journal.states("device", others)
            faces().gather(MemberId(one) for one in others - self._devices.keys())

    def tell(self, one: Sealed) -> str:
        """Say how an entry came; empty for one that its author wrote on a page."""
        entry, by = one.entry, Subject(one.first.admitted_by)
        parts = []
        if entry.device is not None:
            text = words().gettext("from “%(device)s”", device=self._name(entry.device))
            parts.append(text)
        if by in self._devices and by != entry.device:
            text = words().gettext("brought by “%(device)s”", device=self._name(by))
            parts.append(text)
        elif by not in (entry.device, Subject(entry.author)):
            name = face(MemberId(by)).name
            parts.append(words().gettext("let in by %(name)s", name=name))
        return ", ".join(parts)

    def _name(self, device: str) -> str:
        state = self._devices.get(Subject(device))
        return state.name if state else words().gettext("a phone that is not known here")


def items(
    history: BathHistory | LiquidHistory, weighed: tuple[InForce, ...] = ()
) -> tuple[Item, ...]:
    """Return all entries of a history and weighed spoons of its lots, the newest first."""
    found = [
        Item(
            original=step.entry.original,
            at=step.entry.at,
            precision=step.entry.precision,
            by=step.entry.author,
            content=step.entry.content,
            correction=history.corrections.get(step.entry.correction or EntryId("")),
            codes=_codes(history, step.findings) if step.findings else (),
        )
        for step in history.steps
    ]
    found += [_struck(one.original, one.correction) for one in history.struck]
    found += [
        _struck(
            one.original, history.corrections.get(one.correction or EntryId("")), moved=True
        )
        for one in history.moved
    ]
    found += [
        Item(
            original=one.original,
            at=one.at,
            precision=one.precision,
            by=one.author,
            content=one.content,
            correction=None,
            aside=True,
        )
        for one in weighed
    ]
    return tuple(sorted(found, key=lambda one: (one.at, one.id), reverse=True))


def items_of(entries: BathEntries) -> tuple[Item, ...]:
    """Return what stands and what was taken back of a lot or a jar, the newest first."""
    found = [
        Item(
            original=one.original,
            at=one.at,
            precision=one.precision,
            by=one.author,
            content=one.content,
            correction=entries.corrections.get(one.correction) if one.correction else None,
        )
        for one in entries.here
    ]
    found += [
        Item(
            original=one.original,
            at=one.original.entry.happened_at,
            precision=one.original.entry.precision,
            by=one.original.entry.author,
            content=one.original.entry.content,
            correction=one.correction,
            struck=True,
        )
        for one in entries.struck
    ]
    return tuple(sorted(found, key=lambda one: (one.at, one.id), reverse=True))


def _codes(
    history: BathHistory | LiquidHistory, findings: tuple[Finding, ...]
) -> tuple[str, ...]:
    """Return what is odd about an entry and neither settled since nor judged."""
    last: AnyBath = history.steps[-1].state
    if isinstance(last, BathState):
        findings = still_odd(last, findings)
    return tuple(odd.code for odd in findings if (odd.code, odd.entry) not in history.judged)


def _struck(original: Sealed, correction: Sealed | None, *, moved: bool = False) -> Item:
    return Item(
        original=original,
        at=original.entry.happened_at,
        precision=original.entry.precision,
        by=original.entry.author,
        content=original.entry.content,
        correction=correction,
        struck=True,
        moved=moved,
    )


def lines(found: tuple[Item, ...]) -> tuple[Line, ...]:
    """Put entries into words."""
    names, tell = Names(desk().journal), telling()
    ways = Ways(one.original for one in found)
    return tuple(_line(one, names, tell, ways) for one in found)


def _line(one: Item, names: Names, tell: Telling, ways: Ways) -> Line:
    first = one.original.entry.content
    return Line(
        entry=one.id,
        when=tell.when(one.at, one.precision),
        arrived=_arrived(one.original),
        came=ways.tell(one.original),
        by=face(one.by).name,
        text=told(words(), names, one.content),
        note=note_of(one.content),
        struck=one.struck,
        mended=_mended(one, tell),
        before="" if one.content == first else told(words(), names, first),
        odd=tuple(reasons.finding(words(), code) for code in one.codes),
        correct=not one.aside and may_mend(who(), one.original, now=now()),
        undo=not (one.struck or one.aside) and may_undo(who(), one.original, now=now()),
    )


def _arrived(original: Sealed) -> str:
    taken_in = original.first.admitted_at
    if taken_in - original.entry.happened_at <= LATE:
        return ""
    return words().gettext("arrived %(moment)s", moment=words().moment(taken_in))


def note_of(content: Content) -> str:
    """Return the free note of an entry; words in its place once it was erased."""
    return note_named(getattr(content, "note", ""))


def note_named(name: str) -> str:
    """Return a free note by its name; words in its place once it was erased."""
    return note_in(desk().journal.attachments([name]) if name else {}, name)


def note_in(notes: Mapping[str, Attachment], name: str) -> str:
    """Return a free note out of several that were read at once, as `note_named` does."""
    if not name:
        return NO_NOTE
    kept = notes.get(name)
    return kept.data.decode() if kept else words().gettext("(the note was erased)")


def _mended(one: Item, tell: Telling) -> str:
    if one.aside:
        return _weighed(one.content)
    if one.correction is None:
        return ""
    if one.moved:
        return words().gettext(
            "Moved to another bath. %(what)s", what=correction(one.correction, tell)
        )
    return correction(one.correction, tell)


def _weighed(content: Content) -> str:
    assert isinstance(content, LotSpoonWeighed)
    return words().gettext(
        "%(weight)s each; every figure since the mixing was reckoned anew.",
        weight=amounts.weight(words(), float(content.weight.base) / content.spoon_count, 1),
    )


def correction(one: Sealed, tell: Telling) -> str:
    """Say what a correction did, who made it, when and why."""
    said = one.entry.content
    assert isinstance(said, EntryCorrected)
    told_with = {
        "name": face(one.entry.author).name,
        "when": tell.when(one.entry.happened_at),
        "why": say.choice(words(), "correct_reason", said.reason),
    }
    if said.outcome == "void":
        return words().gettext("Taken out by %(name)s, %(when)s: %(why)s.", **told_with)
    if said.outcome == "restore":
        return words().gettext("Brought back by %(name)s, %(when)s: %(why)s.", **told_with)
    return words().gettext("Corrected by %(name)s, %(when)s: %(why)s.", **told_with)
