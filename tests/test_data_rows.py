"""Rows added to the tables, and nothing else: the service is copied, given rows, and asked in a process of its own."""

import csv
import json
import math
import re
import shutil
import subprocess
import sys
from pathlib import Path

import chemicals
import pint
import pytest

from tests.published import published
from tests.running import ROOT

ASK = """
import json, pathlib, sys
from service.api.app import create_app
client = create_app({"AUTH": "open", "LOG_LEVEL": "critical"}).test_client()
found = []
for path, body in json.loads(sys.argv[1]):
    answer = client.get(path) if body is None else client.post(path, json=body)
    found.append([answer.status_code, answer.get_json()])
pathlib.Path("answers.json").write_text(json.dumps(found))
"""
WRITE_DOCUMENT = """
import pathlib, runpy, sys
sys.stdout = pathlib.Path("openapi/openapi.json").open("w", encoding="utf-8")
runpy.run_module("service.api.openapi", run_name="__main__")
"""
"""As `make openapi` does after a row came in."""
DOCUMENT = "/openapi.json"


def of(unit, value):
    return {"value": value, "unit": unit}


@pytest.fixture(scope="module")
def copied(tmp_path_factory):
    """The service as it is, beside the examples that its document shows."""
    tree = tmp_path_factory.mktemp("copied")
    shutil.copytree(ROOT / "service", tree / "service", ignore=shutil.ignore_patterns("__pycache__", "*.so"))
    shutil.copytree(ROOT / "openapi", tree / "openapi")
    return tree


@pytest.fixture
def tree(copied):
    """The copy, whose tables are as they were again after the test."""
    tables = [
        *(copied / "service/science/data").glob("*.csv"),
        copied / "service/codes.csv",
        copied / "openapi/openapi.json",
    ]
    before = {path: path.read_bytes() for path in tables}
    yield copied
    for path, text in before.items():
        path.write_bytes(text)


def add(tree: Path, table: str, **row: object) -> None:
    """Write one row at the end of a table; what is not named stays empty."""
    path = tree / ("service/codes.csv" if table == "codes" else f"service/science/data/{table}.csv")
    lines = path.read_text(encoding="utf-8").splitlines()
    (fields,) = csv.reader([lines[table != "codes"]])
    assert row.keys() <= set(fields), fields
    with path.open("a", encoding="utf-8", newline="") as file:
        csv.DictWriter(file, fields, lineterminator="\n").writerow(row)


def asked(tree: Path, *requests: tuple[str, object]) -> list[dict]:
    """Answers of the copy, each of them a good one; a request without a body is a GET."""
    if (DOCUMENT, None) in requests:
        run(tree, WRITE_DOCUMENT)
    run(tree, ASK, json.dumps(requests))
    answers = json.loads((tree / "answers.json").read_text(encoding="utf-8"))
    assert [(path, body) for (path, _), (status, body) in zip(requests, answers, strict=True) if status != 200] == []
    return [body for _, body in answers]


def run(tree: Path, program: str, *arguments: str) -> None:
    command = [sys.executable, "-B", "-c", program, *arguments]
    done = subprocess.run(command, cwd=tree, capture_output=True, text=True, timeout=60, check=False)
    if done.returncode:
        raise RuntimeError(done.stderr.strip().rpartition("\n")[2])


def codes(answer):
    return {caution["code"]: caution for caution in answer["cautions"]}


def only(items, **where):
    (found,) = [item for item in items if where.items() <= item.items()]
    return found


# A new acid


def add_adipic(tree, **form):
    """E 355. pKa 4.43 and 5.41: CRC Handbook, Dissociation Constants of Organic Acids and Bases, from memory.

    Nothing is known here of its solubility, of strong solutions or of hazards; its volume is an estimate.
    """
    add(tree, "acids", acid="adipic", formula="C6H10O4", cas="124-04-9", e_number="E355", molar_mass_g_per_mol=146.142,
        protons=2, apparent_molar_volume_ml_per_mol=105, volume_source="estimate", volume_basis="estimate",
        default_form="adipic", miscible="no", mineral="no")  # fmt: skip
    add(tree, "acid_forms", **{"form": "adipic", "said": "adipic acid", "acid": "adipic", "acid_fraction": 1,
                               "is_liquid": "no", "hazard_source": "not read",
                               "storage": "Keep dry."} | form)  # fmt: skip
    for step, pk in enumerate((4.43, 5.41), 1):
        add(tree, "acid_dissociation", acid="adipic", step=step, equation="van-t-hoff", a=pk, b=0,
            source="CRC Handbook (from memory), the same at every temperature", basis="unverified")  # fmt: skip


ADIPIC = chemicals.MW("124-04-9")
"""Of the library chemicals [g/mol], with 2e-5 between its atomic weights and those here."""
A_THOUSANDTH = {"acids": [{"acid": "adipic", "percent": 0.1}], "basis": "w/w", "size": of("g", 1000)}


def test_a_new_acid_is_weighed_titrated_and_has_its_ph(tree):
    add_adipic(tree)
    solution, reference, units, document = asked(
        tree, ("/v1/acid-solutions", A_THOUSANDTH), ("/v1/references/acids", None), ("/v1/references/units", None),
        (DOCUMENT, None),
    )  # fmt: skip
    assert only(solution["weigh"], name="adipic acid")["mass"] == of("g", pytest.approx(1.0))
    # by hand: 1 g in 1 kg of a solution as dense as water at 20 °C, 998.2 g/l, two protons a molecule; 0.1 %, the
    # stated error of a volume
    assert solution["titratable_acidity"]["meq_per_l"] == pytest.approx(2 * 998.2 / ADIPIC, rel=1e-3)
    # by hand: h^2 / (c - h) = K1, the second step hardly gives off anything; 0.05, the stated reach of pH
    k, c = 10.0**-4.43, 1.0 / ADIPIC / 0.999
    by_hand = -math.log10((-k + math.sqrt(k * k + 4.0 * k * c)) / 2.0)
    assert solution["ph"]["typical"] == pytest.approx(by_hand, abs=0.05)
    (of_adipic,) = solution["solubility"]
    assert (of_adipic["acid"], of_adipic["miscible"], of_adipic["ok"]) == ("adipic", False, False)
    assert codes(solution)["solubility-not-known"]["pointers"] == ["/acids/0"]
    assert not [code for code in codes(solution) if code.startswith("handling")]

    listed = only(reference["items"], acid="adipic")
    assert [step["pka"] for step in listed["dissociations"]] == pytest.approx([4.43, 5.41])
    assert (listed["saturations"], listed["miscible"], listed["default_form"]) == ([], False, "adipic")
    assert {unit["expressed_as"] for unit in units["items"] if "expressed_as" in unit} == {"citric", "tartaric"}
    properties = document["components"]["schemas"]["AcidPart"]["properties"]
    assert "adipic" in properties["acid"]["enum"]
    assert "adipic" in properties["form"]["enum"]


def test_a_new_acid_is_taken_wherever_acids_are(tree):
    add_adipic(tree)
    recipe = {"acids": [{"acid": "adipic", "percent": 1}], "basis": "w/w"}
    liquid = {"volume": of("l", 1), "acidity": {**of("g/l", 3), "expressed_as": "citric"}}
    spec = {"name": "Invented", "components": [
        {"name": "Sour", "amount": of("ml", 20), "acid_solution": recipe},
        {"name": "Water", "amount": of("ml", 80), "reference": "water"},
    ]}  # fmt: skip
    instead, adjusted, dosed, batch, points = asked(
        tree,
        ("/v1/acid-equivalents", {"amount": of("g", 10), "acid": "citric", "instead": [{"acid": "adipic"}]}),
        ("/v1/acid-adjustments", {"liquid": liquid, "target": {**of("g/l", 4), "expressed_as": "citric"},
                                  "using": {"dry": [{"acid": "adipic"}]}}),
        ("/v1/acid-doses", {"drink": {"composition": {"abv": 0, "sugar": of("g/l", 0)}}, "serve": of("ml", 100),
                            "solution": recipe, "dose": of("ml", 10), "measured": {
                                "acidity": {**of("g/l", 3), "expressed_as": "citric"}, "ph": 3.0,
                                "main_acid": "adipic"}}),
        ("/v1/batches", {"spec": spec, "size": {"serves": 10}}),
        ("/v1/carbonation/set-points", {"drink": {"spec": spec}, "target": of("g/l", 4),
                                        "temperatures": [of("c", 2)]}),
    )  # fmt: skip
    # by hand: 10 g of citric acid, three protons of 192.123 g, is so much adipic acid with its two; half a digit of M
    (swapped,) = instead["use"]
    assert swapped["mass"]["value"] == pytest.approx(10.0 * 3 / 192.123 * ADIPIC / 2, rel=3e-5)
    # by hand: 1 g/l of citric acid to a litre is 3000/192.123 meq; the volume of what is added is not counted, 0.5 %
    (added,) = adjusted["add"]
    assert added["mass"]["value"] == pytest.approx(3000 / 192.123 * ADIPIC / 2000, rel=5e-3)
    # by hand: in a glass of 100 ml 20 ml of a solution of 10 g in a kilogram, by a litre of 1.000 +- 0.003 kg
    acidity = batch["totals"]["titratable_acidity"]["meq_per_l"]
    assert acidity == pytest.approx(0.2 * 2 * 10_000 / ADIPIC, rel=3e-3)
    for answer in (instead, adjusted, dosed, batch, points):
        assert codes(answer)["solubility-not-known"]["params"][0]["text"] == "adipic"


def test_a_new_acid_is_as_well_known_as_its_rows(tree):
    """A saturation, a density and a hazard are rows; the statement is GHS's, that adipic acid has it is invented."""
    add_adipic(tree, hazards="H302:unverified")
    add(tree, "hazards", code="H302", statement="Harmful if swallowed", hazard_class="acute toxicity, category 4",
        severity="warning", what_to_do="Label it.")  # fmt: skip
    add(tree, "codes", kind="caution", code="handling-h302", severity="warning", status="built", text="{products}",
        params="products:text")  # fmt: skip
    for celsius, percent in ((10, 1.0), (20, 1.4)):  # 1.4 g in 100 g at 15 °C, from memory; the other invented
        add(tree, "acid_solubility", acid="adipic", temperature_c=celsius, percent_ww=percent, basis="unverified")
    asked_for = {**A_THOUSANDTH, "acids": [{"acid": "adipic", "percent": 1.15}], "coldest_storage": of("c", 15)}
    solution, reference = asked(tree, ("/v1/acid-solutions", asked_for), ("/v1/references/acids", None))
    (of_adipic,) = solution["solubility"]
    assert of_adipic["saturation_percent_ww"] == pytest.approx((1.0 + 1.4) / 2)  # by hand: half way
    assert codes(solution).keys() >= {"near-saturation", "handling-h302"}  # 1.15 of 1.2 is over nine tenths
    assert "solubility-not-known" not in codes(solution)
    assert codes(solution)["handling-h302"]["text"].startswith(
        "adipic acid: Harmful if swallowed (H302, acute toxicity"
    )
    (form,) = only(reference["items"], acid="adipic")["forms"]
    assert form["hazards"][0]["statement"] == "Harmful if swallowed"


# A new ingredient


def test_a_new_ingredient_is_what_its_row_says(tree):
    """Sugar and density of 60 % sucrose: CRC Handbook, tests/data; quinic acid: chemicals. The rest is invented."""
    ((density,),) = published("sucrose_density_crc.csv", "density_kg_m3", mass_percent="60")
    sugar, quinic = 0.6 * density, chemicals.MW("77-95-2")
    add(tree, "ingredient_acids", acid="quinic", g_per_eq=quinic)
    add(tree, "ingredients", reference="sixty-syrup", name="syrup of sixty", abv=0, sugar_g_per_l=sugar, hexose_share=0,
        acid_g_per_l=10, expressed_as="quinic", clarity="hazy", foams="yes", sparkles="no", allergens="milk eggs",
        keeps_h=48, abv_basis="published", sugar_basis="published", acid_basis="unverified",
        allergens_basis="common-practice", source="tests")  # fmt: skip
    spec = {"name": "Invented", "components": [
        {"name": "Syrup", "amount": of("ml", 25), "reference": "sixty-syrup"},
        {"name": "Water", "amount": of("ml", 75), "reference": "water"},
    ]}  # fmt: skip
    batch, reference, document = asked(
        tree, ("/v1/batches", {"spec": spec, "size": {"serves": 4}}), ("/v1/references/ingredients", None),
        (DOCUMENT, None),
    )  # fmt: skip
    totals = batch["totals"]
    # by hand: a quarter of the glass; 0.5 %, by which a glass shrinks as syrup and water mix
    assert totals["sugar"]["value"] == pytest.approx(sugar / 4, rel=5e-3)
    assert totals["titratable_acidity"]["meq_per_l"] == pytest.approx(10_000 / quinic / 4, rel=5e-3)
    assert batch["allergens"] == ["eggs", "milk"]
    listed = only(reference["items"], reference="sixty-syrup")
    assert listed["sugar"] == of("g/l", pytest.approx(sugar))
    assert listed["allergens"] == ["milk", "eggs"]
    assert "sixty-syrup" in json.dumps(document["components"]["schemas"]["Component"]["properties"]["reference"])


# A new vessel


HALF_BARREL_ML = 15.5 * 3785.411784
"""A barrel of beer is 31 US gallons: 27 CFR 25.11, from memory; the gallon: NIST SP 811, appendix B.8."""


def test_a_new_vessel_is_filled_and_judged(tree):
    add(tree, "vessel_presets", preset="keg-58-l", material="steel", capacity_ml=HALF_BARREL_ML, charge_limit_bar=3,
        closed_limit_bar=3, soft="no", kept_cold="yes", basis="estimate", source="common practice")  # fmt: skip
    spec = {"name": "Invented", "components": [{"name": "Spirit", "amount": of("ml", 90), "reference": "spirit-40"}]}
    vessel = {"preset": "keg-58-l", "kept_at": of("c", 14)}
    points = {"drink": {"composition": {"abv": 5, "sugar": of("g/l", 0)}}, "target": of("g/l", 5),
              "temperatures": [of("c", 2), of("c", 20)], "vessel": vessel}  # fmt: skip
    batch, new, known, reference, limits, document = asked(
        tree,
        ("/v1/batches", {"spec": spec, "size": {"vessels": [{"vessel": vessel, "count": 2}]}}),
        ("/v1/carbonation/set-points", points),
        ("/v1/carbonation/set-points", {**points, "vessel": {**vessel, "preset": "keg-50-l"}}),
        ("/v1/references/vessels", None), ("/v1/references/limits", None), (DOCUMENT, None),
    )  # fmt: skip
    # by hand: two kegs, 0.95 of brimful each; common practice, no source
    assert batch["totals"]["volume"]["value"] == pytest.approx(2 * 0.95 * HALF_BARREL_ML)
    assert batch["fills"][0]["headspace"]["value"] == pytest.approx(0.05 * HALF_BARREL_ML)
    assumed = {one["code"]: one.get("quantity") for one in new["assumptions"]}
    assert assumed["closed-limit-gauge"] == assumed["charge-limit-gauge"] == of("bar", 3.0)
    # a level at rest knows the fill of a vessel and not its size
    assert (new["points"], new["highest"]) == (known["points"], known["highest"])
    listed = only(reference["items"], preset="keg-58-l")
    assert listed["capacity"] == of("ml", pytest.approx(HALF_BARREL_ML))
    assert listed["closed_limit"] == of("bar", 3.0)
    assert only(limits["items"], limit="keg-58-l-closed-limit")["value"] == 3.0
    properties = document["components"]["schemas"]["Vessel"]["properties"]
    assert "keg-58-l" in properties["preset"]["enum"]
    assert "(20, 30, 50, 58.6739 l)" in properties["kept_at"]["description"]


# A new unit


PINT = pint.UnitRegistry()


def by_pint(value, unit, base):
    return PINT.Quantity(value, unit).to(base).magnitude


def points(sugar, acidity, temperature, **site):
    drink = {"composition": {"abv": 5, "sugar": sugar, "acidity": acidity}}
    return {"drink": drink, "site": site, "target": of("g/l", 5), "temperatures": [temperature]}


def solution(size):
    return {"acids": [{"acid": "citric", "percent": 5}], "basis": "w/w", "size": size}


def numbers(node):
    """Every number of an answer, but not what it says of the units of its request."""
    if isinstance(node, dict):
        inner = [value for name, value in node.items() if name not in ("cautions", "assumptions")]
        return [number for value in inner for number in numbers(value)]
    if isinstance(node, list):
        return [number for value in node for number in numbers(value)]
    return [node] if isinstance(node, float) else []


def test_a_new_unit_is_read_as_what_it_is(tree):
    """Each factor by its definition; what an amount comes to by pint, a general-purpose library, or by hand."""
    for kind, unit, factor in (
        ("volume", "pint_imp", "4546.09/8"), ("mass", "st", "453.59237*14"), ("pressure", "atm", "1.01325"),
        ("length", "yd", "0.9144"), ("sugar", "g/100ml", "10"), ("acidity", "eq/l", "1000"),
    ):  # fmt: skip
        add(tree, "units", kind=kind, unit=unit, factor=factor, exact="yes", basis="published", source="its definition")
    add(tree, "temperature_scales", unit="k", degrees=1, at_0_c=273.15, basis="published", source="BIPM SI Brochure")
    new, old = (of("g/100ml", 7), of("eq/l", 0.08), of("k", 275.15)), (of("g/l", 70), of("meq/l", 80), of("c", 2))
    site, bar = "/v1/carbonation/set-points", by_pint(0.9, "atm", "bar")
    in_ml, in_g, in_m = by_pint(4, "imperial_pint", "ml"), by_pint(2, "stone", "g"), by_pint(1750, "yard", "m")
    twice = (
        (site, points(*new, barometer=of("atm", 0.9)), points(*old, barometer=of("bar", bar))),
        (site, points(*new, altitude=of("yd", 1750)), points(*old, altitude=of("m", in_m))),
        ("/v1/acid-solutions", solution(of("st", 2)), solution(of("g", in_g))),
        ("/v1/acid-solutions", solution(of("pint_imp", 4)), solution(of("ml", in_ml))),
    )
    *answers, units, document = asked(
        tree, *((path, body) for path, *both in twice for body in both), ("/v1/references/units", None),
        (DOCUMENT, None),
    )  # fmt: skip
    for said, known in zip(answers[::2], answers[1::2], strict=True):
        assert len(numbers(said)) > 3
        assert numbers(said) == pytest.approx(numbers(known), rel=1e-9)
    listed = only(units["items"], unit="pint_imp")
    assert (listed["factor"], listed["base_unit"], listed["exact"]) == (4546.09 / 8, "ml", True)
    assert only(units["items"], unit="k")["offset"] == pytest.approx(-273.15)
    schemas = document["components"]["schemas"]
    for component, unit in (
        ("Volume", "pint_imp"), ("VolumeOrMass", "pint_imp"), ("VolumeOrMass", "st"), ("Mass", "st"),
        ("Pressure", "atm"), ("Length", "yd"), ("Sugar", "g/100ml"), ("Acidity", "eq/l"), ("Temperature", "k"),
    ):  # fmt: skip
        assert unit in schemas[component]["properties"]["unit"]["enum"]


def test_a_stock_may_be_counted_in_a_new_unit(tree):
    """By hand: ten glasses of 56.826125 ml are an imperial pint, 568.26125 ml."""
    add(tree, "units", kind="volume", unit="pint_imp", factor="4546.09/8", exact="yes", basis="published",
        source="UK Weights and Measures Act 1985, Schedule 1")  # fmt: skip
    gin = {"name": "Gin", "amount": of("ml", 56.826125), "reference": "spirit-40", "stock_code": "QL-1",
           "stock_unit": "pint_imp"}  # fmt: skip
    water = {"name": "Water", "amount": of("pint_imp", 0.1), "reference": "water"}
    spec = {"name": "Invented", "components": [gin, water]}
    (batch,) = asked(tree, ("/v1/batches", {"spec": spec, "size": {"serves": 10}}))
    (drawn,) = batch["depletion"]
    assert drawn["per_batch"] == of("pint_imp", pytest.approx(1.0))
    assert only(batch["components"], name="Water")["volume"]["value"] == pytest.approx(568.26125)


# What a row must not be


@pytest.mark.parametrize("table, row, said", [
    ("acids", {"acid": "adipic", "miscible": "no", "mineral": "no", "protons": 2, "molar_mass_g_per_mol": 146.142},
     "acids.csv: '' is no number"),
    ("acid_forms", {"form": "x", "acid": "adipic", "acid_fraction": 1, "is_liquid": "no"},
     "acid_forms.csv: 'adipic' is none of citric,"),
    ("acid_forms", {"form": "x", "acid": "citric", "acid_fraction": 1, "is_liquid": "no", "hazards": "H999:published"},
     "acid_forms.csv: 'H999' is none of H314,"),
    ("acid_dissociation", {"acid": "adipic", "step": 1}, "acid_dissociation.csv: 'adipic' is none of citric,"),
    ("acid_dissociation", {"acid": "malic", "step": 3, "equation": "table"},
     "acid_dissociation_points.csv: malic acid, step 3, from 0 to 50 degC"),
    ("acid_dissociation", {"acid": "citric", "step": 4, "equation": "pk", "a": 14},
     "acid_dissociation.csv: citric acid has 4 steps, with 3 protons to titrate and at most 3"),
    ("acid_solubility", {"acid": "adipic"}, "acid_solubility.csv: 'adipic' is none of citric,"),
    ("acid_solution_density", {"acid": "malic", "percent_ww": 10, "density_g_per_ml": 1.04},
     "acid_solution_density.csv: malic acid, not rising from 20 %"),
    ("units", {"kind": "force", "unit": "n", "factor": 1}, "units.csv: 'force' is none of volume,"),
    ("units", {"kind": "mass", "unit": "oz", "factor": 28.35, "exact": "no"}, "units.csv: oz of volume and of mass"),
    ("units", {"kind": "mass", "unit": "t", "factor": "2,000", "exact": "no"}, "units.csv: '2,000' is no number"),
    ("vessel_presets", {"preset": "oak", "material": "oak", "charge_limit_bar": 3, "closed_limit_bar": 3},
     "vessel_presets.csv: 'oak' is none of pet,"),
    ("vessel_presets", {"preset": "pet-3-l", "material": "pet", "capacity_ml": 3000, "charge_limit_bar": 3.5,
                        "closed_limit_bar": 6.5, "soft": "yes", "kept_cold": "no"},
     "vessel_presets.csv: pet-3-l has a closed limit of 6.5 bar, over 6"),
    ("vessel_presets", {"preset": "keg-5-l", "material": "steel", "capacity_ml": 5000, "charge_limit_bar": 3,
                        "closed_limit_bar": 12, "soft": "no", "kept_cold": "no"},
     "vessel_presets.csv: keg-5-l has a closed limit of 12 bar, over 9"),
    ("ingredients", {"reference": "x", "abv": 0, "sugar_g_per_l": 0, "hexose_share": 0, "acid_g_per_l": 1,
                     "expressed_as": "adipic", "clarity": "clear", "foams": "no", "sparkles": "no"},
     "ingredients.csv: 'adipic' is none of gluconic,"),
    ("ingredients", {"reference": "x", "abv": 0, "sugar_g_per_l": 0, "hexose_share": 0, "acid_g_per_l": 0,
                     "clarity": "clear", "foams": "no", "sparkles": "no", "allergens": "egg"},
     "ingredients.csv: 'egg' is none of gluten,"),
])  # fmt: skip
def test_a_row_that_cannot_be_is_named_at_the_start(tree, table, row, said):
    """Nothing starts with it, and whoever wrote it is told where."""
    add(tree, table, **row)
    with pytest.raises(RuntimeError, match=re.escape(f"ValueError: {said}")):
        run(tree, "import service.science.acids, service.science.ingredients, service.vessel")


def test_an_acid_without_constants_is_named_at_the_start(tree):
    add_adipic(tree)
    path = tree / "service/science/data/acid_dissociation.csv"
    rest = [line for line in path.read_text(encoding="utf-8").splitlines() if not line.startswith("adipic")]
    path.write_text("\n".join(rest) + "\n", encoding="utf-8")
    said = "acid_dissociation.csv: adipic acid has 0 steps, with 2 protons to titrate and at most 3"
    with pytest.raises(RuntimeError, match=re.escape(f"ValueError: {said}")):
        run(tree, "import service.science.acids")
