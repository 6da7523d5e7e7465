"""Readings on the bench, and the same of a value of the constant."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from math import inf
from typing import Literal

from service.regas.calibrating.asked import Kind, Reading
from service.science.constants import CO2_G_PER_MOL
from service.science.gas import Liquid
from service.science.vessel import (
    State,
    above_still_g_per_l,
    checked,
    fill_headspace,
    on_regulator,
    open_to_air,
    poured_level_mol_per_l,
    pressure_bar_abs,
    rest_closed,
    shake_connected,
    stand_open,
    totals,
)
from service.setting import Setting


@dataclass(frozen=True)
class Bench:
    """The readings, and all that is known beside them; an error of an instrument makes another bench.

    liquid: the drink as the model has it, at the temperature of the readings
    foam_share: that foams out on opening, see `service.science.vessel.foam_loss`
    poured_l: each glass of a pour [L]
    """

    setting: Setting
    liquid: Liquid
    readings: tuple[Reading, ...]
    foam_share: float
    poured_l: float = 0.0

    @property
    def is_weighed(self) -> bool:
        return self.readings[-1].is_weighed

    @cached_property
    def flat(self) -> State:
        """Vessel as first weighed: its air out, and CO2 in its place at the air pressure where it kept its shape.

        A soft bottle that was squeezed has no gas to speak of.
        """
        flat = self.setting.flat(self.liquid)
        if self.setting.air.method == "squeezed":
            return flat
        filled, _ = fill_headspace(flat, pressure_bar_abs=self.setting.ambient_bar)
        return filled

    def gained_g(self, reading: Reading) -> float:
        """Return the CO2 since the vessel was first weighed, by the scale."""
        return reading.gained_g + self.setting.swelling_g

    def at_rest(self, liquid: Liquid, gauge_bar: float) -> tuple[float, float]:
        """Return CO2 in the headspace [mol] and level of the drink [mol/L] of the vessel at rest under this gauge."""
        return on_regulator(
            liquid, liquid_l=self.setting.liquid_l, headspace_l=self.setting.headspace_l, air_mol=self.flat.air_mol,
            pressure_bar_abs=gauge_bar + self.setting.ambient_bar,
        )  # fmt: skip

    def state(self, gas_mol: float, level: float) -> State:
        return checked(self.flat.holding(level, gas_mol))


@dataclass(frozen=True)
class Compared:
    """A number measured at each reading after the start, and the same of a value of the constant.

    kind: of both: a gauge pressure [bar], or CO2 gained or lost [g]
    """

    kind: Literal["pressure", "mass"]
    readings: tuple[Reading, ...]
    measured: tuple[float, ...]
    fitted: Callable[[float], Sequence[float]]

    def residuals(self, value: float) -> list[float]:
        """Return what is measured less what is fitted."""
        return [m - f for m, f in zip(self.measured, self.fitted(value), strict=True)]


def compared(kind: Kind, bench: Bench) -> Compared:
    """Return the readings beside what the closed-vessel model makes of them."""
    if kind == "solubility":
        return _solubility(bench)
    if kind == "uptake":
        return _uptake_weighed(bench) if bench.is_weighed else _uptake_closed(bench)
    if kind == "pour":
        return _pour_weighed(bench) if bench.is_weighed else _pour_gauged(bench)
    return _loss_weighed(bench) if bench.is_weighed else _loss_reclosed(bench)


def _solubility(bench: Bench) -> Compared:
    """Compare the CO2 gained, of a factor on the solubility: m = M (cap pc + f s VL pc), less what was there before.

    raises: OutsideValidity
    """
    setting, before_mol = bench.setting, totals(bench.flat)[0]

    def fitted(factor: float) -> list[float]:
        liquid = bench.liquid.scaled(factor)
        held = (bench.at_rest(liquid, reading.gauge) for reading in bench.readings)
        return [CO2_G_PER_MOL * (gas_mol + level * setting.liquid_l - before_mol) for gas_mol, level in held]

    return Compared("mass", bench.readings, tuple(map(bench.gained_g, bench.readings)), fitted)


def _uptake_weighed(bench: Bench) -> Compared:
    """Compare the CO2 gained, shaken so long on the regulator at the dial read, of an uptake coefficient [1/s]."""
    had_mol = bench.flat.gas_co2_mol
    empty = bench.flat.holding(bench.flat.dissolved_co2_mol_per_l, 0.0)

    def fitted(per_s: float) -> list[float]:
        used = (
            shake_connected(
                empty, pressure_bar_abs=r.gauge + bench.setting.ambient_bar, seconds=r.at_s, uptake_per_s=per_s
            )[1]
            for r in bench.readings
        )
        return [CO2_G_PER_MOL * (mol - had_mol) for mol in used]

    return Compared("mass", bench.readings, tuple(map(bench.gained_g, bench.readings)), fitted)


def started(bench: Bench) -> State:
    """Return the vessel off the regulator, not shaken yet: its gas by the gauge, its drink flat unless weighed."""
    gas_mol, _ = bench.at_rest(bench.liquid, bench.readings[0].gauge)
    # less than nothing is refused before; but where an instrument's error is tried it may come out so
    return bench.state(gas_mol, max(0.0, start_level(bench, gas_mol)))


def start_level(bench: Bench, gas_mol: float) -> float:
    """Return the level of the drink before it is shaken closed [mol/L]: weighed, less what the headspace holds."""
    start, had_mol = bench.readings[0], totals(bench.flat)[0]
    if not start.is_weighed:
        return bench.flat.dissolved_co2_mol_per_l
    return (had_mol + bench.gained_g(start) / CO2_G_PER_MOL - gas_mol) / bench.setting.liquid_l


def _uptake_closed(bench: Bench) -> Compared:
    """Compare the gauge of the closed vessel after so much shaking, of an uptake coefficient [1/s]."""
    start, later = started(bench), bench.readings[1:]

    def fitted(per_s: float) -> list[float]:
        states = (rest_closed(start, seconds=reading.at_s, uptake_per_s=per_s) for reading in later)
        return [pressure_bar_abs(state) - bench.setting.ambient_bar for state in states]

    return Compared("pressure", later, tuple(reading.gauge for reading in later), fitted)


def rested(bench: Bench) -> State:
    """Return the closed vessel at rest, before it is first opened."""
    return bench.state(*bench.at_rest(bench.liquid, bench.readings[0].gauge))


def _loss_weighed(bench: Bench) -> Compared:
    """Compare the CO2 lost standing open since it was weighed just after opening, of a loss rate [1/s]."""
    ambient, later = bench.setting.ambient_bar, bench.readings[1:]
    opened, _ = open_to_air(rested(bench), ambient_bar=ambient, foam_loss=bench.foam_share)

    def fitted(per_s: float) -> list[float]:
        lost = (stand_open(opened, seconds=r.at_s, loss_per_s=per_s, ambient_bar=ambient)[1] for r in later)
        return [CO2_G_PER_MOL * mol for mol in lost]

    return Compared("mass", later, tuple(-reading.gained_g for reading in later), fitted)


def _loss_reclosed(bench: Bench) -> Compared:
    """Compare the gauge at rest each time it was closed again, of a loss rate [1/s]; each opening vents it."""
    ambient, later = bench.setting.ambient_bar, bench.readings[1:]
    waits = [now.at_s - before.at_s for before, now in zip(bench.readings, later, strict=False)]

    def fitted(per_s: float) -> list[float]:
        state, gauges = rested(bench), []
        for wait_s in waits:
            opened, _ = open_to_air(state, ambient_bar=ambient, foam_loss=bench.foam_share)
            stood, _ = stand_open(opened, seconds=wait_s, loss_per_s=per_s, ambient_bar=ambient)
            state = rest_closed(stood, seconds=inf, uptake_per_s=1.0)
            gauges.append(pressure_bar_abs(state) - ambient)
        return gauges

    return Compared("pressure", later, tuple(reading.gauge for reading in later), fitted)


def _opened(bench: Bench) -> State:
    """Return the vessel just opened for a pour."""
    return open_to_air(rested(bench), ambient_bar=bench.setting.ambient_bar, foam_loss=bench.foam_share)[0]


def _pour_weighed(bench: Bench) -> Compared:
    """Compare the CO2 that vessel and glass lose together when poured, of a share lost: m = M phi (c - c1) V."""
    above_g_per_l = above_still_g_per_l(_opened(bench), ambient_bar=bench.setting.ambient_bar)
    most_g = above_g_per_l * bench.poured_l
    later = bench.readings[1:]
    return Compared("mass", later, tuple(-r.gained_g for r in later), lambda share: [share * most_g] * len(later))


def _pour_gauged(bench: Bench) -> Compared:
    """Compare the gauge of a second such vessel that the pour went into, closed and shaken to rest, of a share lost."""
    opened, later, ambient = _opened(bench), bench.readings[1:], bench.setting.ambient_bar
    setting = replace(bench.setting, fill=1000.0 * bench.poured_l / bench.setting.vessel.capacity_ml)
    second = setting.flat(bench.liquid)

    def fitted(share: float) -> list[float]:
        level = poured_level_mol_per_l(opened, loss_share=min(1.0, share), ambient_bar=ambient)
        rest = rest_closed(checked(second.holding(level, 0.0)), seconds=inf, uptake_per_s=1.0)
        return [pressure_bar_abs(rest) - ambient] * len(later)

    return Compared("pressure", later, tuple(reading.gauge for reading in later), fitted)
