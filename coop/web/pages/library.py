"""The recipes of the co-operative: the list, one card, two side by side, what if."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby
from typing import Any, Final

from flask import Blueprint, abort, jsonify, request, url_for
from werkzeug.wrappers import Response
from wtforms import SelectField

from coop.actions.recipes import (
    ALUM,
    PAPER,
    Card,
    by_spoon,
    differences,
    fits,
    in_every_salt,
    other_kinds,
    powder_for_cloth_g,
    read_card,
    spoon_of,
    target_for,
)
from coop.actions.see_recipes import (
    Bench,
    RecipeLook,
    bench_of,
    coldest_store_c,
    edition_named,
    listed_recipes,
    look_at_recipes,
    named_studios,
    see_recipe,
)
from coop.actions.spoons import is_odd
from coop.ids import MemberId, Subject
from coop.ledger.kinds import BATHS
from coop.ledger.states import HouseState, LotState, RecipeState, StudioState
from coop.ledger.table import HOUSE
from coop.people.may import may
from coop.units.number import unwire
from coop.units.table import UNITS
from coop.web import amounts
from coop.web import words as say
from coop.web.doses import UNIT_NAMES
from coop.web.fields import MeasuredField, NumberField, UnitField
from coop.web.forms import PageForm, options
from coop.web.i18n import N_
from coop.web.page import desk, face, faces, needs, show, who, words
from coop.web.photographed import photo_url
from coop.web.powder import LIQUID
from coop.web.recipes import (
    CardSaid,
    ContradictionSaid,
    EditionSaid,
    KindSaid,
    SaltRow,
    card_said,
    cloth_said,
    contradiction_said,
    difference_text,
    edition_address,
    editions_said,
    kinds_said,
    notes_said,
    odd_spoon_text,
    printed_text,
    salt_rows,
    settled_text,
    spoon_said,
)
from coop.web.salt import SPOONS, WEIGHTS

SHOWN_MAX: Final = 60
"""So many recipes stand on one page of the list."""
PAGE_MAX: Final = 1_000
TEN: Final = 10
CLOTH_MAX_G: Final = 100_000

pages = Blueprint("library", __name__)


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """
    A recipe in the list.

    `picked` says that the card says two things, empty where it says one; `editions` is empty
    where there is only one.
    """

    said: CardSaid
    picked: str
    editions: str
    url: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Recipes of one kind of bath for one thing: 'alum for paper'."""

    title: str
    rows: tuple[Row, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """A way through the list: its text, its address, and whether one is there."""

    text: str
    url: str
    here: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class LibraryPage:
    """The list; `before` and `after` are the addresses of the pages beside this one."""

    groups: tuple[Group, ...]
    kinds: tuple[Way, ...]
    count: int
    before: str
    after: str
    may_publish: bool


@pages.get("/recipes")
@needs("read")
def library() -> Response:
    """Show every recipe, by what is made and what it is for."""
    every = listed_recipes(desk().journal)
    what = request.args.get("what", "")
    wanted = tuple(one for one in every if what not in BATHS or one.what == what)
    at = min(max(0, request.args.get("page", 1, type=int) - 1), PAGE_MAX)
    shown = wanted[at * SHOWN_MAX : (at + 1) * SHOWN_MAX]
    page = LibraryPage(
        groups=tuple(_groups(look_at_recipes(desk().journal, shown))),
        kinds=tuple(_kinds(every, what)),
        count=len(wanted),
        before=_page_url(what, at) if at else "",
        after=_page_url(what, at + 2) if wanted[(at + 1) * SHOWN_MAX :] else "",
        may_publish=may(who().roles, "recipe.published"),
    )
    return show("recipes.html", page=page, nav="house")


def _page_url(what: str, number: int) -> str:
    return url_for("library.library", what=what or None, page=number if number > 1 else None)


def _kinds(every: tuple[RecipeState, ...], what: str) -> Iterator[Way]:
    """Give a way to each kind of bath there is a recipe of, where there are several."""
    there = tuple(code for code in BATHS if any(one.what == code for one in every))
    if len(there) < 2:
        return
    yield Way(
        text=words().gettext("all"), url=url_for("library.library"), here=what not in there
    )
    for code in there:
        text = say.choice(words(), "bath", code)
        yield Way(text=text, url=url_for("library.library", what=code), here=code == what)


def _groups(looks: tuple[RecipeLook, ...]) -> Iterator[Group]:
    house: HouseState | None = desk().journal.state("house", HOUSE)
    studios = named_studios(desk().journal)
    for _, found in groupby(looks, key=_same_use):
        there = tuple(found)
        rows = tuple(_row(look, house, studios) for look in there)
        yield Group(title=_title(there[0], rows[0].said), rows=rows)


def _title(look: RecipeLook, said: CardSaid) -> str:
    """Name a group: what it is for is said of alum, and of what is not for paper."""
    kind = f"{said.kind[:1].upper()}{said.kind[1:]}"
    if look.card.recipe.what != ALUM and not fits(look.card.recipe, PAPER):
        return kind
    return words().gettext("%(kind)s, %(made_for)s", kind=kind, made_for=said.made_for)


def _same_use(look: RecipeLook) -> tuple[str, str]:
    return look.card.recipe.what, look.card.recipe.made_for


def _row(look: RecipeLook, house: HouseState | None, studios: tuple[StudioState, ...]) -> Row:
    count = len(look.editions)
    return Row(
        said=card_said(words(), look.card, house, studios, coldest_store_c(studios)),
        picked=words().gettext("The card says two things; this one holds.")
        if look.card.contradicts
        else "",
        editions=words().ngettext("%(num)d edition", "%(num)d editions", count)
        if count > 1
        else "",
        url=url_for("library.recipe", recipe=look.card.recipe.id),
    )


# ---- one card


class WhatIfForm(PageForm):
    """Another powder, or so much cloth; it writes nothing and stands in the page's address."""

    class Meta:
        csrf = False

    lot = SelectField(N_("Powder from"), validate_choice=False)
    ten = MeasuredField(
        N_("Ten level ones of it weigh"),
        unit="g",
        description=N_("Weigh ten level spoons at once: one alone is too little for a scale."),
    )
    spoon = SelectField(N_("Spoons"), validate_choice=False)
    cloth = NumberField(N_("Dry cloth"))
    cloth_unit = UnitField(N_("Measured in"), units=WEIGHTS, default="g", validate_choice=False)

    def offer(self, bench: Bench, spoon: str) -> None:
        """Fill the lists: lots whose spoon was weighed, units with the card's own first."""
        named = [(str(one.id), _lot_text(one)) for one in bench.weighed]
        self.lot.choices = options([("", words().gettext("Choose …")), *named])
        spoons = tuple(dict.fromkeys((spoon, *SPOONS)))
        self.spoon.choices = options(
            (code, words().gettext(UNIT_NAMES[code][1])) for code in spoons
        )
        if self.spoon.data not in spoons:
            self.spoon.data = spoon
        if self.cloth_unit.data not in WEIGHTS:
            self.cloth_unit.data = "g"

    def ask_again(self, what: str) -> None:
        """Say beside the weight of ten spoons that no such powder weighs so."""
        if not self.ten.data or self.ten.errors:
            return
        spoon, spoon_g = str(self.spoon.data), float(unwire(self.ten.data)) / TEN
        if is_odd(spoon_g, what, spoon):
            self.ten.errors = [odd_spoon_text(words(), spoon_g, what, spoon)]


def _lot_text(lot: LotState) -> str:
    assert lot.spoon is not None, "only lots whose spoon was weighed are offered"
    each = amounts.weight(words(), lot.spoon.g_per_ml * float(UNITS["us_tbsp"].factor), 1)
    return words().gettext(
        "%(lot)s: a level US tablespoon weighs %(grams)s", lot=lot.name, grams=each
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class WhatIf:
    """What the card comes to with another powder, and for so much cloth; empty for nothing."""

    spoon: str = ""
    cloth: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class RecipePage:
    """
    One card, as it is written beside as it is understood.

    Attributes:
        past: In whose place another edition stands; empty for the one in force.
        notes: How bare gallons, cups and spoons were read.
        salts: The card in every salt; `lines` says whether there is a target to show.
        by_cloth, by_spoon: What else may be asked of the card.
    """

    said: CardSaid
    picture: str
    ml_per_l: str
    notes: tuple[str, ...]
    published: str
    past: str
    newest_url: str
    contradiction: ContradictionSaid | None
    salts: tuple[SaltRow, ...]
    lines: bool
    kinds: tuple[KindSaid, ...]
    form: WhatIfForm
    what_if: WhatIf
    by_cloth: bool
    by_spoon: bool
    has_lots: bool
    editions: tuple[EditionSaid, ...]
    url: str
    compare_url: str
    change_url: str


@pages.get("/recipes/<recipe>")
@needs("read")
def recipe(recipe: str) -> Response:
    look = _known(recipe, request.args.get("edition", ""))
    bench = bench_of(desk().journal, look.card.recipe)
    form = _asked(look.card, bench)
    faces(desk().journal).gather(one.by for one in look.editions)
    return show("recipe.html", page=_page(look, bench, form), nav="house")


def _known(recipe: str, edition: str) -> RecipeLook:
    look = see_recipe(desk().journal, Subject(recipe), edition)
    if look is None:
        abort(404)
    return look


def _asked(card: Card, bench: Bench) -> WhatIfForm:
    form = WhatIfForm(request.args)
    form.offer(bench, spoon_of(card, bench.house))
    form.validate()
    form.ask_again(card.recipe.powder or ALUM)
    unit = UNITS[str(form.cloth_unit.data)]
    _keep_in_range(form.cloth, int(CLOTH_MAX_G / unit.factor))
    return form


def _keep_in_range(field: NumberField, high: int) -> None:
    """Say beside a number that it is out of reach."""
    if field.data and not field.errors and not 0 < unwire(field.data) <= high:
        text = words().gettext("More than 0, and at most %(high)s, please.", high=high)
        field.errors = [text]


def _page(look: RecipeLook, bench: Bench, form: WhatIfForm) -> RecipePage:
    card, newest = look.card, look.editions[0].recipe
    shown, target = card.recipe, target_for(card.recipe, bench.house)
    url = url_for("library.recipe", recipe=shown.id)
    return RecipePage(
        said=card_said(words(), card, bench.house, bench.studios, bench.store_c),
        picture=photo_url(shown.card),
        ml_per_l=_ml_per_l(card),
        notes=notes_said(words(), card),
        published=words().gettext(
            "Published on %(moment)s by %(name)s.",
            moment=words().moment(look.shown.at),
            name=_name(look.shown.by),
        ),
        past="" if look.in_force else _past(look),
        newest_url=url,
        contradiction=contradiction_said(
            words(), card, settled_text(words(), look.shown, _name)
        ),
        salts=salt_rows(words(), in_every_salt(card, target, store_c=bench.store_c), bench),
        lines=target is not None and not shown.by_cloth,
        kinds=kinds_said(words(), other_kinds(card)),
        form=form,
        what_if=_what_if(card, bench, form),
        by_cloth=shown.by_cloth,
        by_spoon=not shown.by_cloth and shown.powder != LIQUID,
        has_lots=bool(bench.weighed),
        editions=_editions(look, bench.house),
        url=url if look.in_force else f"{url}?edition={shown.edition}",
        compare_url=url_for("library.compare", one=edition_address(shown, newest)),
        change_url=url_for("recipes.recipe", recipe=shown.id)
        if may(who().roles, "recipe.published") and look.in_force
        else "",
    )


def _name(member: MemberId) -> str:
    return face(member).name


def _ml_per_l(card: Card) -> str:
    liquid = card.recipe.powder == LIQUID
    if card.picked is None or card.picked.ml_per_l is None or words().us or liquid:
        return ""
    figure = words().number(float(card.picked.ml_per_l.middle), 1)
    return words().gettext("%(figure)s mL of powder to the litre", figure=figure)


def _past(look: RecipeLook) -> str:
    """Say until when an older edition was in force."""
    place = look.editions.index(look.shown)
    return words().gettext(
        "An older edition: baths are made by it no more since %(moment)s.",
        moment=words().moment(look.editions[place - 1].at),
    )


def _editions(look: RecipeLook, house: HouseState | None) -> tuple[EditionSaid, ...]:
    if len(look.editions) < 2:
        return ()
    return editions_said(words(), look, _name, lambda state: read_card(state, house))


def _what_if(card: Card, bench: Bench, form: WhatIfForm) -> WhatIf:
    return WhatIf(spoon=_spoon(card, bench, form), cloth=_cloth(card, form))


def _spoon(card: Card, bench: Bench, form: WhatIfForm) -> str:
    """Say what the card comes to with what ten spoons weigh, else with a lot's own spoon."""
    spoon = str(form.spoon.data)
    g_per_ml = None
    if form.ten.data and not form.ten.errors:
        spoon_g = float(unwire(form.ten.data)) / TEN
        g_per_ml = spoon_g / float(UNITS[spoon].factor)
    else:
        lot = next((one for one in bench.weighed if one.id == form.lot.data), None)
        g_per_ml = lot.spoon.g_per_ml if lot is not None and lot.spoon is not None else None
    found = by_spoon(card, g_per_ml=g_per_ml, spoon=spoon) if g_per_ml else None
    if found is None:
        return ""
    target = target_for(card.recipe, bench.house)
    return spoon_said(words(), found, target, card.recipe.salt)


def _cloth(card: Card, form: WhatIfForm) -> str:
    if not form.cloth.data or form.cloth.errors:
        return ""
    unit = UNITS[str(form.cloth_unit.data)]
    cloth_g = float(unwire(form.cloth.data) * unit.factor)
    powder_g = powder_for_cloth_g(card, cloth_g)
    return "" if powder_g is None else cloth_said(words(), powder_g, cloth_g, card.recipe)


@pages.get("/recipes/<recipe>/what-if")
@needs("read")
def what_if(recipe: str) -> Response:
    """Answer while one types."""
    look = _known(recipe, request.args.get("edition", ""))
    bench = bench_of(desk().journal, look.card.recipe)
    form = _asked(look.card, bench)
    found = _what_if(look.card, bench, form)
    faults = [
        words().gettext(str(error))
        for field in (form.ten, form.cloth)
        for error in field.errors
    ]
    return jsonify({"spoon": found.spoon, "cloth": found.cloth, "faults": faults})


# ---- two side by side


class CompareForm(PageForm):
    """Which two cards; it stands in the page's address."""

    class Meta:
        csrf = False

    one = SelectField(N_("The first"), validate_choice=False)
    other = SelectField(N_("The second"), validate_choice=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """What both cards say of one thing, and whether they differ in it."""

    label: str
    first: str
    second: str

    @property
    def differs(self) -> bool:
        return self.first != self.second


@dataclass(frozen=True, slots=True, kw_only=True)
class ComparePage:
    """Two cards; `heads` are their names with their addresses, empty until both are chosen."""

    form: CompareForm
    heads: tuple[tuple[str, str], ...]
    lines: tuple[Line, ...]
    differences: tuple[str, ...]
    saids: tuple[CardSaid, ...]


@pages.get("/recipes/compare")
@needs("read")
def compare() -> Response:
    """Lay two cards, or two editions of one, side by side."""
    form = CompareForm(request.args)
    journal = desk().journal
    looks = tuple(
        edition_named(journal, str(field.data or "")) for field in (form.one, form.other)
    )
    _offer(form, looks)
    first, second = looks
    page = ComparePage(form=form, heads=(), lines=(), differences=(), saids=())
    if first is not None and second is not None:
        page = _side_by_side(form, first, second)
    return show("recipe_compare.html", page=page, nav="house")


def _offer(form: CompareForm, looks: tuple[RecipeLook | None, ...]) -> None:
    """Fill the lists: what is chosen, then every recipe by its edition in force."""
    chosen = [
        (edition_address(look.card.recipe, look.editions[0].recipe), _head(look))
        for look in looks
        if look is not None
    ]
    every = [(str(one.id), _named(one)) for one in listed_recipes(desk().journal)]
    choices = [("", words().gettext("Choose …")), *dict([*chosen, *every]).items()]
    form.one.choices = options(choices)
    form.other.choices = options(choices)


def _named(recipe: RecipeState) -> str:
    return words().gettext(
        "%(name)s: %(dose)s (%(kind)s)",
        name=recipe.name,
        dose=recipe.dose,
        kind=say.choice(words(), "bath", recipe.what),
    )


def _head(look: RecipeLook) -> str:
    """Name a card; an older edition with its day, or what it says of itself."""
    if look.in_force:
        return _named(look.card.recipe)
    return words().gettext(
        "%(card)s, edition of %(day)s", card=_named(look.card.recipe), day=_dated(look)
    )


def _dated(look: RecipeLook) -> str:
    return printed_text(look.card.recipe) or words().day(look.shown.at)


def _side_by_side(form: CompareForm, first: RecipeLook, second: RecipeLook) -> ComparePage:
    house: HouseState | None = desk().journal.state("house", HOUSE)
    studios = named_studios(desk().journal)
    store_c = coldest_store_c(studios)
    saids = tuple(
        card_said(words(), look.card, house, studios, store_c) for look in (first, second)
    )
    one_card = first.card.recipe.id == second.card.recipe.id
    return ComparePage(
        form=form,
        heads=tuple(_named_with_url(look, dated=one_card) for look in (first, second)),
        lines=tuple(line for line in _lines(*saids) if line.first or line.second),
        differences=tuple(
            difference_text(words(), one) for one in differences(first.card, second.card, house)
        ),
        saids=saids,
    )


def _named_with_url(look: RecipeLook, *, dated: bool) -> tuple[str, str]:
    """Name a card at the head of its column; of two editions of one card each with its date."""
    recipe, name = look.card.recipe, look.card.recipe.name
    if dated or not look.in_force:
        name = words().gettext("%(name)s, %(day)s", name=name, day=_dated(look))
    there = url_for("library.recipe", recipe=recipe.id)
    return name, there if look.in_force else f"{there}?edition={recipe.edition}"


def _lines(first: CardSaid, second: CardSaid) -> Iterator[Line]:
    labels: tuple[tuple[str, Any], ...] = (
        (words().gettext("As written"), "dose"),
        (words().gettext("Understood"), "understood"),
        (words().gettext("Comes to"), "strength"),
        (words().gettext("Aluminium"), "aluminium"),
        (words().gettext("Of"), "of"),
        (words().gettext("Meant"), "made_for"),
        (words().gettext("Judged by"), "judged"),
        (words().gettext("Rests"), "rests"),
        (words().gettext("Keeps"), "keeps"),
        (words().gettext("Side"), "side"),
        (words().gettext("Edition"), "printed"),
        (words().gettext("Whose card"), "source"),
    )
    for label, name in labels:
        yield Line(label=label, first=getattr(first, name), second=getattr(second, name))
