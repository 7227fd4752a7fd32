"""Sort it out: what waits for a coordinator's word; nothing is deleted by it."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, ClassVar

from flask import Blueprint, abort, flash, redirect, request
from werkzeug.wrappers import Response
from wtforms import RadioField

from coop.actions.see_baths import look_at_every
from coop.actions.see_counts import COUNT_GAP, GapLook, causes
from coop.actions.see_devices import MISSING, TWICE, DeviceLook
from coop.actions.see_odd import (
    LATE,
    Odd,
    Unsettled,
    in_force,
    odd_count,
    odd_counts,
    odd_late,
)
from coop.actions.see_since import Turned
from coop.actions.settle_draft import Settling, settle_draft, why_not_sealed
from coop.actions.write import Outcome, Written
from coop.ids import EntryId, Subject
from coop.ledger.baths import BathState
from coop.ledger.entries import Entry
from coop.ledger.force import InForce
from coop.ledger.kinds import DraftSettled, EntryCorrected
from coop.ledger.ports import Late
from coop.ledger.states import DeviceState, LotState, StudioState
from coop.people.may import may
from coop.rules.impossible import LOT_BELOW_ZERO, LOT_OF_TWO
from coop.store import devices
from coop.store.desk import Desk
from coop.store.waiting import SqlShelf
from coop.sync.outbox import Kept, note_named, read_outbox
from coop.sync.ports import ALREADY, LEFT_OUT, SEALED, WAITING, Held
from coop.web import phones, reasons
from coop.web import words as say
from coop.web.counting import CauseTeller, counted_by, counters, gap_text
from coop.web.drafts import Teller
from coop.web.forms import EntryForm, Noted, options, written
from coop.web.history import note_of
from coop.web.i18n import N_
from coop.web.judging import JudgeForm
from coop.web.lately import turned_line
from coop.web.page import desk, face, faces, needs, new_id, now, show, who, words, writing
from coop.web.sorting import unsettled
from coop.web.told import told_apart

ACT = "sort-out"
HERE = "/sort-it-out"
SHOWN_MAX = 20
UNFIT = 422

pages = Blueprint("sort", __name__)


class SettleForm(Noted, EntryForm):
    """Settles one draft: `held` is what waits, `outcome` the button that was pressed."""

    kind: ClassVar[str] = "draft.settled"

    reason = RadioField(N_("Why is it left out?"), validate_choice=False)
    held: Held
    outcome: str = LEFT_OUT

    def offer(self) -> None:
        """Fill the list in the member's language."""
        pairs = say.choices(words(), "settle_reason")
        self.reason.choices = options(one for one in pairs if one[0] != "right_as_it_is")

    def _write(self, desk: Desk, fixed: dict[str, Any]) -> Outcome:
        sealed = self.outcome == SEALED
        entry_id = EntryId(str(self.entry_id.data))
        settling = Settling(
            id=entry_id,
            outcome=SEALED if sealed else LEFT_OUT,
            reason="right_as_it_is" if sealed else str(self.reason.data or ""),
            note=self._note(desk, entry_id),
        )
        shelf = SqlShelf(desk.connection)
        held = _find(shelf, self.held.id, self.held.digest)
        assert held is not None, "nothing is ever taken off the shelf"
        return settle_draft(desk.journal, shelf, who(), held, settling, now=now())


@dataclass(frozen=True, slots=True, kw_only=True)
class DraftLine:
    """Something that waits for a person: what, by whom, where, when, and why it waits."""

    what: str
    by: str
    where: str
    when: str
    arrived: str
    why: str
    url: str
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Judging:
    """What a form names when it judges something; `entry_id` makes it one judgement."""

    subject: str
    code: str
    entry: str
    entry_id: str

    @property
    def query(self) -> Mapping[str, str]:
        return {"subject": self.subject, "code": self.code, "entry": self.entry}


@dataclass(frozen=True, slots=True, kw_only=True)
class GapLine:
    """A phone whose counts do not add up."""

    name: str
    url: str
    whose: str
    heard: str
    lines: tuple[str, ...]
    judging: tuple[Judging, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class OddLine:
    """
    Something odd, with the entry's own page.

    Attributes:
        two: Two baths that are told apart by it, the earlier one first.
        acts: Text and address of pages where it may be mended.
    """

    name: str
    text: str
    url: str
    judging: Judging
    two: tuple[str, ...] = ()
    acts: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Side:
    """One of two lines that say the same."""

    text: str
    by: str
    when: str
    where: str
    url: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Twins:
    """Two lines that may tell of one deed, the earlier one first."""

    sides: tuple[Side, ...]
    judging: Judging


@dataclass(frozen=True, slots=True, kw_only=True)
class CountLine:
    """
    A count of a lot that differs.

    Attributes:
        causes: What may lie behind it, in sentences.
        url: Where the cause is said.
    """

    name: str
    counted: str
    text: str
    causes: tuple[str, ...]
    url: str
    judging: Judging


@dataclass(frozen=True, slots=True, kw_only=True)
class SortPage:
    """What waits, sort by sort; of each at most so many, and how many more there are."""

    may_act: bool
    count: int
    drafts: tuple[DraftLine, ...]
    drafts_more: int
    gaps: tuple[GapLine, ...]
    gaps_more: int
    late: tuple[OddLine, ...]
    late_more: int
    twins: tuple[Twins, ...]
    twins_more: int
    counts: tuple[CountLine, ...]
    counts_more: int
    others: tuple[OddLine, ...]
    others_more: int


@dataclass(frozen=True, slots=True, kw_only=True)
class DraftPage:
    """One draft; `form` is None for who may not act, or once it is settled."""

    id: str
    digest: str
    line: DraftLine
    settled: str
    may_seal: bool
    form: SettleForm | None


@dataclass(frozen=True, slots=True, kw_only=True)
class JudgePage:
    """What is odd, and the form that judges it."""

    title: str
    text: str
    url: str
    form: JudgeForm


# --- the list ---------------------------------------------------------------------------


@pages.get(HERE)
@needs("read")
def sort_it_out() -> Response:
    rows = devices.all_of(desk().connection)
    open_ones = _unsettled(rows)
    held = SqlShelf(desk().connection).waiting()[:SHOWN_MAX]
    where = _names_of_devices()
    page = SortPage(
        may_act=may(who().roles, ACT),
        count=open_ones.count,
        drafts=_drafts(held, where),
        drafts_more=open_ones.draft_count - len(held),
        gaps=_gaps(open_ones.gaps[:SHOWN_MAX], rows),
        gaps_more=_more(open_ones.gaps),
        late=_late(open_ones.late[:SHOWN_MAX]),
        late_more=_more(open_ones.late),
        twins=_twins(open_ones.twins[:SHOWN_MAX], where),
        twins_more=_more(open_ones.twins),
        counts=_counts(open_ones.counts),
        counts_more=_more(open_ones.counts),
        others=_others(open_ones.others[:SHOWN_MAX]),
        others_more=_more(open_ones.others),
    )
    return show("sort.html", page=page, nav="sort")


def _unsettled(rows: Mapping[Subject, devices.Device] | None = None) -> Unsettled:
    journal = desk().journal
    looks = look_at_every(journal, journal.listed("bath"), now=now())
    return unsettled(looks, devices.all_of(desk().connection) if rows is None else rows)


def _more(whole: tuple[Any, ...]) -> int:
    return max(0, len(whole) - SHOWN_MAX)


def _judging(odd: Odd) -> Judging:
    return Judging(subject=odd.subject, code=odd.code, entry=odd.entry, entry_id=new_id())


def _names_of_devices() -> Mapping[Subject, str]:
    states: tuple[DeviceState, ...] = desk().journal.listed("device", live=False)
    return {one.id: one.name for one in states}


def _where(names: Mapping[Subject, str], device: Subject | None) -> str:
    if device is None:
        return ""
    return names.get(device, words().gettext("a phone that is not known here"))


def _drafts(held: Iterable[Held], where: Mapping[Subject, str]) -> tuple[DraftLine, ...]:
    """Put drafts into lines; what they name is read at once."""
    read = [(one, read_outbox(one.text)) for one in held]
    entries = [kept.entry for _, kept in read if isinstance(kept, Kept)]
    teller = Teller(desk().journal, entries)
    return tuple(
        _draft(one, kept, teller, where) if isinstance(kept, Kept) else _unread(one, where)
        for one, kept in read
    )


def _unread(one: Held, where: Mapping[Subject, str]) -> DraftLine:
    """Show what was given up because it could not be read, as it came."""
    gettext = words().gettext
    note = desk().journal.attachment(note_named(one.text))
    return DraftLine(
        what=gettext("A line that could not be taken in"),
        by="",
        where=_where(where, one.device),
        when="",
        arrived=gettext("arrived %(when)s", when=say.when(words(), one.received_at, now())),
        why=say.waits(words(), one.refused.code),
        url=f"{HERE}/drafts/{one.id}/{one.digest}",
        note=f"{one.text}\n{note.data.decode()}" if note else one.text,
    )


def _draft(one: Held, kept: Kept, teller: Teller, where: Mapping[Subject, str]) -> DraftLine:
    gettext, entry = words().gettext, kept.entry
    return DraftLine(
        what=teller.tell(entry.content),
        by=face(entry.author).name,
        where=_where(where, one.device),
        when=gettext("written %(when)s", when=say.when(words(), entry.written_at, now())),
        arrived=gettext("arrived %(when)s", when=say.when(words(), one.received_at, now())),
        why=say.waits(words(), one.refused.code),
        url=f"{HERE}/drafts/{one.id}/{one.digest}",
        note=_note(one, kept),
    )


def _note(one: Held, kept: Kept) -> str:
    """Return the free note; once a draft is settled it lies where it can be erased."""
    if kept.note is not None:
        return kept.note.data.decode()
    return "" if one.outcome == WAITING else note_of(kept.entry.content)


def _gaps(
    looks: Iterable[DeviceLook], rows: Mapping[Subject, devices.Device]
) -> tuple[GapLine, ...]:
    wanted = tuple(looks)
    faces().gather(one for look in wanted for one in phones.people_of(look))
    return tuple(_gap(look, rows.get(look.state.id)) for look in wanted)


def _gap(look: DeviceLook, row: devices.Device | None) -> GapLine:
    told = phones.row_of(look, row)
    return GapLine(
        name=told.name,
        url=told.url,
        whose=told.whose,
        heard=told.heard,
        lines=tuple(
            one for one in (phones.missing(look.missing), phones.twice(look.twice)) if one
        ),
        judging=tuple(_judging(odd) for odd in odd_counts(look)),
    )


def _late(late: Iterable[Late]) -> tuple[OddLine, ...]:
    wanted = tuple(late)
    journal = desk().journal
    baths: Mapping[Subject, BathState] = journal.states("bath", [one.bath for one in wanted])
    entries = journal.by_ids(one.entry for one in wanted)
    return tuple(
        OddLine(
            name="",
            text=_turned(baths.get(one.bath), one, entries[one.entry][0].entry),
            url=_page_of(entries[one.entry][0].entry),
            judging=_judging(odd_late(one)),
            acts=((words().gettext("The line itself"), _page_of(entries[one.entry][0].entry)),),
        )
        for one in wanted
    )


def _page_of(entry: Entry) -> str:
    """Return the page of an entry; a correction stands on that of what it corrects."""
    said = entry.content
    shown = said.target if isinstance(said, EntryCorrected) else entry.id
    return f"/entries/{shown}/correct"


def _turned(bath: BathState | None, late: Late, entry: Entry) -> str:
    if bath is None:
        return words().gettext("Lines arrived late for a bath that was taken out since.")
    return turned_line(Turned(bath=bath, late=late, at=entry.happened_at))


def _twins(twins: Iterable[Odd], where: Mapping[Subject, str]) -> tuple[Twins, ...]:
    wanted = tuple(twins)
    ids = [EntryId(one) for odd in wanted for one in (odd.detail, odd.entry)]
    entries = in_force(desk().journal, ids)
    teller = Teller(desk().journal, entries.values())
    return tuple(
        Twins(
            sides=tuple(
                _side(entries[one], teller, where)
                for one in (EntryId(odd.detail), odd.entry)
                if one in entries
            ),
            judging=_judging(odd),
        )
        for odd in wanted
    )


def _side(one: InForce, teller: Teller, where: Mapping[Subject, str]) -> Side:
    return Side(
        text=teller.tell(one.content),
        by=face(one.author).name,
        when=say.when(words(), one.at, now(), one.precision),
        where=_where(where, one.original.entry.device),
        url=f"/entries/{one.id}/correct",
    )


def _counts(looks: tuple[GapLook, ...]) -> tuple[CountLine, ...]:
    """Put counts that differ into lines; what may lie behind them is read at once."""
    journal, shown = desk().journal, looks[:SHOWN_MAX]
    if not shown:
        return ()
    studios: tuple[StudioState, ...] = journal.listed("studio")
    names = {one.id: one.name for one in studios}
    faces().gather(one for look in shown for one in counters(look.count))
    found = causes(journal, shown, looks)
    teller = CauseTeller(journal, found.values())
    return tuple(
        CountLine(
            name=look.lot.name,
            counted=", ".join((names.get(look.lot.studio, "—"), counted_by(look.count))),
            text=gap_text(words(), look.lot, look.gap),
            causes=tuple(teller.tell(look, one) for one in found[look.lot.id]),
            url=f"/lots/{look.lot.id}/gap",
            judging=_judging(odd_count(look)),
        )
        for look in shown
    )


def _others(others: Iterable[Odd]) -> tuple[OddLine, ...]:
    wanted = tuple(others)
    journal = desk().journal
    of_lots = {one.subject for one in wanted if one.code in (LOT_BELOW_ZERO, LOT_OF_TWO)}
    of_baths = {Subject(id) for one in wanted for id in (one.subject, one.detail) if id}
    baths: Mapping[Subject, BathState] = journal.states("bath", of_baths - of_lots)
    lots: Mapping[Subject, LotState] = journal.states("lot", of_lots)
    faces().gather(one.mixed_by for one in baths.values())
    return tuple(_other(one, baths, lots.get(one.subject)) for one in wanted)


def _other(one: Odd, baths: Mapping[Subject, BathState], lot: LotState | None) -> OddLine:
    named = baths.get(one.subject) or lot
    two = [baths[id] for id in (Subject(one.detail), one.subject) if id in baths]
    line = f"/entries/{one.entry}/correct"
    acts = {line: words().gettext("The line itself")}
    mend = reasons.mend(
        words(), one.code, subject=one.subject, entry=one.entry, other=one.detail
    )
    if mend is not None:
        text, address = mend
        acts[address] = text
    return OddLine(
        name=named.name if named else "",
        text=reasons.finding(words(), one.code),
        url=line,
        judging=_judging(one),
        two=tuple(map(told_apart, two)) if len(two) > 1 else (),
        acts=tuple((text, address) for address, text in acts.items()),
    )


# --- one draft --------------------------------------------------------------------------


def _find(shelf: SqlShelf, draft: str, digest: str) -> Held | None:
    return next((one for one in shelf.held(draft) if one.digest == digest), None)


def _held(draft: object, digest: str) -> Held:
    found = _find(SqlShelf(desk().connection), str(draft), digest)
    if found is None:
        abort(404)
    return found


@pages.get(f"{HERE}/drafts/<uuid:draft>/<digest>")
@needs("read")
def draft(draft: object, digest: str) -> Response:
    held = _held(draft, digest)
    form = None
    if held.outcome == WAITING and may(who().roles, ACT):
        form = SettleForm(formdata=None)
        form.offer()
    return _draft_page(held, form, 200)


def _draft_page(held: Held, form: SettleForm | None, status: int) -> Response:
    (line,) = _drafts([held], _names_of_devices())
    page = DraftPage(
        id=held.id,
        digest=held.digest,
        line=line,
        settled=_settled(held) if held.outcome != WAITING else "",
        may_seal=why_not_sealed(desk().journal, held) is None,
        form=form,
    )
    return show("draft.html", page=page, nav="sort", status=status)


def _settled(held: Held) -> str:
    """Say who settled a draft, when and how."""
    said = [
        one.entry
        for one in desk().journal.touching(Subject(f"draft:{held.id}"))
        if isinstance(one.entry.content, DraftSettled)
    ]
    last = max(said, key=lambda one: one.written_at, default=None)
    if last is not None:
        return _settled_by(last)
    if held.outcome in (SEALED, ALREADY):
        return words().gettext("It went in by another way, and counts.")
    return words().gettext("Whoever wrote it gave it up.")


def _settled_by(entry: Entry) -> str:
    assert isinstance(entry.content, DraftSettled)
    told = {
        "name": face(entry.author).name,
        "when": say.when(words(), entry.written_at, now()),
        "why": say.choice(words(), "settle_reason", entry.content.reason),
        "note": note_of(entry.content),
    }
    if entry.content.outcome == SEALED:
        text = words().gettext("%(name)s let it in, %(when)s: %(why)s. %(note)s", **told)
    else:
        text = words().gettext("%(name)s left it out, %(when)s: %(why)s. %(note)s", **told)
    return text.strip()


@pages.post(f"{HERE}/drafts/<uuid:draft>/<digest>")
@needs(ACT)
def settle(draft: object, digest: str) -> Response:
    """Let a draft in word for word, or leave it out with a reason."""
    held = _held(draft, digest)
    if held.outcome != WAITING:
        return _told(held)
    form = SettleForm()
    form.held, form.outcome = held, request.form.get("outcome", LEFT_OUT)
    form.offer()
    if form.validate():
        with writing() as unit:
            outcome = form.record(unit)
        if isinstance(outcome, Written):
            written(outcome, _done(form.outcome))
            return _back()
        held = _held(draft, digest)
        if held.outcome != WAITING:
            return _told(held)
    return _draft_page(held, form, UNFIT)


def _told(held: Held) -> Response:
    """Say what has become of a draft meanwhile."""
    flash(_settled(held), "warning")
    return _back()


def _done(outcome: str) -> str:
    if outcome == SEALED:
        return words().gettext("It went in as it was written, and counts now.")
    return words().gettext("Left out. It stays readable, and the phone is told why.")


def _back() -> Response:
    return redirect(HERE, 303)


# --- judging ----------------------------------------------------------------------------


@pages.get(f"{HERE}/judge")
@needs(ACT)
def look() -> Response:
    form = JudgeForm(formdata=None, data=request.args.to_dict())
    form.offer()
    return _judge_page(form, 200)


@pages.post(f"{HERE}/judge")
@needs(ACT)
def judge() -> Response:
    """Write that something odd was seen by a person; it stays in the history as it is."""
    form = JudgeForm()
    form.offer()
    if not _unsettled().find(*_named(form)):
        return _settled_already()
    if form.validate():
        with writing() as unit:
            outcome = form.record(unit)
        if written(outcome, words().gettext("Settled. It stays in the history as it is.")):
            return _back()
    return _judge_page(form, UNFIT)


def _named(form: JudgeForm) -> tuple[str, str, str]:
    return str(form.subject.data), str(form.code.data), str(form.entry.data)


def _settled_already() -> Response:
    flash(words().gettext("That is settled already."), "warning")
    return _back()


def _judge_page(form: JudgeForm, status: int) -> Response:
    named, open_ones = _named(form), _unsettled()
    if not open_ones.find(*named):
        return _settled_already()
    page = _judged(open_ones, form, *named)
    return show("judge.html", page=page, nav="sort", status=status)


def _judged(
    open_ones: Unsettled, form: JudgeForm, subject: str, code: str, entry: str
) -> JudgePage:
    """Say what is odd, by its sort."""
    what = code.partition(":")[0]
    if what in (MISSING, TWICE):
        (gap,) = (one for one in open_ones.gaps if one.state.id == subject)
        text = phones.missing(gap.missing) if what == MISSING else phones.twice(gap.twice)
        return JudgePage(title=gap.state.name, text=text, url=f"/devices/{subject}", form=form)
    if code == COUNT_GAP:
        return _judged_count(open_ones, form, entry)
    if code == LATE:
        (line,) = _late(
            [one for one in open_ones.late if (one.bath, one.entry) == (subject, entry)]
        )
        return JudgePage(title="", text=line.text, url=line.url, form=form)
    odd = next(
        one
        for one in (*open_ones.twins, *open_ones.others)
        if (one.subject, one.code, one.entry) == (subject, code, entry)
    )
    (other,) = _others([odd])
    return JudgePage(title=other.name, text=other.text, url=other.url, form=form)


def _judged_count(open_ones: Unsettled, form: JudgeForm, entry: str) -> JudgePage:
    (look,) = (one for one in open_ones.counts if one.count.entry == entry)
    lot = look.lot
    text = gap_text(words(), lot, look.gap)
    return JudgePage(title=lot.name, text=text, url=f"/lots/{lot.id}/gap", form=form)
