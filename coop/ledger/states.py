"""What folds come to: one frozen class per sort of subject. Plain values, floats in SI."""

from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import NamedTuple

from coop.ids import EntryId, MemberId, Subject
from coop.ledger.part_of_day import MINUTE
from coop.units.table import MASS, UNITS


@dataclass(frozen=True, slots=True, kw_only=True)
class LedgerState:
    """The co-operative."""

    name: str
    zone: str
    coordinator: MemberId
    opened_at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class MemberState:
    """A member: roles and the name of the card; who was only invited has not joined."""

    id: MemberId
    roles: tuple[str, ...] = ()
    card: str = ""
    joined_at: datetime | None = None
    left_at: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class DeviceState:
    """A phone or shared tablet that keeps what is written without signal, and who writes."""

    id: Subject
    name: str
    shared: bool
    enrolled_by: MemberId
    enrolled_at: datetime
    members: tuple[MemberId, ...]
    revoked_at: datetime | None = None
    revoked_reason: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Zero:
    """A hydrometer read in plain tap water."""

    at: datetime
    by: MemberId
    gravity: float
    water_c: float


@dataclass(frozen=True, slots=True, kw_only=True)
class StudioState:
    """A studio by its edition in force, with its hydrometer's zeros."""

    id: Subject
    edition: EntryId
    name: str
    letter: str
    premises: str
    drain: str
    drain_note: str
    hardness_mg_per_l: float | None
    instruments: tuple[str, ...]
    hydrometer_scale_c: float
    emergency: str
    poison: str
    side_rule: str = "mark_on_bare_side"
    country: str = ""
    premises_are: str = ""
    rinse_way: str = "not_known"
    rinse_agreed: str = ""
    store_coldest_c: float | None = None
    zeros: tuple[Zero, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class VesselState:
    """A tub by its edition in force, with the last bath that was mixed in it."""

    id: Subject
    edition: EntryId
    studio: Subject
    name: str
    area_m2: float | None
    brim_ml: float
    laying_ml: float | None
    lidded: bool
    place: int
    in_use: bool
    last_bath: Subject | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Pickup:
    """What readings showed a paper to take with it by a method; taken over by a person."""

    method: str
    ml_per_m2: float
    low_ml_per_m2: float
    high_ml_per_m2: float
    pair_count: int
    at: datetime
    by: MemberId


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperState:
    """A paper by its edition in force; areas of the parent sheet."""

    id: Subject
    edition: EntryId
    name: str
    length_mm: float
    width_mm: float
    weight_g_per_m2: float | None
    chalk: str
    chalk_g_per_m2: float | None
    floor_g_per_l: float | None
    floor_salt: str | None
    pickups: tuple[Pickup, ...] = ()

    @property
    def area_m2(self) -> float:
        return self.length_mm * self.width_mm / 1e6


@dataclass(frozen=True, slots=True, kw_only=True)
class RecipeState:
    """
    A recipe by its edition in force: of alum with its salt, else of what it is made of.

    Hours of rest and days it keeps are None where the house's limits hold. `per_unit` is one of
    weight where the dose is by the weight of the cloth; `card` names the picture of the card.
    """

    id: Subject
    edition: EntryId
    name: str
    dose: str
    amount_n: str
    amount_unit: str
    amount_heap: str
    per_n: str
    per_unit: str
    salt: str | None
    target_g_per_l: float | None
    source: str
    what: str = "alum"
    powder: str | None = None
    rest_hours: float | None = None
    look_again_warm_days: float | None = None
    do_not_use_warm_days: float | None = None
    cap_days: int | None = None
    made_for: str = "paper"
    printed: str = ""
    dated: str = ""
    side: str | None = None
    card: str = ""

    @property
    def for_paper(self) -> bool:
        """Whether what is treated by it is paper, as the house's strength is for."""
        return self.made_for == "paper"

    @property
    def by_cloth(self) -> bool:
        """Whether the dose is by the weight of the cloth, so that it is no strength."""
        return UNITS[self.per_unit].dimension == MASS


@dataclass(frozen=True, slots=True, kw_only=True)
class HouseState:
    """
    The house limits' edition in force, and the house's kinds of measure.

    What is None was never said: the default holds (`coop.rules.limits`).
    """

    edition: EntryId
    set_at: datetime
    target_g_per_l: float | None
    target_salt: str | None
    look_again_fraction: float
    do_not_use_fraction: float
    strip_print_days: int
    laying_depth_mm: int
    gallon: str
    cup: str
    spoon: str
    size_look_again_warm_days: float | None = None
    size_do_not_use_warm_days: float | None = None
    size_cap_days: int | None = None
    gall_water_days: int | None = None
    rinse_days: int | None = None
    paste_days: int | None = None
    softener_days: int | None = None
    stack_open_days: int | None = None
    stack_damp_days: int | None = None
    stack_bagged_days: int | None = None
    stack_hard_stop_days: int | None = None
    records_kept: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class SpoonWeight:
    """Level spoons of a lot, weighed: its bulk density."""

    at: datetime
    by: MemberId
    g_per_ml: float


@dataclass(frozen=True, slots=True, kw_only=True)
class LotCount:
    """
    What somebody saw of a lot, in the unit of its rows.

    Attributes:
        packs: The unopened ones; `seen` takes each to hold what the lot says.
        doubt: Half of the 90 % interval: what a level in quarters cannot show.
        put_right: The entry by which a person put the difference right.
    """

    entry: EntryId
    at: datetime
    by: MemberId
    counted_with: Subject | None
    seen: int
    doubt: int
    packs: int = 0
    note: str = ""
    put_right: EntryId | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class LotState:
    """
    A lot: what it is and what came in; what is left is the sum of moves.

    Attributes:
        substance: The supply it is of, as rows name it.
        measure: weight, volume, sheets or pieces: rows are in micrograms, microlitres,
            quarters of a full sheet, or pieces; so are `pack` and `received`.
        part_of: The lot it was a part of before it was moved; `cut_from` the parents' lot.
        put_to: What was put to it since: out of other lots, or found to be there.
        price: What the whole lot cost.
        counts: The last counts, the newest last.
    """

    id: Subject
    studio: Subject
    what: str
    name: str
    salt: str | None
    paper: Subject | None
    substance: Subject
    measure: str
    supplier: str
    received_at: datetime
    received_by: MemberId
    pack_count: int
    pack: int
    received: int
    sold_by: Subject | None = None
    order: Subject | None = None
    carrageenan: str | None = None
    chalk: str | None = None
    chalk_g_per_m2: float | None = None
    grain: str | None = None
    soda: str | None = None
    tare_g: float | None = None
    best_before: date | None = None
    opened_days: int | None = None
    opened_at: datetime | None = None
    spoon: SpoonWeight | None = None
    part_of: Subject | None = None
    cut_from: Subject | None = None
    offcut_m2: float | None = None
    put_to: int = 0
    price: Decimal | None = None
    counts: tuple[LotCount, ...] = ()

    @property
    def came_in(self) -> int:
        """All that ever came in, in the unit of its rows."""
        return self.received + self.put_to


@dataclass(frozen=True, slots=True, kw_only=True)
class SupplyState:
    """
    A supply: its edition in force, and how long orders of it took to arrive.

    Amounts are in the unit of its rows. Without an edition nobody said anything of it yet.

    Attributes:
        arrival_days: Days from placing to the first arrival of the last orders, oldest first.
    """

    id: Subject
    what: str
    salt: str | None
    paper: Subject | None
    measure: str
    name: str = ""
    edition: EntryId | None = None
    floor: int | None = None
    pack: int | None = None
    days_to_arrive: int | None = None
    review_days: int | None = None
    sealed_days: int | None = None
    opened_days: int | None = None
    count_days: int | None = None
    sold_by: Subject | None = None
    ordered: bool = True
    metals: tuple[tuple[str, float], ...] = ()
    sulfide: bool = False
    arrival_days: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class SupplierState:
    """A supplier by its edition in force."""

    id: Subject
    edition: EntryId
    name: str
    order_by: str
    ream_sheets: int | None
    days_to_arrive: int | None
    in_use: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderState:
    """
    Packs of a supply that were ordered, and what of them has arrived.

    Attributes:
        pack: What one pack holds, in the unit of the supply's rows; None when nobody said.
        arrived: What came in by lots that name it, in the same unit.
    """

    id: Subject
    supply: Subject
    what: str
    salt: str | None
    paper: Subject | None
    packs: int
    pack: int | None
    sold_by: Subject | None
    placed_at: datetime
    placed_by: MemberId
    expected: date | None
    price: Decimal | None
    note: str = ""
    arrived_packs: int = 0
    arrived: int = 0
    first_arrived_at: datetime | None = None
    lots: tuple[Subject, ...] = ()
    cancelled_at: datetime | None = None
    cancel_reason: str = ""

    @property
    def open_amount(self) -> int | None:
        """What is still to come, in the unit of rows; None where nobody said the pack."""
        if self.pack is None:
            return None
        return 0 if self.cancelled_at else max(0, self.packs * self.pack - self.arrived)

    @property
    def open_packs(self) -> int:
        """Packs that are still to come; what came in packs of another size counts as much."""
        if self.pack and self.open_amount is not None:
            return -(-self.open_amount // self.pack)
        return 0 if self.cancelled_at else max(0, self.packs - self.arrived_packs)


@dataclass(frozen=True, slots=True, kw_only=True)
class Needed:
    """What a session takes of a supply, in the unit of its rows."""

    supply: Subject
    what: str
    amount: int


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionState:
    """A booked session by its edition in force; `edition_count` rises with every change."""

    id: Subject
    edition: EntryId
    edition_count: int
    studio: Subject
    name: str
    starts_at: datetime
    ends_at: datetime | None
    head_count: int
    under_16: bool
    needs: tuple[Needed, ...]
    called_off: bool
    planned_by: MemberId


@dataclass(frozen=True, slots=True, kw_only=True)
class PutOffState:
    """A need that somebody put off until a day."""

    need: str
    about: str
    until: date
    reason: str
    by: MemberId
    at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class PermissionState:
    """Whom a studio asked about its drain, and what they answered."""

    id: Subject
    studio: Subject
    about: str
    asked: str
    asked_on: date
    reference: str
    answer: str
    conditions: str
    review_on: date | None
    recorded_at: datetime
    recorded_by: MemberId
    outlet: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class CornerPrint:
    """A strip print of a corner of one of a stack's sheets."""

    at: datetime
    by: MemberId
    outcome: str


@dataclass(frozen=True, slots=True, kw_only=True)
class AlumedAgain:
    """All that was left of a stack went through alum once more."""

    entry: EntryId
    bath: Subject
    at: datetime
    sheet_count: int
    precision: str = MINUTE


@dataclass(frozen=True, slots=True, kw_only=True)
class LaidOn:
    """Sheets of a stack that were laid on a size."""

    entry: EntryId
    size: Subject
    by: MemberId
    at: datetime
    sheet_count: int
    precision: str = MINUTE


@dataclass(frozen=True, slots=True, kw_only=True)
class Sorted:
    """Sheets of a stack that somebody sorted; `size` is what they were laid on, if known."""

    entry: EntryId
    by: MemberId
    at: datetime
    good: int
    spoiled: tuple[tuple[str, int], ...]
    size: Subject | None = None
    keep: bool = False
    colours: str = ""
    photo: str = ""
    note: str = ""

    @property
    def sheet_count(self) -> int:
        return self.good + sum(count for _, count in self.spoiled)


@dataclass(frozen=True, slots=True, kw_only=True)
class StackState:
    """
    A stack of alumed sheets, where they lay, and how those that were sorted came out.

    Attributes:
        precision: How exact `at` is: a minute, a part of a day, a day.
        side: The side rule it was alumed by; None for the studio's.
        state: open, bagged or damp.
        printed: The strip print that counts: the newest, but one that failed stays.
        again: When it was alumed once more; it lies open and untested from then.
        laid: What was laid on which size.
        parts: What was sorted, in parts.
        seen: (member, entry) of warnings that somebody has seen.
    """

    id: Subject
    bath: Subject
    by: MemberId
    at: datetime
    sheet_count: int
    sheet_format: str
    method: str
    lot: Subject | None
    paper: Subject | None
    precision: str = MINUTE
    side: str | None = None
    state: str = "open"
    state_at: datetime | None = None
    place: str = ""
    dried: str = ""
    dried_at: datetime | None = None
    flattened: str = ""
    flattened_at: datetime | None = None
    printed: CornerPrint | None = None
    again: AlumedAgain | None = None
    binned_count: int = 0
    laid: tuple[LaidOn, ...] = ()
    parts: tuple[Sorted, ...] = ()
    seen: tuple[tuple[MemberId, str], ...] = ()
    good: int = 0
    spoiled: tuple[tuple[str, int], ...] = ()

    @property
    def alum(self) -> Subject:
        """The bath that the sheets still left went through last."""
        return self.again.bath if self.again else self.bath

    @property
    def alumed_at(self) -> datetime:
        """When the sheets still left were alumed last."""
        return self.again.at if self.again else self.at

    @property
    def alumed_precision(self) -> str:
        """How exact that is."""
        return self.again.precision if self.again else self.precision

    @property
    def sorted_count(self) -> int:
        return self.good + sum(count for _, count in self.spoiled)

    @property
    def laid_count(self) -> int:
        """Sheets laid on a size; what was sorted has been laid, written or not."""
        return max(sum(one.sheet_count for one in self.laid), self.sorted_count)

    @property
    def left_count(self) -> int:
        """Alumed sheets that wait for colour."""
        return max(0, self.sheet_count - self.laid_count - self.binned_count)


class DrainReading(NamedTuple):
    """
    What was read of a liquid for its drain, exact figures as text; empty where not read.

    `instrument` is ph_strip, ph_meter, screen, laboratory or thermometer.
    """

    entry: EntryId
    at: datetime
    by: MemberId
    instrument: str
    ph: str = ""
    step: str = ""
    off_at_check: str = ""
    lumps: str = ""
    runs: str = ""
    of: str = ""
    mg_per_l: str = ""
    not_detected: bool = False
    celsius: str = ""


class PutIn(NamedTuple):
    """Something that went into a liquid after it was made, one of `kinds.SUBSTANCES`."""

    what: str
    at: datetime


class Treated(NamedTuple):
    """A step of neutralising: a cup kept back, a base put in, the cup back, floc strained."""

    entry: EntryId
    at: datetime
    by: MemberId
    step: str
    base: str = ""
    weight_g: float = 0.0
    volume_ml: float = 0.0


class Went(NamedTuple):
    """Liquid that left for good: down a drain, into a jar, astray."""

    entry: EntryId
    at: datetime
    by: MemberId
    to: str
    volume_ml: float


class JarPart(NamedTuple):
    """What went into a waste jar since it was last empty."""

    entry: EntryId
    at: datetime
    by: MemberId
    waste: str
    volume_ml: float
    weight_g: float
    metal_pigments: str
    hazardous: str
    acute: bool
    bath: Subject | None = None
    substances: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class JarState:
    """
    A waste jar, drum, can or bucket.

    Attributes:
        volume_ml, volume_sd_ml: What is in it.
        salts: Grams of each salt of alum that baths brought, at the middle; `salts_known` is
            false once alum came in of which nobody knows the grams.
        weighed: Grams of what was weighed into it, each by the name its rows have.
        place: Where in its studio; empty again once it was carried to another one.
        first_on: The day the first of what is in it went in; of jars poured together the
            oldest. None when it is empty.
        full_on: The day it was full.
        parts: What went in since it was last empty, the last ones.
        wastes_in, substances_in, metal_pigments, hazardous, acute: Of everything that went in
            since it was last empty; metal_pigments and hazardous are yes, no or not_known.
        put_in: When something went in that a reading before it does not know.
        ended_at: When it was taken away for good.
    """

    id: Subject
    studio: Subject
    name: str
    sort: str
    holds_ml: float
    wastes: tuple[str, ...]
    place: str
    area: str
    tags: tuple[str, ...]
    started_at: datetime
    started_by: MemberId
    full_by: date | None = None
    collect_by: date | None = None
    volume_ml: float = 0.0
    volume_sd_ml: float = 0.0
    salts: tuple[tuple[str, float], ...] = ()
    salts_known: bool = True
    weighed: tuple[tuple[str, float], ...] = ()
    wastes_in: tuple[str, ...] = ()
    substances_in: tuple[str, ...] = ()
    metal_pigments: str = ""
    hazardous: str = ""
    acute: bool = False
    put_in: tuple[PutIn, ...] = ()
    first_on: date | None = None
    full_on: date | None = None
    parts: tuple[JarPart, ...] = ()
    readings: tuple[DrainReading, ...] = ()
    treated: tuple[Treated, ...] = ()
    emptied_at: datetime | None = None
    ended_at: datetime | None = None
    hands: "Hands"

    @property
    def weight_g(self) -> float:
        """Grams of all that was weighed into it."""
        return sum(grams for _, grams in self.weighed)


@dataclass(frozen=True, slots=True, kw_only=True)
class DisposalState:
    """
    A line of a studio's log of wastes; how many litres moved stands in the accounts.

    Attributes:
        kind: Of the entry.
        at: When it happened; `on` the day by the clock there.
        amount_ml, weight_g: As said; None where it is all that was left.
    """

    id: Subject
    kind: str
    studio: Subject
    at: datetime
    on: date
    by: MemberId
    waste: str = ""
    outlet: str = ""
    bath: Subject | None = None
    jar: Subject | None = None
    from_jar: Subject | None = None
    jug: Subject | None = None
    lot: Subject | None = None
    to_studio: Subject | None = None
    amount_ml: float | None = None
    weight_g: float | None = None
    sheet_count: int | None = None
    step: str = ""
    base: str = ""
    steps: tuple[str, ...] = ()
    without: tuple[str, ...] = ()
    outcome: str = ""
    decision: str = ""
    reason: str = ""
    what: str = ""
    done: tuple[str, ...] = ()
    who: str = ""
    to: str = ""
    reference: str = ""
    hazardous: str = ""
    acute: bool = False
    photo: str = ""
    note: str = ""


class PackEdition(NamedTuple):
    """An edition of a studio's rules: the document that is kept, and until when it stands."""

    entry: EntryId
    at: datetime
    by: MemberId
    edition: int
    document: str
    checked_on: date
    review_on: date
    letter: str
    in_use: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class RulesState:
    """A studio's rules of one authority, its editions the newest last."""

    id: Subject
    studio: Subject
    pack: str
    editions: tuple[PackEdition, ...]

    @property
    def last(self) -> PackEdition:
        """The edition published last."""
        return self.editions[-1]


@dataclass(frozen=True, slots=True, kw_only=True)
class JugState:
    """
    A vessel that was found without a tag; `bath` is what a person said is in it.

    `waste` is what somebody vouched for; without it the jug stays closed.
    """

    id: Subject
    studio: Subject
    where: str
    volume_ml: float | None
    look: str
    found_at: datetime
    found_by: MemberId
    note: str = ""
    bath: Subject | None = None
    known_at: datetime | None = None
    known_by: MemberId | None = None
    made_it: bool = False
    waste: str = ""
    substances: tuple[str, ...] = ()
    metal_pigments: str = "not_known"
    gone_at: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class JudgementState:
    """Findings of one subject that a person has judged: (code, entry)."""

    seen: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Stop:
    """
    A person stopped the bath, or another that was poured into it.

    Attributes:
        poured_from: The name of the bath it came in with; empty where it was this one.
        poured_in_at: When it came in: sheets before that are not concerned.
    """

    entry: EntryId
    by: MemberId
    at: datetime
    reason: str
    note: str = ""
    poured_from: str = ""
    poured_in_at: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class StripPrint:
    """A strip print: sharp, soft or failed."""

    at: datetime
    by: MemberId
    outcome: str


class Through(NamedTuple):
    """Sheets through, as the bath remembers the last ones."""

    entry: EntryId
    by: MemberId
    at: datetime
    sheet_count: int
    sheet_format: str
    method: str
    lot: Subject | None
    paper: Subject | None


class Hands(NamedTuple):
    """Who touched it last, and what they did."""

    entry: EntryId
    by: MemberId
    at: datetime
    kind: str
    precision: str = MINUTE


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptFor:
    """A bath is kept for a member or a session, perhaps until a moment."""

    by: MemberId
    at: datetime
    member: MemberId | None = None
    session: str = ""
    until: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """How a bath looked or smelled to somebody."""

    at: datetime
    by: MemberId
    outcome: str
