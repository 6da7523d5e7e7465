"""Limits to the strength of a solution: room for water, what is known of its volume, and what dissolves in the cold."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Annotated

from service.acid.composition import NAME, REFERENCE, Mix, Strength, compose, products_of
from service.declared import TEMPERATURE, Declared, shape
from service.errors import Fact, Fault, Names, Nearest, Refused, SentenceValue, Term, params_of, within_validity
from service.limits.acids import SURE_WHEN_COLDER, TRACE_PERCENT
from service.science import acids
from service.science.rounding import three_digits_down, three_digits_up
from service.science.units import Quantity
from service.science.validity import OutsideValidity

_ROUNDS = 40


@shape("AcidSolubility")
@dataclass(frozen=True)
class Solubility:
    """One acid beside all the water, without the other acids. ok: it surely stays dissolved at the coldest storage.

    saturation_percent_ww, known_at_c: None for an acid that mixes with water at any strength, or where it is not known
    """

    acid: Annotated[str, NAME]
    percent_ww: Declared[float]
    saturation_percent_ww: Declared[float | None]
    known_at_c: Annotated[float | None, TEMPERATURE]
    ok: Declared[bool]

    @property
    def miscible(self) -> Declared[bool]:
        return acids.ACIDS[self.acid].is_miscible

    @property
    def over(self) -> bool:
        return self.saturation_percent_ww is not None and self.percent_ww > self.saturation_percent_ww


def solubilities(mix: Mix, coldest_c: float) -> tuple[Solubility, ...]:
    """Return each acid's strength against its saturation at the coldest storage [degC]."""
    solvent_g = mix.all_solvent_g
    return tuple(_solubility(acid, 100.0 * g / (g + solvent_g), coldest_c) for acid, g in mix.acid_g.items())


def _solubility(acid: str, percent: float, coldest_c: float) -> Solubility:
    """Return how near an acid of that strength [% w/w] is to its saturation."""
    saturation, known_at_c = _saturation(acid, coldest_c)
    if saturation is None:
        return Solubility(acid, percent, None, None, ok=acids.ACIDS[acid].is_miscible)
    share = acids.NEAR_SATURATION if known_at_c <= coldest_c else SURE_WHEN_COLDER
    return Solubility(acid, percent, saturation, known_at_c, ok=percent <= share * saturation)


def _saturation(acid: str, coldest_c: float) -> tuple[float | None, float]:
    """Return a saturation [% w/w] and its temperature: the coldest storage, or the table's end next to it."""
    try:
        return acids.solubility_percent_ww(acid, coldest_c), coldest_c
    except OutsideValidity as outside:
        end_c = outside.low if coldest_c < outside.low else outside.high
        return acids.solubility_percent_ww(acid, end_c), end_c


def mixed(wanted: Strength, *, ethanol_share: float, coldest_c: float) -> Mix:
    """Return the reference amount of the solution.

    raises: Refused ("impossible-solution", "outside-validity") with the strongest that works
    """

    def attempt(weaker: Strength) -> Mix:
        return possible(weaker, ethanol_share=ethanol_share, coldest_c=coldest_c)

    try:
        return attempt(wanted)
    except Refused as refused:
        strongest = _strongest(wanted, attempt)
        raise _with_reach(refused, wanted, strongest) from None


def _with_reach(refused: Refused, wanted: Strength, strongest: Strength | None) -> Refused:
    """Return the refusal with the reachable range: up to the strongest that works."""
    if strongest is None:
        return refused
    if strongest.target_meq_per_l is not None:
        target = Quantity("acidity", strongest.target_meq_per_l)
        most: SentenceValue = target
        facts, nearest = [Fact("most_titratable_acidity", target)], [Nearest("/target", target)]
    else:
        percents = [(part.acid, part.percent or 0.0) for part in strongest.acids]
        each = [Term("{percent} % {acid}", percent=percent, acid=Term(acid)) for acid, percent in percents]
        most = Term("{acids} {basis}", acids=Names(each), basis=str(wanted.basis))
        facts = [Fact(f"most_{acid}_percent", percent) for acid, percent in percents]
        nearest = [Nearest(f"/acids/{i}/percent", percent) for i, (_, percent) in enumerate(percents)]
    first, *rest = refused.faults
    told = Fault(first.pointer, first.code, _UP_TO[first.code], (*first.params, ("reach", most)))
    return Refused(refused.slug, [told, *rest], facts=[*refused.facts, *facts], nearest=nearest)


_UP_TO = {
    "no-room-for-water": "The acids leave no room for water. Up to {reach} can be made.",
    "too-strong": (
        "Nothing tells the volume of so strong a solution: {what} {value} is outside {low} to {high}. Up to {reach} "
        "can be made."
    ),
    "products-bring-too-much-water": (
        "Take a stronger or drier form: these products bring more water than the solution holds. Up to {reach} can be "
        "made."
    ),
    "over-saturation": (
        "{percent} % w/w of {acid} acid does not stay dissolved: water holds {most} % w/w at {temperature}. Up to "
        "{reach} can be made."
    ),
}
"""Sentences about a solution that cannot be, with the strongest that can, by code."""


def possible(wanted: Strength, *, ethanol_share: float, coldest_c: float) -> Mix:
    """Return the reference amount of the solution, where it can be made and stays dissolved.

    raises: Refused ("impossible-solution", "outside-validity") without what would work
    """
    whole = "/target" if wanted.basis == "ta" else "/acids"
    products = products_of(wanted)
    acid_percent = 100.0 * sum(p.acid_g for p in products) / REFERENCE
    if wanted.basis == "w/w" and acid_percent >= 100.0:
        fault = Fault(whole, "no-room-for-water", "The acids leave no room for water.")
        raise Refused("impossible-solution", [fault], facts=[Fact("acids_percent", acid_percent)])
    with within_validity(whole, _too_strong):
        mix = compose(products, basis=wanted.basis, ethanol_share=ethanol_share)
        _check_water(mix, whole)
        _ = mix.volume_ml
    _check_dissolves(mix, wanted, coldest_c)
    return mix


def _too_strong(outside: OutsideValidity, at: str) -> Refused:
    """Return the refusal of a solution whose volume no source tells."""
    text = "Nothing tells the volume of so strong a solution: {what} {value} is outside {low} to {high}."
    fault = Fault(at, "too-strong", text, tuple(params_of(outside).items()))
    facts = [Fact("percent_ww", outside.value), Fact("most_percent_ww", outside.high)]
    return Refused("outside-validity", [fault], facts=facts)


def _check_water(mix: Mix, at: str) -> None:
    """Refuse products that bring more water than there is; they may bring all of it.

    raises: Refused ("impossible-solution")
    """
    if mix.solvent_g >= -1e-9 * mix.mass_g:
        return
    text = "Take a stronger or drier form: these products bring more water than the solution holds."
    brought_g, room_g = mix.all_solvent_g - mix.solvent_g, mix.all_solvent_g
    raise Refused("impossible-solution", [Fault(at, "products-bring-too-much-water", text)],
                  facts=[Fact("water_brought_percent_of_room", 100.0 * brought_g / room_g)])  # fmt: skip


def _check_dissolves(mix: Mix, wanted: Strength, coldest_c: float) -> None:
    """Refuse acids that are over their saturation.

    raises: Refused ("impossible-solution")
    """
    over = [(i, s) for i, s in enumerate(solubilities(mix, coldest_c)) if s.over]
    if not over:
        return
    text = "{percent} % w/w of {acid} acid does not stay dissolved: water holds {most} % w/w at {temperature}."
    faults, facts = [], []
    for i, s in over:
        most, known_at = s.saturation_percent_ww or 0.0, Quantity("temperature", s.known_at_c or 0.0)
        params = (("acid", Term(s.acid)), ("percent", s.percent_ww), ("most", most), ("temperature", known_at))
        faults.append(
            Fault("/target" if wanted.basis == "ta" else f"/acids/{i}/percent", "over-saturation", text, params)
        )
        facts.append(Fact(f"{s.acid}_saturation_percent_ww", most))
    raise Refused("impossible-solution", faults, facts=facts)


def least_that_works(too_little: float, works: Callable[[float], bool]) -> float:
    """Return an amount that is large enough and not much more, by doubling, then halving; three digits, upward.

    too_little: over 0
    """
    low, high = too_little, 2.0 * too_little
    while not works(high):
        low, high = high, 2.0 * high
    for _ in range(_ROUNDS):
        middle = 0.5 * (low + high)
        low, high = (low, middle) if works(middle) else (middle, high)
    return three_digits_up(high)


def _strongest(wanted: Strength, attempt: Callable[[Strength], Mix]) -> Strength | None:
    """Return the largest share of a strength that is possible, by halving; None where no share is."""
    low, high, strongest = 0.0, 1.0, None
    for _ in range(_ROUNDS):
        middle = 0.5 * (low + high)
        weaker = _weakened(wanted, middle)
        try:
            attempt(weaker)
        except Refused:
            high = middle
        else:
            low, strongest = middle, weaker
    return strongest


def _weakened(wanted: Strength, share: float) -> Strength:
    """Return a share of a strength; traces stay as they are."""
    if wanted.target_meq_per_l is not None:
        return replace(wanted, target_meq_per_l=three_digits_down(wanted.target_meq_per_l * share))
    parts = tuple(
        part
        if (part.percent or 0.0) < TRACE_PERCENT
        else replace(part, percent=three_digits_down((part.percent or 0.0) * share))
        for part in wanted.acids
    )
    return replace(wanted, acids=parts)
