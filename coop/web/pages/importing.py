"""Take in an opening stock from a table: shown first, then all of it or nothing."""

from collections.abc import Mapping
from contextlib import closing
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from flask import Blueprint, flash, redirect, request, url_for
from werkzeug.wrappers import Response
from wtforms import HiddenField

from coop.actions.import_stock import (
    BYTES_MAX,
    COLUMNS,
    LINES_MAX,
    NEEDED,
    UNITS_TAKEN,
    Fault,
    NotTaken,
    Stock,
    StockLine,
    read_stock,
    take_in,
    text_of,
)
from coop.actions.write import Draft
from coop.ledger import kinds
from coop.ledger.entries import read_content
from coop.ledger.kinds import LotReceived
from coop.ledger.schema import Refused, Slip
from coop.ledger.table import KINDS
from coop.units.quantity import Quantity
from coop.web import words as say
from coop.web.csv_out import csv_answer
from coop.web.doses import quantity_text
from coop.web.forms import PageForm
from coop.web.i18n import N_
from coop.web.page import desk, needs, now, show, who, words, writing
from coop.web.security import FORM_BYTES_MAX, body_limit
from coop.web.stock import amount_text

UNFIT = 422
FILE = "file"
FAULTS_SHOWN = 50
OFFERED_SHOWN = 24

pages = Blueprint("importing", __name__)

ABOUT: Final[Mapping[str, str]] = MappingProxyType(
    {
        "studio": N_("The studio's name, as the ledger has it."),
        "what": N_("One of the words below."),
        "of": N_(
            "Which salt, which paper, which carrageenan; of any other supply its name, "
            "described here before."
        ),
        "name": N_("What stands on the tub or parcel."),
        "packs": N_("How many packs or reams; empty for one."),
        "amount": N_("What one pack holds."),
        "unit": N_("One of the units below."),
        "left": N_(
            "What is left of all packs, in the same unit; empty where nothing is gone. Less "
            "than all of it comes in as one pack of so much; of paper, full sheets only."
        ),
        "supplier": N_("Who sold it."),
        "received": N_("The day it came, as 2025-09-12; empty for the day the ledger began."),
        "best before": N_("The day on the pack, as 2027-06-30."),
        "opened": N_("The day the first pack was opened."),
        "tare g": N_("What the empty tub weighs, in grams."),
    }
)
"""What belongs into each column."""

FILE_FAULTS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "empty": N_("There is no line in it. Choose a file with a heading and a line a lot."),
        "not-text": N_("It is no text in UTF-8. Save it from the spreadsheet as CSV UTF-8."),
        "too-long": N_("It is over %(longest)s bytes. Take it in in parts."),
        "too-many": N_("It has over %(high)s lines. Take it in in parts."),
        "not-a-list": N_("A quotation mark in it is never closed. Save it as CSV once more."),
        "missing": N_("It has no column “%(column)s”. The heading is the first line."),
        "unknown-field": N_("Nobody knows its column “%(column)s”. Leave it out."),
        "key-twice": N_("It has the column “%(column)s” twice."),
    }
)
"""What is wrong with a file as a whole."""


class ImportForm(PageForm):
    """Carries the form's token, and the text of the file that was shown."""

    text = HiddenField()


@dataclass(frozen=True, slots=True, kw_only=True)
class FaultRow:
    """A fault as the page shows it; `offered` says which words would be right."""

    line: int
    column: str
    cell: str
    text: str
    offered: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PreviewRow:
    """A lot as a line was understood, before it is written."""

    line: int
    name: str
    told: tuple[str, ...]
    already: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Preview:
    """A file as it reads; `faults_more` are not shown."""

    rows: tuple[PreviewRow, ...]
    faults: tuple[FaultRow, ...]
    faults_more: int
    new_count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ImportPage:
    form: ImportForm
    about: tuple[tuple[str, str, bool], ...]
    whats: tuple[tuple[str, str], ...]
    salts: tuple[tuple[str, str], ...]
    units: tuple[str, ...]
    lines_max: int
    wrong: str
    preview: Preview | None


@pages.get("/shelf/import")
@needs("lot.received")
def ask() -> Response:
    return _show(ImportForm())


@pages.get("/shelf/import/template.csv")
@needs("lot.received")
def template() -> Response:
    """Give an empty table with its heading."""
    return csv_answer("opening-stock", tuple(COLUMNS), ())


@pages.post("/shelf/import")
@body_limit(3 * BYTES_MAX + FORM_BYTES_MAX)
@needs("lot.received")
def take() -> Response:
    """Show what a file says, or take in what was shown."""
    form = ImportForm()
    if not form.validate_on_submit():
        return _show(form, wrong=words().gettext("This page was open too long. Send it again."))
    try:
        shown = str(form.text.data or "")
        return _taken(form, shown) if shown else _previewed(form, text_of(_given()))
    except Slip as slip:
        form.text.data = ""
        return _show(form, wrong=_wrong(slip.refused))


def _given() -> bytes:
    given = request.files.get(FILE)
    if given is None:
        return b""
    with closing(given):
        data: bytes = given.read()
        return data


def _previewed(form: ImportForm, text: str) -> Response:
    stock = read_stock(desk().journal, who(), text, now=now())
    form.text.data = "" if stock.faults else text
    return _show(form, stock=stock)


def _taken(form: ImportForm, text: str) -> Response:
    try:
        with writing() as unit:
            count = take_in(unit.journal, who(), text_of(text.encode()), now=now())
    except NotTaken as left:
        form.text.data = ""
        return _show(form, stock=Stock(lines=(), faults=(left.fault,)))
    if count:
        said = words().ngettext("%(num)d lot received.", "%(num)d lots received.", count)
    else:
        said = words().gettext("Every lot of this file was here already.")
    flash(said, "written")
    return redirect(url_for("shelf.shelf"), 303)


def _show(form: ImportForm, *, wrong: str = "", stock: Stock | None = None) -> Response:
    preview = None if stock is None else _preview(stock)
    bad = bool(wrong or (preview and preview.faults))
    page = ImportPage(
        form=form,
        about=tuple(
            (column, words().gettext(text), column in NEEDED) for column, text in ABOUT.items()
        ),
        whats=tuple((code, say.choice(words(), "supply", code)) for code in kinds.SUPPLIES),
        salts=tuple(say.choices(words(), "salt")),
        units=UNITS_TAKEN,
        lines_max=LINES_MAX,
        wrong=wrong,
        preview=preview,
    )
    return show("importing.html", page=page, nav="shelf", status=UNFIT if bad else 200)


def _preview(stock: Stock) -> Preview:
    names = {
        one.id: one.name
        for sort in ("studio", "paper", "supplier", "supply")
        for one in desk().journal.listed(sort)
    }
    return Preview(
        rows=() if stock.faults else tuple(_row(one, names) for one in stock.lines),
        faults=tuple(_fault(one) for one in stock.faults[:FAULTS_SHOWN]),
        faults_more=max(0, len(stock.faults) - FAULTS_SHOWN),
        new_count=stock.new_count,
    )


def _row(line: StockLine, names: Mapping[str, str]) -> PreviewRow:
    """Say a line as it was understood: what, how much, where, from whom, which days."""
    lot, *opened = line.drafts
    said = read_content(KINDS[lot.kind], lot.body, "")
    assert isinstance(said, LotReceived)
    told = (
        _of(said, names),
        _amount(said),
        names.get(said.studio, ""),
        names.get(said.sold_by or "", said.supplier),
        _came(lot),
        *(words().gettext("opened %(day)s", day=_day(one)) for one in opened),
        _label(said),
    )
    return PreviewRow(
        line=line.line, name=said.name, told=tuple(filter(None, told)), already=line.already
    )


def _of(said: LotReceived, names: Mapping[str, str]) -> str:
    """Say what a lot is of: the salt, the paper, the supply or the powder with its type."""
    if said.salt:
        return say.choice(words(), "salt", said.salt)
    if said.paper or said.supply:
        return names.get(said.paper or f"supply:{said.supply}", "")
    what = say.choice(words(), "supply", said.what)
    if not said.carrageenan:
        return what
    return f"{what}, {say.choice(words(), 'carrageenan', said.carrageenan)}"


def _amount(said: LotReceived) -> str:
    """Say what all packs hold: '2 of 2.5 kg: 5 kg in all.'; of one pack what it holds."""
    each = _packs_of(said, 1)
    if said.pack_count == 1:
        return each
    return words().gettext(
        "%(packs)s of %(each)s: %(total)s in all",
        packs=said.pack_count,
        each=each,
        total=_packs_of(said, said.pack_count),
    )


def _packs_of(said: LotReceived, packs: int) -> str:
    held = said.weight or said.volume
    if held is not None:
        return quantity_text(words(), Quantity("", held.n * packs, held.unit))
    if said.sheet_count is not None:
        return say.full_sheets(words(), said.sheet_count * packs)
    return amount_text(words(), said.what, "pieces", (said.piece_count or 0) * packs)


def _came(lot: Draft) -> str:
    if lot.typed:
        return words().gettext("came %(day)s", day=_day(lot))
    return words().gettext("there since the ledger began")


def _day(draft: Draft) -> str:
    return words().day(draft.happened_at) if draft.happened_at else ""


def _label(said: LotReceived) -> str:
    """Say what stands on the pack, and what its tub weighs."""
    told = []
    if said.best_before:
        day = words().day(said.best_before)
        told.append(words().gettext("best before %(day)s", day=day))
    if said.tare:
        weight = quantity_text(words(), said.tare)
        told.append(words().gettext("the empty tub weighs %(weight)s", weight=weight))
    return ", ".join(told)


def _fault(one: Fault) -> FaultRow:
    unknown = one.refused.code == "unknown-field"
    text = (
        words().gettext("There are more cells than the heading has columns.")
        if unknown
        else say.refusal(words(), one.refused)
    )
    offered = ", ".join(one.offered[:OFFERED_SHOWN])
    if len(one.offered) > OFFERED_SHOWN:
        offered += " …"
    return FaultRow(
        line=one.line,
        column=one.column,
        cell=one.cell,
        text=text,
        offered=words().gettext("Here that is: %(words)s", words=offered) if offered else "",
    )


def _wrong(refused: Refused) -> str:
    return words().gettext(
        FILE_FAULTS[refused.code], column=refused.field, **dict(refused.limits)
    )
