"""What is measured, and how a figure is printed."""

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from time import perf_counter


def line(what: str, figure: str, promise: str = "") -> None:
    """Print one figure to a line: what, how much, and what was promised."""
    sys.stdout.write(f"{what:<58}{figure:>22}  {promise}\n")
    sys.stdout.flush()


class Clock:
    """Milliseconds between two moments."""

    def __init__(self) -> None:
        self.ms = 0.0


@contextmanager
def timed() -> Iterator[Clock]:
    clock = Clock()
    began = perf_counter()
    yield clock
    clock.ms = (perf_counter() - began) * 1000


def best_ms(work: Callable[[], object], times: int = 7) -> float:
    """Return the shortest of several runs: what the machine can do when left alone."""
    shortest = float("inf")
    for _ in range(times):
        with timed() as clock:
            work()
        shortest = min(shortest, clock.ms)
    return shortest


def at(share: float, values: list[float]) -> float:
    """Return the value below which this share of all lies."""
    ordered = sorted(values)
    return ordered[min(len(ordered) - 1, int(share * len(ordered)))]
