"""Nothing in the repository names a machine, an address of packages or how it was made."""

import re

import pytest

from tests.support.files import ROOT, tracked_files

# Written in pieces, so that this file does not hold what it looks for.
FORBIDDEN = {
    "address of a package index": r"py{}pi\.org|python{}hosted|npm{}js\.org|deb\.{}debian\.org",
    "option naming an index": r"--(?:extra-)?{}index-url|--find-{}links",
    "path of one machine": r"(?<![\w.}])/(?:work|root|home|tmp){}/\w",
    "how it was made": r"\btran{}scripts?\b|\bsub-?{}agent|\.\./{}shared|\bdesign/\w+\.{}md",
}
PATTERNS = {
    name: re.compile(text.replace("{}", ""), re.IGNORECASE) for name, text in FORBIDDEN.items()
}


def lines_to_read() -> list[tuple[str, str]]:
    lines = []
    for path in tracked_files():
        data = path.read_bytes()
        if b"\0" in data:  # a picture
            continue
        name = str(path.relative_to(ROOT))
        lines.append((f"{name} (its name)", name))
        text = data.decode().splitlines()
        lines += [(f"{name}:{number}", line) for number, line in enumerate(text, 1)]
    return lines


@pytest.mark.parametrize("what", PATTERNS)
def test_no_file_holds(what: str) -> None:
    """Lock files and copied output are where such things slip in."""
    lines = lines_to_read()
    found = [f"{where}: {line.strip()}" for where, line in lines if PATTERNS[what].search(line)]

    assert len(lines) > 1_000
    assert not found, f"{what}:\n" + "\n".join(found)


@pytest.mark.parametrize(
    ("what", "line"),
    [
        ("address of a package index", "https://files.python" + "hosted.org/packages/"),
        ("option naming an index", "--index" + "-url somewhere"),
        ("path of one machine", "-e file:///" + "work/main"),
        ("how it was made", "as the tran" + "script says"),
    ],
)
def test_each_pattern_finds_its_kind(what: str, line: str) -> None:
    assert PATTERNS[what].search(line)
