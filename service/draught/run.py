"""The drink on its way from the keg to the tap: what the line takes, and what is left of the dial."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from service import safety
from service.draught.asked import Segment
from service.drink import Drink
from service.errors import Fact, Fault, Nearest, Refusals, Refused, Term, within_validity
from service.limits.draught import DIAMETER_ERROR_M, FRICTION_ERROR, LENGTH_ERROR
from service.notes import Notes
from service.science.band import Band, combine
from service.science.flow import (
    ENTRY_HEADS,
    MATERIALS,
    Line,
    Tube,
    flow_m3_per_s,
    viscosity_pa_s,
    viscosity_spread,
)
from service.science.units import Quantity


@dataclass(frozen=True)
class Run:
    """A line with the drink in it, and the glass that is asked of it.

    temperatures_c, spreads: of the drink in each stretch, and how well its viscosity is known
    pour_ml, lasts_s: the glass, and how long it is to take
    fittings_bar, tap_bar: what they take at that flow
    """

    line: Line
    temperatures_c: tuple[float, ...]
    spreads: tuple[float, ...]
    pour_ml: float
    lasts_s: float
    fittings_bar: float
    tap_bar: float

    @property
    def flow_m3_per_s(self) -> float:
        """Return the asked flow."""
        return 1e-6 * self.pour_ml / self.lasts_s

    @cached_property
    def ends(self) -> tuple[tuple[Line, Line], ...]:
        """Return the line at both ends of each thing that is uncertain about it."""
        line, tubes = self.line, self.line.tubes
        thin, thick = (self._with_viscosity(sign) for sign in (-1.0, 1.0))
        narrow, wide = (
            replace(line, tubes=tuple(replace(t, inner_diameter_m=t.inner_diameter_m + off) for t in tubes))
            for off in (-DIAMETER_ERROR_M, DIAMETER_ERROR_M)
        )
        short, long = (
            replace(line, tubes=tuple(replace(t, length_m=t.length_m * times) for t in tubes))
            for times in (1.0 - LENGTH_ERROR, 1.0 + LENGTH_ERROR)
        )
        easy, hard = (replace(line, friction_times=1.0 + off) for off in (-FRICTION_ERROR, FRICTION_ERROR))
        slight, full = (replace(line, entry_heads=heads) for heads in (ENTRY_HEADS[0], ENTRY_HEADS[2]))
        smooth, rough = replace(line, regime="laminar"), replace(line, regime="turbulent")
        return (thin, thick), (narrow, wide), (short, long), (easy, hard), (slight, full), (smooth, rough)

    def _with_viscosity(self, sign: float) -> Line:
        """Return the line with the drink as thin or as thick as it may be."""
        pairs = zip(self.line.tubes, self.spreads, strict=True)
        return replace(self.line, tubes=tuple(replace(t, pa_s=t.pa_s * (1.0 + sign * by)) for t, by in pairs))

    def band(self, of: Callable[[Line], float], *more: tuple[float, float]) -> Band:
        """Return a figure of the line with what is uncertain about it.

        more: both ends of the figure by causes that lie outside the line
        """
        return combine(of(self.line), [*((of(one), of(other)) for one, other in self.ends), *more])

    def friction_bar(self, line: Line) -> float:
        """Return what friction and entry take at the asked flow [bar]."""
        return sum(line.friction_bars(self.flow_m3_per_s))

    def needed_bar(self, line: Line) -> float:
        """Return the dial that the asked flow takes [bar gauge]."""
        return self.friction_bar(line) + line.rise_bar + self.fittings_bar + self.tap_bar

    def left_bar(self, line: Line, number: int, dial_bar: float) -> float:
        """Return the pressure at the end of a stretch while it pours as asked [bar gauge]. number: from 0"""
        taken = sum(line.friction_bars(self.flow_m3_per_s)[: number + 1])
        return dial_bar - taken - sum(tube.rise_bar for tube in line.tubes[: number + 1])

    def at_tap_bar(self, line: Line, dial_bar: float) -> float:
        """Return the pressure that is left at the tap while it pours as asked; below nothing where it cannot [bar]."""
        return dial_bar - self.friction_bar(line) - line.rise_bar - self.fittings_bar

    def pushed_m3_per_s(self, line: Line, dial_bar: float) -> float:
        """Return the flow that a dial pushes, which lifts the drink through all rises [m3/s]."""
        at_end = self.fittings_bar + self.tap_bar
        return flow_m3_per_s(line, dial_bar - line.rise_bar, at_end_bar=at_end, at_flow_m3_per_s=self.flow_m3_per_s)

    def balanced_m(self, line: Line, dial_bar: float) -> float:
        """Return the length of the last stretch with which a dial pours as asked [m]; 0 where there is none."""
        spare_bar = dial_bar - self.needed_bar(line.with_last(0.0))
        return max(0.0, spare_bar / line.friction_per_m_bar(line.tubes[-1], self.flow_m3_per_s))


def line_of(drink: Drink, segments: Sequence[Segment], keg_c: float, notes: Notes) -> tuple[Line, tuple[float, ...]]:
    """Return the line with its gaps filled, and the temperature of the drink in each stretch.

    raises: Refused, SeveralRefused for a stretch that cannot be, or a temperature at which nothing is known
    """
    refusals = Refusals()
    tubes: list[Tube] = []
    temperatures_c: list[float] = []
    for i, segment in enumerate(segments):
        at = f"/segments/{i}"
        here_c = keg_c if segment.temperature_c is None else segment.temperature_c
        with refusals.gather():
            _check_rise(segment, at)
        with refusals.gather():
            safety.check_computable(drink, here_c, at=f"{at}/temperature")
        temperatures_c.append(safety.computable_c(drink, here_c))
        with refusals.gather(), within_validity("/drink"):
            tubes.append(_tube(drink, segment, temperatures_c[-1], at, notes))
    refusals.raise_any()
    return Line(tuple(tubes)), tuple(temperatures_c)


def _check_rise(segment: Segment, at: str) -> None:
    """Refuse a stretch that rises or falls by more than it is long.

    raises: Refused ("impossible-line")
    """
    if abs(segment.rise_m) <= segment.length_m + 1e-9:  # what a change of units may add
        return
    rise, length = Quantity("length", segment.rise_m), Quantity("length", segment.length_m)
    text = "A stretch of {length} cannot rise or fall by {rise}."
    fault = Fault(f"{at}/rise", "rise-over-length", text, (("rise", rise), ("length", length)))
    nearest = [Nearest(f"{at}/length", Quantity("length", abs(segment.rise_m)))]
    raise Refused("impossible-line", [fault], facts=[Fact("rise", rise), Fact("length", length)], nearest=nearest)


def _tube(drink: Drink, segment: Segment, temperature_c: float, at: str, notes: Notes) -> Tube:
    """Return one stretch with the drink in it.

    raises: OutsideValidity
    """
    material = MATERIALS[segment.material]
    diameter_m = segment.inner_diameter_m
    if diameter_m is None:
        diameter_m = material.usual_inner_diameter_m
        notes.assume(
            "inner diameter of a line of {material}", Quantity("length", diameter_m), "common-practice",
            "measure yours", at=f"{at}/inner_diameter", material=Term(segment.material),
        )  # fmt: skip
    return Tube(
        inner_diameter_m=diameter_m,
        length_m=segment.length_m,
        rise_m=segment.rise_m,
        roughness_m=material.roughness_m,
        kg_per_m3=1000.0 * drink.masses.total_g / drink.volume_ml_at(temperature_c),
        pa_s=viscosity_pa_s(drink.masses, temperature_c),
    )


def spreads_of(drink: Drink, temperatures_c: Sequence[float]) -> tuple[float, ...]:
    """Return how well the viscosity of the drink is known in each stretch, relative half-width."""
    return tuple(viscosity_spread(drink.masses, t) for t in temperatures_c)
