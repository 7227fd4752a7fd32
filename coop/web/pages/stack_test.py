"""A strip print of a corner: what a stack's own sheets say, whatever became of their bath."""

from dataclasses import dataclass
from typing import ClassVar

from flask import Blueprint, redirect
from werkzeug.wrappers import Response
from wtforms import RadioField
from wtforms.validators import InputRequired

from coop.actions.see_stacks import StackLook, see_stack
from coop.actions.write import Written
from coop.ledger.states import StackState
from coop.web import stacking
from coop.web import words as say
from coop.web.cautions import SafetyCard, safety_card
from coop.web.forms import EntryForm, Happened, looked_up, written
from coop.web.i18n import N_
from coop.web.page import desk, known, needs, now, show, words, writing
from coop.web.told import telling

pages = Blueprint("stack_test", __name__)


class CornerForm(EntryForm, Happened):
    kind: ClassVar[str] = "stack.tested"

    outcome = RadioField(
        N_("How did it come out?"),
        choices=looked_up(say.CHOICES["outcome"].items()),
        validators=[InputRequired()],
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class CornerPage:
    """A strip print of one stack; `any_left` says whether there are sheets to cut it from."""

    stack_url: str
    name: str
    side: str
    how: str
    any_left: bool
    form: CornerForm
    card: SafetyCard


@pages.route("/stacks/<uuid:stack>/test", methods=["GET", "POST"])
@needs("stack.tested")
def test(stack: object) -> Response:
    state: StackState = known("stack", str(stack))
    form = CornerForm()
    if form.validate_on_submit():
        with writing() as place:
            outcome = form.record(place, stack=state.id)
        if written(outcome, words().gettext("Written.")) and isinstance(outcome, Written):
            entry = outcome.sealed.entry.id
            return redirect(f"/stacks/{state.id}?written={entry}", code=303)
    page = _page(see_stack(desk().journal, state, now=now()), form)
    status = 422 if form.is_submitted() else 200
    return show("stack_test.html", page=page, nav="stacks", status=status)


def _page(look: StackLook, form: CornerForm) -> CornerPage:
    return CornerPage(
        stack_url=f"/stacks/{look.state.id}",
        name=stacking.name(look),
        side=stacking.side_to_lay(look.side),
        how=stacking.how_known(telling(), look),
        any_left=look.state.left_count > 0,
        form=form,
        card=safety_card(words(), "sheets", look.studio),
    )
