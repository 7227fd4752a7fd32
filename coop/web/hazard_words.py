"""The words of the safety cards: hazards in plain words, pictograms, gear, first aid."""

from collections.abc import Mapping
from types import MappingProxyType

from coop.rules.hazards import (
    CORROSIVE,
    DANGER,
    HARMFUL,
    LASTING,
    WARNING,
    WATERS,
    Card,
    card_of,
)
from coop.web import cautions, storing
from coop.web import words as say
from coop.web.i18n import N_, Words

STATEMENTS: Mapping[str, str] = MappingProxyType(
    {
        "H290": N_("Eats metal"),
        "H302": N_("Harmful when swallowed"),
        "H314": N_("Burns skin badly and damages eyes"),
        "H315": N_("Irritates skin"),
        "H317": N_("May bring on an allergy of the skin"),
        "H318": N_("Can damage eyes for good"),
        "H319": N_("Irritates eyes badly"),
        "H332": N_("Harmful when breathed in"),
        "H334": N_("May bring on asthma or trouble with breathing"),
        "H335": N_("May irritate nose, throat and lungs"),
        "H341": N_("May damage what is handed down to children; this is suspected"),
        "H350": N_("May cause cancer"),
        "H350i": N_("May cause cancer when breathed in"),
        "H360Df": N_("May harm the unborn child; may harm fertility, this is suspected"),
        "H360FD": N_("May harm fertility and the unborn child"),
        "H361": N_("May harm fertility or the unborn child; this is suspected"),
        "H372": N_("Damages organs when it comes in again and again"),
        "H373": N_("May damage organs when it comes in again and again"),
        "H400": N_("Very toxic to life in water"),
        "H401": N_("Toxic to life in water"),
        "H410": N_("Very toxic to life in water, for a long time"),
        "EUH031": N_("With acid it gives off a toxic gas"),
    }
)
"""Each hazard in plain words; the wording of the standard stands on the product's own sheet."""

SIGNALS: Mapping[str, str] = MappingProxyType({DANGER: N_("Danger"), WARNING: N_("Warning")})

PICTOGRAMS: Mapping[str, tuple[str, str]] = MappingProxyType(
    {
        CORROSIVE: (
            N_("Corrosive"),
            N_("A diamond: drops eat a hand and a bar."),
        ),
        LASTING: (N_("Harms for long"), N_("A diamond: a person with a star on the chest.")),
        HARMFUL: (N_("Harmful, irritates"), N_("A diamond: an exclamation mark.")),
        WATERS: (N_("Harms life in water"), N_("A diamond: a dead tree and a dead fish.")),
    }
)
"""The word beside each pictogram, and what one sees on it."""

NOTES: Mapping[str, str] = MappingProxyType(
    {
        "acid_when_wet": N_("In water it is an acid."),
        "foams_with_acid": N_("With acid or alum it foams and gives off gas."),
        "strong_base": N_("In water it is a strong base: it burns."),
        "five_to_ten_percent": N_("This is for ammonia of 5 to 10 %; stronger is worse."),
        "read_its_sheet": N_("What is sold under this name differs: read its own sheet."),
        "slippery": N_("Spilled and wet it is very slippery."),
        "dust_burns": N_("A cloud of its dust can catch fire: no flame, no sparks."),
        "dust_allergy": N_("Breathed in often, its dust can bring on an allergy."),
        "no_sanding": N_("Never sanded, sprayed or handled as dry dust."),
        "cadmium_range": N_(
            "Pigments of cadmium differ: this is the strictest of what is said of the family."
        ),
        "cobalt_range": N_("This is for cobalt salts that dissolve; cobalt blue does less."),
        "chromium_range": N_(
            "This is for chromates, as in chrome yellow; the green oxide does less. With lead "
            "in it, see lead."
        ),
        "lead_out": N_("Never in a tray that others share."),
        "copper_range": N_(
            "This is for carbonate and acetate; phthalo blue is not classified."
        ),
        "zinc_waste": N_("It is its waste water that does harm."),
        "ultramarine_acid": N_("Acid or alum on it gives off hydrogen sulfide, a toxic gas."),
        "acid_on_sulfide": N_("Never alum, vinegar or another acid on it, nor its waste."),
        "holds_what_it_rinsed": N_("Alum, colour and gall are in it: what they do, it does."),
    }
)

GEAR: Mapping[str, str] = MappingProxyType(
    {
        "gloves": N_("gloves"),
        "goggles": N_("splash goggles"),
        "mask": N_("dust mask for the powder"),
        "air": N_("windows open"),
        "apron": N_("apron"),
    }
)

FIRST_AID: Mapping[str, str] = MappingProxyType(
    {
        "skin": N_("On the skin: wet clothes off, rinse with plenty of tap water."),
        "skin_burns": N_(
            "On the skin: wet clothes off at once, rinse for a long time with tap water, then "
            "a doctor with this card."
        ),
        "breathed": N_("Breathed in: out into fresh air; a doctor if the cough stays."),
        "breathed_vapour": N_(
            "Breathed in: out into fresh air at once, sit upright; call for help if breathing "
            "is hard."
        ),
        "swallowed": N_(
            "Swallowed: rinse the mouth, do not make them vomit, call the poison centre with "
            "this card."
        ),
    }
)

SPILLS: Mapping[str, str] = MappingProxyType(
    {
        "wipe_damp": N_("Powder: mask on, no draught, wipe it up damp; do not sweep it dry."),
        "air_out": N_("Everybody out, windows open; wait until the smell is gone."),
        "mop_in_gear": N_("Mop up with plenty of water, in gloves and goggles."),
    }
)

AT_A_CLASS: Mapping[str, str] = MappingProxyType(
    {
        "dry_overnight": N_("The adult also makes the size; the sheets dry overnight."),
        "put_away": N_("What is not for the room is locked up, and the table is wiped."),
        "own_gloves": N_("Aprons on, sleeves up, gloves that fit."),
        "wash_hands": N_("Nobody eats or drinks there; hands are washed afterwards."),
    }
)

SOURCES: Mapping[str, str] = MappingProxyType(
    {
        "trade": "",
        "memory": "",
        "most_sheets": N_("most sheets of makers"),
        "some_sheets": N_("some sheets of sellers"),
        "others": N_("other sheets of sellers"),
        "supplier_2013": N_("a supplier's safety sheet, June 2013"),
        "ghs_compiled": N_("a compiled GHS list"),
        "icsc_1191": N_("ILO/WHO International Chemical Safety Card 1191 (2010)"),
        "icsc_1191_words": N_("the words of card 1191, the code added by us"),
        "salts_alike": N_("the stricter class holds here for every salt of alum"),
        "lime_sheets": N_("OSHA sampling data CH_224400 (2008) and a supplier's sheet, 2013"),
        "gischem": N_("a trade body's data sheet on ammonia of 5 to 10 %"),
        "clp_annex_6": N_("Regulation (EC) 1272/2008, annex VI, hypochlorite solution"),
        "eu_borates": N_("EU report on the classification of borates, 2018; a supplier, 2016"),
        "us_producer": N_("a US producer's safety sheet, 2014"),
        "as_its_salt": N_("held to be like the salt in it, however thin"),
        "as_its_gall": N_("held to be like the gall in it, however thin"),
        "as_its_soda": N_("held to be like the soda in it, however thin"),
    }
)
"""Where a cell is from; empty where its mark says it all."""

COLOURS: Mapping[str, str] = MappingProxyType(
    {
        "cadmium": N_("Cadmium colours"),
        "cobalt": N_("Cobalt colours"),
        "chromium": N_("Chromium colours"),
        "lead": N_("Lead colours"),
        "copper": N_("Copper colours"),
        "zinc": N_("Zinc white"),
        "ultramarine": N_("Ultramarine"),
    }
)

BATHS: Mapping[str, str] = MappingProxyType(
    {
        "alum": N_("Alum in the tub"),
        "size": N_("Size in the tray"),
        "gall_water": N_("Gall water"),
        "rinse": N_("Rinse water"),
        "paste": N_("Paste"),
        "softener": N_("Softener in the jug"),
    }
)

TEXTS: Mapping[str, str] = MappingProxyType(
    {
        **storing.TEXTS,
        **cautions.TEXTS,
        **NOTES,
        **FIRST_AID,
        **SPILLS,
        **AT_A_CLASS,
    }
)
"""The sentences of a card beside hazards and gear; the cautions are those of the acts."""


def card_name(words: Words, card: Card) -> str:
    """Return what a card is of, as a heading."""
    sort, _, rest = card.code.partition("_")
    if sort == "bath":
        return words.gettext(BATHS[rest])
    if sort == "colour":
        return words.gettext(COLOURS[rest])
    group = {"alum": "salt", "soda": "soda"}.get(card.what, "supply")
    return say.choice(words, group, rest if group == "soda" else card.code)


def card_url(what: str, *, salt: str | None = None, soda: str | None = None) -> str:
    """
    Return the address of the card of a supply, empty where its own sheet says all.

    Where it is not said which alum, soda or colour it is, that of all of them.

    >>> card_url("alum", salt="potash_alum"), card_url("softener"), card_url("gloves")
    ('/safety/potash_alum', '/safety#soda', '')
    """
    code = card_of(what, salt=salt, soda=soda)
    if code:
        return f"/safety/{code}"
    group = {"alum": "alum", "soda": "soda", "softener": "soda", "colour": "colour"}.get(what)
    return f"/safety#{group}" if group else ""


def statement(words: Words, code: str, above: str = "") -> str:
    """Return a hazard with its code, and that it is the stricter where another is milder."""
    said = words.gettext(STATEMENTS[code])
    if not above:
        return words.gettext("%(hazard)s (%(code)s).", hazard=said, code=code)
    return words.gettext(
        "%(hazard)s (%(code)s): the stricter of two classifications.", hazard=said, code=code
    )


def source_of(words: Words, source: str, mark: str) -> str:
    """Return where a cell is from, with its mark."""
    told = say.mark(words, mark)
    named = SOURCES[source]
    if not named:
        return told
    return words.gettext("%(source)s: %(mark)s", source=words.gettext(named), mark=told)
