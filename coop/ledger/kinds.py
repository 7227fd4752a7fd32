"""
What can be said: one content class per kind of entry.

A field name is the wire's key and the form's field name. Quantities stay as typed; nothing
here is worked out. Limits are the widest a co-operative could mean, not house rules.
"""

from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction
from types import MappingProxyType

from coop.ids import Subject
from coop.ledger.schema import (
    attachment_name,
    choice,
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

ROLES = ("member", "coordinator", "safety_officer", "treasurer", "teacher")
SALTS = ("aluminium_sulfate_14", "aluminium_sulfate_18", "potash_alum", "ammonium_alum")
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
)
BATHS = ("alum", "size", "gall_water", "rinse", "paste", "softener")
POWDERS = ("carrageenan", "methylcellulose", "tragacanth", "gum", "gall", "starch", "softener")
"""What a lot or a bath that is not alum is of; `gum` is any other plant gum."""
CARRAGEENANS = ("lambda", "kappa", "iota", "not_known")
SIDES = ("mark_on_bare_side", "mark_on_alumed_side", "both_sides")
"""Which side the pencil mark is on: the bare one, the alumed one, or both are alumed."""
DRYINGS = ("rack", "line", "blotters")
FLATTENINGS = ("weight", "iron")
STACK_STATES = ("open", "bagged", "damp")
BIN_REASONS = ("stale", "damp", "brown", "stopped_bath", "other")
DRAINS = ("sewer", "septic", "none", "not_known")
METHODS = ("dip", "sponge", "brush")
FORMATS = ("full", "half", "quarter")
YES_NO = ("yes", "no")
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
FINISH_REASONS = (
    "used_up",
    "too_low",
    "tinted",
    "too_weak",
    "replaced",
    "sour",
    "past_its_time",
    "poured_together",
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


def _amount(raw: object, where: str) -> Quantity:
    """Read an amount of a powder: weighed (mass) or spooned (volume)."""
    if isinstance(raw, dict) and raw.get("unit") in WEIGHED:
        return _grams(raw, where)  # type: ignore[no-any-return]  # a reader of quantities
    return _dose_part(raw, where)  # type: ignore[no-any-return]  # a reader of quantities


WEIGHED = ("g", "kg", "mg", "lb", "oz")


@dataclass(frozen=True, slots=True, kw_only=True)
class LedgerOpened:
    """The first entry: the co-operative's name, its zone and its first coordinator."""

    name: str = said(text(60))
    zone: str = said(text(40))
    coordinator: Subject = said(ref)


@dataclass(frozen=True, slots=True, kw_only=True)
class StudioDescribed:
    """An edition of a studio: its premises, drain, water, instruments and emergency numbers."""

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
    side_rule: str = said(choice(*SIDES), optional=True, default="mark_on_bare_side")
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
    keeps where that differs from the house's limits.
    """

    recipe: Subject | None = said(ref, optional=True)
    supersedes: Subject | None = said(ref, optional=True)
    name: str = said(text(60))
    dose: str = said(text(80))
    amount: Quantity = said(_amount)
    per: Quantity = said(_litres)
    salt: str | None = said(choice(*SALTS), optional=True)
    target_g_per_l: Fraction | None = said(_strength, optional=True)
    what: str = said(choice(*BATHS), optional=True, default="alum")
    powder: str | None = said(choice(*POWDERS), optional=True)
    rest_hours: Fraction | None = said(number(0, REST_MAX_H), optional=True)
    look_again_warm_days: Fraction | None = said(_days, optional=True)
    do_not_use_warm_days: Fraction | None = said(_days, optional=True)
    cap_days: int | None = said(whole(1, 365), optional=True)
    source: str = said(text(), optional=True, default="")


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
class LotReceived:
    """A tub of powder or a parcel of paper came in; the lot has this entry's id."""

    studio: Subject = said(ref)
    what: str = said(choice("alum", "paper", *POWDERS))
    name: str = said(text(40))
    salt: str | None = said(choice(*SALTS), optional=True)
    paper: Subject | None = said(ref, optional=True)
    weight: Quantity | None = said(_grams, optional=True)
    sheet_count: int | None = said(whole(1, 100_000), optional=True)
    carrageenan: str | None = said(choice(*CARRAGEENANS), optional=True)
    chalk: str | None = said(choice("none", "some", "not_known"), optional=True)
    chalk_g_per_m2: Fraction | None = said(number(0, 50), optional=True)
    supplier: str = said(text(60), optional=True, default="")


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
    tag could be read.
    """

    bath: Subject = said(ref)
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
    that stack's own, alumed once more.
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
    | LotReceived
    | LotSpoonWeighed
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
    | FindingJudged
    | EntryCorrected
    | AttachmentErased
    | DeviceEnrolled
    | DeviceMemberAdded
    | DeviceMemberRemoved
    | DeviceRevoked
    | DraftSettled
)
