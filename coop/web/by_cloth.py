"""A dose by the weight of the cloth: what it comes to in so much water."""

from fractions import Fraction

from coop.actions.read_dose import bulk_of, goods_of_card, understand_goods
from coop.ledger.states import RecipeState
from coop.units.fault import NotUnderstood
from coop.units.goods import GoodsDose
from coop.units.quantity import Quantity
from coop.units.statements import STRENGTH_MAX_G_PER_L
from coop.units.strength import Statement, state
from coop.web.doses import DoseReader, DoseSaid
from coop.web.i18n import Words


def goods_of(words: Words, recipe: RecipeState | None, typed: str) -> GoodsDose | None:
    """Return the dose by the weight of the cloth that a card or a typed text is, if it is."""
    if recipe is not None:
        return goods_of_card(recipe) if recipe.by_cloth else None
    try:
        return understand_goods(typed, tongue=words.lang)
    except NotUnderstood:
        return None  # the reader of doses says what it is instead


def goods_reader(words: Words, goods: GoodsDose) -> DoseReader:
    """Return what the field for a dose shows beneath itself for one by the cloth."""
    text = words.gettext(
        "%(percent)s %% of the weight of the dry cloth, whatever the water",
        percent=words.number(100 * float(goods.middle), 1),
    )
    said = DoseSaid(understood=(text,), contradictions=(), asks=(), notes=(), look_alikes=())
    return DoseReader(typed=goods.typed, said=said)


def statement_by_cloth(
    goods: GoodsDose, cloth_g: Fraction, water_ml: Fraction
) -> Statement | None:
    """Return the dose for so much cloth in so much water; None where it never dissolves."""
    low, high = (Quantity("", part * cloth_g, "g") for part in (goods.low, goods.high))
    upto = None if low.n == high.n else high
    found = state(goods.typed, low, upto, Quantity("", water_ml, "ml"), None, bulk_of(None))
    return found if found.g_per_l.middle <= STRENGTH_MAX_G_PER_L else None
