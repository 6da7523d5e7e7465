"""Every default and limit stands once, in service/limits, and the reference lists it."""

import ast
from collections.abc import Iterator
from pathlib import Path
from typing import get_args

import pytest

from service.api.app import create_app
from service.limits import (
    LIMITS,
    acids,
    batches,
    charging,
    draught,
    evening,
    readings,
    requests,
    safety,
    serving,
    tables,
    vessels,
)
from service.limits.declared import Kind
from service.notes import Basis
from service.science.exposure import EXPOSURE_LIMITS
from service.science.units import FACTORS, to_base
from service.vessel import PRESETS
from tests.running import ROOT

SUBJECTS = (vessels, charging, safety, serving, draught, evening, batches, acids, readings, requests, tables)
ELSEWHERE = ("science", "limits")
"""Physics and its data, and the limits themselves."""
PLUMBING = (
    "api/answers.py", "api/app.py", "api/configuration.py", "api/endpoint", "api/keys.py", "api/metrics.py",
    "api/moments.py", "api/openapi", "api/pages", "api/problems.py", "api/quantities", "api/speech.py",
    "api/wire",
)  # fmt: skip
"""How the web is spoken to, not what a bar is told."""
TECHNICAL = {
    "how a search is made or ends": """
        acid/additions.py _ANY_MEQ_PER_L; acid/composition.py REFERENCE _ROUNDS; acid/limits.py _ROUNDS
        acid/ph.py _PH_TENTHS; acid/reach.py SAME _ROUNDS _HALVINGS; acid/solution_request.py _TRACE_OF_WATER
        batching/measures.py SIZES_TRIED; setting.py LESS_FILL; spec_check/smallest.py TRACE
        regas/calibrating/checks.py MOST_STATED; regas/rates.py _POINT; evening/planning.py SPLITS
        evening/scheduling.py LEVELS MOVED REACHES WORTH_IT HOPELESS FEW FAR""",
    "what binary fractions or a change of units may add": """
        batching/differences.py _NOTHING; batching/dilution.py _AS_STATED; batching/fills.py NOISE
        batching/stock.py _NOISE; reconciliation/counting.py _NOISE
        regas/results.py LEAST_GAIN_G_PER_L; regas/pools.py ROUNDING; evening/demand.py NOISE
        evening/prepared.py NOISE
        vessel/limits.py _UNITS""",
    "a name for sea level, or a place in an order": """
        rollout/shared_work.py SEA_LEVEL; batching/weighing.py _WATER _ACID _BULKY _SMALL _SPIRIT""",
    "lines of a table or points of a curve": """
        acid/references.py REFERENCE_C SATURATION_C; carbonation/checking.py CHECKED_AT_C
        carbonation/curve.py AROUND_C STEPS""",
    "published, or physics": """
        acid/titration.py END_POINTS; money.py _MINOR_DIGITS; batching/totals.py KCAL_PER_G KJ_PER_G
        calibration.py REACH_OF_90_PERCENT; carbonation/reading/by_weight.py FULLEST
        chilling/plan.py DENSEST_C WARM_AIR_U_W_PER_M2_K
        drink/litre.py SUGAR_BULK_G_PER_ML ROOM_C; regas/calibrating/errors.py EVEN; setting.py AIR_G_PER_L_BAR""",
    "precision of money": "batching/cost.py _DIGITS; evening/shopping.py DIGITS",
    "one of something, or more than there ever is": """
        evening/lots.py PLENTY_ML; evening/tasks.py ONE_PERSON ONE_REGULATOR""",
    "how a sentence reads": "evening/bottleneck.py SEEN_S; notes.py _NAMES_SHOWN; vessel/kinds.py KEPT_COLD_L",
    "as many as there are of them": "calibration.py MOST_MANNERS",
    "how much is kept or tried, in memory and time": """
        rollout/shared_work.py KEPT; api/batching.py MOST_TRIES; api/rollouts/refusing.py MOST_TRIES STANDARDS
        api/carbonation.py MOST_TRIES; api/regas.py MOST_TRIES""",
    "told with jug-step": "batching/measures.py JUGS_ML",
    "a bound of one field, which the document states where it holds": """
        acid/composition.py NAME; acid/solution_request.py ColdestStorage Purity
        evening/asked.py DrinkId HELD; evening/answer.py TaskId
        batching/allergens.py EuAllergens UsAllergens; batching/label.py Names; carbonation/asked.py Target
        notes.py Pointers; declared.py BASIS CODE LOCALE TIME_ZONE; prep_sheet/step.py Number StepCode
        reconciliation/asked.py MeasuringPercent
        vessel/kinds.py FillShare""",
}
"""Numbers that are no default and no limit: why they are none -> the modules and the names."""


@pytest.fixture(scope="module")
def listed():
    return create_app({"AUTH": "open"}).test_client().get("/v1/references/limits").get_json()["items"]


def names(path: Path) -> Iterator[str]:
    """Yield the names at a module's own level whose value holds a number."""
    for node in ast.parse(path.read_text(encoding="utf-8")).body:
        if isinstance(node, ast.Assign | ast.AnnAssign) and node.value is not None and holds_number(node.value):
            for target in node.targets if isinstance(node, ast.Assign) else [node.target]:
                yield from (one.id for one in ast.walk(target) if isinstance(one, ast.Name))


def holds_number(value: ast.expr) -> bool:
    return any(isinstance(one, ast.Constant) and type(one.value) in (int, float) for one in ast.walk(value))


def in_rooms(path: str, rooms: tuple[str, ...]) -> bool:
    return any(path == room or path.startswith(f"{room}/") for room in rooms)


def technical() -> set[tuple[str, str]]:
    """Module and name of each number that is no limit."""
    lines = (line.split() for told in TECHNICAL.values() for line in told.replace("\n", ";").split(";") if line.strip())
    return {(module, name) for module, *named in lines for name in named}


def test_every_number_is_declared_or_technical():
    service = ROOT / "service"
    modules = {path.relative_to(service).as_posix(): path for path in service.rglob("*.py")}
    found = {
        (name, constant)
        for name, path in modules.items()
        if not in_rooms(name, (*ELSEWHERE, *PLUMBING))
        for constant in names(path)
    }
    assert found == technical()


def test_every_number_of_the_limits_is_declared():
    for subject in SUBJECTS:
        text = Path(subject.__file__).read_text(encoding="utf-8")
        for node in ast.parse(text).body:
            if isinstance(node, ast.Assign | ast.AnnAssign) and node.value is not None and holds_number(node.value):
                assert "declared" in ast.unparse(node.value) or ast.unparse(node.value).startswith("bound("), (
                    node.lineno
                )


def test_reference_lists_every_limit_in_order(listed):
    assert [one["limit"] for one in listed] == [row.limit for row in LIMITS]
    assert [row for subject in SUBJECTS for row in subject.declared.rows] == list(LIMITS)
    assert len(tables.declared.rows) == 2 * len(PRESETS) + len(EXPOSURE_LIMITS)
    assert len({one["limit"] for one in listed}) == len(listed)


@pytest.mark.parametrize("row", LIMITS, ids=lambda row: row.limit)
def test_limit_is_listed_as_it_is_declared(listed, row):
    (one,) = [one for one in listed if one["limit"] == row.limit]
    value = (
        to_base(row.unit, one["value"], one["unit"])
        if row.unit in FACTORS or row.unit == "temperature"
        else one["value"]
    )
    assert value == pytest.approx(row.value, rel=1e-9)
    assert (one["kind"], one["meaning"], one["basis"], one["source"]) == (row.kind, row.meaning, row.basis, row.source)
    assert row.kind in get_args(Kind)
    assert row.basis in get_args(Basis)
    assert row.meaning.endswith(".")
