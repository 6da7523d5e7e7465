"""What is said of a batch, and how it is written in the caller's units."""

from decimal import Decimal

from marshmallow import fields

from service.api.answers import Answer, tidy, titratable_acidity
from service.api.endpoint import Body, Open
from service.api.moments import moment
from service.api.quantities import band, flag, money, number, q, text, texts, whole
from service.api.shapes import ALLERGENS, Envelope, TitratableAcidityAnswerSchema
from service.batching import DILUTION_WATER, Batch, Cost, Fill, Line, Purchase, amount_of, minor_digits


class BatchComponentSchema(Open):
    """One component of the batch; packages and what is left over where it has a price."""

    name = text(200)
    volume = q("volume")
    mass = q("mass")
    measure = q("amount", required=False)
    drift_percent = number(required=False)
    packages = whole(required=False)
    left_over = q("amount", required=False)


class BatchTotalsSchema(Open):
    """The whole batch at 20 °C."""

    volume = q("volume")
    sum_of_volumes = q("volume")
    mass = q("mass")
    density_g_per_ml = number()
    abv = number()
    sugar = q("sugar")
    brix = number()
    titratable_acidity = fields.Nested(TitratableAcidityAnswerSchema, required=True)
    freezing_point = band("temperature", required=False)
    lowest_safe = q("temperature", required=False)


class StandardDrinkSchema(Open):
    """How many of a country's standard drinks one serve is. basis: memory where it was not checked against print."""

    country = text(100)
    name = text(100)
    count = number()
    basis = text(40)


class PerServeSchema(Open):
    """One serve."""

    volume = q("volume")
    alcohol = q("mass")
    standard_drinks = fields.List(fields.Nested(StandardDrinkSchema), required=True)
    energy_kcal = number()


class WeighingShareSchema(Open):
    """One reading of the scale, so many times."""

    times = whole()
    measure = q("mass")


class WeighingSchema(Open):
    """One component on the scale, in working order. alone: into a cup of its own."""

    component = text(200)
    mass = q("mass")
    drift_percent = number()
    alone = flag()
    shares = fields.List(fields.Nested(WeighingShareSchema), required=True)


class FillSchema(Open):
    """So many vessels, each with so much liquid and headspace."""

    vessel = text(100)
    count = whole()
    liquid = q("volume")
    headspace = q("volume")


class ShoppingLineSchema(Open):
    """What the batch uses of one component, and the packages that hold it."""

    component = text(200)
    stock_code = text(64, required=False)
    amount = q("amount")
    content = q("amount", required=False)
    packages = whole(required=False)
    outlay = money(required=False)


class CostSchema(Open):
    """What is used. batch: unrounded to the twelfth decimal; per_serve: two decimals below the smallest coin."""

    batch = money()
    per_serve = money()


class DepletionSchema(Open):
    """What a stock system takes off."""

    component = text(200)
    stock_code = text(64)
    stock_unit = text(16, required=False)
    per_serve = q("amount")
    per_batch = q("amount")


class BatchBody(Open):
    """The batch."""

    spec_id = text(100)
    serves = whole()
    components = fields.List(fields.Nested(BatchComponentSchema), required=True)
    totals = fields.Nested(BatchTotalsSchema, required=True)
    per_serve = fields.Nested(PerServeSchema, required=True)
    weighing = fields.List(fields.Nested(WeighingSchema), required=True)
    fills = fields.List(fields.Nested(FillSchema))
    shopping = fields.List(fields.Nested(ShoppingLineSchema), required=True)
    cost = fields.Nested(CostSchema)
    outlay = money(required=False)
    allergens = texts(40, most=14)
    use_by = moment(required=False)
    depletion = fields.List(fields.Nested(DepletionSchema))


class BatchAnswer(Envelope, BatchBody):
    """A batch with what it rests on."""


def write(batch: Batch, answer: Answer) -> Body:
    """The batch in the caller's units."""
    bought = {p.component: p for p in batch.cost.purchases} if batch.cost else {}
    lines = batch.components
    depletion = [_depletion(line, answer) for line in lines if line.glass.component.stock_code]
    fills = [write_fill(fill, answer) for fill in batch.fills]
    return {
        "spec_id": batch.spec_id,
        "serves": batch.serves,
        "components": [_component(line, bought.get(line.name), answer) for line in lines],
        "totals": _totals(batch, answer),
        "per_serve": _per_serve(batch, answer),
        "weighing": _weighing(batch, answer),
        **({"fills": fills} if fills else {}),
        "shopping": [
            _shopping(line, bought.get(line.name), batch.cost, answer)
            for line in lines
            if line.name != DILUTION_WATER or line.name in bought
        ],
        **(_cost(batch.cost) if batch.cost else {}),
        "allergens": [a for a in ALLERGENS if a in batch.allergens],
        **({"use_by": batch.use_by.isoformat()} if batch.use_by is not None else {}),
        **({"depletion": depletion} if depletion else {}),
    }


def write_fill(fill: Fill, answer: Answer) -> Body:
    """One kind of vessel, filled evenly, in the caller's units."""
    return {
        "vessel": fill.vessel.name,
        "count": fill.count,
        "liquid": answer.q("volume", fill.liquid_ml),
        "headspace": answer.q("volume", fill.headspace_ml),
    }


def _component(line: Line, bought: Purchase | None, answer: Answer) -> Body:
    found: Body = {
        "name": line.name,
        "volume": answer.q("volume", line.volume_ml),
        "mass": answer.q("mass", line.mass_g),
    }
    if line.measure is not None and line.drift_percent is not None:
        found |= {"measure": answer.wire(line.measure), "drift_percent": tidy(line.drift_percent)}
    if bought is not None:
        found |= {"packages": bought.packages, "left_over": answer.wire(bought.left_over)}
    return found


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
    }
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
    }


def _weighing(batch: Batch, answer: Answer) -> list[Body]:
    return [
        {
            "component": w.component,
            "mass": answer.q("mass", w.mass_g),
            "drift_percent": tidy(w.drift_percent),
            "alone": w.alone,
            "shares": [{"times": s.times, "measure": answer.q("mass", s.measure_g)} for s in w.shares],
        }
        for w in batch.weighing
    ]


def _shopping(line: Line, bought: Purchase | None, cost: Cost | None, answer: Answer) -> Body:
    code = line.glass.component.stock_code
    found = {
        "component": line.name,
        **({"stock_code": code} if code else {}),
        "amount": answer.wire(amount_of(line.whole)),
    }
    if bought is not None and cost is not None:
        found |= {
            "content": answer.wire(bought.content),
            "packages": bought.packages,
            "outlay": _money(bought.outlay, cost.currency),
        }
    return found


def _cost(cost: Cost) -> Body:
    per_serve = {"amount": f"{cost.per_serve:f}", "currency": cost.currency}
    return {
        "cost": {"batch": _money(cost.batch, cost.currency), "per_serve": per_serve},
        "outlay": _money(cost.outlay, cost.currency),
    }


def _money(amount: Decimal, currency: str) -> Body:
    """Every decimal there is, up to twelve; at least those of the smallest coin."""
    shown = f"{amount:.12f}"
    whole_part, decimals = shown.split(".")
    decimals = decimals.rstrip("0").ljust(minor_digits(currency), "0")
    return {"amount": f"{whole_part}.{decimals}".rstrip("."), "currency": currency}


def _depletion(line: Line, answer: Answer) -> Body:
    component = line.glass.component
    unit = {"stock_unit": component.stock_unit} if component.stock_unit else {}
    return {
        "component": line.name,
        "stock_code": component.stock_code,
        **unit,
        "per_serve": answer.wire(amount_of(line.glass)),
        "per_batch": answer.wire(amount_of(line.whole)),
    }
