"""pH of a solution, and what a titration of it finds."""

from dataclasses import dataclass
from math import ceil, floor

from service.acid.composition import Mix
from service.notes import Notes
from service.science import acids
from service.science.band import Band

END_POINTS = (
    (8.2, "juice, as ISO 750 and AOAC 942.15 (from memory)"),
    (7.0, "wine, OIV-MA-AS313-01"),
)
"""pH that a titration goes to, CO2 driven off, and who titrates so."""
END_POINT_REACH = 0.05
"""How far the model's pH and a meter may be off at the end point."""


@dataclass(frozen=True)
class Titrated:
    """What a titration to an end point finds, by the speciation of the acids."""

    end_point_ph: float
    method: str
    meq_per_l: Band


def titrations_of(mix: Mix) -> tuple[Titrated, ...]:
    """Both titrations; the end point may be off by 0.05 either side."""
    amounts = mix.acid_mol_per_l

    def found(end_point_ph: float) -> float:
        return acids.titrated_meq_per_l(amounts, end_point_ph=end_point_ph)

    return tuple(
        Titrated(end, method, Band(found(end - END_POINT_REACH), found(end), found(end + END_POINT_REACH)))
        for end, method in END_POINTS
    )


def assume_titration(mix: Mix, notes: Notes) -> None:
    """Say how far the sample is diluted."""
    notes.assume("titrated sample, times diluted", acids.titration_dilution(mix.acid_mol_per_l), "common-practice",
                 "titrated at 25 °C with CO2 driven off")  # fmt: skip


def ph_of(mix: Mix, temperature_c: float, notes: Notes) -> Band | None:
    """pH to 0.1, its ends outward; None, and a caution, where the solution is too strong for the model."""
    total = sum(mix.acid_mol_per_kg_water.values())
    if not total <= acids.MAX_ACID_MOL_PER_KG:
        notes.caution("ph-not-known", "info",
                      "{total} mol of acid in a kilogram of water is beyond what the pH model covers, {most}; no pH is "
                      "given.",
                      at="/acids", total=total, most=acids.MAX_ACID_MOL_PER_KG)  # fmt: skip
        return None
    band = acids.ph_band(mix.acid_mol_per_kg_water, temperature_c=temperature_c, abv=mix.abv)
    return Band(floor(10.0 * band.low) / 10.0, round(10.0 * band.typical) / 10.0, ceil(10.0 * band.high) / 10.0)
