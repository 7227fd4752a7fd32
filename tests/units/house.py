"""A house and its powder, for the tests of measures."""

from fractions import Fraction

from coop.units.kinds import Kinds
from coop.units.strength import Bulk

US = Kinds(gallon="us", cup="us", spoon="us")
IMPERIAL = Kinds(gallon="imp", cup="imp", spoon="imp")
METRIC = Kinds(gallon="imp", cup="metric", spoon="metric")

# Common practice, no source: instruction pages give 11.1 to 20 g of alum for a tablespoon.
ALUM = Bulk.of_us_tablespoon(Fraction(11), Fraction("14.8"), Fraction(20))

# Pulverised alum 753 kg/m3 in handbook lists of bulk densities; 1 lb is 24 tbsp at a binding
# supplier's (common practice, no source); 1.00 between them.
PAGES = Bulk(
    Fraction("0.753"), Fraction(1), Bulk.of_us_tablespoon(*[Fraction("18.9")] * 3).low_g_per_ml
)
