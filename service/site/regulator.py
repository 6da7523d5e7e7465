"""Where the gas comes from, and how high it may go: the regulator, its relief valve, never a cartridge."""

from math import inf

from service.errors import Fact, Fault, Nearest, Refused
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
    text = "The regulator can reach {most}, the vessel bears {limit}: fit a relief valve set at or below that."
    raise Refused(
        "regulator-unsafe",
        [Fault(f"{at}/relief_set", "relief-missing", text, (("most", most), ("limit", limit)))],
        facts=[Fact("regulator_max", most), Fact("charge_limit", limit)],
        nearest=[Nearest(f"{at}/relief_set", limit)],
    )


def _check_source(site: Site | None, vessel: Vessel, at: str) -> None:
    if site is None or site.gas_source != "cartridge" or vessel.is_keg:
        return
    text = "A one-shot cartridge empties itself into the bottle, whatever that bears; charge from a regulator."
    raise Refused(
        "regulator-unsafe",
        [Fault(f"{at}/gas_source", "cartridge", text)],
        nearest=[Nearest(f"{at}/gas_source", "regulator")],
    )


def caution_regulator(
    site: Site | None,
    vessel: Vessel,
    never_over_bar_gauge: float,
    notes: Notes,
    *,
    temperature_c: float,
    at: str = "/site",
) -> None:
    """What a regulator that the request does not describe must not do.

    never_over_bar_gauge: the highest dial that passes where the drink is charged at a temperature [degC]
    """
    if site is None or site.gas_source is None:
        notes.assume("gas source", "a regulator on a cylinder", "default", at=f"{at}/gas_source")
    relief_bar = inf if site is None or site.relief_set_bar is None else site.relief_set_bar
    known = site is not None and site.regulator_max_bar is not None
    if known or relief_bar <= vessel.charge_limit_bar_gauge + 1e-9:  # what a change of units may add
        return
    text = "Use a regulator that cannot exceed {limit}, or fit a relief valve set at or below that."
    limits: dict[str, Quantity] = {"limit": Quantity("pressure", vessel.charge_limit_bar_gauge, "down")}
    if 0.0 < never_over_bar_gauge < vessel.charge_limit_bar_gauge:
        text += " With this drink at {temperature} never dial over {never_over}."
        limits["temperature"] = Quantity("temperature", temperature_c)
        limits["never_over"] = Quantity("pressure", never_over_bar_gauge, "down")
    notes.caution("regulator-unknown", "warning", text, at=f"{at}/regulator_max", **limits)
