"""CO2 in the air of a room, and what bodies of occupational health allow of it."""

from dataclasses import dataclass

from service.science.constants import CO2_G_PER_MOL, GAS_CONSTANT_L_BAR, ZERO_CELSIUS_K
from service.science.tables import rows
from service.science.validity import OutsideValidity


@dataclass(frozen=True)
class ExposureLimit:
    """One limit: whose, which of theirs, the share by volume [ppm] and the time it is averaged over."""

    body: str
    limit: str
    ppm: float
    averaging: str
    basis: str
    source: str


EXPOSURE_LIMITS = tuple(
    ExposureLimit(
        row["body"], row["limit"], float(row["ppm"]), row["averaging"], row["basis"], row["source"]
    )
    for row in rows("exposure_limits")
)  # fmt: skip
"""From the lowest to the highest."""
ALL_PPM = 1e6


def room_ppm(co2_g: float, *, room_l: float, temperature_c: float, pressure_bar_abs: float) -> float:
    """Share of a closed room that an escape of CO2 takes up, spread evenly over all of it.

    1e6 n R T / (P V), in addition to what the air held before

    temperature_c: of the room [degC], -40 to 60
    returns: [ppm by volume]; past ALL_PPM the gas is more than the room
    raises: OutsideValidity
    source: ideal gas law, within 1 % at one atmosphere
    """
    if not -40.0 <= temperature_c <= 60.0:
        raise OutsideValidity("temperature", temperature_c, -40.0, 60.0, "degC")
    if not (room_l > 0.0 and pressure_bar_abs > 0.0):
        raise ValueError(f"no room to escape into: {room_l} L at {pressure_bar_abs} bar")
    gas_l = co2_g / CO2_G_PER_MOL * GAS_CONSTANT_L_BAR * (temperature_c + ZERO_CELSIUS_K) / pressure_bar_abs
    return ALL_PPM * gas_l / room_l
