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
    read_stock,
    take_in,
    text_of,
)
from coop.ledger import kinds
from coop.ledger.schema import Refused, Slip
from coop.web import words as say
from coop.web.csv_out import csv_answer
from coop.web.forms import PageForm
from coop.web.i18n import N_
from coop.web.page import desk, needs, now, show, who, words, writing
from coop.web.security import FORM_BYTES_MAX, body_limit

UNFIT = 422
FILE = "file"
FAULTS_SHOWN = 50

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
        "amount": N_("What one pack holds; of an open one what is left in it."),
        "unit": N_("One of the units below."),
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
    """A fault as the page shows it."""

    line: int
    column: str
    cell: str
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PreviewRow:
    """A line as the page shows it before it is written."""

    line: int
    cells: tuple[str, ...]
    already: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Preview:
    """A file as it reads; `faults_more` are not shown."""

    columns: tuple[str, ...]
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
    columns = tuple(
        column for column in COLUMNS if any(one.cells.get(column) for one in stock.lines)
    )
    rows = tuple(
        PreviewRow(
            line=one.line,
            cells=tuple(one.cells.get(column, "") for column in columns),
            already=one.already,
        )
        for one in stock.lines
    )
    return Preview(
        columns=columns,
        rows=() if stock.faults else rows,
        faults=tuple(_fault(one) for one in stock.faults[:FAULTS_SHOWN]),
        faults_more=max(0, len(stock.faults) - FAULTS_SHOWN),
        new_count=stock.new_count,
    )


def _fault(one: Fault) -> FaultRow:
    unknown = one.refused.code == "unknown-field"
    text = (
        words().gettext("There are more cells than the heading has columns.")
        if unknown
        else say.refusal(words(), one.refused)
    )
    return FaultRow(line=one.line, column=one.column, cell=one.cell, text=text)


def _wrong(refused: Refused) -> str:
    return words().gettext(
        FILE_FAULTS[refused.code], column=refused.field, **dict(refused.limits)
    )
