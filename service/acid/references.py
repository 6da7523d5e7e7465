"""The acids as a reference: constants, forms and saturations, each with its source and basis."""

from dataclasses import dataclass

from service.science import acids
from service.science.validity import OutsideValidity

REFERENCE_C = 25.0
SATURATION_C = (4.0, 10.0, 20.0, 25.0, 30.0)


@dataclass(frozen=True)
class Dissociation:
    """One step. pka: at 25 degC and no ionic strength; per_degree: its change there [1/degC]."""

    step: int
    pka: float
    per_degree: float
    source: str
    basis: str


@dataclass(frozen=True)
class Saturation:
    """The saturated solution of an acid in water at a temperature that is tabulated [degC, % w/w]."""

    temperature_c: float
    percent_ww: float
    source: str
    basis: str


@dataclass(frozen=True)
class AcidReference:
    """One acid. saturations: empty for one that mixes with water at any strength (miscible), or where none is known."""

    acid: acids.Acid
    molar_mass_source: str
    molar_mass_basis: str
    default_form: str
    forms: tuple[acids.Form, ...]
    dissociations: tuple[Dissociation, ...]
    miscible: bool
    saturations: tuple[Saturation, ...]


def acid_references() -> tuple[AcidReference, ...]:
    """Return every acid that the service knows."""
    return tuple(
        AcidReference(
            acid=acid,
            molar_mass_source="CIAAW abridged standard atomic weights 2021",
            molar_mass_basis="published",
            default_form=acid.default_form,
            forms=tuple(form for form in acids.FORMS.values() if form.acid == name),
            dissociations=_dissociations(name),
            miscible=acid.is_miscible,
            saturations=_saturations(acid),
        )
        for name, acid in acids.ACIDS.items()
    )


def _dissociations(acid: str) -> tuple[Dissociation, ...]:
    colder, here, warmer = (acids.pka(acid, temperature_c=REFERENCE_C + step) for step in (-5.0, 0.0, 5.0))
    return tuple(
        Dissociation(i, pka, (after - before) / 10.0, step.source, step.basis)
        for i, (step, before, pka, after) in enumerate(
            zip(acids.DISSOCIATION[acid], colder, here, warmer, strict=True), start=1
        )
    )


def _saturations(acid: acids.Acid) -> tuple[Saturation, ...]:
    """Return the saturations that the source reaches: nothing is extrapolated."""
    found: list[Saturation] = []
    for temperature_c in SATURATION_C:
        try:
            percent = acids.solubility_percent_ww(acid.name, temperature_c)
        except OutsideValidity:
            continue
        if percent is not None:
            found.append(Saturation(temperature_c, percent, acid.solubility_source, acid.solubility_basis))
    return tuple(found)
