"""Every way to store a thing, and every reason to keep two apart, has its sentence."""

from zoneinfo import ZoneInfo

from babel.support import NullTranslations

from coop.rules import storage
from coop.web import storing
from coop.web.i18n import Words

ENGLISH = Words("en", ZoneInfo("UTC"), NullTranslations())


def test_every_code_has_its_sentence_and_no_sentence_is_left_over():
    used = {rule.code for rules in storage.STORAGE.values() for rule in rules}

    assert storing.TEXTS.keys() == used
    assert storing.APART.keys() == {one.why for one in storage.APART}
    for text in (*storing.TEXTS.values(), *storing.APART.values()):
        assert text.endswith(".")
        assert text[0].isupper()


def test_a_supply_is_said_in_the_order_of_its_rules():
    assert storing.storing(ENGLISH, "gall") == (
        "Cool and dark.",
        "The product's own safety sheet and local rules come first.",
    )


def test_one_reason_is_said_once_however_many_supplies_it_names():
    """Soda and softener foam with alum alike."""
    said = storing.standing_apart(ENGLISH, ["alum", "soda", "softener"])

    assert said == (storing.APART["acid_with_soda"],)
    assert storing.standing_apart(ENGLISH, ["soda", "softener"]) == ()
