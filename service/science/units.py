"""Units of measurement: one exact factor table per kind, and a quantity tagged with its kind.

Inside the service every quantity is a float in the base unit of its kind: ml, g, bar, c, s, g/l, m, meq/l.
source: NIST Handbook 44 Appendix C and NIST SP 811 (2008) Appendix B; UK Weights and Measures Act 1985
Schedule 1 (imperial); BIPM SI Brochure. Barspoon, dash and drop: common practice, no source.
"""

from dataclasses import dataclass
from typing import Literal

from service.science.constants import CO2_VOLUME_G_PER_L

Kind = Literal[
    "volume", "mass", "pressure", "temperature", "duration", "co2", "sugar", "length", "acidity", "density", "salt"
]
UnitSystem = Literal["metric", "us"]

_US_GALLON_ML = 3785.411784  # 231 cubic inches, exact
_POUND_G = 453.59237  # exact, international pound
_PSI_BAR = 453.59237e-3 * 9.80665 / 0.0254**2 / 1e5  # pound-force per square inch, exact
_INHG_BAR = 0.0254 * 13595.1 * 9.80665 / 1e5  # conventional inch of mercury, of 13595.1 kg/m3; NIST SP 811 Appendix B

FACTORS: dict[str, dict[str, float]] = {
    "volume": {
        "ml": 1.0,
        "cl": 10.0,
        "l": 1000.0,
        "oz": _US_GALLON_ML / 128,
        "oz_imp": 28.4130625,
        "cup_us": _US_GALLON_ML / 16,
        "pint_us": _US_GALLON_ML / 8,
        "qt_us": _US_GALLON_ML / 4,
        "gal_us": _US_GALLON_ML,
        "dash": 0.9,  # common practice, no source: 0.6 to 1.0 ml in use
        "barspoon": 3.75,  # common practice, no source: 2.5 to 5 ml in use
        "drop": 0.05,  # pharmacy convention of 20 drops per ml
    },
    "mass": {"g": 1.0, "kg": 1000.0, "oz_av": _POUND_G / 16, "lb": _POUND_G},
    "pressure": {"bar": 1.0, "kpa": 0.01, "psi": _PSI_BAR, "hpa": 0.001, "inhg": _INHG_BAR},
    "duration": {"s": 1.0, "min": 60.0, "h": 3600.0, "d": 86400.0},
    "co2": {"g/l": 1.0, "volumes": CO2_VOLUME_G_PER_L},
    "sugar": {"g/l": 1.0},
    "length": {"m": 1.0, "ft": 0.3048, "mm": 0.001, "in": 0.0254},
    "acidity": {"meq/l": 1.0},
    "density": {"g/ml": 1.0},
    "salt": {"g/l": 1.0},
}
"""Multiply by the factor to reach the base unit. Temperature, brix and acids as g/l are not factors."""

_SI = "BIPM SI Brochure"
_US_VOLUME = "NIST Handbook 44, Appendix C: the US gallon is 231 cubic inches, exactly"
UNIT_SOURCES: dict[str, dict[str, str]] = {
    "volume": {
        **dict.fromkeys(("ml", "cl", "l"), _SI),
        **dict.fromkeys(("oz", "cup_us", "pint_us", "qt_us", "gal_us"), _US_VOLUME),
        "oz_imp": "UK Weights and Measures Act 1985, Schedule 1: the gallon is 4.54609 dm3, exactly",
    },
    "mass": {
        **dict.fromkeys(("g", "kg"), _SI),
        **dict.fromkeys(("oz_av", "lb"), "NIST Handbook 44, Appendix C: the pound is 453.59237 g, exactly"),
    },
    "pressure": {
        **dict.fromkeys(("bar", "kpa", "hpa"), _SI),
        "psi": "NIST SP 811 (2008), Appendix B: the pound-force on a square inch",
        "inhg": "NIST SP 811 (2008), Appendix B: the conventional inch of mercury, of 13595.1 kg/m3",
    },
    "temperature": {"c": _SI, "f": "NIST SP 811 (2008), Appendix B"},
    "duration": dict.fromkeys(FACTORS["duration"], _SI),
    "co2": {"g/l": _SI, "volumes": "IUPAC-NIST Solubility Database, SRD 106, note c: gas at 0 degC and 1 atm"},
    "sugar": {"g/l": _SI},
    "length": {
        **dict.fromkeys(("m", "mm"), _SI),
        **dict.fromkeys(("ft", "in"), "NIST SP 811 (2008), Appendix B: the international foot is 0.3048 m, exactly"),
    },
    "acidity": {"meq/l": _SI},
    "density": {"g/ml": _SI},
    "salt": {"g/l": _SI},
}
"""What the factors rest on; a unit that is missing is common practice, no source."""

ANSWER_UNITS: dict[UnitSystem, dict[str, str]] = {
    "metric": {
        "volume": "ml",
        "mass": "g",
        "pressure": "bar",
        "temperature": "c",
        "duration": "min",
        "co2": "g/l",
        "sugar": "g/l",
        "length": "m",
        "acidity": "meq/l",
        "density": "g/ml",
        "salt": "g/l",
    },
    "us": {
        "volume": "oz",
        "mass": "g",
        "pressure": "psi",
        "temperature": "f",
        "duration": "min",
        "co2": "volumes",
        "sugar": "g/l",
        "length": "ft",
        "acidity": "meq/l",
        "density": "g/ml",
        "salt": "g/l",
    },
}


@dataclass(frozen=True)
class Quantity:
    """A number in the base unit of its kind, for places that carry mixed kinds (messages, facts).

    shown: where its last printed digit goes; a limit never rounds to its unsafe side
    """

    kind: Kind
    value: float
    shown: Literal["nearest", "down", "up"] = "nearest"


def to_base(kind: str, value: float, unit: str) -> float:
    """Value in the base unit of its kind.

    raises: KeyError for a unit that is not of this kind
    """
    if kind == "temperature":
        return value if unit == "c" else (value - 32.0) / 1.8
    return value * FACTORS[kind][unit]


def from_base(kind: str, value: float, unit: str) -> float:
    """Inverse of `to_base`."""
    if kind == "temperature":
        return value if unit == "c" else value * 1.8 + 32.0
    return value / FACTORS[kind][unit]
