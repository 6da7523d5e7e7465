"""How far the acid equations are from print, as numbers that a test asserts and a report can list."""

import csv
from collections.abc import Iterable
from math import sqrt

from service.science.acids import ACIDS, ph, solution_density_g_per_ml, tartrate_saturation, water_for_volume_g
from tests.published import DATA

KHT_G_PER_MOL = 188.18  # Merck Index
Residual = tuple[str, int, float, float, float, str]


def rows(name: str, **where: str) -> list[dict[str, str]]:
    with (DATA / name).open(encoding="utf-8") as file:
        table = csv.DictReader(line for line in file if not line.startswith("#"))
        kept = [row for row in table if all(row[key] == text for key, text in where.items())]
    if not kept:
        raise LookupError(f"{name} has no rows where {where}")
    return kept


def amounts_of(text: str) -> dict[str, float]:
    return {acid: float(amount) for acid, amount in (part.split("=") for part in text.split(";"))}


def ph_error(row: dict[str, str]) -> float:
    """Ours less the printed pH; a molar amount is turned into one per kg of water."""
    amounts = amounts_of(row["acids"])
    co2 = amounts.pop("co2", 0.0)
    if row["unit"] == "mol/L":
        grams = {acid: m * ACIDS[acid].molar_mass_g_per_mol for acid, m in amounts.items()}
        water_kg = water_for_volume_g(grams, 1000.0) / 1000.0
        amounts = {acid: m / water_kg for acid, m in amounts.items()}
    ours = ph(
        amounts,
        strong_cation_mol_per_kg=float(row["strong_cation"]),
        temperature_c=float(row["temperature_c"]),
        co2_mol_per_kg=co2,
    )
    return ours - float(row["ph"])


def density_error(row: dict[str, str]) -> float:
    percent = float(row["percent_ww"])
    ours = solution_density_g_per_ml({row["acid"]: percent}, 100.0 - percent, float(row["temperature_c"]))
    return ours - float(row["density_g_per_ml"])


def saturation_error(row: dict[str, str]) -> float:
    """The saturated solution of print has a saturation of 1."""
    salt = float(row["g_per_l"]) / KHT_G_PER_MOL
    band = tartrate_saturation(
        {"tartaric": salt},
        potassium_mol_per_kg=salt,
        temperature_c=float(row["temperature_c"]),
        abv=float(row["abv"]),
    )
    return band.typical - 1.0


def summary(label: str, errors: Iterable[float], unit: str) -> Residual:
    e = list(errors)
    return label, len(e), sum(e) / len(e), max(map(abs, e)), sqrt(sum(x * x for x in e) / len(e)), unit


def acid_residuals() -> list[Residual]:
    """(label, n, mean, largest either side, root mean square, unit), ours less print."""
    fitted, outside = (rows("acid_density.csv", kind=kind) for kind in ("fitted", "outside"))
    weak, strong = ([r for r in fitted if (float(r["percent_ww"]) <= 5) == low] for low in (True, False))
    return [
        summary("pH of primary buffers, 0 to 30 °C", map(ph_error, rows("acid_ph.csv", kind="buffer")), "pH"),
        summary("pH of single acids, printed readings", map(ph_error, rows("acid_ph.csv", kind="reading")), "pH"),
        summary("pH against PHREEQC, minteq.v4", map(ph_error, rows("acid_ph.csv", kind="phreeqc")), "pH"),
        summary("density to 5 % w/w (fitted to these rows)", map(density_error, weak), "g/mL"),
        summary("density 10 to 20 % w/w (fitted to these rows)", map(density_error, strong), "g/mL"),
        summary("density, rows not fitted", map(density_error, outside), "g/mL"),
        summary("saturation of KHT at its printed solubility", map(saturation_error, rows("kht_solubility.csv")), "-"),
    ]
