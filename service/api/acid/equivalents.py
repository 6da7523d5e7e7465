"""Other acids of equal titratable acidity on the wire."""

from collections.abc import Mapping
from typing import Any

from marshmallow import ValidationError, fields

from service.acid import Equivalent, EquivalentGiven, Product, Swap, equivalent
from service.api.acid.ph import write_ph
from service.api.answers import Answer, tidy, titratable_acidity
from service.api.endpoint import Body, Open, Operation, Request, rule
from service.api.quantities import Choice, Coded, Number, QuantityField, band, number, q, says, text
from service.api.shapes import (
    ACID_NAMES,
    AcidPartSchema,
    Envelope,
    Items,
    TitratableAcidityAnswerSchema,
    check_form,
    check_shares,
)
from service.limits.requests import MOST_ACIDS
from service.notes import Notes
from service.science.acids import COMPOSITIONS, FORMS


class AcidEquivalentsRequest(Request):
    """An amount of one acid, and what is to take its place: acids by share, or those of a reference liquid."""

    amount = QuantityField(
        "mass",
        low=0.01,
        above=None,
        high=100_000.0,
        required=True,
        attribute="amount_g",
        metadata=says("Of the product as weighed."),
    )
    acid = Choice(*ACID_NAMES, required=True)
    form = Choice(*FORMS, metadata=says("The product as weighed; the common one of the acid when left out."))
    purity_percent = Number(low=50.0, high=100.0, metadata=says("Assay of the product, of its nominal acid."))
    instead = Items(AcidPartSchema, most=MOST_ACIDS, metadata=says("Either this or like."))
    like = Choice(*COMPOSITIONS, metadata=says("The acids of this liquid, in its proportion; either this or instead."))
    volume = QuantityField(
        "volume",
        low=1.0,
        above=None,
        attribute="volume_ml",
        metadata=says("That either is made up to, for the pH; 10 g of acid a litre unless stated."),
    )
    temperature = QuantityField(
        "temperature",
        low=0.0,
        high=40.0,
        attribute="temperature_c",
        metadata=says("Where pH is measured; 20 °C unless stated."),
    )

    @rule
    def form_of_the_acid(self, sent: Mapping[str, Any]) -> None:
        check_form(sent)

    @rule
    def one_of_instead_and_like(self, sent: Mapping[str, Any]) -> None:
        if ("instead" in sent) == ("like" in sent):
            raise ValidationError({"instead": [Coded("exactly-one", "Give exactly one of: instead, like.")]})

    @rule
    def shares(self, sent: Mapping[str, Any]) -> None:
        check_shares(sent.get("instead"), field="instead")


class EquivalentMassSchema(Open):
    """So much of a product."""

    acid = text(100)
    form = text(100)
    mass = q("mass")


class EquivalentAloneSchema(EquivalentMassSchema):
    """One acid by itself, and the pH it gives in the volume."""

    ph = band("number", required=False)


class LikeAcidSchema(Open):
    """One acid of the reference liquid."""

    acid = text(100)
    g_per_l = band("number")
    source = text()
    basis = text(100)


class LikeSchema(Open):
    """The reference liquid whose acids were asked for. meq_per_l: all its acids, what cations hold of them included."""

    name = text(100)
    acids = fields.List(fields.Nested(LikeAcidSchema), required=True)
    meq_per_l = number()


class AcidEquivalentsBody(Open):
    """What brings the same titratable acidity. before: what was given; alone: each acid as if it were the only one."""

    use = fields.List(fields.Nested(EquivalentMassSchema), required=True)
    meq = number()
    volume = q("volume")
    titratable_acidity = fields.Nested(TitratableAcidityAnswerSchema, required=True)
    ph = band("number", required=False)
    before = fields.Nested(EquivalentAloneSchema, required=True)
    alone = fields.List(fields.Nested(EquivalentAloneSchema), required=True)
    like = fields.Nested(LikeSchema)


class AcidEquivalentsAnswer(Envelope, AcidEquivalentsBody):
    """What brings the same titratable acidity, and the pH of it."""


def create_acid_equivalents(asked: Body, answer: Answer, notes: Notes) -> Body:
    """Answer POST /v1/acid-equivalents."""
    return _written(equivalent(EquivalentGiven(**asked), notes), answer)


def _written(found: Equivalent, answer: Answer) -> Body:
    body: Body = {
        "use": [_mass(product, answer) for product in found.instead.products],
        "meq": tidy(found.meq),
        "volume": answer.q("volume", found.volume_ml),
        "titratable_acidity": titratable_acidity(1000.0 * found.meq / found.volume_ml),
        **write_ph(found.instead.ph, answer),
        "before": _single(found.before, answer),
        "alone": [_single(swap, answer) for swap in found.alone],
    }
    if found.like is not None:
        parts = [
            {"acid": p.acid, "g_per_l": answer.band("number", p.g_per_l), "source": p.source, "basis": p.basis}
            for p in found.like.parts
        ]
        body["like"] = {"name": found.like.name, "acids": parts, "meq_per_l": tidy(found.like.meq_per_l)}
    return body


def _mass(product: Product, answer: Answer) -> Body:
    return {"acid": product.acid, "form": product.form, "mass": answer.q("mass", product.product_g)}


def _single(swap: Swap, answer: Answer) -> Body:
    (product,) = swap.products
    return {**_mass(product, answer), **write_ph(swap.ph, answer)}


OPERATION = Operation(
    path="/v1/acid-equivalents",
    operation_id="createAcidEquivalents",
    tag="acid",
    summary="Swap an acid for others of equal titratable acidity.",
    description="Grams of other acids, or of the acids of lemon, lime, grapefruit or sparkling wine, that bring the "
    "titratable acidity of an amount of one acid, and the pH of each in the same volume of water. Equal titratable "
    "acidity is not equal sourness.",
    request=AcidEquivalentsRequest(),
    answer=AcidEquivalentsAnswer,
    view=create_acid_equivalents,
)
