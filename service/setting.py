"""The drink in its vessel at the site, the dial that holds a CO2 level there, and the levels that the vessel stands."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from functools import cached_property, lru_cache
from math import inf
from typing import Annotated, Literal, TypeVar

from service import safety
from service.calibration import Calibration, calibrated, check_calibration, note_calibration
from service.drink import Drink
from service.errors import Fact, Fault, Nearest, Offer, Refusals, Refused
from service.limits.charging import CHECK_SCALE_G
from service.notes import Notes
from service.safety import UNKNOWN_REACH, ClosedVessel, Held, Judgement, Reach
from service.science.band import Band
from service.science.constants import CO2_G_PER_MOL
from service.science.gas import GAS_PRESSURE_LIMIT_BAR_ABS, Liquid, standard_atmosphere_bar
from service.science.rounding import rounded_down, rounded_up
from service.science.units import Quantity
from service.science.validity import OutsideValidity
from service.science.vessel import State, checked, on_regulator, pressures_for_level_bar, purge_factor
from service.site import (
    Air,
    Site,
    air_left_mol,
    air_of,
    ambient_bar,
    check_air,
    check_regulator,
    fitting_air,
    fitting_purge,
    note_source,
    purge_of,
    usual_air_handling,
    usual_purge,
    warmest_room_c,
)
from service.vessel import FillShare, Vessel, VesselGiven, fill_of, most_fill, unjudged, vessel_of

T = TypeVar("T")
Question = Literal["asked", "planned", "observed"]
"""asked: answered wherever the equations hold, and no vessel is judged unless one is named. planned: refused where the
plan could pass a limit. observed: the vessel is as it is, so that it is never refused for its state but told as a
danger."""
AIR_G_PER_L_BAR = 1.19
"""Density of room air, over its pressure, at 20 degC and half saturated [g/(L bar)]; CIPM-2007 gives 1.199 at 1 atm."""


@dataclass(frozen=True, kw_only=True)
class SettingGiven:
    """The vessel, the air in it and the site, as a request has them; each may be left out."""

    vessel: Annotated[VesselGiven | None, "A 1 l PET bottle for carbonated drinks unless stated."] = None
    fill: FillShare = None
    air: Annotated[Air | None, "A soft bottle is squeezed, anything else purged, unless stated."] = None
    site: Annotated[Site | None, "Sea level and a 30 °C warmest room unless stated."] = None
    calibration: Annotated[
        Calibration | None, "This bar's own constants; they narrow the bands and never relax a limit."
    ] = None
    now: Annotated[
        datetime | None, "By which the age of a vessel is judged; it is not judged unless this is stated."
    ] = None


@dataclass(frozen=True)
class Setting:
    """The drink in its vessel at the site, before it is charged.

    warm_room_c: at which the vessel is judged
    held: how long the charge stays on its dial, see `service.safety.ClosedVessel`
    stated_room_c: the warmest room where that is another, because a keg is kept cold
    scale_g: step of the scale that a timed charge is checked on
    calibration: the bar's own constants; no limit is judged by them alone, see `service.safety.ClosedVessel`
    """

    drink: Drink
    vessel: Vessel
    fill: float
    air: Air
    ambient_bar: float
    warm_room_c: float
    reach: Reach = UNKNOWN_REACH
    calibration: Calibration | None = None
    held: Held = "full"
    stated_room_c: float | None = None
    scale_g: float = CHECK_SCALE_G

    @property
    def room_c(self) -> float:
        """Return the warmest room [degC], whether the vessel is judged there or not."""
        return self.warm_room_c if self.stated_room_c is None else self.stated_room_c

    @cached_property
    def liquid_at(self) -> Callable[[float], Liquid]:
        """Return the drink that CO2 dissolves in, by temperature [degC], with the bar's own solubility if stated."""
        if self.calibration is None or self.calibration.solubility is None:
            return self.drink.absorbs_co2
        return lru_cache(lambda temperature_c: calibrated(self.drink.absorbs_co2(temperature_c), self.calibration))

    @cached_property
    def liquid_l(self) -> float:
        """Return the volume of the drink in the vessel [L]."""
        return self.vessel.liquid_ml(self.fill) / 1000.0

    @cached_property
    def headspace_l(self) -> float:
        """Return the volume of gas over the drink [L]."""
        return self.vessel.headspace_ml(self.fill) / 1000.0

    @property
    def brought_g_per_l(self) -> float:
        """Return all the CO2 that sparkling components bring [g/L]."""
        return 1000.0 * self.drink.co2_g / self.drink.volume_ml

    @property
    def swelling_g(self) -> float:
        """Return the room air that a squeezed bottle displaces once it is round again, which a scale misses [g]."""
        remaining_ml = self.air.remaining_ml
        if remaining_ml is None:
            return 0.0
        return AIR_G_PER_L_BAR * self.ambient_bar * max(0.0, self.headspace_l - remaining_ml / 1000.0)

    def air_mol(self, liquid: Liquid) -> float:
        """Return the air in the capped vessel [mol]; how soluble CO2 is in the liquid does not count."""
        return air_left_mol(
            self.air, liquid, liquid_l=self.liquid_l, headspace_l=self.headspace_l, ambient_bar=self.ambient_bar
        )

    def co2_left_mol(self, liquid: Liquid) -> float:
        """Return the CO2 over the drink before its first charge, left by purging or by filling under CO2 [mol]."""
        air = self.air
        if air.method not in ("none", "purged"):
            return 0.0
        left = 0.0
        if air.times is not None and air.pressure_bar_gauge is not None:
            charged = air.pressure_bar_gauge + self.ambient_bar
            left = purge_factor(charge_bar_abs=charged, vent_bar_abs=self.ambient_bar, times=air.times)
        co2_bar = (1.0 - left) * (self.ambient_bar - liquid.vapour_bar)
        z = liquid.gas.z(self.ambient_bar, co2_bar / self.ambient_bar)
        return co2_bar * self.headspace_l / (z * liquid.gas.rt)

    def flat(self, liquid: Liquid, *, co2_g_per_l: float = 0.0) -> State:
        """Return the capped vessel, with the air that is left in it and no CO2 in the headspace yet."""
        level = co2_g_per_l / CO2_G_PER_MOL
        return checked(State(liquid, self.liquid_l, self.headspace_l, level, 0.0, self.air_mol(liquid)))

    def set_point_bar_gauge(self, liquid: Liquid, co2_g_per_l: float) -> float:
        """Return the dial that holds a level once all is at rest: gauge = pc + pa + pv - Patm [bar].

        raises: OutsideValidity beyond the gas equations, 10 bar absolute
        source: mass balance, `service.science.vessel.at_rest`
        """
        pressures = pressures_for_level_bar(
            liquid, liquid_l=self.liquid_l, headspace_l=self.headspace_l, co2_g_per_l=co2_g_per_l,
            air_mol=self.air_mol(liquid),
        )  # fmt: skip
        return sum(pressures, liquid.vapour_bar) - self.ambient_bar

    def set_point_band(self, liquid: Liquid, co2_g_per_l: float, *, typical: float) -> Band:
        """Return the band of a set-point that is worked out already: from the most soluble to the least [bar]."""
        low, high = (self.set_point_bar_gauge(end, co2_g_per_l) for end in (liquid.more_soluble, liquid.less_soluble))
        return Band(low, typical, high)

    def level_g_per_l(self, liquid: Liquid, dial_bar_gauge: float) -> float:
        """Return the CO2 level at rest under a dial [g/L]; inverse of `set_point_bar_gauge`."""
        _, level = on_regulator(
            liquid, liquid_l=self.liquid_l, headspace_l=self.headspace_l, air_mol=self.air_mol(liquid),
            pressure_bar_abs=dial_bar_gauge + self.ambient_bar,
        )  # fmt: skip
        return max(0.0, level) * CO2_G_PER_MOL

    def closed(self, temperature_c: float, start_co2_g_per_l: float = 0.0) -> ClosedVessel:
        """Return the closed vessel that is judged; no air that was taken out counts in its favour."""
        key = (temperature_c, start_co2_g_per_l)
        if key not in self._closed:
            self._closed[key] = ClosedVessel(
                self.drink, self.vessel, self.fill, temperature_c, self.ambient_bar, self.warm_room_c,
                start_co2_g_per_l, self.reach, calibration=self.calibration, held=self.held,
            )  # fmt: skip
        return self._closed[key]

    @cached_property
    def _closed(self) -> dict[tuple[float, float], ClosedVessel]:
        """Keep each closed vessel as long as this setting lives: dial, purge, target and advice ask for the same."""
        return {}


def setting_of(drink: Drink, given: SettingGiven, question: Question, notes: Notes, refusals: Refusals) -> Setting:
    """Return the setting with its gaps filled, all but the pressure of a purge; offers stand in for what is refused.

    refusals: gathers what is refused
    raises: Refused, SeveralRefused where nothing can be computed for the drink
    """
    site = given.site
    known, observed = False, question == "observed"
    with refusals.gather():
        safety.check_known(drink)
        known = True
    sound = _vessel(drink, given.vessel, given.now, question, notes, refusals)
    share = attempt(refusals, lambda: fill_of(given.fill, sound, notes, observed=observed), lambda: most_fill(sound))
    stated = attempt(
        refusals, lambda: air_of(given.air, sound, share, notes), lambda: air_of(Air("purged"), sound, share, notes)
    )
    done = attempt(refusals, lambda: check_air(stated, sound, share), lambda: fitting_air(stated, sound, share))
    if sound.is_judged and not observed:
        with refusals.gather():
            check_regulator(site, sound)
        note_source(site, notes)
    own = attempt(refusals, lambda: check_calibration(given.calibration), lambda: None)
    altitude_m = (site.altitude_m if site else None) or 0.0
    ambient = attempt(refusals, lambda: ambient_bar(site, notes), lambda: standard_atmosphere_bar(altitude_m))
    if not known:
        refusals.raise_all()
    note_calibration(given.calibration, sound, notes)
    _caution_cold(drink, site, notes)
    room_c = warmest_room_c(site, notes, judged=sound.kept_at_c is None)
    judged_c = room_c if sound.kept_at_c is None else sound.kept_at_c
    return Setting(drink, sound, share, done, ambient, judged_c, _reach(site), own, stated_room_c=room_c)


def _vessel(
    drink: Drink, given: VesselGiven | None, now: datetime | None, question: Question, notes: Notes, refusals: Refusals
) -> Vessel:
    """Return the vessel as the question has it; where it is refused, the rest is judged by the usual one."""
    if given is None and question == "asked":
        return unjudged(None, notes)
    observed = question == "observed"
    return attempt(
        refusals,
        lambda: vessel_of(given, notes, now=now, abv=drink.abv, observed=observed),
        lambda: vessel_of(None, Notes()),
    )


def _caution_cold(drink: Drink, site: Site | None, notes: Notes) -> None:
    """Warn where the coldest place of the site could freeze the drink."""
    if site is None or site.coldest_c is None or site.coldest_c >= drink.lowest_safe_c:
        return
    text = "At {coldest}, the coldest of the site, this drink could freeze, and a vessel bursts: keep it over {lowest}."
    coldest, lowest = Quantity("temperature", site.coldest_c), Quantity("temperature", drink.lowest_safe_c, "up")
    notes.caution("could-freeze", "danger", text, at="/site/coldest", coldest=coldest, lowest=lowest)


def _reach(site: Site | None) -> Reach:
    """Return the reach of the regulator, or of a relief valve that opens earlier; infinite where neither is known."""
    if site is None:
        return UNKNOWN_REACH
    regulator = Reach("regulator-max", inf if site.regulator_max_bar is None else site.regulator_max_bar)
    relief = Reach("relief-set", inf if site.relief_set_bar is None else site.relief_set_bar)
    return relief if relief.most_bar_gauge < regulator.most_bar_gauge else regulator


def within_limits(
    setting: Setting,
    temperatures_c: Sequence[float],
    *,
    start_co2_g_per_l: float | None = None,
    observed: bool = False,
    notes: Notes,
    refusals: Refusals,
) -> Setting:
    """Return the setting with its purge within the lowest of the dials that are never passed.

    observed: it was purged already, at whatever pressure
    temperatures_c: at which the drink is charged
    start_co2_g_per_l: before it is; all that its components bring unless stated
    """
    if setting.air.times is None:
        return setting
    drink, vessel = setting.drink, setting.vessel
    start = setting.brought_g_per_l if start_co2_g_per_l is None else start_co2_g_per_l
    charged = (setting.closed(safety.chargeable_c(drink, vessel, t), start) for t in temperatures_c)
    dials = () if observed else (dial for one in charged if (dial := one.never_over_bar_gauge) > 0.0)
    never_over = min(dials, default=inf if observed else 0.0)
    air = attempt(
        refusals,
        lambda: purge_of(setting.air, never_over, notes),
        lambda: fitting_purge(setting.air, never_over),
    )
    return setting if air == setting.air else replace(setting, air=air)


def attempt(refusals: Refusals, make: Callable[[], T], otherwise: Callable[[], T]) -> T:
    """Return the result of make; where it refuses, gather the refusal and return the result of otherwise."""
    made: list[T] = []
    with refusals.gather():
        made.append(make())
    return made[0] if made else otherwise()


def set_point_judged(setting: Setting, closed: ClosedVessel, target_g_per_l: float) -> Judgement:
    """Return the set-point of a target, held against the vessel's limits.

    raises: OutsideValidity, but not for pressures beyond the gas equations
    """
    try:
        dial = setting.set_point_bar_gauge(setting.liquid_at(closed.temperature_c), target_g_per_l)
    except OutsideValidity as outside:
        if outside.quantity != "pressure":
            raise
        dial = GAS_PRESSURE_LIMIT_BAR_ABS - setting.ambient_bar  # at least; already more than any dial that passes
    return Judgement(closed, dial)


def beyond_equations(outside: OutsideValidity, at: str) -> Refused:
    """Return the refusal of a set-point that lies beyond the gas equations.

    raises: OutsideValidity, the one given, where it is not of a pressure
    """
    if outside.quantity != "pressure":
        raise outside
    limit = Quantity("pressure", GAS_PRESSURE_LIMIT_BAR_ABS)
    text = "The dial would be over {limit} absolute, where the gas equations end."
    fault = Fault(at, "beyond-equations", text, (("limit", limit),))
    return Refused("outside-validity", [fault], facts=[Fact("equations_to", limit)])


def check_target(
    setting: Setting, judgement: Judgement, target_g_per_l: float, notes: Notes, *, at: str = "/target"
) -> None:
    """Refuse a target whose set-point the vessel does not stand, or that a regulator cannot hold.

    judgement: of `set_point_judged`, for this target
    raises: Refused ("over-vessel-limit", "unreachable")
    """
    if judgement.passes and judgement.dial_bar_gauge >= 0.0:
        safety.check(judgement, notes, at=at)
        return
    if judgement.dial_bar_gauge >= 0.0:
        safety.check(judgement, notes, at=at, offers=list(_ways(setting, judgement, target_g_per_l, at)))
        return
    works = workable_target(setting, judgement)
    least = Quantity("co2", setting.level_g_per_l(setting.liquid_at(judgement.closed.temperature_c), 0.0), "up")
    text = "A regulator goes no lower than the air pressure, and under that the drink comes to {least} here."
    fault = Fault(at, "below-atmospheric", text, (("least", least),))
    nearest = [Nearest(at, Quantity("co2", works, "up"))] if works else []
    raise Refused("unreachable", [fault], facts=[Fact("least", least)], nearest=nearest)


def _ways(setting: Setting, judgement: Judgement, target: float, at: str) -> Iterator[Offer]:
    """Yield the ways out: those to the same level first, by less fill or less air, and a lower level last."""
    shares = [share for share in LESS_FILL if share < setting.fill - 1e-9]
    emptier = (replace(setting, fill=share) for share in shares)
    fits = next((one for one in emptier if _holds(one, judgement, target)), None)
    if fits is not None:
        params = (("fill", fits.fill),)
        yield Offer("fill-less", "Fill to {fill} of brimful.", (Nearest("/fill", fits.fill),), params)
    for method, out in _better_air_handlings(setting, judgement):
        if _holds(replace(setting, air=out), judgement, target):
            text = {"squeezed": "Squeeze the air out first.", "purged": "Purge the air out with CO2 first."}[method]
            yield Offer(f"air-{method}", text, (Nearest("/air", {"method": method}),))
    works = workable_target(setting, judgement)
    if works:
        level = Quantity("co2", works, "down")
        yield Offer("lower-level", "Charge to {level}.", (Nearest(at, level),), (("level", level),))


LESS_FILL = (0.90, 0.85, 0.80, 0.75)
"""Fills that are offered in place of a fuller one, share of brimful; common practice, no source."""


def _holds(changed: Setting, judgement: Judgement, target_g_per_l: float) -> bool:
    """Tell whether a changed setting stands a level at the temperature of a judgement."""
    closed = changed.closed(judgement.closed.temperature_c, judgement.closed.start_co2_g_per_l)
    return set_point_judged(changed, closed, target_g_per_l).passes


def _better_air_handlings(setting: Setting, judgement: Judgement) -> Iterator[tuple[str, Air]]:
    """Yield the air handlings that take more air out than was planned."""
    vessel, most = setting.vessel, judgement.never_over_bar_gauge
    if setting.air.method == "left" and vessel.soft:
        yield "squeezed", usual_air_handling(vessel, most)
    if setting.air.method in ("left", "squeezed") and most > 0.0:
        yield "purged", usual_purge(vessel, most)


def workable_target(setting: Setting, judgement: Judgement) -> float:
    """Return the target nearest to the one judged whose set-point passes, on the safe side [g/L]; 0 where none does."""
    liquid, most = setting.liquid_at(judgement.closed.temperature_c), judgement.never_over_bar_gauge
    if most <= 0.0:
        return 0.0
    if judgement.dial_bar_gauge < 0.0:
        level = rounded_up(setting.level_g_per_l(liquid, 0.0), 0.1)
    else:
        level = rounded_down(setting.level_g_per_l(liquid, most), 0.1)
    return level if 0.0 <= setting.set_point_bar_gauge(liquid, level) <= most else 0.0
