"""GET /v1/references/acids."""

from marshmallow import fields

from service.acid import references as core
from service.api.answers import Answer
from service.api.endpoint import Body, Open, Reference
from service.api.quantities import band, flag, number, q, says, text, whole
from service.api.references.based import basis
from service.science import acids

METRIC = Answer("metric")


class AcidHazard(Open):
    """A GHS hazard statement of a product."""

    code = text(10)
    statement = text(200)
    hazard_class = text(200)
    basis = basis()


class AcidFormReference(Open):
    """An acid as it is sold; the rest of it is water."""

    form = text(40)
    acid_percent = number(metadata=says("Grams of acid in 100 g of the product."))
    liquid = flag()
    density_g_per_ml = number(required=False)
    density_source = text(required=False)
    density_basis = basis(required=False)
    e_number = text(20)
    hazards = fields.List(fields.Nested(AcidHazard), required=True)
    hazard_source = text()
    storage = text()


class AcidDissociation(Open):
    """One step at 25 °C and no ionic strength, and its change for a degree more there."""

    step = whole()
    pka = number()
    per_degree = number()
    source = text()
    basis = basis()


class AcidSaturation(Open):
    """Grams of acid in 100 g of its saturated solution in water."""

    temperature = q("temperature")
    percent_ww = number()
    source = text()
    basis = basis()


class AcidReferenceSchema(Open):
    """One acid. miscible: it mixes with water at any strength, and has no saturation."""

    acid = text(40)
    formula = text(40)
    cas = text(20)
    e_number = text(20)
    molar_mass_g_per_mol = number()
    protons = whole(metadata=says("Those that titratable acidity to pH 8.2 counts."))
    molar_mass_source = text()
    molar_mass_basis = basis()
    default_form = text(40)
    forms = fields.List(fields.Nested(AcidFormReference), required=True)
    dissociations = fields.List(fields.Nested(AcidDissociation), required=True)
    miscible = flag()
    saturations = fields.List(fields.Nested(AcidSaturation), required=True)


class AcidOfComposition(Open):
    """One acid of a reference liquid, g/l."""

    acid = text(40)
    g_per_l = band("number")
    source = text()
    basis = basis()


class AcidComposition(Open):
    """The acids of a juice or wine, to swap acids for."""

    liquid = text(100)
    acids = fields.List(fields.Nested(AcidOfComposition), required=True)
    acidity_meq_per_l = number(metadata=says("All of them as titratable acidity."))


class JuiceAcidity(Open):
    """The acidity of a juice or wine as its source prints it; absent where it is silent."""

    liquid = text(100)
    low = number(required=False)
    typical = number(required=False)
    high = number(required=False)
    unit = text(20)
    expressed_as = text(100)
    ph_low = number(required=False)
    ph_high = number(required=False)
    main_acids = text(200)
    source = text()
    basis = basis()


class AcidReferencesAnswer(Open):
    """Acids, and the acids of juices and wines."""

    model = text(40)
    items = fields.List(fields.Nested(AcidReferenceSchema), required=True)
    compositions = fields.List(fields.Nested(AcidComposition), required=True)
    juices = fields.List(fields.Nested(JuiceAcidity), required=True)


def read() -> Body:
    """Every acid that the service knows, and what liquids hold of them."""
    return {
        "items": [_acid(reference) for reference in core.acid_references()],
        "compositions": [_composition(one) for one in acids.COMPOSITIONS.values()],
        "juices": [_juice(juice) for juice in acids.JUICES],
    }


def _acid(reference: core.AcidReference) -> Body:
    acid = reference.acid
    return {
        "acid": acid.name,
        "formula": acid.formula,
        "cas": acid.cas,
        "e_number": acid.e_number,
        "molar_mass_g_per_mol": acid.molar_mass_g_per_mol,
        "protons": acid.protons,
        "molar_mass_source": reference.molar_mass_source,
        "molar_mass_basis": reference.molar_mass_basis,
        "default_form": reference.default_form,
        "forms": [_form(form) for form in reference.forms],
        "dissociations": [
            {"step": d.step, "pka": d.pka, "per_degree": d.per_degree, "source": d.source, "basis": d.basis}
            for d in reference.dissociations
        ],
        "miscible": reference.miscible,
        "saturations": [
            {
                "temperature": METRIC.q("temperature", s.temperature_c),
                "percent_ww": s.percent_ww,
                "source": s.source,
                "basis": s.basis,
            }
            for s in reference.saturations
        ],
    }


def _form(form: acids.Form) -> Body:
    density: Body = {}
    if form.density_g_per_ml is not None:
        density = {"density_g_per_ml": form.density_g_per_ml, "density_source": form.density_source,
                   "density_basis": form.density_basis}  # fmt: skip
    return {
        "form": form.name,
        "acid_percent": 100.0 * form.acid_fraction,
        "liquid": form.is_liquid,
        **density,
        "e_number": form.e_number,
        "hazards": [
            {"code": h.code, "statement": h.statement, "hazard_class": h.hazard_class, "basis": h.basis}
            for h in form.hazards
        ],
        "hazard_source": form.hazard_source,
        "storage": form.storage,
    }


def _composition(composition: acids.Composition) -> Body:
    return {
        "liquid": composition.name,
        "acids": [
            {"acid": p.acid, "g_per_l": METRIC.band("number", p.g_per_l), "source": p.source, "basis": p.basis}
            for p in composition.parts
        ],
        "acidity_meq_per_l": composition.meq_per_l,
    }


def _juice(juice: acids.Juice) -> Body:
    known = {name: getattr(juice, name) for name in ("low", "typical", "high", "ph_low", "ph_high")}
    return {
        "liquid": juice.liquid,
        **{name: value for name, value in known.items() if value is not None},
        "unit": juice.unit,
        "expressed_as": juice.expressed_as,
        "main_acids": juice.main_acids,
        "source": juice.source,
        "basis": juice.basis,
    }


REFERENCE = Reference(
    path="/v1/references/acids",
    operation_id="listAcids",
    summary="The acids with their constants and products, and the acids of juices and wines.",
    description="Molar masses, dissociation constants, saturations, and the products that are weighed, with hazards; "
    "each with its source and how well it is known.",
    answer=AcidReferencesAnswer,
    read=read,
)
