"""What the batch is and what one serve holds."""

from collections.abc import Sequence
from dataclasses import dataclass

from service.batching.measures import Line
from service.drink import Drink
from service.errors import OutsideValidity
from service.notes import Notes
from service.science import mixture
from service.science.band import Band
from service.science.mixture.density import ETHANOL_20C_G_PER_ML
from service.science.tables import rows

_DEFINITIONS = rows("standard_drinks")
KCAL_PER_G_ALCOHOL = 7.0
KCAL_PER_G_CARBOHYDRATE = 4.0
KCAL_PER_G_ORGANIC_ACID = 3.0
"""Conversion factors of energy; Regulation (EU) No 1169/2011, Annex XIV."""


@dataclass(frozen=True)
class Totals:
    """The whole batch. brix is sugar in 100 g; the temperatures are None where the science ends."""

    sum_of_volumes_ml: float
    mass_g: float
    density_g_per_ml: float
    brix: float
    freezing_point_c: Band | None
    lowest_safe_c: float | None


@dataclass(frozen=True)
class StandardDrink:
    """How many of a country's standard drinks."""

    country: str
    name: str
    count: float
    basis: str


@dataclass(frozen=True)
class PerServe:
    """One serve."""

    volume_ml: float
    alcohol_g: float
    energy_kcal: float
    standard_drinks: tuple[StandardDrink, ...]


def totals_of(lines: Sequence[Line], drink: Drink, notes: Notes) -> Totals:
    """What the batch adds up to."""
    freezing, lowest = _freezing(drink, notes)
    return Totals(
        sum_of_volumes_ml=sum(line.volume_ml for line in lines),
        mass_g=drink.masses.total_g,
        density_g_per_ml=mixture.density_g_per_ml(drink.masses),
        brix=mixture.brix(drink.masses),
        freezing_point_c=freezing,
        lowest_safe_c=lowest,
    )


def _freezing(drink: Drink, notes: Notes) -> tuple[Band, float] | tuple[None, None]:
    """The batch can be made whether or not its freezing point is known."""
    try:
        return drink.freezing_point, drink.lowest_safe_c
    except OutsideValidity as outside:
        notes.caution("freezing-point-unknown", "info", "The freezing point is not known: {reason}.", at="/spec",
                      reason=str(outside))  # fmt: skip
        return None, None


def per_serve_of(serve: Drink, notes: Notes) -> PerServe:
    """What one serve holds, by what was put into it.

    E = 7 m_ethanol + 4 m_sugar + 3 m_acid, the acid that is organic
    """
    masses = serve.masses
    factors = "7 kcal/g alcohol, 4 kcal/g sugar, 3 kcal/g organic acid, and no other nutrient"
    notes.assume("energy", factors, "published", "Regulation (EU) No 1169/2011, Annex XIV", at="/spec/components")
    return PerServe(
        volume_ml=serve.volume_ml,
        alcohol_g=masses.ethanol_g,
        energy_kcal=KCAL_PER_G_ALCOHOL * masses.ethanol_g
        + KCAL_PER_G_CARBOHYDRATE * masses.sugar_g
        + KCAL_PER_G_ORGANIC_ACID * (masses.acid_g - serve.mineral_acid_g),
        standard_drinks=standard_drinks(masses.ethanol_g) if masses.ethanol_g else (),
    )


def standard_drinks(ethanol_g: float) -> tuple[StandardDrink, ...]:
    """An amount of ethanol in every country's standard drinks, by mass or volume as the country defines it.

    source: standard_drinks.csv
    """
    ethanol_ml = ethanol_g / ETHANOL_20C_G_PER_ML
    return tuple(
        StandardDrink(
            row["country"],
            row["name"],
            ethanol_ml / float(row["ml_ethanol"])
            if row["defined_by"] == "volume"
            else ethanol_g / float(row["grams_ethanol"]),
            row["basis"],
        )
        for row in _DEFINITIONS
    )
