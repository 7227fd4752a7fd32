"""
Baths as they might truly be, and what people write of them: invented, the same for a seed.

The truth is drawn from other distributions than the estimate's own, so that a doubt is not
honest only where its own assumptions hold: a paper keeps its pick-up and its fibre for the
life of a bath, the room its dryness, the salt its density; noise has long tails; people round
what they read. The published ranges are kept as about nine in ten. What people write goes
through the ledger's own fold.
"""

from dataclasses import dataclass, field
from datetime import datetime, timedelta
from math import log, sqrt
from random import Random
from typing import Any

from coop.ids import Subject
from coop.ledger.entries import Entry
from coop.science import alum, water
from coop.science.defaults import Z_90, default
from tests.support.sayings import BATH, LOT, STUDIO, VESSEL, an_id, on, q, say

START = on(1, 9)
LENGTH_MM, WIDTH_MM = 740, 540
AREA_M2 = LENGTH_MM * WIDTH_MM / 1e6
SHEET_M2 = {"full": 0.35, "half": 0.175, "quarter": 0.0875}
SHEETS_MOST = (("full", 10), ("half", 20), ("half", 20), ("quarter", 40))
PAPERS = tuple(Subject(an_id(n)) for n in range(20, 23))
PAPERS_G_PER_M2 = (90, 120, None)
METHODS = ("dip", "sponge", "brush")
METHODS_DRAWN = ("dip", "dip", "dip", "sponge", "brush")
MIXINGS = ("weighed", "spoon of the lot", "bare spoon")

SALT_ROOM_ML_PER_G = {"aluminium_sulfate_14": 0.434, "potash_alum": 0.500}
"""What a gram of salt adds to the water it dissolves in: by mass balance (computed) from the
densities of Laliberte and Cooper 2004, J. Chem. Eng. Data 49:1141, at 20 C."""
SALT_ROOM_DOUBT_ML_PER_G = 0.016
"""Moves the gravity by 3 % of the strength: published curves differ by 3.5 % (Hendricks)."""

WATER_G_PER_ML = 0.9982
T_OF_5_AT_95_PERCENT = 2.015
"""NIST/SEMATECH e-Handbook 1.3.6.7.2, Student's t, 5 degrees of freedom."""
CARD_G_PER_TBSP = 14.8
ZERO_MAX_SG = 0.002
OPEN_MOST_HOURS = 8.0
SHEETS_PER_HOUR = 40
LOW_ML = 7_000
"""A tub that stands lower looks low, and is topped up."""


def pickup_ml_per_m2(draw: Random, method: str) -> float:
    """
    Draw what sheets of a paper take with them: even, gamma, or most thrifty and some thirsty;
    about nine in ten inside the published range.
    """
    row = default(f"pickup_{method}_ml_per_m2")
    low, middle, high = row.low, row.value, row.high
    match draw.randrange(3):
        case 0:
            margin = (high - low) / 18
            return draw.uniform(low - margin, high + margin)
        case 1:
            mean, sd = (low + high) / 2, (high - low) / (2 * Z_90)
            return draw.gammavariate((mean / sd) ** 2, sd * sd / mean)
        case _:
            if draw.random() < 0.7:
                return draw.triangular(0.92 * low, 1.1 * middle, 0.9 * middle)
            return draw.uniform(middle, high + 0.25 * (high - middle))


def noise(draw: Random, half_width: float) -> float:
    """Draw noise with long tails, nine in ten within the half width: Laplace, or t of 5."""
    if draw.random() < 0.5:
        size = draw.expovariate(log(10)) * half_width
        return size if draw.random() < 0.5 else -size
    spread = draw.gammavariate(2.5, 2) / 5
    return draw.gauss(0, 1) / sqrt(spread) * half_width / T_OF_5_AT_95_PERCENT


def even(draw: Random, half_width: float) -> float:
    """Draw evenly, nine in ten within the half width."""
    return draw.uniform(-half_width, half_width) / 0.9


@dataclass(frozen=True, slots=True, kw_only=True)
class Hidden:
    """What nobody knows of a bath: habit, papers, room, salt, spoon, instrument."""

    habit: float
    pickups: dict[tuple[int, str], float]
    fibres_mg_per_m2: tuple[float, ...]
    rate_mm_per_day: float
    lid_fraction_per_week: float
    salt_room_ml_per_g: float
    spoon_g: float
    zero_sg: float


def hidden(draw: Random, salt: str) -> Hidden:
    """Draw what nobody knows."""
    weights = [known or draw.uniform(80, 160) for known in PAPERS_G_PER_M2]
    spoon = default("alum_g_per_us_tbsp")
    return Hidden(
        habit=draw.choice((0.88, 1, 1, 1.12)) * draw.uniform(0.95, 1.05),
        pickups={
            (paper, method): pickup_ml_per_m2(draw, method)
            for paper in range(len(PAPERS))
            for method in METHODS
        },
        fibres_mg_per_m2=tuple(0.7 * draw.betavariate(1.5, 4) * weight for weight in weights),
        rate_mm_per_day=draw.uniform(1, 4.5),
        lid_fraction_per_week=draw.uniform(0, 0.008),
        salt_room_ml_per_g=SALT_ROOM_ML_PER_G[salt] + even(draw, SALT_ROOM_DOUBT_ML_PER_G),
        spoon_g=(spoon.low + spoon.high) / 2 + even(draw, (spoon.high - spoon.low) / 2),
        zero_sg=draw.uniform(-ZERO_MAX_SG, ZERO_MAX_SG),
    )


@dataclass(slots=True, kw_only=True)
class Truth:
    """What is in the tub: water and salt, by exact balance."""

    hidden: Hidden
    salt: str
    water_ml: float = 0.0
    salt_g: float = 0.0
    open_hours: float = 0.0

    @property
    def liquid_ml(self) -> float:
        return self.water_ml + self.hidden.salt_room_ml_per_g * self.salt_g

    @property
    def strength_g_per_l(self) -> float:
        """Strength as recipes and the estimate mean it: per litre of water put in."""
        return 1000 * self.salt_g / self.water_ml

    @property
    def gravity_sg(self) -> float:
        mass_g = WATER_G_PER_ML * self.water_ml + self.salt_g
        return mass_g / self.liquid_ml / WATER_G_PER_ML

    def carry(self, liquid_ml: float) -> None:
        left = 1 - liquid_ml / self.liquid_ml
        self.water_ml, self.salt_g = self.water_ml * left, self.salt_g * left

    def sheets(self, count: float, area_m2: float, paper: int, method: str) -> None:
        all_m2 = count * area_m2
        self.carry(all_m2 * self.hidden.pickups[paper, method] * self.hidden.habit)
        if method == "dip":
            al_g = all_m2 * self.hidden.fibres_mg_per_m2[paper] / 1000
            self.salt_g -= al_g / alum.SALTS[self.salt].al_fraction

    def wait(self, hours: float) -> None:
        """Let time pass: in the open while it stands open, then under a lid that leaks."""
        opened = min(hours, self.open_hours)
        self.open_hours -= opened
        self.water_ml -= 1000 * AREA_M2 * self.hidden.rate_mm_per_day * opened / 24
        self.water_ml *= 1 - self.hidden.lid_fraction_per_week * (hours - opened) / 168

    def sheets_until(self, low_ml: float, area_m2: float, paper: int, method: str) -> float:
        """Return the sheets that fit, laid in the open, until the liquid is too low."""
        carried_ml = area_m2 * self.hidden.pickups[paper, method] * self.hidden.habit
        dried_ml = 1000 * AREA_M2 * self.hidden.rate_mm_per_day / 24 / SHEETS_PER_HOUR
        return max(0.0, self.liquid_ml - low_ml) / (carried_ml + dried_ml)


@dataclass(slots=True, kw_only=True)
class Simulated:
    """One bath: the truth, and beside it the entries of those who use it."""

    draw: Random
    mixing: str
    reads: bool
    papers: tuple[tuple[int, str], ...]
    truth: Truth
    now: datetime = START
    entries: list[Entry] = field(default_factory=list)

    def write(self, kind: str, id: str = "", **body: Any) -> None:
        new = id or an_id(1000 + len(self.entries))
        self.entries.append(say(kind, new, at=self.now, **body))

    def wait(self, hours: float) -> None:
        self.truth.wait(hours)
        self.now += timedelta(hours=hours)

    def water(self, litres: float) -> dict[str, str]:
        """Pour water by the jug: what is written of it."""
        self.truth.water_ml += 1000 * litres * (1 + even(self.draw, 0.02))
        return q(litres, "l")

    def salt(self, grams: float) -> list[dict[str, Any]]:
        """Put salt in, weighed or spooned: what is written of it."""
        if self.mixing == "weighed":
            self.truth.salt_g += grams * (1 + even(self.draw, 0.03))
            return [{"lot": LOT, "amount": q(round(grams), "g")}]
        spoons = max(1, round(grams / CARD_G_PER_TBSP))
        slip = self.draw.choices((-1, 0, 1), (0.1, 0.8, 0.1))[0] if spoons > 1 else 0
        level = self.draw.triangular(-0.06, 0.06)
        spoon_g = self.truth.hidden.spoon_g * (1 + level)
        self.truth.salt_g += (spoons + slip) * spoon_g
        return [{"lot": LOT, "amount": q(spoons, "us_tbsp", heap="level")}]

    def arrive(self) -> None:
        """Take a tub of salt in, weigh its spoon or not, check the hydrometer."""
        self.write("lot.received", LOT, studio=STUDIO, what="alum", name="AS",
                   salt=self.truth.salt, weight=q(5, "kg"))  # fmt: skip
        if self.mixing == "spoon of the lot":
            ten_g = 10 * self.truth.hidden.spoon_g
            ten_g *= 1 + self.draw.triangular(-0.025, 0.025)
            self.write("lot.spoon_weighed", lot=LOT, spoon_count="10", spoon="us_tbsp",
                       weight=q(round(ten_g), "g"))  # fmt: skip
        gravity, celsius = self.hydrometer(1.0)
        self.write("instrument.checked", studio=STUDIO, instrument="hydrometer",
                   gravity=gravity, temperature=celsius)  # fmt: skip

    def mix(self) -> None:
        litres = self.draw.choice((10, 11, 12, 13, 14))
        strength = self.draw.uniform(30, 55)
        self.write("bath.mixed", BATH, name="R-A2", studio=STUDIO, vessel=VESSEL,
                   water=self.water(litres), salt=self.salt(strength * litres))  # fmt: skip

    def session(self) -> None:
        """Print for a day: perhaps read, top up when it looks low, put sheets through."""
        self.truth.open_hours = min(OPEN_MOST_HOURS, self.draw.expovariate(1 / 2))
        if self.reads and self.draw.random() < 0.5:
            self.read_level()
        if self.reads and self.draw.random() < 0.5:
            self.read_gravity()
        if self.truth.liquid_ml < LOW_ML or self.draw.random() < 0.1:
            self.top_up()
        for _ in range(self.draw.randint(1, 3)):
            self.wait(self.draw.uniform(0.2, 0.6))
            self.put_through()

    def top_up(self) -> None:
        litres = self.draw.choice((1, 2, 3, 4))
        body: dict[str, Any] = {"bath": BATH, "water": self.water(litres)}
        if self.draw.random() < 0.7:
            body["salt"] = self.salt(40 * litres)
        else:
            body["reason"] = "level_only"
        self.write("bath.topped_up", **body)

    def put_through(self) -> None:
        paper, method = self.draw.choice(self.papers)
        size, most = self.draw.choice(SHEETS_MOST)
        count = self.draw.randint(1, most)
        each = self.draw.uniform(0.93, 1.07)
        self.truth.sheets(count * each, SHEET_M2[size], paper, method)
        self.write("sheets.through", bath=BATH, sheet_count=str(count), sheet_format=size,
                   method=method, paper=PAPERS[paper])  # fmt: skip

    def read_level(self) -> None:
        depth_mm = self.truth.liquid_ml / 1000 / AREA_M2 + noise(self.draw, 2)
        self.write("reading.taken", bath=BATH, instrument="dipstick",
                   depth=q(max(1, round(depth_mm)), "mm"))  # fmt: skip

    def read_gravity(self) -> None:
        gravity, celsius = self.hydrometer(self.truth.gravity_sg)
        self.write("reading.taken", bath=BATH, instrument="hydrometer", gravity=gravity,
                   temperature=celsius)  # fmt: skip

    def hydrometer(self, gravity_sg: float) -> tuple[str, dict[str, str]]:
        """Read gravity and temperature, each to half a division."""
        true_c = self.draw.uniform(16, 24)
        there = water.density_kg_per_m3(water_c=true_c) / water.density_kg_per_m3(water_c=20)
        shown = gravity_sg * there + self.truth.hidden.zero_sg + noise(self.draw, 0.001)
        read_c = true_c + even(self.draw, 1)
        return f"{round(shown * 2000) / 2000:g}", q(f"{round(2 * read_c) / 2:g}", "celsius")

    def live(self) -> None:
        """Be used on three to twelve days of one to four weeks, then rest until the next."""
        self.arrive()
        self.wait(1)
        self.mix()
        last = self.draw.randint(7, 28)
        sessions = min(last, self.draw.randint(3, 12))
        for day in sorted(self.draw.sample(range(1, last + 1), sessions)):
            self.wait((START + timedelta(days=day) - self.now) / timedelta(hours=1))
            self.session()
        self.wait(24)


def lived(seed: int) -> Simulated:
    """Return a bath that was used for one to four weeks; the same for a seed."""
    draw = Random(seed)
    salt = draw.choice(tuple(SALT_ROOM_ML_PER_G))
    which = draw.sample(range(len(PAPERS)), draw.randint(1, len(PAPERS)))
    one = Simulated(
        draw=draw,
        mixing=draw.choice(MIXINGS),
        reads=draw.random() < 0.5,
        papers=tuple((paper, draw.choice(METHODS_DRAWN)) for paper in which),
        truth=Truth(hidden=hidden(draw, salt), salt=salt),
    )
    one.live()
    return one


def described() -> list[Entry]:
    """Return what stands in the studio: a tub, and papers of which one has no weight."""
    at = on(1, 8)
    tub = say("vessel.described", VESSEL, at=at, studio=STUDIO, name="alum tub",
              inside_length=q(LENGTH_MM, "mm"), inside_width=q(WIDTH_MM, "mm"),
              brim=q(25, "l"), lidded="yes", place="1")  # fmt: skip
    studio = say("studio.described", STUDIO, at=at, name="Ropewalk", letter="R",
                 drain="sewer", emergency="112", poison="115")  # fmt: skip
    papers = []
    for paper, weight in zip(PAPERS, PAPERS_G_PER_M2, strict=True):
        body: dict[str, Any] = {"weight_g_per_m2": str(weight)} if weight else {}
        body |= {"length": q(700, "mm"), "width": q(500, "mm"), "chalk": "none"}
        papers.append(say("paper.described", paper, at=at, name="P", **body))
    return [studio, tub, *papers]
