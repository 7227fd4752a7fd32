"""
Codes to text: what the core says in codes and numbers, said in the member's language.

Every closed set of codes in the core has its table here; a house test compares the two.
"""

from collections.abc import Mapping
from datetime import datetime, timedelta
from types import MappingProxyType

from coop.ledger.kinds import METALS
from coop.ledger.part_of_day import DAY, MINUTE, part_of
from coop.ledger.schema import Refused
from coop.units.table import UNITS
from coop.web import amounts
from coop.web.i18n import N_, Words


def _table(**texts: str) -> Mapping[str, str]:
    return MappingProxyType(texts)


_SODAS = _table(
    anhydrous=N_("anhydrous soda"),
    monohydrate=N_("soda monohydrate"),
    crystals=N_("soda crystals (10-hydrate)"),
    bicarbonate=N_("baking soda"),
)
_OUTLETS = _table(
    sewer=N_("town sewer"),
    septic=N_("septic tank"),
    storm=N_("street or yard drain"),
    ground=N_("the ground"),
    bin=N_("household rubbish"),
    hauled=N_("tank truck"),
    jar=N_("waste jar"),
)
_ANALYTES = _table(
    aluminium=N_("Aluminium"),
    alcohol=N_("Alcohol"),
    ammonia=N_("Ammonia"),
    antimony=N_("Antimony"),
    arsenic=N_("Arsenic"),
    barium=N_("Barium"),
    boron=N_("Boron"),
    cadmium=N_("Cadmium"),
    chloride=N_("Chloride"),
    chromium=N_("Chromium"),
    cobalt=N_("Cobalt"),
    copper=N_("Copper"),
    cyanide=N_("Cyanide"),
    dissolved_solids=N_("Dissolved solids"),
    formaldehyde=N_("Formaldehyde"),
    iron=N_("Iron"),
    # Words: the metal.
    lead=N_("Lead"),
    manganese=N_("Manganese"),
    mercury=N_("Mercury"),
    molybdenum=N_("Molybdenum"),
    nickel=N_("Nickel"),
    oil_and_grease=N_("Oil and grease"),
    oxygen_demand_5_days=N_("Oxygen demand in 5 days"),
    oxygen_demand_chemical=N_("Chemical oxygen demand"),
    phosphorus=N_("Phosphorus"),
    selenium=N_("Selenium"),
    silver=N_("Silver"),
    sulfate=N_("Sulfate"),
    sulfide=N_("Sulfide"),
    suspended_solids=N_("Suspended solids"),
    # Words: the metal.
    tin=N_("Tin"),
    titanium=N_("Titanium"),
    water=N_("Water in it"),
    zinc=N_("Zinc"),
)
"""What a laboratory looks for; each begins a line."""

_FINISHED = _table(
    used_up=N_("used up"),
    too_low=N_("too low to lay a sheet"),
    tinted=N_("tinted or linty"),
    too_weak=N_("too weak"),
    replaced=N_("a new one was mixed"),
    sour=N_("sour or spoiled"),
    past_its_time=N_("past its time"),
    other=N_("something else"),
)
"""Why somebody finishes a bath; the other reasons come with what was done to it."""

CHOICES: Mapping[str, Mapping[str, str]] = MappingProxyType(
    {
        "role": _table(
            member=N_("member"),
            coordinator=N_("coordinator"),
            safety_officer=N_("safety officer"),
            treasurer=N_("treasurer"),
            teacher=N_("teacher"),
        ),
        "salt": _table(
            aluminium_sulfate_14=N_("aluminium sulfate, 14-hydrate (papermaker's alum)"),
            aluminium_sulfate_14_3=N_("aluminium sulfate, technical, 17 % alumina"),
            aluminium_sulfate_16=N_("aluminium sulfate, 16-hydrate"),
            aluminium_sulfate_18=N_("aluminium sulfate, 18-hydrate"),
            aluminium_sulfate_anhydrous=N_("aluminium sulfate, anhydrous"),
            potash_alum=N_("potash alum (pickling alum)"),
            ammonium_alum=N_("ammonium alum"),
        ),
        "salt_short": _table(
            aluminium_sulfate_14=N_("aluminium sulfate"),
            aluminium_sulfate_14_3=N_("aluminium sulfate (17 %)"),
            aluminium_sulfate_16=N_("aluminium sulfate (16)"),
            aluminium_sulfate_18=N_("aluminium sulfate (18)"),
            aluminium_sulfate_anhydrous=N_("aluminium sulfate (anhydrous)"),
            potash_alum=N_("potash alum"),
            ammonium_alum=N_("ammonium alum"),
        ),
        "instrument": _table(
            strip_print=N_("strip print"),
            dipstick=N_("dipstick"),
            tape_line=N_("tape line on the tub"),
            hydrometer=N_("hydrometer"),
            thermometer=N_("thermometer"),
            scale=N_("weighing scale"),
            funnel=N_("run-out funnel"),
            drop_test=N_("drop test"),
            look=N_("look"),
            smell=N_("smell"),
            ph_strip=N_("pH strip"),
            ph_meter=N_("pH meter"),
            screen=N_("screen with 13 mm holes"),
            laboratory=N_("laboratory"),
        ),
        "bath": _table(
            alum=N_("alum"),
            size=N_("size"),
            gall_water=N_("gall water"),
            rinse=N_("rinse"),
            paste=N_("paste"),
            softener=N_("softener"),
        ),
        "powder": _table(
            carrageenan=N_("carrageenan"),
            methylcellulose=N_("methylcellulose"),
            tragacanth=N_("tragacanth"),
            gum=N_("another gum"),
            gall=N_("gall"),
            starch=N_("starch"),
            softener=N_("softener"),
        ),
        "carrageenan": _table(
            **{"lambda": N_("lambda: it thickens")},
            kappa=N_("kappa: it gels, not for marbling"),
            iota=N_("iota: it gels, not for marbling"),
            not_known=N_("type not known"),
        ),
        "side": _table(
            mark_on_bare_side=N_("the mark is on the bare side"),
            mark_on_alumed_side=N_("the mark is on the alumed side"),
            both_sides=N_("both sides are alumed"),
        ),
        "made_for": _table(
            paper=N_("paper"),
            fabric=N_("fabric"),
            rinse_water=N_("clearing rinse water"),
        ),
        "supply": _table(
            alum=N_("alum"),
            paper=N_("paper"),
            carrageenan=N_("carrageenan"),
            methylcellulose=N_("methylcellulose"),
            tragacanth=N_("gum tragacanth"),
            gum=N_("another gum"),
            gall=N_("gall"),
            starch=N_("starch"),
            softener=N_("softener"),
            soda=N_("soda for neutralising"),
            lime=N_("lime"),
            borax=N_("borax"),
            ammonia=N_("ammonia"),
            bleach=N_("bleach"),
            colour=N_("colour"),
            water=N_("distilled or rain water"),
            gloves=N_("gloves"),
            masks=N_("dust masks"),
            strips=N_("pH strips"),
            filters=N_("filters and cloths"),
            tool=N_("brush, comb or other tool"),
            other=N_("something else"),
        ),
        "measure": _table(
            weight=N_("by weight"),
            volume=N_("by volume"),
            pieces=N_("in pieces"),
        ),
        "soda": _SODAS,
        "neutraliser": _table(**_SODAS, lime=N_("lime")),
        "grain": _table(
            long=N_("along the long side"),
            short=N_("along the short side"),
            not_known=N_("not known"),
        ),
        "gap_cause": _table(
            counting_noise=N_("counting noise"),
            used=N_("used up as usual"),
            **{"class": N_("a class used it")},
            not_written_down=N_("used, and not written down"),
            spoiled=N_("spoiled"),
            sold=N_("sold or given away"),
            moved=N_("stands in the other studio"),
            pack_size=N_("the pack holds another number"),
            lost=N_("nobody knows"),
            other=N_("something else"),
        ),
        "cancel_reason": _table(
            not_to_be_had=N_("not to be had"),
            too_late=N_("would come too late"),
            wrong_thing=N_("the wrong thing"),
            not_needed=N_("not needed any more"),
            other=N_("something else"),
        ),
        "put_off_reason": _table(
            asked_somebody=N_("somebody was asked"),
            waiting_for_a_price=N_("waiting for a price"),
            shop_closed=N_("the shop is closed"),
            no_money=N_("no money for it now"),
            not_needed=N_("it can wait"),
            other=N_("something else"),
        ),
        "permission": _table(
            alum_bath=N_("alum baths"),
            size=N_("old size"),
            rinse_water=N_("rinse water"),
            all_of_it=N_("everything from marbling"),
        ),
        "answer": _table(
            yes=N_("yes"),
            with_conditions=N_("yes, with conditions"),
            no=N_("no"),
        ),
        "drying": _table(
            rack=N_("on the rack"),
            line=N_("on the line"),
            blotters=N_("face to face between blotters and boards, under weight"),
        ),
        "flattening": _table(weight=N_("under weight"), iron=N_("with an iron")),
        "stack_state": _table(open=N_("open"), bagged=N_("bagged"), damp=N_("damp")),
        "bin_reason": _table(
            stale=N_("stale"),
            damp=N_("lay damp too long"),
            brown=N_("brown or brittle"),
            stopped_bath=N_("out of a stopped bath"),
            other=N_("something else"),
        ),
        "jug_look": _table(
            clear=N_("clear"),
            thick=N_("thick"),
            cloudy=N_("cloudy"),
            coloured=N_("coloured"),
            not_looked=N_("not looked into"),
        ),
        "drain": _table(
            sewer=N_("town sewer"),
            septic=N_("septic tank"),
            none=N_("no drain"),
            not_known=N_("not known yet"),
        ),
        "rinse_way": _table(
            sewer=N_("town sewer"),
            septic=N_("septic tank"),
            jar=N_("waste jar"),
            not_known=N_("not known yet"),
        ),
        "premises": _table(
            household=N_("of a household"), business=N_("of a business, a studio or a club")
        ),
        "waste": _table(
            alum_bath=N_("alum bath"),
            size=N_("old size"),
            rinse_water=N_("rinse water"),
            colour_rinse=N_("colour and cup rinse"),
            floc=N_("floc and solids"),
            paste=N_("paste"),
            gall_water=N_("gall water"),
            softener=N_("softener"),
            leftover=N_("leftover from the shelf"),
            not_known=N_("nobody knows what it is"),
        ),
        "outlet": _OUTLETS,
        "gone_to": _table(**_OUTLETS, not_known=N_("nobody knows where")),
        "outcome_of_drain": _table(
            nothing_forbids=N_("nothing recorded forbids it"),
            after_steps=N_("nothing forbids it, after some steps"),
            ask_first=N_("ask first"),
            measure_first=N_("measure first"),
            not_yet=N_("not yet"),
            keep_in_jar=N_("keep in the waste jar"),
            not_down_here=N_("not down here"),
        ),
        "substance": _table(
            alum=N_("alum, but not ammonium alum"),
            ammonium_alum=N_("ammonium alum"),
            acid=N_("an acid other than vinegar"),
            vinegar=N_("vinegar"),
            ammonia=N_("ammonia"),
            bleach=N_("bleach"),
            soda=N_("baking soda or washing soda"),
            chalk=N_("chalk"),
            lime=N_("lime"),
            sulfide_pigment=N_("ultramarine, a cadmium colour or another sulfide pigment"),
            water=N_("water"),
            colour=N_("colour"),
            other=N_("something else"),
        ),
        "hazard_tag": _table(
            flammable=N_("flammable"),
            mineral_oil=N_("mineral oil"),
            gives_gas=N_("gives off gas"),
            irritant=N_("irritant"),
            corrosive=N_("corrosive"),
            oxidiser=N_("oxidiser"),
            toxic=N_("toxic"),
        ),
        "analyte": _ANALYTES,
        "metal": _table(**{code: _ANALYTES[code] for code in METALS}),
        "treatment": _table(
            kept_back=N_("a cup kept back"),
            base_in=N_("base put in"),
            cup_back=N_("the cup poured back"),
            strained=N_("floc strained off"),
        ),
        "drain_step": _table(
            strain_through_cloth=N_("strained through cloth"),
            thin_until_it_runs=N_("thinned until it ran"),
            settle_overnight=N_("settled overnight"),
            cool=N_("cooled"),
            solids_stay_out=N_("solids kept out of the drain"),
        ),
        "anyway_reason": _table(
            authority_said_so=N_("the authority said so"),
            already_done=N_("already done"),
            small_amount=N_("only a little"),
            other=N_("something else"),
        ),
        "jar_sort": _table(jar=N_("jar"), drum=N_("drum"), can=N_("can"), bucket=N_("bucket")),
        "jar_area": _table(
            central=N_("in the one place for full jars"),
            satellite=N_("where the waste is made"),
        ),
        "mishap": _table(
            wrong_drain=N_("down the wrong drain"),
            spill=N_("spilled"),
            foamed_over=N_("foamed over"),
            wrong_mix=N_("put together what must not be"),
            closed_and_gassing=N_("gave off gas in a closed vessel"),
            other=N_("something else went wrong"),
        ),
        "done_about_it": _table(
            aired=N_("windows and doors opened"),
            closed_off=N_("closed off"),
            soaked_up=N_("soaked up"),
            rinsed_skin_or_eyes=N_("skin or eyes rinsed"),
            called=N_("somebody called"),
            nothing=N_("nothing yet"),
        ),
        "retention": _table(
            employees=N_("somebody is employed here"),
            members_only=N_("members only"),
            ask=N_("nobody has answered yet"),
        ),
        "method": _table(dip=N_("dip"), sponge=N_("sponge"), brush=N_("brush")),
        "sheet_format": _table(full=N_("full"), half=N_("half"), quarter=N_("quarter")),
        "yes_no": _table(yes=N_("yes"), no=N_("no")),
        "yes_no_not_known": _table(yes=N_("yes"), no=N_("no"), not_known=N_("not known")),
        "chalk": _table(
            none=N_("no chalk in it"),
            some=N_("buffered with chalk"),
            not_known=N_("not known"),
        ),
        "fault": _table(
            washed_off=N_("washed off"),
            patch=N_("patch"),
            stripe=N_("stripe"),
            bubble=N_("bubble"),
            ragged=N_("ragged"),
            wrong_side=N_("wrong side"),
            other=N_("other"),
        ),
        "outcome": _table(
            sharp=N_("sharp edge, the colour holds"),
            soft=N_("soft or pale"),
            failed=N_("the colour washes off"),
        ),
        "drop": _table(
            round=N_("round, a clean edge"),
            ragged=N_("ragged edge"),
            cloudy_thread=N_("a cloudy thread to the bottom"),
            blob=N_("a blob on the bottom"),
        ),
        "look": _table(
            fine=N_("looks as it should"),
            skin=N_("skin or bubbles"),
            threads=N_("threads"),
            lumps=N_("lumps"),
            watery=N_("watery on top"),
            tinted=N_("tinted"),
            mould=N_("mould"),
        ),
        "smell": _table(
            none=N_("smells of nothing"),
            sea=N_("smells of the sea"),
            sharp=N_("smells sharp"),
            sour=N_("smells sour"),
            rotten=N_("smells rotten"),
        ),
        "care": _table(
            strained=N_("strained"),
            covered=N_("lid put on"),
            uncovered=N_("lid taken off"),
            chilled=N_("chilled"),
            brought_to_room=N_("brought back to the room"),
            skimmed=N_("skimmed"),
        ),
        "stop_reason": _table(
            strip_print_failed=N_("the strip print washed off"),
            looks_wrong=N_("it looks wrong"),
            wrong_dose=N_("wrong dose"),
            washed_off=N_("sheets washed off"),
            drop_test_bad=N_("the drop test was bad"),
            smells_sour=N_("it smells sour"),
            other=N_("something else"),
        ),
        "clear_reason": _table(
            strip_print_sharp=N_("a sharp strip print"),
            drop_test_good=N_("a good drop test"),
            mended=N_("it was mended"),
            mistake=N_("stopped by mistake"),
            other=N_("something else"),
        ),
        "finish_by_hand": _FINISHED,
        "finish_reason": _table(
            **_FINISHED,
            poured_together=N_("poured into another"),
            neutralised=N_("neutralised"),
            got_rid_of=N_("got rid of"),
        ),
        "part_of_day": _table(
            morning=N_("morning"),
            afternoon=N_("afternoon"),
            evening=N_("evening"),
            not_known=N_("not known"),
        ),
        "use_reason": _table(
            only_a_few=N_("only a few sheets"),
            test_sheets=N_("test sheets"),
            already_done=N_("already done"),
            tested_just_now=N_("a strip print just now was sharp"),
            other=N_("something else"),
        ),
        "lay_reason": _table(
            only_a_few=N_("only a few sheets"),
            test_sheets=N_("test sheets"),
            already_done=N_("already done"),
            tested_just_now=N_("a drop test just now was good"),
            other=N_("something else"),
        ),
        "water_only_reason": _table(
            too_strong=N_("it was too strong"),
            level_only=N_("only to lift the level"),
            already_done=N_("already done"),
            other=N_("something else"),
        ),
        "correct_reason": _table(
            typing_slip=N_("a typing slip"),
            written_twice=N_("written twice"),
            wrong_bath=N_("wrong bath"),
            wrong_time=N_("wrong time"),
            pack_size=N_("the pack holds another number"),
            undone=N_("undone"),
            other=N_("something else"),
        ),
        "revoke_reason": _table(
            lost=N_("it is lost"),
            replaced=N_("another one took its place"),
            member_left=N_("its member left"),
            other=N_("something else"),
        ),
        "settle_reason": _table(
            right_as_it_is=N_("right as it is"),
            written_twice=N_("written twice"),
            not_ours=N_("not ours"),
            mistake=N_("a mistake"),
            other=N_("something else"),
        ),
        "judge_reason": _table(
            seen=N_("seen, it stays as it is"),
            mended=N_("mended by another line"),
            other=N_("something else"),
        ),
        "twin_reason": _table(
            both_right=N_("both are right"),
            mended=N_("mended by another line"),
            other=N_("something else"),
        ),
        "gap_reason": _table(
            seen=N_("lost, nothing more comes"),
            mended=N_("written again by hand"),
            other=N_("something else"),
        ),
        "shown_in": _table(
            metric=N_("litres, grams, °C, mm"), us=N_("US gallons, ounces, °F, inches")
        ),
        "kinds_gallon": _table(us=N_("US gallon, 3.785 L"), imp=N_("imperial gallon, 4.546 L")),
        "kinds_cup": _table(
            us=N_("US cup, 237 mL"),
            metric=N_("metric cup, 250 mL"),
            imp=N_("imperial cup, 284 mL"),
        ),
        "kinds_spoon": _table(
            us=N_("US spoons, tablespoon 14.8 mL"),
            metric=N_("metric spoons, tablespoon 15 mL"),
            imp=N_("imperial (old British) spoons, tablespoon 17.8 mL"),
            au=N_("Australian spoons, tablespoon 20 mL"),
        ),
    }
)

KINDS: Mapping[str, str] = MappingProxyType(
    {
        "ledger.opened": N_("opened the ledger"),
        "studio.described": N_("described the studio"),
        "vessel.described": N_("described the tub"),
        "paper.described": N_("described the paper"),
        "recipe.published": N_("published the recipe"),
        "limits.set": N_("set the house limits"),
        "member.invited": N_("invited a member"),
        "member.joined": N_("joined"),
        "member.role_set": N_("set the roles"),
        "member.left": N_("noted that a member left"),
        "supply.described": N_("described the supply"),
        "supplier.described": N_("described the supplier"),
        "lot.received": N_("received the lot"),
        "lot.opened": N_("opened it"),
        "lot.spoon_weighed": N_("weighed spoons"),
        "lot.counted": N_("counted it"),
        "lot.moved": N_("moved it to another studio"),
        "lot.adjusted": N_("put right what is left"),
        "lot.priced": N_("wrote its price"),
        "lot.cut": N_("cut sheets"),
        "order.placed": N_("placed an order"),
        "order.cancelled": N_("cancelled the rest of an order"),
        "session.planned": N_("planned the session"),
        "need.put_off": N_("put it off"),
        "permission.recorded": N_("recorded a permission"),
        "rules.published": N_("published rules of the drain"),
        "bath.mixed": N_("mixed it"),
        "bath.topped_up": N_("topped up"),
        "bath.split": N_("poured it apart"),
        "bath.joined": N_("poured together"),
        "bath.carried": N_("carried it"),
        "bath.kept_for": N_("kept it for somebody"),
        "bath.cared": N_("cared for it"),
        "bath.stopped": N_("stopped it"),
        "bath.cleared": N_("allowed it again"),
        "bath.finished": N_("finished it"),
        "reading.taken": N_("tested it"),
        "instrument.checked": N_("checked the hydrometer"),
        "sheets.through": N_("put sheets through"),
        "sheets.sorted": N_("sorted sheets"),
        "stack.dried": N_("hung sheets to dry"),
        "stack.flattened": N_("flattened sheets"),
        "stack.put_away": N_("put sheets away"),
        "stack.tested": N_("made a strip print of a corner"),
        "stack.binned": N_("threw alumed sheets away"),
        "stack.warning_seen": N_("saw a warning"),
        "pickup.learned": N_("took over what a paper takes"),
        "jug.found": N_("found a jug nobody knows"),
        "jug.known": N_("said what is in a jug"),
        "jar.vouched": N_("vouched for what is in a jug"),
        "disposal.judged": N_("looked whether it may go"),
        "disposal.treated": N_("treated it for its way out"),
        "disposal.done": N_("got rid of it"),
        "waste.started": N_("set up a waste jar"),
        "waste.added": N_("put it into a waste jar"),
        "waste.collected": N_("handed a waste jar over"),
        "waste.carried": N_("carried waste to another studio"),
        "mishap.noted": N_("noted a mishap"),
        "finding.judged": N_("judged what was odd"),
        "entry.corrected": N_("put a line right"),
        "attachment.erased": N_("erased a note or card"),
        "device.enrolled": N_("set up a phone or tablet"),
        "device.member_added": N_("joined a phone or tablet"),
        "device.member_removed": N_("took somebody off a phone or tablet"),
        "device.revoked": N_("switched a phone or tablet off"),
        "draft.settled": N_("settled what a phone sent"),
    }
)

REFUSALS: Mapping[str, str] = MappingProxyType(
    {
        "missing": N_("This is needed."),
        "empty": N_("This is needed."),
        "unknown-field": N_("This page is older than the ledger. Load it again."),
        "unknown-kind": N_("This page is older than the ledger. Load it again."),
        "unknown-version": N_("This page is older than the ledger. Load it again."),
        "not-text": N_("This should be text."),
        "not-one-line": N_("One line of text, please."),
        "too-long": N_("At most %(longest)s characters, please."),
        "not-a-choice": N_("Choose one of these."),
        "not-an-id": N_("Choose one from the list."),
        "not-known": N_("The ledger does not know this one. Choose one from the list."),
        "not-an-attachment": N_("The note could not be read."),
        "not-a-photo": N_("A whole photo, please: JPEG, PNG or WebP."),
        "photo-too-large": N_(
            "At most %(megabytes)s MB and %(megapixels)s million pixels, please. Take the "
            "photo with fewer pixels, or crop it."
        ),
        "not-a-whole-number": N_("A whole number from %(low)s to %(high)s, please."),
        "not-a-number": N_("A number, please: 12, 0.5, 0,5 or 1/2."),
        "thousands-or-decimals": N_("Thousands or decimals? Write %(written)s."),
        "not-a-quantity": N_("A number and its unit, please."),
        "wrong-dimension": N_("This unit does not fit here."),
        "out-of-reach": N_("More than %(low)s and at most %(high)s %(unit)s, please."),
        "too-much": N_("At most %(high)s %(unit)s, please."),
        "out-of-range": N_("From %(low)s to %(high)s, please."),
        "not-a-date-of-a-card": N_(
            "A year, a month or a day, please: 2019, 2019-04, 2019-04-10."
        ),
        "not-a-day": N_("A day, please: 2026-11-25."),
        "ends-before-it-starts": N_("It ends before it starts. Say a later hour."),
        "more-than-weighed": N_("The empty tub weighs more than the full one. Weigh again."),
        "the-same-lot": N_("These are one lot. Choose another, or leave it open."),
        "the-same-person": N_("That is who counted. Choose somebody else, or nobody."),
        "not-in-that-studio": N_(
            "This does not fit the studio that was said. Choose another one."
        ),
        "not-the-same-make": N_(
            "These are not the same: another type, salt, chalk or grain. Keep them apart."
        ),
        "past-its-day": N_("One of them is past its day. Keep them apart."),
        "not-in-noise": N_(
            "The gap is larger than counting errs. Say why, or leave it to a coordinator."
        ),
        "not-of-this-measure": N_(
            "This supply is measured otherwise: by weight, by volume, in sheets or in pieces."
        ),
        "not-a-time": N_("A date and a time, please: 2026-11-25 18:30."),
        "in-the-future": N_("This has not happened yet."),
        "not-a-list": N_("Choose from the list."),
        "wrong-count": N_("Choose %(low)s to %(high)s of these."),
        "not-a-record": N_("This could not be read."),
        "not-allowed": N_("Your roles do not let you do this. Ask a coordinator."),
        "over-the-brim": N_(
            "That goes over the brim: %(brim_l)s fit, it would be %(would_l)s."
        ),
        "not-under-the-brim": N_("Must be less than the brim (%(brim_l)s)."),
        "over-look-again": N_("Must not be over the look-again line."),
        "under-look-again": N_("Must not be fewer days than for looking again."),
        "more-than-taken-out": N_("More put back than was taken out."),
        "another-kind-of-bath": N_(
            "This is another kind of bath. Choose one of the same kind."
        ),
        "not-with-this": N_("This does not go with the other answers. Leave it out."),
        "tag-not-read": N_("Nobody sniffs what has no readable tag. Read the tag first."),
        "the-same-bath": N_("These are one and the same bath. Choose another one."),
        "more-than-is-left": N_("There are only %(left)s left. Count again."),
        "nothing-counted": N_("Count at least one sheet."),
        "nothing-left": N_("Nothing is left of it: it is gone already."),
        "jar-taken-away": N_("This jar was taken away. Choose one that stands here."),
        "not-as-judged": N_(
            "The answer that was kept with this line says otherwise. Take the line out and "
            "write it anew: then it gets its own answer."
        ),
        "stands-elsewhere": N_("It stands in another studio. Carry it there first."),
        "not-alum": N_("This is no alum: only old alum is treated with soda or lime."),
        "reason-needed": N_("Tap a reason."),
        "water-only": N_("Water alone makes it weaker. Add salt too, or tap a reason."),
        "lot-of-other-salt": N_("This lot is another salt than the one in the bath."),
        "finished": N_("This bath is finished."),
        "not-stopped": N_("This bath is not stopped."),
        "already-stopped": N_("This bath is stopped already."),
        "vessel-in-use": N_("%(bath)s is still in this tub. Finish it first."),
        "corrected-meanwhile": N_(
            "Somebody else corrected this in the meantime. Look at what stands now, and send "
            "yours again if it still holds."
        ),
        "too-late": N_("Too late to change this yourself. Ask a coordinator."),
        "last-coordinator": N_("Somebody must stay coordinator."),
        "pick-a-reading": N_("The card says two things. Pick the reading that holds."),
        "record-too-long": N_("This is too much for one line."),
        "not-plain": N_("This could not be read."),
        "not-json": N_("This could not be read."),
        "key-twice": N_("This could not be read."),
        "too-deep": N_("This could not be read."),
        "key-not-ascii": N_("This could not be read."),
        "number-too-large": N_("This number is too large."),
        "lone-surrogate": N_("This text holds a character that cannot be kept."),
        "edition-changed": N_(
            "Somebody else changed this meanwhile. What you typed is kept: look at what stands "
            "in the house now, then send it again."
        ),
        "too-many": N_("At most %(high)s of these."),
        "device-revoked": N_("Nothing is taken from this phone or tablet any more."),
        "not-on-this-device": N_("Whoever wrote this does not write on this phone or tablet."),
        "has-left": N_("Whoever wrote this has left the co-operative."),
        "handed-in": N_("Somebody else handed this in, who may not do it for others."),
        "needs-a-page": N_("This is done on a page, signed in, with a signal."),
        "not-here": N_("The studio does not have the line that this changes."),
        "came-already": N_("It went in by another way, and counts."),
        "given-up": N_("Whoever wrote this gave it up."),
        "shelf-full": N_(
            "Too much that was sent from here waits for a person. It stays here: ask a "
            "coordinator to sort that out first."
        ),
        "left-out": N_("A coordinator left this out."),
        "other-ledger": N_("This was written for another co-operative's ledger."),
        "unknown-outbox-version": N_(
            "The studio does not know this form yet. It stays on this phone and goes again "
            "after an upgrade."
        ),
        "opened-already": N_("This ledger is open already."),
        "sign-in-name-missing": N_("This is needed."),
        "sign-in-name-too-long": N_("At most %(longest)s characters, please."),
        "sign-in-name-unprintable": N_("Letters, digits and punctuation only, please."),
        "sign-in-name-taken": N_("Another member signs in with this name."),
        "password-too-short": N_("At least %(shortest)s characters, please."),
        "password-too-long": N_("At most %(longest)s characters, please."),
        "mail-too-long": N_("At most %(longest)s characters, please."),
        "not-a-mail-address": N_("A mail address, please: somebody@studio.example."),
        "wrong-password": N_("This is not your password."),
        "password-is-the-name": N_("The sign-in name alone is no password."),
        "password-is-common": N_(
            "Many people use this password, so it is tried first. Another, please: some words "
            "in a row are easy to keep in mind."
        ),
    }
)

WAITS: Mapping[str, str] = MappingProxyType(
    {
        "needs-a-page": N_(
            "This is done on a page, signed in. Do it there if it still holds, then leave this "
            "one out."
        ),
        "device-revoked": N_("It was written on a phone or tablet that is switched off."),
        "not-on-this-device": N_("Whoever wrote it does not write on that phone or tablet."),
        "has-left": N_("Whoever wrote it has left the co-operative."),
        "not-allowed": N_("The roles of whoever wrote it do not let them do this."),
        "too-late": N_("It changes what was written more than two weeks before."),
        "handed-in": N_("Somebody else handed it in, who may not do this for others."),
        "given-up": N_("Whoever wrote it gave it up."),
        "came-already": N_("It went in by another way, and counts."),
        "not-here": N_("It changes a line that is not here, or not yet."),
    }
)
"""Why a draft waits for a person, told to that person."""

NAMED_LIMITS = frozenset({"bath", "left", "unit", "written"})
"""The limits of a refusal that are no numbers."""
LITRES_LIMITS = frozenset({"brim_l", "would_l"})
"""The limits of a refusal that are litres."""

MARKS: Mapping[str, str] = MappingProxyType(
    {
        "published": N_("published"),
        "computed": N_("computed"),
        "from memory": N_("from memory"),
        "common practice, no source": N_("common practice, no source"),
        "our own choice, no source": N_("our own choice, no source"),
    }
)


def mark(words: Words, default_mark: str) -> str:
    """Return how a default of the sums is known."""
    return words.gettext(MARKS[default_mark])


def choice(words: Words, group: str, code: str) -> str:
    """Return the text of a code of a closed set."""
    return words.gettext(CHOICES[group][code])


def choices(words: Words, group: str) -> list[tuple[str, str]]:
    """Return (code, text) pairs for a form's field."""
    return [(code, words.gettext(text)) for code, text in CHOICES[group].items()]


BATH_NAMES: Mapping[str, str] = MappingProxyType(
    {
        "alum": N_("Alum %(name)s"),
        "size": N_("Size %(name)s"),
        "gall_water": N_("Gall water %(name)s"),
        "rinse": N_("Rinse %(name)s"),
        "paste": N_("Paste %(name)s"),
        "softener": N_("Softener %(name)s"),
    }
)


def bath_name(words: Words, what: str, name: str) -> str:
    """Return what a bath is with its name: 'Alum R-A2', 'Size R-S4'."""
    return words.gettext(BATH_NAMES[what], name=name)


def refusal(words: Words, refused: Refused) -> str:
    """Say what is wrong and what would be right."""
    said = dict(refused.limits)
    limits = {name: _limit(words, name, limit) for name, limit in said.items()}
    if words.us and said.get("unit") in amounts.US_MEASURES:
        limits |= _us_limits(words, said)
    return words.gettext(REFUSALS[refused.code], **limits)


def waits(words: Words, code: str) -> str:
    """Say why a draft waits for a person."""
    return words.gettext(WAITS[code])


def _us_limits(words: Words, said: Mapping[str, str]) -> dict[str, str]:
    """Return the ends of a limit that was said in litres, kilograms, mm, °C in US measures."""
    scale = amounts.US_MEASURES[said["unit"]]
    ends = {
        name: words.number(scale.of(float(limit)), scale.digits if float(limit) else 0)
        for name, limit in said.items()
        if name != "unit"
    }
    return ends | {"unit": words.gettext(scale.unit)}


def _limit(words: Words, name: str, limit: str) -> str:
    """Return a limit, a number written with a point, as it is read; litres with their unit."""
    if name in NAMED_LIMITS:
        return limit
    digits = len(limit.partition(".")[2])
    if name in LITRES_LIMITS:
        return amounts.volume(words, 1000 * float(limit), digits)
    return words.number(float(limit), digits)


def kind(words: Words, code: str) -> str:
    """Return what an entry of this kind says that somebody did."""
    return words.gettext(KINDS[code])


def ago(words: Words, then: datetime, now: datetime, precision: str = MINUTE) -> str:
    """
    Say how long ago something was, as one speaks: 'just now', '25 min ago', '3 days ago'.

    Of what is not known to the minute its day is said: 'yesterday, evening'.
    """
    if precision != MINUTE:
        return when(words, then, now, precision)
    minutes = max(0, int((now - then) / timedelta(minutes=1)))
    if minutes < 2:
        return words.gettext("just now")
    if minutes < 90:
        return words.ngettext("%(num)d min ago", "%(num)d min ago", minutes)
    hours = round(minutes / 60)
    if hours < 36:
        return words.ngettext("%(num)d h ago", "%(num)d h ago", hours)
    days = round(hours / 24)
    return words.ngettext("%(num)d day ago", "%(num)d days ago", days)


NEAR: Mapping[int, str] = MappingProxyType(
    {-1: N_("yesterday"), 0: N_("today"), 1: N_("tomorrow")}
)
"""Days near to today, by how many they are ahead."""


def when(words: Words, then: datetime, now: datetime, precision: str = MINUTE) -> str:
    """Say a moment near to now: 'today 09:10', 'yesterday, evening', '2026-09-18 18:40'."""
    day, today = then.astimezone(words.zone).date(), now.astimezone(words.zone).date()
    if precision != MINUTE:
        near = NEAR.get((day - today).days)
        return _part(words, words.gettext(near) if near else words.day(day), then, precision)
    clock = words.time(then)
    if day == today:
        return words.gettext("today %(time)s", time=clock)
    if day == today - timedelta(days=1):
        return words.gettext("yesterday %(time)s", time=clock)
    if day == today + timedelta(days=1):
        return words.gettext("tomorrow %(time)s", time=clock)
    return f"{words.day(then)} {clock}"


def moment(words: Words, then: datetime, precision: str = MINUTE) -> str:
    """Say a moment by its date: '2025-09-12 18:40', or as known '2025-09-12, evening'."""
    if precision == MINUTE:
        return words.moment(then)
    return _part(words, words.day(then), then, precision)


def _part(words: Words, day: str, then: datetime, precision: str) -> str:
    """Return a day, with the part of it where that is known."""
    if precision == DAY:
        return day
    part = choice(words, "part_of_day", part_of(then.astimezone(words.zone)))
    return words.gettext("%(day)s, %(part)s", day=day, part=part)


def sheets(words: Words, count: int, sheet_format: str) -> str:
    """Return a count of sheets with their format: '60 half sheets'."""
    if sheet_format == "full":
        return words.ngettext("%(num)d full sheet", "%(num)d full sheets", count)
    if sheet_format == "half":
        return words.ngettext("%(num)d half sheet", "%(num)d half sheets", count)
    return words.ngettext("%(num)d quarter sheet", "%(num)d quarter sheets", count)


def full_sheets(words: Words, count: float) -> str:
    """Return a number of full sheets: '1 full sheet', '531.5 full sheets'."""
    form = 1 if count == 1 else 2
    said = full_count(words, count)
    return words.ngettext("%(count)s full sheet", "%(count)s full sheets", form, count=said)


def full_count(words: Words, count: float) -> str:
    """Return how many full sheets, halves and quarters as decimals: '2', '0.5', '0.75'."""
    if count == int(count):
        return words.number(count)
    return words.number(count, 1 if count * 2 == int(count * 2) else 2)


def day_by(words: Words, at: datetime, name: str) -> str:
    """Return a day and who did it: '2025-09-12, Amina K.'."""
    return words.gettext("%(day)s, %(who)s", day=words.day(at), who=name)


UNIT_NAMES: Mapping[str, str] = MappingProxyType(
    {
        "us_tsp": N_("US teaspoon"),
        "us_tbsp": N_("US tablespoon"),
        "us_cup": N_("US cup"),
        "us_gallon": N_("US gallon"),
        "metric_tsp": N_("metric teaspoon"),
        "metric_tbsp": N_("metric tablespoon"),
        "metric_cup": N_("metric cup"),
        "imp_tsp": N_("imperial (old British) teaspoon"),
        "imp_tbsp": N_("imperial (old British) tablespoon"),
        "imp_cup": N_("imperial cup"),
        "imp_gallon": N_("imperial gallon"),
        "au_tbsp": N_("Australian tablespoon"),
    }
)


def unit(words: Words, code: str) -> str:
    """Return the name of a unit; metric symbols as they are."""
    named = UNIT_NAMES.get(code)
    return words.gettext(named) if named else UNITS[code].one
