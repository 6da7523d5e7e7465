"""The contents of a closed vessel, and how they divide between drink and gas once everything is at rest."""

from dataclasses import dataclass
from math import inf, sqrt

from service.science.constants import CO2_G_PER_MOL, GAS_CONSTANT_L_BAR, ZERO_CELSIUS_K
from service.science.gas import Liquid, partial_pressures_bar, settle
from service.science.validity import OutsideValidity

FULLEST_PERCENT = 99.0
"""Fullest that the model covers: over it the drink, which swells by 1 % on warming at 40 %vol, takes the headspace."""


@dataclass(frozen=True)
class Contents:
    """Totals over both phases."""

    liquid: Liquid
    liquid_l: float
    headspace_l: float
    co2_mol: float
    air_mol: float

    def __post_init__(self) -> None:
        check_fill(self.liquid_l, self.headspace_l)
        if not (self.co2_mol >= 0.0 and self.air_mol >= 0.0):
            raise ValueError(f"less than nothing in the vessel: CO2 {self.co2_mol} mol, air {self.air_mol} mol")


@dataclass(frozen=True)
class Balance:
    """Full equilibrium of a closed vessel."""

    pressure_bar_abs: float
    co2_bar: float
    air_bar: float
    vapour_bar: float
    co2_mol_per_l: float
    air_mol_per_l: float
    headspace_l: float
    exchange_ratio: float
    """Dissolved over gaseous CO2; a closed vessel settles 1 + this times as fast as a connected one."""

    @property
    def co2_g_per_l(self) -> float:
        """CO2 level of the drink [g/L]."""
        return self.co2_mol_per_l * CO2_G_PER_MOL


def check_fill(liquid_l: float, headspace_l: float) -> None:
    """Refuse a vessel without a gas cushion.

    raises: OutsideValidity
    """
    room_l = liquid_l + headspace_l
    if not (liquid_l >= 0.0 and headspace_l > 0.0 and liquid_l <= FULLEST_PERCENT / 100.0 * room_l):
        fill = 100.0 * liquid_l / room_l if room_l > 0.0 else 100.0
        raise OutsideValidity("fill", fill, 0.0, FULLEST_PERCENT, "%")


def balance(contents: Contents, *, ambient_bar: float | None = None, soft: bool = False) -> Balance:
    """Divide CO2 and air between drink and gas as they lie once the closed vessel is at rest.

    pc = nC / (cap + s VL),  pa = nA / (cap + Kair VL),  P = pc + pa + pv,  cap = VH / (Z R T)

    soft: the wall gives way, so that P cannot fall below ambient_bar; the headspace shrinks instead, to nothing if
        all gas dissolves
    ambient_bar: atmospheric pressure [bar], needed when soft
    raises: OutsideValidity, above all beyond the pressure limit of the gas equations
    source: mass balance; coefficients from `service.science.gas`
    """
    rigid = _rigid(contents)
    if not soft:
        return rigid
    if ambient_bar is None:
        raise ValueError("a soft vessel needs ambient_bar")
    return rigid if rigid.pressure_bar_abs >= ambient_bar else _collapsed(contents, ambient_bar)


def _rigid(contents: Contents) -> Balance:
    liquid, liquid_l, headspace_l = contents.liquid, contents.liquid_l, contents.headspace_l
    co2_bar, air_bar = pressures_at_rest_bar(
        liquid, liquid_l=liquid_l, headspace_l=headspace_l, co2_mol=contents.co2_mol, air_mol=contents.air_mol
    )
    pressure = co2_bar + air_bar + liquid.vapour_bar
    cap = headspace_l / (liquid.gas.z(pressure, co2_bar / pressure) * liquid.gas.rt)
    return _balance(liquid, liquid_l, pressure, co2_bar, air_bar, cap)


def pressures_at_rest_bar(
    liquid: Liquid, *, liquid_l: float, headspace_l: float, co2_mol: float, air_mol: float
) -> tuple[float, float]:
    """Partial pressures of CO2 and air in a rigid closed vessel at rest [bar], see `balance`; for loops.

    raises: OutsideValidity
    """
    return partial_pressures_bar(
        liquid, co2_mol=co2_mol, in_gas_l=headspace_l, in_liquid_l=liquid_l,
        air_mol=air_mol, air_in_gas_l=headspace_l, air_in_liquid_l=liquid_l,
    )  # fmt: skip


def _collapsed(contents: Contents, ambient_bar: float) -> Balance:
    """The headspace that leaves the gas at ambient pressure.

    nC / (cap + a) + nA / (cap + b) = ambient - pv, a = s VL, b = Kair VL: a quadratic in cap
    """
    liquid, liquid_l, co2_mol, air_mol = contents.liquid, contents.liquid_l, contents.co2_mol, contents.air_mol
    dry, b, cap = ambient_bar - liquid.vapour_bar, liquid.air_solubility * liquid_l, 0.0

    def step(_: float, share: float) -> tuple[float, float]:
        nonlocal cap
        a = liquid.solubility(ambient_bar, share) * liquid_l
        half = (dry * (a + b) - co2_mol - air_mol) / 2.0
        rest = co2_mol * b + air_mol * a - dry * a * b  # above 0 unless the liquid can take it all
        root = sqrt(max(0.0, half * half + dry * rest))
        cap = 0.0 if rest < 0.0 else rest / (half + root) if half > 0.0 else (root - half) / dry
        return co2_mol / (cap + a), air_mol / (cap + b)

    co2_bar, air_bar = settle(liquid.vapour_bar, step)
    return _balance(liquid, liquid_l, ambient_bar, co2_bar, air_bar, cap)


def _balance(liquid: Liquid, liquid_l: float, pressure: float, co2_bar: float, air_bar: float, cap: float) -> Balance:
    share = co2_bar / (co2_bar + air_bar + liquid.vapour_bar)
    s = liquid.solubility(pressure, share)
    return Balance(
        pressure_bar_abs=pressure,
        co2_bar=co2_bar,
        air_bar=air_bar,
        vapour_bar=liquid.vapour_bar,
        co2_mol_per_l=s * co2_bar,
        air_mol_per_l=liquid.air_solubility * air_bar,
        headspace_l=cap * liquid.gas.z(pressure, share) * liquid.gas.rt,
        exchange_ratio=s * liquid_l / cap if cap > 0.0 else inf,
    )


def air_to_start_mol(
    liquid: Liquid, *, liquid_l: float, headspace_l: float, ambient_bar: float, saturation: float = 1.0
) -> float:
    """Air in a vessel when it is capped, headspace and drink together.

    headspace_l: volume of air left over the drink [L]; of a squeezed bottle only what remains, of a purged one
        use `purge_factor` on `headspace_air_mol`
    saturation: how far the drink is saturated with air, 0 to 1 (1: an aerated batch)
    returns: [mol]
    raises: OutsideValidity
    """
    in_drink = dissolved_air_mol(liquid, liquid_l=liquid_l, ambient_bar=ambient_bar, saturation=saturation)
    return headspace_air_mol(liquid, headspace_l=headspace_l, ambient_bar=ambient_bar) + in_drink


def headspace_air_mol(liquid: Liquid, *, headspace_l: float, ambient_bar: float) -> float:
    """Air in a headspace open to the room: nA = (Patm - pv) VH / (R T).

    returns: [mol]
    raises: OutsideValidity
    source: ideal gas law
    """
    T = liquid.temperature_c + ZERO_CELSIUS_K
    return (ambient_bar - liquid.vapour_bar) * headspace_l / (GAS_CONSTANT_L_BAR * T)


def dissolved_air_mol(liquid: Liquid, *, liquid_l: float, ambient_bar: float, saturation: float = 1.0) -> float:
    """Air dissolved in a drink that met the room: nA = saturation (Patm - pv) Kair VL.

    saturation: 0 to 1
    returns: [mol]
    raises: OutsideValidity
    source: Henry's law, `air_solubility_mol_per_l_bar`
    """
    if not 0.0 <= saturation <= 1.0:
        raise OutsideValidity("air saturation", saturation, 0.0, 1.0, "")
    return saturation * (ambient_bar - liquid.vapour_bar) * liquid.air_solubility * liquid_l


def purge_factor(*, charge_bar_abs: float, vent_bar_abs: float, times: int) -> float:
    """Share of the headspace air that stays after pressurising with CO2 and venting, well mixed, so many times.

    (Pv/Pc)^N

    returns: 0 to 1
    raises: OutsideValidity where the vent pressure is above the charge pressure
    source: dilution at constant volume and temperature, ideal gas law
    """
    if not 0.0 < vent_bar_abs <= charge_bar_abs:
        raise OutsideValidity("vent pressure", vent_bar_abs, 0.0, charge_bar_abs, "bar")
    return float((vent_bar_abs / charge_bar_abs) ** times)
