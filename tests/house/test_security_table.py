"""The table of security in DEVELOPERS.md names files and tests that are there."""

import ast
import re
from functools import cache

import pytest

from tests.support.files import ROOT

TITLE = "## Security, item by item"
COLUMNS = 5
ITEM = re.compile(r"\d+\.\d+\.\d+")


def rows() -> list[list[str]]:
    """Return the cells of each line of the table."""
    guide = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    _, found, rest = guide.partition(f"{TITLE}\n")
    assert found
    lines = [x for x in rest.partition("\n## ")[0].splitlines() if x.startswith("|")]
    return [[cell.strip() for cell in line.strip("|").split("|")] for line in lines[2:]]


ROWS = rows()
IDS = [row[0] for row in ROWS]


@cache
def named_in(path: str) -> frozenset[str]:
    """Return the names of the tests of a file."""
    tree = ast.parse((ROOT / path).read_text(encoding="utf-8"))
    return frozenset(one.name for one in tree.body if isinstance(one, ast.FunctionDef))


def test_no_item_stands_there_twice() -> None:
    """One item, one answer; those of a list that was cut short would be missed here."""
    items = [one for row in ROWS for one in row[0].split(", ")]

    assert len(items) > 60
    assert all(ITEM.fullmatch(one) for one in items)
    assert sorted(items) == sorted(set(items))
    assert items == sorted(items, key=lambda one: tuple(map(int, one.split("."))))


@pytest.mark.parametrize("row", ROWS, ids=IDS)
def test_an_item_has_a_place_and_a_test_or_a_reason(row: list[str]) -> None:
    """What is claimed and shown by nothing is a wish."""
    assert len(row) == COLUMNS
    _, asks, where, shown, reason = row

    assert asks
    assert bool(where) == bool(shown)
    assert where or reason


@pytest.mark.parametrize("row", ROWS, ids=IDS)
def test_the_files_and_tests_it_names_are_there(row: list[str]) -> None:
    """A test that was given another name is found here, before a reader does."""
    _, _, where, shown, _ = row
    places, tests = re.findall(r"`([^`]+)`", where), re.findall(r"`([^`]+)`", shown)

    assert [one for one in places if not (ROOT / one).is_file()] == []
    for one in tests:
        path, _, name = one.partition("::")
        assert name.startswith("test_")
        assert name in named_in(path), one
