"""The site: the conditions of one venue, its regulator, and the air that is left in its vessels."""

from service.site.air import (
    Air,
    air_left_mol,
    air_of,
    air_out,
    check_air,
    fitting_air,
    fitting_purge,
    purge_of,
    purged,
    purges_of,
)
from service.site.cold import ColdPlace, EnvironmentKey
from service.site.conditions import Price, Scale, Shift, Site, ambient_bar, scale_step_g, warmest_room_c
from service.site.regulator import check_regulator, note_source

__all__ = [
    "Air",
    "ColdPlace",
    "EnvironmentKey",
    "Price",
    "Scale",
    "Shift",
    "Site",
    "air_left_mol",
    "air_of",
    "air_out",
    "ambient_bar",
    "check_air",
    "check_regulator",
    "fitting_air",
    "fitting_purge",
    "note_source",
    "purge_of",
    "purged",
    "purges_of",
    "scale_step_g",
    "warmest_room_c",
]
