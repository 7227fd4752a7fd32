"""What came over the wire once is decoded for ever; what cannot be is refused by name."""

import ast
import json
from dataclasses import MISSING, fields
from pathlib import Path
from typing import Any

import pytest

from coop.ledger import canon, entries, schema, together
from coop.ledger.entries import kind_of, make_seal, read_entry, read_seal, stored_entry
from coop.ledger.kinds import SHEETS_MAX
from coop.ledger.schema import Slip
from coop.ledger.table import KINDS
from coop.ledger.wire import nest
from tests.support.sayings import AMINA, NODE, WEDNESDAY, WIRE, an_id, mixed, q, wire

# SHA-256 of the canonical form, pinned when each kind shipped.
SHIPPED = {
    "ledger.opened": "887bb5a928c6695e62df782c0b305ca6533d63bf528d8b65d34adef2535dd293",
    "studio.described": "e817dad13c5a832ae07b3718b70559dce802db22501b06aec0513201d870262f",
    "vessel.described": "fc78bcbc673fa61b8486622b849b9986a3e35dd973456dbdc601a015750c8dc2",
    "paper.described": "669eac98ee600f80d21610810aa92f49bc16cb2dd1993f0b75460a5b26cc04dc",
    "recipe.published": "0d2d260f4cade3ad52fbcad581406fdf807be2adc48b3cf12442e7f2e16ab02a",
    "limits.set": "7404932712678c36c8eacea6cefd71ea1571d81dc63b4307072fff324437c6ff",
    "member.invited": "af545cfe833bcd094b705432f8cdbdb82b911e3835c0af4cbc9015cde6a2add1",
    "member.joined": "ce7a2b485ea9f18706a0b225637a1d2bb6f949206d41fe6417ff47de58ccce8a",
    "member.role_set": "356823205d68da0b546bd9ec993e60afaa73732eef349ba941e84a4f3114ea1a",
    "member.left": "19142000bd21de5309140831a6349c58d3995e52526d15788aea2a710379e106",
    "lot.received": "193930d6def2fe6ba70459e6ea5e5c5954778a85d8425549fd97ac8b928c2657",
    "lot.spoon_weighed": "1db93641f8117e404befc03a22699ad43f11bc7d34839e0891fc93377fcd367a",
    "bath.mixed": "5bd113ebe5f293c1c010aa4ba9756ffa488219b2c1a5e94ebc18b5315d6d63e3",
    "bath.topped_up": "7f913c1d3c021019d288b4fc3611637db7394a3adb2f0cc81303c8c357c0cac8",
    "bath.cared": "faec1e510f5d743e2999596476aba2117d10b57948436c656c7267b9cc79ffc5",
    "bath.stopped": "81421514dfdd3205e458539b7bcf8f6a30b10fa7f87940ff3a511acb77655893",
    "bath.cleared": "728739c200f0606ab125f81b51567715ef026327861f9e733e754b3c0708564d",
    "bath.finished": "569d9b9bffabfd3691c0c265a69433379617e4c67ed2e4f5dcbc0612e745011b",
    "reading.taken": "486ec0062878557ef063853ae925560390abdb94600882a58a280a3097cfa788",
    "instrument.checked": "2e2f2bed4864ff5fd950753fecc1b2ed28d801d028151ff0418a528a64889ab0",
    "sheets.through": "bf04c04eb2187fa2fbded6ca6815c7830692fe006d7ec48327dbbd98e1283942",
    "sheets.sorted": "3ba6f9c4dc103ae8487505936e2b47dee2aab4cbcaeb80f974a0a66f3810a262",
    "finding.judged": "a1f19405fbb7d6b23d2639a4ec6f402a605b44db19626ebf208d379d407c7d4f",
    "entry.corrected": "c92d454e5bece10a71018105bf94c6d14643baeae4eabf2c931c6b8a8d6b9707",
    "attachment.erased": "2410a6a9c3c7214496e931b42aeaa835d2bd7dac24103a226e5ea7d441660f30",
    "device.enrolled": "13ceb370139a7f831f4823e07a29442bbf201ae29b526c0434be6bd8f8b7258e",
    "device.member_added": "c2ccd4b7e85346de50b59a03aac3680e2faa641114cffa369c433fb9f1fb0093",
    "device.member_removed": "2e9d4d85ab97d8df7228d0bdf48cbf23d945f7311af0e5b3538416442ad89165",
    "device.revoked": "b81181cd79d96c84635168d7838961ebf3b657d08a631382d31edacd27e85ecf",
    "bath.split": "273b7555d71b0987cbea578342dafbd1a17d4c58de85f5d3ba522c53f8c6724b",
    "bath.joined": "66349a281f73eed321c1ebd58103edbee1d49c1850b7da78614b02e21a15884e",
    "bath.carried": "f6e0f535ba6e1b9d8fe0bc29933aeb1c91d177f2ffcf49e505515bcc48135d83",
    "bath.kept_for": "daa2f0a9ddfed691ae4065ebbff23429121ae83e8e0de9bb4f86ff1acd6c033b",
    "stack.dried": "b13d76160947f2b0110f523bf63dc05273b872e56c78a88cffdb035aea420c54",
    "stack.flattened": "56c3776e69470bfcd27b4064510358b201a6433ba8f89d064122b5d2e7d0afff",
    "stack.put_away": "4c8b267c1f50be413d198fba7a004daa995eef93a7fa214f467cb3e5f150ff96",
    "stack.tested": "b3587cf991ac8584e96e6c3b027971b54b014c6d51119058d1b4eb08f79bc990",
    "stack.binned": "3d49c9452e8e9ecb5da8194af682256e4294e3df506a2f1bdc69959e74d73397",
    "stack.warning_seen": "2c8bc141186e1930b1ddef2a9e50a171b048d460dde5925dad161b0500d4ed09",
    "pickup.learned": "decf1a94b079ce4fd60a6dd2b244c6fd8eb7d6b92310c42e12856e2b26a880c3",
    "jug.found": "fe96d19e72c0286eb0d02e4a6cc9a4ef0eaf9a99f30772c8208ded54ca96a704",
    "jug.known": "b8b8136109554bfc1fc88c61bf85ecddbaa29d6cebeb693d634196e5cd78516c",
    "draft.settled": "b42b420186a11c0c55d8a80455481af8546bdbb3b480838ec99ef1d02a039eb6",
    "supply.described": "587401a756963946b0766348b2d7d152a7a6d708619d3a319fe3ed9bdf29152f",
    "supplier.described": "54528955916dd5c327f3fcf16f777828470d038737b293d302a0cd758c3d39d5",
    "lot.opened": "6567460c7d5f53dced1bf726c7fbb56ff43dc39bdcb3446b5870278cddceee7b",
    "lot.counted": "a418c91a72eeacd183a3493adfec3d10cebac644d88ade83214adae5748f75d8",
    "lot.moved": "637078394f518466b437848c97def2b3d45d8ba80ca4ba33863542af891ea547",
    "lot.adjusted": "5840c06050e002003f88afe24a40919298306053c28cfb5b6deb9d2377cd35d6",
    "lot.priced": "dbfa0bc2435ecb4083de0b85558f42e5fb08ac01368b6662d6139759dda76da3",
    "lot.cut": "c13aa2b05d2db94d5eb0f2c7263b182124bdcdb045bd313ad49f1958925ba348",
    "order.placed": "50c65f2d01b4618029ed3da6c185adf22518f53cd922359a268c10657210fbe4",
    "order.cancelled": "3bd9dc7bb210c7d52b42f46bf0c2a3bc316e8878f29d5cf8211b6c72febc431f",
    "session.planned": "3ac9c22869580a3636ff8e75e33d10fcf036fe6bd8c2fbd6ad1faea0eb89c258",
    "need.put_off": "f7b4a19540c34dac25fea89e21d33d68d85ef35045e7813c8154bca3a1cf1a2d",
    "permission.recorded": "97c9f1d43258f47e9fbbe3907216b2ad20cf074393f633f3bf8506542c6e8cfd",
    "rules.published": "661973958a05efa5a2aff2063099558891d93eb8c81e47e77e1a792a4d1b64f0",
    "jar.vouched": "abf28f493307c18f3455767dae7a7a362bc6f9c3402f98825f28e619fba5ebfb",
    "disposal.judged": "235c29fad3ecbacc2b879fc7969f880bc1ba8bfd3a097c50362ddda9b3b687a8",
    "disposal.treated": "e4280ab467144f1d48df473d81c42b51286feac6552b95bd4a590bc4654580a8",
    "disposal.done": "cc5a6b9021de9834b4d7cc24fe8c553a348801ec0baa2dd69d1c4348364b3791",
    "waste.started": "f29ec654245ee94101d3aee698f66a2d88e64bebff61027cef6569fe7cde45bc",
    "waste.added": "6fd6e1c2ec965dcf7dd7ea077709b149ab8f4e6accca1c31ea28ebcbfffd6e50",
    "waste.collected": "3ef025322029c1f1a848d3a45d4e0054eba9c267e827fe3866e791c9be34fab5",
    "waste.carried": "609d305f5f14e144442c8758812b8438468697ba73fb711d6fc53514280d5a0a",
    "mishap.noted": "38608ead58713e72c637fd524a2f541e96b93f324f75527678916cb50cad8fa4",
}


def test_every_kind_has_a_record_that_was_shipped() -> None:
    assert set(SHIPPED) == set(KINDS) == {file.stem for file in WIRE.glob("*.json")}


@pytest.mark.parametrize("kind", SHIPPED)
def test_a_shipped_record_decodes_to_the_same_digest_for_ever(kind: str) -> None:
    """A phone may send a page's form weeks after the page was shown; old journals stay."""
    record = canon.parse((WIRE / f"{kind}.json").read_bytes())
    entry = read_entry(record)

    assert entry.digest == SHIPPED[kind]
    assert entry.kind == kind == kind_of(entry.content)
    assert stored_entry(entry.data) == entry
    assert json.loads(entry.data) == record


@pytest.mark.parametrize(
    ("kind", "field"),
    [
        (kind.code, field.name)
        for kind in KINDS.values()
        for field in fields(kind.content)
        if field.default is MISSING
    ],
)
def test_what_must_be_said_is_asked_for(kind: str, field: str) -> None:
    record = wire(kind)
    del record["body"][field]

    assert refusal(record) == (field, "missing")


@pytest.mark.parametrize("kind", SHIPPED)
def test_a_field_nobody_knows_is_refused_not_dropped(kind: str) -> None:
    """Dropping it would lose what somebody said."""
    record = wire(kind)
    record["body"]["colour"] = "red"

    assert refusal(record) == ("colour", "unknown-field")


def refusal(record: dict[str, Any]) -> tuple[str, str]:
    with pytest.raises(Slip) as slip:
        read_entry(record)
    return slip.value.refused.field, slip.value.refused.code


ENVELOPE = [
    ({"ledger": "x"}, ("ledger", "not-an-id")),
    ({"id": "X"}, ("id", "not-an-id")),
    ({"author": 7}, ("author", "not-an-id")),
    ({"kind": 7}, ("kind", "not-text")),
    ({"kind": "bath.boiled"}, ("kind", "unknown-kind")),
    ({"v": "1"}, ("v", "not-a-whole-number")),
    ({"v": 0}, ("v", "not-a-whole-number")),
    ({"v": 2}, ("v", "unknown-version")),
    ({"body": "x"}, ("body", "not-a-record")),
    ({"said": "x"}, ("said", "not-a-record")),
    ({"said": {"typed": "now", "precision": "second"}}, ("said.precision", "not-a-choice")),
    ({"device": "x"}, ("device", "not-an-id")),
    ({"device_seq": 0}, ("device_seq", "not-a-whole-number")),
    ({"mood": "good"}, ("mood", "unknown-field")),
    ({"happened_at": "yesterday"}, ("happened_at", "not-a-time")),
    ({"happened_at": "2025-09-17T18:00:00"}, ("happened_at", "not-a-time")),
    ({"happened_at": "2025-W38-3T18:00:00+02:00"}, ("happened_at", "not-a-time")),
    ({"happened_at": "2025-09-17T24:00:00+02:00"}, ("happened_at", "not-a-time")),
    ({"happened_at": "2025-02-30T18:00:00+02:00"}, ("happened_at", "not-a-time")),
    ({"happened_at": "1969-09-17T18:00:00+02:00"}, ("happened_at", "not-a-time")),
    ({"written_at": "9999-09-17T18:00:00+02:00"}, ("written_at", "not-a-time")),
    ({"written_at": 5}, ("written_at", "not-text")),
]


@pytest.mark.parametrize(("change", "expected"), ENVELOPE)
def test_an_envelope_out_of_form_is_refused(change, expected) -> None:
    assert refusal(wire("bath.cared") | change) == expected


@pytest.mark.parametrize(
    "field", ["ledger", "id", "kind", "v", "body", "author", "happened_at", "written_at"]
)
def test_an_envelope_without_a_field_is_refused(field: str) -> None:
    record = wire("bath.cared")
    del record[field]

    assert refusal(record) == (field, "missing")


GONE = object()
HUNDRED_GRAMS = {"typed": "100 g", "n": "100", "unit": "g"}
Out = tuple[str, dict[str, Any], tuple[str, str]]
"""A kind, what is changed in its body, and the field and code of its refusal."""


def of_kind(kind: str, wanted: tuple[str, str], **change: Any) -> Out:
    """Return a body whose fields do not go together."""
    return kind, change, wanted


def tool(instrument: str, wanted: tuple[str, str], **change: Any) -> Out:
    """Return a reading by an instrument, without what a hydrometer says."""
    gone = {"gravity": GONE, "temperature": GONE}
    return "reading.taken", {"instrument": instrument} | gone | change, wanted


ALUM = wire("sheets.through")["body"]["bath"]
POWDER = [{"powder": "carrageenan", "amount": q(45, "g")}]
PARTS = [{"vessel": an_id(9), "name": "R-A7", "litres": q(1, "l")}]
OF_A_KIND = [
    of_kind("recipe.published", ("salt", "missing"), salt=GONE),
    of_kind("recipe.published", ("powder", "missing"), what="size", salt=GONE),
    of_kind("recipe.published", ("rest_hours", "out-of-range"), rest_hours="241"),
    of_kind("recipe.published", ("what", "not-a-choice"), what="soup"),
    of_kind("recipe.published", ("dated", "not-a-date-of-a-card"), dated="04/2019"),
    of_kind("recipe.published", ("dated", "not-a-date-of-a-card"), dated="2019-13"),
    of_kind("recipe.published", ("dated", "not-a-date-of-a-card"), dated="1019"),
    of_kind("recipe.published", ("made_for", "not-a-choice"), made_for="wood"),
    of_kind("recipe.published", ("per", "not-with-this"), per=HUNDRED_GRAMS),
    of_kind(
        "recipe.published", ("per", "not-with-this"),
        per=HUNDRED_GRAMS, made_for="fabric", what="paste", powder="starch", salt=GONE,
        target_g_per_l=GONE,
    ),
    of_kind(
        "recipe.published",
        ("target_g_per_l", "not-with-this"),
        per=HUNDRED_GRAMS,
        made_for="fabric",
        target_g_per_l="40",
    ),
    of_kind("lot.received", ("weight", "missing"), what="carrageenan", salt=GONE, weight=GONE),
    of_kind("lot.received", ("carrageenan", "not-a-choice"), carrageenan="red"),
    of_kind("lot.received", ("chalk_g_per_m2", "out-of-range"), chalk_g_per_m2="51"),
    of_kind("bath.mixed", ("salt", "missing"), salt=GONE),
    of_kind("bath.mixed", ("powder", "not-with-this"), powder=POWDER),
    of_kind("bath.mixed", ("salt", "not-with-this"), what="size"),
    of_kind("bath.mixed", ("powder", "missing"), what="size", salt=GONE),
    of_kind("bath.mixed", ("powder.0.powder", "missing"), powder=[{"amount": q(4, "g")}]),
    of_kind("bath.mixed", ("powder.0.powder", "not-a-choice"),
            powder=[{"powder": "flour", "amount": q(4, "g")}]),
    of_kind("bath.topped_up", ("powder", "not-with-this"), powder=POWDER),
    of_kind("bath.split", ("parts", "wrong-count"), parts=[]),
    of_kind("bath.split", ("parts", "wrong-count"), parts=PARTS * 5),
    of_kind("bath.split", ("parts.0.litres", "missing"),
            parts=[{"vessel": an_id(9), "name": "R-A7"}]),
    of_kind("bath.joined", ("giver", "the-same-bath"), bath=an_id(9), giver=an_id(9)),
    of_kind("bath.joined", ("litres", "out-of-reach"), litres=q(0, "l")),
    of_kind("bath.carried", ("vessel", "not-an-id"), vessel="tub"),
    of_kind("bath.kept_for", ("until", "not-a-time"), until="Saturday"),
    of_kind("bath.kept_for", ("session", "too-long"), session="x" * 41),
    of_kind("bath.cared", ("care", "not-a-choice"), care="warmed"),
    of_kind("reading.taken", ("outcome", "not-a-choice"), outcome="sharp"),
    tool("thermometer", ("temperature", "missing")),
    tool("funnel", ("seconds", "missing"), funnel="brass"),
    tool("funnel", ("funnel", "missing"), seconds="24"),
    tool("funnel", ("seconds", "out-of-range"), funnel="brass", seconds="601"),
    tool("drop_test", ("outcome", "missing")),
    tool("drop_test", ("outcome", "not-a-choice"), outcome="sharp"),
    tool("drop_test", ("spread_mm", "out-of-range"), outcome="round", spread_mm="301"),
    tool("look", ("outcome", "missing")),
    tool("look", ("outcome", "not-a-choice"), outcome="sour"),
    tool("smell", ("outcome", "missing"), tag_read="yes"),
    tool("smell", ("outcome", "not-a-choice"), outcome="mould", tag_read="yes"),
    tool("smell", ("tag_read", "tag-not-read"), outcome="sour"),
    of_kind("sheets.through", ("size", "not-with-this"), stack=an_id(9), size=an_id(8)),
    of_kind("sheets.through", ("size", "not-with-this"), size=ALUM),
    of_kind("sheets.through", ("method", "missing"), method=GONE),
    of_kind("sheets.through", ("bath", "missing"), bath=GONE),
    of_kind("sheets.through", ("stack", "missing"), bath=GONE, size=an_id(9)),
    of_kind("sheets.through", ("side", "not-a-choice"), side="front"),
    of_kind("sheets.sorted", ("photo", "not-an-attachment"), photo="cat.jpg"),
    of_kind("stack.dried", ("how", "not-a-choice"), how="oven"),
    of_kind("stack.flattened", ("how", "not-a-choice"), how="foot"),
    of_kind("stack.put_away", ("state", "not-a-choice"), state="lost"),
    of_kind("stack.tested", ("outcome", "not-a-choice"), outcome="round"),
    of_kind("stack.binned", ("sheet_count", "out-of-range"), sheet_count="0"),
    of_kind("stack.warning_seen", ("about", "not-an-id"), about="the bath"),
    of_kind("pickup.learned", ("ml_per_m2", "not-with-this"), ml_per_m2="200"),
    of_kind("pickup.learned", ("ml_per_m2", "not-with-this"), ml_per_m2="100"),
    of_kind("jug.found", ("look", "not-a-choice"), look="tasty"),
    of_kind("jug.known", ("bath", "missing"), bath=GONE),
]  # fmt: skip
LOT = wire("lot.moved")["body"]["lot"]
NEED = {"what": "carrageenan", "amount": q(240, "g")}


def of_stock(kind: str, what: str, wanted: tuple[str, str], **change: Any) -> Out:
    """Return a body of another supply than the one that was shipped, so far as it is given."""
    gone = ("salt", "weight", "floor", "pack", "measure")
    left_out = {name: GONE for name in gone if name in wire(kind)["body"]}
    return kind, left_out | {"what": what} | change, wanted


def counted(wanted: tuple[str, str], **change: Any) -> Out:
    """Return a count of which nothing is said yet but which lot."""
    gone = {"packs": GONE, "weight": GONE, "tare": GONE}
    return "lot.counted", gone | change, wanted


def needing(wanted: tuple[str, str], **need: Any) -> Out:
    """Return a session whose second need is this one."""
    return "session.planned", {"needs": [NEED, need]}, wanted


OF_STOCK = [
    of_kind("supply.described", ("what", "not-a-choice"), what="soup"),
    of_kind("supply.described", ("name", "missing"), name=GONE),
    of_kind("supply.described", ("measure", "missing"), measure=GONE),
    of_kind("supply.described", ("measure", "missing"), measure="sheets"),
    of_kind("supply.described", ("floor_count", "not-with-this"), floor_count="3"),
    of_kind("supply.described", ("pack_count", "not-with-this"), pack_count="3"),
    of_kind("supply.described", ("pack_count", "out-of-range"), pack_count="0"),
    of_kind("supply.described", ("days_to_arrive", "out-of-range"), days_to_arrive="366"),
    of_kind("supply.described", ("sealed_days", "out-of-range"), sealed_days="0"),
    of_kind("supply.described", ("count_days", "out-of-range"), count_days="366"),
    of_stock("supply.described", "alum", ("salt", "missing")),
    of_stock("supply.described", "paper", ("paper", "missing")),
    of_stock("supply.described", "carrageenan", ("supply", "not-with-this"), supply=LOT),
    of_stock("supply.described", "carrageenan", ("floor_count", "not-with-this"),
             floor_count="3"),
    of_stock("supply.described", "paper", ("floor", "not-with-this"), paper=LOT,
             floor=q(3, "g")),
    of_stock("supply.described", "paper", ("pack", "not-with-this"), paper=LOT,
             pack=q(3, "g")),
    of_kind("supplier.described", ("ream_sheets", "out-of-range"), ream_sheets="0"),
    of_kind("supplier.described", ("name", "too-long"), name="x" * 61),
    of_kind("lot.received", ("pack_count", "out-of-range"), pack_count="1001"),
    of_kind("lot.received", ("order", "not-an-id"), order="the last one"),
    of_kind("lot.received", ("best_before", "not-a-day"), best_before="next May"),
    of_kind("lot.received", ("best_before", "not-a-day"), best_before="2025-02-30"),
    of_kind("lot.received", ("best_before", "not-a-day"), best_before="1969-12-31"),
    of_kind("lot.received", ("best_before", "not-a-day"), best_before="9999-01-01"),
    of_kind("lot.received", ("best_before", "not-text"), best_before=7),
    of_kind("lot.received", ("soda", "not-a-choice"), soda="ash"),
    of_kind("lot.received", ("grain", "not-a-choice"), grain="cross"),
    of_kind("lot.received", ("volume", "out-of-reach"), volume=q(0, "ml")),
    of_stock("lot.received", "supply", ("supply", "missing")),
    of_stock("lot.received", "supply", ("weight", "missing"), supply=LOT),
    of_stock("lot.received", "supply", ("volume", "not-with-this"), supply=LOT,
             weight=q(1, "g"), volume=q(2, "ml")),
    of_stock("lot.received", "supply", ("piece_count", "not-with-this"), supply=LOT,
             volume=q(2, "ml"), piece_count="1"),
    of_stock("lot.received", "gall", ("weight", "missing")),
    of_stock("lot.received", "gall", ("volume", "not-with-this"), weight=q(1, "g"),
             volume=q(2, "ml")),
    of_kind("lot.opened", ("tare", "wrong-dimension"), tare=q(1, "l")),
    counted(("packs", "nothing-counted")),
    counted(("packs", "out-of-range"), packs="1001"),
    counted(("empty", "not-with-this"), packs="0", empty="yes"),
    counted(("empty", "not-with-this"), loose="1", empty="yes"),
    counted(("level", "not-with-this"), weight=q(1, "kg"), level="2"),
    counted(("level", "out-of-range"), level="5"),
    counted(("loose", "not-with-this"), weight=q(1, "kg"), loose="2"),
    counted(("loose", "not-with-this"), volume=q(1, "l"), loose="2"),
    counted(("loose", "out-of-range"), loose="100001"),
    counted(("weight", "missing"), packs="1", tare=q(212, "g")),
    counted(("tare", "more-than-weighed"), weight=q(200, "g"), tare=q(212, "g")),
    of_kind("lot.moved", ("count", "not-with-this"), count="4"),
    of_kind("lot.moved", ("amount", "missing"), amount=GONE, into=an_id(9)),
    of_kind("lot.moved", ("into", "the-same-lot"), into=LOT),
    of_kind("lot.adjusted", ("amount", "missing"), count=GONE),
    of_kind("lot.adjusted", ("count", "not-with-this"), amount=q(40, "g")),
    of_kind("lot.adjusted", ("way", "not-a-choice"), way="up"),
    of_kind("lot.adjusted", ("cause", "not-a-choice"), cause="mice"),
    of_kind("lot.priced", ("price", "out-of-range"), price="-1"),
    of_kind("lot.cut", ("made_count", "out-of-range"), made_count="0"),
    of_kind("order.placed", ("packs", "out-of-range"), packs="0"),
    of_kind("order.placed", ("expected", "not-a-day"), expected="20251009"),
    of_kind("order.placed", ("pack_count", "not-with-this"), pack_count="3"),
    of_stock("order.placed", "alum", ("salt", "missing")),
    of_stock("order.placed", "paper", ("paper", "missing")),
    of_stock("order.placed", "paper", ("pack", "not-with-this"), paper=LOT, pack=q(3, "kg")),
    of_stock("order.placed", "supply", ("supply", "missing")),
    of_kind("order.cancelled", ("reason", "not-a-choice"), reason="rain"),
    of_kind("session.planned", ("ends", "ends-before-it-starts"),
            ends="2025-10-04T10:00:00+02:00"),
    of_kind("session.planned", ("ends", "ends-before-it-starts"),
            ends="2025-10-04T10:30:00+03:00"),
    of_kind("session.planned", ("starts", "not-a-time"), starts="2025-10-04"),
    of_kind("session.planned", ("head_count", "out-of-range"), head_count="201"),
    of_kind("session.planned", ("needs", "wrong-count"), needs=[NEED] * 13),
    needing(("needs.1.amount", "missing"), what="carrageenan"),
    needing(("needs.1.count", "missing"), what="paper", paper=LOT),
    needing(("needs.1.paper", "missing"), what="paper", count="1"),
    needing(("needs.1.salt", "missing"), what="alum", amount=q(1, "g")),
    needing(("needs.1.supply", "missing"), what="supply", count="1"),
    needing(("needs.1.count", "not-with-this"), what="starch", count="1"),
    needing(("needs.1.amount", "not-with-this"), what="paper", paper=LOT, amount=q(1, "g")),
    of_kind("need.put_off", ("need", "not-a-choice"), need="tea"),
    of_kind("need.put_off", ("until", "not-a-day"), until="tomorrow"),
    of_kind("permission.recorded", ("conditions", "missing"), conditions=GONE),
    of_kind("permission.recorded", ("about", "not-a-choice"), about="the cat"),
]  # fmt: skip
BATH = wire("disposal.done")["body"]["bath"]
OF_NOTHING: dict[str, Any] = {"bath": GONE, "litres": GONE}


def done(wanted: tuple[str, str], **change: Any) -> Out:
    """Return something got rid of, of which neither the source nor the amount is said yet."""
    return of_kind("disposal.done", wanted, **(OF_NOTHING | change))


def added(wanted: tuple[str, str], **change: Any) -> Out:
    """Return something put into a jar, of which no amount is said yet."""
    return of_kind("waste.added", wanted, **({"sheet_count": GONE} | change))


OF_WASTES = [
    of_kind("reading.taken", ("bath", "missing"), bath=GONE),
    of_kind("reading.taken", ("jar", "not-with-this"), jar=an_id(9)),
    tool("ph_strip", ("ph", "missing"), step="0.5"),
    tool("ph_strip", ("step", "missing"), ph="6.5"),
    tool("ph_meter", ("ph", "out-of-range"), ph="14.1", step="0.01"),
    tool("ph_meter", ("step", "out-of-range"), ph="6.5", step="0"),
    tool("ph_meter", ("off_at_check", "out-of-range"), ph="6", step="1", off_at_check="4"),
    tool("screen", ("lumps", "missing")),
    tool("laboratory", ("of", "missing"), mg_per_l="0.2"),
    tool("laboratory", ("mg_per_l", "missing"), of="copper"),
    tool("laboratory", ("of", "not-a-choice"), of="gold", mg_per_l="0.2"),
    of_kind("studio.described", ("country", "too-long"), country="Fra"),
    of_kind("studio.described", ("rinse_way", "not-a-choice"), rinse_way="window"),
    of_kind("limits.set", ("records_kept", "not-a-choice"), records_kept="for ever"),
    of_kind("supply.described", ("metals.0.metal", "not-a-choice"),
            metals=[{"metal": "gold", "mg_per_ml": "3"}]),
    of_kind("supply.described", ("metals", "wrong-count"),
            metals=[{"metal": "zinc", "mg_per_ml": "3"}] * 7),
    of_kind("rules.published", ("review_on", "ends-before-it-starts"),
            review_on="2025-08-17"),
    of_kind("rules.published", ("document", "not-an-attachment"), document="letter.pdf"),
    of_kind("rules.published", ("pack_edition", "out-of-range"), pack_edition="0"),
    of_kind("jar.vouched", ("litres", "missing"), **OF_NOTHING),
    of_kind("jar.vouched", ("waste", "not-a-choice"), waste="not_known"),
    of_kind("jar.vouched", ("metal_pigments", "missing"), metal_pigments=GONE),
    of_kind("disposal.judged", ("jug", "not-with-this"), jug=an_id(9)),
    of_kind("disposal.judged", ("outcome", "not-a-choice"), outcome="safe"),
    of_kind("disposal.treated", ("bath", "missing"), bath=GONE),
    of_kind("disposal.treated", ("jar", "not-with-this"), jar=an_id(9)),
    of_kind("disposal.treated", ("base", "missing"), base=GONE),
    of_kind("disposal.treated", ("weight", "missing"), weight=GONE),
    of_kind("disposal.treated", ("litres", "missing"), step="kept_back"),
    of_kind("disposal.treated", ("base", "missing"), step="cup_back", base=GONE),
    of_kind("disposal.treated", ("weight", "missing"), step="cup_back", weight=GONE),
    of_kind("disposal.treated", ("base", "not-a-choice"), base="vinegar"),
    done(("litres", "missing")),
    done(("litres", "missing"), lot=an_id(9)),
    done(("jar", "not-with-this"), bath=BATH, jar=an_id(9)),
    done(("lot", "not-with-this"), jug=an_id(8), lot=an_id(9)),
    done(("weight", "not-with-this"), litres=q(1, "l"), weight=q(1, "g")),
    done(("sheet_count", "not-with-this"), litres=q(1, "l"), sheet_count="36"),
    done(("sheet_count", "not-with-this"), bath=BATH, sheet_count="36"),
    done(("weight", "not-with-this"), jug=an_id(9), weight=q(1, "g")),
    done(("outlet", "not-a-choice"), litres=q(1, "l"), outlet="window"),
    of_kind("waste.started", ("wastes", "wrong-count"), wastes=[]),
    of_kind("waste.started", ("tags.0", "not-a-choice"), tags=["smelly"]),
    added(("litres", "missing")),
    added(("litres", "missing"), from_jar=an_id(9)),
    added(("from_jar", "not-with-this"), from_jar=wire("waste.added")["body"]["jar"]),
    added(("jug", "not-with-this"), bath=BATH, jug=an_id(9)),
    added(("sheet_count", "not-with-this"), from_jar=an_id(9), sheet_count="36"),
    of_kind("waste.collected", ("by", "missing"), by=GONE),
    of_kind("waste.carried", ("studio", "not-in-that-studio"),
            studio=wire("waste.carried")["body"]["from_studio"]),
    of_kind("waste.carried", ("bath", "missing"), jar=GONE),
    of_kind("waste.carried", ("jar", "not-with-this"), bath=BATH),
    of_kind("mishap.noted", ("jar", "not-with-this"), jar=an_id(9)),
    of_kind("mishap.noted", ("waste", "missing"), waste=GONE),
    of_kind("mishap.noted", ("outlet", "missing"), outlet=GONE),
    of_kind("mishap.noted", ("done.0", "not-a-choice"), done=["cried"]),
]  # fmt: skip
BODIES: list[Out] = [
    ("ledger.opened", {"name": " "}, ("name", "empty")),
    ("ledger.opened", {"name": "x" * 61}, ("name", "too-long")),
    ("ledger.opened", {"name": "a\nb"}, ("name", "not-one-line")),
    ("ledger.opened", {"name": " a"}, ("name", "not-one-line")),
    ("ledger.opened", {"name": 7}, ("name", "not-text")),
    ("ledger.opened", {"coordinator": "Amina"}, ("coordinator", "not-an-id")),
    ("studio.described", {"drain": "river"}, ("drain", "not-a-choice")),
    ("studio.described", {"instruments": "scale"}, ("instruments", "not-a-list")),
    ("studio.described", {"instruments": ["scale"] * 8}, ("instruments", "wrong-count")),
    ("studio.described", {"instruments": ["spoon"]}, ("instruments.0", "not-a-choice")),
    ("studio.described", {"hardness_mg_per_l": "soft"}, ("hardness_mg_per_l", "not-a-number")),
    ("studio.described", {"hardness_mg_per_l": "1001"}, ("hardness_mg_per_l", "out-of-range")),
    ("vessel.described", {"inside_width": GONE}, ("inside_width", "missing")),
    ("vessel.described", {"inside_length": GONE}, ("inside_length", "missing")),
    ("vessel.described", {"laying": q(16, "l")}, ("laying", "not-under-the-brim")),
    ("vessel.described", {"place": "1.5"}, ("place", "not-a-whole-number")),
    ("vessel.described", {"place": "01"}, ("place", "not-a-whole-number")),
    ("vessel.described", {"place": "1000"}, ("place", "out-of-range")),
    ("vessel.described", {"brim": "16 l"}, ("brim", "not-a-quantity")),
    ("vessel.described", {"brim": {"n": "16"}}, ("brim", "not-a-quantity")),
    ("vessel.described", {"brim": q(16, "kg")}, ("brim", "wrong-dimension")),
    ("vessel.described", {"brim": q(0, "l")}, ("brim", "out-of-reach")),
    ("vessel.described", {"brim": q(1001, "l")}, ("brim", "out-of-reach")),
    ("paper.described", {"floor_salt": GONE}, ("floor_salt", "missing")),
    ("limits.set", {"do_not_use_fraction": "0.8"}, ("do_not_use_fraction", "over-look-again")),
    (
        "limits.set",
        {"size_look_again_warm_days": "5", "size_do_not_use_warm_days": "4"},
        ("size_do_not_use_warm_days", "under-look-again"),
    ),
    ("limits.set", {"target_salt": GONE}, ("target_salt", "missing")),
    ("member.invited", {"roles": []}, ("roles", "wrong-count")),
    ("member.joined", {"card": "Amina"}, ("card", "not-an-attachment")),
    ("lot.received", {"salt": GONE}, ("salt", "missing")),
    ("lot.received", {"weight": GONE}, ("weight", "missing")),
    ("lot.received", {"what": "paper"}, ("paper", "missing")),
    ("lot.received", {"what": "paper", "paper": an_id(9)}, ("sheet_count", "missing")),
    ("bath.mixed", {"salt": []}, ("salt", "wrong-count")),
    ("bath.mixed", {"salt": ["alum"]}, ("salt.0", "not-a-record")),
    ("bath.mixed", {"salt": [{"lot": an_id(9)}]}, ("salt.0.amount", "missing")),
    ("bath.mixed", {"water": q(-1, "l")}, ("water", "not-a-quantity")),
    ("bath.topped_up", {"water": GONE, "salt": GONE}, ("water", "missing")),
    ("reading.taken", {"gravity": GONE}, ("gravity", "missing")),
    ("reading.taken", {"temperature": GONE}, ("temperature", "missing")),
    ("reading.taken", {"gravity": "1.4"}, ("gravity", "out-of-range")),
    ("reading.taken", {"instrument": "dipstick"}, ("depth", "missing")),
    ("reading.taken", {"instrument": "tape_line"}, ("litres", "missing")),
    ("reading.taken", {"instrument": "strip_print"}, ("outcome", "missing")),
    ("sheets.through", {"sheet_count": str(SHEETS_MAX + 1)}, ("sheet_count", "out-of-range")),
    ("sheets.through", {"sheet_count": "0"}, ("sheet_count", "out-of-range")),
    ("sheets.through", {"took_out": GONE}, ("took_out", "missing")),
    ("sheets.through", {"put_back": GONE}, ("put_back", "missing")),
    ("sheets.through", {"put_back": q(5, "l")}, ("put_back", "more-than-taken-out")),
    ("sheets.through", {"put_back": q(1001, "l")}, ("put_back", "too-much")),
    (
        "sheets.sorted",
        {"good": "0", "washed_off": "0", "patch": "0"},
        ("good", "nothing-counted"),
    ),
    *OF_A_KIND,
    *OF_STOCK,
    *OF_WASTES,
    ("entry.corrected", {"content": GONE}, ("content", "missing")),
    ("entry.corrected", {"outcome": "void"}, ("content", "unknown-field")),
    ("entry.corrected", {"supersedes": ["x"]}, ("supersedes.0", "not-an-id")),
]  # fmt: skip


@pytest.mark.parametrize(("kind", "change", "expected"), BODIES)
def test_a_body_out_of_form_is_refused_at_its_field(kind, change, expected) -> None:
    """A person is told what to change; nothing is guessed."""
    record = wire(kind)
    body = record["body"] | change
    record["body"] = {key: value for key, value in body.items() if value is not GONE}

    assert refusal(record) == expected


def codes_in(module: Any) -> set[str]:
    """Return the codes that a module's slips and refusals carry."""
    tree = ast.parse(Path(module.__file__).read_text())
    calls = [node for node in ast.walk(tree) if isinstance(node, ast.Call)]
    slips = [call.args[1] for call in calls if getattr(call.func, "id", "") == "Slip"]
    refusals = [
        word.value
        for call in calls
        for word in call.keywords
        if word.arg == "code" and getattr(call.func, "id", "") == "Refused"
    ]
    return {str(code.value) for code in slips + refusals if isinstance(code, ast.Constant)}


def test_every_code_of_a_refusal_is_reached_above() -> None:
    """A code nobody has seen has no words on a page either."""
    reached = {code for _, (_, code) in ENVELOPE} | {code for _, _, (_, code) in BODIES}
    known = codes_in(entries) | codes_in(schema) | codes_in(together)

    assert len(known) > 20
    assert known <= reached


def test_every_check_of_fields_together_is_reached_above() -> None:
    """Each class that has one stands among the bodies out of form."""
    refused = {KINDS[kind].content for kind, _, _ in BODIES}

    assert set(together.CHECKS) <= refused


@pytest.mark.parametrize(
    "change",
    [
        {"bath": GONE, "method": GONE, "size": an_id(9), "stack": an_id(8)},
        {"size": an_id(9)},
        {"stack": an_id(9)},
        {"side": "both_sides", "damp": "yes"},
        {"hands": an_id(7)},
    ],
)
def test_sheets_go_through_alum_are_laid_on_size_or_both(change: dict[str, Any]) -> None:
    assert accepted("sheets.through", change)


@pytest.mark.parametrize(
    ("kind", "change"),
    [
        ("bath.mixed", {"what": "size", "salt": GONE, "powder": POWDER}),
        ("bath.mixed", {"what": "rinse", "salt": GONE}),
        ("bath.topped_up", {"water": GONE, "salt": GONE, "powder": POWDER}),
        ("bath.joined", {"litres": GONE}),
        ("lot.received", {"what": "carrageenan", "salt": GONE, "carrageenan": "lambda"}),
        ("recipe.published", {"what": "gall_water", "salt": GONE}),
        ("recipe.published", {"dated": "2019", "printed": "second edition", "card": "ab" * 32}),
        ("recipe.published", {"dated": "2019-04", "made_for": "rinse_water"}),
        (
            "recipe.published",
            {"per": HUNDRED_GRAMS, "made_for": "fabric", "target_g_per_l": GONE},
        ),
        ("bath.kept_for", {"member": GONE, "session": GONE, "until": GONE}),
        ("jug.known", {"bath": GONE, "made_it": "no"}),
        tool("funnel", ("", ""), funnel="brass", seconds="24")[:2],
        tool("smell", ("", ""), outcome="sour", tag_read="yes")[:2],
        tool("thermometer", ("", ""), temperature=q(0, "celsius"))[:2],
        of_stock("supply.described", "carrageenan", ("", ""), floor=q(150, "g"))[:2],
        of_stock("supply.described", "gall", ("", ""), floor=q(150, "ml"))[:2],
        of_stock("supply.described", "gloves", ("", ""), measure="pieces",
                 floor_count="0")[:2],
        of_stock("lot.received", "gall", ("", ""), volume=q(500, "ml"))[:2],
        of_stock("lot.received", "supply", ("", ""), supply=LOT, piece_count="50")[:2],
        counted(("", ""), empty="yes")[:2],
        counted(("", ""), packs="0")[:2],
        counted(("", ""), loose="491.5")[:2],
        counted(("", ""), weight=q(212, "g"), tare=q(212, "g"))[:2],
        ("lot.moved", {"amount": GONE}),
        ("lot.moved", {"amount": GONE, "count": "0.5", "into": an_id(9)}),
        ("order.placed", {"pack": GONE, "expected": GONE, "price": "0"}),
        ("session.planned", {"ends": GONE, "needs": GONE}),
        ("permission.recorded", {"answer": "no", "conditions": GONE}),
        tool("screen", ("", ""), runs="yes")[:2],
        tool("ph_strip", ("", ""), ph="6.5", step="0.5", bath=GONE, jar=an_id(9))[:2],
        tool("laboratory", ("", ""), of="copper", mg_per_l="0", not_detected="yes")[:2],
        ("jar.vouched", {"litres": GONE}),
        ("jar.vouched", {"bath": GONE}),
        ("disposal.judged", OF_NOTHING),
        ("disposal.treated", {"step": "strained", "base": GONE, "weight": GONE}),
        ("disposal.treated", {"step": "cup_back", "base": GONE, "weight": GONE}),
        ("disposal.done", {"litres": GONE}),
        ("disposal.done", {"litres": GONE, "weight": q(40, "g")}),
        done(("", ""), jug=an_id(9))[:2],
        done(("", ""), sheet_count="36")[:2],
        done(("", ""), lot=an_id(9), weight=q(40, "g"))[:2],
        added(("", ""), bath=BATH)[:2],
        added(("", ""), from_jar=an_id(9), litres=q(1, "l"))[:2],
        ("mishap.noted", {"what": "spill", "waste": GONE, "outlet": GONE, **OF_NOTHING}),
    ],
)  # fmt: skip
def test_what_may_be_left_out_is_not_asked_for(kind: str, change: dict[str, Any]) -> None:
    assert accepted(kind, change)


def accepted(kind: str, change: dict[str, Any]) -> bool:
    """Say whether a shipped record is read with its body changed so."""
    record = wire(kind)
    body = record["body"] | change
    record["body"] = {key: value for key, value in body.items() if value is not GONE}
    return read_entry(record).kind == kind


def test_a_refusal_names_what_would_be_right() -> None:
    record = wire("sheets.through")
    record["body"]["sheet_count"] = "9000"
    with pytest.raises(Slip) as slip:
        read_entry(record)

    assert slip.value.refused.limits == (("low", "1"), ("high", "2000"))


def test_the_mix_of_a_correction_may_be_as_deep_as_a_mix() -> None:
    """A wrong amount of alum is mended like any other slip."""
    record = wire("entry.corrected")
    record["body"]["content"]["body"] = wire("bath.mixed")["body"]

    assert read_entry(record).digest


def test_a_seal_reads_as_it_was_made() -> None:
    entry = mixed()
    seal = make_seal(entry=entry, node=NODE, seq=7, prev="ab", admitted_at=WEDNESDAY,
                     admitted_by=AMINA, offset_ms=-250)  # fmt: skip

    assert read_seal(seal.data) == seal
    assert seal.digest == canon.digest(seal.data)
    assert (seal.entry, seal.entry_id, seal.seq) == (entry.digest, entry.id, 7)


FORMS = json.loads((WIRE.parent / "forms.json").read_bytes())


@pytest.mark.parametrize("form", FORMS, ids=lambda form: form["what"])
def test_a_forms_fields_make_the_body(form: dict[str, Any]) -> None:
    """A page without script and one with it must make the same bytes."""
    assert nest([(name, value) for name, value in form["fields"]]) == form["body"]


@pytest.mark.parametrize(
    ("typed", "unit"), [("some", "l"), ("-3", "l"), ("1,2,3", "l"), ("NaN", "celsius")]
)
def test_what_is_no_number_is_named_by_its_field(typed: str, unit: str) -> None:
    with pytest.raises(Slip) as slip:
        nest([("water.typed", typed), ("water.unit", unit)])

    assert (slip.value.refused.field, slip.value.refused.code) == (
        "water.typed",
        "not-a-number",
    )
