"""The vessels that a bar has, and how a request names one."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from math import isfinite
from typing import Annotated, Any, Literal, get_args

from service.declared import (
    BASIS,
    KNOWN,
    PRESSURE,
    VOLUME,
    WORDED,
    Declared,
    choice,
    number,
    pressure,
    shape,
    temperature,
    text,
    volume,
    whole,
)
from service.errors import Fault, Term
from service.limits.vessels import BRIMFUL_OFF_NOMINAL, KEG_FROM_ML, LARGEST_SMALL_BOTTLE_ML
from service.science import tables

Material = Literal["pet", "steel", "glass", "aluminium"]
Condition = Literal["sound", "creased", "whitened", "bulged", "dropped", "unknown"]
RatedBy = Literal["maker", "stamp"]
Closure = Literal["plastic", "metal"]


@dataclass(frozen=True)
class Preset:
    """A common vessel. Limits are gauge pressures; the maker's rating or the stamp prevails.

    name: as people say it, for sentences
    kept_cold: judged at the warmest place where it is kept, not in the warmest room
    """

    name: str
    material: Annotated[Material, text(20)]
    capacity_ml: Annotated[float, VOLUME, "Brimful, taken to be the nominal size; measure yours."]
    charge_limit_bar: Annotated[float, PRESSURE, "Gauge, while it is on the regulator."]
    closed_limit_bar: Annotated[float, PRESSURE, "Gauge, closed, in the warmest room."]
    soft: Annotated[bool, "It can be squeezed."]
    kept_cold: bool
    basis: Annotated[str, BASIS, KNOWN]
    source: Annotated[str, WORDED]


def _preset(row: dict[str, str]) -> Preset:
    return Preset(
        name=row["name"],
        material=_MATERIALS[tables.known("vessel_presets", row["material"], _MATERIALS)],
        capacity_ml=tables.number("vessel_presets", row["capacity_ml"]),
        charge_limit_bar=tables.number("vessel_presets", row["charge_limit_bar"]),
        closed_limit_bar=tables.number("vessel_presets", row["closed_limit_bar"]),
        soft=tables.flag("vessel_presets", row["soft"]),
        kept_cold=tables.flag("vessel_presets", row["kept_cold"]),
        basis=row["basis"],
        source=row["source"],
    )


_MATERIALS: dict[str, Material] = {material: material for material in get_args(Material)}
PRESETS = {row["preset"]: _preset(row) for row in tables.rows("vessel_presets")}
"""By name, in the table's order; source: vessel_presets.csv, line by line. Of bottles see `service.limits.vessels`."""
KEPT_COLD_L = ", ".join(f"{preset.capacity_ml / 1000.0:g}" for preset in PRESETS.values() if preset.kept_cold)
"""Sizes of the vessels that are kept cold, for a sentence [l]."""


PET_ALONE = ("closure", "rated_at", "refillable")
"""Fields that no other material has."""


def fields_of_the_material(sent: Mapping[str, Any]) -> Iterator[Fault]:
    """Find fields that do not go with the material, or with a vessel that is not a beer keg."""
    preset = sent.get("preset")
    known = PRESETS.get(preset) if isinstance(preset, str) else None
    material = sent.get("material") or (known.material if known else None)
    if material in ("steel", "aluminium", "glass"):
        for name in PET_ALONE:
            if name in sent:
                yield Fault(f"/{name}", "not-needed", "Only a PET bottle has this.")
    if "kept_at" in sent and not (known and known.kept_cold):
        text = "Only a beer keg has this; any other vessel is judged in the warmest room."
        yield Fault("/kept_at", "not-needed", text)


@shape("Vessel", rules=[fields_of_the_material])
@dataclass(frozen=True)
class VesselGiven:
    """A vessel; a preset fills the gaps, fields given override it."""

    preset: Annotated[str | None, choice(PRESETS)] = None
    material: Declared[Material | None] = None
    capacity_ml: Annotated[float | None, volume(low=20.0, high=60_000.0), "Brimful."] = None
    charge_limit_bar: Annotated[float | None, pressure(low=0.1, high=10.0)] = None
    closed_limit_bar: Annotated[float | None, pressure(low=0.1, high=20.0)] = None
    soft: Declared[bool | None] = None
    made_for_carbonation: Declared[bool | None] = None
    cycles: Annotated[int | None, whole(low=0, high=10_000), "Charges so far."] = None
    first_used: Annotated[
        date | None, "Of a PET bottle, which is retired three months later; judged against `now`."
    ] = None
    condition: Declared[Condition | None] = None
    rated_by: Annotated[
        RatedBy | None,
        "Who rated the limits that are stated, in writing: the maker of a PET bottle, the stamp on metal. Needed for a "
        "limit over the usual, and for metal without a preset.",
    ] = None
    closure: Annotated[Closure | None, "Of a PET bottle."] = None
    rated_at_c: Annotated[float | None, temperature(low=-30.0, high=90.0), "At which the maker rates it."] = None
    refillable: Annotated[bool | None, "A heavy PET bottle made to be filled again: 20 charges instead of 10."] = None
    kept_at_c: Annotated[
        float | None,
        temperature(low=-30.0, high=40.0),
        f"The warmest place where a beer keg ({KEPT_COLD_L} l) stands; 12 °C unless stated, and at the least.",
    ] = None


FillShare = Annotated[
    float | None,
    number(low=0.05, high=1.0),
    "Liquid as a share of brimful; of a bottle 0.80 unless stated, of a keg 0.95.",
]


PLAIN_NAMES: dict[Material, Term] = {
    "pet": Term("PET bottle"),
    "steel": Term("steel vessel"),
    "glass": Term("glass vessel"),
    "aluminium": Term("aluminium vessel"),
}
"""A vessel that is no preset, as people say it."""
USUAL = "pet-1-l"
"""The vessel where a request names none."""


@dataclass(frozen=True)
class SizedVessel:
    """So many vessels of one kind; each holds a serve at least."""

    vessel: Declared[VesselGiven]
    count: Annotated[int, whole(low=1, high=300)]
    fill: FillShare = None


@dataclass(frozen=True)
class Vessel:
    """A vessel with the limits it is judged by, infinite where a request names no vessel and so asks for no judgement.

    kept_at_c: the temperature a beer keg is judged at; None for a vessel that is judged in the warmest room
    """

    name: str
    material: Material
    capacity_ml: float
    charge_limit_bar_gauge: float
    closed_limit_bar_gauge: float
    soft: bool
    kept_at_c: float | None = None

    @property
    def said(self) -> Term:
        """Return its name as people say it, for sentences."""
        return Term(PRESETS[self.name].name) if self.name in PRESETS else PLAIN_NAMES[self.material]

    @property
    def is_keg(self) -> bool:
        return self.material in ("steel", "aluminium") and self.capacity_ml >= KEG_FROM_ML

    @property
    def is_judged(self) -> bool:
        """Tell whether it has limits."""
        return isfinite(self.closed_limit_bar_gauge)

    @property
    def kind(self) -> Literal["bottle", "keg"]:
        return "keg" if self.is_keg else "bottle"

    def liquid_ml(self, fill: float) -> float:
        return fill * self.capacity_ml

    def headspace_ml(self, fill: float) -> float:
        return (1.0 - fill) * self.capacity_ml


def named(given: VesselGiven) -> tuple[Material | None, float | None]:
    """Return material and capacity, from the preset where the request is silent; None where both are silent."""
    if given.preset is None:
        return given.material, given.capacity_ml
    preset = PRESETS[given.preset]
    return given.material or preset.material, given.capacity_ml or preset.capacity_ml


def preset_of(given: VesselGiven) -> Preset | None:
    """Return the preset whose limits hold for this vessel; None where there is none of its material and size."""
    if given.preset is None:
        return None
    preset, (material, capacity_ml) = PRESETS[given.preset], named(given)
    off = abs((capacity_ml or 0.0) / preset.capacity_ml - 1.0)
    same = material == preset.material and off <= BRIMFUL_OFF_NOMINAL + 1e-9  # what a change of units may add
    return preset if same else None


def may_be_timed(vessel: Vessel) -> bool:
    """Tell whether a vessel may be charged by the clock: a PET bottle that is not a large one."""
    return vessel.material == "pet" and vessel.capacity_ml <= LARGEST_SMALL_BOTTLE_ML
