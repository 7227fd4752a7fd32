"""Where what is in a bath came from and went, for its page."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from types import MappingProxyType

from coop.actions.bath_ways import OutOfLot, Part
from coop.ledger.liquids import LiquidState
from coop.units.table import UNITS
from coop.web.adding_up import MINUS, adding_up
from coop.web.fields import SYMBOLS
from coop.web.i18n import N_, Words
from coop.web.lots import WaySaid, much

WATER = (("l", 2), ("us_gallon", 2))
POWDER = (("g", 1), ("oz", 2))
"""In what water and powder stand in a table, and its decimals: metric, US customary."""
GONE = ("off_with_sheets", "to_air", "poured_out")
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
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    has_powder: bool


def liquid_went(
    words: Words, ways: Mapping[str, Part], left: LiquidState, lots: Iterable[OutOfLot]
) -> LiquidWent:
    """Say where the water and the powder of a bath that is not alum went."""
    has_powder = ways["came_in"].powder_g > 0
    end = Part(volume_ml=left.volume_ml, powder_g=left.powder_g)
    parts = {**ways, "left": end}
    (volume, water_digits), (weight, powder_digits) = WATER[words.us], POWDER[words.us]
    water = _figures({way: one.volume_ml for way, one in parts.items()}, volume, water_digits)
    powder = _figures({way: one.powder_g for way, one in parts.items()}, weight, powder_digits)
    heads = (
        words.gettext("What"),
        words.gettext("Water, %(unit)s", unit=words.gettext(SYMBOLS[volume])),
        words.gettext("Powder, %(unit)s", unit=words.gettext(SYMBOLS[weight])),
    )
    return LiquidWent(
        lots=lots_said(words, lots),
        head=heads if has_powder else heads[:2],
        rows=tuple(
            (
                words.gettext(text),
                _number(words, water[way], water_digits),
                *((_number(words, powder[way], powder_digits),) if has_powder else ()),
            )
            for way, text in (*WAYS.items(), ("left", N_("left")))
        ),
        has_powder=has_powder,
    )


def _figures(amounts: Mapping[str, float], unit: str, digits: int) -> Mapping[str, int]:
    """Return mL or grams as whole numbers of the last decimal printed; they add up."""
    per = 10**digits / UNITS[unit].factor
    exact = {way: Fraction(amount) * per for way, amount in amounts.items()}
    gone = ("left", *GONE)
    found = dict(zip(gone, adding_up(exact[way] for way in gone), strict=True))
    came = round(exact["came_in"])
    return found | {"came_in": came, "unexplained": sum(found.values()) - came}


def _number(words: Words, figure: int, decimals: int) -> str:
    sign = MINUS if figure < 0 else ""
    return sign + words.number(abs(figure) / 10**decimals, decimals)


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
