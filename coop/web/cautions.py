"""Cautions in sentences, and the safety card that stands before an act that can hurt."""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from coop.ledger.states import StudioState
from coop.rules.cautions import ALWAYS, CAUTIONS, GROWS_HOT, TAKING_IN, of_act, of_salts
from coop.science.defaults import value
from coop.web import amounts
from coop.web.i18n import N_, Words

TEXTS: Mapping[str, str] = MappingProxyType(
    {
        "dust-mask": N_("Powder: dust mask on, no draught, pour low and slowly."),
        "gloves-and-goggles": N_("Gloves and goggles: alum can damage eyes."),
        "soda-hurts": N_("Softener: gloves and goggles on; soda hurts eyes and skin."),
        "burns": N_("Gloves and goggles on: it burns eyes and skin."),
        "fumes": N_(
            "Windows open, the bottle upright, your face away from it: the vapour burns eyes "
            "and lungs."
        ),
        "gall-hurts": N_(
            "Gall: gloves and goggles on; it stings in the eye, and some skins do not bear it."
        ),
        "gloves": N_("Gloves on: alum dries and chaps the skin."),
        "hand-hot-only": N_("Hand-hot tap water, %(hot)s at most; only plastic jugs."),
        "plastic-jugs": N_(
            "Plastic jugs only, kept for this, half full; a full tub is too heavy to carry."
        ),
        "powder-into-water": N_(
            "Powder into water, little by little, never water onto powder."
        ),
        "blender": N_(
            "Blender: half full at most, lid held down, nothing hot in it; out of the socket "
            "before a hand goes in."
        ),
        GROWS_HOT: N_(
            "Anhydrous alum grows hot in water and can spit: goggles on, a little at a time "
            "into much cold water, never into hot."
        ),
        "scalding": N_(
            "Hot water and hot paste scald: small pots, two hands, nobody in the way."
        ),
        "hot-vessel": N_(
            "Hot water only into a vessel that stands it: an HDPE jug bears 60 °C at most, a "
            "thin bottle less; never a lid on it."
        ),
        "hot-into-cold": N_(
            "Cold water first, then the hot slowly into it, the powder last: hot water on "
            "powder spits. Above hand-hot stir with a stick."
        ),
        "wet-floor": N_("Wet floors are slippery: drop cloths down, mop up at once."),
        "in-the-eye": N_(
            "In the eye: tap water at once, lids open, at least 15 minutes, then a doctor "
            "with this card."
        ),
        "never-food-vessels": N_("Never in cups, jugs or spoons that are used for food."),
        "never-bleach": N_("Never bleach together with alum, vinegar or ammonia."),
        "not-under-16": N_("Under 16: an adult does this, the day before."),
        "alum-the-day-before": N_(
            "Someone is under 16: an adult alums the sheets, the day before."
        ),
        "none-of-these-under-16": N_(
            "No ammonia, lime, borax, metal colours or irons while they are there."
        ),
        "alum-and-soda-elsewhere": N_("Alum and soda are not in the room."),
        "no-sniffing": N_(
            "No sniffing and no tasting, least of all where the tag cannot be read."
        ),
        "read-the-tag": N_("Smell only a bath whose tag you can read, and never taste."),
        "nobody-knows-it": N_(
            "Gloves and goggles on before you touch it: nobody knows what is in it."
        ),
        "ask-the-drain-rules": N_(
            "Pour nothing away before you know what this drain may take."
        ),
        "ammonium-alum-with-a-base": N_(
            "Ammonium alum: never with soda or lime, it gives off ammonia gas. Stop and ask."
        ),
        "sulfides-and-metals": N_(
            "Ultramarine or a metal colour in it: stop and ask before anything goes in."
        ),
        "never-a-lid": N_(
            "An open bucket, a third full at most, never a lid: it foams and gives off gas."
        ),
        "gas-sinks": N_(
            "Window open, never in a cellar, no children in the room: the gas sinks."
        ),
        "local-rules-first": N_(
            "Your local authority, the product's own safety sheet and licensed advice "
            "come first."
        ),
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class SafetyCard:
    """What to keep to at an act, and whom to call in this studio."""

    sentences: tuple[str, ...]
    emergency: str
    poison: str
    call: str

    @property
    def lines(self) -> tuple[str, ...]:
        """All of it, the numbers first."""
        return (self.call, *self.sentences) if self.call else self.sentences


def cautions(words: Words, act: str, salts: Collection[str | None] = ()) -> tuple[str, ...]:
    """Return the sentences of an act of `coop.rules.cautions`, with these salts of alum."""
    return tuple(sentence(words, TEXTS[code]) for code in of_act(act, salts))


def sentence(words: Words, text: str) -> str:
    """Say one sentence of a card, the warmth in it as the member reads."""
    if "%(hot)s" not in text:
        return words.gettext(text)
    return words.gettext(text, hot=hand_hot(words))


def hand_hot(words: Words) -> str:
    """Say how warm hand-hot water is at most."""
    return amounts.warmth(words, value("hand_hot_water_c"))


def safety_card(
    words: Words, act: str, studio: StudioState | None, salts: Collection[str | None] = ()
) -> SafetyCard:
    """
    Return the card of an act, with the studio's emergency and poison-centre numbers.

    Args:
        salts: The salts of alum that are in hand.
    """
    return _card(words, cautions(words, act, salts), studio)


def safety_card_of(
    words: Words,
    whats: Iterable[str],
    studio: StudioState | None,
    salts: Collection[str | None] = (),
) -> SafetyCard | None:
    """
    Return the card of supplies in hand; None where their own sheets say it all.

    Args:
        whats: Codes of `coop.ledger.kinds.SUPPLIES`.
        salts: The salts of alum among them.
    """
    acts = dict.fromkeys(TAKING_IN[what] for what in whats if what in TAKING_IN)
    codes = dict.fromkeys(code for act in acts for code in CAUTIONS[act] if code not in ALWAYS)
    if not acts:
        return None
    every = (*of_salts(salts), *codes, *ALWAYS)
    sentences = tuple(sentence(words, TEXTS[code]) for code in every)
    return _card(words, sentences, studio)


def _card(words: Words, sentences: tuple[str, ...], studio: StudioState | None) -> SafetyCard:
    if studio is None:
        return SafetyCard(sentences=sentences, emergency="", poison="", call="")
    call = words.gettext(
        "Emergency: %(emergency)s. Poison centre: %(poison)s.",
        emergency=studio.emergency,
        poison=studio.poison,
    )
    return SafetyCard(
        sentences=sentences,
        emergency=studio.emergency,
        poison=studio.poison,
        call=call,
    )
