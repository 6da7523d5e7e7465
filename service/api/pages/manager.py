"""The manager's part of a prep sheet: what to buy and write down, what it costs, how sure the figures are."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from service.api.pages.names import package, product
from service.api.pages.paper import Paper
from service.api.pages.words import _
from service.api.speech import PLAIN, Speech
from service.notes import Assumption
from service.prep_sheet import PrepSheet, PrepSheetRequest
from service.science.acids import as_g_per_l
from service.science.band import Band
from service.science.units import Kind, Quantity


@dataclass(frozen=True)
class Record:
    """Something to write down, its limit and what to do beyond it."""

    point: str
    limit: str
    action: str


@dataclass(frozen=True)
class Bought:
    """A line of shopping."""

    name: str
    amount: str
    left_over: str = ""
    outlay: str = ""


@dataclass(frozen=True)
class Range:
    """An estimate: low, typical and high, with their unit."""

    name: str
    ends: tuple[str, str, str]
    unit: str = ""


@dataclass(frozen=True)
class Assumed:
    """An assumption as a sentence, with its ground."""

    text: str
    basis: str
    source: str


@dataclass(frozen=True)
class Manager:
    """The manager's part."""

    records: tuple[Record, ...]
    shopping: tuple[Bought, ...]
    figures: tuple[tuple[str, str], ...]
    ranges: tuple[Range, ...]
    open: tuple[Assumed, ...]
    further: tuple[Assumed, ...]


def manager_of(asked: PrepSheetRequest, found: PrepSheet, assumed: Sequence[Assumption], paper: Paper) -> Manager:
    """Return the manager's part."""
    matter = [one for one in assumed if _matters(one)]
    return Manager(
        records=tuple(_records(found, paper)),
        shopping=tuple(_shopping(asked, found, paper)),
        figures=tuple(_figures(found, paper)),
        ranges=tuple(_ranges(found, paper)),
        open=tuple(_assumed(one, paper) for one in matter),
        further=tuple(_assumed(one, paper) for one in assumed if one not in matter),
    )


def _records(found: PrepSheet, paper: Paper) -> Iterator[Record]:
    use_by = found.batch.use_by
    for record in found.records:
        if record.code == "discard" and use_by is not None:
            limit = paper.moment(use_by)
        else:
            limit = paper.say("at most {limit}", limit=record.limit) if record.most else paper.show(record.limit)
        yield Record(paper.say(record.point), limit, paper.say(record.action))


def _shopping(asked: PrepSheetRequest, found: PrepSheet, paper: Paper) -> Iterator[Bought]:
    """Yield what must be in the house: packages in the unit that they are bought in, and the acids for solutions."""
    contents = {price.component: price.content for price in asked.prices}
    for line in found.batch.shopping:
        bought = line.bought
        if bought is not None:
            size = package(contents[line.component], paper)
            amount = paper.say("{count} × {package}", count=float(bought.packages), package=size)
            yield Bought(line.component, amount, paper.show(bought.left_over), paper.money(bought.outlay))
        elif line.supply.component.acid_solution is None:
            yield Bought(line.component, paper.show(line.amount))
    for named in found.acid_solutions:
        for weighed in named.solution.weigh:
            if weighed.form is not None:
                yield Bought(product(weighed.form, paper), paper.show(Quantity("mass", weighed.mass_g)))


def _figures(found: PrepSheet, paper: Paper) -> Iterator[tuple[str, str]]:
    batch, totals = found.batch, found.batch.totals
    if batch.cost is not None:
        yield paper.say("used for the batch"), paper.money(batch.cost.batch)
        yield paper.say("a serve"), paper.money(batch.cost.per_serve)
        yield paper.say("outlay, whole packages"), paper.money(batch.cost.outlay)
    volume, mass = Quantity("volume", totals.volume_ml), Quantity("mass", totals.mass_g)
    yield paper.say("batch"), f"{paper.show(volume)}, {paper.show(mass)}"
    abv = batch.label.abv
    stated = paper.say("not stated") if abv is None else f"{paper.speech.fixed(abv, 1)} %vol"
    yield paper.say("strength"), stated
    yield paper.say("sugar"), paper.show(Quantity("sugar", totals.sugar_g_per_l))
    acidity = as_g_per_l(totals.titratable_acidity_meq_per_l, "citric")
    yield paper.say("titratable acidity, as citric"), paper.show(Quantity("sugar", acidity))
    yield paper.say("alcohol in a serve"), paper.show(Quantity("mass", batch.per_serve.alcohol_g))
    yield paper.say("work of hands"), paper.clock(found.hands_on_s, up=True)


def _ranges(found: PrepSheet, paper: Paper) -> Iterator[Range]:
    regas = found.regas
    yield from _of_the_charges(found, paper)
    yield _range(paper.say("chilling"), "duration", found.chilling.time_s, paper)
    yield _range(paper.say("CO₂ for the batch"), "mass", found.gas.co2_used_g, paper)
    for named in found.acid_solutions:
        if named.solution.ph is not None:
            yield Range(
                paper.say("pH of {component}", component=named.component), ends(named.solution.ph, paper.speech)
            )
    if regas is not None:
        yield _range(paper.say("CO₂ in the first glass"), "co2", regas.pours[0].glass, paper)
        yield _range(paper.say("CO₂ in the last glass"), "co2", regas.pours[-1].glass, paper)
        if regas.regas_after is not None:
            yield Range(paper.say("re-gas a bottle after, pours"), ends(regas.regas_after.pours, paper.speech))
            yield Range(paper.say("re-gas a bottle after, minutes"), ends(regas.regas_after.minutes, paper.speech))


def _of_the_charges(found: PrepSheet, paper: Paper) -> Iterator[Range]:
    charges = found.carbonation.charges
    for point in found.carbonation.set_points.points:
        if point.gauge_pressure_bar is not None:
            at = Quantity("temperature", point.temperature_c)
            yield _range(paper.say("dial at {at}", at=at), "pressure", point.gauge_pressure_bar, paper)
    if charges.days_to_target is not None:
        yield Range(paper.say("days on the gas"), ends(charges.days_to_target, paper.speech))
    if not charges.planned.connected:
        for charge in charges.charges:
            name = paper.say("CO₂ after round {round}", round=float(charge.number))
            yield _range(name, "co2", charge.co2_g_per_l, paper)
    yield _range(paper.say("closed, at rest, cold"), "pressure", charges.closed.gauge_pressure_bar, paper)
    if charges.closed.warm_room is not None:
        room = charges.closed.warm_room
        name = paper.say("closed, in the warmest room, {at}", at=Quantity("temperature", room.temperature_c))
        yield _range(name, "pressure", room.gauge_pressure_bar, paper)


def _range(name: str, kind: Kind, band: Band, paper: Paper) -> Range:
    """Return a band in the caller's unit; durations in minutes."""
    if kind == "duration":
        minutes = Band(band.low / 60.0, band.typical / 60.0, band.high / 60.0)
        return Range(name, ends(minutes, paper.speech, digits=2), "min")
    low, typical, high = (
        paper.figure(Quantity(kind, end), weighed=True) for end in (band.low, band.typical, band.high)
    )
    return Range(name, (low.number, typical.number, high.number), typical.unit)


def ends(band: Band, speech: Speech = PLAIN, *, digits: int = 3) -> tuple[str, str, str]:
    """Return low, typical and high to so many digits, with as many decimals as each other."""
    plain = [f"{float(f'{end:.{digits}g}'):g}" for end in (band.low, band.typical, band.high)]
    decimals = max(len(end.partition(".")[2]) for end in plain)
    low, typical, high = (speech.fixed(float(end), decimals) for end in plain)
    return low, typical, high


_OF_THE_PLAN = ("/vessel", "/fill", "/size", "/site", "/carbonation", "/chill", "/shift")
"""What moves the dial, a limit or the timetable."""


def _matters(one: Assumption) -> bool:
    """Tell whether the request left it open, and the dial, a limit or the timetable hangs on it."""
    in_the_plan = any(pointer.startswith(_OF_THE_PLAN) for pointer in one.pointers)
    of_the_vessel = any(pointer.startswith("/vessel") for pointer in one.pointers)
    return in_the_plan and (of_the_vessel or one.basis in ("default", "common-practice"))


def _assumed(one: Assumption, paper: Paper) -> Assumed:
    text = paper.filled(paper.speech.say(one.text), one.params)
    return Assumed(text, paper.say(_BASES[one.basis]), paper.say(one.source) if one.source else "")


_BASES = {
    "published": _("published"),
    "library": _("general library"),
    "common-practice": _("common practice"),
    "estimate": _("estimate"),
    "unverified": _("not verified"),
    "default": _("default of the service"),
}
