"""What is charged at all, how cold, and the cautions that go with it."""

from service.drink import Drink, caution_bubbles
from service.errors import Fact, Fault, Nearest, OutsideValidity, Refusals, Refused
from service.notes import Notes, Severity
from service.science.gas import COLDEST_C, WARMEST_C
from service.science.rounding import rounded_up
from service.science.units import Quantity
from service.vessel import Vessel

COLD_C = 1.0
"""Drink when charged [degC]; common practice, no source (0 to 3)."""
WARM_C = 5.0
"""Warmer than this the answer warns [degC]; common practice, no source."""
BOTTLE_MOST_C = 10.0
"""Warmer than this a bottle is not charged [degC]; common practice, no source."""
MOST_ABV = 40.0
"""Where `service.science.gas.ethanol_factor` ends [%vol]."""
STRONG_ABV = 30.0
"""Over this the solubility rests on little [%vol]; see `service.science.gas.ethanol_factor`."""


VEHICLE_C = 50.0
"""A closed car in the sun gets warmer than this [degC]; from memory."""
LOW_ACID_MEQ_PER_L = 10.0
"""With less acid a drink may be over pH 4.6, as citric acid alone keeps it well under; estimate."""
LOW_ALCOHOL_ABV = 6.0
"""From here on alcohol keeps Clostridium botulinum from growing [%vol]; from memory."""


def lowest_charging_c(drink: Drink) -> float:
    """Coldest this drink may be charged: no ice, and within the solubility model [degC].

    raises: OutsideValidity where its freezing point is not known
    """
    return max(drink.lowest_safe_c, COLDEST_C)


def cold_c(drink: Drink) -> float:
    """Temperature to charge at unless another is stated: 1 degC, or as near to it as the drink stands [degC]."""
    return max(COLD_C, rounded_up(lowest_charging_c(drink), 0.1))


def check_known(drink: Drink, *, at: str = "/drink") -> None:
    """Nothing is computed for a drink outside the solubility and freezing data.

    raises: Refused ("outside-validity")
    """
    try:
        _ = drink.absorbs_co2(COLD_C).henry, drink.lowest_safe_c
    except OutsideValidity as outside:
        facts = [Fact("value", outside.value), Fact("lowest", outside.low), Fact("highest", outside.high)]
        known = _known(drink, at)
        fault = Fault(at, "outside-validity", f"{outside}.")
        raise Refused("outside-validity", [fault], facts=facts, nearest=known) from None


def _known(drink: Drink, at: str) -> list[Nearest]:
    """The strength where the data end, in place of a stated one that is over it."""
    if drink.analysis_at is None or drink.abv <= MOST_ABV:
        return []
    return [Nearest(f"{at}{drink.analysis_at}/abv", MOST_ABV)]


def chargeable_c(drink: Drink, vessel: Vessel, temperature_c: float) -> float:
    """The temperature itself where the drink may be charged at it, or the one that is offered instead [degC]."""
    lowest = lowest_charging_c(drink)
    if not temperature_c >= lowest:
        return rounded_up(lowest, 0.1)
    return temperature_c if temperature_c <= warmest_charging_c(vessel) else cold_c(drink)


def warmest_charging_c(vessel: Vessel) -> float:
    """Warmest this vessel may be charged [degC]."""
    return WARMEST_C if vessel.is_keg else BOTTLE_MOST_C


def check_temperature(drink: Drink, vessel: Vessel, temperature_c: float, *, at: str = "/temperature") -> None:
    """Cold enough to charge and not so cold that it freezes.

    raises: Refused ("would-freeze", "too-warm")
    """
    works = Quantity("temperature", chargeable_c(drink, vessel, temperature_c), "up")
    if works.value == temperature_c:
        return
    here, most = Quantity("temperature", temperature_c), Quantity("temperature", warmest_charging_c(vessel), "down")
    lowest = Quantity("temperature", lowest_charging_c(drink), "up")
    params = (("here", here), ("lowest", lowest), ("most", most), ("works", works))
    if not temperature_c >= lowest.value:
        slug = "would-freeze"
        text = "At {here} it could freeze, or is colder than the solubility data reach; the coldest is {lowest}."
    else:
        slug = "too-warm"
        text = "At {here} it is too warm to charge; {most} is the warmest, {works} is best."
    facts = [Fact("lowest", lowest), Fact("warmest", most),
             Fact("freezing_point", Quantity("temperature", drink.freezing_point.typical))]  # fmt: skip
    raise Refused(slug, [Fault(at, slug, text, params)], facts=facts, nearest=[Nearest(at, works)])


def readable_c(drink: Drink, temperature_c: float) -> float:
    """The temperature itself where a closed vessel may be read at it, or the one that is offered instead [degC]."""
    return min(max(temperature_c, rounded_up(lowest_charging_c(drink), 0.1)), WARMEST_C)


def check_readable(drink: Drink, temperature_c: float, *, at: str = "/temperature") -> None:
    """Neither so cold that the drink may hold ice, nor beyond the solubility data.

    raises: Refused ("would-freeze", "too-warm")
    """
    lowest, works = lowest_charging_c(drink), readable_c(drink, temperature_c)
    if lowest <= temperature_c <= WARMEST_C:
        return
    slug = "too-warm" if temperature_c > WARMEST_C else "would-freeze"
    text = "A reading holds from {lowest}, without ice, to {most}, where the solubility data end."
    params = (("lowest", Quantity("temperature", lowest, "up")), ("most", Quantity("temperature", WARMEST_C, "down")))
    nearest = Nearest(at, Quantity("temperature", works, "down" if slug == "too-warm" else "up"))
    facts = [Fact("lowest", params[0][1]), Fact("warmest", params[1][1])]
    raise Refused(slug, [Fault(at, slug, text, params)], facts=facts, nearest=[nearest])


def check_fit_to_charge(
    drink: Drink,
    vessel: Vessel,
    temperature_c: float,
    notes: Notes,
    *,
    at_drink: str = "/drink",
    at: str = "/temperature",
) -> None:
    """Whether this drink is charged at all, with the cautions that go with it.

    raises: Refused, SeveralRefused ("live-culture", "would-freeze", "too-warm")
    """
    check_charging(drink, vessel, temperature_c, notes, at_drink=at_drink, at=at)
    caution_charging(drink, vessel, notes, at=at_drink)


def check_charging(
    drink: Drink,
    vessel: Vessel,
    temperature_c: float,
    notes: Notes,
    *,
    at_drink: str = "/drink",
    at: str = "/temperature",
) -> None:
    """Whether this drink is charged at that temperature.

    raises: Refused, SeveralRefused ("live-culture", "would-freeze", "too-warm")
    """
    refusals = Refusals()
    with refusals.gather():
        check_dead(drink, at=at_drink)
    with refusals.gather():
        check_temperature(drink, vessel, temperature_c, at=at)
    refusals.raise_any()
    warm = Quantity("temperature", WARM_C)
    if temperature_c > WARM_C:
        text = "Over {warm} a drink takes up less gas and foams more; chill it first."
        notes.caution("warm-charging", "warning", text, at=at, warm=warm)


def caution_charging(drink: Drink, vessel: Vessel, notes: Notes, *, at: str = "/drink") -> None:
    """What goes with charging this drink, whatever the temperature."""
    caution_bubbles(drink, notes, at=at)
    if drink.abv > STRONG_ABV:
        text = "Over {most} %vol the solubility of CO2 rests on little data; the band is wide."
        notes.caution("strong-drink", "warning", text, at=at, most=STRONG_ABV)
    _keeping(drink, notes, at)
    caution_handling(vessel, notes)


def _keeping(drink: Drink, notes: Notes, at: str) -> None:
    """What goes from one drink to the next, and what grows in one that is sealed."""
    if drink.allergens:
        text = "Clean heads, lines and seals after this drink: what they share carries {allergens} into the next."
        notes.caution("shared-heads", "warning", text, at=at, allergens=", ".join(drink.allergens))
    if drink.acid_meq_per_l < LOW_ACID_MEQ_PER_L and drink.abv < LOW_ALCOHOL_ABV:
        text = (
            "Hardly any acid is stated, and too little alcohol to keep germs from growing: sealed without air, a drink "
            "over pH 4.6 can become poisonous. Measure its pH, keep it at {cold} or colder, discard it after a day."
        )
        notes.caution("low-acid", "danger", text, at=at, cold=Quantity("temperature", WARM_C))


def check_dead(drink: Drink, *, at: str = "/drink") -> None:
    """Refuse to compute what is alive in a closed vessel.

    raises: Refused ("live-culture")
    """
    if drink.live_culture:
        text = "A live culture goes on fermenting in a closed vessel; no upper pressure can be computed."
        at_each = [at + where for where in drink.live_culture_at or ("",)]
        raise Refused("live-culture", [Fault(where, "live-culture", text) for where in at_each])


def caution_handling(vessel: Vessel, notes: Notes) -> None:
    """What always goes with gas under pressure; common practice, no source."""
    for code, severity, text in _HANDLING:
        notes.caution(code, severity, text)
    text = "No figure here holds in a vehicle in the sun, which passes {car}: carry charged vessels cold."
    notes.caution("warm-vehicle", "warning", text, at="/vessel", car=Quantity("temperature", VEHICLE_C))
    if not vessel.is_keg:
        text = "Hold the bottle upright and never leave it connected unattended."
        notes.caution("bottle-unattended", "warning", text, at="/vessel")


_HANDLING: tuple[tuple[str, Severity, str], ...] = (
    ("goggles", "warning", "Wear goggles while anything is under pressure."),
    ("regulator-order", "warning",
     "Back the regulator off, stand aside, open the cylinder slowly, then set; fit a non-return valve."),
    ("co2-pools", "warning", "CO2 pools low, in cold rooms too: ventilate, and keep a CO2 alarm near the floor."),
    ("metal-contact", "info",
     "Carbonated drinks are acid, below pH 6: no copper or brass may touch them, downstream of the valve either."),
)  # fmt: skip
