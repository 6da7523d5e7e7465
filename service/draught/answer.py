"""The answer about a line from a keg to its tap."""

from dataclasses import dataclass
from typing import Annotated, Literal

from service.declared import CO2, LENGTH, PRESSURE, VOLUME, Declared, items, shape
from service.draught.yields import Lost
from service.limits.draught import MOST_DAYS, MOST_SEGMENTS
from service.money import Money
from service.science.band import Band

ComesOut = Literal["no", "may", "yes"]


@shape("DraughtFlow")
@dataclass(frozen=True)
class Flow:
    """The flow that the dial pushes through the line and its tap."""

    pour_s: Annotated[Band, "For the glass that is asked for."]
    litres_per_min: Declared[Band]
    reynolds: Annotated[Band, "The highest in the line: smooth up to 2,000, turbulent from 4,000."]


@shape("DraughtLosses")
@dataclass(frozen=True)
class Losses:
    """The pressure that the line takes at the asked flow."""

    friction_bar: Annotated[Band, PRESSURE, "With the entry of the line, and of each stretch narrower than the last."]
    rise_bar: Annotated[float, PRESSURE, "Below nothing where the tap lies under the keg."]
    fittings_bar: Annotated[float, PRESSURE]


@shape("DraughtBreakout")
@dataclass(frozen=True)
class Breakout:
    """The pressure at the end of a stretch against the one below which CO2 comes out there.

    comes_out: no where the margin is above nothing; yes where it is below, and it is not the last stretch, or CO2 comes
    out there with the tap shut; may in between. In the last stretch of every line the pressure falls to the tap's,
    while it pours.
    """

    segment: Annotated[int, "In the order of the request, from 0."]
    margin_bar: Annotated[Band, PRESSURE, "At the asked flow."]
    comes_out: Declared[ComesOut]


@shape("DraughtGasMix")
@dataclass(frozen=True)
class GasMix:
    """A mix of CO2 and nitrogen."""

    co2_percent: Annotated[
        Band | None,
        "Holds the target at the stated dial, or else at the dial that the line needs for the pour; absent where CO2 "
        "alone is too little there.",
    ]
    co2_g_per_l: Annotated[Band | None, CO2, "The level that the stated gas comes to; absent without one."]


@dataclass(frozen=True)
class DayLevel:
    """The level in the keg at the end of a day, the first of which is 1."""

    day: Declared[int]
    co2_g_per_l: Annotated[Band, CO2]


@shape("DraughtLineBody")
@dataclass(frozen=True)
class DraughtLine:
    """The effect of a dial on a line: its pour, its losses, where CO2 comes out, and what the keg gives.

    never_over_bar: the highest dial that the keg bears, or where none is named a usual one [bar gauge]
    rest_gauge_bar: of the keg at rest with its gas shut, while it holds the target; None under a mix, which adds to it
    pour_ml, target_g_per_l, keg_c, temperatures_c: as asked for, or the usual; of each stretch the last
    """

    gauge_pressure_bar: Annotated[Band, PRESSURE, "The dial: as stated, or the one that holds the target."]
    flow: Declared[Flow]
    losses: Declared[Losses]
    at_tap_bar: Annotated[Band, PRESSURE, "Left at the asked flow; below nothing where the dial cannot push so much."]
    balanced_length_m: Annotated[
        Band | None, LENGTH,
        "Of the last stretch, with which the dial pours as asked; absent where no length of it does.",
    ]  # fmt: skip
    breakout: Annotated[tuple[Breakout, ...], items(MOST_SEGMENTS)]
    gas_mix: Annotated[GasMix | None, "Absent where there is nothing to tell."]
    line_volume_ml: Annotated[float, VOLUME]
    glasses_per_keg: Annotated[Band, "Whole ones; of cleaning only what serves_per_day tells."]
    lost: Declared[Lost]
    days_on_tap: Annotated[Band | None, "At serves_per_day."]
    cost_lost: Annotated[Money | None, "Of what one keg loses, cleaning while it is on tap included."]
    co2_g_per_l: Annotated[Band, CO2, "What the keg comes to at this dial and gas, at rest."]
    by_day: Annotated[tuple[DayLevel, ...], items(MOST_DAYS), "From the target on, unshaken, while the keg lasts."]
    never_over_bar: float
    rest_gauge_bar: float | None
    pour_ml: float
    target_g_per_l: float
    keg_c: float
    temperatures_c: tuple[float, ...]
