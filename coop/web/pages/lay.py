"""Lay sheets of a stack on a size, in two taps or three."""

import json
from collections.abc import Iterable
from dataclasses import dataclass
from typing import ClassVar

from flask import Blueprint, abort, redirect, request
from werkzeug.wrappers import Response
from wtforms import RadioField

from coop.actions.ask import WANT_REASON, is_kept
from coop.actions.log_sheets import Laying, see_laying
from coop.actions.see_liquids import see_liquid
from coop.actions.see_stacks import StackLook
from coop.actions.write import Written
from coop.ids import Subject
from coop.ledger.liquids import SIZE
from coop.ledger.schema import Refused
from coop.ledger.states import StackState
from coop.rules.liquid_looks import LiquidLook
from coop.rules.reasons import Word
from coop.web import reasons, stacking
from coop.web import words as say
from coop.web.cautions import SafetyCard, safety_card
from coop.web.fields import NumberField
from coop.web.forms import EntryForm, Happened, Noted, looked_up, options, written
from coop.web.i18n import N_
from coop.web.page import desk, faces, known_liquid, needs, now, show, who, words, writing
from coop.web.reasons import Telling
from coop.web.told import telling

COUNTS = (5, 10, 20, 30, 40, 50, 60)
ALL_OFFERED = 3
"""So many stacks have a button for all that is left of them."""
DAMP = (("no", N_("dry")), ("yes", N_("damp")))

pages = Blueprint("lay", __name__)


class LayForm(EntryForm, Happened, Noted):
    kind: ClassVar[str] = "sheets.through"

    stack = RadioField(N_("Which sheets?"), validate_choice=False)
    sheet_count = NumberField(N_("How many sheets?"))
    damp = RadioField(
        N_("Damp or dry?"),
        choices=looked_up(DAMP),
        validate_choice=False,
        description=N_("Never shiny-wet; cool to the back of the hand is fine."),
    )
    reason = RadioField(
        N_("Why use it anyway?"),
        choices=looked_up(say.CHOICES["lay_reason"].items()),
        validate_choice=False,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Pick:
    """
    A stack to choose.

    `where` is of which paper it is, how it lies and where. `also` is what an entry says of it
    besides its id, as a script reads it.
    """

    id: str
    text: str
    left: str
    where: str
    use_by: str
    stale: bool
    why: str
    side: str
    word: str
    also: str


@dataclass(frozen=True, slots=True, kw_only=True)
class AllLeft:
    """All that is left of a stack, to be laid with one tap: its words and its fields."""

    text: str
    fields: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LayPage:
    """
    Sheets laid on one size.

    `stop` warns that the size is not to be used and asks for a reason, as `kept` does of one
    that is kept for somebody else; `look` that it is to be looked at again, and asks for none.
    `old` says that among the stacks are some that are not to be used. `side` is the rule of
    all of them, empty where they differ.
    """

    id: str
    name: str
    form: LayForm
    picks: tuple[Pick, ...]
    all_left: tuple[AllLeft, ...]
    pad: tuple[int, ...]
    stop: bool
    kept: str
    look: bool
    old: bool
    word: str
    why: str
    side: str
    card: SafetyCard


@pages.route("/liquids/<uuid:bath>/lay", methods=["GET", "POST"])
@needs("sheets.through")
def lay(bath: object) -> Response:
    state = known_liquid(str(bath))
    if state.what != SIZE:
        abort(404)
    form = LayForm()
    asked = _asked(form)
    laying = see_laying(desk().journal, state, who().member, asked=asked, now=now())
    faces().gather(look.state.by for look in laying.stacks)
    picks = tuple(_picks(telling(), laying.stacks, state.studio))
    form.stack.choices = options((one.id, one.text) for one in picks)
    if not form.is_submitted():
        _fill(form, laying)
    elif form.validate() and (done := _write(form, state.id, asked)) is not None:
        return done
    look = see_liquid(desk().journal, state, now=now())
    page = _page(look, form, laying, picks)
    return show("lay.html", page=page, nav="room", status=422 if form.is_submitted() else 200)


def _asked(form: LayForm) -> StackState | None:
    """Return the stack that was chosen, or that the address names."""
    chosen = form.stack.data if form.is_submitted() else request.args.get("stack")
    found: StackState | None = desk().journal.state("stack", Subject(chosen or ""))
    return found


def _picks(tell: Telling, looks: Iterable[StackLook], studio: Subject) -> Iterable[Pick]:
    for look in looks:
        yield Pick(
            id=look.state.id,
            text=_text(tell, look),
            left=stacking.left(look.state),
            where=_where(look, studio),
            use_by=stacking.use_by(tell, look),
            stale=look.stale,
            why=stacking.why(tell, look),
            side=stacking.side_to_lay(look.side),
            word=look.answer.word.value,
            also=json.dumps(stacking.as_said(look.state)),
        )


def _text(tell: Telling, look: StackLook) -> str:
    """Say which sheets: 'half sheets of R-A1, yours, today 18:00'."""
    state = look.state
    named = {
        "format": say.choice(words(), "sheet_format", state.sheet_format),
        "bath": look.bath.name if look.bath else "—",
        "when": tell.when(state.alumed_at, state.alumed_precision),
    }
    if state.by == who().member:
        return words().gettext("%(format)s sheets of %(bath)s, yours, %(when)s", **named)
    return words().gettext(
        "%(format)s sheets of %(bath)s, %(name)s, %(when)s",
        name=stacking.whose(state),
        **named,
    )


def _where(look: StackLook, studio: Subject) -> str:
    """Say its paper, how it lies, and its studio where that is another: 'P-31, lies open'."""
    parts = [_paper(look), stacking.lies(look.state)]
    if look.studio is not None and look.studio.id != studio:
        parts.append(words().gettext("at %(studio)s", studio=look.studio.name))
    return ", ".join(parts)


def _paper(look: StackLook) -> str:
    """Name its paper by what was read with it: a lot, a member's own."""
    if look.lot is not None:
        return look.lot.name
    if look.paper is not None:
        return words().gettext("own paper, %(paper)s", paper=look.paper.name)
    return words().gettext("own paper")


def _fill(form: LayForm, laying: Laying) -> None:
    """Choose the first stack, dry unless it was kept damp."""
    form.damp.data = "no"
    if laying.stacks:
        first = laying.stacks[0].state
        form.stack.data = first.id
        form.damp.data = _damp(first)


def _damp(state: StackState) -> str:
    return "yes" if state.state == "damp" else "no"


def _write(form: LayForm, size: Subject, stack: StackState | None) -> Response | None:
    """Write what was laid and go to its stack; None when something is to be put right."""
    if stack is None:
        code = "not-known" if form.stack.data else "missing"
        form.take(Refused(field="stack", code=code))
        return None
    with writing() as place:
        outcome = form.record(place, size=size, **stacking.as_said(stack))
    if not written(outcome, _written(form, stack)):
        return None
    assert isinstance(outcome, Written)
    return redirect(f"/stacks/{stack.id}?written={outcome.sealed.entry.id}", code=303)


def _written(form: LayForm, stack: StackState) -> str:
    """Say back what was written."""
    counted = str(form.sheet_count.data or "")
    if not counted.isdigit():
        return words().gettext("Written.")
    told = say.sheets(words(), int(counted), stack.sheet_format)
    return words().gettext("Written: %(sheets)s laid.", sheets=told)


def _page(look: LiquidLook, form: LayForm, laying: Laying, picks: tuple[Pick, ...]) -> LayPage:
    word, kept = look.answer.word, look.state.kept_for
    is_anothers = kept is not None and is_kept(kept, now(), besides=who().member)
    asks_why = word in WANT_REASON or is_anothers
    sides = {one.side for one in picks}
    return LayPage(
        id=look.state.id,
        name=say.bath_name(words(), look.state.what, look.state.name),
        form=form,
        picks=picks,
        all_left=() if asks_why or form.errors else tuple(_all_left(laying, picks)),
        pad=tuple(sorted({*COUNTS, *laying.counts})),
        stop=word in WANT_REASON,
        kept=stacking.kept_for(telling(), kept) if kept and is_anothers else "",
        look=word is Word.LOOK_AGAIN,
        old=any(one.answer.word in WANT_REASON for one in laying.stacks),
        word=word.value,
        why=reasons.why(telling(), look),
        side=sides.pop() if len(sides) == 1 else "",
        card=safety_card(words(), "sheets", look.around.studio),
    )


def _all_left(laying: Laying, picks: tuple[Pick, ...]) -> Iterable[AllLeft]:
    usable = [
        (look.state, pick)
        for look, pick in zip(laying.stacks, picks, strict=True)
        if look.answer.word not in WANT_REASON
    ]
    for state, pick in usable[:ALL_OFFERED]:
        yield AllLeft(
            text=words().gettext(
                "All %(count)s %(stack)s", count=state.left_count, stack=pick.text
            ),
            fields=(
                ("stack", state.id),
                ("sheet_count", str(state.left_count)),
                ("damp", _damp(state)),
                *stacking.as_said(state).items(),
            ),
        )
