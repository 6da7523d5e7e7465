"""pH on the wire."""

from math import ceil, floor

from service.api.answers import Answer
from service.api.endpoint import Body
from service.science.band import Band


def write_ph(ph: Band | None, answer: Answer) -> Body:
    """To a tenth, its ends outward: no reading shows that the model is better. Nothing where it is not known."""
    if ph is None:
        return {}
    told = Band(floor(10.0 * ph.low) / 10.0, round(10.0 * ph.typical) / 10.0, ceil(10.0 * ph.high) / 10.0)
    return {"ph": answer.band("number", told)}
