"""The lock files hold what pyproject.toml asks for, pinned and with hashes."""

import re
import tomllib
from typing import Any

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

from tests.support.files import ROOT

PROJECT: dict[str, Any] = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
WANTED = {
    "requirements.lock": PROJECT["dependencies"],
    "requirements-test.lock": PROJECT["dependencies"]
    + PROJECT["optional-dependencies"]["test"],
}


def pins(lock: str) -> list[str]:
    """Return the lock file's entries, each with its hashes, comments left out."""
    kept = [x for x in (ROOT / lock).read_text().splitlines() if not x.lstrip().startswith("#")]
    return [
        " ".join(entry.split()) for entry in re.split(r"\n(?=\S)", "\n".join(kept)) if entry
    ]


def requirement(pin: str) -> Requirement:
    return Requirement(pin.split(" --hash")[0].rstrip(" \\"))


def asked_for(lock: str) -> list[Requirement]:
    wanted = map(Requirement, WANTED[lock])
    return [r for r in wanted if canonicalize_name(r.name) != PROJECT["name"]]


@pytest.mark.parametrize("lock", WANTED)
def test_every_package_is_pinned_with_a_hash(lock: str) -> None:
    """What was tested is what is installed, byte for byte."""
    loose = [
        p for p in pins(lock) if not re.match(r"[\w.-]+==\S+ .*--hash=sha256:[0-9a-f]{64}", p)
    ]

    assert len(pins(lock)) > 20
    assert not loose


@pytest.mark.parametrize("lock", WANTED)
def test_the_lock_follows_the_project_file(lock: str) -> None:
    """After changing dependencies: python -m tests.lock."""
    locked: dict[str, list[str]] = {}
    for entry in map(requirement, pins(lock)):
        version = str(entry.specifier).removeprefix("==")
        locked.setdefault(canonicalize_name(entry.name), []).append(version)
    unmet = [
        str(wanted)
        for wanted in asked_for(lock)
        if not locked.get(canonicalize_name(wanted.name))
        or not all(map(wanted.specifier.contains, locked[canonicalize_name(wanted.name)]))
    ]

    assert not unmet, "make the lock files anew: python -m tests.lock"


def test_the_tests_run_with_the_versions_a_studio_runs_with() -> None:
    assert set(pins("requirements.lock")) <= set(pins("requirements-test.lock"))
