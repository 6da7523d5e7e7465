"""The batch as a whole, and the contents of one serve."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated

from service.batching.measures import Line
from service.declared import ACIDITY, MASS, SALT, SUGAR, TEMPERATURE, THREE_WAYS, VOLUME, Declared, shape, text
from service.drink import Drink
from service.errors import outside_in_words
from service.notes import Notes
from service.science import mixture
from service.science.acids import as_g_per_l
from service.science.band import Band
from service.science.mixture.density import ETHANOL_20C_G_PER_ML
from service.science.tables import rows
from service.science.validity import OutsideValidity

_DEFINITIONS = tuple(
    (
        row["country"],
        row["name"],
        float(row["ml_ethanol"]) * ETHANOL_20C_G_PER_ML
        if row["defined_by"] == "volume"
        else float(row["grams_ethanol"]),
        row["basis"],
    )
    for row in rows("standard_drinks")
)
"""Country, name, grams of ethanol and basis."""
KCAL_PER_G = {"alcohol": 7.0, "carbohydrate": 4.0, "organic acid": 3.0}
KJ_PER_G = {"alcohol": 29.0, "carbohydrate": 17.0, "organic acid": 13.0}
"""Conversion factors of energy; Regulation (EU) No 1169/2011, Annex XIV. Each unit has its own, rounded, factors."""


@shape("BatchTotals")
@dataclass(frozen=True)
class Totals:
    """The whole batch at 20 °C. sugar_to_acid: grams of sugar to one of titratable acid as citric.

    brix is sugar in 100 g; the temperatures are None where the science ends, sugar_to_acid without acid
    """

    volume_ml: Annotated[float, VOLUME]
    sum_of_volumes_ml: Annotated[float, VOLUME]
    mass_g: Annotated[float, MASS]
    density_g_per_ml: Declared[float]
    abv: Declared[float]
    sugar_g_per_l: Annotated[float, SUGAR]
    brix: Declared[float]
    titratable_acidity_meq_per_l: Annotated[float, ACIDITY, THREE_WAYS]
    salt_g_per_l: Annotated[float, SALT]
    sugar_to_acid: Declared[float | None]
    freezing_point_c: Annotated[Band | None, TEMPERATURE]
    lowest_safe_c: Annotated[float | None, TEMPERATURE]


@dataclass(frozen=True)
class StandardDrink:
    """The number of a country's standard drinks in one serve. basis: unverified where none was read in print."""

    country: Annotated[str, text(100)]
    name: Annotated[str, text(100)]
    count: Declared[float]
    basis: Annotated[str, text(40)]


@dataclass(frozen=True)
class PerServe:
    """One serve."""

    volume_ml: Annotated[float, VOLUME]
    alcohol_g: Annotated[float, MASS]
    standard_drinks: Declared[tuple[StandardDrink, ...]]
    energy_kcal: Declared[float]
    energy_kj: Declared[float]


def totals_of(lines: Sequence[Line], drink: Drink, notes: Notes) -> Totals:
    """Return the batch as a whole."""
    freezing, lowest = _freezing(drink, notes)
    return Totals(
        volume_ml=drink.volume_ml,
        sum_of_volumes_ml=sum(line.volume_ml for line in lines),
        mass_g=drink.masses.total_g,
        density_g_per_ml=drink.masses.total_g / drink.volume_ml,
        abv=drink.abv,
        sugar_g_per_l=drink.sugar_g_per_l,
        brix=mixture.brix(drink.masses),
        titratable_acidity_meq_per_l=drink.acid_meq_per_l,
        salt_g_per_l=1000.0 * drink.masses.salt_g / drink.volume_ml,
        sugar_to_acid=drink.sugar_g_per_l / as_g_per_l(drink.acid_meq_per_l, "citric") if drink.acid_meq else None,
        freezing_point_c=freezing,
        lowest_safe_c=lowest,
    )


def _freezing(drink: Drink, notes: Notes) -> tuple[Band, float] | tuple[None, None]:
    """Return freezing point and lowest safe temperature; None where unknown, which keeps no batch from being made."""
    try:
        return drink.freezing_point, drink.lowest_safe_c
    except OutsideValidity as outside:
        notes.caution("freezing-point-unknown", "info", "The freezing point is not known. {reason}", at="/spec",
                      reason=outside_in_words(outside))  # fmt: skip
        return None, None


def per_serve_of(serve: Drink, notes: Notes) -> PerServe:
    """Return the contents of one serve, by what was put into it.

    E = 7 m_ethanol + 4 m_sugar + 3 m_acid [kcal], 29, 17 and 13 [kJ], the acid that is organic
    """
    masses = serve.masses
    factors = "7 kcal (29 kJ)/g alcohol, 4 (17)/g sugar, 3 (13)/g organic acid, and no other nutrient"
    notes.assume("energy", factors, "published", "Regulation (EU) No 1169/2011, Annex XIV", at="/spec/components")
    grams = {
        "alcohol": masses.ethanol_g,
        "carbohydrate": masses.sugar_g,
        "organic acid": masses.acid_g - serve.mineral_acid_g,
    }
    return PerServe(
        volume_ml=serve.volume_ml,
        alcohol_g=masses.ethanol_g,
        energy_kcal=sum(KCAL_PER_G[nutrient] * g for nutrient, g in grams.items()),
        energy_kj=sum(KJ_PER_G[nutrient] * g for nutrient, g in grams.items()),
        standard_drinks=standard_drinks(masses.ethanol_g) if masses.ethanol_g else (),
    )


def standard_drinks(ethanol_g: float) -> tuple[StandardDrink, ...]:
    """Return an amount of ethanol in every country's standard drinks, by mass or volume as the country defines it.

    source: standard_drinks.csv
    """
    return tuple(StandardDrink(country, name, ethanol_g / g, basis) for country, name, g, basis in _DEFINITIONS)
