"""The request of a forecast: charged vessels, and the shift that they serve."""

from dataclasses import dataclass
from typing import Annotated

from service.calibration import Calibration
from service.declared import Declared, co2, shape, temperature, volume, whole
from service.drink import DrinkGiven
from service.limits.serving import SMALLEST_POUR_ML
from service.request import Request
from service.science.vessel import PourManner
from service.setting import SettingGiven
from service.site import Air, Shift, Site
from service.vessel import FillShare, VesselGiven


@shape("RegasPour")
@dataclass(frozen=True)
class Pour:
    """The pour of a glass; gently, down its side, unless stated."""

    volume_ml: Annotated[float, volume(low=SMALLEST_POUR_ML, high=2000.0)]
    manner: Declared[PourManner | None] = None


@dataclass(frozen=True, kw_only=True)
class ForecastAsked:
    """Charged vessels and the shift that they serve."""

    vessel: Declared[VesselGiven | None] = None
    vessel_count: Annotated[int | None, whole(low=1, high=50)] = None
    fill: FillShare = None
    temperature_c: Annotated[
        float | None, temperature(low=-5.0, high=40.0), "At which the level is known; as held unless stated."
    ] = None
    co2_g_per_l: Annotated[float, co2(low=0.0, high=20.0), "Level in the vessel at the start."]
    air: Declared[Air | None] = None
    pour: Declared[Pour]
    shift: Declared[Shift]
    site: Annotated[Site | None, "Sea level and a 30 °C warmest room unless stated."] = None
    calibration: Annotated[
        Calibration | None, "This bar's own constants; they narrow the bands and never relax a limit."
    ] = None

    @property
    def given(self) -> SettingGiven:
        """The setting that it asks for; the age of a vessel is judged when the shift starts."""
        return SettingGiven(
            vessel=self.vessel, fill=self.fill, air=self.air, site=self.site, calibration=self.calibration,
            now=self.shift.starts_at,
        )  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class RegasForecastRequest(Request, ForecastAsked):
    """Charged vessels and the shift that they serve."""

    drink: Declared[DrinkGiven]
