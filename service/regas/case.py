"""The case that a forecast starts from: one vessel, how it was charged and how it is served; and what forbids it."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from math import ceil, floor, inf

from service import safety
from service.drink import Drink
from service.errors import Fact, Fault, Nearest, Refusals, Refused
from service.limits.serving import FLOOR_G_PER_L, HOLDING_C, OPEN_FOR_S, SMALLEST_POUR_ML
from service.notes import Notes
from service.regas.asked import ForecastAsked, Pour
from service.regas.rates import Rates, usual
from service.safety import ClosedVessel, Judgement
from service.science.band import Band
from service.science.gas import Liquid
from service.science.rounding import rounded_down
from service.science.units import Kind, Quantity
from service.science.vessel import PourManner, State, at_rest, rest_closed, warmed
from service.setting import Question, Setting, check_target, set_point_judged, setting_of, within_limits
from service.site import Air, Shift, fitting_purge, usual_air_handling
from service.vessel import BOTH, USUAL, VesselGiven, limit_bar

MANNER: PourManner = "gentle"


@dataclass(frozen=True)
class Case:
    """One vessel of the shift: the setting it was charged in, its CO2 level, and the way it is served."""

    setting: Setting
    charged_c: float
    """Temperature at which the level is known [degC]."""
    holding_c: float
    co2: Band
    """Level that it starts from [g/L]."""
    pour_l: float
    manner: PourManner
    interval_s: float
    open_for_s: float
    floor_g_per_l: float
    pours_an_opening: int = 1
    target_g_per_l: float | None = None
    """Level that a re-gas aims at; that which it starts from where it is None [g/L]."""

    @cached_property
    def liquid(self) -> Liquid:
        """The drink as it is held."""
        return self.setting.liquid_at(self.holding_c)

    @cached_property
    def solubility_spread(self) -> float:
        return self.liquid.spread

    @cached_property
    def usual(self) -> Rates:
        """Rates that are not known well, each at its typical value."""
        return usual(self.setting.vessel.kind, self.setting.calibration)

    @property
    def co2_g_per_l(self) -> float:
        return self.co2.typical

    @property
    def aim_g_per_l(self) -> float:
        """Level that a re-gas aims at."""
        return self.co2.typical if self.target_g_per_l is None else self.target_g_per_l

    @cached_property
    def without_air(self) -> Setting:
        """The setting of a keg on its regulator: what air was in it goes with the first glasses."""
        return replace(self.setting, air=Air("none"))

    def hold_bar_gauge(self, co2_g_per_l: float) -> float:
        """Return the dial that a keg is left on to hold a level [bar gauge].

        Until its air is gone it may stand higher; made up for in the dial, that air would be CO2 too much later on.
        raises: OutsideValidity beyond the gas equations
        """
        return self.without_air.set_point_bar_gauge(self.liquid, co2_g_per_l)

    @property
    def liquid_l(self) -> float:
        return self.setting.vessel.liquid_ml(self.setting.fill) / 1000.0

    @property
    def pours(self) -> int:
        """Whole pours in the vessel."""
        return floor(self.liquid_l / self.pour_l * (1.0 + 1e-12))

    def never_over_bar_gauge(self, k: int) -> float:
        """Return the highest dial for a re-gas before pour k, counted from 0.

        Judged like the first charge, at the fill of that, which is the fullest; and with what the bottle then holds:
        no more than the level it started from, and maybe a headspace full of air.
        """
        left_l = self.liquid_l - k * self.pour_l
        return min(one.never_over_bar_gauge for one in self.judged(left_l, self.co2.high))

    def judged(self, left_l: float, most_g_per_l: float) -> tuple[ClosedVessel, ClosedVessel]:
        """Return the vessel at its first fill, and as it is with the most that it may still hold: both judge a re-gas.

        left_l: drink in it [L]; most_g_per_l: the highest level that it ever had [g/L]
        """
        return self.judging.closed(self.holding_c, self.setting.brought_g_per_l), self.closed(left_l, most_g_per_l)

    @cached_property
    def judging(self) -> Setting:
        """The setting by which a re-gas is judged: by the limits of the usual bottle where no vessel is named."""
        vessel = self.setting.vessel
        if vessel.is_judged:
            return self.setting
        limits = {which: limit_bar(which, VesselGiven(USUAL)) for which in BOTH}
        usual = replace(vessel, charge_limit_bar_gauge=limits["charge"], closed_limit_bar_gauge=limits["closed"])
        return replace(self.setting, vessel=usual)

    @property
    def regas_c(self) -> float:
        """The temperature it is held at where it may be re-gassed so, or else the one to chill it to first [degC]."""
        return safety.chargeable_c(self.setting.drink, self.judging.vessel, self.holding_c)

    def closed(self, left_l: float, start_co2_g_per_l: float = 0.0) -> ClosedVessel:
        """Return what is judged of the vessel with so much drink in it [L]."""
        key = (left_l, start_co2_g_per_l)
        if key not in self._closed:
            fill = 1000.0 * left_l / self.setting.vessel.capacity_ml
            self._closed[key] = replace(
                self.judging.closed(self.holding_c), fill=fill, start_co2_g_per_l=start_co2_g_per_l
            )
        return self._closed[key]

    @cached_property
    def _closed(self) -> dict[tuple[float, float], ClosedVessel]:
        """Vessels judged already: a re-gas asks for the same several times, and so do readings between two pours."""
        return {}

    def regas_setting(self, never_over: float) -> Setting:
        """Return the setting for a re-gas: its purge held to the highest dial, and the air that came in taken out.

        Pouring lets air in whatever was done about it before the first charge.
        """
        if self.air_removed_at_regas:
            return replace(self.setting, air=usual_air_handling(self.setting.vessel, never_over))
        return replace(self.setting, air=fitting_purge(self.setting.air, never_over))

    @property
    def air_removed_at_regas(self) -> bool:
        """Tell whether air is taken out at a re-gas only: the first charge left it in."""
        return self.setting.air.method in ("none", "left")

    def charged(self, solubility_ratio: float, level_ratio: float = 1.0) -> State:
        """Return the closed vessel at rest, at the temperature of its charge."""
        flat = self.setting.flat(self.liquid.at(self.charged_c).scaled(solubility_ratio))
        return at_rest(
            flat.liquid, liquid_l=flat.liquid_l, headspace_l=flat.headspace_l,
            co2_g_per_l=level_ratio * self.co2_g_per_l, air_mol=flat.air_mol,
        )  # fmt: skip

    @cached_property
    def in_service(self) -> Callable[[float, float], State]:
        """State of the charged vessel at rest at the temperature it is held at, by ratios; each is worked out once."""
        return lru_cache(self._in_service)

    def _in_service(self, solubility_ratio: float, level_ratio: float) -> State:
        state = self.charged(solubility_ratio, level_ratio)
        if self.charged_c == self.holding_c:
            return state
        return rest_closed(warmed(state, self.holding_c), seconds=inf, uptake_per_s=1.0)


def case_of(
    drink: Drink,
    asked: ForecastAsked,
    notes: Notes,
    *,
    question: Question = "asked",
    charged: Band | None = None,
) -> Case:
    """Return the case with its gaps filled.

    A level that the vessel does not stand once warm is told as a danger; what is refused is what cannot be computed.
    Whatever is refused, the rest is judged by what is offered instead, so that all of it together works.

    question: asked of a forecast, observed of a log
    charged: in place of the level asked, one that charges give which were judged, in the warmest room [g/L]
    raises: Refused, SeveralRefused; OutsideValidity where no equation holds for what was observed
    """
    refusals, observed = Refusals(), question == "observed"
    setting = setting_of(drink, asked.given, question, notes, refusals)
    with refusals.gather():
        safety.check_dead(drink)
    charged_c, holding_c = _temperatures(setting, asked.temperature_c, asked.shift, refusals, notes, observed=observed)
    if not observed:
        safety.caution_charging(drink, notes)
        safety.caution_warm_holding(holding_c, notes, at=("/shift/holding_temperature", "/temperature"))
    judged = charged is not None and holding_c <= setting.warm_room_c
    setting = replace(setting, warm_room_c=max(setting.warm_room_c, holding_c))
    setting = within_limits(setting, [charged_c, holding_c], observed=observed, notes=notes, refusals=refusals)
    level = charged or Band(asked.co2_g_per_l, asked.co2_g_per_l, asked.co2_g_per_l)
    refusals.raise_any()
    if not judged:
        _caution_level(setting, charged_c, level, notes)
    return _case_with_defaults(setting, charged_c, holding_c, level, asked.pour, asked.shift, refusals, notes)


def charged_case(
    setting: Setting, *, charged_c: float, co2_g_per_l: Band, pour: Pour, shift: Shift, notes: Notes
) -> Case:
    """Return the case of a vessel whose charge was judged already.

    Judged again where it is held warmer than it was judged for, or, being a keg, under its regulator.

    raises: Refused, SeveralRefused
    """
    refusals = Refusals()
    charged_c, holding_c = _temperatures(setting, charged_c, shift, refusals, notes)
    if setting.vessel.is_keg or holding_c > setting.warm_room_c:
        setting = replace(setting, warm_room_c=max(setting.warm_room_c, holding_c))
        judgement = set_point_judged(setting, setting.closed(charged_c), co2_g_per_l.typical)
        with refusals.gather():
            check_target(setting, judgement, co2_g_per_l.typical, notes, at="/co2")
    refusals.raise_any()
    return _case_with_defaults(setting, charged_c, holding_c, co2_g_per_l, pour, shift, refusals, notes)


def _case_with_defaults(
    setting: Setting,
    charged_c: float,
    holding_c: float,
    level: Band,
    pour: Pour,
    shift: Shift,
    refusals: Refusals,
    notes: Notes,
) -> Case:
    """Return the case with defaults for what its pour and its shift leave out.

    refusals: gathered so far, raised along with those of the pour
    """
    pour_ml = _fitting_ml(setting, pour.volume_ml, refusals)
    case = Case(
        setting, charged_c, holding_c, level, pour_ml / 1000.0, manner_of(pour, notes), 3600.0 / shift.serves_per_hour,
        _default(shift.open_for_s, OPEN_FOR_S, "time open for one pour", "duration", "/shift/open_for", notes),
        _default(shift.floor_g_per_l, FLOOR_G_PER_L, "floor in the glass", "co2", "/shift/floor", notes),
    )  # fmt: skip
    refusals.raise_any()
    return case


def asked_pours(lasts_s: float, interval_s: float) -> int:
    """Return the pours that a shift asks for."""
    return ceil(lasts_s / interval_s * (1.0 - 1e-12))


def _temperatures(
    setting: Setting, given_c: float | None, shift: Shift, refusals: Refusals, notes: Notes, *, observed: bool = False
) -> tuple[float, float]:
    """Return the temperature at which the level is known, and that in service; either stands in for the other.

    raises: OutsideValidity where what was observed is colder or warmer than the equations reach
    """
    holding_c, drink, vessel = shift.holding_temperature_c, setting.drink, setting.vessel
    if given_c is None and holding_c is None:
        given_c = max(HOLDING_C, safety.cold_c(drink))
        notes.assume("temperature in service", Quantity("temperature", given_c), "common-practice", at="/temperature")
    elif given_c is not None and holding_c is None:
        same, at = Quantity("temperature", given_c), "/shift/holding_temperature"
        notes.assume("temperature in service", same, "default", "the temperature that the level is known at", at=at)
    found = []
    for value, at in ((given_c, "/temperature"), (holding_c, "/shift/holding_temperature")):
        if value is None:
            continue
        if observed:
            safety.check_reached(drink, value)
            found.append(value)
            continue
        with refusals.gather():
            safety.check_computable(drink, value, at=at)
        found.append(safety.computable_c(drink, value))
    return found[-1 if vessel.is_keg else 0], found[-1]  # a keg on gas comes to where it is held


def _caution_level(setting: Setting, temperature_c: float, level: Band, notes: Notes) -> None:
    """Tell a danger where the vessel does not stand its level once it is warm; nothing of a vessel that is not judged.

    Judged like the charge that gives the level, so that what passes there draws no danger here.
    raises: OutsideValidity beyond the gas equations
    """
    if not setting.vessel.is_judged:
        return
    dial = setting.set_point_bar_gauge(setting.liquid_at(temperature_c), level.high)
    closed = setting.closed(temperature_c, setting.brought_g_per_l)
    safety.caution_standing(Judgement(closed, dial), None, notes, at="/co2")


def _fitting_ml(setting: Setting, pour_ml: float, refusals: Refusals) -> float:
    """Return the pour if the vessel holds it, otherwise all that it holds [ml]."""
    held_ml = setting.vessel.liquid_ml(setting.fill)
    if pour_ml <= held_ml * (1.0 + 1e-12):
        return pour_ml
    works = rounded_down(held_ml, 1.0)
    nearest = [Nearest("/pour/volume", Quantity("volume", works, "down"))] if works >= SMALLEST_POUR_ML else []
    refused = more_than_held(held_ml, nearest)
    if not nearest:
        raise refused
    refusals.keep(refused)
    return works


def more_than_held(held_ml: float, nearest: Sequence[Nearest] = ()) -> Refused:
    """Return the refusal of a pour that is more than the vessel holds."""
    held = Quantity("volume", held_ml, "down")
    text = "Pour less, or fill more: the vessel holds {held}."
    fault = Fault("/pour/volume", "more-than-held", text, (("held", held),))
    return Refused("pour-too-large", [fault], facts=[Fact("held", held)], nearest=nearest)


def manner_of(pour: Pour, notes: Notes) -> PourManner:
    """Return how it is poured: as stated, or the usual manner with a note of it."""
    if pour.manner is None:
        notes.assume("manner of pouring", MANNER, "common-practice", at="/pour/manner")
    return pour.manner or MANNER


def _default(given: float | None, usual: float, name: str, kind: Kind, at: str, notes: Notes) -> float:
    """Return the value, or the usual one with a note of it."""
    if given is not None:
        return given
    notes.assume(name, Quantity(kind, usual), "common-practice", at=at)
    return usual
