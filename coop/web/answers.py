"""What the pages of all baths say alike: where one stands, why, and what was just written."""

from dataclasses import dataclass

from flask import request

from coop.actions.ask import stopper_of
from coop.actions.see_waste import EVENING
from coop.actions.undo_card import lines_of_card, may_undo_all
from coop.ids import EntryId, Subject
from coop.ledger.any_bath import AnyBath
from coop.ledger.liquids import SIZE
from coop.ledger.states import JarState
from coop.ledger.ways_out import listed_under, to_go
from coop.people.may import may_clear
from coop.rules.baths import BathLook
from coop.rules.liquid_looks import LiquidLook
from coop.rules.neutralising import is_going_on
from coop.rules.reasons import DEFAULTS, HOUSE, PAPER, RECIPE, VESSEL
from coop.web import history, reasons
from coop.web.history import Item
from coop.web.page import desk, now, who, words
from coop.web.reasons import Telling

LIMITING = frozenset({HOUSE, RECIPE, PAPER, VESSEL, DEFAULTS})

Undo = tuple[str, str]
"""The address of what takes out what was just written, and the text of its button."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Why:
    """Another reason, and where its limit comes from."""

    text: str
    source: str


def where(look: BathLook | LiquidLook) -> str:
    """Return the names of a bath's studio and vessel."""
    around = look.around
    names = (
        around.studio.name if around.studio else "",
        around.vessel.name if around.vessel else "",
    )
    return ", ".join(name for name in names if name)


def every_reason(tell: Telling, look: BathLook | LiquidLook) -> tuple[Why, ...]:
    """Return all that speaks for an answer, the deciding reason first."""
    return tuple(
        Why(
            text=reasons.reason(tell, one),
            source=reasons.source(words(), one) if one.source in LIMITING else "",
        )
        for one in reasons.telling_reasons(look.answer)
    )


def may_allow(state: AnyBath) -> bool:
    """Say whether who asks may allow a bath again; False of one that is not stopped."""
    if state.stop is None:
        return False
    return may_clear(who().roles, stopper_of(desk().journal, state, who().member, now=now()))


def way_out(state: AnyBath) -> tuple[tuple[str, str, bool], ...]:
    """Return the buttons of a bath that is over and still has to go; none of any other."""
    if listed_under(state) != to_go(state.studio):
        return ()
    walk = go_on(state)
    away = words().gettext("Get rid of it"), f"/drain/bath/{state.id}", not walk
    return (*walk, away, *((*one, False) for one in copy_card(state)))


def copy_card(state: AnyBath) -> tuple[tuple[str, str], ...]:
    """Return what leads from a bath that has a tally card to where that is copied."""
    if state.what not in ("alum", SIZE):
        return ()
    return ((words().gettext("Copy the card"), f"/baths/{state.id}/card"),)


def go_on(state: AnyBath | JarState) -> tuple[tuple[str, str, bool], ...]:
    """Return the button back to the bucket, of what is being neutralised; none of any other."""
    sort = "jar" if isinstance(state, JarState) else "bath"
    over = state.ended_at if isinstance(state, JarState) else state.gone_at
    if over is not None or not is_going_on(state.treated):
        return ()
    return ((words().gettext("Go on neutralising"), f"/{sort}s/{state.id}/neutralise", True),)


def evening(state: AnyBath) -> tuple[tuple[str, str], ...]:
    """Return what leads from a size or a rinse in use to the end of its day."""
    if state.what not in EVENING:
        return ()
    return ((words().gettext("End of the day"), f"/waste/{state.studio}/end-of-day"),)


def undo_one(entry: str) -> Undo:
    """Return what takes out an entry just written."""
    return f"/entries/{entry}/undo", words().gettext("Undo")


def undo(items: tuple[Item, ...]) -> Undo | None:
    """Return what takes out the entry just written, named in the address, while it can be."""
    written = request.args.get("written", "")
    fresh = [one for one in items if one.id == written and not one.struck]
    return undo_one(written) if fresh and history.lines((fresh[0],))[0].undo else None


def undo_of_bath(bath: Subject, items: tuple[Item, ...]) -> Undo | None:
    """Return what takes out what was just done to a bath: an entry, or a card's lines."""
    copied = EntryId(request.args.get("card", ""))
    struck = {one.id for one in items if one.struck}
    card = lines_of_card(copied, (one.original for one in items))
    lines = tuple(one for one in card if one.entry.id not in struck)
    if not lines or not may_undo_all(who(), lines, now=now()):
        return undo(items)
    text = words().ngettext(
        "Undo the line of this card", "Undo all %(num)d lines of this card", len(lines)
    )
    return f"/baths/{bath}/card/{copied}/undo", text
