"""The serve after some ice has melted into it."""

from dataclasses import dataclass
from typing import Literal

from service.batching.dilution import Dilution, water_of_finished_g
from service.drink import Drink, Spec
from service.notes import Notes
from service.science import mixture
from service.science.mixture import Masses


@dataclass(frozen=True)
class Melt:
    """How much ice melts: by volume of the finished glass or of the drink poured, or by mass of the ice itself."""

    percent: float
    of: Literal["finished", "poured", "ice"]
    ice_g: float | None = None


@dataclass(frozen=True)
class InGlass:
    """One serve with the water that its ice has given; sugar in g/l is what its sweetness goes by."""

    volume_ml: float
    abv: float
    sugar_g_per_l: float
    melt_ml: float


def in_glass(serve: Drink, melt: Melt, dilution: Dilution | None, notes: Notes) -> InGlass:
    """The serve once the melt is in it, contraction included, at 20 degC."""
    water = Masses(water_g=_melt_g(serve.masses, melt))
    masses = serve.masses + water
    melt_ml = mixture.volume_ml(water) if water.water_g else 0.0
    found = InGlass(mixture.volume_ml(masses), mixture.abv(masses), mixture.sugar_g_per_l(masses), melt_ml)
    if dilution is not None and water.water_g:
        notes.caution("diluted-twice", "warning",
                      "The batch holds water in place of melt, and the ice gives more: {poured} %vol as poured becomes "
                      "{in_glass} %vol. Serve it without ice, or batch it with less water.",
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
    """A batch that is diluted already, and a serve that speaks of ice."""
    if dilution is not None and melt is None and spec.serve.ice is not None:
        notes.caution("ice-on-diluted", "info",
                      "The batch holds water in place of melt, and the serve says of ice: {ice}. State the melt to see "
                      "what becomes of it in the glass.", at="/spec/serve/ice", ice=spec.serve.ice)  # fmt: skip
