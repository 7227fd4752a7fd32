"""Caches thrown away and worked out again, and the whole ledger looked through."""

import resource

from coop.store.rebuild import rebuild
from coop.store.verify import verify
from tests.bench.figures import line, timed
from tests.bench.studio import Grown


def measure(grown: Grown) -> None:
    with timed() as clock:
        rebuild(grown.store)
    line(f"rebuilt, ledger of {grown.count:,}", _rate(grown, clock.ms), "linear")
    with timed() as clock, grown.store.reading() as desk:
        found = verify(desk.connection, grown.store.ledger)
    assert found.clean, found.problems[:3]
    line(f"verified, ledger of {grown.count:,}", _rate(grown, clock.ms), "linear")
    mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    line("  most memory so far", f"{mb:.0f} MB", "under 300 MB")


def _rate(grown: Grown, ms: float) -> str:
    return f"{grown.count / ms * 1000:,.0f} entries/s"
