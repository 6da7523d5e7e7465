"""Other acids of equal titratable acidity, what pH each gives, and what equal does not mean."""

from dataclasses import dataclass

from service.acid import cautions
from service.acid.composition import (
    REFERENCE,
    Product,
    SolutionGiven,
    assume_products,
    products_of,
    pure_acid_g,
    scaled,
)
from service.acid.limits import least_that_works, possible
from service.acid.ph import ph_of_solution
from service.drink import AcidPart, Amount
from service.errors import Fact, Fault, Nearest, Refused
from service.limits.acids import ACID_DRINK_G_PER_L, ACID_WORK_C
from service.notes import Notes
from service.science import acids
from service.science.band import Band
from service.science.units import Quantity

_LITRE = Amount(Quantity("volume", 1000.0), "ml")
_HERE = {
    "/acids": "/acid",
    "/acids/0": "/acid",
    "/acids/0/form": "/form",
    "/acids/0/purity_percent": "/purity_percent",
}

Parts = tuple[AcidPart, ...]


@dataclass(frozen=True)
class EquivalentGiven:
    """What a bar has, and what it wants in its place: acids by share, or those of a reference liquid."""

    amount_g: float
    acid: str
    form: str | None = None
    purity_percent: float | None = None
    instead: Parts = ()
    like: str | None = None
    volume_ml: float | None = None
    temperature_c: float | None = None


@dataclass(frozen=True)
class Swap:
    """Acids of one titratable acidity, and the pH that they give in the volume; None where it is not known."""

    products: tuple[Product, ...]
    ph: Band | None


@dataclass(frozen=True)
class Equivalent:
    """The acids in place of one, at equal titratable acidity.

    alone: each of the acids instead, as if it were the only one; like: the reference liquid, where one was named
    """

    meq: float
    volume_ml: float
    before: Swap
    instead: Swap
    alone: tuple[Swap, ...]
    like: acids.Composition | None


def equivalent(given: EquivalentGiven, notes: Notes) -> Equivalent:
    """The mass of other acids that brings the titratable acidity of an amount of one.

    m_i = phi_i E / sum(phi_k n_k / M_k), E = m n / M; phi: share by mass

    returns: products by mass, and the pH of either, made up to one volume with water
    raises: Refused ("impossible-solution", "outside-validity") where the volume is too small, with one that is not
    """
    like = acids.COMPOSITIONS[given.like] if given.like is not None else None
    here = (AcidPart(given.acid, form=given.form, purity_percent=given.purity_percent),)
    others = given.instead if like is None else _parts_like(like, notes)
    meq = _acid_g(given) * acids.meq_per_g(given.acid)
    temperature_c, volume_ml = _temperature(given, notes), _volume(given, notes)
    _check_fits((here, others), meq, volume_ml, temperature_c)
    with notes.within(_HERE):
        before = _swap(here, meq, volume_ml, temperature_c, notes)
    with notes.within({"/acids": "/instead"} if like is None else _like(others)):
        instead = _swap(others, meq, volume_ml, temperature_c, notes)
    alone = tuple(_alone((other,), meq, volume_ml, temperature_c) for other in others)
    _caution(given, notes)
    return Equivalent(meq, volume_ml, before, instead, alone, like)


def _parts_like(like: acids.Composition, notes: Notes) -> Parts:
    for part in like.parts:
        notes.assume("{acid} acid of {like}, g/l", part.g_per_l.typical,
                     "published" if part.basis == "published" else "unverified", part.source,
                     at="/like", code="acid-like", acid=part.acid, like=like.name)  # fmt: skip
    return tuple(AcidPart(part.acid, share=part.g_per_l.typical) for part in like.parts)


def _acid_g(given: EquivalentGiven) -> float:
    return pure_acid_g(given.amount_g, given.acid, given.form, given.purity_percent)


def _temperature(given: EquivalentGiven, notes: Notes) -> float:
    if given.temperature_c is not None:
        return given.temperature_c
    notes.assume("temperature of the work", Quantity("temperature", ACID_WORK_C), "default", at="/temperature")
    return ACID_WORK_C


def _volume(given: EquivalentGiven, notes: Notes) -> float:
    if given.volume_ml is not None:
        return given.volume_ml
    volume_ml = 1000.0 * _acid_g(given) / ACID_DRINK_G_PER_L
    notes.assume("volume that either is made up to with water", Quantity("volume", volume_ml), "common-practice",
                 "10 g of the acid in a litre, about a drink; pH depends on it, the masses do not",
                 at="/volume")  # fmt: skip
    return volume_ml


def _asked(parts: Parts, meq: float, volume_ml: float) -> SolutionGiven:
    return SolutionGiven(parts, "ta", _LITRE, target_meq_per_l=1000.0 * meq / volume_ml)


def _check_fits(wanted: tuple[Parts, ...], meq: float, volume_ml: float, temperature_c: float) -> None:
    """Each of them can be made up to the volume, and dissolves.

    raises: Refused at /volume
    """
    refused = _refused(wanted, meq, volume_ml, temperature_c)
    if refused is None:
        return
    enough = _enough_ml(wanted, meq, volume_ml, temperature_c)
    text = refused.faults[0].text + " It can be made up to {enough} or more."
    fault = Fault("/volume", refused.faults[0].code, text, (*refused.faults[0].params, ("enough", enough)))
    raise Refused(refused.slug, [fault], facts=[*refused.facts, Fact("smallest_volume", enough)],
                  nearest=[Nearest("/volume", enough)])  # fmt: skip


def _refused(wanted: tuple[Parts, ...], meq: float, volume_ml: float, temperature_c: float) -> Refused | None:
    for parts in wanted:
        try:
            possible(_asked(parts, meq, volume_ml), ethanol_share=0.0, coldest_c=temperature_c)
        except Refused as refused:
            return refused
    return None


def _enough_ml(wanted: tuple[Parts, ...], meq: float, volume_ml: float, temperature_c: float) -> Quantity:
    """A volume that is large enough and not much more."""

    def works(tried_ml: float) -> bool:
        return _refused(wanted, meq, tried_ml, temperature_c) is None

    return Quantity("volume", least_that_works(volume_ml, works), shown="up")


def _swap(parts: Parts, meq: float, volume_ml: float, temperature_c: float, notes: Notes) -> Swap:
    asked = _asked(parts, meq, volume_ml)
    mix = possible(asked, ethanol_share=0.0, coldest_c=temperature_c).scaled(volume_ml / REFERENCE)
    assume_products(asked, mix.products, notes)
    cautions.of_products(mix.products, notes)
    cautions.of_acids(mix, "ta", notes)
    return Swap(mix.products, ph_of_solution(mix, temperature_c, notes))


def _alone(part: tuple[AcidPart], meq: float, volume_ml: float, temperature_c: float) -> Swap:
    """One acid by itself; where so much of it does not go into the volume, without a pH."""
    try:
        return _swap(part, meq, volume_ml, temperature_c, Notes())
    except Refused:
        return Swap(scaled(products_of(_asked(part, meq, volume_ml)), volume_ml / REFERENCE), None)


def _like(parts: Parts) -> dict[str, str | None]:
    """Pointers of a solution's acids, where a reference liquid names them: no field of the request gives their form."""
    acids_at = {pointer: "/like" for i in range(len(parts)) for pointer in ("/acids", f"/acids/{i}")}
    return acids_at | {f"/acids/{i}/{name}": None for i in range(len(parts)) for name in ("form", "purity_percent")}


def _caution(given: EquivalentGiven, notes: Notes) -> None:
    at = "/like" if given.like else "/instead"
    notes.caution("equal-acidity-is-not-equal-sourness", "info",
                  "Equal titratable acidity is not equal sourness: that hangs on pH, on the acid and on sugar, and is "
                  "not computed here. Taste before it replaces anything.",
                  at=at)  # fmt: skip
    if given.like:
        notes.caution("acids-alone-are-not-the-juice", "info",
                      "These are the acids of {like} only: without its potassium, which holds part of them and lifts "
                      "the pH, and without its sugar and aroma.",
                      at=at, like=given.like.replace("-", " "))  # fmt: skip
