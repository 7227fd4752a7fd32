"""
What can be said: one content class per kind of entry.

A field name is the wire's key and the form's field name. Quantities stay as typed; nothing
here is worked out. Limits are the widest a co-operative could mean, not house rules.
"""

from dataclasses import dataclass
from datetime import date, datetime
from fractions import Fraction
from types import MappingProxyType

from coop.ids import Subject
from coop.ledger.schema import (
    attachment_name,
    choice,
    dated,
    day,
    many,
    moment,
    named_or_ref,
    number,
    quantity,
    record,
    ref,
    said,
    text,
    whole,
)
from coop.units.quantity import Quantity

SHEETS_MAX = 2_000
SPOONS_MAX = 100
VOLUME_MIN_ML = 1
VOLUME_MAX_ML = 1_000_000
SPOON_MIN_ML = Fraction(1, 100)
MASS_MIN_G = Fraction(1, 1_000)
MASS_MAX_G = 100_000
LENGTH_MIN_MM = Fraction(1, 10)
LENGTH_MAX_MM = 5_000
LINE_LONG = 300
REST_MAX_H = 240
RUN_OUT_MAX_S = 600
SPREAD_MAX_MM = 300
PARTS_OF_SPLIT_MAX = 4
PACKS_MAX = 1_000
PIECES_MAX = 100_000
SHELF_MAX_DAYS = 36_500
ARRIVE_MAX_DAYS = 365
HEADS_MAX = 200
NEEDS_MAX = 12
PRICE_MAX = 1_000_000
METALS_MAX = 6
METAL_MAX_MG_PER_ML = 5_000
MG_PER_L_MAX = 1_000_000

ROLES = ("member", "coordinator", "safety_officer", "treasurer", "teacher")
SALTS = (
    "aluminium_sulfate_14",
    "aluminium_sulfate_14_3",
    "aluminium_sulfate_16",
    "aluminium_sulfate_18",
    "aluminium_sulfate_anhydrous",
    "potash_alum",
    "ammonium_alum",
)
INSTRUMENTS = (
    "strip_print",
    "dipstick",
    "tape_line",
    "hydrometer",
    "thermometer",
    "scale",
    "funnel",
)
READ_WITH = (
    "dipstick",
    "tape_line",
    "hydrometer",
    "strip_print",
    "thermometer",
    "funnel",
    "drop_test",
    "look",
    "smell",
    "ph_strip",
    "ph_meter",
    "screen",
    "laboratory",
)
"""With what a bath or a jar is read; `screen` is whether it holds lumps and runs freely."""
BATHS = ("alum", "size", "gall_water", "rinse", "paste", "softener")
POWDERS = ("carrageenan", "methylcellulose", "tragacanth", "gum", "gall", "starch", "softener")
"""What a lot or a bath that is not alum is of; `gum` is any other plant gum."""
OTHER_SUPPLIES = (
    "soda",
    "lime",
    "borax",
    "ammonia",
    "bleach",
    "colour",
    "water",
    "gloves",
    "masks",
    "strips",
    "filters",
    "tool",
    "other",
)
"""What else stands on the shelf: each of it is described under a name of its own."""
SUPPLIES = ("alum", "paper", *POWDERS, *OTHER_SUPPLIES)
LOTS = ("alum", "paper", *POWDERS, "supply")
"""What a lot is of; `supply` is one that the co-operative described."""
MEASURES = ("weight", "volume", "sheets", "pieces")
SODAS = ("anhydrous", "monohydrate", "crystals", "bicarbonate")
GRAINS = ("long", "short", "not_known")
GAP_CAUSES = (
    "counting_noise",
    "used",
    "class",
    "not_written_down",
    "spoiled",
    "sold",
    "moved",
    "pack_size",
    "lost",
    "other",
)
"""Why a count differs from what was written, or why a lot is put right without one."""
CANCEL_REASONS = ("not_to_be_had", "too_late", "wrong_thing", "not_needed", "other")
PUT_OFF_REASONS = (
    "asked_somebody",
    "waiting_for_a_price",
    "shop_closed",
    "no_money",
    "not_needed",
    "other",
)
NEEDS = (
    "order",
    "arrival",
    "expiring",
    "look-at-bath",
    "resting-over",
    "stack-stale",
    "count",
    "gap",
    "zero",
    "permission",
    "limits",
    "session-short",
    "jar-must-not-meet",
    "jar-overdue",
    "jar-not-started",
    "jar-no-label",
    "jar-due-soon",
    "jar-full-soon",
    "waste-waiting",
    "waste-late",
    "rules-review",
)
"""What may need somebody today."""
PERMISSIONS = ("alum_bath", "size", "rinse_water", "all_of_it")
ANSWERS = ("yes", "with_conditions", "no")
CARRAGEENANS = ("lambda", "kappa", "iota", "not_known")
MADE_FOR = ("paper", "fabric", "rinse_water")
"""What is treated by a recipe: alum that clears rinse water is no mordant."""
SIDES = ("mark_on_bare_side", "mark_on_alumed_side", "both_sides")
"""Which side the pencil mark is on: the bare one, the alumed one, or both are alumed."""
DRYINGS = ("rack", "line", "blotters")
FLATTENINGS = ("weight", "iron")
STACK_STATES = ("open", "bagged", "damp")
BIN_REASONS = ("stale", "damp", "brown", "stopped_bath", "other")
DRAINS = ("sewer", "septic", "none", "not_known")
RINSE_WAYS = ("sewer", "septic", "jar", "not_known")
PREMISES = ("household", "business")
METHODS = ("dip", "sponge", "brush")
FORMATS = ("full", "half", "quarter")
YES_NO = ("yes", "no")
YES_NO_NOT_KNOWN = (*YES_NO, "not_known")
FAULTS = ("washed_off", "patch", "stripe", "bubble", "ragged", "wrong_side", "other")
OUTCOMES = ("sharp", "soft", "failed")
DROPS = ("round", "ragged", "cloudy_thread", "blob")
LOOKS = ("fine", "skin", "threads", "lumps", "watery", "tinted", "mould")
SMELLS = ("none", "sea", "sharp", "sour", "rotten")
OUTCOMES_OF = MappingProxyType(
    {"strip_print": OUTCOMES, "drop_test": DROPS, "look": LOOKS, "smell": SMELLS}
)
CARES = ("strained", "covered", "uncovered", "chilled", "brought_to_room", "skimmed")
STOP_REASONS = (
    "strip_print_failed",
    "looks_wrong",
    "wrong_dose",
    "washed_off",
    "drop_test_bad",
    "smells_sour",
    "other",
)
CLEAR_REASONS = ("strip_print_sharp", "drop_test_good", "mended", "mistake", "other")
WASTES = (
    "alum_bath",
    "size",
    "rinse_water",
    "colour_rinse",
    "floc",
    "paste",
    "gall_water",
    "softener",
    "leftover",
    "not_known",
)
"""What has to be got rid of; `leftover` is of a lot."""
OUTLETS = ("sewer", "septic", "storm", "ground", "bin", "hauled", "jar")
"""
Where it may go: a sewer, a septic tank, a street or yard drain, the ground, household
rubbish, a tank truck, or a waste jar, which is where it stays.
"""
OUTCOMES_OF_DRAIN = (
    "nothing_forbids",
    "after_steps",
    "ask_first",
    "measure_first",
    "not_yet",
    "keep_in_jar",
    "not_down_here",
)
"""The answers to "may this go down this drain now?", from mild to strict."""
SUBSTANCES = (
    "alum",
    "ammonium_alum",
    "acid",
    "vinegar",
    "ammonia",
    "bleach",
    "soda",
    "chalk",
    "lime",
    "sulfide_pigment",
    "water",
    "colour",
    "other",
)
"""
What may be in a waste or be put into it. `soda` is baking or washing soda, `chalk` a
carbonate that is not soda, `sulfide_pigment` ultramarine, cadmium colours and their like.
"""
HAZARD_TAGS = (
    "flammable",
    "mineral_oil",
    "gives_gas",
    "irritant",
    "corrosive",
    "oxidiser",
    "toxic",
)
METALS = (
    "aluminium",
    "antimony",
    "arsenic",
    "barium",
    "cadmium",
    "chromium",
    "cobalt",
    "copper",
    "iron",
    "lead",
    "manganese",
    "mercury",
    "molybdenum",
    "nickel",
    "selenium",
    "silver",
    "tin",
    "titanium",
    "zinc",
)
"""The metals that a pigment may be made of."""
ANALYTES = (
    "aluminium",
    "alcohol",
    "ammonia",
    "antimony",
    "arsenic",
    "barium",
    "boron",
    "cadmium",
    "chloride",
    "chromium",
    "cobalt",
    "copper",
    "cyanide",
    "dissolved_solids",
    "formaldehyde",
    "iron",
    "lead",
    "manganese",
    "mercury",
    "molybdenum",
    "nickel",
    "oil_and_grease",
    "oxygen_demand_5_days",
    "oxygen_demand_chemical",
    "phosphorus",
    "selenium",
    "silver",
    "sulfate",
    "sulfide",
    "suspended_solids",
    "tin",
    "titanium",
    "water",
    "zinc",
)
NEUTRALISERS = (*SODAS, "lime")
"""The bases that an old alum bath is neutralised with."""
TREATMENTS = ("kept_back", "base_in", "cup_back", "strained")
"""Steps of neutralising: a cup kept back, base put in, the cup poured back, floc strained."""
DRAIN_STEPS = (
    "strain_through_cloth",
    "thin_until_it_runs",
    "settle_overnight",
    "cool",
    "solids_stay_out",
)
"""What is done to a waste so that it may go."""
ANYWAY_REASONS = ("authority_said_so", "already_done", "small_amount", "other")
"""Why something was got rid of against the answer, or without one."""
JAR_SORTS = ("jar", "drum", "can", "bucket")
JAR_AREAS = ("central", "satellite")
MISHAPS = ("wrong_drain", "spill", "foamed_over", "wrong_mix", "closed_and_gassing", "other")
DONE_ABOUT_IT = ("aired", "closed_off", "soaked_up", "rinsed_skin_or_eyes", "called", "nothing")
"""What was done when something went wrong; never who was hurt."""
RETENTIONS = ("employees", "members_only", "ask")
"""For whom the records of the co-operative are kept."""
PACK_EDITION_MAX = 1_000
FINISH_REASONS = (
    "used_up",
    "too_low",
    "tinted",
    "too_weak",
    "replaced",
    "sour",
    "past_its_time",
    "poured_together",
    "neutralised",
    "got_rid_of",
    "other",
)
USE_REASONS = ("only_a_few", "test_sheets", "already_done", "tested_just_now", "other")
WATER_ONLY_REASONS = ("too_strong", "level_only", "already_done", "other")
REVOKE_REASONS = ("lost", "replaced", "member_left", "other")
SETTLED = ("sealed", "left_out")
SETTLE_REASONS = ("right_as_it_is", "written_twice", "not_ours", "mistake", "other")
OPEN_REASONS = (
    "typing_slip",
    "written_twice",
    "wrong_bath",
    "wrong_time",
    "pack_size",
    "undone",
    "other",
)

_litres = quantity("volume", low=VOLUME_MIN_ML, high=VOLUME_MAX_ML)
_grams = quantity("mass", low=MASS_MIN_G, high=MASS_MAX_G)
_length = quantity("length", low=LENGTH_MIN_MM, high=LENGTH_MAX_MM)
_dose_part = quantity("volume", low=SPOON_MIN_ML, high=VOLUME_MAX_ML)
_celsius = quantity("temperature", low=-5, high=60)
_strength = number(Fraction(1, 10), 200)
_days = number(Fraction(1, 2), 365)
_age_days = whole(1, 365)
_shelf_days = whole(1, SHELF_MAX_DAYS)
_arrive_days = whole(0, ARRIVE_MAX_DAYS)
_price = number(0, PRICE_MAX)
_count = number(0, PIECES_MAX)
_some_count = number(Fraction(1, 4), PIECES_MAX)


def _amount(raw: object, where: str) -> Quantity:
    """Read an amount of a powder: weighed (mass) or spooned (volume)."""
    if isinstance(raw, dict) and raw.get("unit") in WEIGHED:
        return _grams(raw, where)  # type: ignore[no-any-return]  # a reader of quantities
    return _dose_part(raw, where)  # type: ignore[no-any-return]  # a reader of quantities


def _water_or_cloth(raw: object, where: str) -> Quantity:
    """Read what a dose goes into: water (volume), or cloth (mass)."""
    if isinstance(raw, dict) and raw.get("unit") in WEIGHED:
        return _grams(raw, where)  # type: ignore[no-any-return]  # a reader of quantities
    return _litres(raw, where)  # type: ignore[no-any-return]  # a reader of quantities


WEIGHED = ("g", "kg", "mg", "lb", "oz")


@dataclass(frozen=True, slots=True, kw_only=True)
class LedgerOpened:
    """The first entry: the co-operative's name, its zone and its first coordinator."""

    name: str = said(text(60))
    zone: str = said(text(40))
    coordinator: Subject = said(ref)


@dataclass(frozen=True, slots=True, kw_only=True)
class StudioDescribed:
    """
    An edition of a studio: its premises, drain, water, instruments and emergency numbers.

    `country` is a code of ISO 3166-1 (two letters); `rinse_agreed` says who agreed to where
    the rinse water goes; `store_coldest` is how cold it gets where baths stand.
    """

    studio: Subject | None = said(ref, optional=True)
    supersedes: Subject | None = said(ref, optional=True)
    name: str = said(text(40))
    letter: str = said(text(3))
    premises: str = said(text(LINE_LONG), optional=True, default="")
    drain: str = said(choice(*DRAINS))
    drain_note: str = said(text(LINE_LONG), optional=True, default="")
    hardness_mg_per_l: Fraction | None = said(number(0, 1000), optional=True)
    instruments: tuple[str, ...] = said(
        many(choice(*INSTRUMENTS), most=len(INSTRUMENTS)), optional=True, default=()
    )
    hydrometer_scale: Quantity | None = said(_celsius, optional=True)
    store_coldest: Quantity | None = said(_celsius, optional=True)
    side_rule: str = said(choice(*SIDES), optional=True, default="mark_on_bare_side")
    country: str = said(text(2), optional=True, default="")
    premises_are: str | None = said(choice(*PREMISES), optional=True)
    rinse_way: str = said(choice(*RINSE_WAYS), optional=True, default="not_known")
    rinse_agreed: str = said(text(LINE_LONG), optional=True, default="")
    emergency: str = said(text())
    poison: str = said(text())


@dataclass(frozen=True, slots=True, kw_only=True)
class VesselDescribed:
    """An edition of a tub: inside floor or litres by mark, brim, lid, place in the room."""

    vessel: Subject | None = said(ref, optional=True)
    supersedes: Subject | None = said(ref, optional=True)
    studio: Subject = said(ref)
    name: str = said(text(40))
    inside_length: Quantity | None = said(_length, optional=True)
    inside_width: Quantity | None = said(_length, optional=True)
    brim: Quantity = said(_litres)
    laying: Quantity | None = said(_litres, optional=True)
    lidded: str = said(choice(*YES_NO))
    place: int = said(whole(1, 999))
    in_use: str = said(choice(*YES_NO), optional=True, default="yes")


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperDescribed:
    """An edition of a paper: parent sheet, weight, chalk, and the strength it wants."""

    paper: Subject | None = said(ref, optional=True)
    supersedes: Subject | None = said(ref, optional=True)
    name: str = said(text(40))
    length: Quantity = said(_length)
    width: Quantity = said(_length)
    weight_g_per_m2: Fraction | None = said(number(5, 1000), optional=True)
    chalk: str = said(choice("none", "some", "not_known"))
    chalk_g_per_m2: Fraction | None = said(number(0, 50), optional=True)
    floor_g_per_l: Fraction | None = said(_strength, optional=True)
    floor_salt: str | None = said(choice(*SALTS), optional=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class RecipePublished:
    """
    An edition of a recipe: the dose as written, and the reading that was picked.

    For alum it names the salt; for any other bath what it is of, and how long it rests and
    keeps where that differs from the house's limits. A dose for cloth may be by its weight:
    then `per` is so much cloth. `printed` and `dated` are what the card says of itself, `card`
    is its picture, `side` what it says is coated.
    """

    recipe: Subject | None = said(ref, optional=True)
    supersedes: Subject | None = said(ref, optional=True)
    name: str = said(text(60))
    dose: str = said(text(80))
    amount: Quantity = said(_amount)
    per: Quantity = said(_water_or_cloth)
    salt: str | None = said(choice(*SALTS), optional=True)
    target_g_per_l: Fraction | None = said(_strength, optional=True)
    what: str = said(choice(*BATHS), optional=True, default="alum")
    powder: str | None = said(choice(*POWDERS), optional=True)
    rest_hours: Fraction | None = said(number(0, REST_MAX_H), optional=True)
    look_again_warm_days: Fraction | None = said(_days, optional=True)
    do_not_use_warm_days: Fraction | None = said(_days, optional=True)
    cap_days: int | None = said(whole(1, 365), optional=True)
    source: str = said(text(), optional=True, default="")
    made_for: str = said(choice(*MADE_FOR), optional=True, default="paper")
    printed: str = said(text(40), optional=True, default="")
    dated: str = said(dated, optional=True, default="")
    side: str | None = said(choice(*SIDES), optional=True)
    card: str = said(attachment_name, optional=True, default="")


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitsSet:
    """An edition of the house limits, and of the house's kinds of measure."""

    supersedes: Subject | None = said(ref, optional=True)
    target_g_per_l: Fraction | None = said(_strength, optional=True)
    target_salt: str | None = said(choice(*SALTS), optional=True)
    look_again_fraction: Fraction = said(number(Fraction(1, 10), 1))
    do_not_use_fraction: Fraction = said(number(Fraction(1, 10), 1))
    strip_print_days: int = said(whole(1, 365))
    laying_depth_mm: int = said(whole(1, 200))
    size_look_again_warm_days: Fraction | None = said(_days, optional=True)
    size_do_not_use_warm_days: Fraction | None = said(_days, optional=True)
    size_cap_days: int | None = said(_age_days, optional=True)
    gall_water_days: int | None = said(_age_days, optional=True)
    rinse_days: int | None = said(_age_days, optional=True)
    paste_days: int | None = said(_age_days, optional=True)
    softener_days: int | None = said(_age_days, optional=True)
    stack_open_days: int | None = said(_age_days, optional=True)
    stack_damp_days: int | None = said(_age_days, optional=True)
    stack_bagged_days: int | None = said(_age_days, optional=True)
    stack_hard_stop_days: int | None = said(_age_days, optional=True)
    records_kept: str | None = said(choice(*RETENTIONS), optional=True)
    gallon: str = said(choice("us", "imp"))
    cup: str = said(choice("us", "metric", "imp"))
    spoon: str = said(choice("us", "metric", "imp", "au"))


@dataclass(frozen=True, slots=True, kw_only=True)
class MemberInvited:
    """A member-to-be and the roles that come with joining."""

    roles: tuple[str, ...] = said(many(choice(*ROLES), most=len(ROLES), least=1))


@dataclass(frozen=True, slots=True, kw_only=True)
class MemberJoined:
    """Somebody took up an invitation; `card` names the attachment with name and initials."""

    member: Subject = said(ref)
    card: str = said(attachment_name)


@dataclass(frozen=True, slots=True, kw_only=True)
class MemberRoleSet:
    """The roles of a member from now on."""

    member: Subject = said(ref)
    roles: tuple[str, ...] = said(many(choice(*ROLES), most=len(ROLES), least=1))


@dataclass(frozen=True, slots=True, kw_only=True)
class MemberLeft:
    """A member has left."""

    member: Subject = said(ref)


@dataclass(frozen=True, slots=True, kw_only=True)
class MetalPart:
    """A metal of a colour's pigment, and the most of it in a millilitre of the colour."""

    metal: str = said(choice(*METALS))
    mg_per_ml: Fraction = said(number(0, METAL_MAX_MG_PER_ML))


@dataclass(frozen=True, slots=True, kw_only=True)
class SupplyDescribed:
    """
    An edition of a supply: the least that should be there, packs, how long it keeps, orders.

    Salts, powders and papers are supplies of their own; of anything else this entry makes one
    with a name and a measure. Weight and volume stand in `floor` and `pack`, full sheets and
    pieces in `floor_count` and `pack_count`. `metals` are those its pigment declares, `sulfide`
    whether that is one of the pigments that give off gas in an acid.
    """

    supply: Subject | None = said(ref, optional=True)
    supersedes: Subject | None = said(ref, optional=True)
    what: str = said(choice(*SUPPLIES))
    salt: str | None = said(choice(*SALTS), optional=True)
    paper: Subject | None = said(ref, optional=True)
    name: str = said(text(40), optional=True, default="")
    measure: str | None = said(choice(*MEASURES), optional=True)
    floor: Quantity | None = said(_amount, optional=True)
    floor_count: int | None = said(whole(0, PIECES_MAX), optional=True)
    pack: Quantity | None = said(_amount, optional=True)
    pack_count: int | None = said(whole(1, PIECES_MAX), optional=True)
    days_to_arrive: int | None = said(_arrive_days, optional=True)
    review_days: int | None = said(_arrive_days, optional=True)
    sealed_days: int | None = said(_shelf_days, optional=True)
    opened_days: int | None = said(_shelf_days, optional=True)
    count_days: int | None = said(_age_days, optional=True)
    sold_by: Subject | None = said(ref, optional=True)
    ordered: str = said(choice(*YES_NO), optional=True, default="yes")
    metals: tuple[MetalPart, ...] = said(
        many(record(MetalPart), most=METALS_MAX), optional=True, default=()
    )
    sulfide: str = said(choice(*YES_NO), optional=True, default="no")


@dataclass(frozen=True, slots=True, kw_only=True)
class SupplierDescribed:
    """An edition of a supplier: how to order, how many sheets are in a ream there."""

    supplier: Subject | None = said(ref, optional=True)
    supersedes: Subject | None = said(ref, optional=True)
    name: str = said(text(60))
    order_by: str = said(text(LINE_LONG), optional=True, default="")
    ream_sheets: int | None = said(whole(1, PIECES_MAX), optional=True)
    days_to_arrive: int | None = said(_arrive_days, optional=True)
    in_use: str = said(choice(*YES_NO), optional=True, default="yes")


@dataclass(frozen=True, slots=True, kw_only=True)
class LotReceived:
    """
    A tub of powder, a parcel of paper or any other supply came in; the lot has this entry's id.

    Weight, volume, sheets and pieces are those of one pack; without `pack_count` there is one.
    `order` names what it was ordered by: with this entry so much of that has arrived.
    """

    studio: Subject = said(ref)
    what: str = said(choice(*LOTS))
    name: str = said(text(40))
    salt: str | None = said(choice(*SALTS), optional=True)
    paper: Subject | None = said(ref, optional=True)
    supply: Subject | None = said(ref, optional=True)
    pack_count: int = said(whole(1, PACKS_MAX), optional=True, default=1)
    weight: Quantity | None = said(_grams, optional=True)
    volume: Quantity | None = said(_litres, optional=True)
    sheet_count: int | None = said(whole(1, PIECES_MAX), optional=True)
    piece_count: int | None = said(whole(1, PIECES_MAX), optional=True)
    carrageenan: str | None = said(choice(*CARRAGEENANS), optional=True)
    chalk: str | None = said(choice("none", "some", "not_known"), optional=True)
    chalk_g_per_m2: Fraction | None = said(number(0, 50), optional=True)
    grain: str | None = said(choice(*GRAINS), optional=True)
    soda: str | None = said(choice(*SODAS), optional=True)
    supplier: str = said(text(60), optional=True, default="")
    sold_by: Subject | None = said(ref, optional=True)
    order: Subject | None = said(ref, optional=True)
    tare: Quantity | None = said(_grams, optional=True)
    best_before: date | None = said(day, optional=True)
    opened_days: int | None = said(_shelf_days, optional=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class LotOpened:
    """The first pack of a lot was opened, and perhaps its empty tub weighed."""

    lot: Subject = said(ref)
    tare: Quantity | None = said(_grams, optional=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class LotCounted:
    """
    What was seen of a lot: unopened packs, and what is in the open one.

    `weight` is what the scale showed, `tare` the tub's part of it; `level` is in quarters of a
    pack; `loose` are full sheets or pieces, a half sheet a half. Nothing said but `empty` means
    that nothing is left. It sets nothing: what differs is shown and asked about.
    """

    lot: Subject = said(ref)
    packs: int | None = said(whole(0, PACKS_MAX), optional=True)
    weight: Quantity | None = said(_grams, optional=True)
    tare: Quantity | None = said(_grams, optional=True)
    volume: Quantity | None = said(_litres, optional=True)
    level: int | None = said(whole(0, 4), optional=True)
    loose: Fraction | None = said(_count, optional=True)
    empty: str = said(choice(*YES_NO), optional=True, default="no")
    counted_with: Subject | None = said(ref, optional=True)
    note: str = said(attachment_name, optional=True, default="")


@dataclass(frozen=True, slots=True, kw_only=True)
class LotMoved:
    """
    A lot, or a part of it, went to another studio.

    A part is a lot from then on, with this entry's id, or was put to one there (`into`).
    """

    lot: Subject = said(ref)
    studio: Subject = said(ref)
    amount: Quantity | None = said(_amount, optional=True)
    count: Fraction | None = said(_some_count, optional=True)
    into: Subject | None = said(ref, optional=True)
    note: str = said(attachment_name, optional=True, default="")


@dataclass(frozen=True, slots=True, kw_only=True)
class LotAdjusted:
    """What stands written of a lot is put right, with the cause; `count` names the count."""

    lot: Subject = said(ref)
    way: str = said(choice("out", "in"))
    amount: Quantity | None = said(_amount, optional=True)
    count: Fraction | None = said(_some_count, optional=True)
    cause: str = said(choice(*GAP_CAUSES))
    counted: Subject | None = said(ref, optional=True)
    note: str = said(attachment_name, optional=True, default="")


@dataclass(frozen=True, slots=True, kw_only=True)
class LotPriced:
    """What a whole lot cost, in the money of the co-operative."""

    lot: Subject = said(ref)
    price: Fraction = said(_price)


@dataclass(frozen=True, slots=True, kw_only=True)
class LotCut:
    """
    Parent sheets of a lot were cut to sheets of another paper: a lot with this entry's id.

    What the sheets made do not take of the parents' area is offcut. `turned` says that their
    long side lay across the parents' long side: so the grain of the one is not the other's.
    """

    lot: Subject = said(ref)
    sheet_count: int = said(whole(1, PIECES_MAX))
    paper: Subject = said(ref)
    made_count: int = said(whole(1, PIECES_MAX))
    turned: str = said(choice(*YES_NO), optional=True, default="no")
    name: str = said(text(40))
    note: str = said(attachment_name, optional=True, default="")


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderPlaced:
    """Packs of a supply were ordered; the order has this entry's id."""

    what: str = said(choice(*LOTS))
    salt: str | None = said(choice(*SALTS), optional=True)
    paper: Subject | None = said(ref, optional=True)
    supply: Subject | None = said(ref, optional=True)
    packs: int = said(whole(1, PACKS_MAX))
    pack: Quantity | None = said(_amount, optional=True)
    pack_count: int | None = said(whole(1, PIECES_MAX), optional=True)
    sold_by: Subject | None = said(ref, optional=True)
    expected: date | None = said(day, optional=True)
    price: Fraction | None = said(_price, optional=True)
    note: str = said(attachment_name, optional=True, default="")


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderCancelled:
    """What has not arrived of an order will not come."""

    order: Subject = said(ref)
    reason: str = said(choice(*CANCEL_REASONS))
    note: str = said(attachment_name, optional=True, default="")


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionNeed:
    """What a session takes of one supply: weight or volume, or full sheets or pieces."""

    what: str = said(choice(*LOTS))
    salt: str | None = said(choice(*SALTS), optional=True)
    paper: Subject | None = said(ref, optional=True)
    supply: Subject | None = said(ref, optional=True)
    amount: Quantity | None = said(_amount, optional=True)
    count: Fraction | None = said(_some_count, optional=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionPlanned:
    """An edition of a booked session: when, where, for how many, and what it needs."""

    session: Subject | None = said(ref, optional=True)
    supersedes: Subject | None = said(ref, optional=True)
    studio: Subject = said(ref)
    name: str = said(text(40))
    starts: datetime = said(moment)
    ends: datetime | None = said(moment, optional=True)
    head_count: int = said(whole(1, HEADS_MAX))
    under_16: str = said(choice(*YES_NO))
    needs: tuple[SessionNeed, ...] = said(
        many(record(SessionNeed), most=NEEDS_MAX), optional=True, default=()
    )
    called_off: str = said(choice(*YES_NO), optional=True, default="no")


@dataclass(frozen=True, slots=True, kw_only=True)
class NeedPutOff:
    """Not today, because: what needs somebody is left until a day."""

    need: str = said(choice(*NEEDS))
    about: str = said(text(80))
    until: date = said(day)
    reason: str = said(choice(*PUT_OFF_REASONS))


@dataclass(frozen=True, slots=True, kw_only=True)
class PermissionRecorded:
    """
    Whom a studio asked about its drain, when, and what they answered.

    Without an outlet it is the studio's own drain.
    """

    studio: Subject = said(ref)
    about: str = said(choice(*PERMISSIONS))
    asked: str = said(text(60))
    asked_on: date = said(day)
    reference: str = said(text(60), optional=True, default="")
    answer: str = said(choice(*ANSWERS))
    conditions: str = said(text(LINE_LONG), optional=True, default="")
    outlet: str | None = said(choice(*OUTLETS), optional=True)
    review_on: date | None = said(day, optional=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class RulesPublished:
    """
    An edition of a studio's rules for its drain, as a document that is kept with the ledger.

    `letter` is a picture of what they were copied from.
    """

    studio: Subject = said(ref)
    rules: Subject | None = said(ref, optional=True)
    supersedes: Subject | None = said(ref, optional=True)
    pack: str = said(text(40))
    pack_edition: int = said(whole(1, PACK_EDITION_MAX))
    document: str = said(attachment_name)
    checked_on: date = said(day)
    review_on: date = said(day)
    letter: str = said(attachment_name, optional=True, default="")
    in_use: str = said(choice(*YES_NO), optional=True, default="yes")


@dataclass(frozen=True, slots=True, kw_only=True)
class LotSpoonWeighed:
    """Level spoons of a lot were weighed together (ten, as a rule)."""

    lot: Subject = said(ref)
    spoon_count: int = said(whole(1, SPOONS_MAX))
    spoon: str = said(
        choice(
            "us_tsp", "us_tbsp", "us_cup", "metric_tsp", "metric_tbsp", "metric_cup",
            "imp_tsp", "imp_tbsp", "imp_cup", "au_tbsp",
        )
    )  # fmt: skip
    weight: Quantity = said(_grams)


@dataclass(frozen=True, slots=True, kw_only=True)
class SaltPart:
    """An amount of salt out of one lot."""

    lot: Subject = said(ref)
    amount: Quantity = said(_amount)


@dataclass(frozen=True, slots=True, kw_only=True)
class PowderPart:
    """An amount of what a bath other than alum is made of, out of a lot where there is one."""

    powder: str = said(choice(*POWDERS))
    lot: Subject | None = said(ref, optional=True)
    amount: Quantity = said(_amount)


@dataclass(frozen=True, slots=True, kw_only=True)
class BathMixed:
    """
    A bath was mixed: water put in, salt or powder by lot. The bath has this entry's id.

    A bath of alum is of salt; a size, gall water, rinse, paste or softener of powder, or of
    water alone.
    """

    name: str = said(text(20))
    what: str = said(choice(*BATHS), optional=True, default="alum")
    studio: Subject = said(ref)
    vessel: Subject = said(ref)
    recipe: Subject | None = said(ref, optional=True)
    dose: str = said(text(80), optional=True, default="")
    water: Quantity = said(_litres)
    salt: tuple[SaltPart, ...] = said(
        many(record(SaltPart), most=4, least=1), optional=True, default=()
    )
    powder: tuple[PowderPart, ...] = said(
        many(record(PowderPart), most=4, least=1), optional=True, default=()
    )
    guessed: str = said(choice(*YES_NO), optional=True, default="no")
    session: Subject | None = said(ref, optional=True)
    note: str = said(attachment_name, optional=True, default="")


@dataclass(frozen=True, slots=True, kw_only=True)
class BathToppedUp:
    """Water, salt, powder or some of each went into a bath; water alone wants a reason."""

    bath: Subject = said(ref)
    water: Quantity | None = said(_litres, optional=True)
    salt: tuple[SaltPart, ...] = said(
        many(record(SaltPart), most=4, least=1), optional=True, default=()
    )
    powder: tuple[PowderPart, ...] = said(
        many(record(PowderPart), most=4, least=1), optional=True, default=()
    )
    reason: str = said(choice(*WATER_ONLY_REASONS), optional=True, default="")
    note: str = said(attachment_name, optional=True, default="")


@dataclass(frozen=True, slots=True, kw_only=True)
class SplitPart:
    """Litres poured off into another vessel, under a name of their own."""

    vessel: Subject = said(ref)
    name: str = said(text(20))
    litres: Quantity = said(_litres)


@dataclass(frozen=True, slots=True, kw_only=True)
class BathSplit:
    """
    A bath was poured off into other vessels: each part is a bath from then on.

    The first part has this entry's id, the second that id and ':2', and so on.
    """

    bath: Subject = said(ref)
    parts: tuple[SplitPart, ...] = said(
        many(record(SplitPart), most=PARTS_OF_SPLIT_MAX, least=1)
    )
    note: str = said(attachment_name, optional=True, default="")


@dataclass(frozen=True, slots=True, kw_only=True)
class BathJoined:
    """Liquid of another bath was poured in; without litres all of it, and that one is over."""

    bath: Subject = said(ref)
    giver: Subject = said(ref)
    litres: Quantity | None = said(_litres, optional=True)
    note: str = said(attachment_name, optional=True, default="")


@dataclass(frozen=True, slots=True, kw_only=True)
class BathCarried:
    """A bath now stands in another vessel, perhaps of another studio."""

    bath: Subject = said(ref)
    vessel: Subject = said(ref)
    note: str = said(attachment_name, optional=True, default="")


@dataclass(frozen=True, slots=True, kw_only=True)
class BathKeptFor:
    """A bath is kept for somebody or for a session; for neither, it is free again."""

    bath: Subject = said(ref)
    member: Subject | None = said(ref, optional=True)
    session: str = said(text(40), optional=True, default="")
    until: datetime | None = said(moment, optional=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class BathCared:
    """A bath was strained, skimmed, covered, uncovered, chilled or brought to the room."""

    bath: Subject = said(ref)
    care: str = said(choice(*CARES))


@dataclass(frozen=True, slots=True, kw_only=True)
class BathStopped:
    """A person stopped a bath."""

    bath: Subject = said(ref)
    reason: str = said(choice(*STOP_REASONS))
    note: str = said(attachment_name, optional=True, default="")


@dataclass(frozen=True, slots=True, kw_only=True)
class BathCleared:
    """A person allowed a bath again."""

    bath: Subject = said(ref)
    reason: str = said(choice(*CLEAR_REASONS))
    note: str = said(attachment_name, optional=True, default="")


@dataclass(frozen=True, slots=True, kw_only=True)
class BathFinished:
    """A bath is out of use; its litres stay to be got rid of."""

    bath: Subject = said(ref)
    reason: str = said(choice(*FINISH_REASONS))
    note: str = said(attachment_name, optional=True, default="")


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingTaken:
    """
    A reading of a bath: level, gravity with temperature, a print, a drop, look or smell.

    `outcome` is one of `OUTCOMES_OF` the instrument. A smell is written only of a bath whose
    tag could be read. A waste jar is read for its drain: pH with one step of the scale and how
    far off a meter was at its last check, lumps, or what a laboratory found `of` something.
    """

    bath: Subject | None = said(ref, optional=True)
    jar: Subject | None = said(ref, optional=True)
    instrument: str = said(choice(*READ_WITH))
    depth: Quantity | None = said(_length, optional=True)
    litres: Quantity | None = said(_litres, optional=True)
    gravity: Fraction | None = said(number(Fraction(9, 10), Fraction(13, 10)), optional=True)
    temperature: Quantity | None = said(_celsius, optional=True)
    outcome: str | None = said(choice(*OUTCOMES, *DROPS, *LOOKS, *SMELLS), optional=True)
    spread_mm: Fraction | None = said(number(1, SPREAD_MAX_MM), optional=True)
    funnel: str = said(text(30), optional=True, default="")
    seconds: Fraction | None = said(number(1, RUN_OUT_MAX_S), optional=True)
    water_seconds: Fraction | None = said(number(1, RUN_OUT_MAX_S), optional=True)
    tag_read: str = said(choice(*YES_NO), optional=True, default="no")
    ph: Fraction | None = said(number(0, 14), optional=True)
    step: Fraction | None = said(number(Fraction(1, 1000), 2), optional=True)
    off_at_check: Fraction | None = said(number(-3, 3), optional=True)
    lumps: str | None = said(choice(*YES_NO), optional=True)
    runs: str | None = said(choice(*YES_NO), optional=True)
    of: str | None = said(choice(*ANALYTES), optional=True)
    mg_per_l: Fraction | None = said(number(0, MG_PER_L_MAX), optional=True)
    not_detected: str = said(choice(*YES_NO), optional=True, default="no")


@dataclass(frozen=True, slots=True, kw_only=True)
class InstrumentChecked:
    """A hydrometer was read in plain tap water: its zero."""

    studio: Subject = said(ref)
    instrument: str = said(choice("hydrometer"))
    gravity: Fraction = said(number(Fraction(9, 10), Fraction(11, 10)))
    temperature: Quantity = said(_celsius)


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetsThrough:
    """
    Sheets went through an alum bath, were laid on a size, or both.

    Through alum they make a stack, which has this entry's id; laid on a size they are taken
    from the stack named, or from the one they make. Through alum with a stack named, they are
    that stack's own, alumed once more. `hands` names who did it, where another writes it down,
    as from a card.
    """

    bath: Subject | None = said(ref, optional=True)
    sheet_count: int = said(whole(1, SHEETS_MAX))
    sheet_format: str = said(choice(*FORMATS))
    method: str = said(choice(*METHODS), optional=True, default="")
    lot: Subject | None = said(ref, optional=True)
    paper: Subject | None = said(ref, optional=True)
    took_out: Quantity | None = said(_litres, optional=True)
    put_back: Quantity | None = said(
        quantity("volume", low=-1, high=VOLUME_MAX_ML), optional=True
    )
    open_hours: Fraction | None = said(number(0, 72), optional=True)
    stack: Subject | None = said(ref, optional=True)
    size: Subject | None = said(ref, optional=True)
    side: str | None = said(choice(*SIDES), optional=True)
    damp: str = said(choice(*YES_NO), optional=True, default="no")
    session: Subject | None = said(ref, optional=True)
    hands: Subject | None = said(ref, optional=True)
    reason: str = said(choice(*USE_REASONS), optional=True, default="")
    note: str = said(attachment_name, optional=True, default="")


_some = whole(0, SHEETS_MAX)


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetsSorted:
    """How sheets of a stack came out, in parts: good, or spoiled by one of six words."""

    stack: Subject = said(ref)
    good: int = said(_some, optional=True, default=0)
    washed_off: int = said(_some, optional=True, default=0)
    patch: int = said(_some, optional=True, default=0)
    stripe: int = said(_some, optional=True, default=0)
    bubble: int = said(_some, optional=True, default=0)
    ragged: int = said(_some, optional=True, default=0)
    wrong_side: int = said(_some, optional=True, default=0)
    other: int = said(_some, optional=True, default=0)
    size: Subject | None = said(ref, optional=True)
    keep: str = said(choice(*YES_NO), optional=True, default="no")
    colours: str = said(text(LINE_LONG), optional=True, default="")
    photo: str = said(attachment_name, optional=True, default="")
    note: str = said(attachment_name, optional=True, default="")


@dataclass(frozen=True, slots=True, kw_only=True)
class StackDried:
    """A stack of alumed sheets was hung, racked, or laid between blotters and boards."""

    stack: Subject = said(ref)
    how: str = said(choice(*DRYINGS))


@dataclass(frozen=True, slots=True, kw_only=True)
class StackFlattened:
    """A stack of alumed sheets was pressed or ironed."""

    stack: Subject = said(ref)
    how: str = said(choice(*FLATTENINGS))


@dataclass(frozen=True, slots=True, kw_only=True)
class StackPutAway:
    """A stack lies open, in a closed bag, or damp."""

    stack: Subject = said(ref)
    state: str = said(choice(*STACK_STATES))
    place: str = said(text(40), optional=True, default="")


@dataclass(frozen=True, slots=True, kw_only=True)
class StackTested:
    """A strip print of a corner of a stack's sheets: sharp, soft or failed."""

    stack: Subject = said(ref)
    outcome: str = said(choice(*OUTCOMES))


@dataclass(frozen=True, slots=True, kw_only=True)
class StackBinned:
    """Alumed sheets of a stack were thrown away before any colour."""

    stack: Subject = said(ref)
    sheet_count: int = said(whole(1, SHEETS_MAX))
    reason: str = said(choice(*BIN_REASONS))
    note: str = said(attachment_name, optional=True, default="")


@dataclass(frozen=True, slots=True, kw_only=True)
class StackWarningSeen:
    """Somebody has seen what was said about the bath their stack comes from."""

    stack: Subject = said(ref)
    about: Subject = said(ref)


@dataclass(frozen=True, slots=True, kw_only=True)
class PickupLearned:
    """A coordinator takes over what readings showed of a paper: liquid by area and method."""

    paper: Subject = said(ref)
    method: str = said(choice(*METHODS))
    ml_per_m2: Fraction = said(number(1, 2_000))
    low_ml_per_m2: Fraction = said(number(1, 2_000))
    high_ml_per_m2: Fraction = said(number(1, 2_000))
    pair_count: int = said(whole(1, 100_000))


@dataclass(frozen=True, slots=True, kw_only=True)
class JugFound:
    """A vessel with liquid and no tag was found, closed, and left where it stands."""

    studio: Subject = said(ref)
    where: str = said(text(40))
    litres: Quantity | None = said(_litres, optional=True)
    look: str = said(choice("clear", "thick", "cloudy", "coloured", "not_looked"))
    note: str = said(attachment_name, optional=True, default="")


@dataclass(frozen=True, slots=True, kw_only=True)
class JugKnown:
    """A person says what is in a jug: a bath of the ledger, or that nobody knows."""

    jug: Subject = said(ref)
    bath: Subject | None = said(ref, optional=True)
    made_it: str = said(choice(*YES_NO))


@dataclass(frozen=True, slots=True, kw_only=True)
class JarVouched:
    """A person vouches for what is in a jug that had no tag: from then on it is that waste."""

    jug: Subject = said(ref)
    waste: str = said(choice(*WASTES[:-1]))
    bath: Subject | None = said(ref, optional=True)
    litres: Quantity | None = said(_litres, optional=True)
    substances: tuple[str, ...] = said(
        many(choice(*SUBSTANCES), most=len(SUBSTANCES)), optional=True, default=()
    )
    metal_pigments: str = said(choice(*YES_NO_NOT_KNOWN))
    made_it: str = said(choice(*YES_NO), optional=True, default="yes")
    note: str = said(attachment_name, optional=True, default="")


@dataclass(frozen=True, slots=True, kw_only=True)
class DisposalJudged:
    """
    What the rules said of something at an outlet, frozen with the facts it was judged by.

    The decision is an attachment; a later edition of a rule never rewrites it.
    """

    studio: Subject = said(ref)
    waste: str = said(choice(*WASTES))
    outlet: str = said(choice(*OUTLETS))
    bath: Subject | None = said(ref, optional=True)
    jar: Subject | None = said(ref, optional=True)
    jug: Subject | None = said(ref, optional=True)
    lot: Subject | None = said(ref, optional=True)
    litres: Quantity | None = said(_litres, optional=True)
    outcome: str = said(choice(*OUTCOMES_OF_DRAIN))
    decision: str = said(attachment_name)
    note: str = said(attachment_name, optional=True, default="")


@dataclass(frozen=True, slots=True, kw_only=True)
class DisposalTreated:
    """A step of neutralising an old bath or a jar: what was kept back, put in, strained."""

    studio: Subject = said(ref)
    bath: Subject | None = said(ref, optional=True)
    jar: Subject | None = said(ref, optional=True)
    step: str = said(choice(*TREATMENTS))
    base: str | None = said(choice(*NEUTRALISERS), optional=True)
    weight: Quantity | None = said(_grams, optional=True)
    lot: Subject | None = said(ref, optional=True)
    litres: Quantity | None = said(_litres, optional=True)
    note: str = said(attachment_name, optional=True, default="")


@dataclass(frozen=True, slots=True, kw_only=True)
class DisposalDone:
    """
    Something was got rid of: down a drain, into the bin, or wherever it went.

    Of a bath or jar without litres it is all that is left, and that one is gone. Rinse water
    and what is of no bath has litres, or the sheets that were rinsed, or a weight. `without`
    are steps that the rules asked for and that nobody did.
    """

    studio: Subject = said(ref)
    waste: str = said(choice(*WASTES))
    outlet: str = said(choice(*OUTLETS, "not_known"))
    bath: Subject | None = said(ref, optional=True)
    jar: Subject | None = said(ref, optional=True)
    jug: Subject | None = said(ref, optional=True)
    lot: Subject | None = said(ref, optional=True)
    litres: Quantity | None = said(_litres, optional=True)
    weight: Quantity | None = said(_grams, optional=True)
    sheet_count: int | None = said(whole(1, SHEETS_MAX), optional=True)
    steps: tuple[str, ...] = said(
        many(choice(*DRAIN_STEPS), most=len(DRAIN_STEPS)), optional=True, default=()
    )
    without: tuple[str, ...] = said(
        many(choice(*DRAIN_STEPS), most=len(DRAIN_STEPS)), optional=True, default=()
    )
    outcome: str | None = said(choice(*OUTCOMES_OF_DRAIN), optional=True)
    decision: str = said(attachment_name, optional=True, default="")
    reason: str = said(choice(*ANYWAY_REASONS), optional=True, default="")
    note: str = said(attachment_name, optional=True, default="")


@dataclass(frozen=True, slots=True, kw_only=True)
class WasteStarted:
    """A waste jar, drum or can was set up; it has this entry's id."""

    studio: Subject = said(ref)
    name: str = said(text(40))
    sort: str = said(choice(*JAR_SORTS))
    holds: Quantity = said(_litres)
    wastes: tuple[str, ...] = said(many(choice(*WASTES), most=len(WASTES), least=1))
    place: str = said(text(40), optional=True, default="")
    area: str | None = said(choice(*JAR_AREAS), optional=True)
    tags: tuple[str, ...] = said(
        many(choice(*HAZARD_TAGS), most=len(HAZARD_TAGS)), optional=True, default=()
    )
    full_by: date | None = said(day, optional=True)
    collect_by: date | None = said(day, optional=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class WasteAdded:
    """
    Something went into a waste jar; of a bath without litres all that is left of it.

    `hazardous` and `acute` say what the rules in force made of it; `since` is when what comes
    out of another jar began to gather, `wastes` what else is in that besides `waste`.
    """

    studio: Subject = said(ref)
    jar: Subject = said(ref)
    waste: str = said(choice(*WASTES))
    bath: Subject | None = said(ref, optional=True)
    jug: Subject | None = said(ref, optional=True)
    lot: Subject | None = said(ref, optional=True)
    from_jar: Subject | None = said(ref, optional=True)
    since: date | None = said(day, optional=True)
    wastes: tuple[str, ...] = said(
        many(choice(*WASTES), most=len(WASTES)), optional=True, default=()
    )
    litres: Quantity | None = said(_litres, optional=True)
    weight: Quantity | None = said(_grams, optional=True)
    sheet_count: int | None = said(whole(1, SHEETS_MAX), optional=True)
    substances: tuple[str, ...] = said(
        many(choice(*SUBSTANCES), most=len(SUBSTANCES)), optional=True, default=()
    )
    metal_pigments: str = said(choice(*YES_NO_NOT_KNOWN), optional=True, default="not_known")
    hazardous: str = said(choice(*YES_NO_NOT_KNOWN), optional=True, default="not_known")
    acute: str = said(choice(*YES_NO), optional=True, default="no")
    full: str = said(choice(*YES_NO), optional=True, default="no")
    note: str = said(attachment_name, optional=True, default="")


@dataclass(frozen=True, slots=True, kw_only=True)
class WasteCollected:
    """Somebody who may took a waste jar's contents away, perhaps with the jar itself."""

    studio: Subject = said(ref)
    jar: Subject = said(ref)
    by: str = said(text(60))
    to: str = said(text(60), optional=True, default="")
    reference: str = said(text(60), optional=True, default="")
    litres: Quantity | None = said(_litres, optional=True)
    jar_gone: str = said(choice(*YES_NO), optional=True, default="no")
    note: str = said(attachment_name, optional=True, default="")


@dataclass(frozen=True, slots=True, kw_only=True)
class WasteCarried:
    """An old bath or a waste jar was carried from studio to studio, and in which vessel."""

    bath: Subject | None = said(ref, optional=True)
    jar: Subject | None = said(ref, optional=True)
    from_studio: Subject = said(ref)
    studio: Subject = said(ref)
    carried_in: str = said(text(40), optional=True, default="")
    note: str = said(attachment_name, optional=True, default="")


@dataclass(frozen=True, slots=True, kw_only=True)
class MishapNoted:
    """
    Something went wrong: what, where, what was done, whom somebody called; never who was hurt.

    Of a bath or jar, litres say what of it went; without them it is all there as before.
    """

    studio: Subject = said(ref)
    what: str = said(choice(*MISHAPS))
    waste: str | None = said(choice(*WASTES), optional=True)
    outlet: str | None = said(choice(*OUTLETS), optional=True)
    bath: Subject | None = said(ref, optional=True)
    jar: Subject | None = said(ref, optional=True)
    litres: Quantity | None = said(_litres, optional=True)
    done: tuple[str, ...] = said(
        many(choice(*DONE_ABOUT_IT), most=len(DONE_ABOUT_IT)), optional=True, default=()
    )
    called: str = said(text(60), optional=True, default="")
    photo: str = said(attachment_name, optional=True, default="")
    note: str = said(attachment_name, optional=True, default="")


@dataclass(frozen=True, slots=True, kw_only=True)
class FindingJudged:
    """A person judged a finding: it stands as it is, with a reason."""

    subject: Subject = said(named_or_ref("house", "ledger"))
    code: str = said(text(40))
    entry: Subject = said(ref)
    reason: str = said(choice("both_right", "seen", "mended", "other"))
    note: str = said(attachment_name, optional=True, default="")


@dataclass(frozen=True, slots=True, kw_only=True)
class SaidTime:
    """A time as a person typed it, and how exact it is."""

    typed: str = said(text(40))
    precision: str = said(choice("minute", "part_of_day", "day"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Replacement:
    """The whole content that stands in an entry's place; its kind stays."""

    author: Subject = said(ref)
    happened_at: datetime = said(moment)
    body: dict[str, object] = said(lambda raw, where: _body(raw, where))
    said: SaidTime | None = said(record(SaidTime), optional=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class EntryCorrected:
    """A correction: the original is void, replaced, or restored."""

    target: Subject = said(ref)
    outcome: str = said(choice("void", "replace", "restore"))
    content: Replacement | None = said(record(Replacement), optional=True)
    reason: str = said(choice(*OPEN_REASONS))
    supersedes: tuple[Subject, ...] = said(many(ref, most=50), optional=True, default=())
    note: str = said(attachment_name, optional=True, default="")


@dataclass(frozen=True, slots=True, kw_only=True)
class AttachmentErased:
    """The bytes of a personal attachment are to be removed everywhere."""

    attachment: str = said(attachment_name)
    reason: str = said(choice("asked_by_the_person", "mistake", "other"))


@dataclass(frozen=True, slots=True, kw_only=True)
class DeviceEnrolled:
    """A phone or a shared tablet may write for its author; the device has this entry's id."""

    name: str = said(text(40))
    shared: str = said(choice(*YES_NO))


@dataclass(frozen=True, slots=True, kw_only=True)
class DeviceMemberAdded:
    """Another member writes on a device."""

    device: Subject = said(ref)
    member: Subject = said(ref)


@dataclass(frozen=True, slots=True, kw_only=True)
class DeviceMemberRemoved:
    """A member does not write on a device any more."""

    device: Subject = said(ref)
    member: Subject = said(ref)


@dataclass(frozen=True, slots=True, kw_only=True)
class DeviceRevoked:
    """Nothing is taken from a device any more."""

    device: Subject = said(ref)
    reason: str = said(choice(*REVOKE_REASONS))


@dataclass(frozen=True, slots=True, kw_only=True)
class DraftSettled:
    """A person decided on what a device sent and the table did not let through."""

    draft: Subject = said(ref)
    device: Subject = said(ref)
    outcome: str = said(choice(*SETTLED))
    reason: str = said(choice(*SETTLE_REASONS))
    note: str = said(attachment_name, optional=True, default="")


def _body(raw: object, where: str) -> dict[str, object]:
    return dict(raw) if isinstance(raw, dict) else {}


Content = (
    LedgerOpened
    | StudioDescribed
    | VesselDescribed
    | PaperDescribed
    | RecipePublished
    | LimitsSet
    | MemberInvited
    | MemberJoined
    | MemberRoleSet
    | MemberLeft
    | SupplyDescribed
    | SupplierDescribed
    | LotReceived
    | LotOpened
    | LotSpoonWeighed
    | LotCounted
    | LotMoved
    | LotAdjusted
    | LotPriced
    | LotCut
    | OrderPlaced
    | OrderCancelled
    | SessionPlanned
    | NeedPutOff
    | PermissionRecorded
    | RulesPublished
    | BathMixed
    | BathToppedUp
    | BathSplit
    | BathJoined
    | BathCarried
    | BathKeptFor
    | BathCared
    | BathStopped
    | BathCleared
    | BathFinished
    | ReadingTaken
    | InstrumentChecked
    | SheetsThrough
    | SheetsSorted
    | StackDried
    | StackFlattened
    | StackPutAway
    | StackTested
    | StackBinned
    | StackWarningSeen
    | PickupLearned
    | JugFound
    | JugKnown
    | JarVouched
    | DisposalJudged
    | DisposalTreated
    | DisposalDone
    | WasteStarted
    | WasteAdded
    | WasteCollected
    | WasteCarried
    | MishapNoted
    | FindingJudged
    | EntryCorrected
    | AttachmentErased
    | DeviceEnrolled
    | DeviceMemberAdded
    | DeviceMemberRemoved
    | DeviceRevoked
    | DraftSettled
)
