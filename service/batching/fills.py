"""Vessels as the batch fills them, and the whole serves that each of them pours."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import ceil, floor
from typing import Annotated

from service.declared import VOLUME, Declared, number, text
from service.vessel import FillShare, Vessel, VesselGiven

NOISE = 1e-9
"""Relative; a volume that is a whole number of serves but for binary fractions counts as that number."""
WHOLE_SERVES = "Whole pours, each from one vessel, that the vessels give."
HEEL = "Left in each vessel after its whole serves."


@dataclass(frozen=True)
class WholeServes:
    """So many serves, each a whole pour from one vessel: the batch is what fills the vessels that give them."""

    count: Annotated[int, number(low=1, high=100_000), "Whole serves, at least."]
    vessel: Annotated[VesselGiven | None, "The usual bottle unless stated; on a prep sheet, the sheet's."] = None
    fill: FillShare = None


@dataclass(frozen=True)
class Fill:
    """So many vessels, each with so much liquid and headspace."""

    each: Vessel
    count: Declared[int]
    liquid_ml: Annotated[float, VOLUME]
    headspace_ml: Annotated[float, VOLUME]

    @property
    def vessel(self) -> Annotated[str, text(100)]:
        """Name of its kind."""
        return self.each.name

    def scaled(self, ratio: float) -> "Fill":
        """Return the same vessels with more or less in them."""
        return replace(
            self, liquid_ml=self.liquid_ml * ratio, headspace_ml=self.each.capacity_ml - self.liquid_ml * ratio
        )

    def pours(self, serve_ml: float) -> int:
        """Return the whole serves that one of these vessels gives; serve_ml: of one, losses included."""
        return floor(self.liquid_ml / serve_ml * (1.0 + 2.0 * NOISE))

    def heel_ml(self, serve_ml: float) -> float:
        """Return the liquid that is left in each vessel after its whole serves."""
        return max(0.0, self.liquid_ml - self.pours(serve_ml) * serve_ml)


def whole_serves_of(fills: Sequence[Fill], serve_ml: float) -> int:
    """Return the whole serves that all these vessels give; serve_ml: of one, losses included."""
    return sum(fill.count * fill.pours(serve_ml) for fill in fills)


def fills_for(volume_ml: float, vessel: Vessel, fill: float) -> Fill:
    """Return the fewest vessels that hold a volume without exceeding a fill, filled evenly.

    volume_ml: liquid [ml], above 0
    fill: wanted, as a share of brimful [-]
    returns: count, liquid and headspace of each [ml]
    """
    count = max(1, ceil(volume_ml / vessel.liquid_ml(fill) * (1.0 - NOISE)))
    liquid_ml = volume_ml / count
    return Fill(vessel, count, liquid_ml, vessel.capacity_ml - liquid_ml)
