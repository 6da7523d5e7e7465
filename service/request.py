"""What every request may hold, whatever it asks."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated

from service.declared import text
from service.science.units import UnitSystem


@dataclass(frozen=True, kw_only=True)
class Request:
    """Base of every request."""

    units: Annotated[UnitSystem, "Units of the answer."] = "metric"
    labels: Annotated[Mapping[str, str] | None, "Echoed in the answer; never hashed, stored or logged."] = None
    model: Annotated[str | None, text(40), "Insist on this model version; another is refused."] = None
