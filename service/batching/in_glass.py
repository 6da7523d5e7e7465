"""The serve after some ice has melted into it."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Annotated, Any, Literal

from service.batching.dilution import Dilution, almost_all_water, water_of_finished_g
from service.declared import SUGAR, VOLUME, Declared, mass, number, shape
from service.drink import Drink, Spec
from service.errors import Fault
from service.notes import Notes
from service.science import mixture
from service.science.mixture import Masses


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
