"""Where what is in a bath came from and went, for its page."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from coop.actions.bath_ways import OutOfLot, Part
from coop.ledger.liquids import LiquidState
from coop.web.i18n import N_, Words
from coop.web.lots import WaySaid, much

ML_PER_L = 1_000
WAYS: Mapping[str, str] = MappingProxyType(
    {
        "came_in": N_("put in"),
        "off_with_sheets": N_("off with sheets"),
        "to_air": N_("dried up"),
        "poured_out": N_("poured out"),
        "unexplained": N_("unexplained by readings"),
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class LiquidWent:
    """
    Rows of (what, water, powder) that add up; without powder its column is left out.

    `lots` are those that the powder came out of.
    """

    lots: tuple[WaySaid, ...]
    rows: tuple[tuple[str, ...], ...]
    has_powder: bool


def liquid_went(
    words: Words, ways: Mapping[str, Part], left: LiquidState, lots: Iterable[OutOfLot]
) -> LiquidWent:
    """Say where the water and the powder of a bath that is not alum went."""
    has_powder = ways["came_in"].powder_g > 0
    parts = [(words.gettext(text), ways[way]) for way, text in WAYS.items()]
    end = Part(volume_ml=left.volume_ml, powder_g=left.powder_g)
    parts.append((words.gettext("left"), end))
    return LiquidWent(
        lots=lots_said(words, lots),
        rows=tuple(
            (
                text,
                words.number(part.volume_ml / ML_PER_L, 2),
                *((words.number(part.powder_g, 1),) if has_powder else ()),
            )
            for text, part in parts
        ),
        has_powder=has_powder,
    )


def lots_said(words: Words, found: Iterable[OutOfLot]) -> tuple[WaySaid, ...]:
    """Say what a bath took out of which lots."""
    return tuple(
        WaySaid(
            amount=much(words, one.lot, one.amount),
            text=words.gettext("out of %(name)s", name=one.lot.name),
            url=f"/lots/{one.lot.id}",
        )
        for one in found
    )
