"""Alum a stack once more: the same sheets, through a bath that may be used."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, ClassVar

from flask import Blueprint, redirect
from werkzeug.wrappers import Response
from wtforms import RadioField

from coop.actions.log_sheets import usable_alums
from coop.actions.see_stacks import StackLook, see_stack
from coop.actions.write import Written
from coop.ledger.schema import Refused
from coop.ledger.states import StackState
from coop.rules.baths import BathLook
from coop.web import reasons, stacking
from coop.web import words as say
from coop.web.cautions import SafetyCard, safety_card
from coop.web.forms import EntryForm, Happened, Noted, looked_up, options, written
from coop.web.i18n import N_
from coop.web.page import desk, known, needs, now, show, who, words, writing

ACT = "re-alum"
pages = Blueprint("alum_again", __name__)


class AgainForm(EntryForm, Happened, Noted):
    kind: ClassVar[str] = "sheets.through"

    bath = RadioField(N_("Through which alum?"), validate_choice=False)
    method = RadioField(
        N_("Method"), choices=looked_up(say.CHOICES["method"].items()), validate_choice=False
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class AgainPage:
    """
    A stack to be alumed once more.

    `may` says whether it wants that, `why_not` why it does not; `any_alum` whether there is
    alum that may be used.
    """

    stack_url: str
    name: str
    left: str
    side: str
    may: bool
    why_not: str
    any_alum: bool
    form: AgainForm
    card: SafetyCard


@pages.route("/stacks/<uuid:stack>/alum-again", methods=["GET", "POST"])
@needs("sheets.through")
def alum_again(stack: object) -> Response:
    state: StackState = known("stack", str(stack))
    look = see_stack(desk().journal, state, now=now())
    alums = usable_alums(desk().journal, look, who().member, now=now())
    form = AgainForm()
    form.bath.choices = options(_choices(alums))
    if not form.is_submitted():
        form.bath.data = alums[0].state.id if alums else None
        form.method.data = state.method
    elif form.validate() and (done := _write(form, look, alums)) is not None:
        return done
    page = _page(look, form)
    status = 422 if form.is_submitted() else 200
    return show("alum_again.html", page=page, nav="stacks", status=status)


def _choices(alums: Iterable[BathLook]) -> Iterable[tuple[str, str]]:
    for look in alums:
        word = reasons.word(words(), look.answer.word)
        name = say.bath_name(words(), look.state.what, look.state.name)
        yield look.state.id, words().gettext("%(bath)s (%(word)s)", bath=name, word=word)


def _write(form: AgainForm, look: StackLook, alums: tuple[BathLook, ...]) -> Response | None:
    """Write that all that is left went through; None when something is to be put right."""
    state = look.state
    if form.bath.data not in {one.state.id for one in alums}:
        code = "not-a-choice" if form.bath.data else "missing"
        form.take(Refused(field="bath", code=code))
        return None
    if not _may(look):
        return None
    with writing() as place:
        outcome = form.record(place, **_same_sheets(state))
    sheets = say.sheets(words(), state.left_count, state.sheet_format)
    done = words().gettext("Written: %(sheets)s through once more.", sheets=sheets)
    if not written(outcome, done):
        return None
    assert isinstance(outcome, Written)
    return redirect(f"/stacks/{state.id}?written={outcome.sealed.entry.id}", code=303)


def _may(look: StackLook) -> bool:
    return ACT in look.answer.next_acts


def _same_sheets(state: StackState) -> dict[str, Any]:
    """Return what the stack knows of its sheets."""
    said = {
        "stack": state.id,
        "sheet_count": str(state.left_count),
        "sheet_format": state.sheet_format,
        "lot": state.lot,
        "paper": None if state.lot else state.paper,
    }
    return {name: one for name, one in said.items() if one is not None}


def _page(look: StackLook, form: AgainForm) -> AgainPage:
    return AgainPage(
        stack_url=f"/stacks/{look.state.id}",
        name=stacking.name(look),
        left=stacking.left(look.state),
        side=stacking.side_to_alum(look.side),
        may=_may(look),
        why_not=_why_not(look),
        any_alum=bool(form.bath.choices),
        form=form,
        card=safety_card(words(), "sheets", look.studio),
    )


def _why_not(look: StackLook) -> str:
    """Say why a stack is not alumed now, where it is not."""
    if look.state.again is not None:
        return words().gettext("It was alumed once more already: not a third time.")
    if look.state.left_count == 0:
        return words().gettext("No alumed sheets of it are left.")
    return words().gettext("It does not want aluming again.")
