"""A batch in the caller's units."""

from collections.abc import Sequence

from service.api.answers import Answer, tidy, titratable_acidity
from service.api.batching.differences import write_differences
from service.api.batching.labelling import write_allergens, write_label
from service.api.batching.money import write_money
from service.api.endpoint import Body
from service.batching import (
    Batch,
    Cost,
    Depletion,
    Drift,
    Fill,
    InGlass,
    Line,
    OnHand,
    Purchase,
    Supply,
    Weighing,
)
from service.drink import Portion
from service.science.units import Quantity, from_base


def write(batch: Batch, answer: Answer) -> Body:
    """The batch in the caller's units."""
    bought = {p.component: p for p in batch.cost.purchases} if batch.cost else {}
    lines = batch.components
    depletion = [_depletion(found, answer) for found in batch.depletion]
    fills = [write_fill(fill, answer) for fill in batch.fills]
    return {
        "spec_id": batch.spec_id,
        "serves": batch.serves,
        "components": [write_component(line, bought.get(line.name), answer) for line in lines],
        "totals": _totals(batch, answer),
        "per_serve": _per_serve(batch, answer),
        **({"in_glass": _in_glass(batch.in_glass, answer)} if batch.in_glass is not None else {}),
        "weighing": write_weighing(batch.weighing, answer),
        "rounding": _rounding(batch, answer),
        **({"on_hand": [_on_hand(held, answer) for held in batch.on_hand]} if batch.on_hand else {}),
        **({"fills": fills} if fills else {}),
        **({"whole_serves": batch.whole_serves} if batch.whole_serves is not None else {}),
        **({"heel": answer.q("volume", batch.heel_ml)} if batch.heel_ml is not None else {}),
        "shopping": [_shopping(supply, bought.get(supply.name), batch.cost, answer) for supply in batch.shopping],
        **(write_cost(batch.cost) if batch.cost else {}),
        **write_allergens(batch.allergens),
        **({"use_by": batch.use_by.isoformat()} if batch.use_by is not None else {}),
        "label": write_label(batch.label, answer),
        **({"depletion": depletion} if depletion else {}),
        **({"differences": write_differences(batch.differences, answer)} if batch.differences is not None else {}),
    }


def write_fill(fill: Fill, answer: Answer) -> Body:
    """One kind of vessel, filled evenly, in the caller's units."""
    return {
        "vessel": fill.vessel.name,
        "count": fill.count,
        "liquid": answer.q("volume", fill.liquid_ml),
        "headspace": answer.q("volume", fill.headspace_ml),
    }


def write_component(line: Line, bought: Purchase | None, answer: Answer) -> Body:
    """One line of a batch, with what is bought for it, in the caller's units."""
    found: Body = {
        "name": line.name,
        "volume": answer.q("volume", line.volume_ml),
        "mass": answer.q("mass", line.mass_g),
    }
    if line.measure is not None and line.drift_percent is not None:
        found |= {"measure": answer.wire(line.measure), "drift_percent": tidy(line.drift_percent)}
    if bought is not None:
        found |= {"packages": bought.packages, "left_over": answer.wire(bought.left_over)}
    if line.whole.made_of:
        found["made_of"] = [_made_of(part, answer) for part in line.whole.made_of]
    return found | _start_from(line.whole, answer)


def _made_of(part: Portion, answer: Answer) -> Body:
    return {
        "name": part.component.name,
        "volume": answer.q("volume", part.volume_ml),
        "mass": answer.q("mass", part.masses.total_g),
        **_start_from(part, answer),
    }


def _start_from(part: Portion, answer: Answer) -> Body:
    if part.component.yield_percent is None:
        return {}
    return {"start_from": answer.q("mass", part.masses.total_g * part.started)}


def _totals(batch: Batch, answer: Answer) -> Body:
    drink, totals = batch.drink, batch.totals
    found: Body = {
        "volume": answer.q("volume", batch.volume_ml),
        "sum_of_volumes": answer.q("volume", totals.sum_of_volumes_ml),
        "mass": answer.q("mass", totals.mass_g),
        "density_g_per_ml": tidy(totals.density_g_per_ml),
        "abv": tidy(drink.abv),
        "sugar": answer.q("sugar", drink.sugar_g_per_l),
        "brix": tidy(totals.brix),
        "titratable_acidity": titratable_acidity(drink.acid_meq_per_l),
        "salt": answer.q("salt", totals.salt_g_per_l),
    }
    if totals.sugar_to_acid is not None:
        found["sugar_to_acid"] = tidy(totals.sugar_to_acid)
    if totals.freezing_point_c is not None and totals.lowest_safe_c is not None:
        found |= {
            "freezing_point": answer.band("temperature", totals.freezing_point_c),
            "lowest_safe": answer.q("temperature", totals.lowest_safe_c),
        }
    return found


def _per_serve(batch: Batch, answer: Answer) -> Body:
    serve = batch.per_serve
    drinks = [
        {"country": d.country, "name": d.name, "count": tidy(d.count), "basis": d.basis} for d in serve.standard_drinks
    ]
    return {
        "volume": answer.q("volume", serve.volume_ml),
        "alcohol": answer.q("mass", serve.alcohol_g),
        "standard_drinks": drinks,
        "energy_kcal": tidy(serve.energy_kcal),
        "energy_kj": tidy(serve.energy_kj),
    }


def _in_glass(glass: InGlass, answer: Answer) -> Body:
    return {
        "volume": answer.q("volume", glass.volume_ml),
        "abv": tidy(glass.abv),
        "sugar": answer.q("sugar", glass.sugar_g_per_l),
        "melt": answer.q("volume", glass.melt_ml),
    }


def _rounding(batch: Batch, answer: Answer) -> Body:
    by = {"by_measure": batch.drifts.measured, "by_scale": batch.drifts.weighed}
    return {
        "factor": tidy(batch.factor),
        **{name: _drift(drift, answer) for name, drift in by.items() if drift is not None},
    }


def _drift(drift: Drift, answer: Answer) -> Body:
    found: Body = {
        "ratio_percent": tidy(drift.ratio_percent),
        "abv": tidy(drift.abv),
        "sugar": answer.q("sugar", drift.sugar_g_per_l),
        "titratable_acidity": titratable_acidity(drift.acid_meq_per_l),
    }
    if drift.set_point_bar is not None:
        found["set_point"] = answer.q("pressure", drift.set_point_bar)
    return found


def _on_hand(held: OnHand, answer: Answer) -> Body:
    left = {"left_over": answer.wire(held.left_over)} if held.enough else {"short_by": answer.wire(held.short_by)}
    return {
        "component": held.component,
        "amount": answer.wire(held.amount),
        "needed": answer.wire(held.needed),
        "status": "enough" if held.enough else "short",
        "runs_out_first": held.runs_out_first,
        **left,
    }


def write_weighing(weighing: Sequence[Weighing], answer: Answer) -> list[Body]:
    """What is weighed, in the order of work."""
    return [
        {
            "component": w.component,
            "mass": answer.q("mass", w.mass_g),
            "drift_percent": tidy(w.drift_percent),
            "alone": w.alone,
            "coarse": w.coarse,
            "shares": [{"times": s.times, "measure": answer.q("mass", s.measure_g)} for s in w.shares],
        }
        for w in weighing
    ]


def _shopping(supply: Supply, bought: Purchase | None, cost: Cost | None, answer: Answer) -> Body:
    code = supply.component.stock_code
    kind = bought.content.kind if bought is not None else supply.kind
    found: Body = {
        "component": supply.name,
        **({"stock_code": code} if code else {}),
        "amount": answer.q(kind, supply.in_kind(kind)),
    }
    if bought is not None and cost is not None:
        found |= {
            "content": answer.wire(bought.content),
            "packages": bought.packages,
            "left_over": answer.wire(bought.left_over),
            "outlay": write_money(bought.outlay, cost.currency),
        }
    return found


def write_cost(cost: Cost) -> Body:
    """What is used and what is laid out."""
    per_serve = {"amount": f"{cost.per_serve:f}", "currency": cost.currency}
    pour = {"pour_cost_percent": tidy(float(cost.pour_cost_percent))} if cost.pour_cost_percent is not None else {}
    return {
        "cost": {"batch": write_money(cost.batch, cost.currency), "per_serve": per_serve, **pour},
        "outlay": write_money(cost.outlay, cost.currency),
    }


def _depletion(found: Depletion, answer: Answer) -> Body:
    unit = {"stock_unit": found.stock_unit} if found.stock_unit else {}
    return {
        "component": found.component,
        "stock_code": found.stock_code,
        **unit,
        "per_serve": _in_unit(found.per_serve, found.unit, answer),
        "per_batch": _in_unit(found.per_batch, found.unit, answer),
    }


def _in_unit(amount: Quantity, unit: str | None, answer: Answer) -> Body:
    """In a unit of the stock system; without one, in that of the answer."""
    if unit is None:
        return answer.q(amount.kind, amount.value)
    return {"value": tidy(from_base(amount.kind, amount.value, unit)), "unit": unit}
