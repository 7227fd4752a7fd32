"""
Neutralise an old alum bath, or a jar of alum, step by step on a phone.

Which soda, which bucket and what else is in it stand in the address until a cup was kept back;
from then on the ledger says how far it is, so that two people can share one bucket.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from math import ceil
from typing import Any, ClassVar
from urllib.parse import urlencode

from flask import Blueprint, redirect, request, url_for
from werkzeug.wrappers import Response
from wtforms import Form, HiddenField, RadioField, SelectField, StringField

from coop.actions.see_neutralising import (
    Jar,
    Old,
    Plan,
    ask_stops,
    base_begun,
    jars_of_base,
    least_bucket_l,
    old_bath,
    old_jar,
    plan_of,
    sulfate_limited,
    window_of,
)
from coop.actions.sites import Site, see_site
from coop.actions.write import Written
from coop.ids import Subject
from coop.ledger.states import JarState, StudioState
from coop.rules.neutralising import Next, Stand, Window
from coop.science import neutralising as sums
from coop.units.number import unwire
from coop.web import amounts, drains, neutralising
from coop.web import words as say
from coop.web.cautions import SafetyCard, safety_card
from coop.web.drain_words import CLOSING
from coop.web.fields import NEEDED, MeasuredField, NumberField, UnitField
from coop.web.floc import floc_ways
from coop.web.forms import EntryForm, Happened, looked_up, options, written
from coop.web.i18n import N_
from coop.web.neutralising import (
    ML_PER_L,
    PH_STEPS,
    PH_TOOLS,
    PLACE,
    READ_STEP,
    TREATMENT,
    StepCard,
)
from coop.web.page import desk, known, known_alum, needs, now, show, site, words, writing, zone

SCALE = ("g", "oz")
CUP = ("ml", "l", "us_fl_oz")
STEPS = options((one, one) for one in PH_STEPS)
IN_IT = (
    ("no", N_("neither")),
    ("sulfide_pigment", N_("ultramarine or another sulfide colour")),
    ("metal", N_("a metal colour")),
    ("not_known", N_("nobody knows")),
)

ADDRESS = ("soda", "bucket", "also", "strip")
NO_STRIP = "none"
READINGS = frozenset({Next.BEFORE, Next.READ, Next.FINER, Next.CLOSE, Next.OVERNIGHT})
"""When a reading is what comes next."""

pages = Blueprint("neutralise", __name__)


class TreatForm(EntryForm, Happened):
    """
    One step that was done; what does not belong to it stays empty.

    `seen` is the last step there was when the page was shown: two people work at one bucket.
    """

    kind: ClassVar[str] = "disposal.treated"
    beside: ClassVar[frozenset[str]] = frozenset({"seen"})

    seen = HiddenField(render_kw={"data-beside": ""})
    studio = HiddenField()
    step = HiddenField()
    base = HiddenField()
    lot = HiddenField()
    weight = StringField(N_("Weighed"), name="weight.typed")
    weight_unit = UnitField(N_("Unit"), name="weight.unit", units=SCALE, default="g")
    litres = StringField(N_("How much of it"), name="litres.typed")
    litres_unit = UnitField(N_("Unit"), name="litres.unit", units=CUP, default="ml")


class BucketForm(Form):
    """The bucket that it is done in, as it stands in the address."""

    bucket = MeasuredField(N_("What does the open bucket hold, to its brim?"), unit="l")


class PhForm(EntryForm, Happened):
    """A reading of the pH; how far off a meter was is asked of a meter alone."""

    kind: ClassVar[str] = "reading.taken"

    instrument = RadioField(
        N_("With what"),
        [NEEDED],
        choices=looked_up((code, say.CHOICES["instrument"][code]) for code in PH_TOOLS),
        default="ph_strip",
    )
    ph = NumberField("pH", [NEEDED])
    step = SelectField(N_("One step of its scale"), choices=STEPS, default="0.5")
    off_at_check = NumberField(
        N_("How far off the meter was when it was checked today"),
        description=N_("0 if it showed the buffer right. Left empty, its reading is no proof."),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """
    What stands in the address: which soda, which bucket, what else is in it.

    `strip` is "none" where it cannot be read before anything goes in.
    """

    soda: str
    bucket: str
    also: str
    strip: str
    read: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class NeutralisePage:
    """
    The walk of one bath or jar.

    Attributes:
        stop: Why nothing goes in; then there is no form.
        nothing: Whether there is nothing in it to neutralise.
        bucket: Its box: as typed, or the smallest for one go; `slip` what is wrong with it.
        sodas, in_it: (value, text) of what the base can be, and of what else may be in it.
        begun: Whether anything was done, which settles soda and bucket.
        form: What is written down next; None where nothing is.
        reads, weighs, measures: Whether it is a reading, or which amounts it asks.
        read_at: From when a reading means something, for people and for the script.
        unread_url: Where to go on without a reading; empty where there is to be one.
        drain_url: Where to ask whether it may go; empty until that is what comes next.
        floc: Where what was strained off goes; none before, and none once it went.
    """

    id: str
    sort: str
    name: str
    back: str
    here: str
    card: SafetyCard
    stop: tuple[str, ...]
    in_use: bool
    nothing: bool
    begun: bool
    asked: Asked
    bucket: MeasuredField
    sodas: tuple[tuple[str, str], ...]
    in_it: tuple[tuple[str, str], ...]
    slip: str
    figures: tuple[tuple[str, str], ...]
    wanted: str
    cards: tuple[StepCard, ...]
    form: EntryForm | None
    button: str
    reads: bool
    weighs: bool
    measures: bool
    read_at: str
    read_at_iso: str
    now_iso: str
    read_url: str
    unread_url: str
    drain_url: str
    floc: tuple[tuple[str, str], ...]
    closing: str


@pages.route("/baths/<bath>/neutralise", methods=["GET", "POST"])
@needs("disposal.treated")
def bath(bath: str) -> Response:
    state = known_alum(bath, "/neutralise")
    here = _site(state.studio)
    return _walk(old_bath(desk().journal, state, site=here), here)


@pages.route("/jars/<jar>/neutralise", methods=["GET", "POST"])
@needs("disposal.treated")
def jar(jar: str) -> Response:
    state: JarState = known("jar", jar)
    return _walk(old_jar(state), _site(state.studio))


def _site(studio: Subject) -> Site:
    state: StudioState = known("studio", studio)
    moment = now().astimezone(zone())
    return see_site(desk().journal, state, now=moment, demo=site().settings.demo)


def _walk(old: Old, here: Site) -> Response:
    view = _view(old, here)
    form = view.form()
    status = 200
    if request.method == "POST":
        status = 422
        if form is not None and view.may_be_written(form) and form.validate():
            with writing() as place:
                outcome = form.record(place, **view.fixed(form))
            if written(outcome, words().gettext("Written.")) and isinstance(outcome, Written):
                return redirect(f"{view.url()}#here", 303)
    return show("neutralise.html", page=view.page(form), nav="waste", status=status)


def _view(old: Old, here: Site) -> "View":
    """Find the walk of what is asked; the figures are there once it is known which soda."""
    asked = _asked()
    jars = jars_of_base(desk().journal, old.studio)
    base = base_begun(old) or _base(asked, jars)
    window = window_of(here)
    bucket_l, slip = _bucket_l(asked, old)
    plan = None
    if base and old.enough:
        reads_before = asked.strip != NO_STRIP
        plan = plan_of(old, base, bucket_l, window, reads_before=reads_before)
    return View(
        old=old, site=here, asked=asked, jars=jars, base=base, window=window,
        bucket_l=bucket_l, slip=slip, plan=plan, held=tuple(_held(old, here, base)),
    )  # fmt: skip


def _held(old: Old, here: Site, base: str) -> Iterator[str]:
    """Say what is known to be in it that stops the walk, whatever somebody says of it."""
    if old.gone:
        return
    if old.ammonia:
        yield words().gettext(neutralising.REFUSED[sums.AMMONIA_GAS])
    yield from drains.told(words(), ask_stops(desk().journal, here, old, base)).stops
    if old.metals:
        yield words().gettext("It was written down that a metal colour is in it.")
    if old.not_known:
        yield words().gettext("Something is in it of which nobody knows what it is.")
    if not old.grams_known:
        yield words().gettext(
            "The grams of alum in it are not known, so there is no dose: ask, and put nothing "
            "in."
        )


def _asked() -> Asked:
    typed = {name: request.args.get(name, "") for name in ADDRESS}
    typed["bucket"] = BucketForm(request.args).bucket.named
    return Asked(**typed, read=request.args.get("read") == "yes")


def _base(asked: Asked, jars: tuple[Jar, ...]) -> str:
    """Return the base of the lot, or the base itself, that was chosen."""
    of_lots = {str(one.lot.lot.id): one.base for one in jars}
    return of_lots.get(asked.soda, asked.soda if asked.soda in sums.BASES else "")


def _bucket_l(asked: Asked, old: Old) -> tuple[float, str]:
    """Return the bucket, by itself the smallest for one go; and what is wrong with it [L]."""
    if not old.enough:
        return 0.0, ""
    least_l = least_bucket_l(old)
    if not asked.bucket.strip():
        return least_l, ""
    form = BucketForm(request.args)
    if form.validate():
        bucket_l = float(unwire(str(form.bucket.data)))
        if sums.BUCKET_MIN_L <= bucket_l <= sums.BUCKET_MAX_L:
            return bucket_l, ""
    slip = words().gettext(
        "What the bucket holds, %(low)s to %(high)s, please: %(example)s.",
        low=amounts.volume(words(), sums.BUCKET_MIN_L * ML_PER_L, 1),
        high=amounts.volume(words(), sums.BUCKET_MAX_L * ML_PER_L, 0),
        example=amounts.volume(words(), least_l * ML_PER_L, 0),
    )
    return least_l, slip


def _bucket_shown(bucket_l: float) -> str:
    """Return a bucket as it stands in its box: never smaller than it is reckoned with."""
    if not words().us:
        return words().number(bucket_l)
    return words().number(ceil(10 * bucket_l * ML_PER_L / amounts.US_GALLON_ML) / 10, 1)


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """One walk as it is asked for: what is known of it, and what its page shows."""

    old: Old
    site: Site
    asked: Asked
    jars: tuple[Jar, ...]
    base: str
    window: Window
    bucket_l: float
    slip: str
    plan: Plan | None
    held: tuple[str, ...]

    @property
    def stand(self) -> Stand | None:
        return self.plan.stand if self.plan else None

    @property
    def is_clear(self) -> bool:
        """Say whether it was asked what else is in it; a cup kept back says so for good."""
        return self.old.begun or self.asked.also == "no"

    def form(self) -> EntryForm | None:
        """Return what is written next: what was done, or a reading."""
        if self.stand is None or self.held or self.slip or not self.is_clear:
            return None
        if request.method == "POST":
            return PhForm() if "instrument" in request.form else TreatForm()
        if self.asked.read or self.stand.step in READINGS:
            return PhForm()
        return self._treat(self.stand) if self.stand.step in TREATMENT else None

    def _treat(self, stand: Stand) -> TreatForm:
        """Fill in what belongs to the step; what somebody weighed instead is taken."""
        form = TreatForm()
        form.seen.data = self._last()
        form.studio.data = self.old.studio
        form.step.data = TREATMENT[stand.step]
        if stand.weight_g:
            form.base.data = self.base
            form.lot.data = self._lot()
            form.weight.data = neutralising.weight_shown(words(), stand.weight_g)
        if stand.cup_ml:
            form.litres.data = amounts.small_figure(words(), stand.cup_ml)
        return form

    def _lot(self) -> str:
        """Return the lot that was chosen, where it is of the base that goes in."""
        found = (one.lot.lot.id for one in self.jars if one.base == self.base)
        return next((one for one in found if one == self.asked.soda), "")

    def may_be_written(self, form: EntryForm) -> bool:
        """Say whether it is a step of the walk, and nobody did one since the page was shown."""
        if not isinstance(form, TreatForm):
            return True
        if form.step.data not in TREATMENT.values():
            return False
        if form.seen.data == self._last():
            return True
        form.seen.data = self._last()
        form.form_errors.append(
            words().gettext(
                "Meanwhile somebody wrote: %(what)s. If yours comes on top of that, send it "
                "again.",
                what=neutralising.done_by(words(), self.old.treated[-1]),
            )
        )
        return False

    def _last(self) -> str:
        return self.old.treated[-1].entry if self.old.treated else ""

    def fixed(self, form: EntryForm) -> dict[str, Any]:
        about: dict[str, Any] = {self.old.sort: self.old.id}
        return about | ({"studio": self.old.studio} if isinstance(form, TreatForm) else {})

    def url(self, **more: str) -> str:
        """Return this page's address with what stands in it."""
        said = {name: getattr(self.asked, name) for name in ADDRESS}
        kept = {name: text for name, text in (said | more).items() if text}
        return f"{_page_url(self.old)}?{urlencode(kept)}" if kept else _page_url(self.old)

    # ---- the page

    def page(self, form: EntryForm | None) -> NeutralisePage:
        old, stand = self.old, self.stand
        stop = tuple(self._stop())
        reads = isinstance(form, PhForm)
        again = reads and self.asked.read and old.begun
        here = READ_STEP if again else self._here()
        return NeutralisePage(
            id=old.id,
            sort=old.sort,
            name=self._name(),
            back=f"/{old.sort}s/{old.id}",
            here=_page_url(old),
            card=safety_card(words(), "neutralise", self.site.studio),
            stop=stop,
            in_use=old.in_use,
            nothing=not old.enough and old.grams_known,
            begun=old.begun,
            asked=self.asked,
            bucket=self._bucket(),
            sodas=tuple(self._sodas()),
            in_it=tuple((code, words().gettext(text)) for code, text in IN_IT),
            slip=self.slip,
            figures=self._figures(),
            wanted=neutralising.wanted(words(), self.window),
            cards=self._cards(here) if old.enough else (),
            form=None if stop else form,
            button=self._button(form),
            reads=reads,
            weighs=isinstance(form, TreatForm) and bool(form.base.data),
            measures=isinstance(form, TreatForm)
            and form.step.data in ("kept_back", "cup_back"),
            read_at=self._read_at(),
            read_at_iso=stand.read_from.isoformat() if stand and stand.read_from else "",
            now_iso=now().isoformat(),
            read_url=self.url(read="yes") + "#here",
            unread_url=self._unread_url(),
            drain_url=_drain_url(old) if self._is_strained() else "",
            floc=floc_ways(self.site, old.id) if self._is_strained() else (),
            closing=words().gettext(CLOSING),
        )

    def _bucket(self) -> MeasuredField:
        box: MeasuredField = BucketForm(request.args).bucket
        if self.old.enough and not self.asked.bucket:
            box.typed = _bucket_shown(self.bucket_l)
        return box

    def _is_strained(self) -> bool:
        return self.stand is not None and self.stand.step is Next.MAY_IT_GO

    def _unread_url(self) -> str:
        is_first = self.stand is not None and self.stand.step is Next.BEFORE
        return f"{self.url(strip=NO_STRIP)}#here" if is_first else ""

    def _stop(self) -> Iterator[str]:
        if self.held:
            yield from self.held
            yield _leave_it()
        elif self.plan is not None and self.plan.refused:
            yield words().gettext(neutralising.REFUSED[self.plan.refused])
        elif self.base and self.asked.also not in ("", "no") and not self.old.begun:
            yield from self._stopped_by(self.asked.also)

    def _stopped_by(self, also: str) -> Iterator[str]:
        if also == "sulfide_pigment":
            asked = ask_stops(desk().journal, self.site, self.old, self.base, also)
            yield from drains.told(words(), asked).stops
        yield _leave_it()

    def _here(self) -> int:
        """Return the step that comes next."""
        if self.plan is None or self.plan.refused or self.slip:
            return 1
        if not self.is_clear:
            return 2
        assert self.stand is not None
        return PLACE[self.stand.step]

    def _name(self) -> str:
        if self.old.sort == "jar":
            return self.old.name
        return say.bath_name(words(), "alum", self.old.name)

    def _sodas(self) -> Iterator[tuple[str, str]]:
        """Give the jars of this shelf first, then every base by what its label says."""
        for one in self.jars:
            text = words().gettext(
                "the tub on the shelf, %(lot)s: %(base)s",
                lot=one.lot.lot.name,
                base=neutralising.base_name(words(), one.base),
            )
            yield str(one.lot.lot.id), text
        for code in sums.BASES:
            text = neutralising.base_name(words(), code)
            if self.jars:
                text = words().gettext("another tub: %(base)s", base=text)
            yield code, text

    def _figures(self) -> tuple[tuple[str, str], ...]:
        if self.plan is None or self.plan.walk is None:
            return ()
        limited = sulfate_limited(self.site)
        return tuple(neutralising.figures(words(), self.old, self.plan, limited))

    def _cards(self, here: int) -> tuple[StepCard, ...]:
        return neutralising.cards(words(), self.old, self.plan, self.window, here)

    def _button(self, form: EntryForm | None) -> str:
        if not isinstance(form, TreatForm):
            return words().gettext("Write the reading")
        return neutralising.button(words(), form.step.data or "", bool(form.base.data))

    def _read_at(self) -> str:
        at = self.stand.read_from if self.stand else None
        return say.when(words(), at, now()) if at is not None and at > now() else ""


def _leave_it() -> str:
    return words().gettext(
        "Stop. Put nothing in: leave it as it is, tagged, and ask a safety officer and "
        "your local authority first."
    )


def _page_url(old: Old) -> str:
    if old.sort == "jar":
        return url_for("neutralise.jar", jar=old.id)
    return url_for("neutralise.bath", bath=old.id)


def _drain_url(old: Old) -> str:
    if old.sort == "jar":
        return url_for("drain.of_jar", jar=old.id)
    return url_for("drain.of_bath", bath=old.id)
