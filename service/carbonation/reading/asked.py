"""The figures that were read of a closed vessel, as a request has them."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Annotated, Any, Literal

from service.carbonation.asked import Target
from service.declared import Declared, co2, mass, pressure, shape, temperature
from service.drink import DrinkGiven
from service.errors import Fault
from service.request import Request
from service.setting import SettingGiven

BOTH_MASSES = ("mass_before", "mass_after")


def something_read(sent: Mapping[str, Any]) -> Iterator[Fault]:
    """Find a request in which neither a gauge nor both masses were read."""
    masses = [name for name in BOTH_MASSES if name in sent]
    if "gauge_pressure" not in sent and not masses:
        yield Fault("", "nothing-read", "Give gauge_pressure, or mass_before and mass_after.")
    if len(masses) == 1:
        (other,) = set(BOTH_MASSES) - set(masses)
        yield Fault(f"/{other}", "required", f"Goes with {masses[0]}.")


def a_temperature(sent: Mapping[str, Any]) -> Iterator[Fault]:
    """Find a request that does not tell how cold the drink was."""
    if "temperature" not in sent and "stood_in" not in sent:
        yield Fault("/temperature", "required", "Read it, or say that the vessel stood_in ice-water.")


@shape(rules=[something_read, a_temperature])
@dataclass(frozen=True, kw_only=True)
class ReadingAsked(SettingGiven):
    """A closed vessel at rest, and what was read of it; one of gauge and both masses at the least, and how cold."""

    gauge_pressure_bar: Annotated[float | None, pressure(low=-2.0, high=30.0), "At rest, off the regulator."] = None
    dialled_bar_gauge: Annotated[
        float | None, pressure(above=0.0, high=30.0), "What it was charged at, to tell a gauge that cannot be at rest."
    ] = None
    temperature_c: Annotated[
        float | None,
        temperature(low=-30.0, high=90.0),
        "Of the drink; may be left out where it stood in ice-water until it was as cold.",
    ] = None
    stood_in: Annotated[Literal["ice-water"] | None, "Where it stood until it was as cold, 0 to 2 °C."] = None
    mass_before_g: Annotated[
        float | None, mass(high=200_000.0), "Closed, its air handled, before it was charged; with mass_after."
    ] = None
    mass_after_g: Annotated[float | None, mass(high=200_000.0), "The same vessel and cap, charged."] = None
    start_co2_g_per_l: Annotated[
        float | None,
        co2(low=0.0, high=30.0),
        "In the drink when first weighed; half of what its components bring unless stated.",
    ] = None
    target_g_per_l: Target = None


@dataclass(frozen=True, kw_only=True)
class ReadingRequest(Request, ReadingAsked):
    """A closed vessel at rest, and what was read of it: its gauge, its weight before and after, or both."""

    drink: Declared[DrinkGiven]
