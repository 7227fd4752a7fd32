"""
What is asked for and answered in JSON, as an OpenAPI 3.1 document kept by hand.

The limits in it are the code's own. `LIVE` are questions of our own pages while somebody types
into them: what a form's fields come to so far, under names that the page knows.
"""

from typing import Any

from coop import __version__
from coop.sync.limits import (
    ASKED_MAX,
    DRAFTS_MAX,
    KEPT_MAX,
    NODES_MAX,
    RELEASE_LENGTH_MAX,
    UNSENT_MAX,
    WHOLE_MAX,
)
from coop.sync.message import OUTCOMES, PUSH_VERSION

Record = dict[str, Any]

UUID = r"^[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$"
MOMENT = (
    r"^(19[7-9][0-9]|[2-9][0-9]{3})-[0-9]{2}-[0-9]{2}T([01][0-9]|2[0-3]):[0-5][0-9]"
    r"(:[0-5][0-9](\.[0-9]{1,6})?)?(Z|[+-]([01][0-9]|2[0-3]):[0-5][0-9])$"
)
NEWS_AFTER = "^(0|[1-9][0-9]{0,8})$"

LIVE: tuple[tuple[str, str, str], ...] = (
    ("get", "/baths/{bath}/mend/ahead", "What a bath comes to when this is put in"),
    ("get", "/baths/{bath}/pour/ahead", "What both parts come to"),
    ("get", "/baths/{bath}/sheets/chalk", "What chalk in these sheets takes"),
    ("get", "/baths/{bath}/together/ahead", "What baths come to poured together"),
    ("get", "/house/recipes/read", "How a dose is understood"),
    ("get", "/liquids/{bath}/mend/ahead", "What a liquid comes to when it is thinned"),
    ("get", "/liquids/{bath}/mend/blended", "What a liquid comes to when blended"),
    ("get", "/liquids/{bath}/mend/ways", "Which ways there are from here"),
    ("get", "/lots/{lot}/count/ahead", "How a count compares with what is written"),
    ("get", "/make/reckoned", "What is planned of a size so far"),
    ("get", "/make/thickness", "How thick a size is of what was put in"),
    ("get", "/mix/{vessel}/reckoned", "What is planned of a bath so far"),
    ("get", "/mix/{vessel}/strength", "How strong a bath is of what was put in"),
    ("get", "/recipes/{recipe}/what-if", "What a recipe comes to with another volume"),
    ("post", "/baths/{bath}/card/read", "How the rows of a card are understood"),
    ("post", "/house/limits/lines", "What the limits of the house come to"),
    ("post", "/house/papers/weight", "What a weight of paper comes to"),
    ("post", "/house/tubs/floor", "What the floor of a tub comes to"),
    ("post", "/shelf/receive/{what}/read", "What a delivery comes to"),
)


def document() -> Record:
    """Return the document."""
    return {
        "openapi": "3.1.0",
        "info": {"title": "coop", "version": __version__},
        "paths": {
            "/device/push": {"post": _push()},
            "/news": {"get": _news()},
            **{path: {method: _live(method, path, told)} for method, path, told in LIVE},
        },
        "components": {
            "securitySchemes": {
                "device": {"type": "apiKey", "in": "cookie", "name": "coop-device"},
                "session": {"type": "apiKey", "in": "cookie", "name": "coop-session"},
            }
        },
    }


# --- the push of a phone ----------------------------------------------------------------


def _push() -> Record:
    return {
        "summary": "Hand in what a phone kept, and hear what became of it",
        "security": [{"device": []}],
        "parameters": [
            {
                "name": "Sec-Fetch-Site",
                "in": "header",
                "required": True,
                "schema": {"enum": ["same-origin"]},
            }
        ],
        "requestBody": {
            "required": True,
            "content": {"application/json": {"schema": push_asked()}},
        },
        "responses": {
            "200": _json("What became of each", push_answered()),
            **_problems(400, 401, 403, 413, 415, 421, 422, 503, 507),
        },
    }


def push_asked() -> Record:
    """Return what a push is; other members are left aside, as newer pages may send them."""
    return _record(
        {
            "v": {"const": PUSH_VERSION},
            "now": {"type": "string", "pattern": MOMENT},
            "last_seq": _whole(),
            "heard": _vector(NODES_MAX),
            "kept_count": _whole(),
            "release": {
                "type": "string",
                "maxLength": RELEASE_LENGTH_MAX,
                "pattern": "^[ -~]*$",
            },
            "unsent": _many(_whole(), UNSENT_MAX),
            "kept": _many(
                _pair(_id(), {"type": "string", "pattern": "^[0-9a-f]{64}$"}), KEPT_MAX
            ),
            "asked": _many(_id(), ASKED_MAX),
            "offline": {"type": "boolean"},
            "stored": {"type": "boolean"},
            "drafts": _many({"type": "string"}, DRAFTS_MAX),
            "given_up": _many({"type": "string"}, DRAFTS_MAX),
        },
        needed=("v", "now", "last_seq", "heard", "kept_count"),
    )


def push_answered() -> Record:
    """Return what a push is answered with."""
    return _record(
        {
            "v": {"const": PUSH_VERSION},
            "now": {"type": "string", "pattern": MOMENT},
            "release": {"type": "string"},
            "answers": _many(_outcome(), DRAFTS_MAX),
            "settled": _many(_outcome(), DRAFTS_MAX + ASKED_MAX),
            "lacks": _many(_id(), ASKED_MAX + KEPT_MAX),
            "vector": _vector(),
            "two_places": _vector(),
            "behind": {"type": "boolean"},
        },
        closed=True,
    )


def _outcome() -> Record:
    return _record(
        {
            "id": {"anyOf": [_id(), {"const": ""}]},
            "outcome": {"enum": list(OUTCOMES)},
            "digest": {"type": "string", "pattern": "^[0-9a-f]{64}$"},
            "seal": _pair(_id(), _whole()),
            "code": {"type": "string"},
            "field": {"type": "string"},
            "text": {"type": "string"},
        },
        needed=("id", "outcome"),
        closed=True,
    )


# --- what pages ask ---------------------------------------------------------------------


def _news() -> Record:
    return {
        "summary": "What others wrote since",
        "security": [{"session": []}],
        "parameters": [
            {
                "name": "after",
                "in": "query",
                "required": True,
                "schema": {"type": "string", "pattern": NEWS_AFTER},
            }
        ],
        "responses": {
            "200": _json("The newest number, and a line for each", news_answered()),
            "302": {"description": "Nobody is signed in"},
            **_problems(400, 421, 422, 503),
        },
    }


def news_answered() -> Record:
    """Return what a question after news is answered with."""
    return _record(
        {
            "head": _whole(),
            "lines": {"type": "array", "items": {"type": "string"}},
            "more": _whole(),
        },
        closed=True,
    )


def _live(method: str, path: str, told: str) -> Record:
    named = [part[1:-1] for part in path.split("/") if part.startswith("{")]
    says: Record = {
        "summary": told,
        "security": [{"session": []}],
        "parameters": [
            {"name": one, "in": "path", "required": True, "schema": {"type": "string"}}
            for one in named
        ],
        "responses": {
            "200": _json("What it comes to so far", live_answered()),
            "302": {"description": "Nobody is signed in"},
            **_problems(400, 403, 404, 421, 503),
        },
    }
    fields = {"type": "object", "additionalProperties": {"type": "string"}}
    if method == "post":
        form = "application/x-www-form-urlencoded"
        says["requestBody"] = {"content": {form: {"schema": fields}}}
    else:
        says["parameters"].append({"name": "fields", "in": "query", "schema": fields})
    return says


def live_answered() -> Record:
    """Return what our pages are answered while somebody types: texts, lists, yes and no."""
    return {"type": "object"}


# --- parts ------------------------------------------------------------------------------


def _json(told: str, schema: Record) -> Record:
    return {"description": told, "content": {"application/json": {"schema": schema}}}


def _problems(*statuses: int) -> Record:
    content = {"application/problem+json": {"schema": problem()}}
    return {
        str(one): {"description": "A problem (RFC 9457)", "content": content}
        for one in statuses
    }


def problem() -> Record:
    """Return what a problem is told as."""
    text = {"type": "string"}
    return _record(
        {
            "type": text,
            "title": text,
            "detail": text,
            "status": {"type": "integer"},
            "code": text,
            "field": text,
        },
        needed=("type", "title", "detail", "status"),
        closed=True,
    )


def _record(
    fields: Record, *, needed: tuple[str, ...] | None = None, closed: bool = False
) -> Record:
    return {
        "type": "object",
        "properties": fields,
        "required": list(fields if needed is None else needed),
        "additionalProperties": not closed,
    }


def _many(one: Record, most: int) -> Record:
    return {"type": "array", "items": one, "maxItems": most}


def _pair(first: Record, second: Record) -> Record:
    return {
        "type": "array",
        "prefixItems": [first, second],
        "items": False,
        "minItems": 2,
        "maxItems": 2,
    }


def _vector(most: int | None = None) -> Record:
    limit = {} if most is None else {"maxProperties": most}
    return {
        "type": "object",
        "propertyNames": _id(),
        "additionalProperties": _whole(),
        **limit,
    }


def _whole() -> Record:
    return {"type": "integer", "minimum": 0, "maximum": WHOLE_MAX}


def _id() -> Record:
    return {"type": "string", "pattern": UUID}
