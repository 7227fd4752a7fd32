"""Mend it: top a bath up with alum, water or both, and see first what it would be."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import ClassVar

from flask import Blueprint, jsonify, redirect, request, url_for
from werkzeug.wrappers import Response
from wtforms import HiddenField, RadioField

from coop.actions.ask_about import alike
from coop.actions.mend import Ahead, Made, Remedy, look_ahead, made_of, remedies
from coop.actions.on_hand import OnHand, alum_on_hand, salts_on_hand, to_mend_with
from coop.actions.see_baths import see_bath
from coop.ledger import kinds
from coop.ledger.any_bath import AnyBath
from coop.ledger.baths import BathState
from coop.ledger.schema import Slip, read_record
from coop.rules.baths import BathLook
from coop.web import amounts
from coop.web import words as say
from coop.web.cautions import SafetyCard, hand_hot, safety_card
from coop.web.forms import Happened, Noted, options, written
from coop.web.i18n import N_
from coop.web.mending import AheadSaid, RemedySaid, ahead_said, remedy_said, strength_text
from coop.web.page import desk, known_alum, needs, now, show, today, words, writing
from coop.web.salt import SaltForm, lot_of

pages = Blueprint("mend", __name__)


class MendForm(Happened, Noted, SaltForm):
    """
    A top-up. Water alone is warned of once before it is written: `warned` is the water whose
    warning was shown, by the page or by its live answer.
    """

    kind: ClassVar[str] = "bath.topped_up"
    beside: ClassVar[frozenset[str]] = frozenset({"warned"})

    warned = HiddenField()
    reason = RadioField(N_("Why water alone?"), validate_choice=False)

    @property
    def has_salt(self) -> bool:
        return any((typed.data or "").strip() for _, typed, _, _ in self.rows())

    @property
    def water_only(self) -> bool:
        return bool((self.water_typed.data or "").strip()) and not self.has_salt

    @property
    def water_said(self) -> str:
        typed = (self.water_typed.data or "").strip()
        return typed if "water" in self.named else f"{typed} {self.water_unit.data}"

    def _pairs(self) -> Iterator[tuple[str, str]]:
        for name, value in super()._pairs():
            if name != "reason" or self.water_only:
                yield name, value


@dataclass(frozen=True, slots=True, kw_only=True)
class RemedyRow:
    """A way back to the target, and the address that fills it into the form."""

    said: RemedySaid
    url: str


@dataclass(frozen=True, slots=True, kw_only=True)
class MendPage:
    id: str
    name: str
    bath_url: str
    pour_url: str
    word: str
    why: str
    strength: str
    litres: str
    remedies: tuple[RemedyRow, ...]
    form: MendForm
    ahead: AheadSaid
    asks_reason: bool
    finished: bool
    card: SafetyCard
    hand_hot: str


@pages.route("/baths/<bath>/mend", methods=["GET", "POST"])
@needs("bath.topped_up")
def mend(bath: str) -> Response:
    look = see_bath(desk().journal, known_alum(bath, "/mend"), now=now())
    made = made_of(desk().journal, look.state.id)
    lots = _lots(look, made)
    ways = remedies(look, lots, look.around.house, goal_ml=made.water_ml, own=made.lots)
    form = _form(look, lots)
    status = 200
    if request.method == "POST":
        status = 422
        if form.validate_on_submit() and not _warn(form):
            with writing() as here:
                outcome = form.record(here, bath=bath)
            if written(outcome, words().gettext("Topped up. Stir it well.")):
                return redirect(f"/baths/{bath}", 303)
    else:
        _fill(form, ways)
        _warn(form)
    return show("mend.html", page=_page(look, lots, ways, form), nav="room", status=status)


def _lots(look: BathLook, made: Made) -> tuple[OnHand, ...]:
    """Return the lots of the bath's own salt first; another salt is refused with its figure."""
    lots = alum_on_hand(desk().journal, look.state.studio, today=today())
    turn = to_mend_with(lots, own=made.lots, salt_g=0.0)
    return tuple(sorted(turn, key=lambda one: one.lot.salt != look.state.salt))


def _form(look: BathLook, lots: tuple[OnHand, ...]) -> MendForm:
    form = MendForm() if request.method == "POST" else MendForm(request.args)
    form.offer(words(), lots, look.around.house, look.state.salt)
    form.reason.choices = options(say.choices(words(), "water_only_reason"))
    return form


def _warn(form: MendForm) -> bool:
    """Say whether water alone must be warned of before it is written."""
    if not form.water_only or form.warned.data == form.water_said:
        return False
    form.warned.data = form.water_said
    return True


def _fill(form: MendForm, ways: tuple[Remedy, ...]) -> None:
    """Write a way back to the target into the form, the one the address names."""
    named = {str(place): way for place, way in enumerate(ways)}
    way = named.get(request.args.get("way", ""))
    if way is None:
        return
    if way.water_ml >= 1:
        form.fill_water(way.water_ml)
    form.fill(way.shares)


def _page(
    look: BathLook, lots: tuple[OnHand, ...], ways: tuple[Remedy, ...], form: MendForm
) -> MendPage:
    bath = look.state
    ahead = _ahead(look, lots, form)
    return MendPage(
        id=bath.id,
        name=bath.name,
        bath_url=f"/baths/{bath.id}",
        pour_url=_pour_url(bath),
        word=look.answer.word.value,
        why=_why(look),
        strength=strength_text(words(), look.strength),
        litres=amounts.volume(words(), look.strength.volume_l * 1000),
        remedies=tuple(
            RemedyRow(
                said=remedy_said(words(), way),
                url=url_for("mend.mend", bath=bath.id, way=place),
            )
            for place, way in enumerate(ways)
        ),
        form=form,
        ahead=ahead_said(words(), look, ahead) if ahead else AheadSaid(),
        asks_reason=form.water_only and bool(form.warned.data),
        finished=bath.finished_at is not None,
        card=safety_card(words(), "top-up", look.around.studio, salts_on_hand(lots)),
        hand_hot=hand_hot(words()),
    )


def _pour_url(bath: BathState) -> str:
    """Return where another bath is poured into this one; empty where there is none."""
    every: tuple[AnyBath, ...] = desk().journal.listed("bath")
    if not any(one.id != bath.id and alike(bath, one) for one in every):
        return ""
    return url_for("pour.pour_together", bath=bath.id)


def _why(look: BathLook) -> str:
    if look.answer.lines is None:
        return words().gettext("Nobody said how strong it should be.")
    target = amounts.g_per_l(words(), look.answer.lines.target_g_per_l)
    return words().gettext("Its target is %(target)s.", target=target)


def _ahead(look: BathLook, lots: tuple[OnHand, ...], form: MendForm) -> Ahead | None:
    """Return what the form as it stands would make of the bath; None while half typed."""
    try:
        said = read_record(kinds.BathToppedUp, form.body() | {"bath": look.state.id})
    except Slip:
        return None
    if said.water is None and not said.salt:
        return None
    named = {one.lot: lot for one in said.salt if (lot := lot_of(lots, one.lot))}
    return look_ahead(look, said.water, said.salt, named)


@pages.get("/baths/<bath>/mend/ahead")
@needs("bath.topped_up")
def ahead(bath: str) -> Response:
    """Say strength and level before and after, while it is being typed."""
    look = see_bath(desk().journal, known_alum(bath, "/mend"), now=now())
    lots = _lots(look, made_of(desk().journal, look.state.id))
    form = _form(look, lots)
    found = _ahead(look, lots, form)
    said = ahead_said(words(), look, found) if found else AheadSaid()
    return jsonify(said.live() | {"warned": form.water_said if said.reason else ""})
