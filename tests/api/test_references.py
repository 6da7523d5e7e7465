"""GET /v1/references/*: caching, and what the tables say beside what is printed."""

import math
import re
from hashlib import sha256
from pathlib import Path

import pytest
from pint import UnitRegistry

from service import MODEL
from service.api.app import OPERATIONS, create_app
from service.api.endpoint import MEDIA_TYPES
from service.api.listing import lists
from service.api.problems import TYPES
from service.api.references import REFERENCES
from service.limits.declared import REMARKS, TRADE
from service.science import acids
from service.science.gas import Liquid
from service.science.vessel import at_rest, pressures_at_rest_bar, totals
from tests.api.conforms import conforms
from tests.words.catalogues import OTHERS, of

every_reference = pytest.mark.parametrize("reference", REFERENCES, ids=lambda r: r.operation_id)
SERVICE = Path(__file__).parents[2] / "service"


def items(client, name):
    return client.get(f"/v1/references/{name}").get_json()["items"]


# Caching


@pytest.mark.parametrize(
    "reference", [one for one in REFERENCES if one.form == "json"], ids=lambda reference: reference.operation_id
)
def test_the_table_is_what_the_document_promises(client, reference):
    response = client.get(reference.path)
    assert response.status_code == 200
    assert (response.mimetype, response.headers["Content-Language"]) == ("application/json", "en")
    answer = response.get_json()
    conforms(reference.operation_id, answer)
    assert answer["model"] == MODEL
    assert answer["items"]
    assert ":null" not in response.get_data(as_text=True)


@every_reference
def test_a_copy_at_hand_is_confirmed_without_a_body(client, reference):
    first = client.get(reference.path)
    tag = first.headers["ETag"]
    assert re.fullmatch(r'"[0-9a-f]{64}"', tag)  # strong, RFC 9110 section 8.8.3
    for sent in (tag, f'"other", {tag}', f"W/{tag}", "*"):
        again = client.get(reference.path, headers={"If-None-Match": sent})
        assert (again.status_code, again.get_data()) == (304, b"")
        assert again.headers["ETag"] == tag
        assert again.headers["Cache-Control"] == first.headers["Cache-Control"]
    other = client.get(reference.path, headers={"If-None-Match": '"other"'})
    assert (other.status_code, other.get_data()) == (200, first.get_data())


@every_reference
def test_the_tag_is_that_of_the_body_in_its_language(client, reference):
    """So that it changes with the model, which the body holds, and with nothing else."""
    response = client.get(reference.path)
    language = response.headers["Content-Language"].encode()
    assert response.get_etag() == (sha256(language + b"\n" + response.get_data()).hexdigest(), False)
    again = create_app({"AUTH": "open"}).test_client().get(reference.path)
    assert again.headers["ETag"] == response.headers["ETag"]


# Languages

TOLD = ("meaning", "storage", "statement", "hazard_class", "short", "text", "also", "summary", "title", "explanation")
"""Fields of references that a person reads as sentences; works are cited as they are printed."""
IN_LISTS = [one for one in (*REFERENCES, *lists(OPERATIONS, REFERENCES)) if one.form == "json"]
in_every_language = pytest.mark.parametrize("language", OTHERS)


def told(node):
    """Every text of the fields that a person reads, in order."""
    if isinstance(node, list):
        return [text for item in node for text in told(item)]
    if not isinstance(node, dict) or node.get("deprecated"):  # what is no longer sent stays as it was
        return []
    found = []
    for name, inner in node.items():
        if name not in TOLD:
            found += told(inner)
        else:
            found += [inner] if isinstance(inner, str) else inner
    return found


@in_every_language
@pytest.mark.parametrize("reference", IN_LISTS, ids=lambda one: one.operation_id)
def test_what_a_person_reads_is_in_the_language_asked_for(client, reference, language):
    english = client.get(reference.path)
    other = client.get(reference.path, headers={"Accept-Language": f"{language}-419, en;q=0.5"})
    assert other.headers["Content-Language"] == language
    assert "Accept-Language" in other.headers["Vary"]
    assert other.headers["ETag"] != english.headers["ETag"]
    known = {one.id: one.string for one in of(language) if isinstance(one.id, str)}
    assert told(other.get_json()) == [known.get(text) for text in told(english.get_json())]
    conforms(reference.operation_id, other.get_json())


@in_every_language
def test_a_copy_in_another_language_is_no_copy(client, language):
    tag = client.get("/problems").headers["ETag"]
    asked = {"Accept-Language": language, "If-None-Match": tag}
    assert client.get("/problems", headers=asked).status_code == 200


@in_every_language
@pytest.mark.parametrize("slug", TYPES)
def test_a_problem_type_is_explained_in_the_language_asked_for(client, slug, language):
    known = {one.id: one.string for one in of(language)}
    found = client.get(f"/problems/{slug}", headers={"Accept-Language": language}).get_json()
    assert (found["title"], found["explanation"]) == (known[TYPES[slug].title], known[TYPES[slug].explanation])


def test_a_remark_is_told_and_a_work_is_cited_as_printed(client):
    def sources(language):
        answer = client.get("/v1/references/limits", headers={"Accept-Language": language}).get_json()
        return {one["limit"]: one["source"] for one in answer["items"]}

    english, spanish = sources("en"), sources("es")
    assert {spanish[one] for one in english if english[one] == TRADE} == {"práctica habitual, sin fuente"}
    works = [one for one in english if english[one] not in REMARKS]
    assert len(works) > 10
    assert [spanish[one] for one in works] == [english[one] for one in works]


@every_reference
def test_head_is_a_get_without_its_body(client, reference):
    head, get = client.head(reference.path), client.get(reference.path)
    assert (head.status_code, head.get_data()) == (200, b"")
    for name in ("ETag", "Cache-Control", "Content-Length", "Content-Type"):
        assert head.headers[name] == get.headers[name]


@every_reference
@pytest.mark.parametrize("method", ["POST", "PUT", "DELETE", "PATCH"])
def test_other_methods_are_told_which_there_are(client, reference, method):
    response = client.open(reference.path, method=method, json={})
    assert response.status_code == 405
    assert response.headers["Allow"] == "GET, HEAD, OPTIONS"
    assert response.get_json()["type"] == "/problems/method-not-allowed"


@every_reference
def test_an_unknown_parameter_is_refused(client, reference):
    response = client.get(reference.path, query_string="units=us")
    assert response.status_code == TYPES["invalid-query"].status
    (error,) = response.get_json()["errors"]
    assert (error["in"], error["pointer"], error["code"]) == ("query", "/units", "unknown-parameter")
    assert response.headers["Cache-Control"] == "no-store"


@every_reference
def test_only_its_own_form_is_offered(client, reference):
    other = "csv" if reference.form == "json" else "json"
    assert client.get(reference.path, headers={"Accept": MEDIA_TYPES[other]}).status_code == 406
    assert client.get(reference.path, query_string=f"format={other}").status_code == 406
    assert client.get(reference.path, query_string=f"format={reference.form}").status_code == 200
    assert client.get(reference.path, headers={"Accept": MEDIA_TYPES[reference.form]}).status_code == 200


@every_reference
def test_who_keeps_a_copy(client, reference):
    """RFC 9111 section 5.2.2.9: public lets a shared cache keep the answer to a request with a key."""
    assert client.get(reference.path).headers["Cache-Control"] == "public, max-age=86400"
    key = "k" * 43
    keyed = create_app({"API_KEY_HASHES": sha256(key.encode()).hexdigest()}).test_client()
    assert keyed.get(reference.path).status_code == 401
    answer = keyed.get(reference.path, headers={"Authorization": f"Bearer {key}"})
    assert answer.headers["Cache-Control"] == "private, max-age=86400"


def test_no_such_table(client):
    assert client.get("/v1/references/nothing").status_code == 404


# What the tables say

PINT = {"l": "liter", "ml": "milliliter", "cl": "centiliter", "oz": "fluid_ounce", "oz_imp": "imperial_fluid_ounce",
        "cup_us": "cup", "pint_us": "pint", "qt_us": "quart", "gal_us": "gallon", "oz_av": "ounce", "lb": "pound",
        "kpa": "kilopascal", "hpa": "hectopascal", "inhg": "inch_Hg", "min": "minute", "h": "hour", "d": "day",
        "c": "degree_Celsius", "f": "degree_Fahrenheit", "ft": "foot", "in": "inch"}  # fmt: skip
"""Ours -> pint's; the others are called the same."""


def test_the_units_are_those_of_pint(client):
    """pint 0.25, from NIST. Tolerance 1e-12: rounding; 1e-6 for the inch of mercury, whose density it rounds."""
    registry = UnitRegistry(autoconvert_offset_to_baseunit=True)
    compared = 0
    for row in items(client, "units"):
        if row["exact"] and row["kind"] not in ("co2", "sugar", "acidity", "density", "salt"):
            unit, base = (PINT.get(row[name], row[name]) for name in ("unit", "base_unit"))
            theirs = registry.Quantity(10.0, unit).to(base).magnitude
            tolerance = 1e-6 if row["unit"] == "inhg" else 1e-12
            assert row["factor"] * 10.0 + row["offset"] == pytest.approx(theirs, rel=tolerance), row
            compared += 1
    assert compared == 28


@pytest.mark.parametrize(
    "unit, factor, half_digit",
    [
        ("oz", 29.57353, 5e-6),
        ("gal_us", 3785.412, 5e-4),
        ("cup_us", 236.5882, 5e-5),
        ("oz_imp", 28.41306, 5e-6),
        ("lb", 453.59237, 5e-6),
        ("oz_av", 28.34952, 5e-6),
        ("psi", 0.06894757, 5e-9),
        ("inhg", 0.03386389, 5e-9),
        ("ft", 0.3048, 1e-12),
    ],
)
def test_factors_as_nist_prints_them(client, unit, factor, half_digit):
    """NIST SP 811 (2008), Appendix B.8. Tolerance: half the last digit."""
    (row,) = (row for row in items(client, "units") if row["unit"] == unit)
    assert row["factor"] == pytest.approx(factor, abs=half_digit)
    assert "NIST" in row["source"] or "Act 1985" in row["source"]


def test_what_is_not_exact_says_so(client):
    inexact = {(row["kind"], row["unit"]) for row in items(client, "units") if not row["exact"]}
    assert inexact == {("volume", "dash"), ("volume", "barspoon"), ("volume", "drop"), ("co2", "volumes"),
                       ("sugar", "brix"), ("acidity", "g/l")}  # fmt: skip


def test_fourteen_groups_and_nine_majors(client):
    """Regulation (EU) No 1169/2011, Annex II has fourteen points; FALCPA eight foods, the FASTER Act the ninth."""
    rows = items(client, "allergens")
    assert len({row["eu_group"] for row in rows}) == 14
    assert {row["us_major"] for row in rows if "us_major" in row} == {
        "milk", "eggs", "fish", "crustaceans", "nuts", "wheat", "peanuts", "soybeans", "sesame"
    }  # fmt: skip
    (fish,) = (row for row in rows if row["allergen"] == "fish")
    assert "isinglass" in fish["brought_by"]


def test_acids_have_their_constants(client):
    """Citric acid: CRC Handbook pKa 3.13, 4.76, 6.40 at 25 degC. Tolerance 0.02, that of the model's own buffers."""
    rows = {row["acid"]: row for row in items(client, "acids")}
    assert set(rows) == set(acids.ACIDS)
    assert [step["pka"] for step in rows["citric"]["dissociations"]] == pytest.approx([3.13, 4.76, 6.40], abs=0.02)
    assert rows["lactic"]["miscible"]
    assert rows["lactic"]["saturations"] == []
    liquids = {one["liquid"] for one in client.get("/v1/references/acids").get_json()["compositions"]}
    assert {"lemon", "lime", "grapefruit"} <= liquids


def test_limits_of_the_trade_and_of_the_law(client):
    """OSHA 29 CFR 1910.1000 Table Z-1: 5000 ppm; NIOSH IDLH 40 000 ppm. Fill, cycles: common practice, no source.

    Closures of PET bottles are held tight to 0.69 MPa (GB/T 17876, cited from secondary pages); C. botulinum stops at
    6 % of alcohol by weight (Daifas et al. 2003, abstract).
    """
    rows = {row["limit"]: row for row in items(client, "limits")}
    assert len(rows) == len(items(client, "limits"))
    assert (rows["osha-pel-twa"]["value"], rows["osha-pel-twa"]["unit"]) == (5000.0, "ppm")
    assert rows["niosh-idlh"]["value"] == 40_000.0
    assert rows["most-fill"]["value"] == 0.9
    assert [rows[kind]["value"] for kind in ("cycles", "refillable-cycles", "strong-cycles")] == [10, 20, 5]
    assert [rows[kind]["value"] for kind in ("fill", "keg-fill", "most-keg-fill")] == [0.8, 0.95, 0.95]
    assert [rows[kind]["value"] for kind in ("most-pet", "most-refillable", "most-metal", "timed")] == [6.9, 8, 9, 8]
    assert (rows["kept-at"]["value"], rows["kept-at"]["unit"]) == (12.0, "c")
    assert (rows["low-alcohol"]["value"], rows["low-alcohol"]["unit"]) == (6.0, "%")
    assert (rows["body"]["value"], rows["body"]["unit"]) == (1_048_576, "bytes")
    assert (rows["charging-temperature"]["value"], rows["charging-temperature"]["unit"]) == (1.0, "c")


DRINK = {"composition": {"abv": 9, "sugar": {"value": 70, "unit": "g/l"}}}
WATER = {"name": "any", "components": [{"name": "water", "amount": {"value": 185, "unit": "ml"}, "reference": "water"},
                                       {"name": "gin", "amount": {"value": 40, "unit": "ml"}, "abv": 40}]}  # fmt: skip
SILENT = {
    "/v1/carbonation/set-points": {"drink": DRINK, "target": {"value": 5, "unit": "g/l"},
                                   "temperatures": [{"value": 1, "unit": "c"}]},
    "/v1/carbonation/charges": {"drink": DRINK, "target": {"value": 5, "unit": "g/l"}},
    "/v1/carbonation/gas-supply": {"batches": [{"drink": DRINK, "volume": {"value": 10, "unit": "l"},
                                                "target": {"value": 5, "unit": "g/l"}}],
                                   "cylinder": {"content": {"value": 10, "unit": "kg"}}},
    "/v1/chilling": {"drink": DRINK},
    "/v1/regas/forecasts": {"drink": DRINK, "co2": {"value": 5, "unit": "g/l"}, "shift": {"serves_per_hour": 6},
                            "pour": {"volume": {"value": 150, "unit": "ml"}}},
    "/v1/batches": {"spec": WATER, "size": {"whole_serves": {"count": 12}}},
    "/v1/acid-solutions": {"acids": [{"acid": "citric", "percent": 4}], "basis": "w/v",
                           "size": {"value": 1, "unit": "l"}},
}  # fmt: skip
"""Requests that leave out all that may be left out."""
WORKED_OUT = {
    "dial, gauge", "shaking at a re-gas", "titrated sample, times diluted", "air left after squeezing", "vessels",
    "brimful capacity", "temperature of the environment", "temperature that the saturation of citric acid is known for",
    "purity of the products, % of what the form promises", "whole serves", "charge limit, gauge", "closed limit, gauge",
}  # fmt: skip
"""Assumptions that are of the request or of a table of their own; nothing, where a request states nothing, is no limit
either."""


@pytest.mark.parametrize("path", SILENT)
def test_what_is_taken_where_a_request_is_silent_is_a_limit(client, path):
    answer = client.post(path, json=SILENT[path])
    assert answer.status_code == 200, answer.get_json()
    known = {(row["value"], row["unit"]) for row in items(client, "limits")}
    plain = {value for value, unit in known if unit in ("count", "share", "%", "°C")}
    missing = []
    for one in answer.get_json()["assumptions"]:
        quantity = one.get("quantity")
        if not quantity or quantity["value"] == 0.0 or one["name"] in WORKED_OUT:
            continue
        listed = (quantity["value"], quantity["unit"]) in known if "unit" in quantity else quantity["value"] in plain
        missing += [] if listed else [(one["name"], one["value"])]
    assert missing == []


@pytest.mark.parametrize("name", ["ingredients", "vessels", "limits", "units", "acids", "allergens", "safety-rules"])
def test_nothing_is_without_a_source(client, name):
    for row in items(client, name):
        assert row.get("source") or row.get("molar_mass_source"), row


RULES = {
    "goggles": "goggles", "regulator-order": "stand aside, open the cylinder slowly", "non-return-valve": "non-return",
    "co2-pools": "cold rooms", "co2-alarm": "near the floor", "cylinder-upright": "upright", "cold-burns": "burn",
    "bottle-upright": "upright", "bottle-unattended": "Never leave a bottle connected", "open-slowly": "face",
    "too-warm": "where it stands", "cap-no-relief": "no relief valve", "cold-room-fails": "vent the kegs",
    "no-freezer": "freezers", "warm-vehicle": "in the sun", "metal-contact": "between the non-return valve and",
    "clean-bottles": "no glass-washer", "bottle-base": "base", "mark-cycles": "Mark each charge",
    "allergens-shared": "allergens", "not-approval": "maker's rating", "regulator-limit": "regulator",
    "gauge-at-rest": "rest", "nucleation": "bubbles",
}  # fmt: skip
"""What is said every night, each with words that it cannot do without: common practice, no source, or its own."""


def test_the_rules_of_the_night(client):
    rows = {row["code"]: row for row in items(client, "safety-rules")}
    assert len(rows) == len(items(client, "safety-rules"))
    assert rows.keys() == RULES.keys()
    assert [code for code, words in RULES.items() if words not in rows[code]["text"]] == []
    for code, row in rows.items():
        assert re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", code)
        assert row["basis"] == "published" or row["source"] != ""
        assert (row["basis"] == "common-practice") == (row["source"] == "common practice, no source"), code
        assert "{" not in row["text"]  # they are about no request


def test_a_rule_says_no_more_than_the_text_that_it_cites(client):
    """FDA Food Code 4-101.14 (A), as Wis. Admin. Code and California Health and Safety Code 114133 print it: copper and
    alloys such as brass not in contact with a food below pH 6, nor as a fitting or tubing between a backflow prevention
    device and a carbonator. Fire code: 12 in is 305 mm, so 30 cm is within it."""
    rows = {row["code"]: row["text"] for row in items(client, "safety-rules")}
    for words in ("copper", "brass", "below pH 6", "between the non-return valve and the vessel"):
        assert words in rows["metal-contact"]
    (height_cm,) = re.findall(r"([0-9]+) cm", rows["co2-alarm"])
    assert float(height_cm) <= 12 * 2.54


def test_a_bottle_in_the_sun_comes_to_what_the_rule_says(client):
    """A rigid litre at fill 0.8, 20 ml of air, 9 %vol, 70 g/l, 7 g/l of CO2 at 1 degC: its pressures at 20, 30 and
    40 degC, where the equations end, carried on to 50 degC by their logarithms, whose second differences stay."""
    air_mol = 1.01325 * 0.020 / (0.083145 * 294.0)
    space = {"liquid_l": 0.8, "headspace_l": 0.2}

    def drink(temperature_c):
        return Liquid(temperature_c, 9.0, 70.0, 0.0)

    co2_mol, air_mol = totals(at_rest(drink(1.0), **space, co2_g_per_l=7.0, air_mol=air_mol))
    logs = []
    for temperature_c in (20.0, 30.0, 40.0):
        liquid = drink(temperature_c)
        pressures = pressures_at_rest_bar(liquid, **space, co2_mol=co2_mol, air_mol=air_mol)
        logs.append(math.log(sum(pressures) + liquid.vapour_bar))
    gauge_bar = math.exp(logs[0] - 3.0 * logs[1] + 3.0 * logs[2]) - 1.01325
    (text,) = (row["text"] for row in items(client, "safety-rules") if row["code"] == "warm-vehicle")
    (low, high), (low_psi, high_psi) = re.findall(r"([0-9]+) to ([0-9]+)", text)
    assert float(low) <= gauge_bar <= float(high)
    assert (float(low_psi), float(high_psi)) == pytest.approx(
        (float(low) / 0.0689476, float(high) / 0.0689476), abs=0.5
    )
    assert "50 °C (122 °F)" in text
    assert "7 g/l (3.5 volumes)" in text  # of 1.977 g/l each


def test_an_ingredient_can_be_named(client):
    """A component may state any reference of the table; USDA prints 26 g of sugars to the litre of lemon juice."""
    rows = {row["reference"]: row for row in items(client, "ingredients")}
    assert rows["lemon-juice-fresh"]["sugar"] == {"value": 26.0, "unit": "g/l"}
    assert rows["lemon-juice-fresh"]["bases"]["sugar"] == "published"


LIMITS = ("charge_limit", "closed_limit")


def test_a_preset_can_be_named(client):
    for row in items(client, "vessels"):
        body = {"drink": {"composition": {"abv": 9, "sugar": {"value": 60, "unit": "g/l"}}},
                "target": {"value": 4, "unit": "g/l"}, "temperatures": [{"value": 1, "unit": "c"}],
                "vessel": {name: row[name] for name in (*LIMITS, "preset", "capacity", "soft")}}  # fmt: skip
        assert client.post("/v1/carbonation/set-points", json=body).status_code == 200


# The sources


CITED = re.compile(
    r"\b[A-Z][a-z]+(?: & [A-Z][a-z]+| and [A-Z][a-z]+| et al\.)? (?:1[89]\d\d|20[0-2]\d)\b"
    r"|(?:Regulation|Directive) \((?:EU|EC|EEC)\) (?:No )?[0-9/]+|\bISO [0-9]+|\bEN [0-9]+-[0-9]+|\bOIML R [0-9]+"
    r"|\bOIV-[A-Z0-9-]+|\b[0-9]+ CFR [0-9]+\.[0-9]+|\bIAPWS-[0-9]+|\bICUMSA SPS-[0-9]+|\bSRD [0-9]+|\bEH40\b|\bJCGM 100"
    r"|\bNIST (?:Handbook|SP) [0-9]+"
)
DOI = re.compile(r"\b(?:doi:|doi )(10\.[0-9]{4,5}/[A-Za-z0-9.()/_<>:;-]*[A-Za-z0-9])")
NOT_WORKS = ("Act 1985", "Regulations 1985", "Acid 1")


def texts():
    for path in (*SERVICE.rglob("*.py"), *SERVICE.rglob("*.csv")):
        if path.name != "sources.csv" and "api" not in path.relative_to(SERVICE).parts:
            yield path, path.read_text(encoding="utf-8")


def plain(text: str) -> str:
    """Without what is written now so, now so."""
    return text.replace("No ", "").replace(":1975", "").casefold()


def test_every_doi_is_listed(client):
    listed = {row["doi"].casefold() for row in items(client, "sources") if "doi" in row}
    cited = {doi.casefold(): path.name for path, text in texts() for doi in DOI.findall(text)}
    assert len(cited) > 10
    assert {doi: where for doi, where in cited.items() if doi not in listed} == {}


def test_every_work_is_listed(client):
    """By author and year, or by the number of a standard or a law; what is missing is named with its file."""
    listed = plain(" | ".join(row["citation"] for row in items(client, "sources")))
    cited = {match.group(): path.name for path, text in texts() for match in CITED.finditer(text)}
    assert len(cited) > 50
    missing = {work: where for work, where in cited.items() if plain(work) not in listed and work not in NOT_WORKS}
    assert missing == {}


def test_every_table_is_listed(client):
    tables = {row["table"] for row in client.get("/v1/references/sources").get_json()["tables"]}
    assert tables == {path.stem for path in (SERVICE / "science" / "data").glob("*.csv")}


def test_keys_stand_once(client):
    keys = [row["key"] for row in items(client, "sources")]
    assert len(set(keys)) == len(keys)
    assert all(re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", key) for key in keys)


def test_more_tags_than_the_document_allows_are_refused(client):
    response = client.get("/v1/references/acids", headers={"If-None-Match": '"' + "0" * 999 + '"'})
    assert (response.status_code, response.get_json()["errors"][0]["pointer"]) == (400, "/If-None-Match")
