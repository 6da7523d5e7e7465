"""A bottle poured glass by glass: opened, poured, left standing open, closed and left to itself."""

from dataclasses import dataclass

from service.science.constants import CO2_G_PER_MOL
from service.science.vessel.charging import rest_closed
from service.science.vessel.losses import open_to_air, pour, poured_level_mol_per_l, stand_open
from service.science.vessel.state import State


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
    """What of it an open vessel cannot hold; a pour loses a share of that."""
    after: State
    taken_g: float = 0.0
    """CO2 taken from the cylinder for the re-gas just before."""

    def glass_g_per_l(self, loss_share: float) -> float:
        return self.level_g_per_l - loss_share * self.above_still_g_per_l


def above_still_g_per_l(state: State, *, ambient_bar: float) -> float:
    """What of its CO2 an open vessel cannot hold, see `still_level_mol_per_l` [g/L]."""
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
