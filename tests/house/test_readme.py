"""What README and DEVELOPERS show of the command line is what a reader gets."""

import doctest
import os
import re
import subprocess
import sys
from pathlib import Path
from typing import NamedTuple

import pytest

from tests.support.files import ROOT

DOCUMENTS = ("README.md", "DEVELOPERS.md")
FENCE = re.compile(r"^```console ci\n(.*?)^```$", re.DOTALL | re.MULTILINE)
SECONDS_MAX = 120


class Block(NamedTuple):
    """One fenced block: where it begins, and what it holds."""

    where: str
    text: str


def blocks(document: Path) -> list[Block]:
    if not document.is_file():
        return []
    text = document.read_text()
    return [
        Block(f"{document.name}:{text.count(chr(10), 0, found.start()) + 1}", found[1])
        for found in FENCE.finditer(text)
    ]


BLOCKS = [block for name in DOCUMENTS for block in blocks(ROOT / name)]


def run(block: str, folder: Path) -> list[str]:
    """Run each command of the block in the folder; return what came out differently."""
    path = f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}"
    wrong = []
    for part in re.split(r"^\$ ", block, flags=re.MULTILINE)[1:]:
        command, _, shown = part.partition("\n")
        done = subprocess.run(
            ["bash", "-euc", command], cwd=folder, env={**os.environ, "PATH": path},
            stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True,
            check=False, timeout=SECONDS_MAX,
        )  # fmt: skip
        if done.returncode != 0 or not matches(shown, done.stdout):
            wrong.append(f"$ {command}\n{done.stdout}(ended with {done.returncode})")
    return wrong


def matches(shown: str, printed: str) -> bool:
    flags = doctest.ELLIPSIS | doctest.NORMALIZE_WHITESPACE
    return doctest.OutputChecker().check_output(shown.replace("…", "..."), printed, flags)


def test_there_is_something_to_run() -> None:
    assert any(block.where.startswith("README.md") for block in BLOCKS)


@pytest.mark.parametrize("block", BLOCKS, ids=[block.where for block in BLOCKS])
def test_a_shown_command_prints_what_is_shown(block: Block, tmp_path: Path) -> None:
    """A newcomer types what stands here and nothing else."""
    assert run(block.text, tmp_path) == []


@pytest.mark.parametrize(
    "block", ["$ echo two words\nother words\n", "$ false\n", "$ echo a\n$ echo b\nb\n"]
)
def test_a_changed_word_or_a_failing_command_is_seen(block: str, tmp_path: Path) -> None:
    assert len(run(block, tmp_path)) == 1


def test_dots_stand_for_anything(tmp_path: Path) -> None:
    assert run("$ echo from 1 to 9\nfrom … to 9\n", tmp_path) == []


def test_the_words_by_which_a_phone_is_set_up_are_those_of_the_page() -> None:
    """A reader looks for them word by word."""
    (told,) = re.findall(r"The phone on the stairs: .*", (ROOT / "README.md").read_text())
    page = (ROOT / "coop/web/templates/me.html").read_text()
    words = re.findall(r'"([^"]+)"', told)

    assert words == ["Without a signal", "Set up this phone or tablet"]
    assert [one for one in words if f'_("{one}")' not in page] == []
