"""Kept ones: sheets worth making again, with what they came from."""

from dataclasses import dataclass

from flask import Blueprint
from werkzeug.wrappers import Response

from coop.actions.see_faults import see_kept
from coop.web.came_out import KeptSaid, kept_ones
from coop.web.page import desk, faces, needs, show

KEPT_SHOWN = 24

pages = Blueprint("kept", __name__)


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptPage:
    kept: tuple[KeptSaid, ...]
    more_count: int


@pages.get("/kept")
@needs("read")
def kept() -> Response:
    found, every = see_kept(desk().journal, most=KEPT_SHOWN)
    faces().gather(one.part.by for one in found)
    page = KeptPage(kept=kept_ones(desk().journal, found), more_count=every - len(found))
    return show("kept.html", page=page, nav="room")
