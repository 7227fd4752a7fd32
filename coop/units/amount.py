"""One amount as people write it: `½ cup`, `0,5 kg`, `1 lb 4 oz`, `2 heaped tbsp`, `20 C`."""

from coop.units.kinds import ASK, FLUID_OUNCE, OUNCE, Kinds, Name
from coop.units.names import ENGLISH, Language
from coop.units.quantity import Quantity
from coop.units.said import Said, take_said
from coop.units.stream import Stream
from coop.units.table import MASS, TEMPERATURE, VOLUME

_NO_KINDS = Kinds(gallon="us", cup="us", spoon="us")


def read_amount(
    typed: str, kinds: Kinds | None, want: str | None = None, *, words: Language = ENGLISH
) -> Quantity:
    """
    Read a single amount.

    Args:
        typed: At most 80 characters.
        kinds: What bare gallons, cups, spoons and ounces mean here; None: nobody said.
        want: The dimension that the amount must have; it also settles a bare ounce.
        words: The tongue it is written in.

    Raises:
        NotUnderstood: With "which-kind" where a bare name needs a kind that nobody said.

    >>> house = Kinds(gallon="us", cup="us", spoon="us")
    >>> read_amount("1 lb 4 oz", house)
    Quantity(typed='1 lb 4 oz', n=Fraction(20, 1), unit='oz', heap='')
    """
    stream = Stream(typed, words=words, single=True, degrees=want == TEMPERATURE)
    said = take_said(stream)
    if not stream.ended():
        raise stream.unknown()
    if said.upto is not None:
        raise stream.fault("two-numbers", start=said.start, end=said.end)
    if len(said.parts) == 1 and said.parts[0].name.family == OUNCE:
        said = _settled(said, want)
    _refuse_open(stream, said, kinds)
    quantity = said.quantity(kinds or _NO_KINDS)
    if want is not None and quantity.dimension != want:
        raise stream.fault("wrong-dimension", want, start=said.start, end=said.end)
    return quantity


def _settled(said: Said, want: str | None) -> Said:
    """Return an ounce as what is wanted: one of weight or one of volume."""
    part = said.parts[0]
    family = {MASS: "oz", VOLUME: "fl_oz"}.get(want or "", OUNCE)
    name = Name(family, part.name.system if family != "oz" else "")
    return Said((type(part)(part.n, name, part.heap),), said.typed, said.start, said.end)


def _refuse_open(stream: Stream, said: Said, kinds: Kinds | None) -> None:
    for name in said.names:
        if not name.questions:
            continue
        if kinds is None or (name.family == OUNCE and kinds.ounce == ASK):
            options = name.options if kinds is None else ("oz", _fluid(name).unit(kinds))
            raise stream.fault("which-kind", *options, start=said.start, end=said.end)


def _fluid(name: Name) -> Name:
    return Name(FLUID_OUNCE, name.system)
