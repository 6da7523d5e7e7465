"""The gas: what batches take from a cylinder, when to swap it, what its gauge says, and what an escape comes to."""

from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass, replace
from math import ceil
from typing import Annotated, Any

from service import safety
from service.carbonation.asked import Target, start_of, target_of
from service.declared import MASS, PRESSURE, VOLUME, Declared, items, shape, temperature, text, volume
from service.drink import Drink, DrinkGiven, drink_of
from service.errors import Fact, Fault, Refusals, Refused, Term
from service.limits.requests import LARGEST_ROOM_ML, MOST_GAS_LINES
from service.limits.serving import CYLINDER_C, LOST_SHARE
from service.listed import too_many_lines
from service.notes import Notes
from service.request import Request
from service.science import exposure, gas
from service.science.band import Band, combine, total
from service.science.constants import CO2_G_PER_MOL
from service.science.exposure import ALL_PPM, EXPOSURE_LIMITS
from service.science.gas import Liquid, cylinder_pressure_bar_abs
from service.science.units import Quantity
from service.science.validity import OutsideValidity
from service.science.vessel import on_regulator, purge_factor
from service.setting import Setting, SettingGiven, check_target, set_point_judged, setting_of, within_limits
from service.site import Air, Site, ambient_bar
from service.vessel import FillShare, VesselGiven


@shape("GasBatch")
@dataclass(frozen=True)
class BatchOfGas:
    """A batch that the cylinder is to serve."""

    drink: Declared[DrinkGiven]
    volume_ml: Annotated[float, VOLUME]
    target_g_per_l: Target = None
    vessel: Annotated[VesselGiven | None, "A 1 l PET bottle for carbonated drinks unless stated."] = None
    fill: FillShare = None
    temperature_c: Annotated[
        float | None,
        temperature(low=-30.0, high=60.0),
        "Of the drink when it is charged; 1 °C unless stated, or as near to it as the drink stands.",
    ] = None
    air: Annotated[Air | None, "A soft bottle is squeezed, anything else purged, unless stated."] = None


@shape("WeighedCylinder")
@dataclass(frozen=True)
class Weighed:
    """A cylinder on a scale, with its valve, without hose or cap."""

    gross_g: Annotated[float, MASS, "As it is now."]
    tare_g: Annotated[float, MASS, "Empty, as stamped on it."]


@shape(exactly_one=True)
@dataclass(frozen=True)
class Cylinder:
    """The CO2 in the cylinder: stated, or weighed."""

    content_g: Annotated[float | None, MASS, "Of a full one, what it is sold as."] = None
    weighed: Declared[Weighed | None] = None


def bounded_lines(sent: Mapping[str, Any]) -> Iterator[Fault]:
    """Find more components in the batches than the service bears."""
    yield from too_many_lines(sent.get("batches"), lines=("components",), most_lines=MOST_GAS_LINES, name="batches")


@shape(rules=[bounded_lines])
@dataclass(frozen=True, kw_only=True)
class GasSupplyRequest(Request):
    """Batches, and the cylinder that is to charge them."""

    batches: Annotated[
        tuple[BatchOfGas, ...],
        items(50),
        f"The components of all come to at most {MOST_GAS_LINES} together.",
    ]
    cylinder: Declared[Cylinder]
    room_volume_ml: Annotated[
        float | None,
        volume(low=1000.0, high=LARGEST_ROOM_ML),
        "Of the room that the cylinder stands in; 1 m³ is 1000 l.",
    ] = None
    temperature_c: Annotated[
        float | None, temperature(low=-40.0, high=60.0), "Where the cylinder stands; 20 °C unless stated."
    ] = None
    site: Annotated[Site | None, "Sea level and a 30 °C warmest room unless stated."] = None


@shape("BatchGas")
@dataclass(frozen=True)
class BatchUse:
    """The gas that one batch takes, in the order of the request."""

    vessels: Annotated[int, "Filled evenly."]
    gauge_pressure_bar: Annotated[float, PRESSURE, "The set-point of its target."]
    co2_g: Annotated[Band, MASS]


@dataclass(frozen=True)
class CylinderSwap:
    """When to swap: with less than this it may not last for all the batches once more."""

    content_g: Annotated[float, MASS]
    gross_g: Annotated[float | None, MASS, "On the scale; of a weighed cylinder only."]


@shape("ExposureLimit")
@dataclass(frozen=True)
class LimitPassed:
    """A limit that the average passes."""

    body: Annotated[str, text(40)]
    limit: Annotated[str, text(40)]
    ppm: Declared[float]
    averaging: Annotated[str, text(40)]
    basis: Annotated[str, text(40)]
    source: Annotated[str, text(200)]


@dataclass(frozen=True)
class Escape:
    """All of the content in the closed room, spread evenly. CO2 pools low: near the floor it is far more."""

    ppm: Annotated[float, "By volume, beside what the air held before; at most all of the air."]
    over: Annotated[tuple[LimitPassed, ...], "From the lowest limit up."]


@dataclass(frozen=True)
class GasSupply:
    """The gas that the batches take, and what stands in the cylinder."""

    co2_per_batch_g: Annotated[Band, MASS, "Of all the batches listed, each made once."]
    batches: Declared[tuple[BatchUse, ...]]
    content_g: Annotated[float, MASS, "In the cylinder."]
    batches_per_cylinder: Annotated[Band, "How often all the batches listed can be made."]
    swap: Declared[CylinderSwap]
    cylinder_gauge_pressure_bar: Annotated[
        float | None,
        PRESSURE,
        "While any of it is liquid, however little; absent where it is too warm for liquid.",
    ]
    room: Annotated[Escape | None, "Absent without a room volume."]


def gas_supply(asked: GasSupplyRequest, notes: Notes) -> GasSupply:
    """Return the gas that batches take, how often the cylinder serves them, and what stands in it.

    raises: Refused, SeveralRefused
    """
    refusals = Refusals()
    used: list[BatchUse] = []
    for i, batch in enumerate(asked.batches):
        with refusals.gather(), notes.within({"": f"/batches/{i}", "/site": "/site", "/start_co2": None}):
            used.append(_use_of(batch, asked.site, notes))
    content_g = 0.0
    with refusals.gather():
        content_g = content_of(asked.cylinder)
    refusals.raise_any()
    stands_c = _stands_c(asked, notes)
    here_bar = ambient_bar(asked.site, notes)
    each_g = total(one.co2_g for one in used)
    caution_cylinder(content_g, each_g, notes)
    tare_g = None if asked.cylinder.weighed is None else asked.cylinder.weighed.tare_g
    return GasSupply(
        co2_per_batch_g=each_g,
        batches=tuple(used),
        content_g=content_g,
        batches_per_cylinder=each_g.map(lambda grams: content_g / grams),
        swap=CylinderSwap(each_g.high, None if tare_g is None else tare_g + each_g.high),
        cylinder_gauge_pressure_bar=_cylinder_bar_gauge(stands_c, here_bar, notes),
        room=escape_of(content_g, asked.room_volume_ml, stands_c, here_bar, notes),
    )


def _stands_c(asked: GasSupplyRequest, notes: Notes) -> float:
    """Return how warm it is where the cylinder stands [degC]."""
    if asked.temperature_c is not None:
        return asked.temperature_c
    usual = Quantity("temperature", CYLINDER_C)
    notes.assume("where the cylinder stands", usual, "common-practice", at="/temperature")
    return CYLINDER_C


def content_of(cylinder: Cylinder) -> float:
    """Return the CO2 in the cylinder [g].

    raises: Refused ("impossible-reading") of one that is lighter than empty
    """
    if cylinder.weighed is None:
        assert cylinder.content_g is not None
        return cylinder.content_g
    gross, tare = Quantity("mass", cylinder.weighed.gross_g), Quantity("mass", cylinder.weighed.tare_g)
    if gross.value < tare.value:
        text = "Weigh it again, with its valve and without hose or cap: at {gross} it weighs less than empty, {tare}."
        fault = Fault("/cylinder/weighed/gross", "lighter-than-empty", text, (("gross", gross), ("tare", tare)))
        raise Refused("impossible-reading", [fault], facts=[Fact("gross", gross), Fact("tare", tare)])
    return gross.value - tare.value


def _use_of(batch: BatchOfGas, site: Site | None, notes: Notes) -> BatchUse:
    """Return the gas for one batch, its vessels filled evenly and charged to rest at the set-point of the target.

    raises: Refused, SeveralRefused
    """
    refusals = Refusals()
    drink = drink_of(batch.drink, notes)
    setting = setting_of(
        drink, SettingGiven(vessel=batch.vessel, fill=batch.fill, air=batch.air, site=site), "asked", notes, refusals
    )
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
    """Return the temperature that a batch is charged at [degC]."""
    if batch.temperature_c is not None:
        return batch.temperature_c
    cold = Quantity("temperature", safety.cold_c(drink))
    notes.assume("temperature", cold, "common-practice", at="/temperature")
    return cold.value


def each_vessel_g(setting: Setting, temperature_c: float, dial_bar_gauge: float, notes: Notes) -> Band:
    """Return the CO2 that one vessel takes, purged and charged to rest under a dial [g].

    (n_gas + max(0, c - c_start) VL + n_purges)(1 + lost);  how soluble it is and what is lost are independent causes.
    The one way that gas from a cylinder is counted, on a prep sheet too: what the vessels hold in the end is less.
    """
    start = start_of(None, setting, notes)

    def taken_mol(liquid: Liquid) -> float:
        """Return what charging to rest takes from the cylinder [mol]."""
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
    percent = LOST_SHARE.map(lambda share: 100.0 * share)
    lost = Term("{typical} % ({low} % to {high} %)", typical=percent.typical, low=percent.low, high=percent.high)
    notes.assume("gas lost, over what the vessels take", lost, "estimate",
                 "leaks, hoses, vessels done again, what stays in the cylinder")  # fmt: skip
    with_loss = 1.0 + LOST_SHARE.typical
    ends = ((less * with_loss, more * with_loss), (typical * (1.0 + LOST_SHARE.low), typical * (1.0 + LOST_SHARE.high)))
    return combine(typical * with_loss, ends)


def _before_charging_mol(setting: Setting, cold: Liquid) -> float:
    """Return the CO2 that getting the air out takes, less what is still in the headspace when the charge begins [mol].

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


def caution_cylinder(content_g: float, each_g: Band, notes: Notes) -> None:
    """Warn of a cylinder that may not last for the batches, and of its gauge, which does not tell the content."""
    content, needed = Quantity("mass", content_g, "down"), Quantity("mass", each_g.high, "up")
    if content_g < each_g.high:
        text = (
            "Swap the cylinder first: with {content} in it, it may not last for these batches, which may take {needed}."
        )
        notes.caution("swap-first", "warning", text, at="/cylinder", content=content, needed=needed)
    text = "Weigh the cylinder, and swap it by weight: its gauge shows the same pressure until the last liquid is gone."
    notes.caution("gauge-is-not-content", "info", text, at="/cylinder")


def _cylinder_bar_gauge(temperature_c: float, ambient: float, notes: Notes) -> float | None:
    """Return the pressure over the liquid in a cylinder [bar gauge]; None above the critical point."""
    try:
        return cylinder_pressure_bar_abs(temperature_c) - ambient
    except OutsideValidity as outside:
        text = (
            "Move the cylinder to a cooler place before you use it: over {critical} there is no liquid in it, and its "
            "pressure rises steeply until its safety device lets go."
        )
        critical = Quantity("temperature", outside.high, "down")
        notes.caution("cylinder-too-hot", "danger", text, at="/temperature", critical=critical)
        return None


def escape_of(
    content_g: float, room_ml: float | None, temperature_c: float, ambient: float, notes: Notes
) -> Escape | None:
    """Return the air of the room with all of the content in it, spread evenly; None without a room."""
    if room_ml is None:
        return None
    ppm = exposure.room_ppm(content_g, room_l=room_ml / 1000.0, temperature_c=temperature_c, pressure_bar_abs=ambient)
    over = tuple(LimitPassed(**asdict(limit)) for limit in EXPOSURE_LIMITS if ppm > limit.ppm)
    text = (
        "Ventilate, and fit a CO2 monitor with an alarm near the floor: the gas pools low and in corners, in cellars "
        "and cold rooms above all, and is far more there than this average. Local code and a competent person decide."
    )
    notes.caution("co2-pools", "warning", text, at="/room_volume")
    if over:
        worst = over[-1]
        text = (
            "Keep the cylinder outside, or in a larger or ventilated room: if all of it escapes into the closed room, "
            "the air is over the {limit} of {body}, {ppm} ppm ({averaging}). After an escape nobody goes in before it "
            "is aired and measured."
        )
        notes.caution("over-exposure-limit", "danger", text, at="/room_volume", body=Term(worst.body),
                      limit=Term(worst.limit), ppm=float(round(worst.ppm)),
                      averaging=Term(worst.averaging))  # fmt: skip
    if ppm >= ALL_PPM:
        notes.caution("fills-the-room", "danger", "The gas takes up more than the whole room: no air would be left.",
                      at="/room_volume")  # fmt: skip
    return Escape(min(ppm, ALL_PPM), over)
