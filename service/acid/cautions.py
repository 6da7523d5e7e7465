"""Cautions for the bar before it makes an acid solution."""

from collections.abc import Sequence

from service.acid.composition import Basis, Mix, Product
from service.acid.limits import Solubility
from service.drink import caution_solubility
from service.errors import Names, Term
from service.limits.acids import CITRIC_TOLERANCE, FLAMMABLE_ABV, HYDROLYSED_PERCENT_WW, SURE_ABV
from service.notes import Notes
from service.science import acids
from service.science.band import Band
from service.science.units import Quantity
from service.site import Scale


def of_products(products: Sequence[Product], notes: Notes) -> None:
    """Tell the hazards by statement, how each product is kept, and of which acids nobody knows what water holds."""
    for code, statement in acids.HAZARD_STATEMENTS.items():
        those = [p for p in products if code in _codes(p)]
        if those:
            notes.caution(f"handling-{code.lower()}", statement.severity,
                          "{products}: {statement} ({hazard}, {hazard_class}). {what_to_do} The maker's safety data "
                          "sheet prevails.", at=tuple(f"{p.at}/form" for p in those),
                          products=Names(Term(acids.FORMS[p.form].said) for p in those),
                          statement=Term(statement.text), hazard=code, hazard_class=Term(statement.hazard_class),
                          what_to_do=Term(statement.what_to_do))  # fmt: skip
    for product in products:
        form = acids.FORMS[product.form]
        notes.caution("keeping-the-product", "info", "{product}: {storage}", at=f"{product.at}/form",
                      product=Term(form.said), storage=Term(form.storage))  # fmt: skip
    caution_solubility({product.at: product.acid for product in products}, notes)


def _codes(product: Product) -> set[str]:
    """Return the hazard statements of a product by code, without one that another says already."""
    codes = {hazard.code for hazard in acids.FORMS[product.form].hazards}
    return codes - {"H318"} if "H314" in codes else codes  # H314 says it already; Regulation (EC) 1272/2008 Article 27


def burns(mix: Mix) -> bool:
    """Tell whether a product of a mix burns skin or eyes, so that it goes into water and never the other way."""
    return any(_codes(product) & {"H314", "H318"} for product in mix.products)


def of_acids(mix: Mix, basis: Basis, notes: Notes) -> None:
    """Tell how the acids behave where their per cent does not show it."""
    present = {p.acid: p for p in mix.products}
    if "lactic" in present:
        _of_lactic(mix, present["lactic"], notes)
    if "phosphoric" in present:
        notes.caution("phosphoric-counts-two", "info",
                      "Phosphoric acid is counted with two protons; a titration to pH 8.2 finds 3 to 4 % less of it.",
                      at=present["phosphoric"].at)  # fmt: skip
    if "ascorbic" in present:
        notes.caution(
            "ascorbic-fades", "warning", "Make it fresh: ascorbic acid oxidises in solution.", at=present["ascorbic"].at
        )
    if basis != "ta":
        _compare_with_citric(mix, notes)


def _of_lactic(mix: Mix, lactic: Product, notes: Notes) -> None:
    """Tell that liquid lactic acid titrates low until its esters have turned into acid."""
    if not acids.FORMS[lactic.form].is_liquid:
        return
    percent = 100.0 * lactic.acid_g / (lactic.acid_g + mix.all_solvent_g)
    if percent > HYDROLYSED_PERCENT_WW:
        text = ("Dilute it and let it rest before you titrate: above {most} % w/w part of the lactic acid stays an "
                "ester, which titrates low.")  # fmt: skip
    else:
        text = ("Let the solution rest before you trust it, a day warm, longer cold (unverified). The label of liquid "
                "lactic acid counts its esters, which turn into acid only once diluted to {most} % w/w or less; until "
                "then it titrates low.")  # fmt: skip
    notes.caution("lactic-rests", "warning", text, at=f"{lactic.at}/form", most=HYDROLYSED_PERCENT_WW)


def _compare_with_citric(mix: Mix, notes: Notes) -> None:
    """Tell of acids that titrate unlike the same per cent of citric acid."""
    acid_g_per_l = 1000.0 * sum(mix.acid_g.values()) / mix.volume_ml
    as_citric = acids.as_g_per_l(mix.titratable_acidity_meq_per_l, "citric")
    if abs(as_citric / acid_g_per_l - 1.0) > CITRIC_TOLERANCE:
        notes.caution("equal-percent-is-not-equal-acid", "info",
                      "{acid} g/l of these acids titrates like {as_citric} g/l of citric acid: equal per cent is not "
                      "equal acidity. Ask for the basis ta to meet an acidity.",
                      at="/basis", acid=acid_g_per_l, as_citric=as_citric)  # fmt: skip


def of_solubility(found: Sequence[Solubility], coldest_c: float, notes: Notes) -> None:
    """Tell of acids that may drop crystals, and note saturations that are known for another temperature only."""
    for i, one in enumerate(found):
        if one.saturation_percent_ww is None or one.known_at_c is None:
            continue
        known_at = Quantity("temperature", one.known_at_c)
        if one.known_at_c != coldest_c:
            notes.assume("temperature that the saturation of {acid} acid is known for", known_at, "estimate",
                         "no value for the coldest storage; nothing is extrapolated",
                         at=f"/acids/{i}", acid=Term(one.acid))  # fmt: skip
        if not one.ok:
            notes.caution("near-saturation", "warning",
                          "Look for crystals in the cold: this is {percent} % w/w of {acid} acid, and at {temperature} "
                          "water holds {most} % w/w.",
                          at=f"/acids/{i}", acid=Term(one.acid), percent=one.percent_ww,
                          most=one.saturation_percent_ww, temperature=known_at)  # fmt: skip


def of_haze(potassium_mmol_per_kg: float, saturation: Band, notes: Notes) -> None:
    """Tell what the saturation with potassium hydrogen tartrate means."""
    notes.caution("tartrate-haze", "info" if saturation.high < 1.0 else "warning",
                  "Look for crystals of tartaric acid and potassium (of juice, wine, salts): they seed bubbles, and "
                  "a charged drink gushes. With {potassium} mmol/kg of potassium, in the cold, this is {low} to {high} "
                  "times saturated. Below 1 it stays clear, up to 2 it may, above 2 haze is likely. Alcohol brings it "
                  "sooner.",
                  at="/acids", potassium=potassium_mmol_per_kg, low=saturation.low,
                  high=saturation.high)  # fmt: skip


def of_spirit(abv: float, notes: Notes) -> None:
    """Tell what strong spirit does to the bench and to the acids."""
    if abv > FLAMMABLE_ABV:
        notes.caution("spirit-burns", "warning",
                      "No flame, no heat, moving air: spirit of {abv} %vol gives off vapour that burns.",
                      at="/solvent_abv", abv=abv)  # fmt: skip
    if abv > SURE_ABV:
        notes.caution("dissolves-less-in-spirit", "warning",
                      "Try a small batch in the cold first: in spirit over {most} %vol acids and their salts may "
                      "dissolve less than in water, and slowly form esters.",
                      at="/solvent_abv", most=SURE_ABV)  # fmt: skip


def of_scale(mass_g: float, smallest_g: float, scale: Scale, tolerance_percent: float, notes: Notes) -> None:
    """Tell of a batch that is too small or too heavy for the scale."""
    resolution = Quantity("mass", scale.resolution_g)
    if mass_g < smallest_g:
        notes.caution("scale-too-coarse", "warning",
                      "Make {smallest} or more: a scale of {resolution} cannot weigh {mass} of this to {tolerance} % "
                      "of its acidity.",
                      at=("/size", "/scale/resolution"), resolution=resolution, mass=Quantity("mass", mass_g),
                      tolerance=tolerance_percent,
                      smallest=Quantity("mass", smallest_g, shown="up"))  # fmt: skip
    if scale.capacity_g is not None and mass_g > scale.capacity_g:
        notes.caution("over-scale-capacity", "warning",
                      "Weigh in parts: {mass} is more than the scale holds, {capacity}.",
                      at=("/size", "/scale/capacity"), mass=Quantity("mass", mass_g),
                      capacity=Quantity("mass", scale.capacity_g))  # fmt: skip
