"""Functions fit a screen, and every module says what it is for."""

import ast
import io
import tokenize
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.support.files import ROOT, python_files

LINES_MAX = 40

# "path::function": lines.  May only shrink: a shorter function must lower its figure here.
EXCEPTIONS: dict[str, int] = {}

FILES = python_files("coop", "migrations", "tests")
NO_CODE = {
    tokenize.COMMENT, tokenize.NL, tokenize.NEWLINE,
    tokenize.INDENT, tokenize.DEDENT, tokenize.ENDMARKER, tokenize.ENCODING,
}  # fmt: skip
Function = ast.FunctionDef | ast.AsyncFunctionDef


def code_lines(source: str) -> Iterator[tuple[str, int]]:
    """Yield each function's name and its lines from ``def`` on that hold code."""
    coded = lines_with_code(source)
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, Function):
            taken = set(range(node.lineno, (node.end_lineno or node.lineno) + 1)) & coded
            yield node.name, len(taken - docstring_lines(node))


def lines_with_code(source: str) -> set[int]:
    tokens = tokenize.generate_tokens(io.StringIO(source).readline)
    found: set[int] = set()
    for token in tokens:
        if token.type not in NO_CODE:
            found.update(range(token.start[0], token.end[0] + 1))
    return found


def docstring_lines(function: Function) -> set[int]:
    if ast.get_docstring(function, clean=False) is None:
        return set()
    first = function.body[0]
    return set(range(first.lineno, (first.end_lineno or first.lineno) + 1))


def measured() -> dict[str, int]:
    lengths: dict[str, int] = {}
    for path in FILES:
        for name, lines in code_lines(path.read_text()):
            key = f"{path.relative_to(ROOT)}::{name}"
            lengths[key] = max(lines, lengths.get(key, 0))
    return lengths


def test_no_function_is_longer_than_a_screen() -> None:
    """What does not fit a screen is read in pieces, and the pieces are read wrongly."""
    long = {k: n for k, n in measured().items() if n > EXCEPTIONS.get(k, LINES_MAX)}

    assert len(FILES) > 10
    assert not long, f"over {LINES_MAX} code lines, split them: {long}"


def test_the_table_of_exceptions_only_shrinks() -> None:
    """A figure left too high would let a function grow again."""
    lengths = measured()

    assert {name: lengths.get(name) for name in EXCEPTIONS} == EXCEPTIONS
    assert all(lines > LINES_MAX for lines in EXCEPTIONS.values())


@pytest.mark.parametrize(("extra", "expected"), [(0, 3), (43, 46)])
def test_only_lines_with_code_are_counted(extra: int, expected: int) -> None:
    """Comments, blank lines and docstrings are there for the reader."""
    source = 'def f():\n    """Say\n    more."""\n\n    # why\n    a = """one\n    two"""\n'

    assert dict(code_lines(source + "    b = 1\n" * extra)) == {"f": expected}


def with_code(path: Path) -> bool:
    return bool(ast.parse(path.read_text()).body)


@pytest.mark.parametrize(
    "path", [str(p.relative_to(ROOT)) for p in python_files("coop") if with_code(p)]
)
def test_every_module_says_what_it_is_for(path: str) -> None:
    """The first line of a file is where a reader decides whether to read on."""
    assert ast.get_docstring(ast.parse((ROOT / path).read_text()))
