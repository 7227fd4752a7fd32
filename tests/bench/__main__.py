"""
Print the figures of speed: ``python -m tests.bench [--entries 1000 100000]``.

They are no tests: what they print is held against the promises by whoever ran them.
``--only shelf`` prints those of ten years of deliveries, ``--only honesty`` how often
simulated baths lie where the estimate says.
"""

import argparse
import tempfile
from pathlib import Path

from tests.bench import honesty, keeping, pages, pushing, reading, shelf, writing
from tests.bench.figures import line
from tests.bench.studio import Grown, grow

ENTRIES = (1_000, 100_000)
OF_A_LEDGER = ("store", "pages", "push")
PARTS = ("honesty", "shelf", *OF_A_LEDGER)


def main() -> None:
    asked = argparse.ArgumentParser(prog="python -m tests.bench")
    asked.add_argument("--entries", nargs="+", type=int, default=ENTRIES, metavar="COUNT")
    asked.add_argument("--only", choices=PARTS, nargs="+", default=PARTS, help="parts of it")
    given = asked.parse_args()
    if "honesty" in given.only:
        honesty.measure()
    if "shelf" in given.only:
        with tempfile.TemporaryDirectory(prefix="coop-bench-") as folder:
            shelf.measure(Path(folder))
    if set(given.only) & set(OF_A_LEDGER):
        _measure_ledgers(given)


def _measure_ledgers(given: argparse.Namespace) -> None:
    with tempfile.TemporaryDirectory(prefix="coop-bench-") as folder:
        ledgers = [_grown(Path(folder), count) for count in given.entries]
        if "store" in given.only:
            for grown in ledgers:
                _measure_store(grown)
        houses = [(pages.let_in(Path(folder), grown), grown) for grown in ledgers]
        if "pages" in given.only:
            pages.measure(*houses)
        if "push" in given.only:
            for house, grown in houses:
                pushing.measure(house, grown)
        for grown in ledgers:
            grown.store.close()


def _grown(folder: Path, count: int) -> Grown:
    grown = grow(folder, count)
    where = f"ledger of {count:,}"
    line(f"{where}: taken in", f"{count / grown.taken_in_s:,.0f} entries/s")
    line(f"{where}: folded", f"{count / grown.folded_s:,.0f} entries/s", "at least 3,000")
    return grown


def _measure_store(grown: Grown) -> None:
    reading.measure(grown)
    reading.from_scratch(grown)
    keeping.measure(grown)
    writing.measure(grown)
    writing.late(grown)


if __name__ == "__main__":
    main()
