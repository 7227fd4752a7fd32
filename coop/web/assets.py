"""Files that never change under one address: style, script, icons, and the marbled strips."""

import mimetypes
import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache, lru_cache
from hashlib import sha256
from importlib.resources import files
from importlib.resources.abc import Traversable
from types import MappingProxyType

from flask import Blueprint, Flask, Response, abort

from coop.web.compression import file_response, packed_file
from coop.web.strip import STRIP_EDITION, strip_svg

HASH_LENGTH = 12
SEED_LENGTH_MAX = 64
STRIPS_KEPT = 256  # of about 15 kB
FOR_EVER = "public, max-age=31536000, immutable"
VENDOR = "vendor/"
COMMENT_LINES = re.compile(rb"^[ \t]*(?://[^\n]*|/\*\*(?:(?!\*/).)*\*/[ \t]*)\n", re.M | re.S)
FALLBACK_TYPE = "application/octet-stream"
TYPES = {
    ".js": "text/javascript",
    ".svg": "image/svg+xml",
    ".webmanifest": "application/manifest+json",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Asset:
    """One file of `static/`, read once."""

    name: str
    digest: str
    content: bytes
    packed: bytes | None
    media_type: str

    @property
    def path(self) -> str:
        """Return its address, which changes when its content does."""
        return f"/static/{self.digest}/{self.name}"


@cache
def packaged() -> Mapping[str, Asset]:
    """Return the files of the package, read once in a process."""
    return MappingProxyType(read_assets(files("coop.web").joinpath("static")))


def read_assets(folder: Traversable) -> dict[str, Asset]:
    """Read every file below a folder; keys are names with forward slashes."""
    found: dict[str, Asset] = {}
    _gather(folder, "", found)
    return found


def _gather(folder: Traversable, prefix: str, found: dict[str, Asset]) -> None:
    for entry in folder.iterdir():
        name = prefix + entry.name
        if entry.is_dir():
            _gather(entry, name + "/", found)
        else:
            content = _for_browsers(name, entry.read_bytes())
            digest = sha256(content).hexdigest()[:HASH_LENGTH]
            found[name] = Asset(
                name=name,
                digest=digest,
                content=content,
                packed=packed_file(content),
                media_type=_media_type(name),
            )


def _for_browsers(name: str, content: bytes) -> bytes:
    """Leave out our scripts' lines of comment: a quarter of what a phone would load."""
    ours = name.endswith(".js") and not name.startswith(VENDOR)
    return COMMENT_LINES.sub(b"", content) if ours else content


def _media_type(name: str) -> str:
    for ending, media_type in TYPES.items():
        if name.endswith(ending):
            return media_type
    return mimetypes.guess_type(name)[0] or FALLBACK_TYPE


def strip_url(seed_id: str, lying: bool = False) -> str:
    """Return the address of a marbled strip; lying is the strip turned for a page heading."""
    return f"/strip/{STRIP_EDITION}{'/lying' if lying else ''}/{seed_id}.svg"


def install_assets(app: Flask) -> None:
    """
    Serve packaged files and strips; give templates `asset(name)` and `strip_url(id)`.

    The app must be made with `static_folder=None`. An unknown name in a template is a KeyError.
    """
    assets = packaged()
    pages = Blueprint("assets", __name__)

    @pages.get("/static/<digest>/<path:name>")
    def asset_file(digest: str, name: str) -> Response:
        asset = assets.get(name)
        if asset is None or asset.digest != digest:
            abort(404)
        return _for_ever(asset.content, asset.packed, asset.media_type)

    @pages.get(f"/strip/{STRIP_EDITION}/<seed_id>.svg")
    def strip(seed_id: str) -> Response:
        return _strip_response(seed_id, lying=False)

    @pages.get(f"/strip/{STRIP_EDITION}/lying/<seed_id>.svg")
    def strip_lying(seed_id: str) -> Response:
        return _strip_response(seed_id, lying=True)

    app.register_blueprint(pages)
    app.jinja_env.globals["asset"] = lambda name: assets[name].path
    app.jinja_env.globals["strip_url"] = strip_url


def _strip_response(seed_id: str, *, lying: bool) -> Response:
    if len(seed_id) > SEED_LENGTH_MAX:
        abort(404)
    return _for_ever(*_drawn(seed_id, lying), TYPES[".svg"])


@lru_cache(STRIPS_KEPT)
def _drawn(seed_id: str, lying: bool) -> tuple[bytes, bytes | None]:
    """Return a strip, plain and packed; drawing one takes longer than a whole page."""
    content = strip_svg(seed_id, lying=lying).encode()
    return content, packed_file(content)


def _for_ever(content: bytes, packed: bytes | None, media_type: str) -> Response:
    response = file_response(content, packed, media_type)
    response.headers["Cache-Control"] = FOR_EVER
    return response
