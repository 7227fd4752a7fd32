"""Fold states as bytes in the cache, and back."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

import msgspec

from coop.ledger import states
from coop.ledger.baths import BathState
from coop.ledger.liquids import LiquidState

TYPES: Mapping[str, type[Any] | tuple[type[Any], ...]] = MappingProxyType(
    {
        "ledger": states.LedgerState,
        "member": states.MemberState,
        "studio": states.StudioState,
        "vessel": states.VesselState,
        "paper": states.PaperState,
        "recipe": states.RecipeState,
        "house": states.HouseState,
        "judgement": states.JudgementState,
        "lot": states.LotState,
        "stack": states.StackState,
        "bath": (BathState, LiquidState),
        "jug": states.JugState,
        "device": states.DeviceState,
        "supply": states.SupplyState,
        "supplier": states.SupplierState,
        "order": states.OrderState,
        "session": states.SessionState,
        "put_off": states.PutOffState,
        "permission": states.PermissionState,
        "jar": states.JarState,
        "disposal": states.DisposalState,
        "rules": states.RulesState,
    }
)


def dump(state: Any) -> bytes | None:
    """
    Return a state's bytes; None for no state.

    Where a sort has states of several classes, one digit before says which.
    """
    if state is None:
        return None
    data = msgspec.json.encode(state)
    several = _SEVERAL.get(type(state))
    return data if several is None else several + data


def load(sort: str, data: bytes | None) -> Any:
    """Return a state from its bytes."""
    if data is None:
        return None
    kept, one = bytes(data), TYPES[sort]
    if isinstance(one, tuple):
        one, kept = one[int(kept[:1])], kept[1:]
    return msgspec.json.decode(kept, type=one)


_SEVERAL = {
    one: str(place).encode()
    for some in TYPES.values()
    if isinstance(some, tuple)
    for place, one in enumerate(some)
}
