"""What a figure of a rule or a reading is of: its unit, analyte, basis and range."""

from fractions import Fraction

from coop.rules.packs import amounts, words
from coop.rules.packs.tables import Table
from coop.units.number import wire


def unit_of(table: Table, quantity: str) -> str:
    """Return the unit said, one of the quantity's own; a yes or no has none."""
    units = tuple(amounts.MEASURES[quantity].units)
    if not units:
        if "unit" in table.data:
            raise table.fault("no-unit", "unit")
        return ""
    if "unit" not in table.data:
        raise table.fault("missing-key", "", part=f"unit ({', '.join(units)})")
    found = table.text("unit")
    if found not in units:
        raise table.fault("unit", "unit", part=f"unit = {found}", options=units)
    return found


def fits(table: Table, key: str, found: Fraction, *, quantity: str, unit: str) -> None:
    """Refuse a figure that no such quantity has."""
    measure = amounts.MEASURES[quantity]
    if not measure.low <= amounts.in_base(found, quantity=quantity, unit=unit) <= measure.high:
        first = next(iter(measure.units))
        low, high = wire(measure.low), wire(measure.high)
        raise table.fault("out-of-range", key, options=(f"{low} to {high} {first}",))


def analyte_of(table: Table, quantity: str) -> str:
    """Return what is measured or looked at; empty for a quantity of the whole liquid."""
    options = words.LOOKS if quantity == amounts.YES_NO else words.ANALYTES
    if quantity in amounts.ANALYSED or quantity == amounts.YES_NO:
        if "of" not in table.data:
            raise table.fault("needs", "quantity", options=("of", *options))
        return table.choice("of", options)
    if "of" in table.data:
        raise table.fault("does-not-go-with", "of", options=(f"quantity = {quantity}",))
    return ""


def basis_of(table: Table, quantity: str) -> str:
    """Return as what it is counted; ammonia says whether as nitrogen."""
    found = table.choice("basis", words.BASES, default=words.TOTAL_BASIS)
    if "basis" in table.data and quantity != amounts.MASS_PER_VOLUME:
        raise table.fault("does-not-go-with", "basis", options=(f"quantity = {quantity}",))
    nitrogen = found in (words.AS_N, words.AS_NH3)
    ammonia = table.data.get("of") == "ammonia" and quantity == amounts.MASS_PER_VOLUME
    if nitrogen and not ammonia:
        raise table.fault("does-not-go-with", "basis", options=(f"of = {table.data['of']}",))
    if ammonia and not nitrogen:
        raise table.fault("needs", "of", options=("basis", words.AS_N, words.AS_NH3))
    return found
