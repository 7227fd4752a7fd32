"""What needs somebody: the whole list, "not today, because", and today after all."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import timedelta
from types import MappingProxyType
from typing import ClassVar

from flask import Blueprint, abort, flash, redirect, request
from werkzeug.wrappers import Response
from wtforms import RadioField

from coop.actions.correct_entry import CORRECTION, Standing, may_mend, see_entry, void
from coop.actions.see_needs import Need, Needs, Scene, look_around, see_needs
from coop.actions.write import Draft, Written, write
from coop.ledger.kinds import NeedPutOff
from coop.ledger.ports import Journal
from coop.ledger.table import needed
from coop.people.may import may_correct
from coop.web import words as say
from coop.web.forms import EntryForm, looked_up, options, written
from coop.web.i18n import N_
from coop.web.needing import Called, NeedText, need_text, studio_names
from coop.web.page import (
    desk,
    faces,
    needs,
    new_id,
    now,
    show,
    site,
    today,
    who,
    words,
    writing,
)
from coop.web.told import bath_names, telling

PUT_OFF = "need.put_off"
NEEDS_SHOWN_MAX = 100
UNTIL_DAYS = (1, 3, 7)
BUYING = ("asked_somebody", "waiting_for_a_price", "shop_closed", "no_money", "not_needed")
DOING = ("asked_somebody", "not_needed")
OTHER = "other"
REASONS: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "order": BUYING,
        "session-short": BUYING,
        "arrival": ("asked_somebody", "shop_closed", "not_needed"),
    }
)
"""Why something is put off, by the kind of need; all else is done by hand, not bought."""

pages = Blueprint("needs", __name__)


class PutOffForm(EntryForm):
    kind: ClassVar[str] = PUT_OFF

    reason = RadioField(N_("Why not today?"), validate_choice=False)
    until = RadioField(N_("Until when?"), validate_choice=False)

    def offer(self, need: str) -> None:
        """Offer the reasons that fit, and tomorrow, three days and a week by their dates."""
        texts_of = say.CHOICES["put_off_reason"]
        codes = (*REASONS.get(need, DOING), OTHER)
        self.reason.choices = looked_up((code, texts_of[code]) for code in codes)
        texts = (
            words().gettext("tomorrow"),
            words().gettext("in three days"),
            words().gettext("next week"),
        )
        days = [today() + timedelta(days=one) for one in UNTIL_DAYS]
        self.until.choices = options(
            (one.isoformat(), f"{text}, {words().day(one)}")
            for one, text in zip(days, texts, strict=True)
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Later:
    """What was put off; `about` is what it is about where the member may do it today."""

    told: NeedText
    code: str
    about: str


@dataclass(frozen=True, slots=True, kw_only=True)
class NeedsPage:
    """What needs the member; `more` so much is not shown."""

    open: tuple[NeedText, ...]
    put_off: tuple[Later, ...]
    more: int


@dataclass(frozen=True, slots=True, kw_only=True)
class PutOffPage:
    need: NeedText
    form: PutOffForm


@pages.get("/needs")
@needs("read")
def all_needs() -> Response:
    scene = look_around(desk().journal, now=now())
    seen, called = _see(scene), _called(scene)
    shown = (seen.open[:NEEDS_SHOWN_MAX], seen.put_off[:NEEDS_SHOWN_MAX])
    faces().gather([one.put_off.by for one in shown[1] if one.put_off])
    page = NeedsPage(
        open=tuple(need_text(telling(), one, called) for one in shown[0]),
        put_off=tuple(_later(one, called) for one in shown[1]),
        more=len(seen.open) + len(seen.put_off) - len(shown[0]) - len(shown[1]),
    )
    return show("needs.html", page=page, nav="room")


def _see(scene: Scene) -> Needs:
    return see_needs(
        desk().journal,
        who().member,
        who().roles,
        now=now(),
        scene=scene,
        demo=site().settings.demo,
    )


def _called(scene: Scene) -> Called:
    return Called(
        baths=bath_names(look.state for look in scene.looks),
        studios=studio_names(desk().journal.listed("studio")),
    )


def _later(need: Need, called: Called) -> Later:
    said = need.put_off
    assert said is not None, "it was put off"
    own, age = said.by == who().member, now() - said.at
    may = may_correct(who().roles, PUT_OFF, own=own, age=age, undo=False)
    return Later(
        told=need_text(telling(), need, called), code=need.code, about=need.about if may else ""
    )


@pages.route("/needs/put-off", methods=["GET", "POST"])
@needs(PUT_OFF)
def put_off() -> Response:
    need, called = _asked_for(request.args)
    text = need_text(telling(), need, called)
    form = PutOffForm()
    form.offer(need.code)
    if form.validate_on_submit():
        with writing() as place:
            outcome = form.record(place, need=need.code, about=need.about)
        if written(outcome, words().gettext("%(name)s is put off.", name=text.name)):
            return redirect("/", code=303)
    status = 422 if form.is_submitted() else 200
    return show(
        "needs_put_off.html", page=PutOffPage(need=text, form=form), nav="room", status=status
    )


def _asked_for(said: Mapping[str, str]) -> tuple[Need, Called]:
    """Return the need that is named, of those that concern the member."""
    scene = look_around(desk().journal, now=now())
    seen = _see(scene)
    asked = (said.get("need", ""), said.get("about", ""))
    for one in (*seen.open, *seen.put_off):
        if (one.code, one.about) == asked:
            return one, _called(scene)
    abort(404)


@pages.post("/needs/today")
@needs(CORRECTION)
def after_all() -> Response:
    """Take back that something was put off."""
    need, called = _asked_for(request.form)
    name = need_text(telling(), need, called).name
    with writing() as place:
        standing = tuple(_standing(place.journal, need))
        mine = [one for one in standing if may_mend(who(), one.original, now=now())]
        for one in mine:
            body = void(one, reason="undone", seen=one.seen)
            said = Draft(id=new_id(), kind=CORRECTION, body=body)
            outcome = write(place.journal, who(), said, now=now())
            assert isinstance(outcome, Written), "whoever may mend an entry may take it out"
    if len(mine) < len(standing):
        flash(words().gettext("%(name)s stays put off by somebody else.", name=name), "warning")
    else:
        text = words().gettext("%(name)s is to be done today after all.", name=name)
        flash(text, "written")
    return redirect("/needs", 303)


def _standing(journal: Journal, need: Need) -> Iterator[Standing]:
    """Give the entries that put a need off to a day that has not come."""
    for sealed in journal.touching(needed(need.code, need.about)):
        found = see_entry(journal, sealed.entry.id)
        said = found.in_force.content if found and found.in_force else None
        if found and isinstance(said, NeedPutOff) and said.until > today():
            yield found
