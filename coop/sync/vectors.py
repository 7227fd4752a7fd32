"""Version vectors: for each node, the highest number up to which everything is there."""

from collections.abc import Mapping

from coop.ids import NodeId

Vector = Mapping[NodeId, int]


def covers(have: Vector, heard: Vector) -> bool:
    """
    Say whether a vector holds all that another one does.

    >>> a, b = NodeId("a"), NodeId("b")
    >>> covers({a: 7, b: 1}, {a: 7}), covers({a: 6}, {a: 7}), covers({}, {a: 1})
    (True, False, False)
    """
    return all(have.get(node, 0) >= seq for node, seq in heard.items())
