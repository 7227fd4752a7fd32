"""Supplies and amounts of them in words: what each is called, how much there is of it."""

from coop.ledger import accounts
from coop.ledger.states import PaperState, SupplyState
from coop.web import amounts
from coop.web import words as say
from coop.web.i18n import Words
from coop.web.powder import LIQUID, much_of

ML_PER_L = 1_000
G_PER_KG = 1_000
WEEKS_TOLD_MAX = 104
"""What lasts longer than this many weeks is said to last for years."""
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
        return amounts.volume(words, volume_ml)
    return amounts.small_volume(words, volume_ml, int(volume_ml != round(volume_ml)))


def pack_text(words: Words, what: str, measure: str, amount: int) -> str:
    """Say what is in a pack like `amount_text`, whole kilograms as such: '5 kg'."""
    kilos, rest = divmod(amount, accounts.UG_PER_G * G_PER_KG)
    if measure == "weight" and what != LIQUID and kilos and not rest and not words.us:
        return words.gettext("%(kilograms)s kg", kilograms=words.number(kilos))
    return amount_text(words, what, measure, amount)


def lasts_text(words: Words, supply: SupplyState, amount: int, per_week: float) -> str:
    """
    Say how long an amount lasts by weekly use alone: 'about 4 weeks at 130 g a week'.

    Args:
        amount: In the unit of the supply's rows, as `per_week` is.

    Returns:
        The words; empty where there is nothing or none is used.
    """
    if per_week <= 0 or amount <= 0:
        return ""
    weeks = amount / per_week
    rate = amount_text(words, supply.what, supply.measure, round(per_week))
    if weeks > WEEKS_TOLD_MAX:
        return words.gettext("for years at %(rate)s a week", rate=rate)
    if weeks < 1:
        return words.gettext("less than a week at %(rate)s a week", rate=rate)
    return words.ngettext(
        "about %(num)d week at %(rate)s a week",
        "about %(num)d weeks at %(rate)s a week",
        round(weeks),
        rate=rate,
    )


def supply_name(words: Words, supply: SupplyState, paper: PaperState | None = None) -> str:
    """
    Return what a supply is called: its own name, the salt's, the paper's or the powder's.

    One that nobody described, or whose description was taken back, says so.
    """
    if supply.name:
        return supply.name
    if supply.salt:
        return say.choice(words, "salt_short", supply.salt)
    if supply.what == "paper":
        return paper.name if paper else say.choice(words, "supply", "paper")
    if supply.what == "other" and supply.edition is None:
        return words.gettext("a supply nobody described")
    return say.choice(words, "supply", supply.what)


def days_text(words: Words, count: int | None) -> str:
    """Say days, whole years as such: '8 days', '4 years'; empty where nobody said."""
    if count is None:
        return ""
    years, rest = divmod(count, DAYS_PER_YEAR)
    if years and not rest:
        return words.ngettext("%(num)d year", "%(num)d years", years)
    return words.ngettext("%(num)d day", "%(num)d days", count)
