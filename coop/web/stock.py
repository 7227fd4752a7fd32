"""Supplies and amounts of them in words: what each is called, how much there is of it."""

from coop.ledger import accounts
from coop.ledger.states import PaperState, SupplyState
from coop.web import words as say
from coop.web.i18n import Words
from coop.web.powder import much_of

ML_PER_L = 1_000
DAYS_PER_YEAR = 365


def amount_text(words: Words, what: str, measure: str, amount: int) -> str:
    """
    Say an amount in the unit of its rows: '454 g', '2.5 L', '960 full sheets', '100 pieces'.

    Args:
        what: What it is of: gall is said in mL, as it is poured.
        measure: weight [µg], volume [µL], sheets [quarters of one] or pieces.
    """
    match measure:
        case "sheets":
            return say.full_sheets(words, amount / accounts.QUARTERS["full"])
        case "pieces":
            return words.ngettext("%(num)d piece", "%(num)d pieces", amount)
        case "volume":
            return _poured(words, amount / accounts.UL_PER_ML)
        case _:
            return much_of(words, what, amount / accounts.UG_PER_G)


def _poured(words: Words, volume_ml: float) -> str:
    if abs(volume_ml) >= ML_PER_L:
        return say.litres(words, volume_ml)
    whole = volume_ml == round(volume_ml)
    return words.gettext("%(ml)s mL", ml=words.number(volume_ml, 0 if whole else 1))


def supply_name(words: Words, supply: SupplyState, paper: PaperState | None = None) -> str:
    """Return what a supply is called: its own name, the salt's, the paper's or the powder's."""
    if supply.name:
        return supply.name
    if supply.salt:
        return say.choice(words, "salt_short", supply.salt)
    if supply.what == "paper":
        return paper.name if paper else say.choice(words, "supply", "paper")
    return say.choice(words, "supply", supply.what)


def days_text(words: Words, count: int | None) -> str:
    """Say days, whole years as such: '8 days', '4 years'; empty where nobody said."""
    if count is None:
        return ""
    years, rest = divmod(count, DAYS_PER_YEAR)
    if years and not rest:
        return words.ngettext("%(num)d year", "%(num)d years", years)
    return words.ngettext("%(num)d day", "%(num)d days", count)
