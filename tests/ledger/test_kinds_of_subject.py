"""A subject is of one sort: asking for it as another finds nothing."""

from pathlib import Path

from tests.support.opened import furnished, mixed


def test_a_tub_is_no_bath_though_a_bath_was_mixed_in_it(tmp_path: Path):
    """Mixing touches the tub and the lot too; neither becomes a bath by it."""
    house = furnished(tmp_path)
    bath = mixed(house)

    assert house.state("bath", bath).name == "R-A1"
    assert house.state("bath", house.made["tub"]) is None
    assert house.state("bath", house.made["alum"]) is None
    assert house.state("stack", bath) is None
