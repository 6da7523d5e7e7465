"""The request for a rollout, and where the refusals of its parts point."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Annotated, Any

from service.batching import Dilution, Rounding, Size
from service.carbonation import StandardCarbonation
from service.declared import AS_SENT, Declared, duration, items, shape, text
from service.drink import Spec
from service.errors import Fault
from service.limits.requests import MOST_KINDS, MOST_SITES
from service.limits.requests import MOST_SITE_LINES as MOST_LINES
from service.listed import lines_in
from service.prep_sheet import ChillPlan
from service.request import Request
from service.site import Shift, Site

Moves = dict[str, str | None]

MOVES: Moves = {
    "/drink": "/spec",
    "/drink/spec": "/spec",
    "/start_co2": "/spec",
    **{
        f"/{name}": f"/standard/carbonation/{name}"
        for name in ("target", "temperature", "air", "charge_count", "as_needed", "shake", "rest", "agitation",
                     "connected", "within", "held")
    },
    "/gauge_pressure": None,
    "/goal_temperature": "/standard/carbonation/temperature",
    "/environment": "/standard/chill/environment",
    "/start_temperature": "/standard/chill/start_temperature",
    "/environment_temperature": None,
    "/cooling_power_w": None,
    "/charged": None,
    "/co2": "/standard/carbonation/target",
    "/pour": None,
    "/vessel_count": None,
    "/shift": "/standard/shift",
    "/now": "/standard/made_at",
    "/made_at": "/standard/made_at",
    "/house_maximum": "/standard/house_maximum",
    "/size": "/standard/size",
    "/dilution": "/standard/dilution",
    "/rounding": "/standard/rounding",
    "/loss": None,
    "/scale": "/site/scale",
    "/prices": "/site/prices",
}  # fmt: skip
"""Pointers of a part become those of the rollout; "/site" is the venue at hand, whatever its place in the list."""


@dataclass(frozen=True)
class Standard:
    """The request's part that is the same at every venue."""

    carbonation: Declared[StandardCarbonation] = field(default_factory=StandardCarbonation)
    size: Annotated[Size | None, "Of the batch where a venue states no vessels; one that does fills those."] = None
    shift: Annotated[Shift | None, "Without one no re-gas interval is answered."] = None
    dilution: Declared[Dilution | None] = None
    chill: Declared[ChillPlan] = field(default_factory=ChillPlan)
    rounding: Declared[Rounding | None] = None
    made_at: Annotated[datetime | None, "Without it no use-by is answered."] = None
    house_maximum_s: Annotated[float | None, duration(high=10 * 365 * 86400.0)] = None

    @property
    def now(self) -> datetime | None:
        """The moment that the age of the vessels is judged by."""
        return self.made_at or (self.shift.starts_at if self.shift else None)


def _a_version(sent: Mapping[str, Any]) -> Iterator[Fault]:
    if not sent:
        yield Fault("", "required", "State the spec or the standard of the version before, or both.")


@shape("RolloutAgainst", rules=[_a_version])
@dataclass(frozen=True)
class Against:
    """The version before; what it leaves out is as in this one."""

    spec: Declared[Spec | None] = None
    standard: Declared[Standard | None] = None


@shape("RolloutSite")
@dataclass(frozen=True)
class VenueSite(Site):
    """One venue, told from the others by its id."""

    id: Annotated[str, text(64)] = field()  # no default, unlike that of a site


def distinct_and_bounded(sent: Mapping[str, Any]) -> Iterator[Fault]:
    """Find ids that stand twice, venues that do not say how much they make, and more lines than the service bears."""
    sites, standard = sent.get("sites"), sent.get("standard")
    if not isinstance(sites, list) or len(sites) > MOST_SITES:
        return  # the field says so itself
    wrong = list(_wrong(sites, sized=isinstance(standard, Mapping) and "size" in standard))
    if wrong:
        yield from wrong
        return
    versions = 1 if "against" not in sent else 2
    kinds = versions * sum(len(site["vessels"]) for site in sites if _has_vessels(site))
    lines = versions * lines_in(sent.get("spec"), ("components",)) * len(sites)
    if versions * len(sites) > MOST_SITES:
        text = "Against a version before there may be {most} venues; these are {count}."
        yield Fault("/sites", "too-many-sites", text, (("most", MOST_SITES / 2.0), ("count", float(len(sites)))))
    elif kinds > MOST_KINDS:
        text = "Kinds of vessels may come to {most} in all; these come to {count}."
        yield Fault("/sites", "too-many-vessels", text, (("most", float(MOST_KINDS)), ("count", float(kinds))))
    elif lines > MOST_LINES:
        text = "The components of the spec times the venues may come to {most}; these come to {count}."
        yield Fault("/sites", "too-many-lines", text, (("most", float(MOST_LINES)), ("count", float(lines))))


def _has_vessels(site: object) -> bool:
    return isinstance(site, Mapping) and isinstance(site.get("vessels"), list)


def _wrong(sites: list[Any], *, sized: bool) -> Iterator[Fault]:
    seen: set[str] = set()
    for i, site in enumerate(sites):
        if not isinstance(site, Mapping):
            continue
        name = site.get("id")
        if isinstance(name, str) and name in seen:
            yield Fault(f"/sites/{i}/id", "duplicate", "Each id stands once in a rollout.")
        if isinstance(name, str):
            seen.add(name)
        if "vessels" not in site and not sized:
            text = "State the vessels of this venue, or a size of the standard."
            yield Fault(f"/sites/{i}/vessels", "required", text)


@shape(rules=[distinct_and_bounded])
@dataclass(frozen=True, kw_only=True)
class RolloutRequest(Request):
    """One spec, what is the same everywhere, and the venues. units are those of venues that state none."""

    spec: Declared[Spec]
    standard: Declared[Standard] = field(default_factory=Standard)
    against: Annotated[
        Against | None,
        "The version before: each site tells what it must change. Sites, kinds of vessels and components count twice.",
    ] = None
    sites: Annotated[
        tuple[VenueSite, ...],
        items(MOST_SITES),
        f"Ids differ; all kinds of vessels together come to at most {MOST_KINDS}, and the components of the spec times "
        f"the venues to at most {MOST_LINES}.",
    ]
    sent: Annotated[Mapping[str, Any], AS_SENT] = field(default_factory=dict, compare=False, repr=False)
    """The request as it was received, so that what a refusal of one venue offers can be tried out."""
