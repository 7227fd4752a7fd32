"""What makes the ledger open without a signal: the worker's file, and the app's own card."""

from flask import Blueprint, jsonify
from werkzeug.wrappers import Response

from coop.web.assets import packaged
from coop.web.compression import file_response
from coop.web.page import PUBLIC, needs, shell

PAPER = "#f7f2e5"  # the ground of our pages, --paper in coop.css
SHORT_NAME_MAX = 12  # more does not fit under a picture on a home screen
MANIFEST = "application/manifest+json"
ICONS = (
    ("icon.svg", "any"),
    ("icon-192.png", "192x192"),
    ("icon-512.png", "512x512"),
)

pages = Blueprint("worker", __name__)


@pages.get("/sw.js")
@needs(PUBLIC)
def worker() -> Response:
    """Serve the worker from the top, so that it may answer for every page; never cached."""
    script = packaged()["sw.js"]
    return file_response(script.content, script.packed, script.media_type)


@pages.get("/manifest.webmanifest")
@needs(PUBLIC)
def manifest() -> Response:
    """Say how the ledger stands on a home screen (W3C Web Application Manifest)."""
    around, files = shell(), packaged()
    answer: Response = jsonify(
        id="/",
        start_url="/",
        scope="/",
        name=around.ledger_name,
        short_name=short(around.ledger_name),
        lang=around.lang,
        display="standalone",
        theme_color=PAPER,
        background_color=PAPER,
        icons=[
            {"src": files[name].path, "sizes": sizes, "type": files[name].media_type}
            for name, sizes in ICONS
        ],
    )
    answer.mimetype = MANIFEST
    return answer


def short(name: str) -> str:
    """Return as many whole words of a name as fit under a picture, at least its beginning."""
    kept = ""
    for word in name.split():
        longer = f"{kept} {word}".strip()
        if len(longer) > SHORT_NAME_MAX:
            break
        kept = longer
    return kept or name[:SHORT_NAME_MAX].rstrip()
