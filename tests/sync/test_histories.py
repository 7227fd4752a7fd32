"""
Four phones and a server that is set back: nothing acknowledged is lost, nothing comes twice.

Known mistakes are made on purpose in the same harness; each must be found out by it.
"""

import pytest

from tests.support.stairs import Stairs, Wrongs

SEEDS = 300
SEEDS_LONG = 10_000
PART = 25
WRONG_WITHIN = 60

MISTAKES = {
    "phones let go of what was acknowledged": Wrongs(phones_keep=False),
    "a server set back seals as the node it was": Wrongs(renews_node=False),
    "the server answers before it keeps": Wrongs(answers_before_it_keeps=True),
    "phones let go of what was refused": Wrongs(phones_keep_refused=False),
}


def faults(history: Stairs) -> dict[str, object]:
    """Play a history out and return what does not hold at its end."""
    history.run()
    found = {
        "lost": history.lost(),
        "still waiting": history.unsettled(),
        "twice": history.twice(),
        "unaccounted": history.unaccounted(),
        "other in another order": history.differs_in_another_order(),
    }
    return {name: what for name, what in found.items() if what}


def check(seeds: range) -> None:
    for seed in seeds:
        wrong = faults(Stairs(seed))
        assert not wrong, f"seed {seed}: {wrong}"


@pytest.mark.parametrize("first", range(0, SEEDS, PART))
def test_nothing_acknowledged_is_lost_and_nothing_comes_twice(first):
    check(range(first, first + PART))


@pytest.mark.long
@pytest.mark.parametrize("first", range(SEEDS, SEEDS_LONG, PART))
def test_ten_thousand_histories_lose_nothing(first):
    check(range(first, first + PART))


@pytest.mark.parametrize("mistake", MISTAKES)
def test_a_known_mistake_is_found_out(mistake):
    """A harness that finds nothing wrong with these finds nothing wrong with anything."""
    histories = (Stairs(seed, MISTAKES[mistake]) for seed in range(WRONG_WITHIN))

    assert any("lost" in faults(one) for one in histories), mistake


def test_the_histories_hold_what_they_promise():
    """Losses, restores, corrections, people who wait: all of it happens."""
    histories = [Stairs(seed) for seed in range(10)]
    for history in histories:
        history.run()

    assert sum(len(one.acknowledged) for one in histories) > 50
    assert sum(one.taken_out() for one in histories) > 0
    assert any(len(one.studio.reach().here) > 1 for one in histories)
    assert any(phone.in_state("needs") for one in histories for phone in one.phones)
    assert any(phone.in_state("refused") for one in histories for phone in one.phones)
