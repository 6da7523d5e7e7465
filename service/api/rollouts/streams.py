"""A rollout venue by venue, each answered or refused on its own; sent as lines or rows while it is computed."""

import csv
from collections.abc import Iterator
from dataclasses import replace
from functools import lru_cache
from io import StringIO
from typing import Any

import orjson

from service.api import wire
from service.api.answers import Answer
from service.api.endpoint import Body, Parts
from service.api.endpoint.omission import omitting
from service.api.moments import speech_of
from service.api.pages.table import cell
from service.api.rollouts.refusing import RefusalWriter, placed
from service.errors import Refused, SeveralRefused, within_validity
from service.rollout import KEPT, SharedWork, Spreads, Venue, refused_answer, rollout_end, venue, venue_answer
from service.science.units import UnitSystem
from service.site import Site


def write(work: SharedWork, answer: Answer) -> Body:
    """Write every venue, then the figures about all of them."""
    rolling = RolloutParts(work, answer)
    sites = [orjson.Fragment(orjson.dumps(site)) for site in rolling.items]  # bytes take less memory than dictionaries
    return {"sites": sites, **rolling.end()}


class RolloutParts:
    """The venues of a rollout, each worked out when it is asked for; the figures about all come at the end."""

    def __init__(self, work: SharedWork, answer: Answer) -> None:
        self.work, self.answer = work, answer
        self.refusing, self.refused, self.spreads = RefusalWriter(work, answer), 0, Spreads()
        self._batch = lru_cache(maxsize=KEPT)(_written_batch)
        self._venues = (self._venue(i, site) for i, site in enumerate(work.asked.sites))

    @property
    def items(self) -> Iterator[Body]:
        """The venues, one after the other."""
        return self._venues

    def end(self) -> Body:
        """Return the figures about all venues, known once they are all computed."""
        return wire.write(rollout_end(self.work, self.refused, self.spreads.found()), self.answer)

    def _venue(self, i: int, site: Site) -> Body:
        own = answer_at(site, self.answer)
        try:
            with within_validity():
                found = venue(self.work, site)
        except (Refused, SeveralRefused) as refused:
            self.refused += 1
            return wire.write(refused_answer(site, self.refusing.problem(i, refused, own)), own)
        self.spreads.add(found)
        return omitting(_in_place(self._written(found, own), i), own.omit)

    def _written(self, found: Venue, own: Answer) -> Body:
        """Write a venue; venues that make the same batch share the written batch."""
        body = wire.write(replace(venue_answer(found, self.work), batch=None), own)
        return {**body, "batch": self._batch(found.batch, own.system)}


def _written_batch(batch: object, system: UnitSystem) -> Body:
    return wire.write(batch, Answer(system))


def answer_at(site: Site, answer: Answer) -> Answer:
    """Return the writer of answers in the units and in the manner of the venue."""
    if site.units is None and site.locale is None and site.time_zone is None:
        return answer
    return Answer(site.units or answer.system, speech_of(site.locale, site.time_zone), answer.omit)


def _in_place(body: Body, i: int) -> Body:
    """Return a venue's body with its pointers as those of its place in the list."""
    for said in (*body["cautions"], *body["assumptions"]):
        said["pointers"] = [placed(pointer, i) for pointer in said["pointers"]]
    for one in (*body["differs"], *body.get("changes", ())):
        one["pointer"] = placed(one["pointer"], i)
    return body


COLUMNS = (
    "id", "name", "status", "vessel", "count", "liquid", "headspace", "volume_unit", "dial_low", "dial_typical",
    "dial_high", "never_over", "pressure_unit", "charges", "co2_low", "co2_typical", "co2_high", "glass_low",
    "glass_typical", "glass_high", "co2_unit", "chill_first_check", "chill_typical", "chill_unit", "regas_after_pours",
    "regas_after_minutes", "regas_at", "serves", "abv", "titratable_acidity_meq_per_l", "use_by", "cost_batch",
    "cost_per_serve", "outlay", "currency", "differs", "problem", "nearest",
    "changes",
)  # fmt: skip
"""A row for each kind of vessel of a venue; figures of the batch stand in each of them.

problem: why it is refused; nearest: what works instead, as JSON
"""


def lines(parts: Parts) -> Iterator[bytes]:
    """Yield a line of JSON for each venue, and a last one for the figures about all."""
    sites = 0
    for site in parts.items:
        sites += 1
        yield orjson.dumps({"kind": "site", **site}) + b"\n"
    yield orjson.dumps({"kind": "end", "sites": sites, **parts.end()}) + b"\n"


def table(parts: Parts) -> Iterator[bytes]:
    """Yield the rows of the table (RFC 4180)."""
    yield _written(COLUMNS)
    for site in parts.items:
        for row in _rows(site):
            yield _written([cell(row.get(column, "")) for column in COLUMNS])


def _written(cells: Any) -> bytes:
    file = StringIO()
    csv.writer(file).writerow(cells)  # commas, quotes where needed, CRLF: RFC 4180
    return file.getvalue().encode()


def _rows(site: Body) -> Iterator[Body]:
    known: Body = {name: site[name] for name in ("id", "name", "status", "use_by") if name in site}
    if site["status"] == "refused":
        problem = site["problem"]
        offered = {"nearest": orjson.dumps(problem["nearest"]).decode()} if "nearest" in problem else {}
        yield {**known, "problem": problem["detail"], **offered}
        return
    known |= _of_all(site)
    first = {"fill": site["fills"][0], **site}
    for one in (first, *site.get("other_vessels", ())):
        yield {**known, **_vessel(one)}


def _of_all(site: Body) -> Body:
    batch, cost = site["batch"], site.get("cost")
    found: Body = {"serves": batch["serves"], "differs": " ".join(one["text"] for one in site["differs"])}
    found["changes"] = " ".join(one["text"] for one in site.get("changes", ()))
    if "abv" in batch:
        found |= {"abv": batch["abv"], "titratable_acidity_meq_per_l": batch["titratable_acidity"]["meq_per_l"]}
    if cost is not None:
        found |= {"cost_batch": cost["batch"]["amount"], "cost_per_serve": cost["per_serve"]["amount"]}
        found |= {"outlay": site["outlay"]["amount"], "currency": site["outlay"]["currency"]}
    return found


def _vessel(one: Body) -> Body:
    fill, charges, chilling = one["fill"], one["charges"], one["chilling"]
    found: Body = {
        "vessel": fill["vessel"],
        "count": fill["count"],
        "liquid": fill["liquid"]["value"],
        "headspace": fill["headspace"]["value"],
        "volume_unit": fill["liquid"]["unit"],
        **_band("dial", one["gauge_pressure"]),
        "never_over": charges["never_over"]["value"],
        "pressure_unit": charges["never_over"]["unit"],
        "charges": charges["count"],
        **_band("co2", charges["co2"]),
        "co2_unit": charges["co2"]["unit"],
        "chill_first_check": chilling["first_check"]["value"],
        "chill_typical": chilling["time"]["typical"],
        "chill_unit": chilling["time"]["unit"],
    }
    if "glass" in one:
        found |= _band("glass", one["glass"])
    if "regas_after" in one:
        pours, minutes = one["regas_after"]["pours"], one["regas_after"]["minutes"]
        found |= {"regas_after_pours": pours["typical"], "regas_after_minutes": minutes["typical"]}
    return found | {name: one[name] for name in ("regas_at",) if name in one}


def _band(name: str, band: Body) -> Body:
    return {f"{name}_{end}": band[end] for end in ("low", "typical", "high")}
