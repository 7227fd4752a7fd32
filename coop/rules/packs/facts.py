"""What is known of one liquid, its site and one outlet, when somebody asks."""

from dataclasses import dataclass, replace
from datetime import date, datetime
from fractions import Fraction

from coop.rules.packs import words


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """
    A figure with its ends, or the answer of a look.

    Attributes:
        how: As read; not detected under `high`; or reckoned from what was put in, as the
            least and most it can be.
        low, high: In `unit`; the same for what was read.
        step: One step of the device's scale, in `unit`.
        off_at_check: How far off a meter was at its last check [`unit`]; None if nobody did.
        read_at: In the site's own time; for what was reckoned, when that was.
        answer: Of a look, yes or no.
        doubted: Whether it cannot be, by what was put in: it passes no rule, and may fail one.
    """

    quantity: str
    read_at: datetime
    of: str = ""
    how: str = words.AS_READ
    low: Fraction = Fraction(0)
    high: Fraction = Fraction(0)
    unit: str = ""
    basis: str = words.TOTAL_BASIS
    device: str = ""
    step: Fraction = Fraction(0)
    off_at_check: Fraction | None = None
    answer: str = ""
    doubted: bool = False

    def __post_init__(self) -> None:
        assert self.read_at.utcoffset() is not None, "a reading's time has a zone"
        assert self.low <= self.high, "the least is not over the most"


@dataclass(frozen=True, slots=True, kw_only=True)
class Added:
    """What was put into the liquid, and when."""

    what: str
    at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Permission:
    """
    Whom the studio asked about this outlet, when, and what they said.

    `elsewhere` says that the studio lay in another country then.
    """

    about: str
    asked: str
    asked_on: date
    answer: str
    outlet: str = words.SEWER
    reference: str = ""
    conditions: str = ""
    elsewhere: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Tally:
    """
    What a site poured, made or has on hand, each as entered; None where nobody measured.

    `on` is the site's own date, of the pouring or making and never of the writing down.
    """

    what: str
    waste: str
    on: date
    outlet: str = ""
    volume_ml: Fraction | None = None
    mass_g: Fraction | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Start:
    """What can start a clock, and the site's date of it."""

    event: str
    on: date


@dataclass(frozen=True, slots=True, kw_only=True)
class Facts:
    """
    One liquid at one outlet of one site.

    Attributes:
        subject: The id of the bath, jar or jug it is in; empty for what is in none.
        mixed_with: What else it is, where several wastes stand together; each is judged.
        area: The site's, from wide to narrow.
        stated: Answers to `words.FACTS`; one that is not here is not known.
        contents: The substances in it; None where nobody said.
        adding: What somebody is about to put in.
        closed: Whether its vessel will be closed: yes, no, or empty where nobody said.
        shown: What its label shows.
        tallies: What was summed up; of a sum that is not in `counted`, or over days before
            `counted_since`, nobody knows what is missing.
        rules_missing: Rules of the site of which there is no document to read.
    """

    waste: str
    outlet: str
    area: tuple[str, ...]
    subject: str = ""
    mixed_with: tuple[str, ...] = ()
    volume_ml: Fraction | None = None
    mass_g: Fraction | None = None
    stated: tuple[tuple[str, tuple[str, ...]], ...] = ()
    readings: tuple[Reading, ...] = ()
    added: tuple[Added, ...] = ()
    contents: tuple[str, ...] | None = None
    adding: tuple[str, ...] = ()
    closed: str = ""
    shown: tuple[str, ...] = ()
    permissions: tuple[Permission, ...] = ()
    tallies: tuple[Tally, ...] = ()
    counted: tuple[str, ...] = ()
    counted_since: date | None = None
    starts: tuple[Start, ...] = ()
    rules_missing: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        assert {self.waste, *self.mixed_with} <= set(words.WASTES), self.waste
        assert self.outlet in words.OUTLETS, self.outlet
        assert set(self.counted) <= set(words.SUMS), self.counted

    @property
    def each_waste(self) -> tuple["Facts", ...]:
        """Return the facts of each waste that is in it, as of one that stands alone."""
        wastes = dict.fromkeys((self.waste, *self.mixed_with))
        return tuple(replace(self, waste=one, mixed_with=()) for one in wastes)
