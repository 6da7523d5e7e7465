"""Names of what the tables call by a key; no key stands on paper."""

from service.api.pages.paper import Paper, Shown
from service.api.pages.words import _
from service.drink import Amount
from service.drink.allergens import ALLERGEN_NAMES
from service.errors import Term
from service.science.acids import FORMS
from service.science.units import Quantity, from_base
from service.vessel import PRESETS, Vessel

ALLERGENS = {
    "gluten": _("cereals containing gluten"),
    "crustaceans": _("crustaceans"),
    "eggs": _("eggs"),
    "fish": _("fish"),
    "peanuts": _("peanuts"),
    "soybeans": _("soybeans"),
    "milk": _("milk"),
    "nuts": _("tree nuts"),
    "celery": _("celery"),
    "mustard": _("mustard"),
    "sesame": _("sesame"),
    "sulphites": _("sulphur dioxide and sulphites"),
    "lupin": _("lupin"),
    "molluscs": _("molluscs"),
}
"""Groups of Regulation (EU) No 1169/2011, Annex II."""
COLD_PLACES = {
    "still-freezer": _("Freezer"),
    "fan-freezer": _("Freezer with a fan"),
    "fridge": _("Fridge"),
    "walk-in": _("Walk-in"),
    "ice-water": _("Ice and water"),
    "stirred-ice-water": _("Ice and water, stirred"),
    "salted-ice": _("Salted ice"),
}
"""Where vessels chill, and stand until they are served."""
_VESSELS = {
    ("pet", "bottle"): _("{size} PET bottle"),
    ("steel", "bottle"): _("{size} steel bottle"),
    ("steel", "keg"): _("{size} steel keg"),
    ("aluminium", "bottle"): _("{size} aluminium bottle"),
    ("aluminium", "keg"): _("{size} aluminium keg"),
    ("glass", "bottle"): _("{size} glass bottle"),
}
_LITRE_ML = 1000.0
_WHOLE_FROM_L = 10.0
"""From here on kegs are called by whole litres."""


def product(form: str, paper: Paper) -> str:
    """Return the name of a product that an acid is sold as."""
    return paper.show(Term(FORMS[form].said))


def allergen(code: str, paper: Paper) -> str:
    """Return the name of an allergen."""
    return paper.say(ALLERGENS.get(code, ALLERGEN_NAMES[code]))


def cold_place(name: str, paper: Paper) -> str:
    """Return what people call a cold place. name: its kind, with /1, /2 where the house has several alike"""
    kind, _of, number = name.partition("/")
    called = paper.say(COLD_PLACES[kind])
    return paper.say("{place} {number}", place=called, number=number) if number else called


def package(content: Amount, paper: Paper) -> Shown:
    """Return the size of a package, in the unit that it is bought in."""
    size = from_base(content.quantity.kind, content.quantity.value, content.unit)
    return Shown(paper.speech.short(size), content.unit)


def vessel(kind: Vessel, paper: Paper) -> str:
    """Return the name of a vessel by size and make; a common one by the size that it is sold as."""
    preset = PRESETS.get(kind.name)
    if preset is None:
        size = paper.show(Quantity("volume", kind.capacity_ml))
    elif preset.capacity_ml < _LITRE_ML:
        size = f"{preset.capacity_ml:.0f} ml"
    else:
        litres = preset.capacity_ml / _LITRE_ML
        size = f"{paper.speech.short(round(litres, 1) if litres < _WHOLE_FROM_L else round(litres))} l"
    return paper.say(_VESSELS[kind.material, kind.kind], size=size)
