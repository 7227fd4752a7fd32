"""What a studio's log of wastes counts for: litres and grams by the rows of the accounts."""

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import replace
from datetime import date, tzinfo
from fractions import Fraction

from coop.actions.liquid_rows import liquid_ml
from coop.ids import EntryId, Subject
from coop.ledger import accounts, kinds
from coop.ledger.accounts import Move
from coop.ledger.states import DisposalState, JarState
from coop.rules.packs import words
from coop.rules.packs.facts import Tally

LOGGED = (words.POURED, words.HAZARDOUS_MADE, words.ACUTE_MADE)
"""The sums that the lines of a log make up."""


Moves = Mapping[EntryId, tuple[Move, ...]]


def day_of(said: DisposalState, zone: tzinfo | None) -> date:
    """Return the day of a line by a studio's clock."""
    return said.at.astimezone(zone).date()


def tallies_of_log(
    lines: Iterable[DisposalState], moves: Moves, zone: tzinfo | None
) -> Iterator[Tally]:
    """
    Give what lines count for: what was poured, and hazardous waste made.

    What comes out of another jar was made before. A line of which nobody measured anything
    counts for an amount that is not known.
    """
    for said in lines:
        volume_ml, weight_g = moved(said, moves)
        tally = Tally(
            what=words.POURED,
            waste=said.waste or words.NOT_KNOWN,
            on=day_of(said, zone),
            outlet=said.outlet,
            volume_ml=exact(volume_ml),
            mass_g=exact(weight_g),
        )
        if said.kind in ("disposal.done", "mishap.noted") and said.outlet:
            yield tally
        elif said.kind == "waste.added" and said.hazardous == "yes" and not said.from_jar:
            what = words.ACUTE_MADE if said.acute else words.HAZARDOUS_MADE
            yield replace(tally, what=what, outlet="")


def summed_by_day(tallies: Iterable[Tally]) -> tuple[Tally, ...]:
    """Return what went on one day as one tally; what nobody measured stays by itself."""
    found: dict[Tally, Tally] = {}
    for one in tallies:
        key = replace(
            one,
            volume_ml=None if one.volume_ml is None else Fraction(0),
            mass_g=None if one.mass_g is None else Fraction(0),
        )
        before = found.get(key, key)
        found[key] = replace(
            one,
            volume_ml=_sum(before.volume_ml, one.volume_ml),
            mass_g=_sum(before.mass_g, one.mass_g),
        )
    return tuple(found.values())


def _sum(one: Fraction | None, other: Fraction | None) -> Fraction | None:
    return None if one is None or other is None else one + other


def exact(amount: float | None) -> Fraction | None:
    """Return an amount to the third decimal."""
    return None if amount is None else Fraction(round(amount * 1000), 1000)


def tallies_on_hand(jars: Iterable[JarState], today: date) -> Iterator[Tally]:
    """Give the hazardous waste that stands in jars, each since its first drop."""
    for jar in jars:
        if jar.hazardous == "yes" and jar.wastes_in:
            yield Tally(
                what=words.HAZARDOUS_ON_HAND,
                waste=jar.wastes_in[0],
                on=jar.first_on or today,
                volume_ml=exact(jar.volume_ml),
                mass_g=None if jar.volume_ml else exact(jar.weight_g),
            )


def moved(said: DisposalState, moves: Moves) -> tuple[float | None, float | None]:
    """Return what a line moved: litres and what was weighed; None for none [mL, g]."""
    rows = moves.get(EntryId(said.id), ())
    in_lots = [row.amount for row in rows if row.from_account.startswith("lot:")]
    weight = [row.amount for row in rows if row.substance.startswith("waste:")]
    volume_ml = liquid_ml(row for row in rows if not row.from_account.startswith("lot:"))
    if said.weight_g is None:
        volume_ml += sum(in_lots) / accounts.UL_PER_ML
    else:
        weight += in_lots
    return volume_ml or None, sum(weight) / accounts.UG_PER_G if weight else None


def by_entry(rows: Iterable[Move], wanted: Collection[EntryId]) -> Moves:
    """Return rows by the entry they are of."""
    found: dict[EntryId, tuple[Move, ...]] = {}
    for row in rows:
        if row.entry in wanted:
            found[row.entry] = (*found.get(row.entry, ()), row)
    return found


def ways_out(studio: Subject, lines: Iterable[DisposalState]) -> frozenset[str]:
    """Return the accounts to which a studio's lines move something."""
    jars = {accounts.account("jar", one.jar) for one in lines if one.jar}
    drains = {
        accounts.drain(studio, outlet, waste)
        for outlet in (*kinds.OUTLETS, words.NOT_KNOWN)
        for waste in kinds.WASTES
    }
    return frozenset(jars | drains | {accounts.collected(studio), accounts.spill(studio)})
