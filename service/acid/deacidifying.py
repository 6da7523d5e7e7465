"""Potassium bicarbonate: what it takes away, what it leaves, and what to beware of."""

from dataclasses import dataclass
from typing import Annotated

from service.acid.additions import Addition, Ingredient
from service.acid.liquid import Liquid
from service.declared import number
from service.notes import Notes
from service.science import acids
from service.science.mixture import Masses
from service.science.salts import SALTS
from service.science.units import Quantity, from_base

SALT = SALTS["potassium-bicarbonate"]


@dataclass(frozen=True)
class Bicarbonate:
    """Potassium bicarbonate as sold."""

    purity_percent: Annotated[
        float | None,
        number(low=50.0, high=100.0),
        "Assay of the product; 100 unless stated. The rest counts as water.",
    ] = None


@dataclass(frozen=True)
class Neutralised:
    """Acid neutralised by pure bicarbonate. salt_g: of the bicarbonate"""

    salt_g: float

    @property
    def co2_g(self) -> float:
        return self.salt_g * SALT.co2_g_per_g

    @property
    def potassium_g(self) -> float:
        return self.salt_g * SALT.potassium_g_per_g

    @property
    def meq(self) -> float:
        return self.salt_g * SALT.meq_per_g


def addition_of_bicarbonate(given: Bicarbonate, notes: Notes, *, at: str) -> Addition:
    """Return bicarbonate to be added: KHCO3 + H+ = K+ + H2O + CO2, the gas gone.

    The water formed adds its volume; potassium in place of the acid's hydrogen ion adds none.

    at: JSON Pointer of the bicarbonate
    """
    if given.purity_percent is None:
        notes.assume("purity of the potassium bicarbonate, %", 100.0, "default", at=f"{at}/purity_percent")
    notes.assume("volume of potassium in place of hydrogen, ml", 0.0, "estimate",
                 "the ion swells about as much as the acid shrinks when it dissociates")  # fmt: skip
    pure = (given.purity_percent or 100.0) / 100.0
    water_g = pure * SALT.water_g_per_g + (1.0 - pure)  # what is not bicarbonate counts as water
    stays_g = 1.0 - pure * SALT.co2_g_per_g - water_g
    gram = Liquid(Masses(water_g=water_g), -pure * SALT.meq_per_g, stays_g)
    return Addition((Ingredient("potassium bicarbonate", gram),))


def caution_bicarbonate(done: Neutralised, finished: Liquid, notes: Notes, *, at: str) -> None:
    """Warn of the gas, the crystals and the pH that bicarbonate brings, before it is stirred in.

    at: JSON Pointer of the bicarbonate
    """
    notes.caution("co2-released", "danger",
                  "Use an open vessel twice as large, in moving air: it foams, and sets {mass} of CO2 free, {litres} "
                  "l of gas. Add it in portions and stir until it is quiet. Never do it in a closed vessel or one "
                  "that is closed soon after, and never in a charged drink.",
                  at=at, mass=Quantity("mass", done.co2_g), litres=from_base("co2", done.co2_g, "volumes"))  # fmt: skip
    least_meq_per_l = finished.titratable_acidity_meq_per_l - 1000.0 * done.meq / finished.volume_ml
    notes.caution("bitartrate-may-fall", "warning",
                  "Where the liquid holds tartaric acid (grapes, wine, verjus) the {potassium} of potassium may fall "
                  "as potassium hydrogen tartrate, in the cold over weeks, and take as much acid again: to {least} at "
                  "worst. Chill, rack and titrate before it is carbonated: crystals make a charged drink gush.",
                  at=at, potassium=Quantity("mass", done.potassium_g),
                  least=Quantity("acidity", max(least_meq_per_l, 0.0)))  # fmt: skip
    notes.caution("ph-rises", "warning",
                  "Measure the pH: it rises more than dilution would raise it. Above pH 4.2 a drink keeps less well, "
                  "above 4.6 it is a low-acid drink. Whether {e_number} may be used here is for local code.",
                  at=at, e_number=SALT.e_number)  # fmt: skip
    notes.assume("potassium bicarbonate for 1 g/l of tartaric acid, g/l", acids.meq_per_g("tartaric") / SALT.meq_per_g,
                 "published", "stoichiometry; half of it where all the potassium falls as bitartrate, about 0.9 for "
                 "wine (common practice, no source)", code="bicarbonate-for-tartaric")  # fmt: skip
