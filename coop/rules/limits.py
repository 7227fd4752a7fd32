"""House limits for baths and stacks, and the strength an alum bath is judged by."""

import math
from dataclasses import dataclass, fields
from typing import Final

from coop.rules.reasons import HOUSE, RECIPE
from coop.science.alum import SALTS
from coop.science.defaults import value

Strength = tuple[float, str]
"""Grams per litre and the code of the salt they are grams of."""

TARGET_MIN_G_PER_L: Final = 0.1
TARGET_MAX_G_PER_L: Final = 200.0
FRACTION_MIN: Final = 0.1
FRACTION_MAX: Final = 1.0
STRIP_PRINT_DAYS_MAX: Final = 365
LAYING_DEPTH_MAX_MM: Final = 200
WATER_ONLY_MAX_COUNT: Final = 20
CHANCE_MIN: Final = 0.01
CHANCE_MAX: Final = 0.5
WARM_DAYS_MIN: Final = 0.5
WARM_DAYS_MAX: Final = 365
LIQUID_DAYS_MAX: Final = 365
STACK_DAYS_MAX: Final = 365


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """
    One edition of the house limits.

    `target_g_per_l` grams of `target_salt` per litre is what the house mixes, None if it
    never said. The fractions are of the target: under the first look again, under the
    second do not use. A strip print holds `strip_print_days`. So many top-ups of plain
    water as `water_only_top_ups_count` since the last test ask for another look, and so
    does a chance of `weak_chance` or more of being under the do-not-use line. Where a
    vessel says nothing else, `laying_depth_mm` must stand in it to lay a sheet.

    Size is looked at again, and not used, from so many warm days on, and never from
    `size_cap_days` after its making on. The other liquids are looked at again at the age
    of their kind, and not used at twice that. A stack of alumed sheets keeps so many days
    open, damp or bagged, and `stack_hard_stop_days` however it was kept.

    Source of every default: `coop.science.defaults`. `edition` is the entry that set it,
    empty for the defaults.
    """

    edition: str = ""
    target_g_per_l: float | None = None
    target_salt: str | None = None
    look_again_fraction: float = value("look_again_fraction")
    do_not_use_fraction: float = value("do_not_use_fraction")
    strip_print_days: int = int(value("strip_print_days"))
    water_only_top_ups_count: int = int(value("water_only_top_ups_count"))
    weak_chance: float = value("weak_chance")
    laying_depth_mm: float = value("laying_depth_mm")
    size_look_again_warm_days: float = value("size_look_again_warm_days")
    size_do_not_use_warm_days: float = value("size_do_not_use_warm_days")
    size_cap_days: int = int(value("size_cap_days"))
    gall_water_days: int = int(value("gall_water_days"))
    rinse_days: int = int(value("rinse_days"))
    paste_days: int = int(value("paste_days"))
    softener_days: int = int(value("softener_days"))
    stack_open_days: int = int(value("stack_open_days"))
    stack_damp_days: int = int(value("stack_damp_days"))
    stack_bagged_days: int = int(value("stack_bagged_days"))
    stack_hard_stop_days: int = int(value("stack_hard_stop_days"))

    @property
    def target(self) -> Strength | None:
        """
        Return the house's strength [g/L, salt], None if the house never said.

        >>> Limits(target_g_per_l=40.0, target_salt="aluminium_sulfate_14").target
        (40.0, 'aluminium_sulfate_14')
        """
        if self.target_g_per_l is None or self.target_salt is None:
            return None
        return self.target_g_per_l, self.target_salt


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """What is wrong with one limit: its name, a code, and the bounds that would be right."""

    field: str
    code: str
    low: float | None = None
    high: float | None = None


_BOUNDS: Final[dict[str, tuple[float, float]]] = {
    "target_g_per_l": (TARGET_MIN_G_PER_L, TARGET_MAX_G_PER_L),
    "look_again_fraction": (FRACTION_MIN, FRACTION_MAX),
    "do_not_use_fraction": (FRACTION_MIN, FRACTION_MAX),
    "strip_print_days": (1, STRIP_PRINT_DAYS_MAX),
    "water_only_top_ups_count": (1, WATER_ONLY_MAX_COUNT),
    "weak_chance": (CHANCE_MIN, CHANCE_MAX),
    "laying_depth_mm": (1, LAYING_DEPTH_MAX_MM),
    "size_look_again_warm_days": (WARM_DAYS_MIN, WARM_DAYS_MAX),
    "size_do_not_use_warm_days": (WARM_DAYS_MIN, WARM_DAYS_MAX),
    "size_cap_days": (1, LIQUID_DAYS_MAX),
    "gall_water_days": (1, LIQUID_DAYS_MAX),
    "rinse_days": (1, LIQUID_DAYS_MAX),
    "paste_days": (1, LIQUID_DAYS_MAX),
    "softener_days": (1, LIQUID_DAYS_MAX),
    "stack_open_days": (1, STACK_DAYS_MAX),
    "stack_damp_days": (1, STACK_DAYS_MAX),
    "stack_bagged_days": (1, STACK_DAYS_MAX),
    "stack_hard_stop_days": (1, STACK_DAYS_MAX),
}


def check(limits: Limits) -> tuple[Problem, ...]:
    """
    Return what is wrong with an edition, empty if nothing is.

    >>> [(p.field, p.code) for p in check(Limits(look_again_fraction=0.5))]
    [('do_not_use_fraction', 'over-look-again')]
    """
    return (*_out_of_range(limits), *_half_a_target(limits), *_out_of_order(limits))


def _out_of_range(limits: Limits) -> list[Problem]:
    said = {field.name: getattr(limits, field.name) for field in fields(limits)}
    return [
        Problem(field=name, code="out-of-range", low=low, high=high)
        for name, (low, high) in _BOUNDS.items()
        if said[name] is not None and not low <= said[name] <= high
    ]


def _half_a_target(limits: Limits) -> list[Problem]:
    if limits.target_salt is not None and limits.target_salt not in SALTS:
        return [Problem(field="target_salt", code="unknown")]
    if (limits.target_g_per_l is None) == (limits.target_salt is None):
        return []
    missing = "target_g_per_l" if limits.target_g_per_l is None else "target_salt"
    return [Problem(field=missing, code="missing")]


def _out_of_order(limits: Limits) -> list[Problem]:
    """Return which of two lines lies on the wrong side of the other."""
    problems = []
    if limits.do_not_use_fraction > limits.look_again_fraction:
        problems.append(
            Problem(
                field="do_not_use_fraction",
                code="over-look-again",
                low=FRACTION_MIN,
                high=limits.look_again_fraction,
            )
        )
    if limits.size_do_not_use_warm_days < limits.size_look_again_warm_days:
        problems.append(
            Problem(
                field="size_do_not_use_warm_days",
                code="under-look-again",
                low=limits.size_look_again_warm_days,
                high=WARM_DAYS_MAX,
            )
        )
    return problems


@dataclass(frozen=True, slots=True)
class Target:
    """The strength a bath is judged by: grams of a salt per litre, and who said so."""

    g_per_l: float
    salt: str
    source: str

    def __post_init__(self) -> None:
        assert math.isfinite(self.g_per_l), "a target is finite"
        assert self.g_per_l > 0, "a target is above zero"
        assert self.salt in SALTS, f"{self.salt} is no salt"
        assert self.source in (HOUSE, RECIPE), f"no target comes from {self.source}"

    @property
    def al_mmol_per_l(self) -> float:
        """Return the aluminium of the target [mmol Al/L]; salts are compared by it."""
        return al_mmol_per_l(self.g_per_l, self.salt)

    def in_salt(self, salt: str) -> float:
        """
        Return the target [g/L] in grams of the salt in the tub.

        Source: aluminium of the salts, computed from atomic masses in `coop.science.alum`.

        >>> round(Target(40.0, "aluminium_sulfate_14", "house limits").in_salt("potash_alum"))
        64
        """
        if salt == self.salt:
            return self.g_per_l
        return g_per_l_of(self.al_mmol_per_l, salt)


def al_mmol_per_l(strength_g_per_l: float, salt: str) -> float:
    """Return the aluminium [mmol Al/L] of a strength [g/L of the salt, 0 or more]."""
    return strength_g_per_l * SALTS[salt].mmol_al_per_g


def g_per_l_of(aluminium_mmol_per_l: float, salt: str) -> float:
    """Return the strength [g/L of the salt] that holds so much aluminium [mmol Al/L]."""
    return aluminium_mmol_per_l / SALTS[salt].mmol_al_per_g


def target_of(
    recipe_target: Strength | None, house_target: Strength | None, *, for_paper: bool = True
) -> Target | None:
    """
    Return what a bath is judged by: the recipe's strength, else the house's, else None.

    The house's strength is for paper: a bath for cloth or for rinse water has its own or none.

    >>> target_of((23.0, "potash_alum"), (40.0, "aluminium_sulfate_14"))
    Target(g_per_l=23.0, salt='potash_alum', source='recipe')
    >>> target_of(None, (40.0, "aluminium_sulfate_14")).source
    'house limits'
    >>> target_of(None, (40.0, "aluminium_sulfate_14"), for_paper=False)
    """
    if recipe_target is not None:
        return Target(*recipe_target, RECIPE)
    if house_target is not None and for_paper:
        return Target(*house_target, HOUSE)
    return None


def differs_fraction(card: Strength, house: Strength) -> float:
    """
    Return how far a card's strength is from the house's, as a fraction of the house's.

    Compared by aluminium. Over `target_differs_fraction` (defaults) Mix asks once by which
    of the two the bath is to be judged.

    >>> round(differs_fraction((23.0, "potash_alum"), (40.0, "potash_alum")), 3)
    0.425
    """
    return abs(al_mmol_per_l(*card) / al_mmol_per_l(*house) - 1)
