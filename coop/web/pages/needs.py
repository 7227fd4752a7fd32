"""What needs somebody: the whole list, and "not today, because"."""

from dataclasses import dataclass
from datetime import timedelta
from typing import ClassVar

from flask import Blueprint, abort, redirect, request
from werkzeug.wrappers import Response
from wtforms import RadioField

from coop.actions.see_needs import Need, Needs, see_needs
from coop.web import words as say
from coop.web.forms import EntryForm, looked_up, options, written
from coop.web.i18n import N_
from coop.web.needing import NeedText, need_text
from coop.web.page import desk, faces, needs, now, show, who, words, writing, zone
from coop.web.told import telling

NEEDS_SHOWN_MAX = 100
UNTIL_DAYS = (1, 3, 7)

pages = Blueprint("needs", __name__)


class PutOffForm(EntryForm):
    kind: ClassVar[str] = "need.put_off"

    reason = RadioField(
        N_("Why not today?"),
        choices=looked_up(say.CHOICES["put_off_reason"].items()),
        validate_choice=False,
    )
    until = RadioField(N_("Until when?"), validate_choice=False)

    def offer(self) -> None:
        """Offer tomorrow, three days and a week, by their dates."""
        today = now().astimezone(zone()).date()
        texts = (
            words().gettext("tomorrow"),
            words().gettext("in three days"),
            words().gettext("next week"),
        )
        days = [today + timedelta(days=one) for one in UNTIL_DAYS]
        self.until.choices = options(
            (one.isoformat(), f"{text}, {words().day(one)}")
            for one, text in zip(days, texts, strict=True)
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class NeedsPage:
    """What needs the member; `more` so much is not shown."""

    open: tuple[NeedText, ...]
    put_off: tuple[NeedText, ...]
    more: int


@dataclass(frozen=True, slots=True, kw_only=True)
class PutOffPage:
    need: NeedText
    form: PutOffForm


@pages.get("/needs")
@needs("read")
def all_needs() -> Response:
    seen = _see()
    shown = (seen.open[:NEEDS_SHOWN_MAX], seen.put_off[:NEEDS_SHOWN_MAX])
    faces().gather([one.put_off.by for one in shown[1] if one.put_off])
    tell = telling()
    page = NeedsPage(
        open=tuple(need_text(tell, one) for one in shown[0]),
        put_off=tuple(need_text(tell, one) for one in shown[1]),
        more=len(seen.open) + len(seen.put_off) - len(shown[0]) - len(shown[1]),
    )
    return show("needs.html", page=page, nav="room")


def _see() -> Needs:
    return see_needs(desk().journal, who().member, who().roles, now=now())


@pages.route("/needs/put-off", methods=["GET", "POST"])
@needs("need.put_off")
def put_off() -> Response:
    need = _asked_for()
    text = need_text(telling(), need)
    form = PutOffForm()
    form.offer()
    if form.validate_on_submit():
        with writing() as place:
            outcome = form.record(place, need=need.code, about=need.about)
        if written(outcome, words().gettext("%(name)s is put off.", name=text.name)):
            return redirect("/", code=303)
    status = 422 if form.is_submitted() else 200
    return show(
        "needs_put_off.html", page=PutOffPage(need=text, form=form), nav="room", status=status
    )


def _asked_for() -> Need:
    """Return the need that the address names, of those that concern the member."""
    seen = _see()
    asked = (request.args.get("need", ""), request.args.get("about", ""))
    for one in (*seen.open, *seen.put_off):
        if (one.code, one.about) == asked:
            return one
    abort(404)
