"""Doses of acid against hand arithmetic, PHREEQC, printed readings, and what cannot be otherwise."""

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from service.acid import AcidDoseRequest, Dose, MeasuredAcid, dose
from service.drink import AcidPart, AcidRecipe, Amount, Component, Composition, DrinkGiven, Spec, Sugar
from service.errors import Refused
from service.notes import Notes
from service.science import acids
from service.science.units import Quantity
from service.science.validity import OutsideValidity
from tests import phreeqc

CITRIC, TARTARIC, ACETIC = 192.123, 150.086, 60.052
"""g/mol from CIAAW abridged standard atomic weights 2021."""
WATER_20C = 0.9982  # g/mL, handbook
CITRIC_6 = AcidRecipe((AcidPart("citric", 6.0),), "w/v")
WINE = DrinkGiven(composition=Composition(12.0, Sugar(3.0, "g/l"), acidity_meq_per_l=80.0))


def solution(acid, percent, basis="w/w", **form):
    return AcidRecipe((AcidPart(acid, percent, **form),), basis)


def glass(*components):
    return DrinkGiven(spec=Spec("an invented glass", components))


def grams(name, mass_g, **more):
    return Component(name, Amount(Quantity("mass", mass_g), "g"), **more)


def dosed(drink, serve_ml=100.0, recipe=CITRIC_6, notes=None, **more) -> Dose:
    asked = AcidDoseRequest(drink=drink, serve_ml=serve_ml, solution=recipe, **more)
    return dose(asked, notes if notes is not None else Notes())


def codes(notes):
    return {caution.code for caution in notes.cautions}


# By hand


def test_a_dose_by_hand():
    # 100 ml of wine-like 80 meq/l with 10 ml of 6 % w/v citric acid, 937 meq/l: 17.37 meq in 110 ml
    found = dosed(WINE, dose_ml=10.0)
    citric = 3000.0 * 60.0 / CITRIC
    assert found.after.liquid.meq == pytest.approx(8.0 + 0.01 * citric, rel=1e-5)
    assert found.after.liquid.volume_ml == pytest.approx(110.0, rel=1e-3)  # alcohol and water contract by 0.04 %
    assert found.after.liquid.titratable_acidity_meq_per_l == pytest.approx((8.0 + 0.01 * citric) / 0.110, rel=1e-3)
    assert found.after.liquid.abv == pytest.approx(12.0 * 100.0 / 110.0, rel=1e-3)
    assert found.after.liquid.sugar_g_per_l == pytest.approx(3.0 * 100.0 / 110.0, rel=1e-3)
    solution_g_per_ml = 0.060 + WATER_20C * (1.0 - 0.060 * 114.5 / CITRIC)  # 114.5 ml/mol fits the CRC densities
    assert found.dose_mass_g == pytest.approx(10.0 * solution_g_per_ml, rel=1e-4)


def test_the_dose_for_an_acidity_by_hand():
    # V (t - a)/(s - t): 100 ml x 20 / (936.9 - 100)
    found = dosed(WINE, target_meq_per_l=100.0)
    assert found.dose_ml == pytest.approx(100.0 * 20.0 / (3000.0 * 60.0 / CITRIC - 100.0), rel=2e-3)  # contraction
    assert found.after.liquid.titratable_acidity_meq_per_l == pytest.approx(100.0, rel=1e-12)


# Against PHREEQC


@pytest.mark.parametrize("own, added", [("citric", "tartaric"), ("tartaric", "acetic"), ("acetic", "citric")])
@pytest.mark.parametrize("own_percent, added_percent, dose_ml", [(0.5, 5.0, 5.0), (1.0, 10.0, 20.0), (3.0, 2.0, 50.0)])
def test_ph_of_a_dosed_solution_matches_phreeqc(own, added, own_percent, added_percent, dose_ml):
    # PHREEQC with minteq.v4 constants; tolerance 0.02, what the primary buffers leave to the model
    forms = {"acetic": {"form": "acetic-glacial"}}
    drink = glass(grams("acid", 100.0, acid_solution=solution(own, own_percent)))
    found = dosed(drink, 100.0, solution(added, added_percent, **forms.get(added, {})), dose_ml=dose_ml,
                  temperature_c=25.0)  # fmt: skip
    molar = {"citric": CITRIC, "tartaric": TARTARIC, "acetic": ACETIC}
    serve_g = found.before.liquid.mass_g
    water_kg = (serve_g * (1.0 - own_percent / 100.0) + found.dose_mass_g * (1.0 - added_percent / 100.0)) / 1000.0
    mol = {
        own: serve_g * own_percent / 100.0 / molar[own],
        added: found.dose_mass_g * added_percent / 100.0 / molar[added],
    }
    expected = phreeqc.ph(phreeqc.with_davies(), {acid: n / water_kg for acid, n in mol.items()})
    assert found.after.ph is not None
    assert found.after.ph.typical == pytest.approx(expected, abs=0.02)


@pytest.mark.parametrize("potassium", [0.02, 0.035, 0.06])
@pytest.mark.parametrize("dose_ml", [2.0, 10.0])
def test_ph_of_a_dosed_juice_from_its_reading_matches_phreeqc(potassium, dose_ml):
    # a juice of 0.25 mol/kg citric acid with that much potassium (sodium there): its acidity and pH by PHREEQC, and its
    # pH after the dose; tolerance 0.02 for the model
    engine, citric, water_g = phreeqc.with_davies(), 0.25, 950.0
    read = phreeqc.ph(engine, {"citric": citric}, sodium=potassium)
    drink = DrinkGiven(composition=Composition(0.0, Sugar(0.0, "g/l"), acidity_meq_per_l=0.0))
    meq_per_l = (3.0 * citric - potassium) * water_g
    found = dosed(drink, 1000.0, CITRIC_6, dose_ml=dose_ml * 10.0, temperature_c=25.0,
                  measured=MeasuredAcid(meq_per_l, read, "citric"))  # fmt: skip
    before, after = found.before.liquid, found.after.liquid
    own_kg, all_kg = before.masses.water_g / 1000.0, after.masses.water_g / 1000.0
    scale = meq_per_l / (3.0 * citric - potassium) / 1000.0  # mol/kg by PHREEQC to mol in the serve
    mol = citric * scale + dose_ml * 10.0 * 0.060 / CITRIC
    same = phreeqc.ph(engine, {"citric": citric * scale / own_kg}, sodium=potassium * scale / own_kg)
    expected = phreeqc.ph(engine, {"citric": mol / all_kg}, sodium=potassium * scale / all_kg)
    assert found.before.ph is not None
    assert found.after.ph is not None
    assert found.before.ph.typical == pytest.approx(read, abs=1e-6)
    assert found.after.ph.typical - found.before.ph.typical == pytest.approx(expected - same, abs=0.02)


# What is known of the drink


def test_acid_solutions_of_a_spec_are_known():
    # 1 % w/w citric acid alone reads 2.2 to 2.4 (sellers' sheets, no measurement named)
    spirit, acid = grams("spirit", 0.001, abv=40.0), grams("acid", 100.0, acid_solution=solution("citric", 1.0))
    notes = Notes()
    found = dosed(glass(spirit, acid), dose_ml=0.001, notes=notes)
    assert found.before.ph is not None
    assert found.before.ph.low - 0.05 <= 2.3 <= found.before.ph.high + 0.05  # half a digit of the print
    assert "ph-not-known" not in codes(notes)


@pytest.mark.parametrize(
    "drink, at",
    [
        (glass(grams("lime", 20.0, acidity_meq_per_l=900.0), grams("water", 80.0)), "/drink/spec/components/0/ph"),
        (glass(grams("water", 80.0), grams("lime", 20.0, clarity="pulpy")), "/drink/spec/components/1/acidity"),
        (WINE, "/drink/composition/acidity"),
        (DrinkGiven(composition=Composition(12.0, Sugar(3.0, "g/l"))), "/drink/composition/acidity"),
    ],
)
def test_ph_of_juice_is_not_guessed(drink, at):
    notes = Notes()
    found = dosed(drink, dose_ml=2.0, notes=notes)
    assert found.before.ph is found.after.ph is None
    (said,) = [c for c in notes.cautions if c.code == "ph-not-known"]
    assert said.pointers == ("/measured", at)
    assert found.after.liquid.meq > found.before.liquid.meq


def test_made_in_the_house_counts_by_what_it_is_made_of():
    made = Spec("cordial", (grams("acid", 50.0, acid_solution=solution("citric", 2.0)), grams("water", 50.0)))
    inside = dosed(glass(grams("cordial", 100.0, made_from=made)), dose_ml=1.0)
    plain = dosed(glass(grams("acid", 100.0, acid_solution=solution("citric", 1.0))), dose_ml=1.0)
    assert inside.after.ph is not None
    assert plain.after.ph is not None
    assert inside.after.ph.typical == pytest.approx(plain.after.ph.typical, abs=1e-4)
    strained = dosed(glass(grams("cordial", 100.0, made_from=made, yield_percent=60.0)), dose_ml=1.0)
    assert strained.after.ph is not None
    assert strained.after.ph.typical == pytest.approx(inside.after.ph.typical, abs=1e-9)  # the rest is the same
    juice = Spec("cordial", (grams("lime", 50.0, acidity_meq_per_l=900.0), grams("water", 50.0)))
    notes = Notes()
    assert dosed(glass(grams("cordial", 100.0, made_from=juice)), dose_ml=1.0, notes=notes).after.ph is None
    assert any(p.endswith("/components/0/made_from/components/0/ph") for c in notes.cautions for p in c.pointers)


def test_a_component_with_acidity_and_ph_is_a_reading_of_its_own():
    juice = grams("lime", 100.0, acidity_meq_per_l=900.0, ph=2.3)
    alone = dosed(glass(juice), dose_ml=1e-6)
    assert alone.before.ph is not None
    assert alone.before.ph.typical == pytest.approx(2.3, abs=1e-6)


def test_a_reading_outranks_the_description_and_says_so():
    notes = Notes()
    found = dosed(WINE, dose_ml=1.0, measured=MeasuredAcid(100.0, 3.3), notes=notes)
    assert found.before.liquid.titratable_acidity_meq_per_l == pytest.approx(100.0)
    assert "measured-acidity-differs" in codes(notes)
    agreeing = Notes()
    dosed(WINE, dose_ml=1.0, measured=MeasuredAcid(81.0, 3.3), notes=agreeing)
    assert "measured-acidity-differs" not in codes(agreeing)
    pointers = {p for a in agreeing.assumptions for p in a.pointers}
    assert {"/measured/main_acid", "/temperature", "/solution/acids/0/form"} <= pointers


def test_alcohol_is_in_the_band():
    # up to 12 %vol the constants are measured, and lift pH by half of 0.11; above, meters and model may be 0.3 off
    def width(abv):
        drink = glass(grams("spirit", 100.0, abv=abv), grams("acid", 20.0, acid_solution=solution("citric", 5.0)))
        ph = dosed(drink, dose_ml=1.0).after.ph
        assert ph is not None
        return ph.high - ph.low, ph.typical

    (dry, dry_ph), (wine, wine_ph), (strong, _) = width(0.0), width(14.0), width(24.0)
    assert dry < wine < strong
    assert strong >= 0.6  # +-0.3 at 20 %vol
    assert wine_ph > dry_ph
    over = Notes()
    drink = glass(grams("spirit", 100.0, abv=70.0), grams("acid", 5.0, acid_solution=solution("citric", 5.0)))
    assert dosed(drink, dose_ml=1.0, notes=over).after.ph is None
    assert "ph-not-known" in codes(over)


@pytest.mark.parametrize("abv, acidity, ph", [(45.0, 80.0, 3.3), (0.0, 900.0, 6.8)])
def test_a_reading_past_the_model_costs_the_ph_alone(abv, acidity, ph):
    # alcohol over 40 %vol, and salts over 0.5 mol/kg, where the Davies equation ends
    notes = Notes()
    drink = DrinkGiven(composition=Composition(abv, Sugar(3.0, "g/l"), acidity_meq_per_l=acidity))
    found = dosed(drink, dose_ml=2.0, measured=MeasuredAcid(acidity, ph), notes=notes)
    assert found.after.ph is None
    assert found.after.liquid.meq > found.before.liquid.meq
    assert "ph-not-known" in codes(notes)


def test_ph_widens_by_what_the_acid_may_be():
    stated, silent = (
        dosed(WINE, dose_ml=3.0, measured=MeasuredAcid(80.0, 3.3, acid)).after.ph for acid in ("citric", None)
    )
    assert stated is not None
    assert silent is not None
    assert silent.high - silent.low > stated.high - stated.low


# What cannot be


@pytest.mark.parametrize("target, code", [(50.0, "below-the-start"), (936.0, "beyond-the-acids")])
def test_an_acidity_out_of_reach_is_refused_with_what_can_be(target, code):
    with pytest.raises(Refused) as refused:
        dosed(WINE, target_meq_per_l=target)
    assert [(f.pointer, f.code) for f in refused.value.faults] == [("/target", code)]
    (near,) = refused.value.nearest
    dosed(WINE, target_meq_per_l=near.value.value)


def test_a_ph_that_the_acidity_cannot_give_is_refused():
    # 10 meq/l of protons cannot give pH 1: that takes 100
    with pytest.raises(Refused) as refused:
        dosed(WINE, dose_ml=1.0, measured=MeasuredAcid(10.0, 1.0))
    assert (refused.value.slug, refused.value.faults[0].pointer) == ("impossible-reading", "/measured/ph")
    near = refused.value.nearest[0].value
    assert 2.0 <= near <= 2.1  # -log10 0.010, a little more for the volume of the alcohol
    dosed(WINE, dose_ml=1.0, measured=MeasuredAcid(10.0, near))


def test_an_impossible_ph_is_answered_with_the_nearest_that_goes():
    # lemon and lime of 718 meq/l read 2.0 to 2.6 (Penniston 2008): 7.2 is far above, so the nearest is not the lowest
    lime = grams("lime", 20.0, acidity_meq_per_l=718.0, ph=7.2)
    with pytest.raises(Refused) as refused:
        dosed(glass(lime, grams("water", 80.0)), dose_ml=1.0)
    (near,) = refused.value.nearest
    assert near.pointer == "/drink/spec/components/0/ph"
    assert 2.6 < near.value < 7.2


def test_per_cent_is_held_against_citric_acid_only_where_an_acidity_could_be_asked_for():
    notes = Notes()
    dosed(WINE, recipe=solution("tartaric", 6.0), dose_ml=1.0, notes=notes)
    assert "equal-percent-is-not-equal-acid" not in codes(notes)


def test_a_solution_that_cannot_be_is_named_where_it_stands():
    with pytest.raises(Refused) as refused:
        dosed(WINE, recipe=solution("succinic", 9.0), dose_ml=1.0)
    assert refused.value.faults[0].pointer == "/solution/acids/0/percent"


def test_more_acid_than_the_volume_is_known_for_is_not_extrapolated():
    with pytest.raises(OutsideValidity):
        dosed(WINE, recipe=solution("citric", 50.0), dose_ml=200.0)


# What cannot be otherwise

DOSES = st.floats(0.01, 50.0)
BLENDS = st.dictionaries(st.sampled_from(["citric", "malic", "tartaric", "lactic"]), st.floats(0.1, 4.0), min_size=1,
                         max_size=3)  # fmt: skip


def recipe_of(blend):
    return AcidRecipe(tuple(AcidPart(acid, percent) for acid, percent in blend.items()), "w/v")


@given(BLENDS, DOSES, st.floats(0.0, 30.0), st.floats(0.0, 200.0), st.floats(1.0, 400.0))
def test_a_dose_and_the_acidity_it_makes_are_each_others_answer(blend, dose_ml, abv, sugar, meq_per_l):
    strength = sum(10.0 * percent * acids.meq_per_g(acid) for acid, percent in blend.items())
    assume(strength > 1.1 * meq_per_l)  # of two alike, the contraction of spirit and water lifts the mix over both
    drink = DrinkGiven(composition=Composition(abv, Sugar(sugar, "g/l"), acidity_meq_per_l=meq_per_l))
    there = dosed(drink, recipe=recipe_of(blend), dose_ml=dose_ml)
    back = dosed(drink, recipe=recipe_of(blend), target_meq_per_l=there.after.liquid.titratable_acidity_meq_per_l)
    steep = there.after.liquid.titratable_acidity_meq_per_l / (
        there.after.liquid.titratable_acidity_meq_per_l - meq_per_l
    )  # digits lost in the difference
    assert back.dose_ml == pytest.approx(dose_ml, rel=1e-9 * steep)
    assert back.after.liquid.titratable_acidity_meq_per_l == pytest.approx(
        there.after.liquid.titratable_acidity_meq_per_l, rel=1e-9
    )


@given(BLENDS, DOSES, st.floats(0.0, 30.0))
def test_acid_and_mass_add_up(blend, dose_ml, abv):
    drink = DrinkGiven(composition=Composition(abv, Sugar(50.0, "g/l"), acidity_meq_per_l=100.0))
    one = dosed(drink, recipe=recipe_of(blend), dose_ml=dose_ml)
    twice = dosed(drink, recipe=recipe_of(blend), dose_ml=2.0 * dose_ml)
    added = one.after.liquid.meq - one.before.liquid.meq
    assert twice.after.liquid.meq - twice.before.liquid.meq == pytest.approx(2.0 * added, rel=1e-9)
    assert one.after.liquid.mass_g == pytest.approx(one.before.liquid.mass_g + one.dose_mass_g, rel=1e-12)


@given(
    st.floats(0.05, 30.0), st.floats(1.05, 3.0), st.floats(2.6, 4.0), st.sampled_from(["citric", "malic", "tartaric"])
)
def test_ph_falls_as_the_dose_grows(dose_ml, times, read, acid):
    measured = MeasuredAcid(80.0, read, acid)
    less, more = (dosed(WINE, dose_ml=ml, measured=measured).after.ph for ml in (dose_ml, dose_ml * times))
    assert less is not None
    assert more is not None
    assert more.typical < less.typical < read
