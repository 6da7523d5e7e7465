"""The acids of a solution."""

from collections.abc import Mapping
from typing import Any

from marshmallow import ValidationError

from service.api.endpoint import Part, rule
from service.api.quantities import REQUIRED, Choice, Coded, Number, says
from service.api.shapes.items import Items
from service.drink import AcidPart, AcidRecipe
from service.limits.requests import MOST_ACIDS
from service.science.acids import FORMS

ACID_NAMES = ("citric", "malic", "tartaric", "lactic", "acetic", "phosphoric", "ascorbic", "succinic")


class AcidPartSchema(Part):
    """One acid of a solution."""

    loads_to = AcidPart

    acid = Choice(*ACID_NAMES, required=True)
    percent = Number(low=0.0001, high=100.0)
    share = Number(low=0.0001, high=1000.0, metadata=says("Part by mass of a blend, where a target TA sets the total."))
    form = Choice(*FORMS, metadata=says("The product as weighed; the common one of the acid when left out."))
    purity_percent = Number(low=50.0, high=100.0, metadata=says("Assay of the product, of its nominal acid."))

    @rule
    def form_of_the_acid(self, sent: Mapping[str, Any]) -> None:
        check_form(sent)


class AcidSolutionSchema(Part):
    """An acid solution by per cent, as a component of a spec."""

    loads_to = AcidRecipe

    acids = Items(AcidPartSchema, most=MOST_ACIDS, required=True)
    basis = Choice("w/w", "w/v", required=True)

    @rule
    def percents(self, sent: Mapping[str, Any]) -> None:
        check_percents(sent.get("acids"))


def check_form(sent: Mapping[str, Any]) -> None:
    """The form, where one is named, is one that the acid is sold in.

    raises: ValidationError
    """
    acid, form = sent.get("acid"), sent.get("form")
    if acid in ACID_NAMES and isinstance(form, str) and form in FORMS and FORMS[form].acid != acid:
        fits = ", ".join(name for name, form in FORMS.items() if form.acid == acid)
        raise ValidationError({"form": [Coded("form-of-another-acid", f"Forms of {acid}: {fits}.")]})


def check_percents(acids: object) -> None:
    """Each acid as sent once, each with a percent.

    raises: ValidationError
    """
    _check(
        acids,
        needed={"percent": REQUIRED},
        not_needed={"share": Coded("not-needed", "Shares go with the basis ta only.")},
    )


def check_shares(acids: object, *, field: str = "acids") -> None:
    """Each acid as sent once, none with a percent, each with a share where there are several.

    raises: ValidationError
    """
    several = isinstance(acids, list) and len(acids) > 1
    _check(
        acids,
        needed={"share": Coded("required", "Several acids need a share each.")} if several else {},
        not_needed={"percent": Coded("not-needed", "The titratable acidity sets the strength.")},
        field=field,
    )


def check_once(acids: object, *, field: str) -> None:
    """Each acid as sent once.

    raises: ValidationError
    """
    _check(acids, needed={}, not_needed={}, field=field)


def _check(
    acids: object, *, needed: Mapping[str, Coded], not_needed: Mapping[str, Coded], field: str = "acids"
) -> None:
    if not isinstance(acids, list) or len(acids) > MOST_ACIDS:
        return  # the field says so itself
    wrong: dict[int, Any] = {}
    for i, part in enumerate(acids):
        if isinstance(part, Mapping):
            wrong[i] = {name: [text] for name, text in needed.items() if name not in part}
            wrong[i] |= {name: [text] for name, text in not_needed.items() if name in part}
            before = [other["acid"] for other in acids[:i] if isinstance(other, Mapping) and "acid" in other]
            if "acid" in part and part["acid"] in before:
                wrong[i]["acid"] = [Coded("duplicate", "Each acid stands once.")]
    if any(wrong.values()):
        raise ValidationError({field: {i: found for i, found in wrong.items() if found}})
