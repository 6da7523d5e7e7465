"""POST /v1/acid-solutions, /v1/acid-adjustments, /v1/acid-equivalents and /v1/acid-doses."""

from service import acid
from service.api.endpoint import Operation

SOLUTIONS = Operation(
    path="/v1/acid-solutions",
    operation_id="createAcidSolution",
    tag="acid",
    summary="Weigh an acid solution.",
    description=(
        "Grams of each product as sold and of water, in working order, for a strength or an acidity, or the other "
        "way round: a recipe as weighed, told by what it is, and weighed in another size. With strength w/w, volume, "
        "pH, titrations to pH 8.2 and 7, solubility in the cold, tartrate haze, the error of the scale, how long it "
        "keeps, and how to handle the products. Volumes are at 20 °C."
    ),
    request=acid.AcidSolutionRequest,
    answer=acid.Solution,
    view=acid.make_solution,
)

ADJUSTMENTS = Operation(
    path="/v1/acid-adjustments",
    operation_id="createAcidAdjustment",
    tag="acid",
    summary="Bring a juice, wine or batch to an acidity.",
    description=(
        "What to add to a liquid of known or titrated acidity to reach a target: an acid solution, dry acids, water, "
        "or potassium bicarbonate to go down. The balance is exact and counts the volume that is added; new volume, "
        "strength and sugar follow. The hazards of the products in hand come as cautions, by GHS statement; "
        "bicarbonate sets CO2 free and is never stirred into a closed vessel. A target out of reach is refused with "
        "the range. Volumes are at 20 °C; acidities go to pH 8.2."
    ),
    request=acid.AcidAdjustmentRequest,
    answer=acid.Adjustment,
    view=acid.adjust,
)

EQUIVALENTS = Operation(
    path="/v1/acid-equivalents",
    operation_id="createAcidEquivalents",
    tag="acid",
    summary="Swap an acid for others of equal titratable acidity.",
    description=(
        "Grams of other acids, or of the acids of lemon, lime, grapefruit or sparkling wine, that bring the "
        "titratable acidity of an amount of one acid, and the pH of each in the same volume of water. Equal "
        "titratable acidity is not equal sourness."
    ),
    request=acid.AcidEquivalentsRequest,
    answer=acid.Equivalent,
    view=acid.equivalent,
)

DOSES = Operation(
    path="/v1/acid-doses",
    operation_id="createAcidDose",
    tag="acid",
    summary="What a dose of acid solution does to a drink.",
    description=(
        "Titratable acidity, pH, strength and sugar of a serve with a dose, or the dose for an acidity wanted. The "
        "pH comes from the acid solutions in the drink, from components that state acidity and pH, or from a "
        "measured pair of both; that of juice or wine known by its acidity alone is not guessed: it is left out, and "
        "a caution says what to measure. Its band holds what alcohol does. The hazards of the products in hand come "
        "as cautions, by GHS statement. Volumes are at 20 °C; acidities go to pH 8.2."
    ),
    request=acid.AcidDoseRequest,
    answer=acid.Dose,
    view=acid.dose,
)

OPERATIONS = (SOLUTIONS, ADJUSTMENTS, EQUIVALENTS, DOSES)
