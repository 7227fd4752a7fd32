"""The programs from outside Python that the tests need; the standard library is enough here."""

import os
import shutil
from ctypes.util import find_library
from pathlib import Path

DEBIAN_POSTGRESQL = Path("/usr/lib/postgresql")


def chromium() -> str | None:
    return shutil.which("chromium") or shutil.which("chromium-browser")


def postgresql_folder() -> Path | None:
    """Return the folder of initdb and pg_ctl; Debian keeps it off the path, one per version."""
    versions = DEBIAN_POSTGRESQL.glob("*/bin/pg_ctl")
    newest_first = sorted(versions, key=lambda p: float(p.parts[-3]), reverse=True)
    if newest_first:
        return newest_first[0].parent
    found = shutil.which("pg_ctl")
    return Path(found).resolve().parent if found else None


def missing_debian_packages() -> dict[str, str]:
    """Return the Debian packages to install, with what each is needed for."""
    missing = {}
    if shutil.which("git") is None:
        missing["git"] = "to list the files the checks read"
    if chromium() is None:
        missing["chromium"] = "for the tests that drive a browser"
    if shutil.which("strace") is None:
        missing["strace"] = "to see what a process wrote when the plug is pulled"
    if find_library("atomic") is None:
        missing["libatomic1"] = "for the program between the tests and the browser"
    if shutil.which("openssl") is None:
        missing["openssl"] = "to look at certificates as somebody else does"
    if shutil.which("certutil") is None:
        missing["libnss3-tools"] = "to let a browser trust the studio's own certificates"
    if postgresql_folder() is None and "COOP_TEST_PG" not in os.environ:
        missing["postgresql"] = "for the tests against PostgreSQL"
    return missing
