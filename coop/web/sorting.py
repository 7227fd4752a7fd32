"""What waits for a coordinator, put together for the room and for Sort it out."""

from collections.abc import Iterable

from coop.actions.see_odd import Unsettled, see_odd
from coop.rules.baths import BathLook
from coop.store import devices
from coop.store.waiting import SqlShelf
from coop.web.page import desk, now
from coop.web.phones import known_of


def unsettled(looks: Iterable[BathLook]) -> Unsettled:
    """Return what nobody has settled; `looks` are the open baths as they are now."""
    place = desk()
    return see_odd(
        place.journal,
        known_of(place, devices.all_of(place.connection)),
        looks,
        draft_count=SqlShelf(place.connection).waiting_count(),
        now=now(),
    )
