"""What chalk may take out of a bath: for sheets about to go through, and for a paper at all."""

from collections.abc import Iterable
from dataclasses import dataclass

from coop.ledger.baths import SALT_UNKNOWN, BathState
from coop.ledger.measure import FRACTION_OF_PARENT, area_of_m2, binding_of, pickup_of
from coop.ledger.states import HouseState, LotState, PaperState
from coop.science.bath import SHEETS_MAX
from coop.science.chalk import ChalkLimits, chalk_limits, chalk_takes_g

DIP = "dip"
SHEETS_USUAL = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheets:
    """Sheets of a paper that may go through; by their lot where that is known."""

    count: int
    sheet_format: str
    method: str
    paper: PaperState | None
    lot: LotState | None = None

    @property
    def name(self) -> str:
        """What they are called: by their lot, else by their paper."""
        found = self.lot or self.paper
        return found.name if found else ""


def chalk_of(bath: BathState, sheets: Sheets) -> ChalkLimits | None:
    """
    Return both limits of what the chalk of these sheets takes of a bath.

    None where there is no chalk that anybody knows of, or it stays on the sheet: brushed or
    sponged on, the liquid never comes back to the tub.
    """
    if sheets.method != DIP or not 1 <= sheets.count <= SHEETS_MAX:
        return None
    if sheets.sheet_format not in FRACTION_OF_PARENT:
        return None
    binding = binding_of(sheets.paper, sheets.method, sheets.lot)
    if not binding.chalk_g_per_m2:
        return None
    return chalk_limits(
        estimate=bath.estimate,
        sheet_area_m2=area_of_m2(sheets.paper, sheets.sheet_format),
        sheet_count=sheets.count,
        paper=binding,
        pickup_ml_per_m2=pickup_of(sheets.paper, sheets.method),
    )


def chalky(
    bath: BathState, papers: Iterable[PaperState]
) -> tuple[tuple[Sheets, ChalkLimits], ...]:
    """Return the limits for every paper with chalk in it, as many sheets as last time."""
    last = bath.through[-1] if bath.through else None
    wanted = [
        Sheets(
            count=last.sheet_count if last else SHEETS_USUAL,
            sheet_format=last.sheet_format if last else "half",
            method=DIP,
            paper=paper,
        )
        for paper in papers
    ]
    found = ((one, chalk_of(bath, one)) for one in wanted)
    return tuple((one, limits) for one, limits in found if limits is not None)


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperChalk:
    """
    What the chalk of so many half sheets of a paper takes if all of it is reached.

    `assumed` says that nobody measured it: the least reserve of a lasting paper counts.
    """

    sheet_count: int
    chalk_g: float
    salt: str
    most_g: float
    assumed: bool


def chalk_of_paper(paper: PaperState, house: HouseState | None) -> PaperChalk | None:
    """Return what a paper's chalk may take, in the house's salt; None without chalk."""
    chalk = binding_of(paper, DIP).chalk_g_per_m2
    if not chalk:
        return None
    salt = (house.target_salt if house else None) or SALT_UNKNOWN
    area_m2 = SHEETS_USUAL * area_of_m2(paper, "half")
    return PaperChalk(
        sheet_count=SHEETS_USUAL,
        chalk_g=area_m2 * chalk,
        salt=salt,
        most_g=chalk_takes_g(area_m2=area_m2, chalk_g_per_m2=chalk, salt=salt),
        assumed=paper.chalk_g_per_m2 is None,
    )
