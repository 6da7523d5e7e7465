"""POST /v1/spec-sheets and its template: what a spreadsheet may do, and what is refused by row and column."""

import csv
import json
from io import StringIO
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from service.api.app import create_app
from service.limits.requests import LARGEST_BODY, MOST_ITEMS, MOST_SPEC_LINES
from service.spec_sheet import COLUMNS
from tests.api.conforms import conforms

PATH = "/v1/spec-sheets"
TEMPLATE = "/v1/references/spec-sheet"
HEADER = "spec,component,amount,unit,abv,sugar_g_per_l,acidity_g_per_l,acidity_as,reference,allergens,glass"
SEMICOLONS = HEADER.replace(",", ";")
GIN = "Sour,Gin,45,ml,41,,,,,none,coupe"
WATER = "Sour,Filtered water,100,ml,,,,,water,,"


def sheet(*rows: str, header: str = HEADER, end: str = "\r\n") -> bytes:
    return (end.join((header, *rows)) + end).encode()


def post(client: Any, table: bytes, **kwargs: Any) -> Any:
    return client.post(PATH, data=table, **{"content_type": "text/csv", **kwargs})


def answered(client: Any, table: bytes) -> Any:
    response = post(client, table)
    assert response.status_code == 200, response.get_json()
    conforms("createSpecSheet", response.get_json())
    return response.get_json()


def refused(client: Any, *rows: str, **more: Any) -> list[tuple[int, str, str]]:
    """Row, column and code of each fault; the spec of the row is not answered."""
    found = answered(client, sheet(*rows, **more))
    assert found["refused"] == [] or "Sour" not in {one["spec"]["name"] for one in found["specs"]}
    return [(one["row"], one["column"], one["code"]) for one in found["refused"]]


def problem(client: Any, table: bytes, status: int) -> list[tuple[str, str]]:
    response = post(client, table)
    assert response.status_code == status, response.get_json()
    assert response.mimetype == "application/problem+json"
    return [(error["pointer"], error["code"]) for error in response.get_json()["errors"]]


# The template


def test_the_template_is_a_table_that_comes_back_as_specs(client):
    template = client.get(TEMPLATE)
    assert template.headers["Content-Type"] == "text/csv; charset=utf-8"
    assert tuple(next(csv.reader(StringIO(template.get_data(as_text=True))))) == COLUMNS
    found = answered(client, template.get_data())
    assert found["refused"] == []
    assert len(found["specs"]) > 1
    filled = {field for one in found["specs"] for part in one["spec"]["components"] for field in part}
    assert {"abv", "sugar", "acidity", "reference", "syrup", "acid_solution", "allergens", "stock_code"} <= filled


def test_a_spec_of_a_sheet_is_a_spec_of_every_other_operation(client):
    """The spec that comes out goes into a batch as it is, under the same id, and into a check with like findings."""
    for one in answered(client, client.get(TEMPLATE).get_data())["specs"]:
        batch = client.post("/v1/batches", json={"spec": one["spec"], "size": {"serves": 10}})
        assert batch.status_code == 200, batch.get_json()
        assert batch.get_json()["spec_id"] == one["spec_id"]
        (checked,) = client.post("/v1/spec-checks", json={"items": [{"id": "a", "spec": one["spec"]}]}).get_json()[
            "items"
        ]
        assert [finding["code"] for finding in one["findings"]] == [f["code"] for f in checked["findings"]]
        assert one["carbonate"] == checked["carbonate"]


# Rows and columns


def test_a_finding_stands_at_its_cell(client):
    """Row 1 is the header, as a spreadsheet counts; a blank line is a row."""
    header = f"{HEADER},syrup_ratio"
    rows = (f"{GIN},", "", "Sour,Tea,30,ml,,,,,,,,", f"{WATER},", "Sour,Hot water,8,ml,99,900,,,,none,,")
    (one,) = answered(client, sheet(*rows, header=header))["specs"]
    placed = {(finding["code"], finding["row"], finding["column"]) for finding in one["findings"]}
    assert ("counts-as-water", 4, "abv") in placed
    assert ("allergens-unstated", 4, "allergens") in placed
    assert ("impossible-composition", 6, "component") in placed
    assert one["carbonate"] == "no"
    for finding in one["findings"]:
        at = one
        for token in finding["pointer"].removeprefix("/specs/0/").split("/"):
            at = at[int(token)] if isinstance(at, list) else at.get(token, {})  # a pointer may name what is missing


def test_rows_of_one_spec_need_not_stand_together(client):
    found = answered(
        client, sheet(GIN, "Soda,Pandan syrup,30,ml,0,650,,,,none,", WATER, "Soda,Water,150,ml,,,,,water,,")
    )
    assert [(one["spec"]["name"], len(one["spec"]["components"])) for one in found["specs"]] == [
        ("Sour", 2),
        ("Soda", 2),
    ]


def test_how_the_glass_is_finished_is_said_once(client):
    (one,) = answered(client, sheet(GIN, WATER.removesuffix(",") + ",coupe"))["specs"]
    assert one["spec"]["serve"] == {"glass": "coupe"}
    assert refused(client, GIN, WATER + "highball") == [(3, "glass", "contradicts-row")]


@pytest.mark.parametrize("row, column, code", [
    ("Sour,=A1&B1,20,ml,,,,,,,", "component", "formula"),
    ("Sour,@sum(1),20,ml,,,,,,,", "component", "formula"),
    ("Sour,＝1,20,ml,,,,,,,", "component", "formula"),
    ("Sour,-Lime,20,ml,,,,,,,", "component", "formula"),
    ("Sour,Lime,=10*2,ml,,,,,,,", "amount", "formula"),
    ("Sour,Lime,+A2,ml,,,,,,,", "amount", "formula"),
    ('Sour,Lime,20,ml,"=HYPERLINK(""x"")",,,,,,', "abv", "formula"),
    ("Sour,Lime,-20,ml,,,,,,,", "amount", "out-of-range"),
    ("Sour,Lime,0,ml,,,,,,,", "amount", "out-of-range"),
    ("Sour,Lime,1e3,ml,,,,,,,", "amount", "not-a-plain-number"),
    ("Sour,Lime,20 ml,ml,,,,,,,", "amount", "not-a-plain-number"),
    ('Sour,Lime,"22,5",ml,,,,,,,', "amount", "not-a-plain-number"),
    ("Sour,Lime,NaN,ml,,,,,,,", "amount", "not-a-plain-number"),
    ("Sour,Lime,٢٠,ml,,,,,,,", "amount", "not-a-plain-number"),
    ("Sour,Lime,20,ml,40 %,,,,,,", "abv", "not-a-plain-number"),
    ("Sour,Lime,20,ml,140,,,,,,", "abv", "out-of-range"),
    ("Sour,Lime,20,glug,,,,,,,", "unit", "unit"),
    ("Sour,Lime,20,,,,,,,,", "unit", "required"),
    ("Sour,Lime,,ml,,,,,,,", "amount", "required"),
    ("Sour,,20,ml,,,,,,,", "component", "required"),
    (",Lime,20,ml,,,,,,,", "spec", "required"),
    ("Sour,Gin,20,ml,,,,,,,", "component", "duplicate"),
    ("Sour,Lime,20,ml,,,4,,,,", "acidity_as", "not-a-choice"),
    ("Sour,Lime,20,ml,,,,citric,,,", "acidity_g_per_l", "required"),
    ("Sour,Lime,20,ml,,,,,lime-jus,,", "reference", "unknown-reference"),
    ("Sour,Lime,20,ml,,,,,,walnut sauce,", "allergens", "not-a-choice"),
    (f"Sour,{'x' * 201},20,ml,,,,,,,", "component", "length"),
    (f"Sour,Lime,{'9' * 5000},ml,,,,,,,", "amount", "not-a-plain-number"),
    ("Sour,Lime\x07,20,ml,,,,,,,", "component", "control-character"),
    ("Sour,Lime,20,ml,,,,,,,,more", "12", "no-header"),
])  # fmt: skip
def test_a_cell_that_is_wrong_refuses_its_row(client, row, column, code):
    found = answered(client, sheet(GIN, row, "Soda,Syrup,30,ml,0,650,,,,none,"))
    assert [(one["row"], one["column"], one["code"]) for one in found["refused"]] == [(3, column, code)]
    assert "Soda" in {one["spec"]["name"] for one in found["specs"]}  # another spec is none the worse
    assert "Sour" not in {one["spec"]["name"] for one in found["specs"]}  # a row without a spec may be of the one above
    assert all(one["text"] and "{" not in one["text"] for one in found["refused"])


def test_every_fault_of_every_row_is_told(client):
    assert refused(client, GIN, "Sour,=B2,=C2,ml,x,,,,,,", "Sour,Lime,20,,,,,,,,") == [
        (3, "component", "formula"), (3, "amount", "formula"), (3, "abv", "not-a-plain-number"),
        (4, "unit", "required"),
    ]  # fmt: skip


def test_acids_and_syrups_are_by_mass_and_say_so(client):
    header = "spec,component,amount,unit,syrup_ratio,acid_1,percent_1,acid_2,percent_2,allergens"
    rows = ("Sour,Acid,10,ml,,citric,4,malic,2,none", "Sour,Syrup,20,ml,2,,,,,none")
    found = answered(client, sheet(*rows, header=header))
    acid, syrup = found["specs"][0]["spec"]["components"]
    assert acid["acid_solution"] == {
        "basis": "w/w", "acids": [{"acid": "citric", "percent": 4}, {"acid": "malic", "percent": 2}],
    }  # fmt: skip
    assert syrup["syrup"] == {"sugar_to_water": 2, "by": "mass"}
    assert {"per-cent-of-acids-in-a-sheet", "ratio-of-syrups-in-a-sheet"} <= {a["code"] for a in found["assumptions"]}
    wrong = ("Sour,Acid,10,ml,,citric,,malic,2,none", "Sour,Other,10,ml,,,4,,,none")
    assert refused(client, *wrong, header=header) == [
        (2, "percent_1", "required"), (3, "acid_1", "required"),
    ]  # fmt: skip


@pytest.mark.parametrize("cell, codes", [
    ("none", []), ('"sulphites, milk"', ["sulphites", "milk"]), ("sulphites;milk", ["sulphites", "milk"]),
    ("sulphites|milk", ["sulphites", "milk"]),
])  # fmt: skip
def test_allergens_stand_in_one_cell(client, cell, codes):
    (one,) = answered(client, sheet(f"Sour,Wine,90,ml,12,,,,,{cell},"))["specs"]
    assert one["spec"]["components"][0]["allergens"] == codes


# The file itself


@pytest.mark.parametrize("table", [
    sheet(GIN, WATER), sheet(GIN, WATER, end="\n"), b"\xef\xbb\xbf" + sheet(GIN, WATER),
    sheet(GIN, WATER).removesuffix(b"\r\n"), sheet(GIN, "", ",,,,,,,,,,", WATER),
    sheet(GIN + ",,,", WATER + ",,,", header=HEADER + ",,,"),
    sheet('"Sour","Gin","45","ml","41",,,,,"none","coupe"', WATER),
    sheet(" Sour , Gin , 45 , ml , 41 ,,,,, none , coupe ", WATER),
    sheet("Sour;Gin;45;ml;41;;;;;none;coupe", "Sour;Filtered water;100;ml;;;;;water;;", header=SEMICOLONS),
    sheet("Sour;Gin;45,0;ml;41,0;;;;;none;coupe", "Sour;Filtered water;100;ml;;;;;water", header=SEMICOLONS),
], ids=["crlf", "lf", "bom", "no last line end", "blank rows", "trailing commas", "quoted", "spaces", "semicolons",
        "decimal commas"])  # fmt: skip
def test_what_spreadsheets_make_of_a_table_is_the_same_table(client, table):
    (one,) = answered(client, table)["specs"]
    gin, water = one["spec"]["components"]
    assert gin == {"name": "Gin", "amount": {"value": 45, "unit": "ml"}, "abv": 41, "allergens": []}
    assert water == {"name": "Filtered water", "amount": {"value": 100, "unit": "ml"}, "reference": "water"}


def test_a_point_among_decimal_commas_might_be_thousands(client):
    rows = ("Sour;Gin;22,5;ml;41;;;;;none;", "Sour;Water;1.000;ml;;;;;water;;")
    assert refused(client, *rows, header=SEMICOLONS) == [(3, "amount", "not-a-plain-number")]


@pytest.mark.parametrize("header, errors", [
    ("component,amount,unit", [("/1/spec", "missing-column")]),
    ("spec,component,abv", [("/1/amount", "missing-column"), ("/1/unit", "missing-column")]),
    ("spec,component,amount,unit,amount", [("/1/amount", "duplicate-column")]),
    ("spec,component,amount,unit,colour,a/b", [("/1/colour", "unknown-column"), ("/1/a~1b", "unknown-column")]),
    ("Spec,component,amount,unit", [("/1/spec", "missing-column"), ("/1/Spec", "unknown-column")]),
])  # fmt: skip
def test_a_header_that_is_wrong_refuses_the_sheet(client, header, errors):
    assert problem(client, sheet("a,b,1,ml", header=header), 422) == errors
    texts = [error["text"] for error in post(client, sheet("a,b,1,ml", header=header)).get_json()["errors"]]
    assert all("Row 1" in text for text in texts)
    assert all(pointer[3:].replace("~1", "/") in text for (pointer, _), text in zip(errors, texts, strict=True))


def test_every_cell_that_is_wrong_is_told_at_once(client):
    """A formula in one row hides neither a unit that there is not in another, nor a reference."""
    table = b"spec,component,amount,unit,reference\r\nA,Gin,=B2,ml,\r\nA,Lime,20,mls,\r\nA,Water,90,ml,no-such\r\n"
    told = [(one["row"], one["column"], one["code"]) for one in post(client, table).get_json()["refused"]]
    assert told == [(2, "amount", "formula"), (3, "unit", "unit"), (4, "reference", "unknown-reference")]


@pytest.mark.parametrize("unknown, nearest", [
    ("ABV", "abv"), ("sugar g per l", "sugar_g_per_l"), ("alergens", "allergens"), ("colour", None),
])  # fmt: skip
def test_an_unknown_column_names_the_nearest_known_one(client, unknown, nearest):
    (error,) = post(client, sheet("a,b,1,ml,", header=f"spec,component,amount,unit,{unknown}")).get_json()["errors"]
    told = {param["name"]: param["text"] for param in error["params"]}
    known = {"nearest": nearest} if nearest else {"columns": ", ".join(COLUMNS)}
    assert told == {"column": unknown} | known


@pytest.mark.parametrize("table, code", [
    (sheet(GIN).decode().encode("utf-16"), "not-utf-8"),
    (sheet(GIN.replace("Gin", "Crème")).decode().encode("latin-1"), "not-utf-8"),
    (sheet(GIN + "\0"), "control-character"),
    (HEADER.encode() + b'\r\n"Sour,Gin', "malformed-table"),
    (HEADER.encode() + b'\r\n"Sour"x,Gin', "malformed-table"),
    (HEADER.encode() + b"\r\n" + b"x" * 200_000, "malformed-table"),
])  # fmt: skip
def test_what_is_no_table_is_refused(client, table, code):
    assert problem(client, table, 400) == [("", code)]
    assert post(client, table).get_json()["type"] == "/problems/invalid-csv"


def test_an_empty_sheet_lacks_its_columns(client):
    assert [code for _, code in problem(client, b"", 422)] == ["missing-column"] * 4
    of_a_header_alone = answered(client, sheet())
    assert of_a_header_alone["specs"] == []
    assert [caution["code"] for caution in of_a_header_alone["cautions"]] == ["no-rows"]


def test_the_bounds_of_a_sheet(client):
    row = "S{0},Water,100,ml,,,,,water,,"
    assert len(answered(client, sheet(*(row.format(i) for i in range(MOST_ITEMS))))["specs"]) == MOST_ITEMS
    assert problem(client, sheet(*(row.format(i) for i in range(MOST_ITEMS + 1))), 422) == [("", "too-many-specs")]
    many = [f"S{i % 40},w{i},1,ml,,,,,water,," for i in range(MOST_SPEC_LINES)]
    assert len(answered(client, sheet(*many))["specs"]) == 40
    assert problem(client, sheet(*many, row.format(0)), 422) == [("", "too-many-rows")]
    assert post(client, b" " * (LARGEST_BODY + 1)).status_code == 413
    blank = answered(client, sheet(*[""] * 400_000, GIN, WATER, end="\n"))
    assert len(blank["specs"]) == 1
    wrong = answered(client, sheet(*["Sour,=1,=1,=1,=1,=1,=1,=1,=1,=1,=1"] * MOST_SPEC_LINES))
    assert len(wrong["refused"]) == 1000


@pytest.mark.parametrize("content_type, status", [
    ("text/csv", 200), ("text/csv; charset=utf-8; header=present", 200), ("text/csv; charset=UTF-8", 200),
    ("text/csv; charset=iso-8859-1", 415), ("application/json", 415), ("text/plain", 415), ("", 415),
])  # fmt: skip
def test_only_a_table_in_utf_8_is_taken(client, content_type, status):
    assert post(client, sheet(GIN, WATER), content_type=content_type).status_code == status
    assert post(client, sheet(GIN, WATER), headers={"Content-Encoding": "gzip"}).status_code == 415


def test_a_table_is_taken_nowhere_else(client):
    assert client.post("/v1/batches", data=sheet(GIN), content_type="text/csv").status_code == 415


def test_units_of_findings_are_asked_for_in_the_query(client):
    metric, us = (post(client, sheet(GIN, WATER), query_string=q).get_json() for q in ("", "units=us"))
    assert "g/l" in json.dumps(metric["specs"][0]["findings"])
    assert "volumes" in json.dumps(us["specs"][0]["findings"])
    assert post(client, sheet(GIN), query_string="units=stone").status_code == 400


def test_a_table_is_a_copy_at_hand_like_any_reference():
    """RFC 9110 section 13: a table that has not changed is not sent again."""
    client = create_app({"AUTH": "open"}).test_client()
    tag = client.get(TEMPLATE).headers["ETag"]
    assert client.get(TEMPLATE, headers={"If-None-Match": tag}).status_code == 304
    assert client.get(TEMPLATE, headers={"Accept": "application/json"}).status_code == 406


CELLS = st.sampled_from(
    ["", "Sour", "Gin", "45", "-1", "1,5", "=1", "ml", "oz", "none", "citric", "water", "\t", '"', "é"]
)


@settings(deadline=None, max_examples=200, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    header=st.lists(st.sampled_from(COLUMNS), unique=True, max_size=21),
    rows=st.lists(st.lists(CELLS | st.text(max_size=8), max_size=22), max_size=6),
    delimiter=st.sampled_from(",;"),
)
def test_whatever_is_in_the_cells_it_is_answered_or_refused(client, header, rows, delimiter):
    file = StringIO()
    csv.writer(file, delimiter=delimiter).writerows([["spec", "component", "amount", "unit"], *rows]
                                                    if len(header) % 2 else [header, *rows])  # fmt: skip
    response = post(client, file.getvalue().encode("utf-8", "replace"))
    assert response.status_code in (200, 400, 422), response.get_json()
    if response.status_code == 200:
        conforms("createSpecSheet", response.get_json())
        for one in response.get_json()["refused"]:
            assert 2 <= one["row"] <= len(rows) + 1 or any("\n" in cell or "\r" in cell for row in rows for cell in row)


@settings(deadline=None, max_examples=100, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.binary(max_size=300))
def test_whatever_the_bytes_there_is_an_answer(client, table):
    assert post(client, table).status_code in (200, 400, 422)
