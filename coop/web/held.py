"""What a vessel held last, where another kind of bath is to go into it."""

from coop.ledger.any_bath import AnyBath
from coop.ledger.states import VesselState
from coop.web import words as say
from coop.web.page import desk, words


def held_last(vessel: VesselState | None, what: str) -> str:
    """Say that a vessel held a bath of another kind last; nothing where it did not."""
    last: AnyBath | None = desk().journal.state("bath", vessel.last_bath) if vessel else None
    if last is None or last.what == what:
        return ""
    return words().gettext(
        "held %(kind)s last: wash it out first", kind=say.choice(words(), "bath", last.what)
    )


def vessel_named(vessel: VesselState, what: str) -> str:
    """Return the name of a vessel in a list, and what it held last if that is another kind."""
    held = held_last(vessel, what)
    return f"{vessel.name}, {held}" if held else vessel.name
