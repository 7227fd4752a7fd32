"""What a page asks of the journal: time and number of statements at any size of ledger."""

from collections.abc import Callable
from typing import Any

from coop.ledger.view import View
from coop.store.engines import count_queries
from coop.store.journal import SqlJournal
from tests.bench.figures import best_ms, line
from tests.bench.studio import Grown, reopened


def measure(grown: Grown) -> None:
    with grown.store.reading() as desk:
        bath = desk.journal.listed("bath")[0].id
    asked: dict[str, Callable[[SqlJournal], Any]] = {
        'listed("bath")': lambda journal: journal.listed("bath"),
        "one bath's state": lambda journal: journal.state("bath", bath),
        "findings": lambda journal: journal.findings(codes=["over-the-brim"]),
        "what the lots hold": lambda journal: journal.held(
            f"lot:{lot.id}" for lot in journal.listed("lot")[-2:]
        ),
    }
    for what, ask in asked.items():
        _ask(grown, what, ask)


def _ask(grown: Grown, what: str, ask: Callable[[SqlJournal], Any]) -> None:
    store = reopened(grown.store)

    def once() -> None:
        with store.reading() as desk:
            ask(desk.journal)

    once()
    with count_queries(store.engines.reader) as counted:
        once()
    where = f"{what}, ledger of {grown.count:,}"
    line(where, f"{best_ms(once):.2f} ms", f"{counted.count} statements")
    store.close()


def from_scratch(grown: Grown) -> None:
    """Fold the longest bath from its entries, read and decoded already."""
    with grown.store.reading() as desk:
        baths = desk.journal.listed("bath", live=False)
        longest = max(baths, key=lambda bath: bath.half_count)
        entries = desk.journal.touching(longest.id)
        cached = desk.journal.view()

        def fold() -> None:
            seen: Any = entries
            view = View(lambda _: seen, cached=lambda sort, one: _kept(cached, sort, one))
            view.state("bath", longest.id)

        fold()
        took = best_ms(fold)
    line(f"a bath of {len(entries)} from scratch", f"{took:.1f} ms", "500 under 10 ms")


def _kept(view: View, sort: str, subject: Any) -> Any:
    return None if sort == "bath" else view.folded(sort, subject)
