"""A studio's log of wastes: a month to read, to print and as a table for a spreadsheet."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Final

from flask import Blueprint, abort, request, url_for
from werkzeug.wrappers import Response

from coop.actions.correct_entry import may_mend
from coop.actions.late_waste import standing_of, what_changed
from coop.actions.see_waste_log import (
    LogLine,
    WasteLog,
    month_after,
    month_before,
    month_said,
    see_log,
)
from coop.actions.sites import Site, see_site
from coop.ledger.states import StudioState
from coop.rules.packs import words as codes
from coop.rules.packs.evaluation import permission_for
from coop.rules.packs.facts import Facts, Permission
from coop.web import amounts
from coop.web import page as common
from coop.web import words as say
from coop.web.csv_out import Cell, csv_answer
from coop.web.drain_words import CLOSING
from coop.web.late_said import ChangedSaid, changed_said, standing_said, sum_said
from coop.web.mendable import ASKED
from coop.web.page import desk, face, faces, known, needs, now, show, today, who, words, zone
from coop.web.records import RecordsSaid, records_said
from coop.web.wasted import LineSaid, PhSaid, line_said

pages = Blueprint("waste_log", __name__)

HEADING: Final = (
    "date", "time", "studio", "what was done", "waste", "litres", "grams", "sheets", "went to",
    "from", "by", "pH before treatment", "pH before: read with", "pH before: check",
    "pH as it went", "pH as it went: read with", "pH as it went: check", "base", "base grams",
    "steps", "answer", "rule", "edition", "permission", "reference", "came in late on", "note",
)  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class LogPage:
    """
    A month.

    Attributes:
        head: What stands on top of each printed page: studio, address, month, printed by.
        sources: Rules and permissions that lines hang on, each once, as footnotes.
        correct: The lines that this member may put right here; those of a bath, a jar or a
            jug stand in its history.
        totals: What went down each outlet of each waste, and what was taken away or spilled.
        hazardous: Sums, category and duties, where a pack in force asks.
        later: Where the month after is; empty for none.
    """

    studio: str
    studio_id: str
    month: str
    head: str
    lines: tuple[LineSaid, ...]
    sources: tuple[str, ...]
    correct: frozenset[str]
    totals: tuple[tuple[str, str], ...]
    hazardous: tuple[str, ...]
    changed: tuple[ChangedSaid, ...]
    records: RecordsSaid
    earlier: str
    later: str
    csv_url: str
    closing: str


@pages.get("/waste/<studio>/log")
@needs("read")
def month(studio: str) -> Response:
    site, log = _log(studio)
    faces().gather(one.said.by for one in log.lines)
    this, lines = f"{log.month:%Y-%m}", tuple(_lines(site, log))
    metric = amounts.metric(words())
    after = month_after(log.month)
    page = LogPage(
        studio=site.studio.name,
        studio_id=str(site.studio.id),
        month=this,
        head=_head(site.studio, this),
        lines=lines,
        sources=tuple(dict.fromkeys(each for one in lines for each in one.sources)),
        correct=frozenset(_mendable(log))
        - {one.id for one in lines if one.of_url or one.went_url},
        totals=tuple(_totals(log)),
        hazardous=standing_said(metric, standing_of(desk().journal, site, log), log.totals),
        changed=tuple(
            changed_said(metric, one) for one in what_changed(desk().journal, site, log)
        ),
        records=records_said(),
        earlier=_url(studio, month_before(log.month)),
        later=_url(studio, after) if after <= today() else "",
        csv_url=url_for("waste_log.month_csv", studio=studio, month=this),
        closing=words().gettext(CLOSING),
    )
    return show("waste_log.html", page=page, nav="waste")


def _log(studio: str) -> tuple[Site, WasteLog]:
    state: StudioState = known("studio", studio)
    month = month_said(request.args.get("month", ""), today())
    if month is None:
        abort(404)
    here = now().astimezone(zone())
    demo = common.site().settings.demo
    site = see_site(desk().journal, state, now=here, demo=demo)
    return site, see_log(desk().journal, site, month)


def _url(studio: str, month: date) -> str:
    return url_for("waste_log.month", studio=studio, month=f"{month:%Y-%m}")


def _head(studio: StudioState, month: str) -> str:
    printed = words().gettext(
        "printed by %(name)s, %(moment)s",
        name=face(who().member).name,
        moment=words().moment(now()),
    )
    log = words().gettext("log of wastes, %(month)s", month=month)
    return " · ".join(filter(None, (studio.name, studio.premises, log, printed)))


def _lines(site: Site, log: WasteLog) -> Iterator[LineSaid]:
    notes = desk().journal.attachments({one.said.note for one in log.lines if one.said.note})
    for one in log.lines:
        yield line_said(one, site.studio.name, _permission(site, one), notes)


def _mendable(log: WasteLog) -> Iterator[str]:
    for one in log.lines:
        for entry in log.touched.get(one.said.id, ()):
            asked = str(entry.entry.id) == one.said.id and entry.entry.kind in ASKED
            if asked and may_mend(who(), entry, now=now()):
                yield str(one.said.id)


def _permission(site: Site, line: LogLine) -> Permission | None:
    """Return what the authority had said by then of what went down a drain."""
    said = line.said
    if said.kind != "disposal.done" or said.outlet not in codes.ASKED_OUTLETS:
        return None
    asked = Facts(
        waste=said.waste,
        outlet=said.outlet,
        area=site.area,
        permissions=site.permissions,
    )
    return permission_for(asked, line.on)


def _totals(log: WasteLog) -> Iterator[tuple[str, str]]:
    metric = amounts.metric(words())
    for one in log.totals.poured:
        outlet = say.choice(words(), "gone_to", one.outlet)
        waste = say.choice(words(), "waste", one.waste)
        yield f"{outlet}, {waste}", sum_said(metric, one.sum)
    if log.collected_ml:
        yield words().gettext("collected in jars"), amounts.volume(metric, log.collected_ml)
    if log.collected_g:
        yield words().gettext("collected, weighed"), amounts.weight(metric, log.collected_g)
    if log.spilled_ml:
        yield words().gettext("spilled"), amounts.volume(metric, log.spilled_ml)


@pages.get("/waste/<studio>/log.csv")
@needs("read")
def month_csv(studio: str) -> Response:
    """Give the month's lines; litres and grams by the accounts, days in ISO 8601."""
    site, log = _log(studio)
    faces().gather(one.said.by for one in log.lines)
    rows = [_row(one) for one in _lines(site, log)]
    return csv_answer(f"wastes-{log.month:%Y-%m}", HEADING, rows)


def _row(one: LineSaid) -> tuple[Cell, ...]:
    return (
        one.day,
        one.time,
        one.studio,
        one.what,
        one.waste,
        one.litres,
        one.grams,
        one.sheets,
        one.went,
        one.of,
        one.by,
        *_ph(one.before),
        *_ph(one.after),
        one.base,
        one.base_g,
        one.steps,
        one.answer.heading,
        one.answer.rule,
        one.answer.edition,
        one.permission,
        one.reference,
        one.late_on,
        one.note,
    )


def _ph(one: PhSaid) -> tuple[Cell, ...]:
    return one.figure, one.device, one.check
