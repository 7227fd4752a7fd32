"""What a device hands in: the one address it pushes to. Answers in JSON, errors in RFC 9457."""

from typing import Any

from flask import Blueprint, abort, jsonify, request
from werkzeug.wrappers import Response

from coop import __version__
from coop.actions.push_drafts import Pushed, push_drafts
from coop.ledger.schema import Slip
from coop.store import devices
from coop.store.backups import two_places, vector
from coop.store.waiting import SqlShelf
from coop.sync.admit import offset_ms
from coop.sync.limits import PUSH_BYTES_MAX
from coop.sync.message import PUSH_VERSION, Answered, Push, read_push
from coop.sync.vectors import Vector, covers
from coop.web import words as say
from coop.web.devices import needed_device, refuse_other_sites
from coop.web.errors import problem
from coop.web.page import PUBLIC, needs, now, words, writing
from coop.web.security import body_limit, token_free

JSON = "application/json"
UNFIT = 422

pages = Blueprint("push", __name__)


@pages.post("/device/push")
@body_limit(PUSH_BYTES_MAX)
@token_free
@needs(PUBLIC)
def push() -> Response:
    """Take in what a device kept; guarded by its own cookie and the browser's word."""
    refuse_other_sites()
    if request.mimetype != JSON:
        abort(415)
    row, _ = needed_device()
    try:
        said = read_push(request.get_data())
    except Slip as slip:
        return problem(UNFIT, slip.refused)
    with writing() as unit:
        pushed = push_drafts(unit.journal, SqlShelf(unit.connection), row.id, said, now=now())
        offset = offset_ms(said.now, now())
        devices.heard(unit.connection, row.id, said, offset_ms=offset, now=now())
        have, safe = vector(unit.connection), two_places(unit.connection)
    return jsonify(_answer(said, pushed, have, safe))


def _answer(said: Push, pushed: Pushed, have: Vector, safe: Vector) -> dict[str, Any]:
    return {
        "v": PUSH_VERSION,
        "now": now().isoformat(),
        "release": __version__,
        "answers": [_answered(one) for one in pushed.answers],
        "settled": [_answered(one) for one in pushed.settled],
        "lacks": list(pushed.lacks),
        "vector": have,
        "two_places": safe,
        "behind": not covers(have, said.heard),
    }


def _answered(one: Answered) -> dict[str, Any]:
    told: dict[str, Any] = {"id": one.id, "outcome": one.outcome}
    if one.seal is not None:
        told |= {"digest": one.digest, "seal": list(one.seal)}
    if one.refused is not None:
        told |= {
            "code": one.refused.code,
            "field": one.refused.field,
            "text": say.refusal(words(), one.refused),
        }
    return told
