"""
What one field alone cannot say: fields of an entry that want, or do not go with, one another.
"""

from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Any

from coop.ledger import kinds
from coop.ledger.kinds import Content
from coop.ledger.schema import Refused, decimal_text
from coop.units.table import MASS

Check = Callable[[Any], Refused | None]


def held_together(content: Content) -> Refused | None:
    """Return the field that does not go with the others, and why; None when all is well."""
    check = CHECKS.get(type(content))
    return None if check is None else check(content)


def _missing(field: str) -> Refused:
    return Refused(field=field, code="missing")


def _not_with(field: str) -> Refused:
    return Refused(field=field, code="not-with-this")


def _lot(content: Any) -> Refused | None:
    """Want what the lot is of, and how much one pack of it holds."""
    return _of_supply(content) or _held(content)


def _of_supply(content: Any) -> Refused | None:
    """Want the salt, the paper or the supply that something is of."""
    wanted = {"paper": "paper", "alum": "salt", "supply": "supply"}.get(content.what, "")
    return _missing(wanted) if wanted and getattr(content, wanted) is None else None


def _held(content: Any) -> Refused | None:
    said = [content.weight, content.volume, content.piece_count]
    if content.what == "supply":
        return _one_of(said, ("weight", "volume", "piece_count"))
    if content.piece_count is not None:
        return _not_with("piece_count")
    if content.what == "gall":
        return _one_of(said[:2], ("weight", "volume"))
    if content.volume is not None:
        return _not_with("volume")
    wanted = "sheet_count" if content.what == "paper" else "weight"
    return _missing(wanted) if getattr(content, wanted) is None else None


def _one_of(said: list[Any], names: tuple[str, ...]) -> Refused | None:
    """Want just one of some fields."""
    there = [name for name, one in zip(names, said, strict=True) if one is not None]
    if not there:
        return _missing(names[0])
    return _not_with(there[1]) if len(there) > 1 else None


def _either(content: Any, amount: str = "amount", count: str = "count") -> Refused | None:
    """Want paper counted, powders weighed or spooned, and never both."""
    there = getattr(content, amount), getattr(content, count)
    if None not in there:
        return _not_with(count)
    if content.what == "paper" and there[0] is not None:
        return _not_with(amount)
    if content.what not in ("paper", "supply", *kinds.OTHER_SUPPLIES) and there[1] is not None:
        return _not_with(count)
    return None


def _supply(content: Any) -> Refused | None:
    """Want a name and a measure of what is no salt, powder or paper, and none of the others."""
    if content.what in kinds.OTHER_SUPPLIES:
        if not content.name:
            return _missing("name")
        if content.measure in (None, "sheets"):
            return _missing("measure")
    elif content.supply is not None:
        return _not_with("supply")
    odd = _of_supply(content)
    return (
        odd
        or _either(content, "floor", "floor_count")
        or _either(content, "pack", "pack_count")
    )


def _counted(content: Any) -> Refused | None:
    """Want something seen, or that it is empty; not the open pack by scale and by level."""
    open_pack = [content.weight, content.volume, content.level, content.loose]
    there = [one for one in open_pack if one is not None]
    seen = bool(there) or content.packs is not None
    if content.empty == "yes":
        return _not_with("empty") if seen else None
    if not seen:
        return Refused(field="packs", code="nothing-counted")
    if len(there) > 1:
        return _not_with("level" if content.level is not None else "loose")
    return _tare(content)


def _tare(content: Any) -> Refused | None:
    if content.tare is None:
        return None
    if content.weight is None:
        return _missing("weight")
    over = content.tare.base > content.weight.base
    return Refused(field="tare", code="more-than-weighed") if over else None


def _adjusted(content: Any) -> Refused | None:
    return _one_of([content.amount, content.count], ("amount", "count"))


def _moved(content: Any) -> Refused | None:
    if content.amount is not None and content.count is not None:
        return _not_with("count")
    if content.into is not None and content.amount is None and content.count is None:
        return _missing("amount")
    same = content.into is not None and content.into == content.lot
    return Refused(field="into", code="the-same-lot") if same else None


def _order(content: Any) -> Refused | None:
    return _of_supply(content) or _either(content, "pack", "pack_count")


def _session(content: Any) -> Refused | None:
    if content.ends is not None and content.ends <= content.starts:
        return Refused(field="ends", code="ends-before-it-starts")
    for place, need in enumerate(content.needs):
        odd = _need(need)
        if odd is not None:
            return Refused(field=f"needs.{place}.{odd.field}", code=odd.code)
    return None


def _need(need: Any) -> Refused | None:
    odd = _of_supply(need) or _either(need)
    if odd is None and need.amount is None and need.count is None:
        return _missing("count" if need.what == "paper" else "amount")
    return odd


def _permission(content: Any) -> Refused | None:
    wanted = content.answer == "with_conditions" and not content.conditions
    return _missing("conditions") if wanted else None


def _recipe(content: Any) -> Refused | None:
    """Want the salt of alum and the powder of size; only alum for cloth goes by its weight."""
    by_cloth = content.per.dimension == MASS
    if by_cloth and (content.made_for != "fabric" or content.what != "alum"):
        return _not_with("per")
    if by_cloth and content.target_g_per_l is not None:
        return _not_with("target_g_per_l")
    if content.what == "alum":
        return _missing("salt") if content.salt is None else None
    return _missing("powder") if content.what == "size" and content.powder is None else None


def _mixed(content: Any) -> Refused | None:
    """Want salt for alum, powder for size, and neither for the other."""
    if content.what == "alum":
        if content.powder:
            return _not_with("powder")
        return None if content.salt else _missing("salt")
    if content.salt:
        return _not_with("salt")
    return _missing("powder") if content.what == "size" and not content.powder else None


def _topped(content: Any) -> Refused | None:
    if content.water is None and not content.salt and not content.powder:
        return _missing("water")
    return _not_with("powder") if content.salt and content.powder else None


def _joined(content: Any) -> Refused | None:
    same = content.giver == content.bath
    return Refused(field="giver", code="the-same-bath") if same else None


READ_OFF: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "dipstick": ("depth",),
        "tape_line": ("litres",),
        "hydrometer": ("gravity", "temperature"),
        "strip_print": ("outcome",),
        "thermometer": ("temperature",),
        "funnel": ("seconds", "funnel"),
        "drop_test": ("outcome",),
        "look": ("outcome",),
        "smell": ("outcome",),
        "ph_strip": ("ph", "step"),
        "ph_meter": ("ph", "step"),
        "screen": (),
        "laboratory": ("of", "mg_per_l"),
    }
)
"""What must be said with each instrument."""


def _reading(content: Any) -> Refused | None:
    """Want what the instrument says, in its own words; a tag was read before a smell."""
    odd = _one_of([content.bath, content.jar], ("bath", "jar"))
    if odd is not None:
        return odd
    if content.instrument == "screen" and content.lumps is None and content.runs is None:
        return _missing("lumps")
    return _read_off(content)


def _read_off(content: Any) -> Refused | None:
    for name in READ_OFF[content.instrument]:
        if getattr(content, name) in (None, ""):
            return _missing(name)
    outcomes = kinds.OUTCOMES_OF.get(content.instrument, ())
    if content.outcome is not None and content.outcome not in outcomes:
        return Refused(field="outcome", code="not-a-choice")
    if content.instrument == "smell" and content.tag_read != "yes":
        return Refused(field="tag_read", code="tag-not-read")
    return None


def _vessel(content: Any) -> Refused | None:
    if (content.inside_length is None) != (content.inside_width is None):
        return _missing("inside_width" if content.inside_width is None else "inside_length")
    if content.laying is not None and content.laying.base >= content.brim.base:
        brim_l = decimal_text(content.brim.base / 1000)
        return Refused(field="laying", code="not-under-the-brim", limits=(("brim_l", brim_l),))
    return None


def _limits(content: Any) -> Refused | None:
    if content.do_not_use_fraction > content.look_again_fraction:
        return Refused(field="do_not_use_fraction", code="over-look-again")
    first, then = content.size_look_again_warm_days, content.size_do_not_use_warm_days
    if first is not None and then is not None and then < first:
        return Refused(field="size_do_not_use_warm_days", code="under-look-again")
    if (content.target_g_per_l is None) != (content.target_salt is None):
        return _missing("target_salt")
    return None


def _paper(content: Any) -> Refused | None:
    if (content.floor_g_per_l is None) != (content.floor_salt is None):
        return _missing("floor_salt")
    return None


def _sheets(content: Any) -> Refused | None:
    if (content.took_out is None) != (content.put_back is None):
        return _missing("put_back" if content.put_back is None else "took_out")
    if content.took_out and content.put_back.base > content.took_out.base:
        return Refused(field="put_back", code="more-than-taken-out")
    return _way(content)


def _way(content: Any) -> Refused | None:
    """
    Want a bath of alum with its method, or a size and the stack that was laid on it.

    A stack that is alumed once more goes through a bath; it is laid later.
    """
    if content.bath is not None:
        if content.size is not None and (content.stack or content.size == content.bath):
            return _not_with("size")
        return None if content.method else _missing("method")
    if content.size is None:
        return _missing("bath")
    return None if content.stack else _missing("stack")


def _sorted_sheets(content: Any) -> Refused | None:
    counts = (
        content.good, content.washed_off, content.patch, content.stripe,
        content.bubble, content.ragged, content.wrong_side, content.other,
    )  # fmt: skip
    return Refused(field="good", code="nothing-counted") if sum(counts) == 0 else None


def _pickup(content: Any) -> Refused | None:
    between = content.low_ml_per_m2 <= content.ml_per_m2 <= content.high_ml_per_m2
    return None if between else _not_with("ml_per_m2")


def _jug(content: Any) -> Refused | None:
    """Want the bath from somebody who made what is in it."""
    unsaid = content.made_it == "yes" and content.bath is None
    return _missing("bath") if unsaid else None


def _rules(content: Any) -> Refused | None:
    early = content.review_on < content.checked_on
    return Refused(field="review_on", code="ends-before-it-starts") if early else None


def _vouched(content: Any) -> Refused | None:
    """Want the litres of what is of no bath of the ledger."""
    unsaid = content.bath is None and content.litres is None
    return _missing("litres") if unsaid else None


SOURCES = ("bath", "jar", "jug", "lot")


def _judged(content: Any) -> Refused | None:
    return _at_most_one(content, SOURCES)


def _at_most_one(content: Any, names: tuple[str, ...]) -> Refused | None:
    there = [name for name in names if getattr(content, name) is not None]
    return _not_with(there[1]) if len(there) > 1 else None


def _treated(content: Any) -> Refused | None:
    """Want what a step takes: the litres of a cup, the base and its grams."""
    odd = _one_of([content.bath, content.jar], ("bath", "jar"))
    if odd is not None:
        return odd
    wanted = {"kept_back": ("litres",), "base_in": ("base", "weight")}.get(content.step, ())
    for name in wanted:
        if getattr(content, name) is None:
            return _missing(name)
    if content.step == "cup_back" and (content.base is None) != (content.weight is None):
        return _missing("weight" if content.weight is None else "base")
    return None


def _done(content: Any) -> Refused | None:
    """Want a source that has litres of its own, or how much it was."""
    return _at_most_one(content, SOURCES) or _how_much(content, SOURCES, ("bath", "jar", "jug"))


def _added(content: Any) -> Refused | None:
    if content.from_jar == content.jar:
        return _not_with("from_jar")
    sources = ("bath", "jug", "lot", "from_jar")
    return _at_most_one(content, sources) or _how_much(content, sources, ("bath", "jug"))


def _how_much(
    content: Any, sources: tuple[str, ...], have_litres: tuple[str, ...]
) -> Refused | None:
    """Want one amount: what is rinsed off sheets comes from no source, no jug is weighed."""
    said = [content.litres, content.weight, content.sheet_count]
    there = [one for one in said if one is not None]
    if len(there) > 1:
        return _not_with("weight" if content.weight is not None else "sheet_count")
    named = [name for name in sources if getattr(content, name) is not None]
    if named and content.sheet_count is not None:
        return _not_with("sheet_count")
    if content.jug is not None and content.weight is not None:
        return _not_with("weight")
    known = any(name in have_litres for name in named)
    return None if there or known else _missing("litres")


def _carried(content: Any) -> Refused | None:
    odd = _one_of([content.bath, content.jar], ("bath", "jar"))
    if odd is None and content.studio == content.from_studio:
        return Refused(field="studio", code="not-in-that-studio")
    return odd


def _mishap(content: Any) -> Refused | None:
    """Want what it was and where it went, of what went down a drain."""
    odd = _at_most_one(content, ("bath", "jar"))
    if odd is not None:
        return odd
    if content.what == "wrong_drain":
        return next((_missing(n) for n in ("waste", "outlet") if not getattr(content, n)), None)
    return None


def _correction(content: Any) -> Refused | None:
    if (content.outcome == "replace") != (content.content is not None):
        code = "missing" if content.content is None else "unknown-field"
        return Refused(field="content", code=code)
    return None


CHECKS: Mapping[type[Content], Check] = MappingProxyType(
    {
        kinds.SupplyDescribed: _supply,
        kinds.LotReceived: _lot,
        kinds.LotCounted: _counted,
        kinds.LotMoved: _moved,
        kinds.LotAdjusted: _adjusted,
        kinds.OrderPlaced: _order,
        kinds.SessionPlanned: _session,
        kinds.PermissionRecorded: _permission,
        kinds.RecipePublished: _recipe,
        kinds.BathMixed: _mixed,
        kinds.BathToppedUp: _topped,
        kinds.BathJoined: _joined,
        kinds.ReadingTaken: _reading,
        kinds.VesselDescribed: _vessel,
        kinds.LimitsSet: _limits,
        kinds.PaperDescribed: _paper,
        kinds.SheetsThrough: _sheets,
        kinds.SheetsSorted: _sorted_sheets,
        kinds.PickupLearned: _pickup,
        kinds.JugKnown: _jug,
        kinds.RulesPublished: _rules,
        kinds.JarVouched: _vouched,
        kinds.DisposalJudged: _judged,
        kinds.DisposalTreated: _treated,
        kinds.DisposalDone: _done,
        kinds.WasteAdded: _added,
        kinds.WasteCarried: _carried,
        kinds.MishapNoted: _mishap,
        kinds.EntryCorrected: _correction,
    }
)
