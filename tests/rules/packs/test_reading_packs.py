"""A pack is read strictly: what is wrong, on which line, and what would be right."""

import tomllib
from decimal import Decimal
from functools import partial
from time import perf_counter

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coop.rules.packs.facts_file import read_facts
from coop.rules.packs.faults import ENGLISH, Refused
from coop.rules.packs.reading import RULES_MAX, pack_of, read_pack
from coop.rules.packs.tables import BYTES_MAX, Source
from tests.rules.packs.at_hand import FOLDER, pack, text_of

SECONDS_MAX = 10
PH = """id = "ph"
kind = "LIMIT"
outlets = ["sewer"]
quantity = "ph"
holds_if = "within"
low = 6.0
high = 9.5
unit = "ph"
"""
BAN = 'id = "ban"\nkind = "BAN"\noutlets = ["sewer"]\n'
LOOK = (
    'id = "lumps"\nkind = "LIMIT"\noutlets = ["sewer"]\nquantity = "yes_no"\nof = "lumps"\n'
    'holds_if = "is"\nvalue = "no"\n'
)
A_DAY = (
    'id = "day"\nkind = "TOTAL"\noutlets = ["sewer"]\nquantity = "volume"\n'
    'holds_if = "at_most"\nhigh = 20\nunit = "l"\nsum_of = "poured"\nspan = "day"\n'
)
LABEL = BAN.replace("BAN", "LABEL") + 'shows = ["name"]\n'
CLASS = BAN.replace("BAN", "CLASSIFY") + 'sets = { odd = "yes" }\n'


def refused(*rules: str, change: tuple[str, str] = ("", ""), demo: bool = True) -> Refused:
    text = text_of(*rules)
    assert change[0] in text
    with pytest.raises(Refused) as caught:
        read_pack(text.replace(*change, 1), name="letter.toml", demo=demo)
    return caught.value


@pytest.mark.parametrize("path", sorted(FOLDER.glob("*.toml")), ids=lambda path: path.stem)
def test_every_shipped_pack_is_read(path):
    found = read_pack(path.read_text(), name=path.name, demo=True)

    assert found.id == path.stem
    assert len(found.digest) == 64
    assert found.review_on > found.checked_on


def test_only_the_federal_packs_are_for_a_ledger_in_earnest():
    """No real town's figures are shipped, and invented ones stay in the demo."""
    federal = {"us-federal-floor", "us-federal-waste"}
    for path in FOLDER.glob("*.toml"):
        if path.stem in federal:
            assert read_pack(path.read_text(), name=path.name, demo=False).tier == "floor"
        else:
            with pytest.raises(Refused, match="into a demo only"):
                read_pack(path.read_text(), name=path.name, demo=False)


@pytest.mark.parametrize(
    ("rule", "change", "line", "said"),
    [
        (PH, ("unit =", "untis ="), 22, "untis: there is no such key here; there are: id"),
        (PH, ('unit = "ph"', 'unit = "mg_per_l"'), 22, "unit = mg_per_l: this unit does not"),
        (PH, ('unit = "ph"\n', ""), 13, "unit (ph) is missing"),
        (PH, ("low = 6.0", 'low = "6.0"'), 20, "low: must be a number"),
        (PH, ("low = 6.0", "low = true"), 20, "low: must be a number"),
        (PH, ("low = 6.0", "low = inf"), 20, "low: must lie from"),
        (PH, ("low = 6.0", "low = -1"), 20, "low: must lie from 0 to 14 ph"),
        (PH, ("low = 6.0", "low = 6.1234567"), 20, "low: at most 6 decimals"),
        (PH, ("low = 6.0", "low = 9.5"), 21, "high: must come after low"),
        (PH, ("within", "at_most"), 20, "low does not go with holds_if = at_most"),
        (PH, ("within", "about"), 19, "holds_if = about: must be one of at_least, over"),
        (PH, ("high = 9.5\n", ""), 19, "holds_if needs high"),
        (PH, ('"LIMIT"', '"LIMITS"'), 16, "kind = LIMITS: must be one of LIMIT, BAN"),
        (PH, ('["sewer"]', '"sewer"'), 17, "outlets: must be a list"),
        (PH, ('["sewer"]', '["drain"]'), 17, "outlets = drain: must be one of sewer, septic"),
        (PH, ('["sewer"]', '["sewer", "sewer"]'), 17, "outlets stands here twice"),
        (PH, ('["sewer"]', "[]"), 17, "outlets: must be a list that is not empty"),
        (PH, ('id = "ph"', 'id = "p h"'), 15, "p h: a name has small letters, digits"),
        (PH, ('"ph"\nholds', '"acidity"\nholds'), 18, "quantity = acidity: must be one of ph"),
        (PH + "fresh_h = 25", ("", ""), 23, "fresh_h: must lie from 1 to 24"),
        (PH + 'span = "day"', ("", ""), 23, "pH is a logarithm and has no mean"),
        (PH + "bounds_count = true", ("", ""), 23, "bounds_count does not go with quantity"),
        (PH + 'of = "lead"', ("", ""), 23, "of does not go with quantity = ph"),
        (PH + 'basis = "as_n"', ("", ""), 23, "basis does not go with quantity = ph"),
        (PH + 'value = "no"', ("", ""), 23, "value does not go with quantity = ph"),
        (A_DAY + "span_days = 3", ("", ""), 24, "span_days does not go with span = day"),
        (PH + 'if_unknown = "nothing_forbids"', ("", ""), 23, "what is not known must not"),
        (PH + 'if_unknown = "after_steps"', ("", ""), 23, "right would be ask_first, measure"),
        (PH + 'if_fails = "ask_first"', ("", ""), 23, "must not be milder than measure_first"),
        (PH + 'if_stale = "ask_first"', ("", ""), 23, "if_stale: must not be milder than"),
        (PH + 'says = ""', ("", ""), 23, "says: a text of 1 to 300 characters"),
        (PH + "days = 3", ("", ""), 23, "days: there is no such key here"),
        (LOOK + 'unit = "ph"', ("", ""), 22, "a yes or no has no unit"),
        (LOOK, ('value = "no"\n', ""), 20, "holds_if needs value, yes, no"),
        (LOOK, ('of = "lumps"\n', ""), 18, "quantity needs of, lumps, runs"),
        (A_DAY, ('"volume"', '"ph"'), 18, "quantity = ph: must be one of mass, volume"),
        (A_DAY, ('"l"', '"gallon"'), 21, "right would be ml, l, us_gallon, imp_gallon, m3"),
        (A_DAY, ('span = "day"', 'span = "rolling_days"'), 23, "span needs span_days"),
        (
            A_DAY,
            ('span = "day"', 'span = "rolling_days"\nspan_days = 401'),
            24,
            "span_days: must lie from 1 to 400",
        ),
        (A_DAY, ('"at_most"', '"at_least"'), 19, "must be one of at_most, under"),
        (CLASS, ('{ odd = "yes" }', '{ tags = "toxic" }'), 18, "tags does not go with what"),
        (CLASS, ('{ odd = "yes" }', "{}"), 18, "sets needs a fact and its value"),
        (CLASS, ('{ odd = "yes" }', '{ "ö" = "x" }'), 18, "a fact has small letters, digits"),
        (LABEL + 'if_fails = "nothing_forbids"', ("", ""), 19, "milder than after_steps"),
        (CLASS + "low = 3", ("", ""), 19, "low needs quantity"),
    ],
)  # fmt: skip
def test_a_slip_is_told_with_its_line_and_what_would_be_right(rule, change, line, said):
    why = refused(rule, change=change)

    assert said in str(why)
    assert str(why).startswith(f"letter.toml, line {line}: "), str(why)


@pytest.mark.parametrize(
    ("change", "line", "said"),
    [
        (("edition = 1", "edition = 0"), 3, "edition: must lie from 1 to 9999"),
        (("edition = 1", "edition = 1.5"), 3, "edition: must be a whole number"),
        (('area = ["us"]', 'area = ["US"]'), 6, "US: a name has small letters"),
        (('tier = "district"', 'tier = "town"'), 7, "tier = town: must be one of floor"),
        (("valid_from = 2026-01-01", "valid_from = 2026-02-30"), 9, "is no TOML"),
        (("valid_from = 2026-01-01", 'valid_from = "2026-01-01"'), 9, "must be a date"),
        (("2026-01-01", "2026-01-01\nvalid_until = 2026-01-01"), 10, "come after valid_from"),
        (("review_on = 2027", "review_on = 2025"), 11, "review_on: must come after checked_on"),
        (("authority", "authorty"), 5, "authorty: there is no such key here; there are: id"),
        (('title = "A pack of a test"\n', ""), 0, "title is missing"),
    ],
)  # fmt: skip
def test_a_slip_in_the_head_is_told_too(change, line, said):
    why = refused(PH, change=change)

    assert said in str(why)
    assert why.line == line


def test_two_rules_of_one_id_are_refused_at_the_second():
    why = refused(PH, PH)

    assert str(why) == "letter.toml, line 27: the id ph stands here twice"


def test_a_condition_asks_what_there_is_to_know_and_no_more():
    """A fact that no rule sets and nobody states would be unknown for ever."""
    asked = BAN + 'when = { fact = "weather", op = "is", value = "wet" }'
    odd = BAN + 'when = { fact = "premises", op = "is", value = "boat" }'
    two = BAN + 'when = { all = [], not = { fact = "premises", op = "is", value = "boat" } }'
    deep = '{ fact = "premises", op = "is", value = "business" }'
    for _ in range(5):
        deep = f"{{ not = {deep} }}"

    assert "weather: nothing of that name is known; there are: premises" in str(refused(asked))
    assert "value = boat: must be one of household, business" in str(refused(odd))
    assert "one of all, any, not" in str(refused(two))
    assert "conditions lie at most 3 deep" in str(refused(BAN + f"when = {deep}"))


def test_a_rule_may_ask_what_another_of_its_pack_sets():
    asks = BAN.replace('"ban"', '"asks"') + 'when = { fact = "odd", op = "is", value = "yes" }'

    assert len(pack(asks, CLASS).rules) == 2


@pytest.mark.parametrize(
    ("own", "cited", "fits"),
    [
        ("read", "read", True),
        ("read", "recalled", False),
        ("recalled", "read", True),
        ("recalled", "recalled", True),
        ("read", "invented", False),
        ("invented", "read", False),
        ("invented", "invented", True),
    ],
)
def test_a_pack_is_no_surer_than_its_rules(own, cited, fits):
    """One recalled figure would else pass as read."""
    text = text_of(BAN, evidence=own)
    text = text.replace(f'"1", evidence = "{own}"', f'"1", evidence = "{cited}"')
    if fits:
        assert read_pack(text, name="letter.toml", demo=True).evidence == own
    else:
        with pytest.raises(Refused, match="own evidence"):
            read_pack(text, name="letter.toml", demo=True)


def test_too_much_is_refused_before_it_is_read():
    with pytest.raises(Refused, match="too much to read"):
        read_pack("#" * (BYTES_MAX + 1), name="letter.toml", demo=True)
    many = [BAN.replace('"ban"', f'"ban-{n}"') for n in range(RULES_MAX + 1)]
    assert f"rules: at most {RULES_MAX}" in str(refused(*many))
    assert pack(*many[:-1]).rules


def test_what_is_written_decides_the_digest_and_the_writing_does_not():
    """6.0 and 6.00 are one figure; another figure, date or word is another edition's."""
    text = text_of(PH)
    same = [
        "# a letter\n" + text,
        text.replace("6.0", "6.00"),
        text.replace("low =", "low  ="),
    ]
    other = [text.replace("6.0", "6.1"), text.replace("2026-09-01", "2026-09-02")]
    digests = [read_pack(one, name="a", demo=True).digest for one in (text, *same, *other)]

    assert len(set(digests[:4])) == 1
    assert len(set(digests[3:])) == 3


def test_what_a_page_puts_together_is_the_same_pack_as_from_a_file():
    """A slip is told by its key there, for want of a line."""
    text = text_of(PH)
    data = tomllib.loads(text, parse_float=Decimal)

    assert pack_of(data, name="letter", demo=True) == read_pack(text, name="x", demo=True)
    data["rules"][0]["unit"] = "mg_per_l"
    with pytest.raises(Refused, match=r"^letter: unit = mg_per_l: this unit does not fit"):
        pack_of(data, name="letter", demo=True)


GOOD_ONES = st.sampled_from([text_of(rule) for rule in (PH, BAN, LOOK, A_DAY, CLASS)])


def with_a_slip(text):
    """Leave out one sign, or put one in twice."""
    ends = st.integers(0, len(text) - 1)
    return st.tuples(ends, st.sampled_from([0, 2])).map(
        lambda slip: text[: slip[0]] + slip[1] * text[slip[0]] + text[slip[0] + 1 :]
    )


@given(st.text(max_size=200) | GOOD_ONES.flatmap(with_a_slip))
def test_whatever_is_in_a_file_is_taken_or_refused_in_words(text):
    """People hand in anything; a letter left out of a good pack is the usual slip."""
    said = []
    for reader in (partial(read_pack, demo=True), read_facts):
        try:
            reader(text, name="x")
        except Refused as why:
            said.append((why.code, str(why)))

    assert said
    assert all(code in ENGLISH and told.startswith("x") for code, told in said)


def test_what_is_nested_without_end_is_refused_in_words():
    """Dotted keys nest deeper than anything can be shown."""
    deep = "{ " + ".".join("a" * 3_000) + " = 1 }"
    for place in ('["sewer"]', '"ph"', "6.0"):
        assert refused(PH, change=(place, f"[{deep}]")).code == "wrong-type"


def test_a_list_without_end_is_told_of_at_once():
    """Each line of it could be where it ends; nobody waits for all of them to be tried."""
    long = text_of(PH).replace('["us"]', "[\n" + '"us",\n' * 6_000 + "]")
    began = perf_counter()
    with pytest.raises(Refused, match="area: at most 40"):
        read_pack(long, name="letter.toml", demo=True)

    assert perf_counter() - began < SECONDS_MAX


def test_the_line_of_a_key_is_where_its_statement_begins():
    """Over comments, empty lines and values of several lines."""
    text = (
        'a = 1\n\n# b = 2\nb = """\nc = 3\n"""\nc = [\n  1,\n  2,\n]\n\n[[d]]\ne = 1\n'
        "[[d]]\n# e\ne = 2\nf = { g = 1 }\n[d.h]\ni = 3\n"
    )
    source = Source("a.toml", text)
    paths = [
        ("a",), ("b",), ("c",), ("d",), ("d", 0, "e"), ("d", 1), ("d", 1, "e"),
        ("d", 1, "f", "g"), ("d", 1, "h"), ("d", 1, "h", "i"),
    ]  # fmt: skip

    assert [source.line(path) for path in paths] == [1, 4, 7, 12, 13, 14, 16, 17, 18, 19]
    assert source.line(()) == 0
