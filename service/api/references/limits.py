"""GET /v1/references/limits. Every number is read from the code that keeps to it."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated, Any, Literal, NamedTuple

from service.acid.solution import COLDEST_C, KEEPS_S, SCALE_G, TOLERANCE_PERCENT, WORK_C
from service.api.answers import Answer
from service.api.endpoint import DEEPEST, LARGEST_BODY, Reference
from service.batching.drift import SET_POINT_C
from service.batching.keeping import COLD_C as COLD_HOLD_C
from service.batching.measures import COARSE_PERCENT, STEP_G, STEP_ML
from service.batching.sizing import MOST_GLASSES, MOST_ML
from service.batching.weighing import JUG_SHARE
from service.calibration import LEAST_FACTOR, MOST_FACTOR
from service.carbonation.charging import CHARGES, REST_S, SHAKE_S
from service.carbonation.gas_supply import CYLINDER_C
from service.carbonation.runs import MOST_CHARGES
from service.carbonation.target import RETAINED_SHARE, TARGET_G_PER_L
from service.chilling.case import START_C
from service.declared import BASIS, KNOWN, Declared, text
from service.drink import BOTULINUM_STOPS_PERCENT_WW, MOST_ACIDS, MOST_COMPONENTS
from service.listed import MOST_ITEMS
from service.regas.asked import SMALLEST_POUR_ML
from service.regas.calibrating.asked import MOST_READINGS
from service.regas.calibrating.errors import GAUGE_STEP_BAR
from service.regas.case import FLOOR_G_PER_L, HOLDING_C, OPEN_FOR_S
from service.regas.forecast import MOST_POURS
from service.regas.log import MOST_EVENTS
from service.regas.planning import MOST_REGASSINGS
from service.regas.regassing import COLD_REST_S
from service.regas.states import SERVE_ML
from service.regas.vessels import MOST_VESSELS
from service.rollout.asked import MOST_SITES
from service.safety.closed import FILL_ERROR, GAUGE_ERROR_BAR, THERMOMETER_ERROR_C, TIMED_BAR
from service.safety.fitness import (
    BOTTLE_MOST_C,
    COLD_C,
    LOW_ACID_MEQ_PER_L,
    MOST_ABV,
    STRONG_ABV,
    WARM_C,
)
from service.safety.pressure import NEAR_LIMIT_SHARE
from service.science.constants import ATMOSPHERE_BAR
from service.science.exposure import EXPOSURE_LIMITS
from service.science.gas import GAS_PRESSURE_LIMIT_BAR_ABS
from service.site import KEG_PURGES, PURGE_BAR_GAUGE, PURGES, SQUEEZED_REMAINING_SHARE, WARMEST_ROOM_C, WEATHER_SHARE
from service.site.conditions import SCALE_STEP_G
from service.vessel import (
    DEFAULT_FILL,
    DEFAULT_KEG_FILL,
    KEPT_AT_C,
    LEAST_FILL,
    LONGEST_USE,
    MOST_FILL,
    MOST_KEG_FILL,
    MOST_METAL_BAR,
    MOST_PET_BAR,
    MOST_REFILLABLE_BAR,
    ONE_WAY_CYCLES,
    PRESETS,
    REFILLABLE_CYCLES,
    SEAL_CYCLES,
    STRONG_CYCLES,
)

METRIC = Answer("metric")
TRADE = "common practice, no source"
Kind = Literal["default", "warned", "refused", "judged", "vessel", "exposure", "request"]
KINDS = """default: taken where a request is silent. warned: past it the answer warns. refused: past it nothing is
computed. judged: how far off the bar is taken to be where a limit is judged. vessel: of a preset. exposure: of a body
of occupational health. request: a bound of this service."""


class Limit(NamedTuple):
    """One line. unit: a kind of quantity, or the name of a plain unit."""

    limit: str
    kind: Kind
    meaning: str
    value: float
    unit: str
    basis: str = "common-practice"
    source: str = TRADE


_LIMITS = (
    Limit("fill", "default", "Liquid in a bottle as a share of brimful.", DEFAULT_FILL, "share"),
    Limit("keg-fill", "default", "Liquid in a keg as a share of brimful.", DEFAULT_KEG_FILL, "share"),
    Limit("most-fill", "refused", "Fuller, the gas in a bottle has no cushion; share of brimful.", MOST_FILL, "share"),
    Limit("most-keg-fill", "refused", "Fuller, the gas in a keg has no cushion; share of brimful.", MOST_KEG_FILL,
          "share"),
    Limit("most-pet", "refused", "Gauge, closed: no rating of a one-way bottle or a plastic cap is over.", MOST_PET_BAR,
          "pressure", "unverified", "closures are held tight to it, GB/T 17876, from secondary pages"),
    Limit("most-refillable", "refused", "Gauge, closed: passed by no rating of a refillable bottle and its metal cap.",
          MOST_REFILLABLE_BAR, "pressure", "estimate"),
    Limit("most-metal", "refused", "Gauge, closed: passed by no stamp, because the gas equations end.", MOST_METAL_BAR,
          "pressure", "published", "service.science.gas"),
    Limit("timed", "refused", "Gauge: what a timed charge may come to whose check is forgotten.", TIMED_BAR, "pressure",
          "estimate"),
    Limit("kept-at", "default", "Warmest place where a beer keg is kept; none is judged colder.", KEPT_AT_C,
          "temperature"),
    Limit("target", "default", "CO2 of a drink.", TARGET_G_PER_L, "co2"),
    Limit("retained-co2", "default", "Of the CO2 that components bring, what outlives mixing.", RETAINED_SHARE, "share",
          "estimate"),
    Limit("charging-temperature", "default", "Drink when charged.", COLD_C, "temperature"),
    Limit("warm-charging", "warned", "Warmer, a drink takes up less gas and foams.", WARM_C, "temperature"),
    Limit("bottle-temperature", "refused", "Warmer, a bottle is not charged.", BOTTLE_MOST_C, "temperature"),
    Limit("strong-drink", "warned", "Stronger, the solubility of CO2 rests on little.", STRONG_ABV, "%vol", "estimate"),
    Limit("most-abv", "refused", "Stronger, the solubility of CO2 is not known.", MOST_ABV, "%vol", "estimate"),
    Limit("warmest-room", "default", "Warmest that a closed vessel gets.", WARMEST_ROOM_C, "temperature"),
    Limit("weather", "refused", "How far a barometer may be from the standard pressure of its altitude.", WEATHER_SHARE,
          "share", "unverified", "from memory"),
    Limit("charges", "default", "Connections to the regulator.", CHARGES, "count"),
    Limit("shake", "default", "On the regulator, each charge.", SHAKE_S, "duration"),
    Limit("rest", "default", "After each charge.", REST_S, "duration"),
    Limit("cold-rest", "default", "Before a charged bottle is opened.", COLD_REST_S, "duration"),
    Limit("squeezed-air", "default", "Air left in a squeezed bottle, share of brimful.", SQUEEZED_REMAINING_SHARE,
          "share", "estimate"),
    Limit("purges", "default", "Of a bottle that is purged.", PURGES, "count"),
    Limit("keg-purges", "default", "Of a keg that is purged.", KEG_PURGES, "count"),
    Limit("purge-pressure", "default", "Gauge, where it may be dialled.", PURGE_BAR_GAUGE, "pressure"),
    Limit("cycles", "refused", "Charges after which a one-way PET bottle is retired.", ONE_WAY_CYCLES, "count",
          "estimate"),
    Limit("refillable-cycles", "refused", "Charges after which a refillable PET bottle is retired.", REFILLABLE_CYCLES,
          "count", "estimate"),
    Limit("strong-cycles", "refused", "Charges with over 20 %vol after which a PET bottle is retired.", STRONG_CYCLES,
          "count", "estimate"),
    Limit("low-acid", "warned", "Less acid may leave a sealed drink over pH 4.6.", LOW_ACID_MEQ_PER_L, "meq/l",
          "estimate"),
    Limit("low-alcohol", "warned", "Less alcohol by weight lets Clostridium botulinum grow.",
          BOTULINUM_STOPS_PERCENT_WW, "%", "published", "Daifas et al. 2003, J. Food Prot. 66, 610, abstract"),
    Limit("age", "refused", "Time in use after which a PET bottle is retired.", LONGEST_USE.total_seconds(), "duration",
          "estimate"),
    Limit("seal-cycles", "warned", "Charges after which a seal is changed.", SEAL_CYCLES, "count", "estimate"),
    Limit("near-limit", "warned", "Share of a pressure limit.", NEAR_LIMIT_SHARE, "share"),
    Limit("fill-error", "judged", "How far past the line a vessel is filled, share of brimful.", FILL_ERROR, "share",
          "estimate"),
    Limit("gauge-error", "judged", "Of a regulator's gauge, either way.", GAUGE_ERROR_BAR, "pressure", "estimate",
          "class 1.6 of EN 837-1, from memory, on a scale to 6 bar"),
    Limit("thermometer-error", "judged", "Either way, in degrees Celsius.", THERMOMETER_ERROR_C, "°C", "estimate"),
    Limit("gas-equations", "refused", "Absolute pressure to which the gas equations hold.", GAS_PRESSURE_LIMIT_BAR_ABS,
          "pressure", "published", "Weiss 1974, held against Span & Wagner 1996"),
    Limit("least-solubility", "refused", "Of a calibration, over the model's.", LEAST_FACTOR, "share", "estimate"),
    Limit("most-solubility", "refused", "Of a calibration, over the model's.", MOST_FACTOR, "share", "estimate"),
    Limit("holding-temperature", "default", "Bottles in service.", HOLDING_C, "temperature"),
    Limit("floor", "default", "Lowest CO2 level in the glass.", FLOOR_G_PER_L, "co2"),
    Limit("open-for", "default", "How long a bottle stands open for one pour.", OPEN_FOR_S, "duration"),
    Limit("smallest-pour", "request", "Least that is served as a pour.", SMALLEST_POUR_ML, "volume"),
    Limit("regassings", "refused", "Of one bottle in one shift.", MOST_REGASSINGS, "count"),
    Limit("least-fill-to-regas", "refused", "Emptier, no bottle is re-gassed; share of brimful.", LEAST_FILL, "share"),
    Limit("chill-from", "default", "Drink before it is chilled.", START_C, "temperature"),
    Limit("cold-hold", "default", "Warmest that a made batch is kept.", COLD_HOLD_C, "temperature"),
    Limit("air-pressure", "default", "Absolute, at sea level.", ATMOSPHERE_BAR, "pressure", "default", "ISO 2533"),
    Limit("cylinder-temperature", "default", "Room that the cylinder stands in.", CYLINDER_C, "temperature"),
    Limit("serve-from-a-log", "default", "Of a vessel whose pour is not stated.", SERVE_ML, "volume"),
    Limit("jug-step", "default", "Of measures by volume; a quarter of an ounce in US units.", STEP_ML, "volume"),
    Limit("scale-step", "default", "Of the scale that a batch is weighed on.", STEP_G, "mass"),
    Limit("scale-step-for-vessels", "default", "Of the scale that a whole vessel is weighed on.", SCALE_STEP_G, "mass"),
    Limit("scale-step-for-acids", "default", "Of the scale that acids are weighed on.", SCALE_G, "mass"),
    Limit("jug", "default", "The empty jug, as a share of what the scale bears.", JUG_SHARE, "share"),
    Limit("coarse-measure", "warned", "How far a measure may be off what it stands for.", COARSE_PERCENT, "%"),
    Limit("acid-error", "default", "Of the acidity, that the smallest batch of a solution keeps to.", TOLERANCE_PERCENT,
          "%"),
    Limit("acid-work", "default", "Solution while it is made.", WORK_C, "temperature", "default"),
    Limit("acid-storage", "default", "Coldest that a solution is kept.", COLDEST_C, "temperature"),
    Limit("acid-keeps", "default", "A solution, clean, closed and cold.", KEEPS_S, "duration"),
    Limit("drift-temperature", "default", "That the drift of a set-point is for.", SET_POINT_C, "temperature"),
    Limit("gauge-step", "default", "To which a gauge is read.", GAUGE_STEP_BAR, "pressure", "estimate"),
    Limit("most-charges", "request", "Of one vessel, one after the other.", MOST_CHARGES, "count", "default",
          "bound of the service"),
    Limit("most-pours", "request", "That a forecast tells.", MOST_POURS, "count", "default", "bound of the service"),
    Limit("most-glasses", "request", "Of one batch.", MOST_GLASSES, "count", "default", "bound of the service"),
    Limit("most-volume", "request", "Of one batch.", MOST_ML, "volume", "default", "bound of the service"),
    Limit("vessels", "request", "Whose logs are read at once.", MOST_VESSELS, "count", "default",
          "bound of the service"),
    Limit("events", "request", "Of all their logs together.", MOST_EVENTS, "count", "default", "bound of the service"),
    Limit("sites", "request", "Of a rollout.", MOST_SITES, "count", "default", "bound of the service"),
    Limit("body", "request", "Bytes of a request.", LARGEST_BODY, "bytes", "default", "bound of the service"),
    Limit("nesting", "request", "Levels of a request.", DEEPEST, "count", "default", "bound of the service"),
    Limit("components", "request", "Of a spec.", MOST_COMPONENTS, "count", "default", "bound of the service"),
    Limit("acids", "request", "Of a solution.", MOST_ACIDS, "count", "default", "bound of the service"),
    Limit("batches", "request", "Of a list, or specs.", MOST_ITEMS, "count", "default", "bound of the service"),
    Limit("readings", "request", "Of a calibration.", MOST_READINGS, "count", "default", "bound of the service"),
)  # fmt: skip


def _presets() -> Iterator[Limit]:
    for name, preset in PRESETS.items():
        yield Limit(f"{name}-charge-limit", "vessel", "Gauge, on the regulator; the maker's rating prevails.",
                    preset.charge_limit_bar, "pressure", "estimate")  # fmt: skip
        yield Limit(f"{name}-closed-limit", "vessel", "Gauge, closed and warm; the maker's rating prevails.",
                    preset.closed_limit_bar, "pressure", "estimate")  # fmt: skip


def _exposures() -> Iterator[Limit]:
    for one in EXPOSURE_LIMITS:
        said = f"CO2 in the air by volume: {one.limit} of {one.body}, {one.averaging}."
        code = f"{one.body}-{one.limit}".lower().replace(" ", "-")
        yield Limit(code, "exposure", said, one.ppm, "ppm", one.basis, one.source)


@dataclass(frozen=True)
class LimitReference:
    """A default, a limit or a bound."""

    limit: Annotated[str, text(100)]
    kind: Annotated[str, text(20), KINDS]
    meaning: Declared[str]
    value: Declared[float]
    unit: Annotated[str, text(20), "Of the value: a unit, share, count or bytes."]
    basis: Annotated[str, BASIS, KNOWN]
    source: Declared[str]


@dataclass(frozen=True)
class LimitReferences:
    """What is taken, warned of and refused."""

    items: Declared[tuple[LimitReference, ...]]


def read() -> LimitReferences:
    """Return every default and limit."""
    return LimitReferences(tuple(_limit(one) for one in (*_LIMITS, *_presets(), *_exposures())))


def _limit(one: Limit) -> LimitReference:
    known = one.unit in METRIC.units
    stated: dict[str, Any] = METRIC.q(one.unit, one.value) if known else {"value": float(one.value), "unit": one.unit}
    return LimitReference(one.limit, one.kind, one.meaning, stated["value"], stated["unit"], one.basis, one.source)


REFERENCE = Reference(
    path="/v1/references/limits",
    operation_id="listLimits",
    summary="What is taken where a request is silent, and what is warned of or refused.",
    description="Defaults of the trade, limits of vessels, exposure limits, and the bounds of a request. The maker's "
    "rating, local code and a competent person decide; this is arithmetic, not approval.",
    answer=LimitReferences,
    read=read,
)
