"""What tests of pages start from."""

from pathlib import Path

import pytest

from tests.support.opened import Opened, furnished, opened


@pytest.fixture
def bare(tmp_path: Path) -> Opened:
    """A ledger that is open and has nothing in it but three members."""
    return opened(tmp_path)


@pytest.fixture
def house(tmp_path: Path) -> Opened:
    """A ledger with one studio, a tub, alum, paper and limits."""
    return furnished(tmp_path)
