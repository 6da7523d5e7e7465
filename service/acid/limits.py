"""How strong a solution can be: room for water, what is known of its volume, and what dissolves in the cold."""

from collections.abc import Callable
from dataclasses import dataclass, replace

from service.acid.composition import REFERENCE, Mix, SolutionGiven, compose, products_of
from service.errors import Fact, Fault, Nearest, OutsideValidity, Refused
from service.limits.acids import SURE_WHEN_COLDER, TRACE_PERCENT
from service.science import acids
from service.science.rounding import three_digits_down, three_digits_up
from service.science.units import Quantity

_ROUNDS = 40


@dataclass(frozen=True)
class Solubility:
    """One acid beside all the solvent, without the other acids.

    saturation_percent_ww, known_at_c: None for an acid that mixes with water at any strength
    ok: it surely stays dissolved
    """

    acid: str
    percent_ww: float
    saturation_percent_ww: float | None
    known_at_c: float | None
    ok: bool

    @property
    def over(self) -> bool:
        return self.saturation_percent_ww is not None and self.percent_ww > self.saturation_percent_ww


def solubilities(mix: Mix, coldest_c: float) -> tuple[Solubility, ...]:
    """Each acid's strength against its saturation at the coldest storage [degC]."""
    solvent_g = mix.all_solvent_g
    return tuple(_solubility(acid, 100.0 * g / (g + solvent_g), coldest_c) for acid, g in mix.acid_g.items())


def _solubility(acid: str, percent: float, coldest_c: float) -> Solubility:
    saturation, known_at_c = _saturation(acid, coldest_c)
    if saturation is None:
        return Solubility(acid, percent, None, None, ok=True)
    share = acids.NEAR_SATURATION if known_at_c <= coldest_c else SURE_WHEN_COLDER
    return Solubility(acid, percent, saturation, known_at_c, ok=percent <= share * saturation)


def _saturation(acid: str, coldest_c: float) -> tuple[float | None, float]:
    """Saturation [% w/w] and the temperature it is known for: the coldest storage, or the table's end next to it."""
    try:
        return acids.solubility_percent_ww(acid, coldest_c), coldest_c
    except OutsideValidity as outside:
        end_c = outside.low if coldest_c < outside.low else outside.high
        return acids.solubility_percent_ww(acid, end_c), end_c


def mixed(given: SolutionGiven, *, ethanol_share: float, coldest_c: float) -> Mix:
    """The reference amount of the solution.

    raises: Refused ("impossible-solution", "outside-validity") with the strongest that works
    """

    def attempt(asked: SolutionGiven) -> Mix:
        return possible(asked, ethanol_share=ethanol_share, coldest_c=coldest_c)

    try:
        return attempt(given)
    except Refused as refused:
        strongest = _strongest(given, attempt)
        raise _with_reach(refused, given, strongest) from None


def _with_reach(refused: Refused, given: SolutionGiven, strongest: SolutionGiven | None) -> Refused:
    """The refusal with the reachable range: up to the strongest that works."""
    if strongest is None:
        return refused
    if strongest.target_meq_per_l is not None:
        target = Quantity("acidity", strongest.target_meq_per_l)
        most: Quantity | str = target
        facts, nearest = [Fact("most_titratable_acidity", target)], [Nearest("/target", target)]
    else:
        percents = [(part.acid, part.percent or 0.0) for part in strongest.acids]
        most = ", ".join(f"{percent:g} % {acid}" for acid, percent in percents) + f" {given.basis}"
        facts = [Fact(f"most_{acid}_percent", percent) for acid, percent in percents]
        nearest = [Nearest(f"/acids/{i}/percent", percent) for i, (_, percent) in enumerate(percents)]
    first, *rest = refused.faults
    told = replace(first, text=first.text + " Up to {reach} can be made.", params=(*first.params, ("reach", most)))
    return Refused(refused.slug, [told, *rest], facts=[*refused.facts, *facts], nearest=nearest)


def possible(given: SolutionGiven, *, ethanol_share: float, coldest_c: float) -> Mix:
    """The reference amount of the solution, where it can be made and stays dissolved.

    raises: Refused ("impossible-solution", "outside-validity") without what would work
    """
    whole = "/target" if given.basis == "ta" else "/acids"
    products = products_of(given)
    acid_percent = 100.0 * sum(p.acid_g for p in products) / REFERENCE
    if given.basis == "w/w" and acid_percent >= 100.0:
        fault = Fault(whole, "no-room-for-water", "The acids leave no room for water.")
        raise Refused("impossible-solution", [fault], facts=[Fact("acids_percent", acid_percent)])
    try:
        mix = compose(products, basis=given.basis, ethanol_share=ethanol_share)
        _check_water(mix, whole)
        _ = mix.volume_ml
    except OutsideValidity as outside:
        text = "The volume of so strong a solution is not known here: {why}."
        fault = Fault(whole, "too-strong", text, (("why", str(outside)),))
        facts = [Fact("percent_ww", outside.value), Fact("most_percent_ww", outside.high)]
        raise Refused("outside-validity", [fault], facts=facts) from None
    _check_dissolves(mix, given, coldest_c)
    return mix


def _check_water(mix: Mix, at: str) -> None:
    """Products may bring all the water there is, not more."""
    if mix.solvent_g >= -1e-9 * mix.mass_g:
        return
    text = "The products as sold bring more water than the solution holds; a stronger or drier form has room."
    brought_g, room_g = mix.all_solvent_g - mix.solvent_g, mix.all_solvent_g
    raise Refused("impossible-solution", [Fault(at, "products-bring-too-much-water", text)],
                  facts=[Fact("water_brought_percent_of_room", 100.0 * brought_g / room_g)])  # fmt: skip


def _check_dissolves(mix: Mix, given: SolutionGiven, coldest_c: float) -> None:
    over = [(i, s) for i, s in enumerate(solubilities(mix, coldest_c)) if s.over]
    if not over:
        return
    text = "{acid} acid at {percent} % w/w is over its saturation in water, {most} % w/w at {temperature}."
    faults, facts = [], []
    for i, s in over:
        most, known_at = s.saturation_percent_ww or 0.0, Quantity("temperature", s.known_at_c or 0.0)
        params = (("acid", s.acid.capitalize()), ("percent", s.percent_ww), ("most", most), ("temperature", known_at))
        faults.append(
            Fault("/target" if given.basis == "ta" else f"/acids/{i}/percent", "over-saturation", text, params)
        )
        facts.append(Fact(f"{s.acid}_saturation_percent_ww", most))
    raise Refused("impossible-solution", faults, facts=facts)


def least_that_works(too_little: float, works: Callable[[float], bool]) -> float:
    """An amount that is large enough and not much more, by doubling, then halving; three digits, upward.

    too_little: over 0
    """
    low, high = too_little, 2.0 * too_little
    while not works(high):
        low, high = high, 2.0 * high
    for _ in range(_ROUNDS):
        middle = 0.5 * (low + high)
        low, high = (low, middle) if works(middle) else (middle, high)
    return three_digits_up(high)


def _strongest(given: SolutionGiven, attempt: Callable[[SolutionGiven], Mix]) -> SolutionGiven | None:
    """The request at the largest share of its strength that is possible, by halving; None where no share is."""
    low, high, strongest = 0.0, 1.0, None
    for _ in range(_ROUNDS):
        middle = 0.5 * (low + high)
        asked = _weakened(given, middle)
        try:
            attempt(asked)
        except Refused:
            high = middle
        else:
            low, strongest = middle, asked
    return strongest


def _weakened(given: SolutionGiven, share: float) -> SolutionGiven:
    """The request at a share of its strength; traces stay as they are."""
    if given.target_meq_per_l is not None:
        return replace(given, target_meq_per_l=three_digits_down(given.target_meq_per_l * share))
    parts = tuple(
        part
        if (part.percent or 0.0) < TRACE_PERCENT
        else replace(part, percent=three_digits_down((part.percent or 0.0) * share))
        for part in given.acids
    )
    return replace(given, acids=parts)
