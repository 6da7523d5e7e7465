"""Acids of juices and wines: acidity and pH as printed, and compositions to swap acids for."""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from service.science.acids.products import ACIDS, meq_per_g
from service.science.band import Band
from service.science.tables import known, rows


@dataclass(frozen=True)
class Juice:
    """The acidity of a juice or wine as its source prints it; None where the source is silent.

    low, typical, high: [unit]; expressed_as: the acid, or what the source says
    """

    liquid: str
    low: float | None
    typical: float | None
    high: float | None
    unit: str
    expressed_as: str
    ph_low: float | None
    ph_high: float | None
    main_acids: str
    source: str
    basis: str


@dataclass(frozen=True)
class CompositionPart:
    """One acid of a reference liquid. g_per_l: about 90 % wide [g/L]."""

    acid: str
    g_per_l: Band
    source: str
    basis: str


@dataclass(frozen=True)
class Composition:
    """The acids of a reference liquid; what potassium and other cations hold of them is not taken off."""

    name: str
    parts: tuple[CompositionPart, ...]

    @property
    def meq_per_l(self) -> float:
        """All its acids as titratable acidity [meq/L], more than a titration of the liquid finds."""
        return sum(part.g_per_l.typical * meq_per_g(part.acid) for part in self.parts)


def _number(text: str) -> float | None:
    return float(text) if text else None


def _juice(row: dict[str, str]) -> Juice:
    return Juice(
        liquid=row["liquid"],
        low=_number(row["low"]),
        typical=_number(row["typical"]),
        high=_number(row["high"]),
        unit=row["unit"],
        expressed_as=row["expressed_as"],
        ph_low=_number(row["ph_low"]),
        ph_high=_number(row["ph_high"]),
        main_acids=row["main_acids"],
        source=row["source"],
        basis=row["basis"],
    )


def _compositions() -> dict[str, Composition]:
    parts: dict[str, list[CompositionPart]] = {}
    for row in rows("acid_compositions"):
        band = Band(float(row["low"]), float(row["typical"]), float(row["high"]))
        acid = known("acid_compositions", row["acid"], ACIDS)
        parts.setdefault(row["liquid"], []).append(CompositionPart(acid, band, row["source"], row["basis"]))
    return {name: Composition(name, tuple(found)) for name, found in parts.items()}


JUICES = tuple(_juice(row) for row in rows("juice_acidity"))
COMPOSITIONS: Mapping[str, Composition] = MappingProxyType(_compositions())
