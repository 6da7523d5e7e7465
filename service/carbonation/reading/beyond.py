"""A reading past where the gas equations end."""

from service.errors import Fact, Fault, OutsideValidity, Refused
from service.science.gas import GAS_PRESSURE_LIMIT_BAR_ABS
from service.science.units import Quantity


def beyond_equations(outside: OutsideValidity, at: str) -> Refused:
    """The refusal of a reading whose pressure no equation here covers; nothing is offered in its place.

    raises: OutsideValidity, the one given, where it is not of a pressure
    """
    if outside.quantity != "pressure":
        raise outside
    text = (
        "This means {limit} absolute or more, where the gas equations end. Treat the vessel as over its limit: do not "
        "warm, move or open it, keep everyone away, and ask a competent person."
    )
    limit = Quantity("pressure", GAS_PRESSURE_LIMIT_BAR_ABS)
    fault = Fault(at, "beyond-equations", text, (("limit", limit),))
    return Refused("impossible-reading", [fault], facts=[Fact("equations_to", limit)])
