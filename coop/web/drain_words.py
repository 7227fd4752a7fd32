"""The words of drains: what goes where, what is measured and with what, why a rule says so."""

from collections.abc import Mapping
from types import MappingProxyType

from coop.rules.packs import whys
from coop.rules.packs import words as codes
from coop.rules.packs.words import Outcome
from coop.web import words as say
from coop.web.i18n import N_, Words


def _table(**texts: str) -> Mapping[str, str]:
    return MappingProxyType(texts)


_YES_NO = say.CHOICES["yes_no"]

CHOICES: Mapping[str, Mapping[str, str]] = MappingProxyType(
    {
        "outlet": say.CHOICES["outlet"],
        "waste": say.CHOICES["waste"],
        "substance": say.CHOICES["substance"],
        "step": _table(
            strain_through_cloth=N_("Strain it through cloth."),
            thin_until_it_runs=N_("Thin it until it runs."),
            settle_overnight=N_("Let it settle overnight."),
            cool=N_("Let it cool."),
            solids_stay_out=N_("Keep the solids out of the drain."),
        ),
        "duty": _table(
            label=N_("Label it."),
            date_it=N_("Write on it the day it was started."),
            start_clock=N_("Watch the day it is due."),
            notify=N_("Tell the authority in writing."),
            keep_record=N_("Keep the record."),
            stop_mix=N_(
                "Stop: do not put these together. Go into fresh air, and call for help if "
                "somebody is unwell."
            ),
        ),
        "shown": _table(
            name=N_("name"),
            hazard=N_("hazard"),
            hazardous_waste=N_("the words “hazardous waste”"),
            contents=N_("contents"),
            started_on=N_("day it was started"),
            full_by=N_("day it is full by"),
            studio=N_("studio"),
            emergency_number=N_("emergency number"),
        ),
        "record": _table(
            readings=N_("readings"),
            decisions=N_("what was decided"),
            handovers=N_("what was handed over"),
            waste_determinations=N_("how it was told whether it is hazardous waste"),
            exposure=N_("who worked with what"),
        ),
        "evidence": _table(
            read=N_("read at its source"),
            recalled=N_("recalled, nobody read it at its source"),
            invented=N_("invented, to try things out"),
        ),
        "tier": _table(
            floor=N_("floor: it can only make things stricter"),
            region=N_("region"),
            district=N_("district"),
            site_permit=N_("this studio's own permit"),
            house=N_("house rule"),
        ),
        "quantity": _table(
            ph=N_("pH"),
            temperature=N_("Temperature"),
            flash_point=N_("Flash point"),
            mass_per_volume=N_("Weight in a volume"),
            mass_fraction=N_("Share by weight"),
            volume_fraction=N_("Share by volume"),
            mass=N_("Weight"),
            volume=N_("Volume"),
            yes_no=N_("What is looked at"),
        ),
        "analyte": say.CHOICES["analyte"],
        "basis": _table(
            total=N_("all of it"),
            dissolved=N_("dissolved"),
            leached=N_("leached out"),
            as_n=N_("counted as nitrogen"),
            as_nh3=N_("counted as ammonia"),
        ),
        "look": _table(
            lumps=N_("Does a screen with 13 mm holes hold lumps back?"),
            runs=N_("Does it run?"),
            floating_oil=N_("Does oil float on it?"),
            colour_after_dilution=N_("Does its colour show after the dilution of the rule?"),
            smells=N_("Does it smell?"),
        ),
        "device": _table(
            strip=N_("pH strip"),
            meter=N_("pH meter"),
            thermometer=N_("thermometer"),
            laboratory=N_("laboratory"),
            safety_sheet=N_("the supplier's own safety sheet"),
            scale=N_("weighing scale"),
            dipstick=N_("dipstick"),
            eye=N_("by eye"),
        ),
        "fact": _table(
            premises=N_("Is it waste of a household or of a business?"),
            salt=N_("Which salt is in it?"),
            acid_put_in=N_("Was alum or an acid put in?"),
            metal_pigments=N_("Are metal pigments in it?"),
            tags=N_("Which hazards does the supplier's own safety sheet name?"),
            acute=N_("Is it on the rule's list of acutely hazardous waste?"),
            immediate_use=N_("Is all of it used at once, by whoever filled it?"),
            jar_area=N_("Where does the waste jar stand?"),
            contents=N_("What is in it?"),
            closed=N_("Will its vessel be closed?"),
        ),
    }
)
"""
The titles of each closed set, by group and code.

Analytes, quantities and looks begin a line; pH is written as it is everywhere.
"""

ANSWERS: Mapping[str, Mapping[str, str]] = MappingProxyType(
    {
        "premises": say.CHOICES["premises"],
        "salt": say.CHOICES["salt"],
        "acid_put_in": _YES_NO,
        "metal_pigments": _YES_NO,
        "tags": say.CHOICES["hazard_tag"],
        "acute": _YES_NO,
        "immediate_use": _YES_NO,
        "jar_area": say.CHOICES["jar_area"],
    }
)
"""The answers to each fact that a condition of a rule may ask."""

LOOK_TESTS: Mapping[str, str] = MappingProxyType(
    {
        "lumps": N_(
            "Pour a jug of it through a screen with 13 mm holes and look at what stays on it."
        ),
        "runs": N_(
            "Tilt a cup of it over the bucket: it runs if it comes in one thin stream, without "
            "strings and clots."
        ),
        "floating_oil": N_(
            "Let a glass of it stand for ten minutes and look along its top against the light."
        ),
        "colour_after_dilution": N_(
            "Thin a spoonful in a clear glass as far as the rule says and hold it before white "
            "paper. The glass is only for looking: nothing is thinned in the bucket."
        ),
        "smells": N_(
            "Only if you can read its tag: fan the air over it towards you with a hand, nose "
            "away from it."
        ),
    }
)
"""The home test of each look: common practice, no source; 13 mm is the screen of the rules."""

MEASURE_WITH: Mapping[str, str] = MappingProxyType(
    {
        codes.STRIP: N_("a pH strip in half steps"),
        codes.METER: N_("a pH meter checked today"),
        codes.THERMOMETER: N_("a thermometer"),
        codes.LABORATORY: N_("a laboratory"),
        codes.SAFETY_SHEET: N_("the supplier's own safety sheet"),
        codes.SCALE: N_("a weighing scale"),
        codes.DIPSTICK: N_("a dipstick"),
        codes.EYE: N_("your eyes"),
    }
)

UNITS: Mapping[str, str] = MappingProxyType(
    {
        "ph": "%(n)s",
        "celsius": N_("%(n)s °C"),
        "fahrenheit": N_("%(n)s °F"),
        "mg_per_l": N_("%(n)s mg/L"),
        "ug_per_l": N_("%(n)s µg/L"),
        "g_per_l": N_("%(n)s g/L"),
        "g_per_m3": N_("%(n)s g/m³"),
        "percent_by_mass": N_("%(n)s percent by weight"),
        "percent_by_volume": N_("%(n)s percent by volume"),
        "ml": N_("%(n)s mL"),
        "l": N_("%(n)s L"),
        "m3": N_("%(n)s m³"),
        "us_gallon": N_("%(n)s US gallons"),
        "imp_gallon": N_("%(n)s imperial gallons"),
        "g": N_("%(n)s g"),
        "mg": N_("%(n)s mg"),
        "kg": N_("%(n)s kg"),
        "lb": N_("%(n)s lb"),
        "oz": N_("%(n)s oz"),
    }
)
"""A figure, or a range of figures, with its unit; pH has none."""

LIMITS: Mapping[str, str] = MappingProxyType(
    {
        codes.AT_LEAST: N_("at least %(low)s"),
        codes.OVER: N_("over %(low)s"),
        codes.AT_MOST: N_("at most %(high)s"),
        codes.UNDER: N_("under %(high)s"),
        codes.WITHIN: "%(range)s",
        codes.OUTSIDE: N_("outside %(range)s"),
        codes.IS: "%(value)s",
    }
)

HEADINGS: Mapping[Outcome, str] = MappingProxyType(
    {
        Outcome.NOTHING_FORBIDS: N_("Nothing you recorded forbids it"),
        Outcome.AFTER_STEPS: N_("Nothing forbids it, after these steps"),
        Outcome.ASK_FIRST: N_("Ask first: %(whom)s"),
        Outcome.MEASURE_FIRST: N_("Measure first"),
        Outcome.NOT_YET: N_("Not yet"),
        Outcome.KEEP_IN_JAR: N_("Keep in the waste jar"),
        Outcome.NOT_DOWN_HERE: N_("Not down here"),
    }
)

TINTS: Mapping[str, str] = MappingProxyType(
    {
        Outcome.NOTHING_FORBIDS: "good",
        Outcome.AFTER_STEPS: "look-again",
        Outcome.ASK_FIRST: "look-again",
        Outcome.MEASURE_FIRST: "look-again",
        Outcome.NOT_YET: "resting",
        Outcome.KEEP_IN_JAR: "resting",
        Outcome.NOT_DOWN_HERE: "do-not-use",
    }
)
"""The tint of each answer, one of the page's family; its shape is its own."""

NEXT: Mapping[Outcome, str] = MappingProxyType(
    {
        Outcome.NOTHING_FORBIDS: "",
        Outcome.AFTER_STEPS: N_("First do what is listed here."),
        Outcome.ASK_FIRST: N_("Ask, then write down whom you asked and what they said."),
        Outcome.MEASURE_FIRST: N_("Measure what is listed here, then look again."),
        Outcome.NOT_YET: N_("Treat it, then measure again."),
        Outcome.KEEP_IN_JAR: N_("Put it into the waste jar, and label the jar."),
        Outcome.NOT_DOWN_HERE: N_("Keep it, labelled, and ask where it can be handed over."),
    }
)
"""What to do next."""

LATER: Mapping[str, str] = MappingProxyType(
    {codes.DAY: N_("the day after"), codes.CALENDAR_MONTH: N_("in the next month")}
)
"""When a sum of what is poured begins anew."""
ON_A_LATER_DAY: str = N_("on a later day")

NOT_KNOWN_NEXT: str = N_(
    "Leave it closed where it is, put a tag on it, pour it into nothing else, and ask who left "
    "it."
)
"""Of what nobody knows: no jar that others fill may take it."""
STILL_FIZZING: str = N_(
    "Acid and a carbonate are in it: leave it in its open vessel until no more bubbles rise, "
    "and close nothing before."
)

CLOSING: str = N_("Your local authority decides.")

WHOM: Mapping[str, str] = MappingProxyType(
    {
        codes.SEWER: N_("the authority of the sewer"),
        codes.SEPTIC: N_("the health office in charge of the septic tank"),
        codes.BIN: N_("whoever collects the rubbish"),
        codes.HAULED: N_("the works that take the truck"),
    }
)
"""Whom to ask where no pack of the place names anybody."""
ANYBODY: str = N_("your local authority")

VERDICTS: Mapping[str, str] = MappingProxyType(
    {"holds": N_("holds"), "fails": N_("does not hold"), "unknown": N_("not known")}
)
CLASS_VERDICTS: Mapping[str, str] = MappingProxyType(
    {"holds": N_("it is"), "fails": N_("it is not"), "unknown": N_("not known")}
)

CLASSES: Mapping[str, str] = MappingProxyType(
    {
        "waste_code": N_("Waste code: %(value)s"),
        "hazardous": N_("Hazardous waste by this rule: %(value)s"),
        "category": N_("Category of the studio: %(value)s"),
        "little_alcohol": N_("Little alcohol: %(value)s"),
        "mostly_water": N_("Mostly water: %(value)s"),
    }
)
"""What the rules shipped with the ledger set; a pack of somebody's own may set others."""
CLASS_VALUES: Mapping[str, str] = MappingProxyType(
    {
        **_YES_NO,
        "very_small": N_("makes very little of it"),
        "small": N_("makes little of it"),
        "large": N_("makes much of it"),
    }
)

WHYS: Mapping[str, str] = MappingProxyType(
    {
        whys.MISSING: N_("Nobody measured it."),
        whys.STALE: N_("The reading is too old, or something was put in since."),
        whys.FAILED_BEFORE: N_(
            "It failed when it was last measured: only another sample can put that right."
        ),
        whys.NOT_NEEDED: N_("No reading is needed: nothing of the kind was put in."),
        whys.TOO_NEAR: N_("The reading does not clear the limit by one step of its scale."),
        whys.BOUNDS: N_("By what was put in, it can be on either side of the limit."),
        whys.NOT_FINE_ENOUGH: N_("Nothing was found, but the method does not see that fine."),
        whys.NOT_CHECKED: N_("Nobody checked the meter, so its reading does not count."),
        whys.DOUBTED: N_(
            "Alum without soda reads 3 to 4, and no soda is written down: read it again, or "
            "write down first what went in."
        ),
        whys.TOO_FEW: N_("Too few readings of today."),
        whys.AMOUNT_MISSING: N_("An amount that counts here was never measured."),
        whys.NOT_COUNTED: N_("Nobody summed this up over all of its days."),
        whys.DILUTED: N_(
            "Water does not put it right: the reading before the water went in counts."
        ),
        whys.OVERDUE: N_("Its day has passed."),
        whys.NO_START: N_("Nobody wrote down the day it was started."),
        whys.NOT_STARTED: N_("Its days have not begun to count."),
        whys.MAY_APPLY: N_(
            "Whether this rule counts here hangs on what is still to be measured or said."
        ),
        whys.DOCUMENT_MISSING: N_(
            "Some of this studio's rules are not here yet, or cannot be read here."
        ),
        whys.NO_LOCAL_PACK: N_(
            "There is no rule of this place that somebody read at its source and that is in "
            "force today."
        ),
        whys.LOCAL_SILENT: N_("The rule of this place says nothing of this waste here."),
        whys.OTHER_COUNTRY: N_(
            "Since it was written down the country of this studio was changed: ask again, and "
            "write it down anew."
        ),
        whys.NO_PERMISSION: N_("Nobody wrote down who was asked and what they said."),
        whys.SAID_NO: N_("They were asked, and said no."),
        whys.CONDITIONS: N_("They said yes, with conditions."),
        whys.DRAINS_TO_NATURE: N_("What goes in here runs into a stream or the soil."),
        whys.NOBODY_KNOWS_IT: N_(
            "Nobody knows what it is: it stays closed where it is, with a tag."
        ),
        whys.CONTENTS_NOT_SAID: N_("Nobody said what is in it: put nothing to it."),
        whys.CLOSED_NOT_SAID: N_("Nobody said whether its vessel stays open."),
    }
)

STOPS: Mapping[str, str] = MappingProxyType(
    {
        "stop-chlorine-gas": N_(
            "Never bleach with alum, vinegar or another acid: it gives off chlorine, a "
            "poisonous gas."
        ),
        "stop-chloramine-gas": N_(
            "Never bleach with ammonia or ammonium alum: it gives off chloramines, poisonous "
            "gases."
        ),
        "stop-hydrogen-sulfide": N_(
            "Never alum or an acid on ultramarine or another sulfide pigment: it gives off "
            "hydrogen sulfide, a poisonous gas."
        ),
        "stop-ammonia-gas": N_(
            "Never soda or lime with ammonium alum: it gives off ammonia, which burns eyes and "
            "lungs."
        ),
        "stop-gas-in-closed-vessel": N_(
            "Never alum or an acid with soda or chalk in a closed vessel: the gas bursts it."
        ),
        "stop-not-known": N_("What is in it decides what may come to it."),
    }
)
"""What must never come together; the product's own sheet and licensed advice come first."""

SOURCES: tuple[str, ...] = (
    N_("Clean Water Act; elsewhere common practice"),
    N_("common practice: what nobody knows stays closed, with a tag"),
    N_("the authority's own rule comes first: common practice, no source"),
    N_("common practice: bleach and any acid give chlorine"),
    N_("common practice: bleach and ammonia give chloramines"),
    N_("common practice: a base sets ammonia free from its salts"),
    N_("common practice: acid and a carbonate give carbon dioxide"),
    N_("common practice"),
)
"""The sources of what holds with any pack or none, as the rules name them."""


def choice(words: Words, group: str, code: str) -> str:
    """Return the title of a code of a closed set."""
    return words.gettext(CHOICES[group][code])


def choices(words: Words, group: str) -> list[tuple[str, str]]:
    """Return (code, title) pairs for a form's field."""
    return [(code, words.gettext(text)) for code, text in CHOICES[group].items()]


def answers(words: Words, fact: str) -> list[tuple[str, str]]:
    """Return (code, text) pairs of the answers to a fact."""
    return [(code, words.gettext(text)) for code, text in ANSWERS[fact].items()]


def yes_no(words: Words) -> list[tuple[str, str]]:
    """Return (code, text) pairs of yes and no."""
    return say.choices(words, "yes_no")


def units(words: Words, options: Mapping[str, object]) -> list[tuple[str, str]]:
    """
    Return (code, symbol) pairs of a quantity's units, for a form's field.

    Args:
        options: `units` of one of `coop.rules.packs.amounts.MEASURES`.
    """
    return [
        (code, words.gettext(UNITS[code], n="").strip() or choice(words, "quantity", code))
        for code in options
    ]
