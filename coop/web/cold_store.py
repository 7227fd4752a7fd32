"""What of a strength crystallises where its tub stands, in a sentence, and what to do."""

from coop.actions.reckon import InStore, in_store
from coop.ledger.states import StudioState
from coop.science import alum
from coop.web import amounts
from coop.web.i18n import Words


def store_text(words: Words, store: InStore) -> str:
    """Say how near a strength is to what dissolves where its tub stands, if it is near."""
    if not store.near_solubility:
        return ""
    store_c = amounts.warmth(words, store.store_c)
    if store.crystals_g_per_l > 0:
        return " ".join(
            (
                words.gettext(
                    "About %(strength)s will crystallise at %(store_c)s.",
                    strength=amounts.g_per_l(words, store.crystals_g_per_l),
                    store_c=store_c,
                ),
                _clear(words, store),
                words.gettext(
                    "Mix it weaker or keep it warmer; a hot start brings crystals back into "
                    "the water."
                ),
            )
        )
    near = words.gettext(
        "This is %(percent)s %% of what dissolves at %(store_c)s: in a colder store crystals "
        "may fall out, and the bath is then weaker than it seems.",
        percent=words.number(100 * store.fraction),
        store_c=store_c,
    )
    return f"{near} {_clear(words, store)}"


def _clear(words: Words, store: InStore) -> str:
    if store.clear_c is None:
        return words.gettext("So much does not dissolve in any room.")
    return words.gettext(
        "It stays dissolved down to %(clear_c)s.", clear_c=amounts.warmth(words, store.clear_c)
    )


def bath_text(
    words: Words, strength_g_per_l: float, salt: str, studio: StudioState | None
) -> str:
    """Say it of a bath that stands in a studio which says how cold it gets; else nothing."""
    if studio is None or studio.store_coldest_c is None:
        return ""
    if not 0 < strength_g_per_l <= alum.STRENGTH_MAX_G_PER_L:
        return ""  # nothing in it, or an amount that nothing dissolves
    return store_text(words, in_store(strength_g_per_l, salt, studio.store_coldest_c))
