"""pH of acid solutions, how sure it is, and what a titration counts."""

from collections.abc import Mapping
from dataclasses import dataclass
from math import log10

from service.science.acids.equilibrium import MAX_ACID_MOL_PER_KG, Equilibrium, balanced, held, pools_of
from service.science.acids.products import ACIDS
from service.science.acids.solvent import solvent
from service.science.band import Band, combine
from service.science.tables import value_at
from service.science.validity import OutsideValidity

TITRATION_DILUTION = 20.0
"""A sample is diluted about so much before it is titrated, e.g. 5 mL to 100 mL; common practice, no source."""
TITRATED_MOL_PER_L = 0.05
"""A sample stronger than this after that is diluted further, so that the activities of its ions are known."""

_MODEL_PH = 0.05  # printed readings carry one or two decimals, so nothing better can be shown
_SURE_MOL_PER_KG = 0.7  # strongest published reading compared: 100 g/L tartaric acid
_PH_PER_MOL_PER_KG = 0.1  # estimate: half the log activity coefficient of undissociated acid above that
_ETHANOL_PH = ((0.0, 0.0), (12.0, 0.09), (20.0, 0.30), (40.0, 0.50))
"""% vol and reach of pH from ethanol; estimate: pKa data end at 12 % vol, meters drift by their liquid junction."""

_END_POINTS, _MEASURED_PH = (6.0, 9.0), (1.0, 7.0)
_ROUNDS = 60


def ph(
    acid_mol_per_kg_water: Mapping[str, float],
    *,
    strong_cation_mol_per_kg: float = 0.0,
    temperature_c: float = 25.0,
    abv: float = 0.0,
    co2_mol_per_kg: float = 0.0,
) -> float:
    """pH by charge balance with Davies activity coefficients; no ion pairs, which would move the primary buffers off.

    m(H) - m(OH) + strong - sum_i c_i sum_j j alpha_ij = 0, pH = -log10 a(H)

    acid_mol_per_kg_water: by key of ACIDS [mol/kg water], 0 to 3 together
    strong_cation_mol_per_kg: K and Na less Cl and other strong anions [mol/kg water]
    temperature_c: [degC], 0 to 50
    abv: [% vol], 0 to 40
    co2_mol_per_kg: dissolved [mol/kg water]
    returns: pH; `ph_band` says how sure it is
    raises: OutsideValidity, also above an ionic strength of 0.5 mol/kg
    source: constants at each, see dissociation.py and solvent.py
    """
    amounts = dict(acid_mol_per_kg_water) | {"co2": co2_mol_per_kg}
    return _solution(amounts, strong_cation_mol_per_kg, temperature_c, abv).ph


def _solution(amounts: Mapping[str, float], strong: float, temperature_c: float, abv: float) -> Equilibrium:
    water = solvent(temperature_c, abv)
    return balanced(pools_of(amounts, temperature_c=temperature_c, abv=abv), strong, water)


def ph_band(
    acid_mol_per_kg_water: Mapping[str, float],
    *,
    strong_cation_mol_per_kg: float = 0.0,
    temperature_c: float = 25.0,
    abv: float = 0.0,
    co2_mol_per_kg: float = 0.0,
) -> Band:
    """pH with its reach: 0.05 at best, 0.3 at 20 % vol of ethanol and more above, more above 0.7 mol/kg of acid.

    Arguments and refusals as `ph`. It is the reach of the model: a composition that is not known well adds to it.
    """
    typical = ph(
        acid_mol_per_kg_water,
        strong_cation_mol_per_kg=strong_cation_mol_per_kg,
        temperature_c=temperature_c,
        abv=abv,
        co2_mol_per_kg=co2_mol_per_kg,
    )
    strength = max(0.0, sum(acid_mol_per_kg_water.values()) - _SURE_MOL_PER_KG)
    reaches = (_MODEL_PH, value_at(_ETHANOL_PH, abv), _PH_PER_MOL_PER_KG * strength)
    return combine(typical, ((typical - reach, typical + reach) for reach in reaches))


def titrated_fraction(
    acid: str,
    mol_per_kg_water: float,
    *,
    end_point_ph: float,
    dilution: float = TITRATION_DILUTION,
    temperature_c: float = 25.0,
) -> float:
    """Share of an acid's nominal protons that a titration to an end point counts: base used / (n c).

    acid: a key of ACIDS
    mol_per_kg_water: before dilution [mol/kg water], more than 0, to 3
    end_point_ph: 7 (OIV-MA-AS313-01) or 8.1 to 8.2 (juice); 6 to 9
    dilution: sample is diluted so many times before it is titrated
    temperature_c: [degC], 0 to 50
    returns: about 0.96 to 1.0 at pH 8.2, less at pH 7
    raises: OutsideValidity
    source: the charge balance of `ph` with the pH held
    """
    if not 0.0 < mol_per_kg_water <= MAX_ACID_MOL_PER_KG:
        raise OutsideValidity("acid", mol_per_kg_water, 0.0, MAX_ACID_MOL_PER_KG, "mol/kg water")
    sample = mol_per_kg_water / dilution
    base = _base_mol_per_kg({acid: sample}, end_point_ph, temperature_c)
    return base / (ACIDS[acid].protons * sample)


def _base_mol_per_kg(sample: Mapping[str, float], end_point_ph: float, temperature_c: float) -> float:
    """Strong base that holds a diluted sample at the end point [mol/kg water]."""
    low, high = _END_POINTS
    if not low <= end_point_ph <= high:
        raise OutsideValidity("end point", end_point_ph, low, high, "pH")
    pools = pools_of(sample, temperature_c=temperature_c, abv=0.0)
    return held(pools, end_point_ph, solvent(temperature_c, 0.0)).strong_cation_mol_per_kg


def titration_dilution(acid_mol_per_l: Mapping[str, float]) -> float:
    """Return how many times a sample is diluted before titration: 20, more where TITRATED_MOL_PER_L asks for it."""
    return max(TITRATION_DILUTION, sum(acid_mol_per_l.values()) / TITRATED_MOL_PER_L)


def titrated_meq_per_l(
    acid_mol_per_l: Mapping[str, float], *, end_point_ph: float, temperature_c: float = 25.0
) -> float:
    """Titratable acidity of a solution as a titration to an end point finds it, CO2 driven off.

    E = 1000 d (sum_i c_i/d nbar_i + m(OH) - m(H)), nbar: mean protons given off at the end point, d: dilution

    acid_mol_per_l: by key of ACIDS [mol/L]; so dilute a sample is, that mol/L is mol/kg of water and ethanol is gone
    end_point_ph: 7 (OIV-MA-AS313-01) or 8.1 to 8.2 (juice); 6 to 9
    temperature_c: [degC], 0 to 50
    returns: [meq/L]
    raises: OutsideValidity
    source: the charge balance of `ph` with the pH held
    """
    dilution = titration_dilution(acid_mol_per_l)
    sample = {acid: c / dilution for acid, c in acid_mol_per_l.items()}
    return 1000.0 * dilution * _base_mol_per_kg(sample, end_point_ph, temperature_c)


@dataclass(frozen=True)
class Calibrated:
    """One acid and one strong cation that stand for a liquid: they give its measured acidity and pH."""

    acid_mol_per_kg_water: float
    strong_cation_mol_per_kg: float


def calibrated(
    acid: str, *, titratable_mol_per_kg: float, measured_ph: float, temperature_c: float = 25.0, abv: float = 0.0
) -> Calibrated:
    """Composition that stands for a juice or wine whose titratable acidity and pH were measured.

    titratable = n c - strong, and strong holds the measured pH

    acid: main acid, a key of ACIDS
    titratable_mol_per_kg: titratable protons [mol/kg water], more than 0
    measured_ph: 1 to 7
    temperature_c: of the pH reading [degC], 0 to 50; abv: [% vol], 0 to 40
    returns: both [mol/kg water]; a negative cation means the reading is more acid than the acid alone would be
    raises: OutsideValidity
    source: the charge balance of `ph`
    """
    low, high = _MEASURED_PH
    if not low <= measured_ph <= high:
        raise OutsideValidity("measured pH", measured_ph, low, high, "pH")
    protons, water = ACIDS[acid].protons, solvent(temperature_c, abv)
    if not 0.0 < titratable_mol_per_kg <= protons * MAX_ACID_MOL_PER_KG:
        raise OutsideValidity("titratable acidity", titratable_mol_per_kg, 0.0, protons * MAX_ACID_MOL_PER_KG, "mol/kg")
    amount = titratable_mol_per_kg / protons
    for _ in range(_ROUNDS):  # only the activity coefficients move between rounds
        (pool,) = pools_of({acid: amount}, temperature_c=temperature_c, abv=abv)
        state = held((pool,), measured_ph, water)
        free = titratable_mol_per_kg + water.kw / (state.h * state.gamma[1]) - state.h / state.gamma[1]
        if not free > 0.0:
            raise OutsideValidity("measured pH", measured_ph, -log10(titratable_mol_per_kg), high, "pH")
        before, amount = amount, free / (protons - pool.charge(state.h, state.gamma)[0])
        if abs(amount - before) <= 1e-9 * amount:
            return Calibrated(amount, protons * amount - titratable_mol_per_kg)
    raise ArithmeticError("calibration did not settle")
