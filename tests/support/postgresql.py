"""A PostgreSQL server for the tests, started when the first test asks for it."""

import os
import pwd
import secrets
import shutil
import socket
import subprocess
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import psycopg
import pytest
from psycopg import sql

from tests.support.programs import postgresql_folder

INITDB = ["-U", "coop", "-A", "trust", "-E", "UTF8", "--locale=C.UTF-8", "--no-sync"]


@pytest.fixture(scope="session")
def pg_server() -> Iterator[str]:
    """
    Yield the address of a server for the tests, without a database name and a slash at its end.

    `COOP_TEST_PG` names one that is there already, whose user may create databases.
    """
    if given := os.environ.get("COOP_TEST_PG"):
        yield given.rstrip("/")
        return
    programs = postgresql_folder()
    if programs is None:
        pytest.fail("no PostgreSQL: install Debian's postgresql or set COOP_TEST_PG")
    folder = Path(tempfile.mkdtemp(prefix="coop-pg-"))
    try:
        yield from _serve(programs, folder, _free_port())
    finally:
        shutil.rmtree(folder)


def _serve(programs: Path, folder: Path, port: int) -> Iterator[str]:
    # The server refuses to run as root, so root runs it as Debian's user for it.
    user = pwd.getpwnam("postgres") if os.geteuid() == 0 else pwd.getpwuid(os.geteuid())
    os.chown(folder, user.pw_uid, user.pw_gid)

    who: dict[str, Any] = {}
    if os.geteuid() == 0:
        who = {"user": user.pw_uid, "group": user.pw_gid, "extra_groups": []}

    def run(program: str, *arguments: str) -> None:
        command = [str(programs / program), "-D", str(folder / "data"), *arguments]
        quiet: dict[str, Any] = {"stdout": subprocess.DEVNULL, "stderr": subprocess.PIPE}
        done = subprocess.run(command, cwd=folder, check=False, **quiet, **who)
        assert done.returncode == 0, f"{program}: {done.stderr.decode()}"

    run("initdb", *INITDB)
    settings = f"-c listen_addresses=127.0.0.1 -p {port} -c unix_socket_directories={folder}"
    quick = "-c fsync=off -c full_page_writes=off"
    run("pg_ctl", "-w", "-l", str(folder / "log"), "-o", f"{settings} {quick}", "start")
    try:
        yield f"postgresql://coop@127.0.0.1:{port}"
    finally:
        run("pg_ctl", "-w", "-m", "immediate", "stop")


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


@pytest.fixture
def pg_database(pg_server: str) -> Iterator[str]:
    """Yield the address of an empty database that goes with the test."""
    name = f"coop_{secrets.token_hex(6)}"
    with psycopg.connect(f"{pg_server}/postgres", autocommit=True) as server:
        server.execute(sql.SQL("CREATE DATABASE {}").format(sql.Identifier(name)))
        try:
            yield f"{pg_server}/{name}"
        finally:
            drop = sql.SQL("DROP DATABASE {} WITH (FORCE)")
            server.execute(drop.format(sql.Identifier(name)))
