"""`coop init`: a private folder, a one-use address, and nothing taken from anybody."""

import re
import stat
from pathlib import Path

import pytest

from coop.app import clock
from coop.cli import init
from coop.cli.common import FAILED, FINE, MISUSE, Stopped
from coop.settings import Settings, from_environment
from coop.store import invites, migrate
from coop.store.desk import open_store
from tests.cli.said import Said, beside, here
from tests.support.opened import opened

Capture = pytest.CaptureFixture[str]


@pytest.fixture(autouse=True)
def no_settings(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Start in an empty folder, with nothing said in the environment."""
    monkeypatch.delenv("COOP_DATA", raising=False)
    monkeypatch.delenv("COOP_DATABASE", raising=False)
    monkeypatch.chdir(tmp_path)


def mode(path: Path) -> int:
    return stat.S_IMODE(path.stat().st_mode)


def token_of(said: Said) -> str:
    found = re.search(r"http://127\.0\.0\.1:8080/join/(\S+)$", said.out, re.MULTILINE)
    assert found, said
    return found[1]


def standing(folder: Path, token: str) -> str:
    store = open_store(settings(folder).database)
    with store.reading() as desk:
        found = invites.standing(desk.connection, token, clock())
    store.close()
    return found


def settings(folder: Path) -> Settings:
    return from_environment({"COOP_DATA": str(folder)})


def test_a_new_folder_is_its_owners_only(capsys: Capture, tmp_path: Path) -> None:
    """The database holds password hashes, the key signs forms."""
    said = here(capsys, "init", "ledger")

    assert said.code == FINE
    assert mode(tmp_path / "ledger") == 0o700
    assert mode(tmp_path / "ledger" / "key") == 0o600
    assert mode(tmp_path / "ledger" / "coop.db") == 0o600
    assert "coop serve ledger" in said.out
    assert standing(tmp_path / "ledger", token_of(said)) == "good"


def test_an_empty_folder_that_is_there_is_made_private(capsys: Capture, tmp_path: Path) -> None:
    (tmp_path / "ledger").mkdir(mode=0o755)

    assert here(capsys, "init", "ledger").code == FINE
    assert mode(tmp_path / "ledger") == 0o700


def test_a_second_run_gives_a_fresh_address_in_place_of_the_first(
    capsys: Capture, tmp_path: Path
) -> None:
    """The first was lost, or seen by somebody it was not meant for."""
    first = token_of(here(capsys, "init", "ledger"))
    second = token_of(here(capsys, "init", "ledger"))

    assert first != second
    assert standing(tmp_path / "ledger", first) == "unknown"
    assert standing(tmp_path / "ledger", second) == "good"


def test_an_open_ledger_is_left_alone(capsys: Capture, tmp_path: Path) -> None:
    opened(tmp_path).store.close()

    said = here(capsys, "init", str(tmp_path))

    assert said.code == FAILED
    assert said.err == f"coop: {tmp_path}: this ledger is open already; run coop serve\n"


def test_the_environment_may_name_the_folder(tmp_path: Path) -> None:
    said = beside(tmp_path, "init", COOP_DATA="kept", COOP_PORT="8123")

    assert said.code == FINE, said
    assert (tmp_path / "kept" / "coop.db").is_file()
    assert "coop serve\n" in said.out
    assert "http://127.0.0.1:8123/join/" in said.out


def test_a_folder_must_be_named(capsys: Capture, tmp_path: Path) -> None:
    """A ledger somewhere nobody looked for it is soon two ledgers."""
    said = here(capsys, "init")

    assert said.code == MISUSE
    assert "name the folder to make" in said.err
    assert list(tmp_path.iterdir()) == []


def test_the_address_and_the_command_agree_on_the_port(capsys: Capture) -> None:
    """An address at another port than the one that is served opens nothing."""
    said = here(capsys, "init", "ledger", "--port", "8123")

    assert said.code == FINE
    assert "coop serve ledger --port 8123\n" in said.out
    assert "http://127.0.0.1:8123/join/" in said.out


@pytest.mark.parametrize("wrong", ["0", "65536", "web"])
def test_a_port_nothing_can_be_served_at_makes_nothing(
    wrong: str, capsys: Capture, tmp_path: Path
) -> None:
    assert here(capsys, "init", "ledger", "--port", wrong).code != FINE
    assert list(tmp_path.iterdir()) == []


def test_a_folder_of_other_things_is_not_taken_over(capsys: Capture, tmp_path: Path) -> None:
    """A slip of the finger must not fill somebody's home folder, nor close it to others."""
    (tmp_path / "letters.txt").write_text("dear")
    tmp_path.chmod(0o755)

    said = here(capsys, "init", str(tmp_path))

    assert said.code == FAILED
    assert "holds letters.txt; name a new or an empty folder" in said.err
    assert [one.name for one in tmp_path.iterdir()] == ["letters.txt"]
    assert mode(tmp_path) == 0o755


@pytest.mark.parametrize("where", ["file", "file/below"])
def test_a_file_is_no_folder(where: str, capsys: Capture, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")

    said = here(capsys, "init", where)

    assert said.code == FAILED
    assert said.err.startswith(f"coop: {tmp_path / where}: ")
    assert said.err.count("\n") == 1


def test_a_file_that_is_no_database_is_left_as_it_is(capsys: Capture, tmp_path: Path) -> None:
    file = tmp_path / "ledger" / "coop.db"
    file.parent.mkdir()
    file.write_text("these are not the bytes of a database, but they are somebody's")

    said = here(capsys, "init", "ledger")

    assert said.code == FAILED
    assert said.err == "coop: database: file is not a database\n"
    assert file.read_text().startswith("these are not")


def test_a_ledger_of_an_older_release_is_for_upgrade(tmp_path: Path) -> None:
    """Starting anew must not change a database without a copy of it."""
    migrate.upgrade(settings(tmp_path).database, "0001")

    with pytest.raises(Stopped, match="run coop upgrade"):
        init.prepare(settings(tmp_path))
    assert migrate.current(settings(tmp_path).database) == "0001"


def test_a_start_that_was_interrupted_can_be_finished(capsys: Capture, tmp_path: Path) -> None:
    """Power went after the key was made, or after the tables were."""
    (tmp_path / "ledger").mkdir()
    (tmp_path / "ledger" / "key.0123456789abcdef").write_text("half a key")
    assert here(capsys, "init", "ledger").code == FINE

    (tmp_path / "other").mkdir()
    migrate.upgrade(settings(tmp_path / "other").database)
    assert token_of(here(capsys, "init", "other"))
