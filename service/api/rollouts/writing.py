"""Venues, their standard and their spread in somebody's units."""

from collections.abc import Mapping
from datetime import timedelta
from math import isfinite

from service.api import batching, chilling
from service.api.answers import Answer, tidy, titratable_acidity
from service.api.carbonation import write_warm_room
from service.api.endpoint import Body
from service.batching import Made
from service.notes import Value
from service.rollout import Differs, InVessel, Sentence, SharedWork, Spread, Venue
from service.science.units import Quantity, UnitSystem
from service.site import Site

KINDS = {"co2": "co2", "glass": "co2", "titratable_acidity": "acidity"}
"""Kind of quantity that spreads; a strength has no unit."""


def write_venue(venue: Venue, once: SharedWork, batch: Body, answer: Answer) -> Body:
    """One venue in its own units.

    batch: what `write_batch` makes of it; venues that make the same share it
    """
    first, *others = (
        {**_in_vessel(one, once, answer), "chilling": chilling.write(cold, answer)}
        for one, cold in zip(venue.vessels, venue.chilled, strict=True)
    )
    fills = [batching.write_fill(fill, answer) for fill in venue.fills]
    others = [{"fill": fill, **other} for fill, other in zip(fills[1:], others, strict=True)]
    return {
        **first,
        "batch": batch,
        "fills": fills,
        **({"other_vessels": others} if others else {}),
        **({} if once.use_by is None else {"use_by": answer.moment(once.use_by)}),
        **({} if venue.cost is None else batching.write_cost(venue.cost)),
        "differs": [_differs(one, answer) for one in venue.differs],
        "says": [_sentence(one, answer) for one in venue.says],
        **answer.said(venue.notes),
    }


def _in_vessel(one: InVessel, once: SharedWork, answer: Answer) -> Body:
    return {
        "gauge_pressure": answer.band("pressure", one.dial_bar_gauge),
        "charges": _charges(one, answer),
        **_served(one, once, answer),
    }


def _charges(one: InVessel, answer: Answer) -> Body:
    charging = one.charging
    needed = charging.charges_to_target
    return {
        "count": charging.plan.count,
        "co2": answer.band("co2", one.co2_g_per_l),
        **({"charges_to_target": answer.band("number", needed)} if isfinite(needed.high) else {}),
        "never_over": answer.q("pressure", charging.never_over_bar_gauge),
        "worst": {
            "temperature": answer.q("temperature", charging.judged_at_c),
            "gauge_pressure": answer.q("pressure", charging.worst_bar_gauge),
        },
        **write_warm_room(charging, answer),
        "co2_used": answer.band("mass", charging.co2_used_g),
    }


def _served(one: InVessel, once: SharedWork, answer: Answer) -> Body:
    found: Body = {}
    if one.glass is not None:
        found["glass"] = answer.band("co2", one.glass)
    if one.regas_after is None:
        return found
    pours, minutes = one.regas_after.pours, one.regas_after.minutes
    found["regas_after"] = {"pours": answer.band("number", pours), "minutes": answer.band("number", minutes)}
    shift = once.asked.standard.shift
    if shift is not None and shift.starts_at is not None and one.regas_after.usually_due:
        found["regas_at"] = answer.moment(shift.starts_at + timedelta(minutes=minutes.typical))
    return found


def write_batch(made: Made, abv: float | None, acid_meq_per_l: float | None, system: UnitSystem) -> Body:
    """A batch, with strength and acidity as steps make them; None where nothing is left of a component."""
    answer, as_made = Answer(system), Body()
    if abv is not None and acid_meq_per_l is not None:
        as_made = {"abv": tidy(abv), "titratable_acidity": titratable_acidity(acid_meq_per_l)}
    return {
        "serves": made.serves,
        "volume": answer.q("volume", made.drink.volume_ml),
        "mass": answer.q("mass", made.drink.masses.total_g),
        **as_made,
        "components": [batching.write_component(line, answer) for line in made.components],
        "weighing": batching.write_weighing(made.weighing, answer),
    }


def _differs(one: Differs, answer: Answer) -> Body:
    sides = {"standard": one.standard, "here": one.here}
    return {
        "pointer": one.pointer,
        **{name: _side(side, answer) for name, side in sides.items() if side is not None},
        "code": one.code,
        **answer.told(one.text, one.params),
    }


def _side(side: Value, answer: Answer) -> Body:
    if isinstance(side, Quantity):
        return answer.q(side.kind, side.value)
    return {"value": tidy(side)} if isinstance(side, int | float) else {}


def _sentence(one: Sentence, answer: Answer) -> Body:
    return {"code": one.code, **answer.told(one.text, one.params)}


def write_end(once: SharedWork, spreads: Mapping[str, Spread], answer: Answer) -> Body:
    """What holds of all venues."""
    return {
        "summary": {name: _spread(spread, KINDS.get(name), answer) for name, spread in spreads.items()},
        "standard": _standard(once, answer),
        "spec_id": once.spec_id,
        **batching.write_allergens(once.allergens),
    }


def _spread(spread: Spread, kind: str | None, answer: Answer) -> Body:
    def shown(value: float) -> Body:
        return {"value": tidy(value)} if kind is None else answer.q(kind, value)

    return {
        "lowest": {**shown(spread.lowest.value), "site": spread.lowest.site},
        "median": shown(spread.median),
        "highest": {**shown(spread.highest.value), "site": spread.highest.site},
    }


def _standard(once: SharedWork, answer: Answer) -> Body:
    drink = once.glass.serve
    known: Body = {
        "target": answer.q("co2", once.target_g_per_l),
        "abv": tidy(drink.abv),
        "titratable_acidity": titratable_acidity(drink.acid_meq_per_l),
    }
    if once.reference is None:
        return known
    one = _in_vessel(once.reference, once, answer)
    told = ("gauge_pressure", "charges", "glass", "regas_after")
    return known | {name: one[name] for name in told if name in one}


def named(site: Site) -> Body:
    """Which venue it is."""
    return {"id": site.id, **({} if site.name is None else {"name": site.name})}
