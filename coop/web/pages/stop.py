"""Stop a bath, allow it again, finish it, care for it."""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, ClassVar

from flask import Blueprint, redirect
from werkzeug.wrappers import Response
from wtforms import RadioField

from coop.actions.ask import stopper_of
from coop.actions.liquid_rows import stood_ml
from coop.actions.see_baths import see_any
from coop.actions.write import Written
from coop.ledger.any_bath import AnyBath
from coop.people.may import may_clear
from coop.rules.baths import BathLook
from coop.rules.liquid_looks import LiquidLook
from coop.web import amounts, reasons
from coop.web import words as say
from coop.web.cautions import safety_card
from coop.web.forms import EntryForm, Happened, Noted, looked_up, written
from coop.web.i18n import N_
from coop.web.page import desk, known, needs, now, show, who, words, writing
from coop.web.told import bath_url, telling

LIDS = ("covered", "uncovered")
COLD = ("chilled", "brought_to_room")
CARES: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "alum": ("strained", *LIDS, *COLD),
        "size": ("skimmed", "strained", *LIDS, *COLD),
        "gall_water": ("strained", *LIDS, *COLD),
        "rinse": ("skimmed", "strained", *LIDS),
        "paste": ("strained", *LIDS, *COLD),
        "softener": ("strained", *LIDS, *COLD),
    }
)
"""What is done to each kind of bath while it stands: common practice, no source."""

pages = Blueprint("stop", __name__)


def _reasons(label: str, group: str) -> RadioField:
    return RadioField(
        label, choices=looked_up(say.CHOICES[group].items()), validate_choice=False
    )


class StopForm(EntryForm, Happened, Noted):
    kind: ClassVar[str] = "bath.stopped"

    reason = _reasons(N_("Why?"), "stop_reason")


class AllowForm(EntryForm, Noted):
    kind: ClassVar[str] = "bath.cleared"

    reason = _reasons(N_("Why may it be used again?"), "clear_reason")


class FinishForm(EntryForm, Happened, Noted):
    kind: ClassVar[str] = "bath.finished"

    reason = _reasons(N_("Why?"), "finish_by_hand")


class CareForm(EntryForm, Happened):
    kind: ClassVar[str] = "bath.cared"

    care = _reasons(N_("What was done?"), "care")

    def fit(self, what: str) -> None:
        """Offer what is done to a bath of this kind; what was done all the same is taken."""
        done = say.CHOICES["care"]
        self.care.choices = looked_up((code, done[code]) for code in CARES[what])


@dataclass(frozen=True, slots=True, kw_only=True)
class StopPage:
    """
    One of the four acts on a bath.

    `refused` says why this member cannot do it now; then there is no form.
    """

    id: str
    name: str
    word: str
    why: str
    form: EntryForm
    litres: str = ""
    refused: str = ""
    cautions: tuple[str, ...] = ()


@pages.route("/baths/<bath>/stop", methods=["GET", "POST"])
@needs("bath.stopped")
def stop(bath: object) -> Response:
    state: AnyBath = known("bath", str(bath))
    refused = words().gettext("This bath is stopped already.") if state.stop else ""
    told = words().gettext(
        "Stopped. Now hang the do-not-use tag on the tub: the tub is what the next member sees."
    )
    return _act(state, StopForm(), "stop.html", told, refused=refused)


@pages.route("/baths/<bath>/allow", methods=["GET", "POST"])
@needs("bath.cleared")
def allow(bath: object) -> Response:
    state: AnyBath = known("bath", str(bath))
    told = words().gettext("Allowed again. Now turn the tag on the tub round.")
    return _act(state, AllowForm(), "allow.html", told, refused=_not_allowed(state))


def _not_allowed(state: AnyBath) -> str:
    if state.stop is None:
        return words().gettext("This bath is not stopped.")
    stopper = stopper_of(desk().journal, state, who().member, now=now())
    if may_clear(who().roles, stopper):
        return ""
    if stopper.own:
        return words().gettext("You stopped it yourself: somebody else has to allow it again.")
    return words().gettext(
        "A safety officer stopped it: a safety officer or a coordinator has to allow it again."
    )


@pages.route("/baths/<bath>/finish", methods=["GET", "POST"])
@needs("bath.finished")
def finish(bath: object) -> Response:
    state: AnyBath = known("bath", str(bath))
    refused = words().gettext("This bath is finished.") if state.finished_at else ""
    told = words().gettext("Finished. What is left of it still has to be got rid of.")
    return _act(state, FinishForm(), "finish.html", told, refused=refused)


@pages.route("/baths/<bath>/care", methods=["GET", "POST"])
@needs("bath.cared")
def care(bath: object) -> Response:
    state: AnyBath = known("bath", str(bath))
    form = CareForm()
    form.fit(state.what)
    done = say.CHOICES["care"].get(form.care.data or "", "")
    told = words().gettext("Written: %(what)s.", what=words().gettext(done))
    return _act(state, form, "care.html", told)


def _act(
    state: AnyBath, form: EntryForm, template: str, told: str, *, refused: str = ""
) -> Response:
    """Show the page, or write the entry and go back to the bath."""
    status = 200
    if form.is_submitted():
        status = 422
        if form.validate():
            with writing() as place:
                outcome = form.record(place, bath=state.id)
            if written(outcome, told):
                assert isinstance(outcome, Written)
                entry = outcome.sealed.entry.id
                return redirect(f"{bath_url(state)}?written={entry}", code=303)
    look = see_any(desk().journal, state, now=now())
    more: dict[str, Any] = {}
    if form.kind == "bath.finished":
        more = {
            "litres": amounts.volume(words(), stood_ml(look.state)),
            "cautions": safety_card(words(), "finish", look.around.studio).lines,
        }
    page = _page(look, form, refused=refused, **more)
    return show(template, page=page, nav="room", status=status)


def _page(look: BathLook | LiquidLook, form: EntryForm, **more: Any) -> StopPage:
    return StopPage(
        id=look.state.id,
        name=say.bath_name(words(), look.state.what, look.state.name),
        word=look.answer.word.value,
        why=reasons.why(telling(), look),
        form=form,
        **more,
    )
