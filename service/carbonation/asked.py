"""The plan of a charge as requests have it: the level to start from, the one wanted, the charges."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Annotated, Any

from service.declared import Declared, co2, duration, pressure, shape, temperature, whole
from service.drink import DrinkGiven
from service.errors import Fault
from service.limits.charging import RETAINED_SHARE, TARGET_G_PER_L
from service.limits.requests import LONGEST_CHARGING_S, MOST_CHARGES
from service.notes import Notes
from service.request import Request
from service.safety import ClosedVessel, Held
from service.science.units import Quantity
from service.science.vessel import Agitation
from service.setting import Setting, SettingGiven, set_point_judged, workable_target
from service.site import Air

Target = Annotated[float | None, co2(above=0.0, high=15.0), "CO2 wanted in the drink; 7 g/l unless stated."]


def start_of(given: float | None, setting: Setting, notes: Notes, *, at: str = "/start_co2") -> float:
    """Return the CO2 in the drink before it is charged [g/L]: unless stated, half of what its components bring."""
    if given is not None:
        return given
    start = RETAINED_SHARE * setting.brought_g_per_l
    source = "half of what the components bring outlives mixing and filling" if start else "flat components"
    notes.assume("CO2 before charging", Quantity("co2", start), "estimate" if start else "default", source, at=at)
    return start


def target_of(
    given: float | None, setting: Setting, closed: ClosedVessel, notes: Notes, *, at: str = "/target"
) -> float:
    """Return the CO2 level wanted [g/L]: unless stated that of a highball, or the less that vessel and gear allow."""
    if given is not None:
        return given
    judgement = set_point_judged(setting, closed, TARGET_G_PER_L)
    if judgement.passes and judgement.dial_bar_gauge >= 0.0:
        notes.assume("target", Quantity("co2", TARGET_G_PER_L), "common-practice", "highball or soda", at=at)
        return TARGET_G_PER_L
    works = workable_target(setting, judgement)
    if not works:
        return TARGET_G_PER_L  # refused with the numbers further on
    source = "less than a highball usually has; the most that vessel and regulator allow here"
    notes.assume("target", Quantity("co2", works), "common-practice", source, at=at)
    return works


def one_count(sent: Mapping[str, Any]) -> Iterator[Fault]:
    """Find more than one of charge_count with its shake, as_needed and within."""
    if "within" in sent:
        found = [name for name in ("charge_count", "shake") if name in sent]
        found += ["as_needed"] if sent.get("as_needed") is True else []
        for name in found:
            yield Fault(f"/{name}", "described-twice", "within finds it already; leave this out.")
    elif sent.get("as_needed") is True and "charge_count" in sent:
        yield Fault("/charge_count", "described-twice", "as_needed says how many already; leave this out.")


@shape(rules=[one_count])
@dataclass(frozen=True, kw_only=True)
class StandardCarbonation:
    """The charging of the drink everywhere: by its level, never by a dial, which is another one at each altitude."""

    temperature_c: Annotated[
        float | None,
        temperature(low=-30.0, high=60.0),
        "Of the drink; 1 °C unless stated, or as near to it as the drink stands.",
    ] = None
    target_g_per_l: Target = None
    air: Annotated[Air | None, "A soft bottle is squeezed, anything else purged, unless stated."] = None
    charge_count: Annotated[
        int | None, whole(low=1, high=MOST_CHARGES), "3 unless stated; 1 for a keg that stays on the gas."
    ] = None
    as_needed: Annotated[
        bool, f"As many charges as reach the target, up to {MOST_CHARGES}; in place of charge_count."
    ] = False
    within_s: Annotated[
        float | None,
        duration(high=LONGEST_CHARGING_S),
        "The charges and shakes that fit this time, and a dial that reaches the target with them.",
    ] = None
    held: Annotated[
        Held | None,
        "full unless stated: on the dial until the drink is at rest with it. timed: by the clock, after which every "
        "bottle is checked against stop_at; only PET of up to 1.5 l.",
    ] = None
    shake_s: Annotated[
        float | None, duration(low=0.0, high=3600.0), "On the regulator, each charge; 30 s unless stated."
    ] = None
    rest_s: Annotated[float | None, duration(high=LONGEST_CHARGING_S), "After each charge; 60 s unless stated."] = None
    agitation: Annotated[Agitation | None, "Shaken unless stated; still for a keg that stays on the gas."] = None
    connected: Annotated[bool | None, "A keg stays on the gas unless this is false; a bottle never does."] = None


@dataclass(frozen=True, kw_only=True)
class CarbonationPlan(StandardCarbonation):
    """The charging of the drink; the defaults are those of /v1/carbonation/charges."""

    gauge_pressure_bar: Annotated[
        float | None,
        pressure(low=-2.0, high=10.0),
        "The dial of the regulator; the set-point of the target unless stated.",
    ] = None


@dataclass(frozen=True, kw_only=True)
class ChargesAsked(CarbonationPlan, SettingGiven):
    """A vessel at a site, and how it is to be charged."""

    start_co2_g_per_l: Annotated[
        float | None,
        co2(low=0.0, high=15.0),
        "In the drink before charging; half of what its components bring unless stated.",
    ] = None


@dataclass(frozen=True, kw_only=True)
class ChargesRequest(Request, ChargesAsked):
    """A drink in its vessel, and how it is to be charged."""

    drink: Declared[DrinkGiven]
