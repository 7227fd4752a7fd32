"""Receive: a lot of alum, of a powder, of paper or of another supply, as it was bought."""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from flask import Blueprint, abort, flash, jsonify, redirect, request, url_for
from werkzeug.wrappers import Response

from coop.actions.see_shelf import lots_on_hand
from coop.actions.see_supplies import (
    SupplyLook,
    said_of_order,
    said_of_supply,
    see_supplies,
    see_supply,
    whats_on_hand,
)
from coop.actions.write import Outcome, Written
from coop.ids import Subject
from coop.ledger.accounts import powder
from coop.ledger.kinds import POWDERS, SALTS
from coop.ledger.schema import Slip
from coop.ledger.states import (
    LotState,
    OrderState,
    StudioState,
    SupplierState,
    SupplyState,
)
from coop.people.may import may
from coop.rules.cautions import of_salts
from coop.web import cautions
from coop.web import words as say
from coop.web.cautions import safety_card_of
from coop.web.forms import options, written
from coop.web.i18n import N_
from coop.web.lots import much
from coop.web.page import desk, known, needs, show, who, words, writing
from coop.web.receiving import (
    NO_SODA,
    SODAS_OF,
    SOFTENER,
    Kept,
    LotForm,
    form_for,
    kept,
    page_of,
    proposed,
    reams_of,
    reams_text,
    total_text,
)

pages = Blueprint("receive", __name__)

WHATS = f"<any(alum, powder, paper, supply, {', '.join(POWDERS)}):what>"
"""What a lot is of; the page of a powder by its name is that of all of them, filled in."""
TITLES: Mapping[str, str] = MappingProxyType(
    {
        "alum": N_("Receive alum"),
        "powder": N_("Receive a powder"),
        "paper": N_("Receive paper"),
        "supply": N_("Receive something else"),
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Given:
    """What the address says: the supply, and the order that arrives."""

    look: SupplyLook | None
    order: OrderState | None

    @property
    def query(self) -> dict[str, str]:
        """What the address of the form says again."""
        if self.order is not None:
            return {"order": str(self.order.id)}
        return {"supply": str(self.look.supply.id)} if self.look else {}


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    name: str
    told: str
    url: str


@dataclass(frozen=True, slots=True, kw_only=True)
class WhichPage:
    """Which described supply came in."""

    supplies: tuple[Choice, ...]
    may_describe: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Care:
    """What to take care of with a supply; `beside` is when to show it, empty for always."""

    title: str
    beside: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ReceivePage:
    """
    A lot's form with what stands beside it.

    `order` says what is arriving; `read_url` answers what all packs hold together; `kept`
    and `care` have one for each supply that may be chosen.
    """

    form: LotForm
    what: str
    title: str
    order: str
    read_url: str
    total: str
    reams: tuple[int, ...]
    reams_told: str
    kept: tuple[Kept, ...]
    care: tuple[Care, ...]
    nothing_to_choose: bool


@pages.route(f"/shelf/receive/{WHATS}", methods=["GET", "POST"])
@needs("lot.received")
def receive(what: str) -> Response:
    given = _given(what)
    if what == "supply" and given.look is None:
        may_describe = may(who().roles, "supply.described")
        which = WhichPage(supplies=_others(), may_describe=may_describe)
        return show("receive_which.html", page=which, nav="shelf")
    form = _form(what, given)
    has_choices = _offer(form, what, given)
    if form.validate_on_submit() and _record(form, what, given):
        return redirect(url_for("shelf.shelf"), 303)
    page = ReceivePage(
        form=form,
        what=what,
        title=_title(what, given),
        order=_order(given),
        read_url=_url("read", what, given),
        total=total_text(words(), form),
        reams=reams_of(_suppliers()),
        reams_told=reams_text(words(), _suppliers()),
        kept=_kept(what, given),
        care=tuple(_care(what, given)),
        nothing_to_choose=not has_choices,
    )
    status = 422 if request.method == "POST" else 200
    return show("receive.html", page=page, nav="shelf", status=status)


def _given(what: str) -> Given:
    """Return what the address says of the lot; an order of something else has its own page."""
    order_id, key = request.args.get("order", ""), request.args.get("supply", "")
    order: OrderState | None = known("order", order_id) if order_id else None
    if order is not None:
        key = str(order.supply)
    elif what in POWDERS:
        key = powder(what)
    look = see_supply(desk().journal, key) if key else None
    if key and look is None:
        abort(404)
    given = Given(look=look, order=order)
    if look is not None and page_of(look) != what:
        abort(redirect(_url("receive", page_of(look), given), 303))
    return given


def _url(view: str, what: str, given: Given) -> str:
    return url_for(f"receive.{view}", what=what, _external=False, **given.query)


def _others() -> tuple[Choice, ...]:
    """Return the described supplies, each with the address of its form."""
    return tuple(
        Choice(
            name=look.supply.name,
            told=say.choice(words(), "supply", look.supply.what),
            url=url_for("receive.receive", what="supply", supply=look.supply.id),
        )
        for look in see_supplies(desk().journal)
        if look.group == "supply"
    )


def _form(what: str, given: Given) -> LotForm:
    """Return the form, filled in with the open packs of the order, else with the supply's."""
    journal = desk().journal
    of_supply = said_of_supply(journal, given.look.supply) if given.look else None
    of_order = said_of_order(journal, given.order) if given.order else None
    shown = proposed(of_supply, of_order)
    seller: SupplierState | None = journal.state("supplier", shown.get("sold_by"))
    if seller is not None and seller.ream_sheets is not None:
        shown.setdefault("sheet_count", str(seller.ream_sheets))
    if given.order is not None and given.order.open_packs:
        shown["pack_count"] = str(given.order.open_packs)
    for soda in _soda(what, given):
        shown.setdefault("soda", soda)
    form = form_for(what, given.look, shown)
    form.fixed = _fixed(what, given)
    if not may(who().roles, "lot.priced"):
        del form.price, form.price_id
    return form


def _soda(what: str, given: Given) -> Iterator[str]:
    """Give which soda a supply is: as its last lot says, else as its name does."""
    key = given.look.supply.id if given.look else powder(SOFTENER)
    if (given.look.supply.what if given.look else what) not in (*SODAS_OF, "powder"):
        return
    looks = [one for one in lots_on_hand(desk().journal) if one.lot.substance == key]
    for look in sorted(looks, key=lambda one: one.lot.received_at, reverse=True):
        if look.lot.soda:
            yield look.lot.soda
    name = given.look.supply.name.casefold() if given.look else ""
    for code, text in say.choices(words(), "soda"):
        if text.partition(" (")[0].casefold() in name:
            yield code


def _offer(form: Any, what: str, given: Given) -> bool:
    """Fill in the choices; a single one is chosen already. False where there are none."""
    studios: tuple[StudioState, ...] = desk().journal.listed("studio")
    form.studio.choices = options((one.id, one.name) for one in studios)
    sellers = [("", words().gettext("somebody else"))]
    sellers += [(str(one.id), one.name) for one in _suppliers()]
    form.sold_by.choices = options(sellers)
    if "soda" in form:
        form.soda.choices = options(_sodas(what))
    things = _offer_things(form, what, given.look.supply if given.look else None)
    for field in (form.studio, *things):
        if len(field.choices) == 1 and not field.data:
            field.data = field.choices[0].value
    return all(field.choices for field in (form.studio, *things))


def _offer_things(form: Any, what: str, supply: SupplyState | None) -> tuple[Any, ...]:
    """Fill in what a lot may be of: of a supply that is given, that alone."""
    if what == "alum":
        salts = say.choices(words(), "salt")
        only = supply.salt if supply else None
        form.salt.choices = options(one for one in salts if only in (None, one[0]))
        return (form.salt,)
    if what == "powder":
        powders = say.choices(words(), "powder")
        only = supply.what if supply else None
        form.what.choices = options(one for one in powders if only in (None, one[0]))
        form.carrageenan.choices = options(say.choices(words(), "carrageenan"))
        return (form.what,)
    if what == "paper":
        papers = [(str(one.id), one.name) for one in desk().journal.listed("paper")]
        only = supply.paper if supply else None
        form.paper.choices = options(one for one in papers if only in (None, one[0]))
        form.chalk.choices = options(say.choices(words(), "chalk"))
        form.grain.choices = options(say.choices(words(), "grain"))
        return (form.paper,)
    return ()


def _sodas(what: str) -> list[tuple[str, str]]:
    """Return which soda a lot may be; a softener may be none."""
    sodas = say.choices(words(), "soda")
    if what == "powder":
        sodas.append((NO_SODA, words().gettext("it is no soda")))
    return sodas


def _suppliers() -> tuple[SupplierState, ...]:
    found: tuple[SupplierState, ...] = desk().journal.listed("supplier")
    return found


def _received_text(outcome: Outcome) -> str:
    """Say what came in: 'Received: AS-31, 2500 g.'"""
    if not isinstance(outcome, Written):
        return ""
    lot: LotState = known("lot", outcome.sealed.entry.id)
    amount = much(words(), lot, lot.received)
    return words().gettext("Received: %(lot)s, %(amount)s.", lot=lot.name, amount=amount)


def _record(form: LotForm, what: str, given: Given) -> bool:
    """Write the lot and its price; say what is still to come of the order."""
    try:
        with writing() as here:
            outcome = form.record(here, **form.fixed)
            if isinstance(outcome, Written):
                form.write_price(here, outcome.sealed.entry.id)
    except Slip as slip:
        outcome = slip.refused
        form.take(outcome)
    if not written(outcome, _received_text(outcome)):
        _offer(form, what, given)
        return False
    order = known("order", given.order.id) if given.order else None
    if order is not None and order.open_packs:
        text = words().ngettext(
            "%(num)d pack of the order is still to come.",
            "%(num)d packs of the order are still to come.",
            order.open_packs,
        )
        flash(text, "written")
    return True


def _fixed(what: str, given: Given) -> dict[str, str]:
    """Return the parts of the body that nobody is asked."""
    fixed = {"order": str(given.order.id)} if given.order else {}
    if what == "supply" and given.look is not None:
        fixed["supply"] = given.look.supply.id.partition(":")[2]
    return fixed if what == "powder" else fixed | {"what": what}


def _title(what: str, given: Given) -> str:
    if what != "supply" or given.look is None:
        return words().gettext(TITLES[what])
    return words().gettext("Receive %(supply)s", supply=given.look.supply.name)


def _order(given: Given) -> str:
    """Say how much of an order is still to come."""
    if given.order is None:
        return ""
    if not given.order.open_packs:
        day = words().day(given.order.placed_at)
        return words().gettext("Nothing of the order of %(day)s is still to come.", day=day)
    return words().ngettext(
        "For the order of %(day)s: %(num)d pack of %(packs)s is still to come.",
        "For the order of %(day)s: %(num)d packs of %(packs)s are still to come.",
        given.order.open_packs,
        day=words().day(given.order.placed_at),
        packs=given.order.packs,
    )


def _kept(what: str, given: Given) -> tuple[Kept, ...]:
    """Return how it is kept, for each supply that may be chosen."""
    journal = desk().journal
    others = {one for whats in whats_on_hand(journal).values() for one in whats}
    if given.look is not None:
        supply = given.look.supply
        return (kept(words(), supply.what, supply, others),)
    if what != "powder":
        return (kept(words(), what, None, others),)
    said = journal.states("supply", [Subject(powder(one)) for one in POWDERS])
    return tuple(kept(words(), one, said.get(Subject(powder(one))), others) for one in POWDERS)


def _care(what: str, given: Given) -> Iterator[Care]:
    """Give what to take care of with it, for each supply that may be chosen."""
    studios = desk().journal.listed("studio")
    studio = studios[0] if len(studios) == 1 else None
    many = what == "powder" and given.look is None
    alike: dict[tuple[str, ...], list[str]] = defaultdict(list)
    for one in POWDERS if many else (given.look.supply.what if given.look else what,):
        card = safety_card_of(words(), (one,), studio)
        if card is not None:
            alike[card.lines].append(one)
    for lines, whats in alike.items():
        names = ", ".join(say.choice(words(), "supply", one) for one in whats)
        title = words().gettext("Take care with %(supplies)s", supplies=names)
        yield Care(
            title=title if many else "",
            beside=f"what={' '.join(whats)}" if many else "",
            lines=lines,
        )
    if what == "alum":
        yield from (_care_salt(one) for one in SALTS if of_salts((one,)))


def _care_salt(salt: str) -> Care:
    codes = of_salts((salt,))
    lines = tuple(cautions.sentence(words(), cautions.TEXTS[code]) for code in codes)
    return Care(title=say.choice(words(), "salt", salt), beside=f"salt={salt}", lines=lines)


@pages.post(f"/shelf/receive/{WHATS}/read")
@needs("lot.received")
def read(what: str) -> Response:
    """Say what all packs hold together while they are typed."""
    given = _given(what)
    if what == "supply" and given.look is None:
        abort(404)
    form = _form(what, given)
    return jsonify({"figure": total_text(words(), form)})
