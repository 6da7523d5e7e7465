"""GET /v1/references/vessels."""

from dataclasses import dataclass
from typing import Annotated

from service.api.endpoint import Reference
from service.declared import Declared, Inline, shape, text
from service.vessel import PRESETS, Preset


@shape("VesselReference")
@dataclass(frozen=True)
class NamedPreset:
    """A common vessel. Its limits are estimates: the maker's rating or the stamp prevails."""

    preset: Annotated[str, text(40)]
    vessel: Inline[Preset]


@dataclass(frozen=True)
class VesselReferences:
    """Vessels by name."""

    items: Declared[tuple[NamedPreset, ...]]


def read() -> VesselReferences:
    """Return every preset."""
    return VesselReferences(tuple(NamedPreset(name, preset) for name, preset in PRESETS.items()))


REFERENCE = Reference(
    path="/v1/references/vessels",
    operation_id="listVessels",
    summary="The vessels that a request may name by preset.",
    description="Size and limits of common bottles and kegs. The limits are estimates; a request overrides each.",
    answer=VesselReferences,
    read=read,
)
