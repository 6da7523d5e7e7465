"""A liquid as what adds up, volume growth included; and the one that is adjusted, from its analysis."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Annotated, Any

from service.acid.titration import AcidTitration, titrated_meq_per_l
from service.declared import ACIDITY, SUGAR, THREE_WAYS, VOLUME, Declared, number, shape, volume
from service.drink import Sugar
from service.drink.litre import impossible, sugar_g_per_l
from service.errors import Fact, Fault, Refused, within_validity
from service.limits.acids import STRONGEST_PERCENT_WW
from service.notes import Notes
from service.science import acids, mixture
from service.science.mixture import Masses


@dataclass(frozen=True)
class Liquid:
    """A liquid, or what is added to one; every part adds up.

    masses: ethanol, water, sugar, and the acid that is known by its titration alone
    meq: titratable acid, below zero for what neutralises it
    solutes_g, solutes_ml: acids known by name, and salts: mass and apparent volume in water at 20 degC
    """

    masses: Masses
    meq: float = 0.0
    solutes_g: float = 0.0
    solutes_ml: float = 0.0

    def __add__(self, other: "Liquid") -> "Liquid":
        return Liquid(
            self.masses + other.masses,
            self.meq + other.meq,
            self.solutes_g + other.solutes_g,
            self.solutes_ml + other.solutes_ml,
        )

    def scaled(self, k: float) -> "Liquid":
        """Return k times the liquid."""
        return Liquid(self.masses.scaled(k), self.meq * k, self.solutes_g * k, self.solutes_ml * k)

    @property
    def mass_g(self) -> float:
        return self.masses.total_g + self.solutes_g

    @property
    def volume_ml(self) -> Annotated[float, VOLUME]:
        """Volume at 20 degC by Young's rule: see `mixture.volume_ml`; apparent volumes hold to 20 % w/w of acid."""
        return mixture.volume_ml(self.masses) + self.solutes_ml

    @property
    def titratable_acidity_meq_per_l(self) -> Annotated[float, ACIDITY, THREE_WAYS]:
        return 1000.0 * self.meq / self.volume_ml

    @property
    def abv(self) -> Declared[float]:
        return mixture.abv(self.masses) * mixture.volume_ml(self.masses) / self.volume_ml

    @property
    def sugar_g_per_l(self) -> Annotated[float, SUGAR]:
        return 1000.0 * self.masses.sugar_g / self.volume_ml

    @property
    def acid_percent_ww(self) -> float:
        return 100.0 * (self.solutes_g + self.masses.acid_g) / self.mass_g


def one_acidity(sent: Mapping[str, Any]) -> Iterator[Fault]:
    """Find an acidity that is given in no way or in two."""
    if len({"acidity", "titration"} & sent.keys()) != 1:
        yield Fault("", "exactly-one", "Give exactly one of: acidity, titration.")


@shape(rules=[one_acidity])
@dataclass(frozen=True)
class AdjustedLiquid:
    """The juice, wine or batch before: exactly one of acidity and titration."""

    volume_ml: Annotated[float, volume(low=1.0)]
    acidity_meq_per_l: Annotated[float | None, ACIDITY] = None
    titration: Declared[AcidTitration | None] = None
    abv: Annotated[float | None, number(low=0.0, high=96.0), "Alcoholic strength at 20 °C, %vol; 0 unless stated."] = (
        None
    )
    sugar: Annotated[Sugar | None, SUGAR, "None unless stated."] = None


def liquid_of(given: AdjustedLiquid, notes: Notes) -> Liquid:
    """Return the liquid as what adds up; its own acid is reckoned as citric for its mass and volume.

    raises: Refused ("impossible-composition", "impossible-reading", "outside-validity")
    """
    if given.abv is None:
        notes.assume("alcohol of the liquid, %vol", 0.0, "default", at="/liquid/abv")
    if given.sugar is None:
        notes.assume("sugar of the liquid, g/l", 0.0, "default", at="/liquid/sugar")
    meq_per_l = given.acidity_meq_per_l or 0.0
    if given.titration is not None:
        meq_per_l = titrated_meq_per_l(given.titration, notes, at="/liquid/titration")
    abv = given.abv or 0.0
    with within_validity("/liquid", impossible):
        masses = mixture.masses_of(
            given.volume_ml,
            abv=abv,
            sugar_g_per_l=sugar_g_per_l(given.sugar, abv) if given.sugar else 0.0,
            acid_g_per_l=acids.as_g_per_l(meq_per_l, "citric"),
        )
    exactly = masses.scaled(given.volume_ml / mixture.volume_ml(masses))
    percent = 100.0 * exactly.acid_g / exactly.total_g
    if not percent <= STRONGEST_PERCENT_WW:
        text = "Nothing tells the volume of {percent} % w/w of acid, reckoned as citric: take {most} % at most."
        fault = Fault("/liquid", "too-strong", text, (("percent", percent), ("most", STRONGEST_PERCENT_WW)))
        raise Refused("outside-validity", [fault], facts=[Fact("most_percent_ww", STRONGEST_PERCENT_WW)])
    return Liquid(exactly, meq_per_l * given.volume_ml / 1000.0)
