"""Service: a bottle opened, poured glass by glass, left standing open, closed and left to itself."""

from dataclasses import dataclass
from math import expm1

from service.science.constants import CO2_G_PER_MOL
from service.science.gas import GAS_PRESSURE_LIMIT_BAR_ABS, Liquid
from service.science.validity import OutsideValidity
from service.science.vessel.charging import rest_closed
from service.science.vessel.state import State, gas_pressures

_CO2_IN_AIR = 4e-4
"""Mole fraction of CO2 in fresh air, rounded from 420 ppm; a room's is higher, and neither matters to a drink."""


def still_level_mol_per_l(liquid: Liquid, *, ambient_bar: float) -> float:
    """Level below which no bubble forms in an open vessel: that under CO2 and vapour at atmospheric pressure.

    c1 = s (Patm - pv)

    returns: [mol/L]
    raises: OutsideValidity
    source: Henry's law, `service.science.gas.dissolved_co2_g_per_l`
    """
    if not liquid.vapour_bar <= ambient_bar <= GAS_PRESSURE_LIMIT_BAR_ABS:
        raise OutsideValidity("pressure", ambient_bar, liquid.vapour_bar, GAS_PRESSURE_LIMIT_BAR_ABS, "bar")
    dry_bar = ambient_bar - liquid.vapour_bar
    return liquid.solubility(ambient_bar, dry_bar / ambient_bar) * dry_bar


def open_to_air(state: State, *, ambient_bar: float, foam_loss: float) -> tuple[State, float]:
    """Open the vessel: the headspace goes to atmospheric pressure, and some of the drink's CO2 foams out.

    Over atmospheric pressure gas leaves as it is, dissolved air following; under it air comes in.
    c -> c - phi (c - c1) where c > c1

    foam_loss: phi, share of what is above `still_level_mol_per_l`, 0 to 1
    returns: state, CO2 lost [mol]
    raises: OutsideValidity
    source: mass balance
    """
    after = poured_level_mol_per_l(state, loss_share=foam_loss, ambient_bar=ambient_bar)
    gas_mol, air_mol = _at_ambient(state, ambient_bar)
    opened = State(state.liquid, state.liquid_l, state.headspace_l, after, gas_mol, air_mol)
    return opened, state.gas_co2_mol - gas_mol + (state.dissolved_co2_mol_per_l - after) * state.liquid_l


def pour(state: State, *, volume_l: float, ambient_bar: float) -> State:
    """Pour from the opened vessel; what is poured takes its CO2 and air along, and air fills its place.

    volume_l: poured [L], 0 to what is there
    raises: OutsideValidity
    source: mass balance
    """
    liquid, liquid_l, headspace_l, gas_mol = state.liquid, state.liquid_l, state.headspace_l, state.gas_co2_mol
    if not 0.0 <= volume_l <= liquid_l:
        raise OutsideValidity("poured volume", volume_l, 0.0, liquid_l, "l")
    air_bar = ambient_bar * (1.0 - _share(liquid, headspace_l, gas_mol, ambient_bar)) - liquid.vapour_bar
    air_mol = state.air_mol - air_bar * liquid.air_solubility * volume_l
    liquid_l, headspace_l = liquid_l - volume_l, headspace_l + volume_l
    air_mol = max(air_mol, _air_asked_mol(liquid, liquid_l, headspace_l, gas_mol, ambient_bar))
    return State(liquid, liquid_l, headspace_l, state.dissolved_co2_mol_per_l, gas_mol, air_mol)


def poured_level_mol_per_l(state: State, *, loss_share: float, ambient_bar: float) -> float:
    """CO2 level in a glass poured from the vessel: what it cannot hold bubbles out, or a share of that.

    c_glass = c - phi (c - c1) where c > c1

    loss_share: phi, see `pour_loss`
    returns: [mol/L]
    raises: OutsideValidity
    source: phi as defined here; its values from losses in Liger-Belair et al. 2010, doi:10.1021/jf101239w, as quoted in
        the press
    """
    if not 0.0 <= loss_share <= 1.0:
        raise OutsideValidity("share of CO2 lost", loss_share, 0.0, 1.0, "")
    level = state.dissolved_co2_mol_per_l
    return level - loss_share * max(0.0, level - still_level_mol_per_l(state.liquid, ambient_bar=ambient_bar))


def stand_open(state: State, *, seconds: float, loss_per_s: float, ambient_bar: float) -> tuple[State, float]:
    """Leave the opened vessel standing; the headspace keeps its composition.

    c(t) = ca + (c - ca) exp(-k t),  ca = K pCO2 of the room

    seconds: [s], 0 up; loss_per_s: k [1/s], see `standing_loss_per_s`
    returns: state, CO2 lost [mol]
    raises: OutsideValidity
    source: first-order loss; k is an estimate
    """
    before = state.dissolved_co2_mol_per_l
    floor = state.liquid.henry * _CO2_IN_AIR * ambient_bar
    after = before + (floor - before) * -expm1(-loss_per_s * seconds)
    return state.holding(after, state.gas_co2_mol), (before - after) * state.liquid_l


def _at_ambient(state: State, ambient_bar: float) -> tuple[float, float]:
    """CO2 in the gas and all the air once the vessel is open: vented, its dry composition unchanged, or aired [mol]."""
    liquid, liquid_l, headspace_l = state.liquid, state.liquid_l, state.headspace_l
    gas_mol, air_mol = state.gas_co2_mol, state.air_mol
    co2_bar, air_bar = gas_pressures(state)
    dry_bar = ambient_bar - liquid.vapour_bar
    if co2_bar + air_bar <= dry_bar:
        asked = _air_asked_mol(liquid, liquid_l, headspace_l, gas_mol, ambient_bar)
        return gas_mol, max(air_mol, asked)  # rounding at equality must not take air out
    left = dry_bar / (co2_bar + air_bar)
    cap = headspace_l / (liquid.gas.z(ambient_bar, co2_bar * left / ambient_bar) * liquid.gas.rt)
    return cap * co2_bar * left, air_bar * left * (cap + liquid.air_solubility * liquid_l)


def _air_asked_mol(
    liquid: Liquid, liquid_l: float, headspace_l: float, gas_co2_mol: float, ambient_bar: float
) -> float:
    """All the air in a vessel open to the room, dissolved or not, for the CO2 in its headspace [mol].

    nA = (P - y P - pv) (VH / (Z R T) + Kair VL)
    """
    share = _share(liquid, headspace_l, gas_co2_mol, ambient_bar)
    cap = headspace_l / (liquid.gas.z(ambient_bar, share) * liquid.gas.rt)
    return (ambient_bar * (1.0 - share) - liquid.vapour_bar) * (cap + liquid.air_solubility * liquid_l)


def _share(liquid: Liquid, headspace_l: float, gas_co2_mol: float, ambient_bar: float) -> float:
    """Mole fraction of CO2 in a headspace open to the room: y = nC Z R T / (VH P)."""
    return liquid.gas.share(ambient_bar, gas_co2_mol * liquid.gas.rt / (headspace_l * ambient_bar))


@dataclass(slots=True)
class Pace:
    """How a bottle is served, and how fast it loses its CO2. Never changed once made.

    an_opening: pours each time it is opened
    open_s, closed_s: how long it stands open for each pour, and how long it is closed from one opening to the next [s]
    foam: share of what an open vessel cannot hold that foams out on opening; see `foam_loss`
    resting_per_s, standing_per_s: see `uptake_per_s`, `standing_loss_per_s`
    """

    pour_l: float
    an_opening: int
    open_s: float
    closed_s: float
    ambient_bar: float
    foam: float
    resting_per_s: float
    standing_per_s: float


@dataclass(slots=True)
class Poured:
    """One pour. Never changed once made."""

    before: State
    """The vessel before it was opened for it."""
    level_g_per_l: float
    """In the vessel as it was poured."""
    above_still_g_per_l: float
    """The part of it that an open vessel cannot hold; a pour loses a share of that."""
    after: State
    taken_g: float = 0.0
    """CO2 taken from the cylinder for the re-gas just before."""

    def glass_g_per_l(self, loss_share: float) -> float:
        return self.level_g_per_l - loss_share * self.above_still_g_per_l


def above_still_g_per_l(state: State, *, ambient_bar: float) -> float:
    """Return the part of its CO2 that an open vessel cannot hold, see `still_level_mol_per_l` [g/L]."""
    still = poured_level_mol_per_l(state, loss_share=1.0, ambient_bar=ambient_bar)
    return state.co2_g_per_l - still * CO2_G_PER_MOL


def poured_on(state: State, pace: Pace, *, first: int, until: int, taken_g: float = 0.0) -> list[Poured]:
    """The pours of a bottle from one to another, counted from 0, with nothing done to it between them.

    state: closed, just before it is opened for the first
    taken_g: for a re-gas just before the first
    raises: OutsideValidity
    """
    found = []
    for k in range(first, until):
        opens = k == first or k % pace.an_opening == 0
        if opens and k > first:
            state = rest_closed(state, seconds=pace.closed_s, uptake_per_s=pace.resting_per_s)
        before = state
        if opens:
            state, _ = open_to_air(state, ambient_bar=pace.ambient_bar, foam_loss=pace.foam)
        level, above = state.co2_g_per_l, above_still_g_per_l(state, ambient_bar=pace.ambient_bar)
        volume_l = min(pace.pour_l, state.liquid_l)  # the last may miss by a rounding error
        state = pour(state, volume_l=volume_l, ambient_bar=pace.ambient_bar)
        state, _ = stand_open(state, seconds=pace.open_s, loss_per_s=pace.standing_per_s, ambient_bar=pace.ambient_bar)
        found.append(Poured(before, level, above, state, taken_g if k == first else 0.0))
    return found
