"""The tasks of an evening, from the steps that the prep sheets of its drinks have."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from math import ceil

from service.evening.asked import Jugs, ServicePlanRequest
from service.evening.lots import Lot, Standing
from service.evening.prepared import Prepared
from service.limits.evening import SET_UP_S
from service.notes import Notes, Value
from service.prep_sheet import PLACES, Station, Step, Steps, StepValue, mixing_steps, tap_steps, vessel_steps
from service.prep_sheet.step import StepCaution
from service.science.acids import FORMS
from service.science.units import Quantity


@dataclass(frozen=True)
class Use:
    """So much of a resource: people, regulators, vessels and jugs by count, a cold place in ml."""

    kind: str
    name: str
    amount: int


ONE_PERSON = Use("crew", "crew", 1)
ONE_REGULATOR = Use("regulator", "regulator", 1)
ON_THE_REGULATOR = ("set-regulator", "charge", "rest", "close-cylinder", "leave-on-gas")
"""Codes of steps for which a regulator stays set to the dial of one drink: one begins as soon as the other ends."""
IN_THE_COLD = ("chill-batch", *ON_THE_REGULATOR, "cold-rest", "gauge-at-rest", "check-each")
AFTER_SEALING = ("fill-vessels", "take-air-out", "weigh-capped", *IN_THE_COLD, "label-vessels")
CHECKS = ("gauge-at-rest", "check-each")
BUY, SET_UP = "buy", "set-up"


@dataclass(frozen=True)
class Task:
    """One thing to do, or to wait for.

    lasts_s: at least; a wait goes on until what comes after it begins
    hands_on_s: a person's time, all of it or none
    after: ids of what must have ended before
    glued: it begins when the task before it in the list ends
    """

    id: str
    station: Station
    code: str
    text: str
    lasts_s: int
    hands_on_s: int
    uses: tuple[Use, ...] = ()
    after: tuple[str, ...] = ()
    params: Mapping[str, Value] = field(default_factory=dict)
    values: tuple[StepValue, ...] = ()
    cautions: tuple[StepCaution, ...] = ()
    drink: Prepared | None = None
    glued: bool = False

    @property
    def waits(self) -> bool:
        """Tell whether nobody has a hand in it."""
        return not self.hands_on_s


@dataclass(frozen=True)
class Held:
    """A thing that a lot or a batch takes from the begin of one task to the end of another, None to the service.

    after: id of the task from whose end on it only stands there, until it is served
    at: ids of the tasks that have a batch's jug in hand; it stands in it between them
    """

    use: Use
    since: str
    until: str | None
    after: str | None
    drink: Prepared
    at: tuple[str, ...] = ()

    @property
    def waits(self) -> int:
        """Return how many waits come of it at the most: until it is served, or between those who have it in hand."""
        return int(self.after is not None) + max(0, len(self.at) - 1)


@dataclass(frozen=True)
class Work:
    """Everything to do, and what is done the day before."""

    tasks: tuple[Task, ...]
    ahead: tuple[Task, ...]
    held: tuple[Held, ...]


def work_of(asked: ServicePlanRequest, drinks: Sequence[Prepared], standing: Standing, known: "Known") -> Work:
    """Return all tasks of the evening, and what is done the day before.

    known: the tasks of a drink in the same lots, which are written once and kept there
    """
    tasks: list[Task] = []
    ahead: list[Task] = []
    held: list[Held] = []
    for one in drinks:
        if one.parts is None:
            continue
        written = _known_or_written(one, [lot for lot in standing.lots if lot.drink.index == one.index], known)
        before = written.before()
        for task in written.tasks:
            (ahead if task.id in before else tasks).append(task)
        if not one.asked.made_ahead:
            held += written.held()
            held += _in_jugs(asked.jugs, one, written)
    jugs = {at: one.use for one in held if one.use.kind == "jug" for at in one.at}
    tasks = [replace(one, uses=(*one.uses, jugs[one.id])) if one.id in jugs else one for one in tasks]
    gone = {one.id for one in ahead}
    tasks = [replace(one, after=tuple(i for i in one.after if i not in gone)) for one in tasks]
    return Work((*_of_the_house(bool(tasks)), *tasks), tuple(ahead), tuple(held))


def _of_the_house(buys: bool) -> Iterator[Task]:  # noqa: FBT001 - said where it is called
    """Yield what is done once for all drinks: buy, where anything is made, and set up the bar."""
    if buys:
        text = "Have everything in the house; the shopping list says what."
        yield Task(BUY, "manager", "buy-for-evening", text, 300, 300, (ONE_PERSON,))
    seconds = round(SET_UP_S)
    text = "Set up the bar: ice, garnish, glasses, tools."
    yield Task(SET_UP, "bar", "set-up-bar", text, seconds, seconds, (ONE_PERSON,))


@dataclass
class _Written:
    """The steps of one drink as its sheet has them, written out as tasks.

    mixed: id of the task that mixes the batch; filled, chilled, checked: ids of those of each lot
    """

    drink: Prepared
    lots: Sequence[Lot]
    tasks: list[Task] = field(default_factory=list)
    ends: dict[int, str] = field(default_factory=dict)
    mixed: str = ""
    filled: list[str] = field(default_factory=list)
    chilled: list[str] = field(default_factory=list)
    checked: list[str] = field(default_factory=list)

    def before(self) -> set[str]:
        """Return the ids of what is done the day before: all of it, or what settles or rests, with what that needs.

        A keg goes on its line tonight, whenever it was made.
        """
        if self.drink.asked.made_ahead:
            return {one.id for one in self.tasks if one.code not in _AT_THE_TAP}
        found: set[str] = set()
        for one in reversed(self.tasks):
            if one.code in _THE_DAY_BEFORE or one.id in found or _holds_lactic(self.drink, one):
                found |= {one.id, *one.after} - {BUY}
        return found

    def held(self) -> Iterator[Held]:
        """Yield the cold places that the lots hold."""
        for lot, since, check in zip(self.lots, self.chilled, self.checked, strict=True):
            chilled, kept = (Use("cold", place.name, lot.volume_ml) for place in (lot.chilled_in, lot.kept_in))
            if lot.stays:
                yield Held(chilled, since, None, check, self.drink)
            else:
                yield Held(chilled, since, check, None, self.drink)
                yield Held(kept, check, None, check, self.drink)


Known = dict[object, _Written]
"""The tasks of drinks that are written already, by the drink and its lots."""
_AT_THE_TAP = ("connect-line", "time-pour")
_THE_DAY_BEFORE = ("settle-stock", "filter-stock", "check-clear")


def _holds_lactic(drink: Prepared, task: Task) -> bool:
    """Tell whether a task makes a solution of liquid lactic acid, which rests for a day before it is trusted."""
    if task.code != "make-acid-solution":
        return False
    (named,) = (one for one in drink.solutions if one.component == task.params["component"])
    return any(part.acid == "lactic" and FORMS[part.form].is_liquid for part in named.solution.mix.products)


def _known_or_written(drink: Prepared, lots: Sequence[Lot], known: "Known") -> _Written:
    """Return the tasks of a drink, from what is known where it was in the same lots."""
    in_lots = tuple((lot.count, lot.chilled_in.name, lot.kept_in.name) for lot in lots)
    key = (drink.index, drink.count, drink.second, drink.asked.made_ahead, in_lots)
    if key not in known:
        known[key] = _written(drink, lots)
    return known[key]


def _written(drink: Prepared, lots: Sequence[Lot]) -> _Written:
    found = _Written(drink, lots)
    steps, mixed = Steps(), 0
    if drink.to_mix is not None:
        mixed = mixing_steps(replace(drink.to_chill, batch=drink.to_mix, solutions=drink.solutions), steps)
    _write(found, steps.done, None)
    found.mixed = found.ends.get(mixed, "")
    none: list[Lot | None] = [None]
    labelled = []
    for lot in lots or none:
        done = len(steps.done)
        labelled.append(vessel_steps(drink.to_chill if lot is None else lot.parts, steps, mixed))
        _write(found, steps.done[done:], lot)
    done = len(steps.done)
    tap_steps(drink.to_chill, steps, labelled[0])  # one keg is on the line when the service starts
    _write(found, steps.done[done:], None)
    return found


def filled_again(drink: Prepared, lot: Lot) -> tuple[Task, ...]:
    """Return the tasks of vessels that are filled a second time, from the batch that is mixed already."""
    found, steps = _Written(drink, [lot]), Steps()
    vessel_steps(lot.parts, steps, 0)
    _write(found, steps.done, lot)
    return tuple(replace(one, id=f"{one.id}s", after=tuple(f"{i}s" for i in one.after)) for one in found.tasks)


def _write(found: _Written, steps: Sequence[Step], lot: Lot | None) -> None:
    """Write steps out as tasks: the hands-on part of each, and what is left of it to wait for."""
    for step in steps:
        if step.code == "buy":
            found.ends[step.number] = BUY
            continue
        name = f"{found.drink.letter}{step.number}"
        first = _task(found, step, name, lot)
        parts = [first, *_wait(first, step, lot)]
        if step.code == "cold-rest":  # the last charge put them there
            parts = [replace(first, hands_on_s=0, lasts_s=ceil(step.lasts_s), uses=_without_hands(first.uses))]
        found.tasks += parts
        found.ends[step.number] = parts[-1].id
        if step.code == "fill-vessels":
            found.filled.append(name)
            found.chilled.append(name)  # what is cold already goes into its place at once
        if step.code == "chill-batch":
            found.chilled[-1] = name
        if step.code in CHECKS or (step.code == "label-vessels" and len(found.checked) < len(found.chilled)):
            found.checked.append(name)


def _task(found: _Written, step: Step, name: str, lot: Lot | None) -> Task:
    """Return the hands-on part of a step, or all of it where no hand is in it."""
    hands_on_s = ceil(step.hands_on_s)
    after = tuple(dict.fromkeys(found.ends[number] for number in step.depends_on if number in found.ends))
    last = found.tasks[-1].id if found.tasks else ""
    count = found.drink.count if lot is None else lot.count
    params: dict[str, Value] = (
        {**step.params, "vessels": float(count)} if step.code in AFTER_SEALING else dict(step.params)
    )
    return Task(
        name, step.station, step.code, step.text, hands_on_s or ceil(step.lasts_s), hands_on_s,
        tuple(_uses(step, hands_on_s, found.drink, lot)), after, params,
        tuple(one for one in step.values if one.code != "ice-to-fetch"), step.cautions, found.drink,
        glued=step.code in (*ON_THE_REGULATOR[1:], "cold-rest") and after == (last,),
    )  # fmt: skip


def _uses(step: Step, hands_on_s: int, drink: Prepared, lot: Lot | None) -> Iterator[Use]:
    if hands_on_s:
        yield ONE_PERSON
    if step.code in ON_THE_REGULATOR or any(one.code == "purge-at" for one in step.values):
        yield ONE_REGULATOR
    if lot is not None and step.code in IN_THE_COLD:
        yield Use("cold", lot.chilled_in.name, lot.volume_ml)
    if lot is not None and step.code in AFTER_SEALING:
        yield Use("vessel", drink.vessel.name, lot.count)


def _without_hands(uses: Sequence[Use]) -> tuple[Use, ...]:
    return tuple(one for one in uses if one.kind != "crew")


WAITS = {"chill-batch": "chills", "leave-on-gas": "takes-up-gas"}
"""What is left to wait for once the hands are off a step."""
_WAITING = {"chills": "Chills in {place}.", "takes-up-gas": "Takes up its gas, connected, cold and upright."}


def _wait(first: Task, step: Step, lot: Lot | None) -> Iterator[Task]:
    """Yield what is left of a step to wait for."""
    left_s = ceil(step.lasts_s) - first.hands_on_s
    if left_s <= 0 or not first.hands_on_s or step.code not in WAITS:
        return
    code = WAITS[step.code]
    params = dict(step.params) | ({"place": PLACES[lot.chilled_in.kind]} if lot is not None else {})
    yield Task(
        f"{first.id}w", first.station, code, _WAITING[code], left_s, 0, _without_hands(first.uses), (first.id,), params,
        drink=first.drink, glued=True,
    )  # fmt: skip


def _in_jugs(jugs: Sequence[Jugs], drink: Prepared, written: _Written) -> Iterator[Held]:
    """Yield the jugs that a batch stands in until all of it is filled, into the service for a second filling."""
    if jugs and written.mixed and written.filled and drink.to_mix is not None:
        jug, needed = _jugs_for(jugs, drink.to_mix.volume_ml)
        use = Use("jug", jug_name(jug), min(needed, jug.count))
        until, after = (written.filled[-1], None) if not drink.second else (None, written.filled[-1])
        yield Held(use, written.mixed, until, after, drink, (written.mixed, *written.filled))


def _jugs_for(jugs: Sequence[Jugs], volume_ml: float) -> tuple[Jugs, int]:
    """Return the smallest jug that holds a batch, or the largest there is, and how many of it the batch fills."""
    fitting = sorted((one for one in jugs if one.volume_ml >= volume_ml), key=lambda one: one.volume_ml)
    jug = fitting[0] if fitting else max(jugs, key=lambda one: one.volume_ml)
    return jug, ceil(volume_ml / jug.volume_ml * (1.0 - 1e-9))


def caution_jugs(jugs: Sequence[Jugs], drinks: Sequence[Prepared], notes: Notes) -> None:
    """Warn of batches that are more than the jugs take."""
    for one in drinks:
        if not jugs or one.to_mix is None:
            continue
        jug, needed = _jugs_for(jugs, one.to_mix.volume_ml)
        if needed > jug.count:
            text = "The batch of {volume} is more than the jugs of {jug} take at once: mix and fill it in turns."
            notes.caution("mixed-in-turns", "warning", text, at=("/jugs", f"/drinks/{one.index}"),
                          volume=Quantity("volume", one.to_mix.volume_ml),
                          jug=Quantity("volume", jug.volume_ml))  # fmt: skip


def jug_name(jug: Jugs) -> str:
    """Return the name of a size of jugs."""
    return f"{jug.volume_ml / 1000.0:g} l"
