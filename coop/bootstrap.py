"""
Makes the checkout's own virtual environment, with nothing but the standard library.

``python3 coop`` and ``python3 tests`` both begin here, on a machine that has Python and
nothing else.  What is installed comes from a lock file with a hash for every package; the
checkout itself is put on the path, so nothing has to be built.  A stamp file remembers what
was installed, so that later starts cost one small read.
"""

import fcntl
import hashlib
import importlib.util
import os
import shlex
import shutil
import subprocess
import sys
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent


class Stopped(Exception):
    """Something is missing that only the person at the machine can put right."""


def environment(lock_name: str, root: Path = ROOT) -> Path:
    """
    Return the Python of ``root/.venv``, holding what the lock file ``root/lock_name`` lists.

    Raises `Stopped`, saying what to install, when the environment cannot be made.
    """
    venv, lock = root / ".venv", root / lock_name
    python, stamp = venv / "bin" / "python", venv / f"{lock_name}.stamp"
    with _one_at_a_time(lock):
        if stamp.is_file() and stamp.read_text() == _fingerprint(lock, python):
            return python
        if not _is_usable(python):
            _make_venv(venv)
        _install(python, lock)
        _link(python, root)
        stamp.write_text(_fingerprint(lock, python))
    return python


@contextmanager
def _one_at_a_time(lock: Path) -> Iterator[None]:
    """Hold back a second start until the first has made the environment."""
    try:
        handle = lock.open("rb")
    except OSError as error:
        raise Stopped(
            f"cannot read {lock}: {error.strerror}; is the checkout whole?"
        ) from error
    with handle:
        fcntl.flock(handle, fcntl.LOCK_EX)
        yield


def _fingerprint(lock: Path, python: Path) -> str:
    """Change with the lock file, with the Python beneath and when the checkout is moved."""
    digest = hashlib.sha256(lock.read_bytes()).hexdigest()
    return f"{digest}\n{os.path.realpath(python)}\n{python}\n"


def _is_usable(python: Path) -> bool:
    """Say no to an environment left without its Python, as after an upgrade of the system."""
    if not python.exists():
        return False
    tried = subprocess.run([python, "-c", "import pip"], capture_output=True, check=False)
    return tried.returncode == 0


def _make_venv(venv: Path) -> None:
    if not os.access(venv.parent, os.W_OK):
        raise Stopped(f"may not write to {venv.parent}; use a checkout of your own")
    _tell(f"making {venv}")
    if not _can_make_venv():
        install_debian({"python3-venv": "to make a virtual environment"})
    if not _can_make_venv():
        raise Stopped(
            f"{sys.executable} has no 'venv' or no 'ensurepip' module; "
            "install them, or run this with another Python 3.11 or newer"
        )
    _run([sys.executable, "-m", "venv", "--clear", str(venv)], f"could not make {venv}")


def _can_make_venv() -> bool:
    importlib.invalidate_caches()
    return all(importlib.util.find_spec(name) for name in ("venv", "ensurepip"))


def _install(python: Path, lock: Path) -> None:
    _tell(f"installing what {lock.name} lists; this happens once and takes about half a minute")
    options = ["--quiet", "--disable-pip-version-check", "--no-input", "--require-hashes"]
    _run(
        [str(python), "-m", "pip", "install", *options, "-r", str(lock)],
        "could not install the packages; pip needs a package index the first time",
    )


def _link(python: Path, root: Path) -> None:
    """Put the checkout on the environment's path, and a command ``coop`` beside its Python."""
    ask = "import sysconfig; print(sysconfig.get_path('purelib'))"
    site = subprocess.run([python, "-c", ask], capture_output=True, text=True, check=True)
    Path(site.stdout.strip(), "coop-checkout.pth").write_text(f"{root}\n")
    command = python.parent / "coop"
    command.write_text(f'#!/bin/sh\nexec {shlex.quote(str(python))} -P -m coop "$@"\n')
    command.chmod(0o755)


def install_debian(missing: Mapping[str, str]) -> None:
    """
    Install Debian packages, given as a mapping from package to what it is needed for.

    Only root on a machine with apt-get may; anybody else gets `Stopped` with the command.
    """
    packages = sorted(missing)
    if not packages:
        return
    if os.geteuid() != 0 or shutil.which("apt-get") is None:
        wanted = "; ".join(f"{name} ({missing[name]})" for name in packages)
        raise Stopped(
            f"missing: {wanted}. On Debian: sudo apt-get install {' '.join(packages)}"
        )
    _tell(f"installing {', '.join(packages)} with apt-get")
    _run(["apt-get", "update", "-qq"], "apt-get update failed")
    options = ["-y", "-qq", "--no-install-recommends"]
    _run(["apt-get", "install", *options, *packages], "apt-get install failed")


def _run(command: list[str], when_it_fails: str) -> None:
    quiet = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    done = subprocess.run(command, env=quiet, stdout=subprocess.PIPE, text=True, check=False)
    if done.returncode != 0:
        sys.stderr.write(done.stdout)
        raise Stopped(f"{when_it_fails} ({shlex.join(command)} ended with {done.returncode})")


def _tell(text: str) -> None:
    print(f"coop: {text}", file=sys.stderr, flush=True)
