"""A node of its own for a ledger that was begun, brought back or filled."""

import secrets
from datetime import datetime

from coop.ids import RANDOM_BYTES, NodeId, uuid7


def new_node(now: datetime) -> NodeId:
    """Return the id of a node that nobody was before."""
    random = secrets.token_bytes(RANDOM_BYTES)
    return NodeId(uuid7(now_ms=int(now.timestamp() * 1000), random=random))
