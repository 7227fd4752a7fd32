"""What waits for a coordinator, put together for the room and for Sort it out."""

from collections.abc import Iterable, Mapping

from coop.actions.see_odd import Unsettled, see_odd
from coop.ids import Subject
from coop.rules.baths import BathLook
from coop.rules.liquid_looks import LiquidLook
from coop.store.devices import Device
from coop.store.waiting import SqlShelf
from coop.web.page import desk, now
from coop.web.phones import known_of


def unsettled(
    looks: Iterable[BathLook | LiquidLook], rows: Mapping[Subject, Device]
) -> Unsettled:
    """
    Return what nobody has settled.

    Args:
        looks: The open baths as they are now.
        rows: What each device said of itself.
    """
    place = desk()
    place.journal.gather(("judgement", "device"), live=False)
    return see_odd(
        place.journal,
        known_of(place, rows),
        looks,
        draft_count=SqlShelf(place.connection).waiting_count(),
        now=now(),
    )
