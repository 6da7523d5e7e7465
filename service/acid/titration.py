"""Titrations with sodium hydroxide: of a solution, foretold; of a liquid, read."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import partial
from types import MappingProxyType
from typing import Annotated, Any, Literal

from service.acid.composition import Mix
from service.declared import ACIDITY, THREE_WAYS, Declared, number, shape, text, volume
from service.drink import AcidName
from service.errors import Fact, Fault, Refused, params_of, within_validity
from service.limits.acids import END_POINT_REACH
from service.notes import Notes
from service.science import acids
from service.science.band import Band
from service.science.units import Quantity
from service.science.validity import OutsideValidity

EndPoint = Literal["ph-8.2", "ph-7"]
END_POINTS: Mapping[EndPoint, tuple[float, str]] = MappingProxyType(
    {
        "ph-8.2": (8.2, "juice, as ISO 750 and AOAC 942.15 (from memory)"),
        "ph-7": (7.0, "wine, OIV-MA-AS313-01"),
    }
)
"""pH that a titration goes to, CO2 driven off, and who titrates so."""
MAIN_ACID = "citric"
"""The acid that a liquid's is taken for where only its acidity is known; estimate: the acid of citrus juice."""


@shape("Titration")
@dataclass(frozen=True)
class Titrated:
    """The result of a titration to an end point, by the speciation of the acids, CO2 driven off.

    titratable_acidity counts whole protons; this counts those that have left at the end point.
    """

    end_point_ph: Declared[float]
    method: Annotated[str, text(200)]
    meq_per_l: Declared[Band]

    @property
    def titratable_acidity_meq_per_l(self) -> Annotated[float, ACIDITY, THREE_WAYS]:
        return self.meq_per_l.typical


def titrations_of(mix: Mix) -> tuple[Titrated, ...]:
    """Return both titrations; the end point may be off by 0.05 either side."""
    amounts = mix.acid_mol_per_l

    def found(end_point_ph: float) -> float:
        return acids.titrated_meq_per_l(amounts, end_point_ph=end_point_ph)

    return tuple(
        Titrated(end, method, Band(found(end - END_POINT_REACH), found(end), found(end + END_POINT_REACH)))
        for end, method in END_POINTS.values()
    )


def assume_titration(mix: Mix, notes: Notes) -> None:
    """Note how far the sample is diluted."""
    notes.assume("titrated sample, times diluted", acids.titration_dilution(mix.acid_mol_per_l), "common-practice",
                 "titrated at 25 °C with CO2 driven off")  # fmt: skip


def main_acid_of_the_end_point(sent: Mapping[str, Any]) -> Iterator[Fault]:
    """Find a main acid beside the end point that does not depend on it."""
    if "main_acid" in sent and sent.get("end_point") == "ph-8.2":
        yield Fault("/main_acid", "not-needed", "To pH 8.2 it does not matter.")


@shape(rules=[main_acid_of_the_end_point])
@dataclass(frozen=True)
class AcidTitration:
    """A titration with sodium hydroxide, CO2 driven off first. ph-7 is the end point of OIV-MA-AS313-01, for wine."""

    naoh_ml: Annotated[float, volume(low=0.01, high=1000.0)]
    normality: Annotated[float, number(low=0.001, high=10.0), "Of the sodium hydroxide, mol/l."]
    sample_ml: Annotated[float, volume(low=0.1, high=1000.0)]
    end_point: Declared[EndPoint]
    main_acid: Annotated[AcidName | None, "With ph-7 only: what most of it is; citric unless stated."] = None

    @property
    def read_meq_per_l(self) -> float:
        """The acid found to the end point: 1000 v N / V [meq/L]."""
        return 1000.0 * self.naoh_ml * self.normality / self.sample_ml


def titrated_meq_per_l(titration: AcidTitration, notes: Notes, *, at: str) -> float:
    """Return the titratable acidity to pH 8.2 that a titration tells.

    to pH 8.2: as read; to pH 7: read f(8.2) / f(7), f the share of the main acid's protons that an end point counts

    at: JSON Pointer of the titration
    returns: [meq/L]
    raises: Refused ("impossible-reading")
    source: OIV-MA-AS313-01 for the end point pH 7 without CO2; f by the charge balance of `titrated_fraction`
    """
    read = titration.read_meq_per_l
    notes.caution("degas-before-titration", "info",
                  "Drive the CO2 off before a titration, by boiling briefly or under vacuum: each mmol of it takes up "
                  "to 1 meq of base. Base weakens as it stands; check its normality.",
                  at=f"{at}/naoh")  # fmt: skip
    if titration.end_point == "ph-8.2":
        return read
    acid = titration.main_acid or MAIN_ACID
    if titration.main_acid is None:
        notes.assume("main acid of the liquid, for what lies between pH 7 and 8.2", acid, "estimate",
                     at=f"{at}/main_acid", code="main-acid-of-the-liquid")  # fmt: skip
    share = _share_to_ph_7(acid, read, at)
    notes.caution("titrated-to-ph-7", "warning",
                  "To pH 7 (OIV-MA-AS313-01) the sample showed {read}; to pH 8.2, which every acidity here goes to, "
                  "that is {full} if it is {acid} acid. The target is to pH 8.2 too: titrated to pH 7, the finished "
                  "liquid shows about {percent} % of it.",
                  at=f"{at}/end_point", read=Quantity("acidity", read), full=Quantity("acidity", read / share),
                  acid=acid, percent=100.0 * share)  # fmt: skip
    return read / share


def _share_to_ph_7(acid: str, read_meq_per_l: float, at: str) -> float:
    """Return what a titration to pH 7 finds of an acid, over what one to pH 8.2 does.

    raises: Refused ("impossible-reading")
    """
    mol_per_l = read_meq_per_l / 1000.0 / acids.ACIDS[acid].protons  # mol/kg of water is nearly that
    with within_validity(at, partial(_too_much_acid, read_meq_per_l)):
        ends = (END_POINTS[name][0] for name in ("ph-7", "ph-8.2"))
        seven, eight = (acids.titrated_fraction(acid, mol_per_l, end_point_ph=end) for end in ends)
    return seven / eight


def _too_much_acid(read_meq_per_l: float, outside: OutsideValidity, at: str) -> Refused:
    """Return the refusal of an acidity that no titration is modelled for."""
    text = "Dilute it and titrate again: {what} {value} is outside {low} to {high}, which the titration model covers."
    fault = Fault(at, "titration-not-modelled", text, tuple(params_of(outside).items()))
    return Refused("impossible-reading", [fault], facts=[Fact("read", Quantity("acidity", read_meq_per_l))])
