"""Where the gas comes from, and how high it may go: the regulator, its relief valve, never a cartridge."""

from service.errors import Fact, Fault, Refused
from service.notes import Notes
from service.science.units import Quantity
from service.site.conditions import Site
from service.vessel import Vessel


def check_regulator(site: Site | None, vessel: Vessel, *, at: str = "/site") -> None:
    """A regulator that can exceed the vessel's charge limit needs a relief valve set at or below that limit.

    A one-shot cartridge has no regulator at all: it gives a bottle all it holds.

    raises: Refused ("regulator-unsafe")
    """
    _check_source(site, vessel, at)
    limit = Quantity("pressure", vessel.charge_limit_bar_gauge, "down")
    if site is None or site.regulator_max_bar is None or site.regulator_max_bar <= limit.value:
        return
    if site.relief_set_bar is not None and site.relief_set_bar <= limit.value + 1e-9:  # what a change of units may add
        return
    most = Quantity("pressure", site.regulator_max_bar, "up")
    text = "Fit a relief valve set at or below {limit}, which the vessel bears: the regulator can reach {most}."
    raise Refused(
        "regulator-unsafe",
        [Fault(f"{at}/relief_set", "relief-missing", text, (("most", most), ("limit", limit)))],
        facts=[Fact("regulator_max", most), Fact("charge_limit", limit)],
    )


def _check_source(site: Site | None, vessel: Vessel, at: str) -> None:
    if site is None or site.gas_source != "cartridge" or vessel.is_keg:
        return
    text = "Charge from a regulator: a one-shot cartridge empties itself into the bottle, whatever that bears."
    raise Refused("regulator-unsafe", [Fault(f"{at}/gas_source", "cartridge", text)])


def note_source(site: Site | None, notes: Notes, *, at: str = "/site") -> None:
    """Tell where the gas is taken to come from where the request is silent."""
    if site is None or site.gas_source is None:
        notes.assume("gas source", "a regulator on a cylinder", "default", at=f"{at}/gas_source")
