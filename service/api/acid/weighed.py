"""A recipe as weighed on the wire."""

from collections.abc import Mapping
from typing import Any

from service.acid import AsWeighed, WeighedProduct
from service.api.endpoint import Part, rule
from service.api.quantities import Choice, Number, QuantityField, says
from service.api.shapes import ACID_NAMES, Items, check_form, check_once
from service.limits.requests import MOST_ACIDS
from service.science.acids import FORMS


class WeighedAcidSchema(Part):
    """One acid of a recipe, as it is weighed."""

    loads_to = WeighedProduct

    acid = Choice(*ACID_NAMES, required=True)
    form = Choice(*FORMS, metadata=says("The product as weighed; the common one of the acid when left out."))
    purity_percent = Number(low=50.0, high=100.0, metadata=says("Assay of the product, of its nominal acid."))
    mass = QuantityField("mass", low=0.01, above=None, high=100_000.0, required=True, attribute="mass_g")

    @rule
    def form_of_the_acid(self, sent: Mapping[str, Any]) -> None:
        check_form(sent)


class AcidsAsWeighedSchema(Part):
    """A recipe as the card on the wall has it: what is weighed together."""

    loads_to = AsWeighed

    products = Items(WeighedAcidSchema, most=MOST_ACIDS, required=True)
    water = QuantityField("mass", low=0.0, above=None, high=1_000_000.0, required=True, attribute="water_g")

    @rule
    def each_acid_once(self, sent: Mapping[str, Any]) -> None:
        check_once(sent.get("products"), field="products")
