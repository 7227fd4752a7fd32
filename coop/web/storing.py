"""How supplies are stored, in sentences, and why some must not stand together."""

from collections.abc import Iterable, Mapping
from types import MappingProxyType

from coop.rules.storage import kept_apart, storage_of
from coop.web.i18n import N_, Words

TEXTS: Mapping[str, str] = MappingProxyType(
    {
        "dry_closed": N_("Dry and closed: it cakes or spoils in damp air."),
        "cool": N_("Cool, away from stove and sun."),
        "cool_dark": N_("Cool and dark."),
        "plastic_not_metal": N_("In plastic, never in metal: once damp it eats metal."),
        "away_from_bases": N_("Away from soda, softener, lime and ammonia."),
        "away_from_acids": N_("Away from alum, vinegar and other acids."),
        "no_drain_nearby": N_("Where a spill reaches no drain."),
        "never_with_bleach": N_("Never beside bleach, not even in one cupboard."),
        "bleach_alone": N_("Alone: never beside alum, vinegar, other acids or ammonia."),
        "children_away": N_("Out of reach of children."),
        "not_when_pregnant": N_(
            "Not for children, nor for anyone who is pregnant or may be: it may harm "
            "fertility and the unborn child."
        ),
        "form_on_jar": N_(
            "On the jar stands which soda it is: washing soda or baking soda, and crystals or "
            "without water."
        ),
        "vented": N_("Upright and closed in a room with air, never where people sit."),
        "no_frost": N_("Free of frost: frozen colour is lost."),
        "flat_dry_air": N_("Flat, wrapped, in air that is neither damp nor very dry."),
        "covered": N_("Covered, with the day on it."),
        "clean_and_dry": N_("Clean and dry."),
        "its_sheet_first": N_("The product's own safety sheet and local rules come first."),
    }
)
"""One sentence for each code of `coop.rules.storage.STORAGE`."""

APART: Mapping[str, str] = MappingProxyType(
    {
        "chloramine_gas": N_(
            "Ammonia and bleach stand in different rooms: together they give off a gas that "
            "burns eyes and lungs."
        ),
        "chlorine_gas": N_(
            "Alum and bleach stand in different rooms: together they give off chlorine, a gas "
            "that burns eyes and lungs."
        ),
        "acid_with_base": N_(
            "Alum stands apart from lime and ammonia: wet, they heat and spatter, and ammonium "
            "alum with lime gives off ammonia."
        ),
        "acid_with_soda": N_(
            "Alum stands apart from soda and softener: wet, they foam, and a closed vessel "
            "bursts."
        ),
    }
)
"""One sentence for each reason of `coop.rules.storage.APART`."""


def storing(words: Words, what: str) -> tuple[str, ...]:
    """Return how a supply is stored, a sentence each."""
    return tuple(words.gettext(TEXTS[code]) for code in storage_of(what))


def standing_apart(words: Words, whats: Iterable[str]) -> tuple[str, ...]:
    """Return why supplies of one studio must not stand together, each reason once."""
    reasons = dict.fromkeys(one.why for one in kept_apart(whats))
    return tuple(words.gettext(APART[why]) for why in reasons)
