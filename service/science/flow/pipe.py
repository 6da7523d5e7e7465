"""Flow in a round line: friction in every regime, the loss where it begins, the weight of a rise."""

from dataclasses import dataclass, replace
from math import exp, log, pi
from typing import Final, Literal

from service.science.tables import known, number, rows

GRAVITY_M_PER_S2: Final = 9.80665
"""Standard acceleration of free fall; BIPM SI Brochure, exact by definition."""
PA_PER_BAR: Final = 1e5
LAMINAR_TO: Final = 2000.0
"""Reynolds number up to which flow in a pipe is laminar; handbooks print 2,000 to 2,300."""
TURBULENT_FROM: Final = 4000.0
"""Reynolds number from which it is turbulent; in between it may be either, and goes from one to the other."""
ENTRY_HEADS: Final = (1.5, 1.9, 2.3)
"""What a line takes at its beginning, in heads of rho v^2 / 2, low, typical and high: to set the drink moving, and the
steeper profile near the entry. Turbulent past a sharp edge 1.0 + 0.5; laminar 2.0 + 0.28, Shah & London 1978, from
memory."""

Regime = Literal["either", "laminar", "turbulent"]
"""How flow between LAMINAR_TO and TURBULENT_FROM is taken; either is the equation's own way from one to the other."""


@dataclass(frozen=True)
class Material:
    """A material of line. roughness_m: of its wall; usual_inner_diameter_m: where none is stated"""

    roughness_m: float
    usual_inner_diameter_m: float
    basis: str
    source: str


LineMaterial = Literal["vinyl", "polyethylene", "barrier", "steel"]
_NAMES: dict[str, LineMaterial] = {
    "vinyl": "vinyl", "polyethylene": "polyethylene", "barrier": "barrier", "steel": "steel",
}  # fmt: skip
MATERIALS: dict[LineMaterial, Material] = {
    _NAMES[known("line_materials", row["material"], _NAMES)]: Material(
        number("line_materials", row["roughness_mm"]) / 1000.0,
        number("line_materials", row["usual_inner_diameter_mm"]) / 1000.0,
        row["basis"],
        row["source"],
    )
    for row in rows("line_materials")
}
"""By name; source: line_materials.csv, line by line."""


@dataclass(frozen=True)
class Tube:
    """A stretch of line of one diameter, with the drink that runs through it.

    rise_m: of its end over its beginning, below nothing where it falls
    """

    inner_diameter_m: float
    length_m: float
    rise_m: float
    roughness_m: float
    kg_per_m3: float
    pa_s: float

    @property
    def area_m2(self) -> float:
        return pi / 4.0 * self.inner_diameter_m * self.inner_diameter_m

    @property
    def volume_m3(self) -> float:
        return self.area_m2 * self.length_m

    @property
    def rise_bar(self) -> float:
        """Return the pressure that the rise takes: rho g h [bar]."""
        return self.kg_per_m3 * GRAVITY_M_PER_S2 * self.rise_m / PA_PER_BAR

    def reynolds(self, flow_m3_per_s: float) -> float:
        """Return the Reynolds number, 4 rho Q / (pi mu D)."""
        return 4.0 * self.kg_per_m3 * flow_m3_per_s / (pi * self.pa_s * self.inner_diameter_m)

    def head_bar(self, flow_m3_per_s: float) -> float:
        """Return the velocity head, rho v^2 / 2 [bar]."""
        v = flow_m3_per_s / self.area_m2
        return self.kg_per_m3 * v * v / 2.0 / PA_PER_BAR


def friction_factor(reynolds: float, relative_roughness: float, regime: Regime = "either") -> float:
    """Return the friction factor of a round pipe, as Darcy's equation has it.

    f = 8 [(8/Re)^12 + (A + B)^(-3/2)]^(1/12)
    A = [2.457 ln(1 / ((7/Re)^0.9 + 0.27 e/D))]^16,  B = (37530/Re)^16

    reynolds: Re, over 0; relative_roughness: e/D, 0 to 0.05
    regime: of flow between LAMINAR_TO and TURBULENT_FROM; laminar is 64/Re, turbulent the limit 8 A^(-1/8)
    returns: f; below 2,000 within 0.2 % of 64/Re, of Colebrook within 3 % from 4,000 on
    source: Churchill 1977, Chem. Eng. 84(24):91
    """
    A = (2.457 * log(1.0 / ((7.0 / reynolds) ** 0.9 + 0.27 * relative_roughness))) ** 16
    if LAMINAR_TO < reynolds < TURBULENT_FROM and regime != "either":
        return 64.0 / reynolds if regime == "laminar" else float(8.0 * A**-0.125)
    B = (37530.0 / reynolds) ** 16
    return float(8.0 * ((8.0 / reynolds) ** 12 + (A + B) ** -1.5) ** (1.0 / 12.0))


@dataclass(frozen=True)
class Line:
    """Stretches of line one after the other.

    entry_heads: see ENTRY_HEADS
    friction_times: of what the friction factor says, for the ends of a band
    """

    tubes: tuple[Tube, ...]
    regime: Regime = "either"
    entry_heads: float = ENTRY_HEADS[1]
    friction_times: float = 1.0

    @property
    def volume_m3(self) -> float:
        return sum([tube.volume_m3 for tube in self.tubes])

    @property
    def rise_bar(self) -> float:
        """Return the pressure that all the rises take together [bar]."""
        return sum([tube.rise_bar for tube in self.tubes])

    @property
    def highest_bar(self) -> float:
        """Return what the highest end of a stretch takes, at least nothing [bar]: what has to be lifted first."""
        most = so_far = 0.0
        for tube in self.tubes:
            so_far += tube.rise_bar
            most = max(most, so_far)
        return most

    def reynolds(self, flow_m3_per_s: float) -> float:
        """Return the highest Reynolds number in the line."""
        return max([tube.reynolds(flow_m3_per_s) for tube in self.tubes])

    def friction_per_m_bar(self, tube: Tube, flow_m3_per_s: float) -> float:
        """Return the friction of a metre of one stretch, f rho v^2 / (2 D) [bar/m]."""
        roughness = tube.roughness_m / tube.inner_diameter_m
        f = friction_factor(tube.reynolds(flow_m3_per_s), roughness, self.regime)
        return self.friction_times * f * tube.head_bar(flow_m3_per_s) / tube.inner_diameter_m

    def friction_bars(self, flow_m3_per_s: float) -> list[float]:
        """Return the loss of each stretch to friction, and to speed where it is narrower than the one before [bar].

        What a wider stretch slows down is not won back: it goes into eddies (on the safe side).

        flow_m3_per_s: Q [m3/s], over 0
        source: Darcy and Weisbach; the loss at the beginning: see ENTRY_HEADS
        """
        losses, fastest = [], 0.0
        for tube in self.tubes:
            head = tube.head_bar(flow_m3_per_s)
            entry = self.entry_heads * max(0.0, head - fastest)
            losses.append(entry + tube.length_m * self.friction_per_m_bar(tube, flow_m3_per_s))
            fastest = head
        return losses

    def with_last(self, length_m: float) -> "Line":
        """Return the same line with another length of its last stretch."""
        return replace(self, tubes=(*self.tubes[:-1], replace(self.tubes[-1], length_m=length_m)))


LEAST_M3_PER_S: Final = 1e-10
MOST_M3_PER_S: Final = 1e-1
"""Between which a flow is looked for [m3/s]: a drop in an hour, and a fire hose."""
_HALVINGS = 48


def flow_m3_per_s(line: Line, pushing_bar: float, *, at_end_bar: float, at_flow_m3_per_s: float) -> float:
    """Return the flow that a pressure pushes through a line and what is at its end, by halving.

    p = friction(Q) + at_end (Q / Q0)^2

    pushing_bar: p, what is left for the flow once the rises are lifted [bar], over 0
    at_end_bar: what fittings and tap take at the flow Q0 [bar]; as an orifice they take four times as much at twice it
    returns: Q [m3/s], to 1e-12 of itself
    source: balance of pressure
    """
    low, high = log(LEAST_M3_PER_S), log(MOST_M3_PER_S)
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        flow = exp(middle)
        ratio = flow / at_flow_m3_per_s
        if sum(line.friction_bars(flow)) + at_end_bar * ratio * ratio > pushing_bar:
            high = middle
        else:
            low = middle
    return exp(0.5 * (low + high))
