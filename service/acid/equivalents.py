"""Other acids of equal titratable acidity, what pH each gives, and what equal does not mean."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Annotated, Any

from service.acid import cautions
from service.acid.composition import (
    NAME,
    REFERENCE,
    Product,
    Strength,
    assume_products,
    products_of,
    pure_acid_g,
    scaled,
)
from service.acid.limits import least_that_works, possible
from service.acid.ph import Ph, ph_of_solution
from service.acid.solution_request import Form, Purity
from service.declared import (
    ACIDITY,
    THREE_WAYS,
    VOLUME,
    WORDED,
    Declared,
    Inline,
    choice,
    items,
    mass,
    shape,
    temperature,
    text,
    volume,
)
from service.drink import AcidName, AcidPart, each_share, form_of_the_acid
from service.errors import Fact, Fault, Nearest, Refused, Term
from service.limits.acids import ACID_DRINK_G_PER_L, ACID_WORK_C
from service.limits.requests import MOST_ACIDS
from service.notes import Notes
from service.request import PlacedRequest
from service.science import acids
from service.science.band import Band
from service.science.units import Quantity

_POINTERS_HERE = {
    "/acids": "/acid",
    "/acids/0": "/acid",
    "/acids/0/form": "/form",
    "/acids/0/purity_percent": "/purity_percent",
}

Parts = tuple[AcidPart, ...]


def one_of_instead_and_like(sent: Mapping[str, Any]) -> Iterator[Fault]:
    """Find neither or both of acids instead and a liquid that they are like."""
    if ("instead" in sent) == ("like" in sent):
        yield Fault("/instead", "exactly-one", "Give exactly one of: instead, like.")


def shares_instead(sent: Mapping[str, Any]) -> Iterable[Fault]:
    """Find acids instead that stand twice, have a percent, or lack a share where there are several."""
    return each_share(sent.get("instead"), at="/instead")


@shape(rules=[form_of_the_acid, one_of_instead_and_like, shares_instead])
@dataclass(frozen=True, kw_only=True)
class AcidEquivalentsRequest(PlacedRequest):
    """An amount of one acid, and what is to take its place: acids by share, or those of a reference liquid."""

    amount_g: Annotated[float, mass(low=0.01, high=100_000.0), "Of the product as weighed."]
    acid: AcidName
    form: Form = None
    purity_percent: Purity = None
    instead: Annotated[tuple[AcidPart, ...], items(MOST_ACIDS), "Either this or like."] = ()
    like: Annotated[
        str | None,
        choice(acids.COMPOSITIONS),
        "The acids of this liquid, in its proportion; either this or instead.",
    ] = None
    volume_ml: Annotated[
        float | None,
        volume(low=1.0),
        "That either is made up to, for the pH; 10 g of acid a litre unless stated.",
    ] = None
    temperature_c: Annotated[
        float | None, temperature(low=0.0, high=40.0), "Where pH is measured; 20 °C unless stated."
    ] = None


@dataclass(frozen=True)
class EquivalentMass:
    """So much of a product."""

    product: Inline[Product]


@dataclass(frozen=True)
class EquivalentAlone(EquivalentMass):
    """One acid by itself, and the pH it gives in the volume."""

    ph: Ph


@dataclass(frozen=True)
class LikeAcid:
    """One acid of the reference liquid."""

    acid: Annotated[str, NAME]
    g_per_l: Declared[Band]
    source: Annotated[str, WORDED]
    basis: Annotated[str, text(100)]


@dataclass(frozen=True)
class Like:
    """The reference liquid whose acids were asked for. meq_per_l: all its acids, what cations hold of them included."""

    name: Annotated[str, NAME]
    acids: Declared[tuple[LikeAcid, ...]]
    meq_per_l: Declared[float]


@shape("AcidEquivalents")
@dataclass(frozen=True)
class Equivalent:
    """Acids of the same titratable acidity. before: as given; alone: each acid as if it were the only one."""

    use: Declared[tuple[EquivalentMass, ...]]
    meq: Declared[float]
    volume_ml: Annotated[float, VOLUME]
    ph: Ph
    before: Declared[EquivalentAlone]
    alone: Declared[tuple[EquivalentAlone, ...]]
    like: Declared[Like | None]

    @property
    def titratable_acidity_meq_per_l(self) -> Annotated[float, ACIDITY, THREE_WAYS]:
        return 1000.0 * self.meq / self.volume_ml


def equivalent(asked: AcidEquivalentsRequest, notes: Notes) -> Equivalent:
    """Return the mass of other acids that brings the titratable acidity of an amount of one.

    m_i = phi_i E / sum(phi_k n_k / M_k), E = m n / M; phi: share by mass

    returns: products by mass, and the pH of either, made up to one volume with water
    raises: Refused ("impossible-solution", "outside-validity") where the volume is too small, with one that is not
    """
    like = acids.COMPOSITIONS[asked.like] if asked.like is not None else None
    here = (AcidPart(asked.acid, form=asked.form, purity_percent=asked.purity_percent),)
    others = asked.instead if like is None else _parts_like(like, notes)
    meq = _acid_g(asked) * acids.meq_per_g(asked.acid)
    temperature_c, volume_ml = _temperature(asked, notes), _volume(asked, notes)
    _check_fits((here, others), meq, volume_ml, temperature_c)
    with notes.within(_POINTERS_HERE):
        (before,), before_ph = _made_up(here, meq, volume_ml, temperature_c, notes)
    with notes.within({"/acids": "/instead"} if like is None else _pointers_like(others)):
        products, ph = _made_up(others, meq, volume_ml, temperature_c, notes)
    _caution(asked, notes)
    return Equivalent(
        use=tuple(EquivalentMass(product) for product in products),
        meq=meq,
        volume_ml=volume_ml,
        ph=ph,
        before=EquivalentAlone(before, before_ph),
        alone=tuple(_alone(other, meq, volume_ml, temperature_c) for other in others),
        like=None if like is None else _like(like),
    )


def _like(like: acids.Composition) -> Like:
    """Return a reference liquid as an answer tells it."""
    parts = (LikeAcid(part.acid, part.g_per_l, part.source, part.basis) for part in like.parts)
    return Like(like.name, tuple(parts), like.meq_per_l)


def _parts_like(like: acids.Composition, notes: Notes) -> Parts:
    """Return the acids of a reference liquid, as parts of a blend."""
    for part in like.parts:
        notes.assume("{acid} acid of {like}, g/l", part.g_per_l.typical,
                     "published" if part.basis == "published" else "unverified", part.source,
                     at="/like", code="acid-like", acid=Term(part.acid), like=Term(like.name))  # fmt: skip
    return tuple(AcidPart(part.acid, share=part.g_per_l.typical) for part in like.parts)


def _acid_g(asked: AcidEquivalentsRequest) -> float:
    """Return the pure acid of which there is an amount [g]."""
    return pure_acid_g(asked.amount_g, asked.acid, asked.form, asked.purity_percent)


def _temperature(asked: AcidEquivalentsRequest, notes: Notes) -> float:
    if asked.temperature_c is not None:
        return asked.temperature_c
    notes.assume("temperature of the work", Quantity("temperature", ACID_WORK_C), "default", at="/temperature")
    return ACID_WORK_C


def _volume(asked: AcidEquivalentsRequest, notes: Notes) -> float:
    if asked.volume_ml is not None:
        return asked.volume_ml
    volume_ml = 1000.0 * _acid_g(asked) / ACID_DRINK_G_PER_L
    notes.assume("volume that either is made up to with water", Quantity("volume", volume_ml), "common-practice",
                 "10 g of the acid in a litre, about a drink; pH depends on it, the masses do not",
                 at="/volume")  # fmt: skip
    return volume_ml


def _strength(parts: Parts, meq: float, volume_ml: float) -> Strength:
    return Strength(parts, "ta", 1000.0 * meq / volume_ml)


def _check_fits(wanted: tuple[Parts, ...], meq: float, volume_ml: float, temperature_c: float) -> None:
    """Refuse a volume that one of them cannot be made up to, or does not dissolve in.

    raises: Refused at /volume
    """
    refused = _refused(wanted, meq, volume_ml, temperature_c)
    if refused is None:
        return
    enough = _enough_ml(wanted, meq, volume_ml, temperature_c)
    first = refused.faults[0]
    fault = Fault("/volume", first.code, _MADE_UP[first.code], (*first.params, ("enough", enough)))
    raise Refused(refused.slug, [fault], facts=[*refused.facts, Fact("smallest_volume", enough)],
                  nearest=[Nearest("/volume", enough)])  # fmt: skip


_MADE_UP = {
    "no-room-for-water": "Make it up to {enough} or more: the acids leave no room for water.",
    "too-strong": (
        "Make it up to {enough} or more: nothing tells the volume of so strong a solution, {what} {value} is outside "
        "{low} to {high}."
    ),
    "products-bring-too-much-water": (
        "Make it up to {enough} or more: the products bring more water than the solution holds."
    ),
    "over-saturation": (
        "Make it up to {enough} or more: {percent} % w/w of {acid} acid does not stay dissolved, water holds {most} % "
        "w/w at {temperature}."
    ),
}
"""Sentences about a volume that is too small, by code."""


def _refused(wanted: tuple[Parts, ...], meq: float, volume_ml: float, temperature_c: float) -> Refused | None:
    """Return the refusal of the first that cannot be made up to the volume, None where each can."""
    for parts in wanted:
        try:
            possible(_strength(parts, meq, volume_ml), ethanol_share=0.0, coldest_c=temperature_c)
        except Refused as refused:
            return refused
    return None


def _enough_ml(wanted: tuple[Parts, ...], meq: float, volume_ml: float, temperature_c: float) -> Quantity:
    """Return a volume that is large enough and not much more."""

    def works(tried_ml: float) -> bool:
        return _refused(wanted, meq, tried_ml, temperature_c) is None

    return Quantity("volume", least_that_works(volume_ml, works), shown="up")


def _made_up(
    parts: Parts, meq: float, volume_ml: float, temperature_c: float, notes: Notes
) -> tuple[tuple[Product, ...], Band | None]:
    """Return acids of that titratable acidity, made up to the volume: as products, and their pH."""
    strength = _strength(parts, meq, volume_ml)
    mix = possible(strength, ethanol_share=0.0, coldest_c=temperature_c).scaled(volume_ml / REFERENCE)
    assume_products(strength, mix.products, notes)
    cautions.of_products(mix.products, notes)
    cautions.of_acids(mix, "ta", notes)
    return mix.products, ph_of_solution(mix, temperature_c, notes)


def _alone(part: AcidPart, meq: float, volume_ml: float, temperature_c: float) -> EquivalentAlone:
    """Return one acid by itself; where so much of it does not go into the volume, without a pH."""
    try:
        (product,), ph = _made_up((part,), meq, volume_ml, temperature_c, Notes())
    except Refused:
        (product,), ph = scaled(products_of(_strength((part,), meq, volume_ml)), volume_ml / REFERENCE), None
    return EquivalentAlone(product, ph)


def _pointers_like(parts: Parts) -> dict[str, str | None]:
    """Return where pointers of a solution's acids stand that a reference liquid names; no field gives their form."""
    acids_at = {pointer: "/like" for i in range(len(parts)) for pointer in ("/acids", f"/acids/{i}")}
    return acids_at | {f"/acids/{i}/{name}": None for i in range(len(parts)) for name in ("form", "purity_percent")}


def _caution(asked: AcidEquivalentsRequest, notes: Notes) -> None:
    """Tell that equal acidity is not all that a taste hangs on."""
    at = "/like" if asked.like else "/instead"
    notes.caution("equal-acidity-is-not-equal-sourness", "info",
                  "Taste it before it replaces anything: equal titratable acidity is not equal sourness, which hangs "
                  "on pH, on the acid and on sugar.",
                  at=at)  # fmt: skip
    if asked.like:
        notes.caution("acids-alone-are-not-the-juice", "info",
                      "These are the acids of {like} only: without its potassium, which holds part of them and lifts "
                      "the pH, and without its sugar and aroma.",
                      at=at, like=asked.like.replace("-", " "))  # fmt: skip
