"""Opening the ledger of a folder, or saying in one line why that cannot be."""

from collections.abc import Iterator
from contextlib import contextmanager

from coop.cli.common import Stopped
from coop.settings import Settings
from coop.store.desk import NotInitialised, Store, open_store
from coop.store.engines import Busy, UnfitDatabase, Unkept
from coop.store.standing import Standing, fit, standing


def standing_of(settings: Settings) -> Standing:
    """Say how the folder's database stands to this release."""
    with told():
        found = standing(settings.database)
    if found is Standing.NEWER:
        raise Stopped(f"{settings.data}: made by a newer release of coop; start that one")
    return found


def refuse_unready(settings: Settings) -> None:
    """Stop where there is no ledger yet, or one that must be upgraded first."""
    found = standing_of(settings)
    if found is Standing.EMPTY:
        raise Stopped(f"{settings.data}: holds no ledger; coop init makes one")
    if found is Standing.OLDER:
        raise Stopped(f"{settings.data}: made by an older release; run coop upgrade first")


@contextmanager
def opened(settings: Settings) -> Iterator[Store]:
    """Open a ledger that is ready for this release."""
    refuse_unready(settings)
    with opened_as_it_is(settings) as store:
        yield store


@contextmanager
def opened_as_it_is(settings: Settings) -> Iterator[Store]:
    """Open a ledger that is at the newest step, whatever an upgrade has still to work out."""
    with told():
        try:
            store = open_store(settings.database)
        except NotInitialised as why:
            raise Stopped(f"{settings.data}: holds no ledger; coop init makes one") from why
        try:
            yield store
        finally:
            store.close()


@contextmanager
def told() -> Iterator[None]:
    """Turn what the database refuses into the one line of a command."""
    try:
        with fit():
            yield
    except (UnfitDatabase, Busy, Unkept) as why:
        raise Stopped(str(why)) from why
