"""`coop export` and `coop import`: everything that anybody wrote, out and in again."""

import json
import sqlite3
import stat
from contextlib import closing
from pathlib import Path

import pytest

from coop.cli.common import FAILED, FINE
from tests.cli.said import here
from tests.support.opened import furnished, mixed

Capture = pytest.CaptureFixture[str]


@pytest.fixture
def ledger(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The folder of a ledger with a house and a bath in it."""
    monkeypatch.delenv("COOP_DATA", raising=False)
    monkeypatch.delenv("COOP_DATABASE", raising=False)
    folder = tmp_path / "ledger"
    folder.mkdir()
    house = furnished(folder)
    mixed(house)
    house.store.close()
    return folder


def test_out_and_in_again_comes_to_the_same_state(
    ledger: Path, tmp_path: Path, capsys: Capture
) -> None:
    """The two digests are equal; each coordinator gets an address to set a new password by."""
    file = tmp_path / "all.jsonl"
    out = json.loads(here(capsys, "export", str(ledger), str(file), "--json").out)

    found = json.loads(here(capsys, "import", str(file), str(tmp_path / "new"), "--json").out)

    assert found["state_digest"] == out["state_digest"]
    assert found["entries"] == out["entries"] > 0
    assert found["problems"] == []
    assert len(found["addresses"]) == 1
    assert "/join/" in found["addresses"][0]
    assert here(capsys, "verify", str(tmp_path / "new")).code == FINE
    assert stat.S_IMODE(file.stat().st_mode) == 0o600


def test_a_file_that_is_there_is_never_written_over(
    ledger: Path, tmp_path: Path, capsys: Capture
) -> None:
    file = tmp_path / "all.jsonl"
    file.write_text("mine")

    said = here(capsys, "export", str(ledger), str(file))

    assert said.code == FAILED
    assert "is there already" in said.err
    assert file.read_text() == "mine"
    assert not list(tmp_path.glob("*.part"))


def test_a_folder_with_a_ledger_takes_nothing_in(
    ledger: Path, tmp_path: Path, capsys: Capture
) -> None:
    """Two ledgers in one would be neither."""
    file = tmp_path / "all.jsonl"
    here(capsys, "export", str(ledger), str(file))

    said = here(capsys, "import", str(file), str(ledger))

    assert said.code == FAILED
    assert "holds a ledger already" in said.err


def test_a_faulty_line_is_named_and_the_right_file_goes_in_after_it(
    ledger: Path, tmp_path: Path, capsys: Capture
) -> None:
    """A letter changed in the third line: that is what is said, and nothing was taken in."""
    file, spoilt = tmp_path / "all.jsonl", tmp_path / "spoilt.jsonl"
    here(capsys, "export", str(ledger), str(file))
    lines = file.read_bytes().splitlines(keepends=True)
    lines[2] = lines[2].replace(b'"kind":"', b'"kind":"x', 1)
    spoilt.write_bytes(b"".join(lines))
    folder = tmp_path / "new"

    said = here(capsys, "import", str(spoilt), str(folder))

    assert said.code == FAILED
    assert "line 3: entry-digest: entry " in said.err
    assert "nothing was taken in" in said.err
    assert here(capsys, "import", str(file), str(folder)).code == FINE


def test_an_import_that_was_cut_off_goes_on(
    ledger: Path, tmp_path: Path, capsys: Capture
) -> None:
    """Killed before anybody could sign in: run again, it gives the addresses; later no more."""
    file, folder = tmp_path / "all.jsonl", tmp_path / "new"
    here(capsys, "export", str(ledger), str(file))
    here(capsys, "import", str(file), str(folder))
    with closing(sqlite3.connect(folder / "coop.db")) as database:
        database.execute("DELETE FROM invite")
        database.execute("DELETE FROM fold")
        database.commit()

    again = json.loads(here(capsys, "import", str(file), str(folder), "--json").out)

    assert len(again["addresses"]) == 1
    assert here(capsys, "verify", str(folder)).code == FINE


def test_what_is_not_there_is_said(tmp_path: Path, capsys: Capture) -> None:
    said = here(capsys, "import", str(tmp_path / "none.jsonl"), str(tmp_path / "new"))

    assert said.code == FAILED
    assert "there is no such file" in said.err
