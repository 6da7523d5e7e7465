"""The acids, the forms they are sold in, and how much titratable acidity each brings.

Malolactic conversion, since bars ask: L-malic acid -> L-lactic acid + CO2, one to one to one. It halves the
titratable acidity of the malic acid it uses up, and neither makes nor uses tartaric acid.
source: Kunkee 1991, FEMS Microbiol. Rev. 88:55
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

from service.science.tables import flag, known, number, rows
from service.science.validity import OutsideValidity


@dataclass(frozen=True)
class HazardStatement:
    """One GHS hazard statement, and what to do about it. hazard_class: its class and category."""

    code: str
    text: str
    hazard_class: str
    severity: Literal["warning", "danger"]
    what_to_do: str


@dataclass(frozen=True)
class Acid:
    """A pure acid. protons: those that titratable acidity counts, to about pH 8.2.

    default_form: taken when none is named
    is_miscible: it mixes with water at any strength; is_mineral: it is not organic, and so no nutrient
    solubility_source: empty where its solubility is not known
    """

    name: str
    formula: str
    cas: str
    e_number: str
    molar_mass_g_per_mol: float
    protons: int
    apparent_molar_volume_ml_per_mol: float
    volume_source: str
    volume_basis: str
    default_form: str
    is_miscible: bool
    is_mineral: bool
    solubility_source: str
    solubility_basis: str

    @property
    def equivalent_mass_g_per_eq(self) -> float:
        """Grams of pure acid that bring one mole of titratable protons."""
        return self.molar_mass_g_per_mol / self.protons


@dataclass(frozen=True)
class Hazard:
    """One GHS hazard statement and how well it is known here."""

    code: str
    basis: str

    @property
    def statement(self) -> str:
        """The wording of the code."""
        return HAZARD_STATEMENTS[self.code].text

    @property
    def hazard_class(self) -> str:
        """The GHS class and category of the code."""
        return HAZARD_STATEMENTS[self.code].hazard_class


@dataclass(frozen=True)
class Form:
    """An acid as sold. acid_fraction: grams of pure acid per gram of product; the rest is water."""

    name: str
    acid: str
    acid_fraction: float
    is_liquid: bool
    density_g_per_ml: float | None
    density_source: str
    density_basis: str
    hazards: tuple[Hazard, ...]
    hazard_source: str
    e_number: str
    storage: str


def _acid(row: dict[str, str]) -> Acid:
    return Acid(
        name=row["acid"],
        formula=row["formula"],
        cas=row["cas"],
        e_number=row["e_number"],
        molar_mass_g_per_mol=number("acids", row["molar_mass_g_per_mol"]),
        protons=int(row["protons"]),
        apparent_molar_volume_ml_per_mol=number("acids", row["apparent_molar_volume_ml_per_mol"]),
        volume_source=row["volume_source"],
        volume_basis=row["volume_basis"],
        default_form=row["default_form"],
        is_miscible=flag("acids", row["miscible"]),
        is_mineral=flag("acids", row["mineral"]),
        solubility_source=row["solubility_source"],
        solubility_basis=row["solubility_basis"],
    )


def _form(row: dict[str, str]) -> Form:
    hazards = (pair.split(":") for pair in row["hazards"].split())
    return Form(
        name=row["form"],
        acid=known("acid_forms", row["acid"], ACIDS),
        acid_fraction=number("acid_forms", row["acid_fraction"]),
        is_liquid=flag("acid_forms", row["is_liquid"]),
        density_g_per_ml=float(row["density_g_per_ml"]) if row["density_g_per_ml"] else None,
        density_source=row["density_source"],
        density_basis=row["density_basis"],
        hazards=tuple(Hazard(known("acid_forms", code, HAZARD_STATEMENTS), basis) for code, basis in hazards),
        hazard_source=row["hazard_source"],
        e_number=ACIDS[row["acid"]].e_number,
        storage=row["storage"],
    )


def _statement(row: dict[str, str]) -> HazardStatement:
    severity = known("hazards", row["severity"], _SEVERITIES)
    return HazardStatement(row["code"], row["statement"], row["hazard_class"], _SEVERITIES[severity], row["what_to_do"])


def _default_forms() -> dict[str, str]:
    """Return the default form of each acid.

    raises: ValueError for an acid whose default form is none of its own
    """
    forms = {acid: [form.name for form in FORMS.values() if form.acid == acid] for acid in ACIDS}
    return {name: known("acids", acid.default_form, forms[name]) for name, acid in ACIDS.items()}


_SEVERITIES: Mapping[str, Literal["warning", "danger"]] = {"warning": "warning", "danger": "danger"}
HAZARD_STATEMENTS: Mapping[str, HazardStatement] = MappingProxyType(
    {row["code"]: _statement(row) for row in rows("hazards")}
)
"""By code, in the order in which they are told; source: hazards.csv."""
ACIDS: Mapping[str, Acid] = MappingProxyType({row["acid"]: _acid(row) for row in rows("acids")})
FORMS: Mapping[str, Form] = MappingProxyType({row["form"]: _form(row) for row in rows("acid_forms")})
DEFAULT_FORM: Mapping[str, str] = MappingProxyType(_default_forms())
"""The form assumed when none is named."""

_MIN_ASSAY, _MAX_ASSAY = 0.5, 1.05
"""Assay of a product against its label; food specifications allow up to 105 % of it (FCC, lactic acid; recalled)."""


def meq_per_g(acid: str) -> float:
    """Titratable acidity of a gram of pure acid: 1000 protons / M.

    acid: a key of ACIDS
    returns: [meq/g]
    """
    return 1000.0 / ACIDS[acid].equivalent_mass_g_per_eq


def as_g_per_l(meq_per_l: float, acid: str) -> float:
    """Titratable acidity expressed as grams of one acid [g/L]."""
    return meq_per_l / meq_per_g(acid)


def meq_per_l_of(g_per_l: float, acid: str) -> float:
    """Titratable acidity of a concentration of one acid [meq/L]; several acids add up."""
    return g_per_l * meq_per_g(acid)


def product_g(acid_g: float, form: str, *, assay: float = 1.0) -> float:
    """Grams of product to weigh for an amount of pure acid: m / (f assay).

    assay: acid found over acid the form promises [g/g], 0.5 to 1.05
    returns: [g]; the product brings product_g - acid_g of water
    raises: OutsideValidity
    """
    if not _MIN_ASSAY <= assay <= _MAX_ASSAY:
        raise OutsideValidity("assay of the acid", 100 * assay, 100 * _MIN_ASSAY, 100 * _MAX_ASSAY, "%")
    return acid_g / (FORMS[form].acid_fraction * assay)
