"""Components that are water, and those that count as water because nobody stated their strength."""

from collections.abc import Iterator, Sequence

from service.drink.portion import Portion
from service.drink.spec import Component, Composition
from service.notes import Notes

WATER_BY_NAME = frozenset(
    (
        "water", "still water", "cold water", "iced water", "ice water", "hot water", "tap water", "filtered water",
        "mineral water", "still mineral water", "spring water", "distilled water", "purified water",
        "soda water", "soda", "club soda", "seltzer", "sparkling water", "sparkling mineral water", "carbonated water",
        "agua", "agua fría", "agua filtrada", "agua mineral", "agua sin gas", "agua con gas", "agua de soda",
        "eau", "eau froide", "eau filtrée", "eau minérale", "eau plate", "eau gazeuse", "eau pétillante",
        "eau de seltz", "wasser", "kaltes wasser", "leitungswasser", "mineralwasser", "stilles wasser", "sodawasser",
        "sprudel", "sprudelwasser",
    )
)  # fmt: skip
"""Names that bars write for plain water, whole and in lower case; common practice, no source. None of them holds
alcohol anywhere."""
COUNTS_AS_WATER = (
    "No strength is stated of {components}: it counts as holding no alcohol, like water. State abv in %vol, 0 where it "
    "holds none, or a reference; until then strength, pressure and freezing point may be wrong."
)
_STRENGTH_FIELDS = ("abv", "reference", "acid_solution", "syrup", "made_from")
"""Fields any of which tells how much alcohol a component holds."""
_CONTENTS = ("sugar", "acidity_meq_per_l", "salt_g_per_l", "density_g_per_ml", "ph")


def is_water_by_name(component: Component) -> bool:
    """Tell whether a component is plain water by its name, and says nothing else of its contents."""
    silent = all(getattr(component, field) is None for field in (*_STRENGTH_FIELDS, *_CONTENTS))
    return silent and " ".join(component.name.casefold().split()) in WATER_BY_NAME


def states_no_strength(component: Component) -> bool:
    """Tell whether nobody said how much alcohol a component holds."""
    return all(getattr(component, field) is None for field in _STRENGTH_FIELDS) and not is_water_by_name(component)


def is_plain_water(portion: Portion) -> bool:
    """Tell whether a portion is known to be water, with or without salts: by its name, reference or own analysis.

    One that merely states no strength or no sugar is not.
    """
    component, masses = portion.component, portion.masses
    if portion.made_of:
        return all(is_plain_water(part) for part in portion.made_of)
    known = is_water_by_name(component) or (component.abv is not None and component.sugar is not None)
    clean = component.clarity in (None, "clear") and not component.foams and not component.live_culture
    return known and clean and masses.total_g == masses.water_g + masses.salt_g and portion.acid_meq == 0.0


def is_water_by_analysis(known: Composition) -> bool:
    """Tell whether a drink without a spec is water, with or without salts."""
    clean = known.clarity in (None, "clear") and not known.foams and not known.live_culture
    return clean and known.abv == 0.0 and known.sugar.value == 0.0 and not known.acidity_meq_per_l


def without_strength(parts: Sequence[Portion], at: str = "") -> Iterator[tuple[str, str]]:
    """Yield JSON Pointer and name of each component whose strength nobody stated, down to what they are made from.

    at: JSON Pointer of the spec
    """
    for i, part in enumerate(parts):
        here = f"{at}/components/{i}"
        if part.made_of:
            yield from without_strength(part.made_of, f"{here}/made_from")
        elif states_no_strength(part.component):
            yield f"{here}/abv", part.component.name


def caution_counts_as_water(parts: Sequence[Portion], notes: Notes, at: str) -> None:
    """Add the one caution about all components whose strength nobody stated.

    at: JSON Pointer of the spec in the request
    """
    about = dict(without_strength(parts, at))
    if about:
        notes.caution_for_all("counts-as-water", "warning", COUNTS_AS_WATER, about)
