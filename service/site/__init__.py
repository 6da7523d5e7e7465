"""The site: the conditions of one venue, its regulator, and the air that is left in its vessels."""

from service.site.air import (
    Air,
    air_left_mol,
    air_of,
    check_air,
    fitting_air,
    fitting_purge,
    purge_of,
    purges_of,
    usual_air_handling,
    usual_purge,
)
from service.site.cold import ColdPlace, EnvironmentKey
from service.site.conditions import (
    Price,
    Scale,
    Shift,
    Site,
    ambient_bar,
    check_regulator,
    note_source,
    scale_step_g,
    warmest_room_c,
)

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
    "ambient_bar",
    "check_air",
    "check_regulator",
    "fitting_air",
    "fitting_purge",
    "note_source",
    "purge_of",
    "purges_of",
    "scale_step_g",
    "usual_air_handling",
    "usual_purge",
    "warmest_room_c",
]
