"""What is said of wastes, told in a few words: the lines of a studio's log and its rules."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from types import MappingProxyType
from typing import Any, Protocol

from coop.ids import Subject
from coop.ledger import kinds
from coop.web import words as say
from coop.web.doses import number_text, quantity_text
from coop.web.i18n import Words


class Named(Protocol):
    """Names of things by their ids."""

    def of(self, sort: str, subject: Subject | None) -> str:
        """Return a thing's name."""


OfWaste = (
    kinds.JarVouched
    | kinds.DisposalJudged
    | kinds.DisposalDone
    | kinds.WasteAdded
    | kinds.MishapNoted
)


def _published(words: Words, names: Named, said: kinds.RulesPublished) -> str:
    told_with = {
        "studio": names.of("studio", said.studio),
        "pack": said.pack,
        "edition": said.pack_edition,
    }
    if said.in_use == "no":
        return words.gettext(
            "put rules of the drain at %(studio)s out of use: %(pack)s, edition %(edition)s",
            **told_with,
        )
    return words.gettext(
        "published rules of the drain at %(studio)s: %(pack)s, edition %(edition)s", **told_with
    )


def _vouched(words: Words, names: Named, said: kinds.JarVouched) -> str:
    return words.gettext(
        "vouched for what is in a jug: %(what)s", what=_what(words, names, said)
    )


def _what(words: Words, names: Named, said: OfWaste) -> str:
    """Say which waste and how much: 'rinse water, 36 sheets', 'alum bath, all of it'."""
    assert said.waste is not None
    waste = say.choice(words, "waste", said.waste)
    lot = getattr(said, "lot", None)
    if lot is not None:
        waste = words.gettext("%(waste)s (%(lot)s)", waste=waste, lot=names.of("lot", lot))
    much = _much(words, said)
    return f"{waste}, {much}" if much else waste


def _much(words: Words, said: OfWaste) -> str:
    """Say how much it was; of a bath or a jar without litres all of it."""
    amount = said.litres or getattr(said, "weight", None)
    if amount is not None:
        return quantity_text(words, amount)
    count = getattr(said, "sheet_count", None)
    if count is not None:
        return words.ngettext("%(num)d sheet", "%(num)d sheets", count)
    whole = any(getattr(said, name) for name in _WHOLE.get(type(said), ()))
    return words.gettext("all of it") if whole else ""


_WHOLE: Mapping[type[Any], tuple[str, ...]] = MappingProxyType(
    {kinds.DisposalDone: ("bath", "jar", "jug"), kinds.WasteAdded: ("bath", "jug")}
)
"""Of what without litres all goes."""


def _judged(words: Words, names: Named, said: kinds.DisposalJudged) -> str:
    return words.gettext(
        "may it go? %(what)s, %(outlet)s: %(outcome)s",
        what=_what(words, names, said),
        outlet=say.choice(words, "outlet", said.outlet),
        outcome=say.choice(words, "outcome_of_drain", said.outcome),
    )


def _treated(words: Words, names: Named, said: kinds.DisposalTreated) -> str:
    parts = [say.choice(words, "treatment", said.step)]
    if said.base is not None:
        parts.append(say.choice(words, "neutraliser", said.base))
    parts += [quantity_text(words, one) for one in (said.weight, said.litres) if one]
    if said.lot is not None:
        parts.append(names.of("lot", said.lot))
    return ", ".join(parts)


def _got_rid(words: Words, names: Named, said: kinds.DisposalDone) -> str:
    parts = [say.choice(words, "gone_to", said.outlet)]
    parts += [say.choice(words, "drain_step", step) for step in said.steps]
    parts += [gone_without(words, said.without)] if said.without else []
    if said.reason:
        why = say.choice(words, "anyway_reason", said.reason)
        parts.append(words.gettext("anyway: %(why)s", why=why))
    return words.gettext(
        "got rid of %(what)s: %(where)s",
        what=_what(words, names, said),
        where=", ".join(parts),
    )


def gone_without(words: Words, steps: Iterable[str]) -> str:
    """Name the steps that were asked for and not done: 'went without: cooled'."""
    named = ", ".join(say.choice(words, "drain_step", one) for one in steps)
    return words.gettext("went without: %(steps)s", steps=named)


def _started(words: Words, names: Named, said: kinds.WasteStarted) -> str:
    return words.gettext(
        "set up %(name)s, %(sort)s of %(holds)s: %(wastes)s",
        name=said.name,
        sort=say.choice(words, "jar_sort", said.sort),
        holds=quantity_text(words, said.holds),
        wastes=", ".join(say.choice(words, "waste", one) for one in said.wastes),
    )


def _added(words: Words, names: Named, said: kinds.WasteAdded) -> str:
    told_with = {"what": _what(words, names, said), "jar": names.of("jar", said.jar)}
    if said.from_jar is None:
        text = words.gettext("into %(jar)s: %(what)s", **told_with)
    else:
        giver = names.of("jar", said.from_jar)
        text = words.gettext(
            "out of %(giver)s into %(jar)s: %(what)s", giver=giver, **told_with
        )
    full = words.gettext("it is full")
    return f"{text}, {full}" if said.full == "yes" else text


def _collected(words: Words, names: Named, said: kinds.WasteCollected) -> str:
    much = quantity_text(words, said.litres) if said.litres else words.gettext("all of it")
    parts = [much, said.to, said.reference]
    if said.jar_gone == "yes":
        parts.append(words.gettext("with its vessel"))
    return words.gettext(
        "%(jar)s collected by %(who)s: %(what)s",
        jar=names.of("jar", said.jar),
        who=said.by,
        what=", ".join(filter(None, parts)),
    )


def _carried(words: Words, names: Named, said: kinds.WasteCarried) -> str:
    told_with = {
        "what": names.of("jar", said.jar) if said.jar else names.of("bath", said.bath),
        "giver": names.of("studio", said.from_studio),
        "taker": names.of("studio", said.studio),
    }
    if not said.carried_in:
        return words.gettext("%(what)s carried from %(giver)s to %(taker)s", **told_with)
    return words.gettext(
        "%(what)s carried from %(giver)s to %(taker)s in %(vessel)s",
        vessel=said.carried_in,
        **told_with,
    )


def _mishap(words: Words, names: Named, said: kinds.MishapNoted) -> str:
    return words.gettext("mishap: %(parts)s", parts=", ".join(_of_mishap(words, names, said)))


def _of_mishap(words: Words, names: Named, said: kinds.MishapNoted) -> Iterator[str]:
    yield say.choice(words, "mishap", said.what)
    if said.waste is not None:
        yield _what(words, names, said)
    elif said.litres is not None:
        yield quantity_text(words, said.litres)
    if said.outlet is not None:
        yield say.choice(words, "outlet", said.outlet)
    yield from (say.choice(words, "done_about_it", one) for one in said.done)
    if said.called:
        yield words.gettext("called %(who)s", who=said.called)


TELLERS: Mapping[type[Any], Callable[[Words, Named, Any], str]] = MappingProxyType(
    {
        kinds.RulesPublished: _published,
        kinds.JarVouched: _vouched,
        kinds.DisposalJudged: _judged,
        kinds.DisposalTreated: _treated,
        kinds.DisposalDone: _got_rid,
        kinds.WasteStarted: _started,
        kinds.WasteAdded: _added,
        kinds.WasteCollected: _collected,
        kinds.WasteCarried: _carried,
        kinds.MishapNoted: _mishap,
    }
)


def drain_reading(words: Words, said: kinds.ReadingTaken) -> str:
    """Say what a pH strip or meter, a screen or a laboratory found."""
    match said.instrument:
        case "screen":
            found = _through_screen(words, said)
        case "laboratory":
            found = (_by_laboratory(words, said),)
        case _:
            found = tuple(_ph(words, said))
    warm = (quantity_text(words, said.temperature),) if said.temperature else ()
    return ", ".join((*found, *warm))


def _through_screen(words: Words, said: kinds.ReadingTaken) -> tuple[str, ...]:
    lumps = {"yes": words.gettext("lumps stay on it"), "no": words.gettext("no lumps")}
    runs = {"yes": words.gettext("it runs"), "no": words.gettext("it does not run")}
    found = (lumps.get(said.lumps or "", ""), runs.get(said.runs or "", ""))
    return tuple(filter(None, found))


def _by_laboratory(words: Words, said: kinds.ReadingTaken) -> str:
    assert said.of is not None
    assert said.mg_per_l is not None
    told_with = {
        "of": say.choice(words, "analyte", said.of),
        "figure": number_text(words, said.mg_per_l),
    }
    if said.not_detected == "yes":
        return words.gettext("%(of)s not detected, under %(figure)s mg/L", **told_with)
    return words.gettext("%(of)s %(figure)s mg/L", **told_with)


def _ph(words: Words, said: kinds.ReadingTaken) -> Iterator[str]:
    assert said.ph is not None
    assert said.step is not None
    yield words.gettext("pH %(ph)s", ph=number_text(words, said.ph))
    yield words.gettext("in steps of %(step)s", step=number_text(words, said.step))
    if said.off_at_check is not None:
        off = number_text(words, said.off_at_check)
        yield words.gettext("%(off)s off at its check", off=off)
