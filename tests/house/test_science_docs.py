"""Every public function of the sums says units, range and source, and takes names only."""

import ast
import csv
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
SCIENCE = ROOT / "coop" / "science"
HANDBOOK = ROOT / "fixtures" / "handbook"

SECTIONS = ("Args", "Returns", "Valid for", "Source", "Example")
LOOKUPS = {("defaults", "value"), ("defaults", "default")}
HEADER = ("document", "table", "read")


def modules() -> list[Path]:
    return sorted(SCIENCE.glob("**/*.py"))


def public_functions(tree: ast.Module) -> list[ast.FunctionDef]:
    """Functions of the module and methods that take arguments, nothing under a line."""
    found = [node for node in tree.body if isinstance(node, ast.FunctionDef)]
    for owner in tree.body:
        if isinstance(owner, ast.ClassDef) and not owner.name.startswith("_"):
            methods = [node for node in owner.body if isinstance(node, ast.FunctionDef)]
            found += [node for node in methods if argument_names(node)]
    return [node for node in found if not node.name.startswith("_")]


def argument_names(node: ast.FunctionDef) -> list[str]:
    named = [arg.arg for arg in (*node.args.posonlyargs, *node.args.args)]
    return [name for name in named if name not in {"self", "cls"}] + [
        arg.arg for arg in node.args.kwonlyargs
    ]


def sections(docstring: str) -> dict[str, str]:
    parts = re.split(rf"^({'|'.join(SECTIONS)}):$", docstring, flags=re.MULTILINE)
    return dict(zip(parts[1::2], parts[2::2], strict=True))


def argument_texts(args: str) -> dict[str, str]:
    parts = re.split(r"^ {4}(\w+):", args, flags=re.MULTILINE)
    return dict(zip(parts[1::2], parts[2::2], strict=True))


def faults(node: ast.FunctionDef, module: str) -> list[str]:
    """What is wrong with one function, in words."""
    found = sections(ast.get_docstring(node) or "")
    wanted = [name for name in SECTIONS if name != "Args" or argument_names(node)]
    wrong = []
    if [name for name in found if name in wanted] != wanted:
        wrong.append(f"has not the sections {', '.join(wanted)} in this order")
    wrong += [f"{name} is empty" for name, text in found.items() if not text.strip()]
    if not re.search(r"\[[^\]]+\]", found.get("Returns", "")):
        wrong.append("Returns has no unit in brackets")
    if ">>>" not in found.get("Example", ""):
        wrong.append("Example runs nothing")
    return wrong + argument_faults(node, module, found.get("Args", ""))


def argument_faults(node: ast.FunctionDef, module: str, args: str) -> list[str]:
    texts = argument_texts(args)
    wrong = [
        f"{name} has no unit in brackets"
        for name in argument_names(node)
        if not re.search(r"\[[^\]]+\]", texts.get(name, ""))
    ]
    wrong += [f"{name} is no argument" for name in texts.keys() - {*argument_names(node)}]
    by_place = [arg.arg for arg in (*node.args.posonlyargs, *node.args.args)]
    by_place = [name for name in by_place if name not in {"self", "cls"}]
    spread = [arg.arg for arg in (node.args.vararg, node.args.kwarg) if arg]
    if (module, node.name) not in LOOKUPS:
        wrong += [f"{name} can be given by place" for name in by_place + spread]
    return wrong


def faults_of(source: str, module: str) -> list[str]:
    return [
        f"{module}.{node.name}: {fault}"
        for node in public_functions(ast.parse(source))
        for fault in faults(node, module)
    ]


@pytest.mark.parametrize("path", modules(), ids=lambda path: path.stem)
def test_every_public_sum_gives_units_range_source_and_example(path):
    """A figure without them cannot be checked by the next person."""
    assert faults_of(path.read_text(), path.stem) == []


def test_there_are_public_sums_to_check():
    """A wrong folder would make the check above pass on nothing."""
    trees = [ast.parse(path.read_text()) for path in modules()]

    assert sum(len(public_functions(tree)) for tree in trees) > 20


GOOD = '''
def alum_left_g(*, alum_start_g: float, sheet_count: int) -> float:
    """
    Return the alum left.

    Args:
        alum_start_g: Alum at the start [g], over 0.
        sheet_count: Sheets [count], 0 to 2000;
            any paper.

    Returns:
        Alum [g].

    Valid for:
        Unbuffered paper.

    Source:
        Mass balance.

    Example:
        >>> alum_left_g(alum_start_g=1, sheet_count=0)
        1
    """
'''


def test_a_complete_function_is_let_through():
    assert faults_of(GOOD, "planted") == []


@pytest.mark.parametrize(
    ("kept", "planted", "fault"),
    [
        (" [count]", "", "sheet_count has no unit in brackets"),
        ("Alum at the start [g]", "Alum at the start", "alum_start_g has no unit in brackets"),
        ("    Alum [g].", "    Alum.", "Returns has no unit in brackets"),
        ("*, ", "", "alum_start_g can be given by place"),
        ("*, ", "*amounts, ", "amounts can be given by place"),
        ("    Source:\n        Mass balance.\n\n", "", "has not the sections"),
        ("        Mass balance.\n", "", "Source is empty"),
        ("        Unbuffered paper.\n", "", "Valid for is empty"),
        (">>> ", "", "Example runs nothing"),
        ("        sheet_count: Sheets", "        sheets: Sheets", "sheets is no argument"),
        ("    Valid for:", "    Range:", "has not the sections"),
        ('    """\n    Return', '    x = """\n    Return', "has not the sections"),
    ],
)
def test_a_planted_fault_is_found(kept, planted, fault):
    """The check itself is checked: each thing taken away must be missed."""
    assert GOOD.count(kept) >= 1

    assert any(fault in line for line in faults_of(GOOD.replace(kept, planted, 1), "planted"))


def test_a_method_with_arguments_cannot_hide_a_sum():
    hidden = "class Bath:\n    def left_g(self, sheet_count): return 1\n"

    assert faults_of(hidden, "planted")


def handbook_faults(text: str) -> list[str]:
    """What is wrong with one table of printed figures, in words."""
    lines = text.splitlines()
    head = dict(line[2:].split(": ", 1) for line in lines if line.startswith("# "))
    wrong = [f"the header has no {name}" for name in HEADER if not head.get(name)]
    if not re.match(r"\d{4}-\d{2}, (seen|from memory|computed)\b", head.get("read", "")):
        wrong.append("read is not a month and how: seen, from memory or computed")
    rows = list(csv.reader(line for line in lines if not line.startswith("#")))
    if len(rows) < 2:
        wrong.append("there are no figures")
    wrong += [
        f"row {row} has not the columns {rows[0]}" for row in rows if len(row) != len(rows[0])
    ]
    return wrong


@pytest.mark.parametrize("path", sorted(HANDBOOK.glob("*.csv")), ids=lambda path: path.stem)
def test_every_handbook_table_says_where_and_when_it_was_read(path):
    """A figure is only worth its source."""
    assert handbook_faults(path.read_text()) == []


@pytest.mark.parametrize("path", sorted(HANDBOOK.glob("*.csv")), ids=lambda path: path.stem)
def test_every_handbook_table_is_read_by_a_test(path):
    """A table nobody reads proves nothing."""
    texts = [test.read_text() for test in (ROOT / "tests").glob("**/test_*.py")]

    assert any(f'"{path.stem}"' in text or f'"{path.name}"' in text for text in texts)


HANDBOOK_GOOD = "# document: D\n# table: 1\n# read: 2026-11, seen\na,b\n1,2\n"


@pytest.mark.parametrize(
    ("kept", "planted", "fault"),
    [
        ("# document: D\n", "", "the header has no document"),
        ("2026-11, seen", "lately", "read is not a month"),
        ("1,2\n", "", "there are no figures"),
        ("1,2\n", "1,2,3\n", "has not the columns"),
    ],
)
def test_a_handbook_table_without_its_source_is_found(kept, planted, fault):
    """The check itself is checked."""
    assert handbook_faults(HANDBOOK_GOOD) == []

    assert any(
        fault in line for line in handbook_faults(HANDBOOK_GOOD.replace(kept, planted, 1))
    )
