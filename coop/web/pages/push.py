"""What a device hands in: the one address it pushes to. Answers in JSON, errors in RFC 9457."""

from flask import Blueprint, abort, jsonify, request
from werkzeug.wrappers import Response

from coop import __version__
from coop.actions.push_drafts import push_drafts
from coop.ledger.schema import Refused, Slip
from coop.store import devices
from coop.store.backups import two_places, vector
from coop.store.waiting import SqlShelf
from coop.sync.admit import offset_ms
from coop.sync.limits import PUSH_BYTES_MAX
from coop.sync.message import Reach, answer_to, read_push
from coop.web import words as say
from coop.web.devices import keep_known, needed_device, refuse_other_sites
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
    keep_known(row)
    try:
        said = read_push(request.get_data())
    except Slip as slip:
        return problem(UNFIT, slip.refused)
    with writing() as unit:
        pushed = push_drafts(unit.journal, SqlShelf(unit.connection), row.id, said, now=now())
        offset = offset_ms(said.now, now())
        devices.heard(
            unit.connection,
            row.id,
            said,
            unsent=pushed.unsent,
            offset_ms=offset,
            now=now(),
        )
        reach = Reach(here=vector(unit.connection), two_places=two_places(unit.connection))
    told = answer_to(said, pushed, reach, say=_say, release=__version__, now=now())
    return jsonify(told)


def _say(refused: Refused) -> str:
    return say.refusal(words(), refused)
