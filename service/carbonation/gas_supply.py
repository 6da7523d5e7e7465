"""The gas: what batches take from a cylinder, when to swap it, what its gauge says, and what an escape comes to."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import ceil

from service import safety
from service.carbonation.target import start_of, target_of
from service.drink import Drink, DrinkGiven, drink_of
from service.errors import Fact, Fault, OutsideValidity, Refusals, Refused
from service.limits.serving import CYLINDER_C, LOST_SHARE
from service.notes import Notes
from service.science import exposure, gas
from service.science.band import Band, combine
from service.science.constants import CO2_G_PER_MOL
from service.science.exposure import ALL_PPM, EXPOSURE_LIMITS, ExposureLimit
from service.science.gas import Liquid, cylinder_pressure_bar_abs
from service.science.units import Quantity
from service.science.vessel import on_regulator, purge_factor
from service.setting import Setting, check_target, set_point_judged, setting_of, within_limits
from service.site import Air, Site, ambient_bar
from service.vessel import VesselGiven


@dataclass(frozen=True)
class BatchOfGas:
    """One batch that the cylinder is to serve; None where the request is silent."""

    drink: DrinkGiven
    volume_ml: float
    target_g_per_l: float | None = None
    vessel: VesselGiven | None = None
    fill: float | None = None
    temperature_c: float | None = None
    air: Air | None = None


@dataclass(frozen=True)
class Weighed:
    """A cylinder on a scale. tare_g: empty, with its valve, as stamped on it."""

    gross_g: float
    tare_g: float


@dataclass(frozen=True)
class Cylinder:
    """Exactly one of the two."""

    content_g: float | None = None
    weighed: Weighed | None = None


@dataclass(frozen=True)
class BatchUse:
    """What one batch takes. dial_bar_gauge: the set-point of its target"""

    vessels: int
    dial_bar_gauge: float
    co2_g: Band


@dataclass(frozen=True)
class Escape:
    """All of the cylinder in a closed room. ppm: on average, at most all of the air; over: the limits it passes."""

    ppm: float
    over: tuple[ExposureLimit, ...]


@dataclass(frozen=True)
class GasSupply:
    """What the cylinder does for the batches, all of them made once."""

    batches: tuple[BatchUse, ...]
    co2_per_batch_g: Band
    content_g: float
    batches_per_cylinder: Band
    swap_content_g: float
    """With less than this it may not last for all the batches once more."""
    swap_gross_g: float | None
    cylinder_bar_gauge: float | None
    """For as long as some of it is liquid; None where it is too warm for liquid."""
    escape: Escape | None


def gas_supply(
    batches: Sequence[BatchOfGas],
    *,
    cylinder: Cylinder,
    room_l: float | None = None,
    temperature_c: float | None = None,
    site: Site | None = None,
    notes: Notes,
) -> GasSupply:
    """Gas that the batches take, how often the cylinder serves them, and what stands in it.

    temperature_c: where the cylinder stands [degC], -40 to 60
    raises: Refused, SeveralRefused
    """
    refusals = Refusals()
    used: list[BatchUse] = []
    for i, batch in enumerate(batches):
        with refusals.gather(), notes.within({"": f"/batches/{i}", "/site": "/site", "/start_co2": None}):
            used.append(_use_of(batch, site, notes))
    content_g = 0.0
    with refusals.gather():
        content_g = _content_g(cylinder)
    refusals.raise_any()
    if temperature_c is None:
        temperature_c = CYLINDER_C
        notes.assume("where the cylinder stands", Quantity("temperature", CYLINDER_C), "common-practice",
                     at="/temperature")  # fmt: skip
    here_bar = ambient_bar(site, notes)
    each_g = Band(*(sum(getattr(one.co2_g, end) for one in used) for end in ("low", "typical", "high")))
    _caution(content_g, each_g, notes)
    return GasSupply(
        batches=tuple(used),
        co2_per_batch_g=each_g,
        content_g=content_g,
        batches_per_cylinder=each_g.map(lambda grams: content_g / grams),
        swap_content_g=each_g.high,
        swap_gross_g=None if cylinder.weighed is None else cylinder.weighed.tare_g + each_g.high,
        cylinder_bar_gauge=_cylinder_bar_gauge(temperature_c, here_bar, notes),
        escape=None if room_l is None else _escape(content_g, room_l, temperature_c, here_bar, notes),
    )


def _content_g(cylinder: Cylinder) -> float:
    """raises: Refused ("impossible-reading")"""
    if cylinder.weighed is None:
        assert cylinder.content_g is not None
        return cylinder.content_g
    gross, tare = Quantity("mass", cylinder.weighed.gross_g), Quantity("mass", cylinder.weighed.tare_g)
    if gross.value < tare.value:
        text = "At {gross} it weighs less than empty, {tare}: weigh it again, with its valve and without hose or cap."
        fault = Fault("/cylinder/weighed/gross", "lighter-than-empty", text, (("gross", gross), ("tare", tare)))
        raise Refused("impossible-reading", [fault], facts=[Fact("gross", gross), Fact("tare", tare)])
    return gross.value - tare.value


def _use_of(batch: BatchOfGas, site: Site | None, notes: Notes) -> BatchUse:
    """Gas for one batch, its vessels filled evenly and charged to rest at the set-point of the target.

    raises: Refused, SeveralRefused
    """
    refusals = Refusals()
    drink = drink_of(batch.drink, notes)
    setting = setting_of(
        drink, vessel=batch.vessel, fill=batch.fill, air=batch.air, site=site, question="asked", notes=notes,
        refusals=refusals,
    )  # fmt: skip
    cold_c = _cold_c(batch, drink, notes)
    with refusals.gather():
        safety.check_charging(drink, setting.vessel, cold_c, notes)
    cold_c = safety.chargeable_c(drink, setting.vessel, cold_c)
    setting = within_limits(setting, [cold_c], notes=notes, refusals=refusals)
    closed = setting.closed(cold_c, setting.brought_g_per_l)
    target = target_of(batch.target_g_per_l, setting, closed, notes)
    judgement = set_point_judged(setting, closed, target)
    if setting.vessel.is_judged:
        with refusals.gather():
            check_target(setting, judgement, target, notes)
    refusals.raise_any()
    vessels = max(1, ceil(batch.volume_ml / setting.vessel.liquid_ml(setting.fill) - 1e-9))
    evenly = replace(setting, fill=batch.volume_ml / vessels / setting.vessel.capacity_ml)
    each_g = each_vessel_g(evenly, cold_c, judgement.dial_bar_gauge, notes)
    return BatchUse(vessels, judgement.dial_bar_gauge, each_g.map(lambda grams: vessels * grams))


def _cold_c(batch: BatchOfGas, drink: Drink, notes: Notes) -> float:
    """Of the drink when it is charged [degC]."""
    if batch.temperature_c is not None:
        return batch.temperature_c
    cold = Quantity("temperature", safety.cold_c(drink))
    notes.assume("temperature", cold, "common-practice", at="/temperature")
    return cold.value


def each_vessel_g(setting: Setting, temperature_c: float, dial_bar_gauge: float, notes: Notes) -> Band:
    """CO2 that one vessel takes, purged and charged to rest under a dial [g].

    (n_gas + max(0, c - c_start) VL + n_purges)(1 + lost);  how soluble it is and what is lost are independent causes

    The one way that gas from a cylinder is counted, on a prep sheet too: what the vessels hold in the end is less.
    """
    start = start_of(None, setting, notes)

    def taken_mol(liquid: Liquid) -> float:
        gas_mol, level = on_regulator(
            liquid, liquid_l=setting.liquid_l, headspace_l=setting.headspace_l, air_mol=setting.air_mol(liquid),
            pressure_bar_abs=dial_bar_gauge + setting.ambient_bar,
        )  # fmt: skip
        return max(0.0, gas_mol) + max(0.0, level - start / CO2_G_PER_MOL) * setting.liquid_l

    cold = setting.liquid_at(temperature_c)
    purges_mol = _before_charging_mol(setting, cold)
    typical, less, more = (
        CO2_G_PER_MOL * (taken_mol(end) + purges_mol) for end in (cold, cold.less_soluble, cold.more_soluble)
    )
    lost = (f"{100.0 * share:g} %" for share in (LOST_SHARE.typical, LOST_SHARE.low, LOST_SHARE.high))
    notes.assume("gas lost, over what the vessels take", "{} ({} to {})".format(*lost), "estimate",
                 "leaks, hoses, vessels done again, what stays in the cylinder")  # fmt: skip
    with_loss = 1.0 + LOST_SHARE.typical
    ends = ((less * with_loss, more * with_loss), (typical * (1.0 + LOST_SHARE.low), typical * (1.0 + LOST_SHARE.high)))
    return combine(typical * with_loss, ends)


def _before_charging_mol(setting: Setting, cold: Liquid) -> float:
    """CO2 that getting the air out takes, less what of it is still in the headspace when the charge begins [mol].

    purged: N (Pc/Zc - Pv/Zv) VH/(R T);  filled under CO2: a vessel of it at ambient pressure, pushed out by the drink
    """
    air, ambient, t = setting.air, setting.ambient_bar, cold.temperature_c
    per_bar_l = 1.0 / cold.gas.rt
    if air.method == "none":
        return ambient * setting.liquid_l * per_bar_l
    if air.times is None or air.pressure_bar_gauge is None:
        return 0.0
    purge = air.pressure_bar_gauge + ambient
    doses = air.times * (purge / gas.compressibility(t, purge, 1.0) - ambient / gas.compressibility(t, ambient, 1.0))
    left = purge_factor(charge_bar_abs=purge, vent_bar_abs=ambient, times=air.times)
    kept = (1.0 - left) * (ambient - cold.vapour_bar)
    return (doses - kept) * setting.headspace_l * per_bar_l


def _caution(content_g: float, each_g: Band, notes: Notes) -> None:
    content, needed = Quantity("mass", content_g, "down"), Quantity("mass", each_g.high, "up")
    if content_g < each_g.high:
        text = (
            "With {content} in it the cylinder may not last for these batches, which may take {needed}: swap it first."
        )
        notes.caution("swap-first", "warning", text, at="/cylinder", content=content, needed=needed)
    text = (
        "The gauge of a cylinder does not tell what is left: it shows the same pressure until the last liquid is gone. "
        "Weigh it, and swap it by weight."
    )
    notes.caution("gauge-is-not-content", "info", text, at="/cylinder")


def _cylinder_bar_gauge(temperature_c: float, ambient: float, notes: Notes) -> float | None:
    """Over the liquid [bar gauge]; None above the critical point."""
    try:
        return cylinder_pressure_bar_abs(temperature_c) - ambient
    except OutsideValidity as outside:
        text = (
            "Over {critical} there is no liquid in a cylinder: its pressure then depends on how full it is and rises "
            "steeply, until its safety device lets go. Move it to a cooler place before it is used."
        )
        critical = Quantity("temperature", outside.high, "down")
        notes.caution("cylinder-too-hot", "danger", text, at="/temperature", critical=critical)
        return None


def _escape(content_g: float, room_l: float, temperature_c: float, ambient: float, notes: Notes) -> Escape:
    """All of the content in the room, spread evenly."""
    ppm = exposure.room_ppm(content_g, room_l=room_l, temperature_c=temperature_c, pressure_bar_abs=ambient)
    over = tuple(limit for limit in EXPOSURE_LIMITS if ppm > limit.ppm)
    text = (
        "CO2 pools low and in corners, in cellars and cold rooms above all: near the floor it is far more than this "
        "average. Ventilate, and fit a monitor with an alarm near the floor. Local code and a competent person decide."
    )
    notes.caution("co2-pools", "warning", text, at="/room_volume")
    if over:
        worst = over[-1]
        text = (
            "If all of it escapes and the room is closed, the air is over the {limit} of {body}, {ppm} ppm "
            "({averaging}). Keep the cylinder outside, or in a larger or ventilated room. After an escape nobody goes "
            "in before it is aired and measured."
        )
        notes.caution("over-exposure-limit", "danger", text, at="/room_volume", body=worst.body, limit=worst.limit,
                      ppm=f"{worst.ppm:.0f}", averaging=worst.averaging)  # fmt: skip
    if ppm >= ALL_PPM:
        notes.caution("fills-the-room", "danger", "The gas takes up more than the whole room: no air would be left.",
                      at="/room_volume")  # fmt: skip
    return Escape(min(ppm, ALL_PPM), over)
