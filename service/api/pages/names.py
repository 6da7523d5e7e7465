"""Names of what the tables call by a key; no key stands on paper."""

from service.api.pages.paper import Paper
from service.api.pages.words import _
from service.drink.allergens import ALLERGEN_NAMES
from service.science.units import Quantity
from service.vessel import PRESETS, Vessel

PRODUCTS = {
    "citric-anhydrous": _("citric acid, anhydrous"),
    "citric-monohydrate": _("citric acid monohydrate"),
    "malic": _("malic acid"),
    "tartaric": _("tartaric acid"),
    "lactic-pure": _("lactic acid, pure"),
    "lactic-80": _("lactic acid 80 %"),
    "lactic-85": _("lactic acid 85 %"),
    "lactic-88": _("lactic acid 88 %"),
    "acetic-glacial": _("acetic acid, glacial"),
    "vinegar-5": _("vinegar 5 %"),
    "phosphoric-75": _("phosphoric acid 75 %"),
    "phosphoric-85": _("phosphoric acid 85 %"),
    "ascorbic": _("ascorbic acid"),
    "succinic": _("succinic acid"),
}
"""Forms in which acids are sold."""
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
    return paper.say(PRODUCTS[form])


def allergen(code: str, paper: Paper) -> str:
    """Return the name of an allergen."""
    return paper.say(ALLERGENS.get(code, ALLERGEN_NAMES[code]))


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
