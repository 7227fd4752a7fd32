"""In the room: what may I use?"""

from dataclasses import dataclass

from flask import Blueprint
from werkzeug.wrappers import Response

from coop.web.page import needs, show

pages = Blueprint("room", __name__)


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomPage:
    pass


@pages.get("/")
@needs("read")
def room() -> Response:
    return show("room.html", page=RoomPage(), nav="room")
