"""The keg that feeds the line: what it bears, the dial over it, and what it comes to day by day."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import ceil, exp

from service import safety
from service.calibration import uptake_of
from service.carbonation import caution_cold_room
from service.draught.asked import DraughtAsked
from service.draught.pushing import Pushing
from service.drink import Drink
from service.errors import Fact, Fault, Nearest, Offer, Refusals, Refused, within_validity
from service.limits.draught import DAYS, KEG_C, LAST_SHARE, MOST_DAYS, TARGET_G_PER_L
from service.notes import Notes, SilentNotes
from service.safety import Judgement, worst_closed
from service.science.band import Band, combine
from service.science.constants import CO2_G_PER_MOL
from service.science.gas import Liquid
from service.science.units import Quantity
from service.science.validity import OutsideValidity
from service.science.vessel import State, rest_closed
from service.setting import Setting, SettingGiven, attempt, beyond_equations, check_target, setting_of
from service.site import Air
from service.vessel import PRESETS, VesselGiven, fill_of, most_fill, vessel_of

USUAL_KEG = "keg-30-l"
"""The keg where a request names none."""
MOVES = {"/vessel": "/keg/vessel", "/fill": "/keg/fill", "/air": None, "/calibration": None, "/now": None}
"""Where a draught request has what a setting is made of."""


def pushing_of(drink: Drink, asked: DraughtAsked, notes: Notes, refusals: Refusals) -> Pushing:
    """Return the keg in its setting with the gaps filled.

    refusals: gathers what is refused
    raises: Refused, SeveralRefused where nothing can be computed
    """
    setting = _setting(drink, asked, notes, refusals)
    cold_c = asked.temperature_c
    if cold_c is None:
        cold_c = safety.computable_c(drink, KEG_C)
        notes.assume("temperature of the keg", Quantity("temperature", cold_c), "common-practice", at="/temperature")
    with refusals.gather():
        safety.check_dead(drink)
    with refusals.gather():
        safety.check_temperature(drink, setting.vessel, cold_c)
    safety.caution_charging(drink, notes)
    safety.caution_warm_holding(cold_c, notes, at="/temperature")
    works_c = safety.chargeable_c(drink, setting.vessel, cold_c)
    target = asked.target_g_per_l
    if target is None:
        target = TARGET_G_PER_L
        notes.assume("target on draught", Quantity("co2", target), "common-practice", at="/target")
    share = 1.0 if asked.gas is None else asked.gas.co2_percent / 100.0
    if asked.gas is None:
        notes.assume("CO2 in the gas, %", 100.0, "default", at="/gas/co2_percent")
    return Pushing(setting, works_c, target, share)


def _setting(drink: Drink, asked: DraughtAsked, notes: Notes, refusals: Refusals) -> Setting:
    """Return the drink in its keg; one that is not named is no more than a size, see `check_dial`."""
    given = asked.keg.vessel
    if given is None:
        notes.assume("keg", USUAL_KEG, "default", at="/keg/vessel")
    keg, fill = given or VesselGiven(preset=USUAL_KEG), asked.keg.fill
    if given is None and fill is not None:
        usual = vessel_of(keg, SilentNotes())
        stated = fill
        fill = attempt(
            refusals, lambda: fill_of(stated, usual, SilentNotes(), at="/keg/fill"), lambda: most_fill(usual)
        )
    named = SettingGiven(vessel=keg, fill=fill, air=Air("none"), site=asked.site)
    notes.assume("air over the drink", "none: it goes with the first glasses", "estimate")
    inner = Refusals()
    with notes.within(MOVES):
        setting = setting_of(drink, named, "observed" if given is None else "planned", notes, inner)
    with refusals.gather(), notes.within(MOVES):
        if not setting.vessel.is_keg:
            text = "A line is fed from a keg: a metal vessel of 4 l or more, which may stay on the gas."
            with inner.gather():
                raise Refused("vessel-refused", [Fault("/vessel", "not-a-keg", text)])
        inner.raise_any()
    return setting


def dial_of(pushing: Pushing, asked: DraughtAsked, refusals: Refusals) -> Band:
    """Return the dial: as stated, or the one that holds the target under this gas [bar gauge]."""
    if asked.dial_bar is not None:
        return Band(asked.dial_bar, asked.dial_bar, asked.dial_bar)
    if pushing.co2_share == 0.0:
        text = "Nitrogen alone holds no CO2: state a dial, or a gas that has some."
        fault = Fault("/gas/co2_percent", "gas-without-co2", text)
        refusals.keep(Refused("unreachable", [fault], nearest=[Nearest("/gas/co2_percent", 100)]))
        refusals.raise_all()
    with within_validity("/target", beyond_equations):
        return pushing.band(pushing.holding_bar_gauge)


def judged(pushing: Pushing, dial_bar: float) -> Judgement:
    """Return the keg under a dial as it is judged: as if all of its gas were CO2."""
    setting = pushing.setting
    return Judgement(setting.closed(pushing.temperature_c, setting.brought_g_per_l), dial_bar)


def check_dial(judgement: Judgement, pushing: Pushing, asked: DraughtAsked, notes: Notes) -> None:
    """Refuse a dial that a named keg does not bear, or a regulator does not reach; of the usual keg it is told.

    raises: Refused ("over-vessel-limit", "unreachable")
    """
    setting, named = pushing.setting, asked.keg.vessel is not None
    if judgement.dial_bar_gauge <= 0.0 and pushing.co2_share < 1.0:
        never_over = Quantity("pressure", judgement.never_over_bar_gauge, "down")
        text = "This gas holds the target under no more than the air pressure, and a regulator goes no lower."
        fault = Fault("/gas/co2_percent", "below-atmospheric", text)
        raise Refused("unreachable", [fault], facts=[Fact("never_over", never_over)])
    if not named and not judgement.vessel_bears:
        _check_reach(judgement, asked)
        _caution_usual_keg(judgement, pushing.temperature_c, notes)
        return
    with notes.within(MOVES):
        if asked.dial_bar is not None:
            safety.check(judgement, notes if named else Notes(), at="/dial")
        elif pushing.co2_share == 1.0:
            check_target(setting, judgement, pushing.target_g_per_l, notes if named else Notes())
        else:
            safety.check(judgement, notes if named else Notes(), at="/target", offers=[_co2_alone()])
    if named and setting.vessel.kept_at_c is not None:
        _caution_failing_room(judgement, setting, notes)


def _co2_alone() -> Offer:
    return Offer("co2-alone", "Push with CO2 alone.", (Nearest("/gas/co2_percent", 100),))


def _check_reach(judgement: Judgement, asked: DraughtAsked) -> None:
    """Refuse a dial that the regulator does not reach, or that opens the relief valve, whatever the keg.

    raises: Refused ("unreachable")
    """
    if judgement.within_reach:
        return
    if asked.dial_bar is not None:
        raise safety.out_of_reach(judgement, safety.lower_dial(judgement.closed.reach.most_bar_gauge, "/dial"), "/dial")
    raise safety.out_of_reach(judgement, [_co2_alone()] if asked.gas else [], "/target")


def _caution_usual_keg(judgement: Judgement, keg_c: float, notes: Notes) -> None:
    """Tell that a usual beer keg does not bear the dial, in its cold room or where it stands."""
    most = Quantity("pressure", PRESETS[USUAL_KEG].closed_limit_bar, "down")
    reached = min(judgement.reached_bar_gauge, judgement.equations_to_bar_gauge)
    text = (
        "At this dial a usual beer keg could reach {reached} at {room} and stands {most}: push only a keg whose stamp "
        "bears it, and name it here with its stamp."
    )
    notes.caution(
        "beyond-usual-keg", "danger", text, at="/keg/vessel", reached=Quantity("pressure", reached, "up"),
        room=Quantity("temperature", max(keg_c, judgement.warm_room_c)), most=most,
    )  # fmt: skip


def _caution_failing_room(judgement: Judgement, setting: Setting, notes: Notes) -> None:
    """Warn of what the keg comes to where its cold room fails."""
    assert setting.vessel.kept_at_c is not None
    try:
        warm = worst_closed(replace(judgement.closed, warm_room_c=setting.room_c), judgement.dial_bar_gauge)
    except OutsideValidity as outside:
        if outside.quantity != "pressure":
            raise
        warm = None
    caution_cold_room(warm, setting.vessel.kept_at_c, setting.room_c, notes, at="/keg/vessel/kept_at")


@dataclass(frozen=True)
class Standing:
    """A keg that stands under its dial and is poured from.

    days: that it lasts; None where that is not known, and then it stays full
    """

    pushing: Pushing
    dial_bar: float
    off_s: float
    days: float | None

    def by_day(self) -> tuple[Band, ...]:
        """Return the level at the end of each day, from the target on [g/L]; nothing stirs the keg."""
        rates = uptake_of(None, "still", "keg")
        liquid = self.pushing.liquid
        typical = self._levels(liquid, rates.typical)
        slow, fast = self._levels(liquid, rates.low), self._levels(liquid, rates.high)
        less = self._levels(liquid.less_soluble, rates.typical)
        more = self._levels(liquid.more_soluble, rates.typical)
        days = zip(typical, slow, fast, less, more, strict=True)
        return tuple(combine(t, [(s, f), (low, high)]) for t, s, f, low, high in days)

    @property
    def _count(self) -> int:
        return DAYS if self.days is None else max(1, min(MOST_DAYS, ceil(self.days)))

    def _levels(self, liquid: Liquid, per_s: float) -> Sequence[float]:
        """Return the level at the end of each day at one rate of uptake.

        On the gas c -> ceq + (c - ceq) exp(-kLa t), with kLa by the surface for what is left of the drink; off it the
        keg is closed, see `service.science.vessel.rest_closed`.
        """
        level, found = self.pushing.target_g_per_l, []
        at_rest = self.pushing.level_g_per_l(liquid, self.dial_bar)
        for day in range(self._count):
            left = 1.0 if not self.days else max(LAST_SHARE, 1.0 - (day + 0.5) / self.days)
            uptake = per_s / left
            level = at_rest + (level - at_rest) * exp(-uptake * (86400.0 - self.off_s))
            if self.off_s > 0.0:
                level = rest_closed(self._closed(liquid, level, left), seconds=self.off_s, uptake_per_s=uptake
                                    ).co2_g_per_l  # fmt: skip
            found.append(level)
        return found

    def _closed(self, liquid: Liquid, level_g_per_l: float, left: float) -> State:
        """Return the keg as it is when its gas is shut: under the dial, whatever the drink holds."""
        setting, pushing = self.pushing.setting, self.pushing
        liquid_l = setting.liquid_l * left
        headspace_l = setting.vessel.capacity_ml / 1000.0 - liquid_l
        total_bar = self.dial_bar + setting.ambient_bar
        gas_bar = max(0.0, total_bar - liquid.vapour_bar)
        co2_bar = pushing.co2_share * gas_bar
        cap = headspace_l / (liquid.gas.z(total_bar, co2_bar / total_bar) * liquid.gas.rt)
        other_mol = (gas_bar - co2_bar) * (cap + liquid.air_solubility * liquid_l)
        return State(liquid, liquid_l, headspace_l, level_g_per_l / CO2_G_PER_MOL, co2_bar * cap, other_mol)
