"""The air that is left in the vessel: squeezed or purged out before it is charged, or left in."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Annotated, Any, Literal, get_args

from service.declared import Declared, pressure, shape, volume, whole
from service.errors import Fact, Fault, Nearest, Refused
from service.limits.charging import KEG_PURGES, PURGE_BAR_GAUGE, PURGES, SQUEEZED_REMAINING_SHARE
from service.notes import Notes
from service.science.gas import Liquid
from service.science.rounding import rounded_down
from service.science.units import Quantity
from service.science.vessel import dissolved_air_mol, headspace_air_mol, purge_factor
from service.vessel import Vessel

Method = Literal["none", "squeezed", "purged", "left"]
_USES = {"remaining": "squeezed", "times": "purged", "pressure": "purged"}
"""Field -> the method that uses it."""


def fields_of_the_method(sent: Mapping[str, Any]) -> Iterator[Fault]:
    """Find fields that do not go with the method."""
    method = sent.get("method")
    if method in get_args(Method):
        for name, uses in _USES.items():
            if name in sent and uses != method:
                yield Fault(
                    f"/{name}", "not-needed", "It does not go with the method {method}.", (("method", str(method)),)
                )


@shape(rules=[fields_of_the_method])
@dataclass(frozen=True)
class Air:
    """The handling of the air before charging. none: there is no air, as after filling under CO2."""

    method: Declared[Method]
    remaining_ml: Annotated[float | None, volume(low=0.0, high=60_000.0), "Air left after squeezing."] = None
    times: Annotated[int | None, whole(low=1, high=20)] = None
    pressure_bar_gauge: Annotated[
        float | None,
        pressure(low=0.01, high=6.0),
        "Gauge pressure of each purge; 2 bar, or what may be dialled where that is less.",
    ] = None


def air_of(given: Air | None, vessel: Vessel, fill: float, notes: Notes, *, at: str = "/air") -> Air:
    """Return the air handling with its gaps filled, but a purge's pressure: soft bottles are squeezed, others purged.

    A squeezed bottle is assumed to keep no more air than its headspace holds at this fill.

    raises: Refused ("air-handling")
    """
    if given is None:
        given = Air("squeezed" if vessel.soft else "purged")
        notes.assume("air handling", given.method, "common-practice", at=at)
    if given.method == "squeezed" and not vessel.soft:
        raise Refused(
            "air-handling",
            [Fault(f"{at}/method", "not-soft", "Only a soft bottle can be squeezed.")],
            nearest=[Nearest(at, {"method": "purged"})],
        )
    if given.method == "squeezed" and given.remaining_ml is None:
        remaining_ml = min(SQUEEZED_REMAINING_SHARE * vessel.capacity_ml, vessel.headspace_ml(fill))
        notes.assume("air left after squeezing", Quantity("volume", remaining_ml), "estimate", at=f"{at}/remaining")
        return Air("squeezed", remaining_ml)
    if given.method == "purged" and given.times is None:
        times = purges_of(vessel)
        notes.assume("purges", float(times), "common-practice", at=f"{at}/times")
        return replace(given, times=times)
    return given


def purges_of(vessel: Vessel) -> int:
    """Return how often such a vessel is purged unless stated."""
    return KEG_PURGES if vessel.is_keg else PURGES


def usual_air_handling(vessel: Vessel, never_over_bar_gauge: float) -> Air:
    """Return the usual way to take the air out: a soft bottle is squeezed, anything else purged."""
    if vessel.soft:
        return Air("squeezed", SQUEEZED_REMAINING_SHARE * vessel.capacity_ml)
    return usual_purge(vessel, never_over_bar_gauge)


def usual_purge(vessel: Vessel, never_over_bar_gauge: float) -> Air:
    """Return the usual purge of such a vessel, within the highest dial that passes."""
    return Air("purged", None, purges_of(vessel), purge_bar_gauge(never_over_bar_gauge))


def check_air(air: Air, vessel: Vessel, fill: float, *, at: str = "/air") -> Air:
    """Return the air handling, if the vessel holds so much air at this fill.

    raises: Refused ("air-handling")
    """
    fits = fitting_air(air, vessel, fill)
    if fits is air:
        return air
    room, works = (Quantity("volume", v or 0.0, "down") for v in (vessel.headspace_ml(fill), fits.remaining_ml))
    text = "Leave no more air than the headspace holds, {room}."
    fault = Fault(f"{at}/remaining", "more-than-headspace", text, (("room", room),))
    raise Refused("air-handling", [fault], facts=[Fact("headspace", room)], nearest=[Nearest(f"{at}/remaining", works)])


def fitting_air(air: Air, vessel: Vessel, fill: float) -> Air:
    """Return the air handling itself where the vessel holds so much air, or the one that is offered instead."""
    room_ml = vessel.headspace_ml(fill)
    if air.remaining_ml is None or air.remaining_ml <= room_ml + 1e-9:  # 0.2 of a litre is a little under 200 ml
        return air
    return replace(air, remaining_ml=rounded_down(room_ml, 0.1))


def purge_bar_gauge(never_over_bar_gauge: float) -> float:
    """Return the usual pressure of a purge, or the highest round one that may be dialled [bar gauge]."""
    most = max(0.0, min(PURGE_BAR_GAUGE, never_over_bar_gauge))
    return rounded_down(most, 0.1) or most


def purge_of(air: Air, never_over_bar_gauge: float, notes: Notes, *, at: str = "/air") -> Air:
    """Return the air handling with the pressure of its purge, dialled like a charge and held to the same limit.

    never_over_bar_gauge: the highest dial that passes; 0 or less where none does, which is refused elsewhere
    raises: Refused ("over-vessel-limit")
    """
    if air.times is None:
        return air
    if air.pressure_bar_gauge is None:
        usual = Quantity("pressure", purge_bar_gauge(never_over_bar_gauge), "down")
        notes.assume("purge pressure, gauge", usual, "common-practice", at=f"{at}/pressure")
        return replace(air, pressure_bar_gauge=usual.value)
    fits = fitting_purge(air, never_over_bar_gauge)
    if fits is air:
        return air
    never_over = Quantity("pressure", never_over_bar_gauge, "down")
    text = "Set the purge never over {never_over}: it is dialled like a charge."
    raise Refused(
        "over-vessel-limit",
        [Fault(f"{at}/pressure", "never-over", text, (("never_over", never_over),))],
        facts=[Fact("never_over", never_over)],
        nearest=[Nearest(f"{at}/pressure", Quantity("pressure", fits.pressure_bar_gauge or 0.0, "down"))],
    )


def fitting_purge(air: Air, never_over_bar_gauge: float) -> Air:
    """Return the air handling itself where its purge may be dialled, or the one that is offered instead."""
    stated = air.pressure_bar_gauge
    if air.times is None or stated is None or not 0.0 < never_over_bar_gauge < stated:
        return air
    return replace(air, pressure_bar_gauge=rounded_down(never_over_bar_gauge, 0.01) or never_over_bar_gauge)


def air_left_mol(air: Air, liquid: Liquid, *, liquid_l: float, headspace_l: float, ambient_bar: float) -> float:
    """Return the air in the closed vessel before charging: left over the drink, and dissolved in an aerated batch.

    air: with its gaps filled, see `air_of` and `purge_of`; none means none at all
    headspace_l: of the vessel at its full size
    returns: [mol]
    raises: OutsideValidity
    """
    if air.method == "none":
        return 0.0
    left_l, share = headspace_l, 1.0
    if air.remaining_ml is not None:
        left_l = air.remaining_ml / 1000.0
    if air.times is not None and air.pressure_bar_gauge is not None:
        charge_bar_abs = air.pressure_bar_gauge + ambient_bar
        share = purge_factor(charge_bar_abs=charge_bar_abs, vent_bar_abs=ambient_bar, times=air.times)
    above = share * headspace_air_mol(liquid, headspace_l=left_l, ambient_bar=ambient_bar)
    return above + dissolved_air_mol(liquid, liquid_l=liquid_l, ambient_bar=ambient_bar)
