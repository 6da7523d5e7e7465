"""The site: the conditions of one venue, its regulator, and the air that is left in its vessels."""

from service.site.air import (
    PURGE_BAR_GAUGE,
    PURGES,
    SQUEEZED_REMAINING_SHARE,
    Air,
    air_left_mol,
    air_of,
    air_out,
    check_air,
    fitting_air,
    fitting_purge,
    purge_of,
)
from service.site.conditions import (
    WARMEST_ROOM_C,
    WEATHER_SHARE,
    Price,
    Scale,
    Shift,
    Site,
    ambient_bar,
    scale_step_g,
    warmest_room_c,
)
from service.site.regulator import caution_regulator, check_regulator

__all__ = [
    "PURGES",
    "PURGE_BAR_GAUGE",
    "SQUEEZED_REMAINING_SHARE",
    "WARMEST_ROOM_C",
    "WEATHER_SHARE",
    "Air",
    "Price",
    "Scale",
    "Shift",
    "Site",
    "air_left_mol",
    "air_of",
    "air_out",
    "ambient_bar",
    "caution_regulator",
    "check_air",
    "check_regulator",
    "fitting_air",
    "fitting_purge",
    "purge_of",
    "scale_step_g",
    "warmest_room_c",
]
