"""Log sheets, inside the server: from a draft to committed and folded."""

from datetime import timedelta
from itertools import islice
from time import perf_counter

from coop.actions.write import Draft, Who, Written, write
from coop.ids import EntryId, Subject
from coop.ledger.baths import BathState
from coop.ledger.ports import Admission
from tests.bench.figures import at, line
from tests.bench.studio import Grown

BATHS = 5
TIMES = 30
PROMISE_MS = {50: 8, 500: 20}


def measure(grown: Grown) -> None:
    for size in PROMISE_MS:
        before_commit: list[float] = []
        commit: list[float] = []
        for _ in range(BATHS):
            some, theirs = _log_sheets(grown, _bath_of(grown, size))
            before_commit += some
            commit += theirs
        where = f"log sheets, a bath of {size}, ledger of {grown.count:,}"
        p50, p95 = at(0.5, before_commit), at(0.95, before_commit)
        line(where, f"{p50:.1f} / {p95:.1f} ms", f"p50 / p95; p95 under {PROMISE_MS[size]} ms")
        line("  and its commit", f"{at(0.5, commit):.1f} / {at(0.95, commit):.1f} ms")


def late(grown: Grown) -> None:
    """Time a back-dated entry: the whole bath is folded again."""
    for size in PROMISE_MS:
        bath = _bath_of(grown, size)
        before_commit, _ = _log_sheets(grown, bath, back=timedelta(hours=1))
        where = f"a back-dated entry, a bath of {size}, ledger of {grown.count:,}"
        line(where, f"{at(0.95, before_commit):.1f} ms", "p95 under 50 ms")


def _bath_of(grown: Grown, size: int) -> BathState:
    """Fill a new bath with so many entries."""
    studio, store = grown.studio, grown.store
    with store.reading() as desk:
        (home,) = desk.journal.listed("studio")
        tub = desk.journal.listed("vessel")[0]
        alum = next(lot for lot in desk.journal.listed("lot") if lot.what == "alum")
        paper = next(lot for lot in desk.journal.listed("lot") if lot.what == "paper")
    salt = [{"lot": alum.id, "amount": {"typed": "480", "n": "480", "unit": "g"}}]
    water = {"typed": "12", "n": "12", "unit": "l"}
    mix = studio.say("bath.mixed", name="R-A9", studio=home.id, vessel=tub.id, water=water,
                     salt=salt)  # fmt: skip
    uses = (
        studio.say("sheets.through", bath=mix.id, sheet_count="1", sheet_format="half",
                   method="dip", lot=paper.id)
        for _ in range(size)
    )  # fmt: skip
    admission = Admission(at=studio.now + timedelta(days=365), by=studio.member)
    with store.writing() as desk:
        desk.journal.append([mix, *islice(uses, size - 1)], admission, fold=False)
    for _ in range(2 + size // 200):
        with store.writing() as desk:
            desk.journal.refold()
    with store.reading() as desk:
        state: BathState = desk.journal.state("bath", Subject(mix.id))
    return state


def _log_sheets(
    grown: Grown, bath: BathState, times: int = TIMES, back: timedelta = timedelta(0)
) -> tuple[list[float], list[float]]:
    """Return milliseconds of each write before its commit, and of the commit."""
    studio, store = grown.studio, grown.store
    who = Who(member=studio.member, roles=frozenset({"member"}))
    lot = bath.through[-1].lot
    body = {"bath": bath.id, "sheet_count": "1", "sheet_format": "half", "method": "dip",
            "lot": lot, "reason": "test_sheets"}  # fmt: skip
    before_commit, commit = [], []
    for _ in range(times):
        studio.now += timedelta(minutes=5)
        draft = Draft(id=EntryId(studio.new_id()), kind="sheets.through", body=body,
                      happened_at=studio.now - back)  # fmt: skip
        began = perf_counter()
        with store.writing() as desk:
            outcome = write(desk.journal, who, draft, now=studio.now)
            done = perf_counter()
        assert isinstance(outcome, Written), outcome
        before_commit.append((done - began) * 1000)
        commit.append((perf_counter() - done) * 1000)
    return before_commit, commit
