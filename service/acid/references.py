"""The acids as a reference: constants, forms and saturations, each with its source and basis; and those of liquids."""

from dataclasses import asdict, dataclass
from typing import Annotated

from service.declared import BASIS, KNOWN, TEMPERATURE, WORDED, Declared, text
from service.science import acids
from service.science.band import Band
from service.science.validity import OutsideValidity

REFERENCE_C = 25.0
SATURATION_C = (4.0, 10.0, 20.0, 25.0, 30.0)


@dataclass(frozen=True)
class AcidHazard:
    """A GHS hazard statement of a product."""

    code: Annotated[str, text(10)]
    statement: Annotated[str, WORDED, text(200)]
    hazard_class: Annotated[str, WORDED, text(200)]
    basis: Annotated[str, BASIS, KNOWN]


@dataclass(frozen=True)
class AcidFormReference:
    """An acid as it is sold; the rest of it is water."""

    form: Annotated[str, text(40)]
    acid_percent: Annotated[float, "Grams of acid in 100 g of the product."]
    liquid: Declared[bool]
    density_g_per_ml: Declared[float | None]
    density_source: Declared[str | None]
    density_basis: Annotated[str | None, BASIS, KNOWN]
    e_number: Annotated[str, text(20)]
    hazards: Declared[tuple[AcidHazard, ...]]
    hazard_source: Annotated[str, WORDED]
    storage: Annotated[str, WORDED]


@dataclass(frozen=True)
class AcidDissociation:
    """One step at 25 °C and no ionic strength, and its change for a degree more there."""

    step: Declared[int]
    pka: Declared[float]
    per_degree: Declared[float]
    source: Annotated[str, WORDED]
    basis: Annotated[str, BASIS, KNOWN]


@dataclass(frozen=True)
class AcidSaturation:
    """Grams of acid in 100 g of its saturated solution in water."""

    temperature_c: Annotated[float, TEMPERATURE]
    percent_ww: Declared[float]
    source: Annotated[str, WORDED]
    basis: Annotated[str, BASIS, KNOWN]


@dataclass(frozen=True)
class AcidReference:
    """One acid. miscible: it mixes with water at any strength, and has no saturation."""

    acid: Annotated[str, text(40)]
    formula: Annotated[str, text(40)]
    cas: Annotated[str, text(20)]
    e_number: Annotated[str, text(20)]
    molar_mass_g_per_mol: Declared[float]
    protons: Annotated[int, "Those that titratable acidity to pH 8.2 counts."]
    molar_mass_source: Annotated[str, WORDED]
    molar_mass_basis: Annotated[str, BASIS, KNOWN]
    default_form: Annotated[str, text(40)]
    forms: Declared[tuple[AcidFormReference, ...]]
    dissociations: Declared[tuple[AcidDissociation, ...]]
    miscible: Declared[bool]
    saturations: Declared[tuple[AcidSaturation, ...]]


@dataclass(frozen=True)
class AcidOfComposition:
    """One acid of a reference liquid, g/l."""

    acid: Annotated[str, text(40)]
    g_per_l: Declared[Band]
    source: Annotated[str, WORDED]
    basis: Annotated[str, BASIS, KNOWN]


@dataclass(frozen=True)
class AcidComposition:
    """The acids of a juice or wine, to swap acids for."""

    liquid: Annotated[str, WORDED, text(100)]
    acids: Declared[tuple[AcidOfComposition, ...]]
    acidity_meq_per_l: Annotated[float, "All of them as titratable acidity."]


@dataclass(frozen=True)
class JuiceAcidity:
    """The acidity of a juice or wine as its source prints it; absent where it is silent."""

    liquid: Annotated[str, text(100)]
    low: Declared[float | None]
    typical: Declared[float | None]
    high: Declared[float | None]
    unit: Annotated[str, text(20)]
    expressed_as: Annotated[str, text(100)]
    ph_low: Declared[float | None]
    ph_high: Declared[float | None]
    main_acids: Annotated[str, text(200)]
    source: Annotated[str, WORDED]
    basis: Annotated[str, BASIS, KNOWN]


@dataclass(frozen=True)
class AcidReferences:
    """Acids, and the acids of juices and wines."""

    items: Declared[tuple[AcidReference, ...]]
    compositions: Declared[tuple[AcidComposition, ...]]
    juices: Declared[tuple[JuiceAcidity, ...]]


def acid_references() -> AcidReferences:
    """Return every acid that the service knows, and the acids of liquids."""
    return AcidReferences(
        tuple(_reference(acid) for acid in acids.ACIDS.values()),
        tuple(_composition(one) for one in acids.COMPOSITIONS.values()),
        tuple(JuiceAcidity(**asdict(juice)) for juice in acids.JUICES),
    )


def _reference(acid: acids.Acid) -> AcidReference:
    return AcidReference(
        acid=acid.name,
        formula=acid.formula,
        cas=acid.cas,
        e_number=acid.e_number,
        molar_mass_g_per_mol=acid.molar_mass_g_per_mol,
        protons=acid.protons,
        molar_mass_source="CIAAW abridged standard atomic weights 2021",
        molar_mass_basis="published",
        default_form=acid.default_form,
        forms=tuple(_form(form) for form in acids.FORMS.values() if form.acid == acid.name),
        dissociations=_dissociations(acid.name),
        miscible=acid.is_miscible,
        saturations=_saturations(acid),
    )


def _form(form: acids.Form) -> AcidFormReference:
    dense = form.density_g_per_ml is not None
    return AcidFormReference(
        form=form.name,
        acid_percent=100.0 * form.acid_fraction,
        liquid=form.is_liquid,
        density_g_per_ml=form.density_g_per_ml,
        density_source=form.density_source if dense else None,
        density_basis=form.density_basis if dense else None,
        e_number=form.e_number,
        hazards=tuple(AcidHazard(one.code, one.statement, one.hazard_class, one.basis) for one in form.hazards),
        hazard_source=form.hazard_source,
        storage=form.storage,
    )


def _composition(liquid: acids.Composition) -> AcidComposition:
    parts = tuple(AcidOfComposition(one.acid, one.g_per_l, one.source, one.basis) for one in liquid.parts)
    return AcidComposition(liquid.name, parts, liquid.meq_per_l)


def _dissociations(acid: str) -> tuple[AcidDissociation, ...]:
    colder, here, warmer = (acids.pka(acid, temperature_c=REFERENCE_C + step) for step in (-5.0, 0.0, 5.0))
    return tuple(
        AcidDissociation(i, pka, (after - before) / 10.0, step.source, step.basis)
        for i, (step, before, pka, after) in enumerate(
            zip(acids.DISSOCIATION[acid], colder, here, warmer, strict=True), start=1
        )
    )


def _saturations(acid: acids.Acid) -> tuple[AcidSaturation, ...]:
    """Return saturations where the source reaches: nothing is extrapolated."""
    found: list[AcidSaturation] = []
    for temperature_c in SATURATION_C:
        try:
            percent = acids.solubility_percent_ww(acid.name, temperature_c)
        except OutsideValidity:
            continue
        if percent is not None:
            found.append(AcidSaturation(temperature_c, percent, acid.solubility_source, acid.solubility_basis))
    return tuple(found)
