"""Starts coop: ``python3 coop`` in a checkout, ``python -m coop`` where it is installed."""

import os
import sys

OLDEST_PYTHON = (3, 11)


def main() -> int:
    """Run a command; from a bare checkout, make its environment first and start again there."""
    if __package__:
        from coop.cli import main as command

        return command()
    return _start_from_checkout()


def _start_from_checkout() -> int:
    if sys.version_info < OLDEST_PYTHON:  # a bare machine may have an older one
        needs = f"needs Python 3.11 or newer, this is {sys.version.split()[0]}"
        print(f"coop: {needs}", file=sys.stderr)
        return 1
    package_folder = os.path.dirname(os.path.realpath(__file__))
    # Running a folder puts it first on the path, where its modules would hide others.
    sys.path[:] = [p for p in sys.path if os.path.realpath(p) != package_folder]
    sys.path.insert(0, os.path.dirname(package_folder))
    from coop.bootstrap import Stopped, environment

    try:
        python = environment("requirements.lock")
    except Stopped as why:
        print(f"coop: {why}", file=sys.stderr)
        return 1
    os.execv(python, [str(python), "-P", "-m", "coop", *sys.argv[1:]])


if __name__ == "__main__":
    sys.exit(main())
