"""What every request may hold, whatever it asks."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated

from service.declared import text
from service.science.units import UnitSystem
from service.site import Site


@dataclass(frozen=True, kw_only=True)
class Request:
    """Base of every request."""

    units: Annotated[
        UnitSystem | None, "Units of the answer; those of the site unless stated, and metric without either."
    ] = None
    labels: Annotated[Mapping[str, str] | None, "Echoed in the answer; never hashed, stored or logged."] = None
    model: Annotated[str | None, text(40), "Insist on this model version; another is refused."] = None

    @property
    def place(self) -> Site | None:
        """The site in whose manner the answer is written, where the request names one."""
        return getattr(self, "site", None)

    @property
    def system(self) -> UnitSystem:
        """The units of the answer."""
        place = self.place
        return self.units or (place.units if place is not None else None) or "metric"


@dataclass(frozen=True, kw_only=True)
class PlacedRequest(Request):
    """Base of a request that no site changes but for the manner of its answer."""

    site: Annotated[Site | None, "In whose units, and in the manner of whose place, the answer is written."] = None
