"""What `coop read --as` takes beside doses: cloth, gravity, temperature, sheets, soda, days."""

from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Any, NamedTuple

from coop.cli.common import cautions_of
from coop.units.day import read_day
from coop.units.goods import read_goods_dose
from coop.units.gravity import BAUME, SG, TWADDELL, on_scale, read_gravity
from coop.units.names import Language
from coop.units.sheets import read_sheets
from coop.units.soda import read_soda
from coop.units.table import UNITS
from coop.units.temperature import read_temperature

DECIMALS = 4


class Other(NamedTuple):
    """What was read: as plain data with units in its keys, and as one line."""

    plain: dict[str, Any]
    line: str


def _cloth(typed: str, words: Language) -> Other:
    found = read_goods_dose(typed, words=words)
    low, middle, high = (1000 * float(one) for one in (found.low, found.middle, found.high))
    plain = {
        "g_per_kg_of_dry_cloth": {"low": low, "middle": middle, "high": high},
        "cautions": cautions_of("mix"),
    }
    return Other(plain, f"{middle:g} g of powder to 1 kg of dry cloth, whatever the litres")


def _gravity(typed: str, words: Language) -> Other:
    found = read_gravity(typed, words=words)
    sg, baume, twaddell = (
        round(float(on_scale(found.sg, scale)), DECIMALS) for scale in (SG, BAUME, TWADDELL)
    )
    plain = {
        "scale": found.scale,
        "sg": sg,
        "degrees_baume": baume,
        "degrees_twaddell": twaddell,
    }
    return Other(plain, f"SG {sg:.4f}, that is {baume:.1f} °Bé or {twaddell:.1f} °Tw")


def _temperature(typed: str, words: Language) -> Other:
    celsius = read_temperature(typed, words=words).base
    scale = UNITS["fahrenheit"]
    both = {"celsius": celsius, "fahrenheit": (celsius - scale.offset) / scale.factor}
    plain = {name: round(float(n), DECIMALS) for name, n in both.items()}
    return Other(plain, "{celsius:.1f} °C, that is {fahrenheit:.1f} °F".format(**plain))


def _sheets(typed: str, words: Language) -> Other:
    found = read_sheets(typed, words=words)
    plain = {"sheets": found.sheets, "sheets_of_a_pack": found.holds}
    return Other(plain, f"{found.sheets} sheets")


def _soda(typed: str, words: Language) -> Other:
    form = read_soda(typed, words=words)
    return Other({"soda": form}, form)


def _day(typed: str, _words: Language) -> Other:
    day = read_day(typed).isoformat()
    return Other({"day": day}, day)


OTHERS: Mapping[str, Callable[[str, Language], Other]] = MappingProxyType(
    {
        "cloth": _cloth,
        "gravity": _gravity,
        "temperature": _temperature,
        "sheets": _sheets,
        "soda": _soda,
        "day": _day,
    }
)
"""The reader of each sort of text that is no dose in water."""
