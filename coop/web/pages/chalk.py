"""What the chalk of sheets may take of a bath, said while they are typed."""

from flask import Blueprint, jsonify, request
from werkzeug.wrappers import Response

from coop.actions.chalk import Sheets, chalk_of
from coop.actions.see_baths import see_bath
from coop.ids import Subject
from coop.ledger.states import LotState, PaperState
from coop.web.page import desk, known_alum, needs, now, words
from coop.web.paper_notes import chalk_text

COUNT_DIGITS_MAX = 4

pages = Blueprint("chalk", __name__)


@pages.get("/baths/<bath>/sheets/chalk")
@needs("sheets.through")
def chalk(bath: str) -> Response:
    """Answer with both limits; nothing while it is half typed or there is no chalk."""
    state = see_bath(desk().journal, known_alum(bath), now=now()).state
    sheets = _typed()
    found = chalk_of(state, sheets) if sheets else None
    lines = [chalk_text(words(), sheets, found)] if sheets and found else []
    return jsonify({"lines": lines})


def _typed() -> Sheets | None:
    said = request.args
    count = said.get("sheet_count", "").strip()
    if not (count.isascii() and count.isdigit() and len(count) <= COUNT_DIGITS_MAX):
        return None
    lot: LotState | None = desk().journal.state("lot", Subject(said.get("lot", "")))
    named = lot.paper if lot else Subject(said.get("paper", ""))
    paper: PaperState | None = desk().journal.state("paper", named)
    return Sheets(
        count=int(count),
        sheet_format=said.get("sheet_format", ""),
        method=said.get("method", ""),
        paper=paper,
        lot=lot,
    )
