"""Fold states as bytes in the cache, and back."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

import msgspec

from coop.ledger import states
from coop.ledger.baths import BathState

TYPES: Mapping[str, type[Any]] = MappingProxyType(
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
        "bath": BathState,
        "device": states.DeviceState,
    }
)


def dump(state: Any) -> bytes | None:
    """Return a state's bytes; None for no state."""
    return None if state is None else msgspec.json.encode(state)


def load(sort: str, data: bytes | None) -> Any:
    """Return a state from its bytes."""
    return None if data is None else msgspec.json.decode(bytes(data), type=TYPES[sort])
