"""The label of a waste jar: all that has to stand on it, and whom to call."""

import re
from dataclasses import dataclass

from coop.actions.see_jars import JarSeen
from coop.ledger.states import JarState, StudioState
from coop.rules.hazards import signal_of
from coop.rules.jar_hazards import diamonds, jar_hazards
from coop.rules.to_call import is_to_dial
from coop.web import drain_words as texts
from coop.web import words as say
from coop.web.hazard_words import PICTOGRAMS, SIGNALS, statement
from coop.web.i18n import N_, Words
from coop.web.jars import wastes_text

CONTENTS_SHOWN = 6
WITHIN_A_NUMBER = re.compile(r"(?<=[\d/-]) +(?=[\d/-]|\(\d)|(?<=\d\)) +(?=\d)")
NONE_TO_DIAL = (
    N_(
        "This does not print: what stands for the emergency number of %(studio)s, "
        "“%(said)s”, has no number to dial."
    ),
    N_(
        "This does not print: what stands for the poison centre of %(studio)s, “%(said)s”, "
        "has no number to dial."
    ),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Pictogram:
    """A diamond: its file, the word beside it, and what one sees on it."""

    file: str
    name: str
    seen: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Calls:
    """
    Whom to call.

    Attributes:
        why_not: Why nothing prints: a number that is none; empty where both are right.
        url: Where they are written.
    """

    studio: str
    emergency: str
    poison: str
    why_not: str
    url: str

    @property
    def prints(self) -> bool:
        """Whether both numbers are there to be called."""
        return not self.why_not


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelSaid:
    """
    A jar's label.

    Attributes:
        hazardous_waste: Whether a rule in force asks for these words.
        contents: Which wastes, and the substances in them.
        signal: The stronger signal word of what is in it; empty for none.
        hazards: What it can do, in plain words with the code; `tags` what somebody stated.
        metals: Whether metal colours are in it.
        started, full_by, due: Days, empty where nobody wrote them.
        asked: The rules that ask something of a label, by their own words.
        missing: What they ask and nobody wrote down yet: to be filled in by hand.
    """

    name: str
    sort: str
    hazardous_waste: bool
    contents: tuple[str, ...]
    signal: str
    pictograms: tuple[Pictogram, ...]
    hazards: tuple[str, ...]
    metals: bool
    tags: str
    started: str
    full_by: str
    due: str
    asked: tuple[str, ...]
    missing: tuple[str, ...]
    calls: Calls


def label_said(words: Words, seen: JarSeen) -> LabelSaid:
    """Return all that stands on a jar's label."""
    jar, look = seen.state, seen.look
    found = jar_hazards(
        seen.facts.contents or (),
        metal_pigments="yes" if _metals(jar) else "",
        salts=(salt for salt, _ in jar.salts),
    )
    codes = [one.code for one in found]
    signal = signal_of(codes)
    return LabelSaid(
        name=jar.name,
        sort=say.choice(words, "jar_sort", jar.sort),
        hazardous_waste="hazardous_waste" in look.asked,
        contents=_contents(words, seen),
        signal=words.gettext(SIGNALS[signal]) if signal else "",
        pictograms=tuple(_pictogram(words, one) for one in diamonds(codes, jar.tags)),
        hazards=tuple(statement(words, one.code, one.above) for one in found),
        metals=_metals(jar),
        tags=", ".join(say.choice(words, "hazard_tag", one) for one in jar.tags),
        started=words.day(jar.first_on) if jar.first_on else "",
        full_by=words.day(jar.full_by) if jar.full_by else "",
        due=words.day(look.due_on) if look.due_on else "",
        asked=tuple(one.says for one in look.labels if one.says),
        missing=tuple(texts.choice(words, "shown", one) for one in look.missing),
        calls=calls(words, seen.studio),
    )


def calls(words: Words, studio: StudioState) -> Calls:
    """Return the numbers of a studio as they are printed, or why they are not."""
    return Calls(
        studio=studio.name,
        emergency=unbroken(studio.emergency),
        poison=unbroken(studio.poison),
        why_not=why_not(words, studio),
        url=f"/house/studios/{studio.id}",
    )


def unbroken(number: str) -> str:
    """Return a number to call that stays on one line, whatever is told beside it."""
    return WITHIN_A_NUMBER.sub("\N{NO-BREAK SPACE}", number)


def why_not(words: Words, studio: StudioState) -> str:
    """Say which number of a studio is none; empty where both can be called."""
    told = zip(NONE_TO_DIAL, (studio.emergency, studio.poison), strict=True)
    return next(
        (
            words.gettext(text, studio=studio.name, said=said)
            for text, said in told
            if not is_to_dial(said)
        ),
        "",
    )


def _metals(jar: JarState) -> bool:
    return any(one.metal_pigments == "yes" for one in jar.parts)


def _contents(words: Words, seen: JarSeen) -> tuple[str, ...]:
    """Name what goes in, then what is known to be in it."""
    inside = [texts.choice(words, "substance", one) for one in seen.facts.contents or ()]
    if _metals(seen.state):
        inside.append(words.gettext("metal colours"))
    return (wastes_text(words, seen.state.wastes), *inside[:CONTENTS_SHOWN])


def _pictogram(words: Words, code: str) -> Pictogram:
    name, seen = PICTOGRAMS[code]
    return Pictogram(file=f"ghs-{code}.svg", name=words.gettext(name), seen=words.gettext(seen))
