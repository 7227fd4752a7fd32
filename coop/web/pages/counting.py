"""Count a lot: what was seen is said back before it is written; then why it differs."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any
from urllib.parse import urlencode

from flask import Blueprint, abort, flash, jsonify, redirect, request
from werkzeug.wrappers import Response

from coop.actions.correct_entry import (
    CORRECTION,
    Standing,
    may_mend,
    put_in_place,
    see_entry,
)
from coop.actions.count import is_nothing, put_right, received_in, said_of
from coop.actions.see_counts import (
    COUNT_GAP,
    GapLook,
    causes,
    gaps_on_hand,
    look_ahead,
    see_gap,
)
from coop.actions.see_devices import judged_pairs
from coop.actions.see_lots import lot_entries
from coop.actions.write import Written
from coop.ids import EntryId, Subject
from coop.ledger import kinds
from coop.ledger.entries import read_content
from coop.ledger.force import InForce
from coop.ledger.lots import amount_of
from coop.ledger.schema import Slip
from coop.ledger.states import LotState, StudioState, SupplyState
from coop.ledger.table import KINDS
from coop.people.may import may
from coop.rules.gaps import Gap, Moved, NotWrittenDown, PackSize, Suggestion, within_noise
from coop.web import words as say
from coop.web.cautions import SafetyCard, safety_card_of
from coop.web.count_form import (
    CountForm,
    GapForm,
    MovedForm,
    PackForm,
    members_but_me,
    with_whom,
)
from coop.web.counting import (
    CauseTeller,
    cause_choices,
    counted_by,
    doubt_text,
    gap_text,
    noise_text,
)
from coop.web.forms import written
from coop.web.lots import much
from coop.web.page import desk, face, known, needs, now, show, who, words, writing
from coop.web.told import Names, told

pages = Blueprint("counting", __name__)


@dataclass(frozen=True, slots=True, kw_only=True)
class SaidBack:
    """What a count comes to, before it is written; `rest` says what becomes of the gap."""

    text: str = ""
    doubt: str = ""
    rest: str = ""
    alone: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class CountPage:
    """Counting one lot; `back` is empty until something was typed."""

    name: str
    url: str
    studio: str
    holds: str
    form: CountForm
    back: SaidBack
    card: SafetyCard | None


@dataclass(frozen=True, slots=True, kw_only=True)
class CauseRow:
    """
    What may lie behind a gap: a sentence, and the page, or the form of one tap, that mends it.
    """

    text: str
    act: str
    url: str = ""
    form: MovedForm | PackForm | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class GapPage:
    """
    The newest count of a lot that differs.

    Attributes:
        settled: Nothing is asked: it is as expected, or somebody has judged it.
        explained: What was said of the gap so far, a line each.
        in_noise: One tap writes it off.
        waits: It is listed for coordinators: something is left of the lot.
        judge_url: Where it is said to be right as it stands; empty for who may not.
    """

    name: str
    url: str
    studio: str
    counted: str
    text: str
    doubt: str
    noise: str
    settled: bool
    explained: tuple[str, ...]
    in_noise: bool
    causes: tuple[CauseRow, ...]
    form: GapForm
    may_decide: bool
    waits: bool
    judge_url: str


# --- counting ---------------------------------------------------------------------------


@pages.route("/lots/<lot>/count", methods=["GET", "POST"])
@needs("lot.counted")
def count(lot: str) -> Response:
    state: LotState = known("lot", lot)
    form = CountForm()
    form.fit(state, propose=not form.is_submitted())
    form.counted_with.choices = with_whom(members_but_me())
    status, gap = 200, None
    if form.is_submitted():
        gap = _ahead(form) if form.validate() else None
        status = 422 if gap is None else 200
        if gap is not None and (form.warned.data == _key(gap) or form.is_sent):
            done = _write(form, gap)
            if done is not None:
                return done
            status = 422
    return show("count.html", page=_count_page(form, gap), nav="shelf", status=status)


def _ahead(form: CountForm) -> Gap | None:
    """Return what the count comes to; None where it is not right, and the form says so."""
    try:
        return look_ahead(desk().journal, form.lot, form.content(), at=form.at)
    except Slip as slip:
        form.take(slip.refused)
        return None


def _key(gap: Gap) -> str:
    return f"{gap.expected} {gap.seen} {gap.doubt}"


def _write(form: CountForm, gap: Gap) -> Response | None:
    """Write the count; go on to the gap where it is more than counting errs."""
    lot = form.lot
    with writing() as place:
        outcome = form.record(place, lot=str(lot.id))
    if not isinstance(outcome, Written):
        return None
    newest = known("lot", lot.id).counts[-1]
    if newest.entry == outcome.sealed.entry.id and not within_noise(gap):
        written(outcome, words().gettext("Counted. It differs by more than counting errs."))
        return redirect(f"/lots/{lot.id}/gap", 303)
    told = gap_text(words(), lot, gap)
    text = words().gettext("Counted. %(gap)s", gap=told)
    if newest.put_right is not None:
        text = words().gettext("Counted, and the rest written off. %(gap)s", gap=told)
    written(outcome, text)
    return redirect(f"/lots/{lot.id}", 303)


def _count_page(form: CountForm, gap: Gap | None) -> CountPage:
    lot = form.lot
    if gap is not None:
        form.warned.data = _key(gap)
    studio: StudioState | None = desk().journal.state("studio", lot.studio)
    return CountPage(
        name=lot.name,
        url=f"/lots/{lot.id}",
        studio=studio.name if studio else "",
        holds=words().gettext("Each holds %(pack)s.", pack=much(words(), lot, lot.pack)),
        form=form,
        back=_said_back(form, gap) if gap is not None else SaidBack(),
        card=_card(lot, studio),
    )


def _card(lot: LotState, studio: StudioState | None) -> SafetyCard | None:
    """Return what to take care of at an open tub; paper and pieces need no care."""
    supply: SupplyState | None = None
    if lot.what == "supply":
        supply = desk().journal.state("supply", lot.substance)
    return safety_card_of(words(), (supply.what if supply else lot.what,), studio)


def _said_back(form: CountForm, gap: Gap) -> SaidBack:
    counts = form.lot.counts
    if not gap.difference:
        rest = ""
    elif counts and counts[-1].at > form.at:
        rest = words().gettext("It was counted again later: this is only written down.")
    elif within_noise(gap):
        rest = words().gettext("The rest is written off with it.")
    else:
        rest = words().gettext("That is more: you are asked for the cause.")
    return SaidBack(
        text=gap_text(words(), form.lot, gap),
        doubt=doubt_text(words(), form.lot, gap),
        rest=f"{noise_text(words(), form.lot, gap)} {rest}" if gap.difference else rest,
        alone=not form.counted_with.data,
    )


@pages.get("/lots/<lot>/count/ahead")
@needs("lot.counted")
def ahead(lot: str) -> Response:
    """Say it back while it is typed; nothing while it is half typed."""
    form = CountForm(request.args)
    form.fit(known("lot", lot), propose=False)
    half_typed = not form.says or any(field.process_errors for field in form)
    gap = None if half_typed else _ahead(form)
    if gap is None:
        return jsonify({"figure": "", "doubt": "", "rest": "", "warned": ""})
    back = _said_back(form, gap)
    said = {"figure": back.text, "doubt": back.doubt, "rest": back.rest}
    return jsonify(said | {"warned": _key(gap)})


# --- the gap ----------------------------------------------------------------------------


@pages.route("/lots/<lot>/gap", methods=["GET", "POST"])
@needs("lot.adjusted")
def gap(lot: str) -> Response:
    state: LotState = known("lot", lot)
    look = see_gap(desk().journal, state)
    if look is None:
        return redirect(f"/lots/{lot}/count", 303)
    form = GapForm()
    form.fit(state, cause_choices(words(), look.gap))
    status = 200
    if form.is_submitted():
        status = 422
        if form.validate() and _explains(form, look):
            done = _put_right(form, look)
            if done is not None:
                return done
    return show("count_gap.html", page=_gap_page(look, form), nav="shelf", status=status)


def _explains(form: GapForm, look: GapLook) -> bool:
    """Say whether what is typed is right and within the gap; the form says what is not."""
    lot = look.lot
    try:
        said = read_content(KINDS[form.kind], _body(form, look), "")
    except Slip as slip:
        form.take(slip.refused)
        return False
    assert isinstance(said, kinds.LotAdjusted)
    most = abs(look.gap.difference)
    if amount_of(lot, said) <= most:
        return True
    field = form.count if "count" in form else form.amount_typed
    text = words().gettext("At most %(gap)s: that is the gap.", gap=much(words(), lot, most))
    field.errors = [*field.errors, text]
    return False


def _body(form: GapForm, look: GapLook) -> dict[str, Any]:
    """Return what is written: all of the gap, unless less was typed."""
    return put_right(look) | form.body()


def _put_right(form: GapForm, look: GapLook) -> Response | None:
    """Write the cause; say what was there before and after, as of the count."""
    with writing() as place:
        outcome = form.record(place, **_body(form, look))
    lot: LotState = known("lot", look.lot.id)
    after = see_gap(desk().journal, lot)
    assert after is not None, "a count is never deleted"
    text = words().gettext(
        "Put right, as of the count: %(before)s before, %(after)s now.",
        before=much(words(), lot, look.gap.expected),
        after=much(words(), lot, after.gap.expected),
    )
    if not written(outcome, text):
        return None
    return redirect(_next(after), 303)


def _next(look: GapLook) -> str:
    """Return where to go on: what is left of a gap is asked about too."""
    return f"/lots/{look.lot.id}" if look.in_noise else f"/lots/{look.lot.id}/gap"


def _gap_page(look: GapLook, form: GapForm) -> GapPage:
    lot, count = look.lot, look.count
    studio: StudioState | None = desk().journal.state("studio", lot.studio)
    decides = may(who().roles, "sort-out")
    settled = is_nothing(look) or (COUNT_GAP, count.entry) in judged_pairs(desk().journal)
    others = () if settled or look.in_noise else gaps_on_hand(desk().journal)
    judge = urlencode({"subject": lot.id, "code": COUNT_GAP, "entry": count.entry})
    waits = any(one.lot.id == lot.id for one in others)
    said = _said_of_gap(look)
    return GapPage(
        name=lot.name,
        url=f"/lots/{lot.id}",
        studio=studio.name if studio else "",
        counted=counted_by(count),
        text=gap_text(words(), lot, _first_gap(look, said) if settled else look.gap),
        doubt=doubt_text(words(), lot, look.gap),
        noise=noise_text(words(), lot, look.gap),
        settled=settled,
        explained=tuple(_explained(one) for one in said),
        in_noise=look.in_noise,
        causes=_causes(look, others),
        form=form,
        may_decide=decides,
        waits=waits,
        judge_url=f"/sort-it-out/judge?{judge}" if decides and waits else "",
    )


def _said_of_gap(look: GapLook) -> tuple[InForce, ...]:
    """Return what was written to put this count right."""
    counted = Subject(look.count.entry)
    return tuple(
        one
        for one in lot_entries(desk().journal, look.lot.id).here
        if isinstance(one.content, kinds.LotAdjusted) and one.content.counted == counted
    )


def _first_gap(look: GapLook, said: Iterable[InForce]) -> Gap:
    """Return the gap as it was before anything was said of it."""
    expected = look.gap.expected
    for one in said:
        assert isinstance(one.content, kinds.LotAdjusted)
        amount = amount_of(look.lot, one.content)
        expected += amount if one.content.way == "out" else -amount
    return replace(look.gap, expected=expected)


def _explained(one: InForce) -> str:
    """Say what somebody said of a gap: 'P-80 put right: 100 less (class), 2025-10-02, Amina'"""
    told_of = told(words(), Names(desk().journal), one.content)
    when = say.day_by(words(), one.at, face(one.author).name)
    return f"{told_of}, {when}"


def _causes(look: GapLook, others: tuple[GapLook, ...]) -> tuple[CauseRow, ...]:
    """Return what may lie behind a gap and can be mended elsewhere."""
    journal = desk().journal
    found = [
        one
        for one in causes(journal, (look,), others)[look.lot.id]
        if not isinstance(one, NotWrittenDown)
    ]
    teller = CauseTeller(journal, [found]) if found else None
    return tuple(_cause(look, one, teller) for one in found) if teller else ()


def _cause(look: GapLook, one: Suggestion, teller: CauseTeller) -> CauseRow:
    text = teller.tell(look, one)
    match one:
        case PackSize():
            return _pack_row(look, one, text)
        case Moved(other=other):
            return CauseRow(
                text=text,
                act=words().gettext("Yes, it was moved"),
                url=f"/lots/{look.lot.id}/gap/moved",
                form=MovedForm(formdata=None, other=other.lot),
            )
        case _:
            return CauseRow(
                text=text, act=words().gettext("Look at both"), url="/sort-it-out#twins"
            )


def _pack_row(look: GapLook, one: PackSize, text: str) -> CauseRow:
    """Offer the size in one tap to who may correct the receiving; to others who may."""
    if not may_mend(who(), _received(look).original, now=now()):
        return CauseRow(
            text=text,
            act=words().gettext("Look at what was received"),
            url=f"/entries/{look.lot.id}/correct",
        )
    likely = much(words(), look.lot, one.likely)
    return CauseRow(
        text=text,
        act=words().gettext("Yes, a pack holds %(likely)s", likely=likely),
        url=f"/lots/{look.lot.id}/gap/pack",
        form=PackForm(formdata=None, likely=one.likely),
    )


def _received(look: GapLook) -> Standing:
    standing = see_entry(desk().journal, EntryId(look.lot.id))
    assert standing is not None, "a lot that was bought was received"
    return standing


@pages.post("/lots/<lot>/gap/pack")
@needs(CORRECTION)
def pack(lot: str) -> Response:
    """Correct what a pack holds, as the count lets guess."""
    look = see_gap(desk().journal, known("lot", lot))
    form = PackForm()
    size = _size(look, str(form.likely.data)) if look else None
    if look is None or size is None:
        flash(words().gettext("That is settled already."), "warning")
        return redirect(f"/lots/{lot}/gap", 303)
    standing = _received(look)
    if not may_mend(who(), standing.original, now=now()):
        abort(403)
    with writing() as place:
        said = put_in_place(
            place.journal,
            standing,
            received_in(standing.body(), look.lot, size.likely),
            at=standing.at,
            reason="pack_size",
            seen=standing.seen,
        )
        outcome = form.record(place, **said)
    told = words().gettext(
        "Put right: a pack holds %(likely)s, not %(typed)s.",
        likely=much(words(), look.lot, size.likely),
        typed=much(words(), look.lot, size.typed),
    )
    if not written(outcome, told):
        flash(" ".join(map(str, form.form_errors)), "warning")
    return redirect(f"/lots/{lot}/gap", 303)


def _size(look: GapLook, likely: str) -> PackSize | None:
    """Return the pack size that is offered for a gap, if it is this one."""
    found = causes(desk().journal, (look,), ())[look.lot.id]
    sizes = (one for one in found if isinstance(one, PackSize))
    return next((one for one in sizes if str(one.likely) == likely), None)


@pages.post("/lots/<lot>/gap/moved")
@needs("lot.moved")
def moved(lot: str) -> Response:
    """Move what is short in one studio and over in another, as of the earlier count."""
    look = see_gap(desk().journal, known("lot", lot))
    form = MovedForm()
    others = {one.lot.id: one for one in gaps_on_hand(desk().journal)}
    other = others.get(Subject(str(form.other.data)))
    if look is None or other is None or not _mirrored(look, other):
        flash(words().gettext("That is settled already."), "warning")
        return redirect(f"/lots/{lot}/gap", 303)
    giver, taker = (look, other) if look.gap.difference < 0 else (other, look)
    form.at = min(look.count.at, other.count.at)
    amount = min(abs(look.gap.difference), abs(other.gap.difference))
    with writing() as place:
        outcome = form.record(
            place,
            lot=str(giver.lot.id),
            studio=str(taker.lot.studio),
            into=str(taker.lot.id),
            **said_of(giver.lot, amount),
        )
    done = words().gettext(
        "Moved %(amount)s, as of the count.", amount=much(words(), giver.lot, amount)
    )
    if not written(outcome, done):
        flash(" ".join(map(str, form.form_errors)), "warning")
    return redirect(f"/lots/{lot}/gap", 303)


def _mirrored(look: GapLook, other: GapLook) -> bool:
    """Say whether the gap of another lot is offered for this one."""
    found = causes(desk().journal, (look,), (other,))
    return any(isinstance(one, Moved) for one in found[look.lot.id])
