"""The liquid that is adjusted: a juice, wine or batch by its analysis."""

from dataclasses import dataclass

from service.acid.content import Content
from service.acid.titration import TitrationGiven, titrated_meq_per_l
from service.drink import Sugar
from service.drink.litre import sugar_g_per_l
from service.errors import Fact, Fault, OutsideValidity, Refused
from service.notes import Notes
from service.science import acids, mixture

STRONGEST_PERCENT_WW = 30.0
"""Up to here the volume of a liquid's own acid is known [% w/w], see `mixture.composition.ACID_ML_PER_G`."""


@dataclass(frozen=True)
class LiquidGiven:
    """A liquid by its analysis, with exactly one of acidity and titration; None where the request is silent."""

    volume_ml: float
    acidity_meq_per_l: float | None = None
    titration: TitrationGiven | None = None
    abv: float | None = None
    sugar: Sugar | None = None


def liquid_of(given: LiquidGiven, notes: Notes) -> Content:
    """The liquid as what adds up; its own acid is reckoned as citric for its mass and volume.

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
    try:
        masses = mixture.masses_of(
            given.volume_ml,
            abv=abv,
            sugar_g_per_l=sugar_g_per_l(given.sugar, abv) if given.sugar else 0.0,
            acid_g_per_l=acids.as_g_per_l(meq_per_l, "citric"),
        )
    except OutsideValidity as outside:
        raise Refused("impossible-composition", [Fault("/liquid", "impossible-composition", str(outside))]) from None
    exactly = masses.scaled(given.volume_ml / mixture.volume_ml(masses))
    percent = 100.0 * exactly.acid_g / exactly.total_g
    if not percent <= STRONGEST_PERCENT_WW:
        text = "{percent} % w/w of acid, reckoned as citric, is past what volumes are known for here, {most} %."
        fault = Fault("/liquid", "too-strong", text, (("percent", percent), ("most", STRONGEST_PERCENT_WW)))
        raise Refused("outside-validity", [fault], facts=[Fact("most_percent_ww", STRONGEST_PERCENT_WW)])
    return Content(exactly, meq_per_l * given.volume_ml / 1000.0)
