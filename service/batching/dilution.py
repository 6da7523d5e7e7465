"""The water that replaces the melt of ice, so that the drink is as long as a stirred one; and the serve after melt."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import floor
from typing import Annotated, Any, Literal

from service.declared import SUGAR, VOLUME, Declared, mass, number, shape
from service.drink import DILUTION_WATER, Amount, Component, Drink, Portion, Spec, Sugar
from service.errors import Fact, Fault, Nearest, Refusals, Refused
from service.limits.batches import LEAST_ABV, MOST_OF_FINISHED
from service.notes import Notes
from service.science import mixture
from service.science.mixture import Masses
from service.science.units import Quantity

_AS_STATED = 1.0 + 1e-9  # so that a strength may be asked for as an answer states it


def one_way(sent: Mapping[str, Any]) -> Iterator[Fault]:
    """Find half of a percentage and what it is of, and either beside a strength."""
    stated = {"percent", "of"} & sent.keys()
    for name in ("percent", "of"):
        if "to_abv" in sent and name in stated:
            yield Fault(f"/{name}", "not-needed", "It does not go with to_abv.")
        elif "to_abv" not in sent and name not in stated:
            yield Fault(f"/{name}", "required", "Give percent and of, or to_abv.")


def almost_all_water(sent: Mapping[str, Any]) -> Iterator[Fault]:
    """Find a finished drink that would be almost nothing but added water."""
    percent = sent.get("percent")
    if sent.get("of") == "finished" and isinstance(percent, int | float) and percent > MOST_OF_FINISHED:
        text = "At most {most} % of the finished drink is water."
        yield Fault("/percent", "out-of-range", text, (("most", float(MOST_OF_FINISHED)),))


@shape(rules=[one_way, almost_all_water])
@dataclass(frozen=True)
class Dilution:
    """Water in place of ice melt: a percentage by volume with what it is of, or the strength to reach."""

    percent: Annotated[float | None, number(low=0.0, high=1000.0)] = None
    of: Annotated[
        Literal["finished", "undiluted"] | None,
        "Stated with percent: 25 % of the finished drink is 33 % of the undiluted.",
    ] = None
    to_abv: Annotated[float | None, number(low=LEAST_ABV, high=100.0)] = None


def dilution_water(
    glass: Sequence[Portion], dilution: Dilution | None, notes: Notes, refusals: Refusals
) -> tuple[Portion, ...]:
    """Return the water to one glass: one portion, or none.

    refusals: gathers a strength that water cannot reach; the water is then that of the strength offered instead
    """
    if dilution is None:
        notes.assume("dilution water", "none beside what the spec holds", "default", at="/dilution")
        return ()
    with refusals.gather():
        _check_name(glass)
    water_g = _water_g(mixture.together([(p.masses, 1.0) for p in glass]), dilution, refusals)
    if water_g == 0.0:
        return ()
    masses = Masses(water_g=water_g)
    volume_ml = mixture.volume_ml(masses)
    amount = Amount(Quantity("volume", volume_ml), "ml")
    component = Component(DILUTION_WATER, amount, abv=0.0, sugar=Sugar(0.0, "g/l"), allergens=())
    return (Portion(component, volume_ml, masses),)


def _check_name(glass: Sequence[Portion]) -> None:
    for i, portion in enumerate(glass):
        if portion.component.name == DILUTION_WATER:
            at, text = f"/spec/components/{i}/name", "Call it something else: the answer adds a component of this name."
            raise Refused("impossible-batch", [Fault(at, "duplicate", text)],
                          nearest=[Nearest(at, f"{DILUTION_WATER} of the spec")])  # fmt: skip


def _water_g(masses: Masses, dilution: Dilution, refusals: Refusals) -> float:
    if dilution.to_abv is not None:
        return _water_to_abv_g(masses, dilution.to_abv, refusals)
    share = (dilution.percent or 0.0) / 100.0
    if dilution.of == "undiluted":
        return share * mixture.volume_ml(masses) / mixture.volume_ml(Masses(water_g=1.0))
    return water_of_finished_g(masses, share)


def water_of_finished_g(masses: Masses, share: float) -> float:
    """Return the water that is a share of the finished volume, contraction included.

    W v = s V(masses + W), solved for W; v is the volume of a gram of water

    share: s by volume [-], 0 to 0.95
    returns: W [g]
    """
    ml_per_g = mixture.volume_ml(Masses(water_g=1.0))
    W = share * mixture.volume_ml(masses) / (1.0 - share) / ml_per_g
    for _ in range(60):  # contraction bends it little: five rounds are usual
        step = (share * mixture.volume_ml(masses + Masses(water_g=W)) / ml_per_g - W) / (1.0 - share)
        W += step
        if abs(step) <= 1e-13 * W:
            break
    return W


def _water_to_abv_g(masses: Masses, to_abv: float, refusals: Refusals) -> float:
    present = mixture.abv(masses)
    weaker = floor(100.0 * present) / 100.0
    with refusals.gather():
        _check_strength(to_abv, present, weaker)
    if to_abv <= present * _AS_STATED:
        return mixture.water_to_reach_abv_g(masses, min(to_abv, present))
    return mixture.water_to_reach_abv_g(masses, weaker) if weaker >= LEAST_ABV else 0.0


def _check_strength(to_abv: float, present: float, weaker: float) -> None:
    if to_abv <= present * _AS_STATED:
        return
    nearest = (Nearest("/dilution/to_abv", weaker) if weaker >= LEAST_ABV
               else Nearest("/dilution", {"percent": 0.0, "of": "undiluted"}))  # fmt: skip
    text = "Ask for less: water does not strengthen a drink, and undiluted it has {present} %vol."
    fault = Fault("/dilution/to_abv", "stronger-than-undiluted", text, (("present", float(present)),))
    raise Refused("impossible-batch", [fault], facts=[Fact("undiluted_abv", present)], nearest=[nearest])


def ice_of_the_melt(sent: Mapping[str, Any]) -> Iterator[Fault]:
    """Find a melt of ice whose mass is not stated, and a mass of ice that does not count."""
    if sent.get("of") == "ice" and "ice" not in sent:
        yield Fault("/ice", "required", "State the mass of the ice, or another basis.")
    if sent.get("of") in ("finished", "poured") and "ice" in sent:
        yield Fault("/ice", "not-needed", "It goes with of: ice only.")


@shape(rules=[ice_of_the_melt, almost_all_water])
@dataclass(frozen=True)
class Melt:
    """The share of the ice, or the water of it, that melts before the glass is empty."""

    percent: Annotated[float, number(low=0.0, high=100.0)]
    of: Annotated[
        Literal["finished", "poured", "ice"],
        "By volume of the glass after the melt or of the drink poured; or by mass of the ice.",
    ]
    ice_g: Annotated[float | None, mass(high=5000.0), "Of the ice; stated with of: ice."] = None


@dataclass(frozen=True)
class InGlass:
    """One serve with the water in it that the stated melt gives; sugar is what its sweetness goes by."""

    volume_ml: Annotated[float, VOLUME]
    abv: Declared[float]
    sugar_g_per_l: Annotated[float, SUGAR]
    melt_ml: Annotated[float, VOLUME]


def in_glass(serve: Drink, melt: Melt, dilution: Dilution | None, notes: Notes) -> InGlass:
    """Return the serve once the melt is in it, contraction included, at 20 degC."""
    water = Masses(water_g=_melt_g(serve.masses, melt))
    masses = serve.masses + water
    melt_ml = mixture.volume_ml(water) if water.water_g else 0.0
    found = InGlass(mixture.volume_ml(masses), mixture.abv(masses), mixture.sugar_g_per_l(masses), melt_ml)
    if dilution is not None and water.water_g:
        notes.caution("diluted-twice", "warning",
                      "Serve it without ice, or batch it with less water: the batch holds water in place of melt, "
                      "and ice makes {in_glass} %vol of {poured} %vol.",
                      at=("/melt", "/dilution"), poured=serve.abv, in_glass=found.abv)  # fmt: skip
    return found


def _melt_g(masses: Masses, melt: Melt) -> float:
    share = melt.percent / 100.0
    if melt.of == "ice":
        return share * (melt.ice_g or 0.0)
    if melt.of == "finished":
        return water_of_finished_g(masses, share)
    return share * mixture.volume_ml(masses) / mixture.volume_ml(Masses(water_g=1.0))


def caution_ice(spec: Spec, dilution: Dilution | None, melt: Melt | None, notes: Notes) -> None:
    """Note that a batch is diluted already where its serve speaks of ice and no melt is stated."""
    if dilution is not None and melt is None and spec.serve.ice is not None:
        notes.caution("ice-on-diluted", "info",
                      "State the melt to see what becomes of "
                      "it in the glass: the batch holds water "
                      "in place of melt, and the serve says "
                      "of ice: {ice}.", at="/spec/serve/ice", ice=spec.serve.ice)  # fmt: skip
