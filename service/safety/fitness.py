"""Drinks that are charged at all, the temperatures they are charged at, and the cautions that go with it."""

from functools import partial

from service.drink import Drink, caution_bubbles
from service.errors import Fact, Fault, Names, Nearest, Refusals, Refused, Term, outside_validity, within_validity
from service.limits.charging import (
    BOTTLE_MOST_C,
    CHARGED_AT_C,
    ICE_C,
    LEAST_COLD_DIAL_BAR,
    MOST_ABV,
    STRONG_ABV,
    WARM_CHARGE_C,
)
from service.limits.safety import LOW_ACID_MEQ_PER_L
from service.notes import Notes
from service.science.gas import COLDEST_C, WARMEST_C
from service.science.rounding import rounded_up
from service.science.units import Quantity
from service.science.validity import OutsideValidity
from service.vessel import Vessel


def lowest_charging_c(drink: Drink) -> float:
    """Return the coldest this drink may be charged: no ice in it, and within the solubility model [degC].

    No margin for how far a cold place swings: that belongs to what chills, see `service.chilling`.
    raises: OutsideValidity where its freezing point is not known
    """
    return max(drink.freezing_point.high, COLDEST_C)


def cold_c(drink: Drink) -> float:
    """Return the temperature to charge at unless another is stated: 1 degC, or as near to it as the drink stands."""
    return max(CHARGED_AT_C, rounded_up(lowest_charging_c(drink), 0.1))


def check_known(drink: Drink, *, at: str = "/drink") -> None:
    """Refuse a drink outside the solubility and freezing data.

    raises: Refused ("outside-validity")
    """
    with within_validity(at, partial(_unknown, drink)):
        _ = drink.absorbs_co2(CHARGED_AT_C).henry, drink.freezing_point


def _unknown(drink: Drink, outside: OutsideValidity, at: str) -> Refused:
    """Return the refusal; the strength where the data end is offered in place of a stated one that is over it."""
    stated_over = drink.analysis_at is not None and drink.abv > MOST_ABV
    nearest = [Nearest(f"{at}{drink.analysis_at}/abv", MOST_ABV)] if stated_over else []
    return outside_validity(outside, at, nearest)


def chargeable_c(drink: Drink, vessel: Vessel, temperature_c: float) -> float:
    """Return the temperature itself where the drink may be charged at it, or the one that is offered instead [degC]."""
    lowest = lowest_charging_c(drink)
    if not temperature_c >= lowest:
        return rounded_up(lowest, 0.1)
    return cool_enough_c(drink, vessel, temperature_c)


def cool_enough_c(drink: Drink, vessel: Vessel, temperature_c: float) -> float:
    """Return the temperature itself, or what a drink that is too warm to charge is chilled to [degC]."""
    return temperature_c if temperature_c <= warmest_charging_c(vessel) else cold_c(drink)


def warmest_charging_c(vessel: Vessel) -> float:
    """Return the warmest this vessel may be charged [degC]; the end of the solubility data where it is not judged."""
    return WARMEST_C if vessel.is_keg or not vessel.is_judged else BOTTLE_MOST_C


def check_temperature(drink: Drink, vessel: Vessel, temperature_c: float, *, at: str = "/temperature") -> None:
    """Refuse to charge a drink that is too warm, or so cold that it freezes.

    raises: Refused ("would-freeze", "too-warm")
    """
    works = Quantity("temperature", chargeable_c(drink, vessel, temperature_c), "up")
    if works.value == temperature_c:
        return
    here, most = Quantity("temperature", temperature_c), Quantity("temperature", warmest_charging_c(vessel), "down")
    lowest = Quantity("temperature", lowest_charging_c(drink), "up")
    params = (("here", here), ("lowest", lowest), ("most", most), ("works", works))
    if not temperature_c >= lowest.value:
        text = "Charge it warmer: at {here} it freezes, or is colder than the data reach. The coldest is {lowest}."
        fault = Fault(at, "would-freeze", text, params)
    else:
        text = "Chill it first: {here} is too warm to charge, {most} is the warmest, {works} is best."
        fault = Fault(at, "too-warm", text, params)
    facts = [Fact("lowest", lowest), Fact("warmest", most),
             Fact("freezing_point", Quantity("temperature", drink.freezing_point.typical))]  # fmt: skip
    raise Refused(fault.code, [fault], facts=facts, nearest=[Nearest(at, works)])


def computable_c(drink: Drink, temperature_c: float) -> float:
    """Return the temperature itself where the equations hold for the drink, or the nearest at which they do [degC]."""
    return min(max(temperature_c, rounded_up(lowest_charging_c(drink), 0.1)), WARMEST_C)


def check_computable(drink: Drink, temperature_c: float, *, at: str) -> None:
    """Refuse a temperature at which there is ice in the drink, or that the solubility data do not reach.

    raises: Refused ("would-freeze", "too-warm")
    """
    lowest, most = Quantity("temperature", lowest_charging_c(drink), "up"), Quantity("temperature", WARMEST_C, "down")
    if lowest.value <= temperature_c <= most.value:
        return
    slug = "too-warm" if temperature_c > WARMEST_C else "would-freeze"
    text = "Take a temperature from {lowest}, where there is no ice in it, to {most}, where the data end."
    works = Quantity("temperature", computable_c(drink, temperature_c), "down" if slug == "too-warm" else "up")
    fault = Fault(at, slug, text, (("lowest", lowest), ("most", most)))
    facts = [Fact("lowest", lowest), Fact("warmest", most)]
    raise Refused(slug, [fault], facts=facts, nearest=[Nearest(at, works)])


def check_reached(drink: Drink, temperature_c: float) -> None:
    """Check that the equations reach an observed temperature, with no ice in the drink.

    raises: OutsideValidity
    """
    lowest = lowest_charging_c(drink)
    if not lowest <= temperature_c <= WARMEST_C:
        raise OutsideValidity("temperature", temperature_c, lowest, WARMEST_C, "degC")


def check_readable(drink: Drink, temperature_c: float, *, at: str = "/temperature") -> None:
    """Refuse a reading beyond the solubility data of a drink that holds no ice, as `check_thawed` tells.

    Nothing is offered in its place: what was read is not rewritten.
    raises: Refused ("too-warm")
    """
    if temperature_c <= WARMEST_C:
        return
    lowest, most = Quantity("temperature", lowest_charging_c(drink), "up"), Quantity("temperature", WARMEST_C, "down")
    text = (
        "Treat it as over its limit: over {most} nothing here tells its level. Do not touch, carry or shake it: "
        "cool it where it stands, upright and behind a barrier, and vent it only once it is cold, slowly, away "
        "from faces. A cap is no relief valve."
    )
    fault = Fault(at, "too-warm-to-read", text, (("most", most),))
    raise Refused("too-warm", [fault], facts=[Fact("lowest", lowest), Fact("warmest", most)])


def check_cold_dial(
    drink: Drink, temperature_c: float, dial_bar_gauge: float, *, at: str = "/temperature", warmer_c: float = ICE_C
) -> None:
    """Refuse so low a dial in so cold a drink: a regulator does not hold it, and melting ice warms the bottle.

    raises: Refused ("unreachable")
    """
    if temperature_c >= ICE_C or dial_bar_gauge >= LEAST_COLD_DIAL_BAR:
        return
    here, least = Quantity("temperature", temperature_c), Quantity("pressure", LEAST_COLD_DIAL_BAR, "up")
    dial = Quantity("pressure", dial_bar_gauge, "down")
    text = "Charge it warmer: at {here} the dial would be {dial}, and so cold less than {least} cannot be held."
    fault = Fault(at, "low-dial-in-the-cold", text, (("here", here), ("dial", dial), ("least", least)))
    nearest = [Nearest(at, Quantity("temperature", max(warmer_c, lowest_charging_c(drink)), "up"))]
    raise Refused("unreachable", [fault], facts=[Fact("dial", dial), Fact("least", least)], nearest=nearest)


def check_fit_to_charge(
    drink: Drink,
    vessel: Vessel,
    temperature_c: float,
    notes: Notes,
    *,
    at_drink: str = "/drink",
    at: str = "/temperature",
) -> None:
    """Refuse to charge a drink that is alive, too warm or too cold; warn of all that goes with charging it.

    raises: Refused, SeveralRefused ("live-culture", "would-freeze", "too-warm")
    """
    check_charging(drink, vessel, temperature_c, notes, at_drink=at_drink, at=at)
    caution_charging(drink, notes, at=at_drink)


def check_charging(
    drink: Drink,
    vessel: Vessel,
    temperature_c: float,
    notes: Notes,
    *,
    at_drink: str = "/drink",
    at: str = "/temperature",
) -> None:
    """Refuse to charge a drink that is alive, too warm or too cold; warn of one that is warm.

    raises: Refused, SeveralRefused ("live-culture", "would-freeze", "too-warm")
    """
    refusals = Refusals()
    with refusals.gather():
        check_dead(drink, at=at_drink)
    with refusals.gather():
        check_temperature(drink, vessel, temperature_c, at=at)
    refusals.raise_any()
    caution_warm_charging(temperature_c, notes, at=at)


def caution_warm_charging(temperature_c: float, notes: Notes, *, at: str = "/temperature") -> None:
    """Warn of a drink that is charged warm."""
    if temperature_c > WARM_CHARGE_C:
        text = "Chill it first, then set the dial for the cold drink: over {warm} it takes up less gas and foams more."
        notes.caution("warm-charging", "warning", text, at=at, warm=Quantity("temperature", WARM_CHARGE_C))


def caution_warm_holding(temperature_c: float, notes: Notes, *, at: str | tuple[str, ...]) -> None:
    """Warn of a charged vessel that is held warm."""
    if temperature_c > WARM_CHARGE_C:
        text = "Keep it colder: over {warm} it foams when it is opened, pours flatter and spoils sooner."
        notes.caution("held-warm", "warning", text, at=at, warm=Quantity("temperature", WARM_CHARGE_C))


def caution_charging(drink: Drink, notes: Notes, *, at: str = "/drink") -> None:
    """Warn of the risks of charging this drink, whatever the temperature."""
    caution_bubbles(drink, notes, at=at)
    if drink.abv > STRONG_ABV:
        text = "Over {most} %vol little is known of how much CO2 dissolves: the band is wide."
        notes.caution("strong-drink", "warning", text, at=at, most=STRONG_ABV)
    _caution_keeping(drink, notes, at)


def _caution_keeping(drink: Drink, notes: Notes, at: str) -> None:
    """Warn of allergens that go from one drink to the next, and of germs that grow in one that is sealed."""
    if drink.allergens:
        text = "Clean heads, lines and seals after this drink: they carry {allergens} into the next."
        notes.caution("shared-heads", "warning", text, at=at, allergens=Names(map(Term, drink.allergens)))
    if is_low_acid(drink):
        text = (
            "Measure the pH of this drink: it has hardly any acid, and too little alcohol to keep germs from growing. "
            "Sealed without air, a drink over pH 4.6 can become poisonous. Keep it at {cold} or colder and discard it "
            "after a day."
        )
        notes.caution("low-acid", "danger", text, at=at, cold=Quantity("temperature", WARM_CHARGE_C))


def is_low_acid(drink: Drink) -> bool:
    """Tell whether germs could grow in the sealed drink: hardly any acid, little alcohol, and not plain water."""
    kept = drink.alcohol_stops_botulinum or drink.acid_meq_per_l >= LOW_ACID_MEQ_PER_L
    return not (kept or drink.plain_water)


def check_dead(drink: Drink, *, at: str = "/drink") -> None:
    """Refuse a live drink in a closed vessel, charged already or not.

    raises: Refused ("live-culture")
    """
    if drink.live_culture:
        text = (
            "Never seal in a live culture: it goes on fermenting, and no upper pressure can be computed. If it is "
            "sealed already, treat it as over its limit. Do not touch, carry or shake it: cool it where it stands, "
            "upright and behind a barrier, and vent it only once it is cold, slowly, away from faces. A cap is no "
            "relief valve."
        )
        at_each = [at + where for where in drink.live_culture_at or ("",)]
        raise Refused("live-culture", [Fault(where, "live-culture", text) for where in at_each])
