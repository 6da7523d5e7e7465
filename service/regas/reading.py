"""A gauge reading, which puts the level right where the vessel is at rest, and never says that it is safe."""

from dataclasses import dataclass
from math import inf
from typing import Annotated

from service import safety
from service.declared import CO2, shape, text
from service.limits.serving import AT_REST_SHARE, CORRECTION_G_PER_L
from service.notes import Notes
from service.regas.log import Event
from service.regas.replay import Replay
from service.safety import Judgement
from service.science.band import Band
from service.science.units import Quantity
from service.science.vessel import at_gauge, gas_pressures, rest_closed


@shape("LevelCorrection")
@dataclass(frozen=True)
class Correction:
    """The effect of a gauge reading on the level."""

    event: Annotated[str, text(64)]
    before: Annotated[Band, CO2, "As the log told it."]
    after: Annotated[Band, CO2, "As the gauge does, with the gauge's own error."]


def corrected(vessel: Replay, event: Event, pointer: str, notes: Notes) -> Correction | None:
    """Put the vessel at the level that the gauge shows; return the correction, None where the reading tells none.

    c = s pc,  pc = Pgauge + Patm - pv - pa,  pa of the air that the log let in. The reading stands in for all that was
    told before it, so that what is left of the band is the gauge's own error and that of the solubility.

    raises: OutsideValidity beyond the gas equations
    """
    gauge, at = event.gauge_pressure_bar or 0.0, f"{pointer}/gauge_pressure"
    _caution_gauge(vessel, gauge, notes, at=at)
    text = _left_out(vessel)
    if text is not None:
        notes.caution("reading-left-out", "warning", text, at=at)
        return None
    before = vessel.bottle()
    if at_gauge(vessel.states[0], pressure_bar_abs=gauge + vessel.ambient_bar).dissolved_co2_mol_per_l <= 0.0:
        _caution_impossible(vessel, notes, at)
        return None
    vessel.read(gauge)
    found = Correction(event.id, before, vessel.bottle())
    _tell(found, gauge, pointer, notes)
    return found


def _left_out(vessel: Replay) -> str | None:
    """Return what is said of a gauge that does not tell the level of the drink now; None where it does."""
    if vessel.is_open:
        return "This reading is left out: the vessel stands open, and its gauge does not tell the level."
    if vessel.on_gas:
        return "This reading is left out: a keg on gas shows its regulator, not the level."
    state = vessel.states[0]
    rested = rest_closed(state, seconds=inf, uptake_per_s=1.0)
    if abs(rested.co2_g_per_l - state.co2_g_per_l) > AT_REST_SHARE * rested.co2_g_per_l:
        return (
            "This reading is left out: drink and gas are not at rest. A shake brings them there, which costs a "
            "part-full bottle some of its level."
        )
    return None


def _caution_impossible(vessel: Replay, notes: Notes, at: str) -> None:
    """Warn of a gauge under what air and vapour alone put on it; the level of the log is kept."""
    state = vessel.states[0]
    air = Quantity("pressure", gas_pressures(state)[1] + state.liquid.vapour_bar - vessel.ambient_bar, "up")
    text = (
        "Read it again: the air that the log let in puts {air} on the gauge alone. It reads low, the vessel leaks, or "
        "a pour is missing; the reading is left out."
    )
    notes.caution("under-its-air", "warning", text, at=at, air=air)


def _tell(found: Correction, gauge_bar: float, pointer: str, notes: Notes) -> None:
    """Tell how far the gauge moved the level, and that a low one is no all-clear."""
    before, after = (Quantity("co2", level.typical) for level in (found.before, found.after))
    if abs(found.after.typical - found.before.typical) >= CORRECTION_G_PER_L:
        text = "The gauge puts the level from {before} to {after}."
        notes.caution("level-corrected", "info", text, at=f"{pointer}/gauge_pressure", before=before, after=after)
    if found.after.low > found.before.high:
        text = (
            "Check gauge, temperature and air: the gauge shows more CO2 than the log explains, {after} where {before} "
            "was."
        )
        notes.caution("more-than-told", "warning", text, at=f"{pointer}/temperature", before=before, after=after)
    if found.after.typical < found.before.typical:
        text = "Treat it as charged: a gauge of {shown} is no all-clear. Unrest, a leak or a bad gauge read low too."
        shown = Quantity("pressure", gauge_bar)
        notes.caution("gauge-is-no-all-clear", "warning", text, at=f"{pointer}/gauge_pressure", shown=shown)


def _caution_gauge(vessel: Replay, gauge_bar: float, notes: Notes, *, at: str) -> None:
    """Tell a danger where the vessel does not stand its gauge, now or once warm."""
    safety.caution_standing(Judgement(vessel.case.closed(vessel.liquid_l), gauge_bar), gauge_bar, notes, at=at)
