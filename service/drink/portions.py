"""The portions of a spec in one glass."""

from collections.abc import Mapping, Sequence

from service.drink.litre import SUGAR_BULK_G_PER_ML, impossible, litre_of_component, litre_of_mix
from service.drink.portion import Portion
from service.drink.references import assume_references, filled
from service.drink.spec import Component, Spec
from service.drink.water import caution_counts_as_water
from service.errors import Refused, Term, within_validity
from service.limits.batches import DENSITY_NOTED, DENSITY_TOLERANCE
from service.notes import Notes
from service.science import acids, mixture
from service.science.units import FACTORS, Quantity

_DEFAULTED = {"abv": "abv", "sugar": "sugar", "acidity": "acidity_meq_per_l"}
"""Field of a component that is assumed to be none where it is left out -> its name in the core."""
_SILENT = {
    "abv": "alcohol of components that state none, %vol",
    "sugar": "sugar of components that state none, g/l",
    "acidity": "acidity of components that state none, meq/l",
}
"""The same -> what is assumed, in words."""


def portions(spec: Spec, notes: Notes, *, at: str = "/spec") -> tuple[Portion, ...]:
    """Return the portion of each component in one glass.

    at: JSON Pointer of the spec in the request
    raises: Refused, with every component that cannot exist named
    """
    found = _portions(spec, notes, at)
    caution_counts_as_water(found, notes, at)
    return found


def _portions(spec: Spec, notes: Notes, at: str) -> tuple[Portion, ...]:
    """Return the portions of a spec, or of one that a component is made from; notes of the whole are made outside."""
    found: list[Portion] = []
    refusals: list[Refused] = []
    components = [filled(component) for component in spec.components]
    for i, component in enumerate(components):
        try:
            found.append(_portion(component, notes, at=f"{at}/components/{i}"))
        except Refused as refused:
            refusals.append(refused)
    if refusals:
        raise Refused(
            refusals[0].slug,
            [f for r in refusals for f in r.faults],
            facts=[f for r in refusals for f in r.facts],
            nearest=[n for r in refusals for n in r.nearest],
        )
    assume_references(spec.components, notes, at)
    _assume_defaults(components, notes, at)
    _caution_densities(found, notes, at)
    return tuple(found)


def _portion(component: Component, notes: Notes, *, at: str) -> Portion:
    """Return one component's portion; its volume is as stated, or its mass by the density of a litre.

    raises: Refused ("impossible-composition") when strength, sugar and density cannot all be true
    """
    with within_validity(at, impossible):
        if component.made_from is None:
            litre = litre_of_component(component, at)
        else:
            litre = litre_of_mix(component, _portions(component.made_from, notes, f"{at}/made_from"))
    amount = component.amount.quantity
    return litre.times(amount.value / (litre.volume_ml if amount.kind == "volume" else litre.masses.total_g))


def _assume_defaults(components: Sequence[Component], notes: Notes, at: str) -> None:
    placed = [(f"{at}/components/{i}", component) for i, component in enumerate(components)]
    analysed = [(here, c) for here, c in placed if c.acid_solution is None and c.made_from is None]
    for field, attribute in _DEFAULTED.items():
        silent = [here for here, c in analysed if getattr(c, attribute) is None and (field != "sugar" or not c.syrup)]
        if silent:
            notes.assume(_SILENT[field], 0.0, "default", at=tuple([f"{here}/{field}" for here in silent]))
    dense = tuple([f"{here}/density_g_per_ml" for here, c in placed if c.density_g_per_ml is not None])
    if dense:
        rest = Term("counts as water; within {percent} % of the volume", percent=100.0 * DENSITY_TOLERANCE)
        notes.assume("what a stated density holds beyond strength, sugar, acid and salt", rest, "estimate", at=dense,
                     code="rest-of-a-stated-density")  # fmt: skip
    kept = tuple([f"{here}/yield_percent" for here, c in placed if c.yield_percent is not None])
    if kept:
        by = Term("by mass; what it is started from counts by the density of what is kept where it is by volume")
        notes.assume("yield", by, "default", at=kept)
    assume_ounces(tuple([f"{here}/amount" for here, c in placed if c.amount.unit == "oz"]), notes)
    for here, c in placed:
        if c.acid_solution is not None:
            parts = enumerate(c.acid_solution.acids)
            caution_solubility({f"{here}/acid_solution/acids/{i}": part.acid for i, part in parts}, notes)
    loose = tuple([f"{here}/syrup" for here, c in placed if c.syrup is not None and c.syrup.by == "volume"])
    if loose:
        notes.assume("loose granulated sugar, g/ml", SUGAR_BULK_G_PER_ML, "published", "USDA SR 169655", at=loose)


def _caution_densities(found: Sequence[Portion], notes: Notes, at: str) -> None:
    text = "Check the density of {component}: its other contents make it {percent} % different."
    for i, portion in enumerate(found):
        if portion.component.density_g_per_ml is None:
            continue
        percent = 100.0 * abs(mixture.volume_ml(portion.masses) / portion.volume_ml - 1.0)
        if percent > 100.0 * DENSITY_NOTED:
            where, name = f"{at}/components/{i}/density_g_per_ml", portion.component.name
            notes.caution("density-differs", "info", text, at=where, component=name, percent=percent)


def assume_ounces(at: tuple[str, ...], notes: Notes) -> None:
    """Note which ounce is meant where amounts are in ounces."""
    if at:
        ounce = Quantity("volume", FACTORS["volume"]["oz"])
        notes.assume("oz is the US fluid ounce", ounce, "published", "NIST Handbook 44, Appendix C", at=at)


def caution_solubility(placed: Mapping[str, str], notes: Notes) -> None:
    """Warn of acids whose solubility is not known. placed: JSON Pointer of each acid -> its name"""
    for at, acid in placed.items():
        if not acids.solubility_is_known(acid):
            text = ("Chill a sample of the solution first, and look for crystals: how much {acid} acid water holds is "
                    "not known here.")  # fmt: skip
            notes.caution("solubility-not-known", "warning", text, at=at, acid=Term(acid))
