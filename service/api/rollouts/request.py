"""What a rollout is asked with."""

from collections.abc import Iterator, Mapping
from typing import Any

from marshmallow import ValidationError, fields, post_load

from service.api import batching, carbonation
from service.api.endpoint import Part, Request, rule
from service.api.moments import Moment
from service.api.prep_sheet.request import PrepChillSchema
from service.api.quantities import Coded, QuantityField, Text, says
from service.api.shapes import Items, ShiftSchema, SiteSchema, SpecSchema, lines_in
from service.limits.requests import MOST_KINDS, MOST_SITES
from service.limits.requests import MOST_SITE_LINES as MOST_LINES
from service.prep_sheet import CarbonationPlan
from service.rollout import Standard


class StandardCarbonationSchema(carbonation.ChargingFields, Part):
    """How the drink is charged everywhere: by its level, never by a dial, which is another one at each altitude."""

    class Meta:
        exclude = ("gauge_pressure",)

    loads_to = CarbonationPlan


class StandardSchema(Part):
    """What is the same at every venue."""

    loads_to = Standard

    carbonation = fields.Nested(StandardCarbonationSchema)
    size = fields.Nested(
        batching.BatchSizeSchema,
        metadata=says("Of the batch where a venue states no vessels; one that does fills those."),
    )
    shift = fields.Nested(ShiftSchema, metadata=says("Without one no re-gas interval is answered."))
    dilution = fields.Nested(batching.DilutionSchema)
    chill = fields.Nested(PrepChillSchema)
    rounding = fields.Nested(batching.RoundingSchema)
    made_at = Moment(metadata=says("Without it no use-by is answered."))
    house_maximum = QuantityField("duration", high=10 * 365 * 86400.0, attribute="house_maximum_s")


class RolloutSiteSchema(SiteSchema):
    """One venue, told from the others by its id."""

    id = Text(longest=64, required=True)


class RolloutRequest(Request):
    """One spec, what is the same everywhere, and the venues. units are those of venues that state none."""

    spec = fields.Nested(SpecSchema, required=True)
    standard = fields.Nested(StandardSchema, load_default=Standard())
    sites = Items(
        RolloutSiteSchema,
        most=MOST_SITES,
        required=True,
        metadata=says(
            f"Ids differ; all kinds of vessels together come to at most {MOST_KINDS}, and the components of the spec "
            f"times the venues to at most {MOST_LINES}."
        ),
    )

    @rule
    def told_apart_and_bounded(self, sent: Mapping[str, Any]) -> None:
        sites, standard = sent.get("sites"), sent.get("standard")
        if not isinstance(sites, list) or len(sites) > MOST_SITES:
            return  # the field says so itself
        sized = isinstance(standard, Mapping) and "size" in standard
        wrong = dict(_wrong(sites, sized=sized))
        if wrong:
            raise ValidationError({"sites": wrong})
        kinds = sum(len(site["vessels"]) for site in sites if _has_vessels(site))
        if kinds > MOST_KINDS:
            text = f"Kinds of vessels may come to {MOST_KINDS} in all; these come to {kinds}."
            raise ValidationError({"sites": [Coded("too-many-vessels", text)]})
        lines = lines_in(sent.get("spec"), ("components",)) * len(sites)
        if lines > MOST_LINES:
            text = f"The components of the spec times the venues may come to {MOST_LINES}; these come to {lines}."
            raise ValidationError({"sites": [Coded("too-many-lines", text)]})

    @post_load(pass_original=True)
    def keep_sent(self, data: dict[str, Any], sent: Any, **kwargs: Any) -> dict[str, Any]:
        """As it was sent, so that what a refusal of one venue offers can be tried out."""
        return {**data, "sent": sent}


class OfferedRequest(Request):
    """What an offer changes of a rollout, without the rest; the rules across its parts hold as they did."""

    spec = fields.Nested(SpecSchema)
    standard = fields.Nested(StandardSchema)
    sites = Items(RolloutSiteSchema, most=MOST_SITES)


def _has_vessels(site: object) -> bool:
    return isinstance(site, Mapping) and isinstance(site.get("vessels"), list)


def _wrong(sites: list[Any], *, sized: bool) -> Iterator[tuple[int, Any]]:
    """Venues of one id, and venues of which nothing says how much they make."""
    seen: set[str] = set()
    for i, site in enumerate(sites):
        if not isinstance(site, Mapping):
            continue
        found: dict[str, Any] = {}
        name = site.get("id")
        if isinstance(name, str) and name in seen:
            found["id"] = [Coded("duplicate", "Each id stands once in a rollout.")]
        if isinstance(name, str):
            seen.add(name)
        if "vessels" not in site and not sized:
            found["vessels"] = [Coded("required", "State the vessels of this venue, or a size of the standard.")]
        if found:
            yield i, found
