"""Acid solutions against print, hand arithmetic and what cannot be otherwise."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.acid import Solution, SolutionGiven, for_component, make_solution
from service.drink import AcidPart, AcidRecipe, Amount
from service.errors import Refused
from service.notes import Notes
from service.science.units import Quantity
from service.site import Scale
from tests.published import published

CITRIC, MALIC, TARTARIC, LACTIC = 192.123, 134.087, 150.086, 90.078
"""g/mol from CIAAW abridged standard atomic weights 2021: C 12.011, H 1.008, O 15.999."""
WATER_20C = 0.9982  # g/mL, handbook
PURE = {"citric": "citric-anhydrous", "malic": "malic", "lactic": "lactic-pure", "acetic": "acetic-glacial",
        "phosphoric": "phosphoric-85"}  # fmt: skip
KILOGRAM = Amount(Quantity("mass", 1000.0), "g")
LITRE = Amount(Quantity("volume", 1000.0), "ml")


def solution(*parts, basis="w/w", size=KILOGRAM, notes=None, **more) -> Solution:
    return make_solution(SolutionGiven(parts, basis, size, **more), notes if notes is not None else Notes())


def codes(notes):
    return {caution.code for caution in notes.cautions}


# Worked by hand


def test_three_per_cent_lactic_and_three_tartaric():
    # common practice; the numbers by hand: protons titrated are 1 of lactic and 2 of tartaric acid
    found = solution(AcidPart("lactic", 3.0, form="lactic-pure"), AcidPart("tartaric", 3.0), temperature_c=25.0)
    meq_per_kg = 30.0 / LACTIC * 1000 + 2 * 30.0 / TARTARIC * 1000
    assert meq_per_kg == pytest.approx(733, abs=0.5)
    assert found.mix.meq / (found.mix.mass_g / 1000.0) == pytest.approx(meq_per_kg, rel=1e-5)
    # apparent volumes: lactic 71.6 ml/mol fits the densities of the CRC Handbook, tartaric 82.6 is recalled
    volume_ml = 940.0 / WATER_20C + 30.0 * 71.6 / LACTIC + 30.0 * 82.6 / TARTARIC
    assert found.mix.volume_ml == pytest.approx(volume_ml, rel=2e-5)
    assert found.mix.meq_per_l == pytest.approx(1000.0 * meq_per_kg / volume_ml, rel=2e-5)
    assert found.totals_g == pytest.approx({"water": 940.0, "lactic acid": 30.0, "tartaric acid": 30.0})


def test_six_per_cent_is_not_the_acidity_of_six_per_cent_citric():
    notes = Notes()
    solution(AcidPart("lactic", 3.0), AcidPart("tartaric", 3.0), basis="w/v", notes=notes)
    (said,) = [c for c in notes.cautions if c.code == "equal-percent-is-not-equal-acid"]
    as_citric = (30.0 / LACTIC + 2 * 30.0 / TARTARIC) * CITRIC / 3
    assert said.params["acid"] == pytest.approx(60.0)
    assert said.params["as_citric"] == pytest.approx(as_citric, rel=1e-5)
    assert as_citric < 0.8 * 60.0
    assert "lactic-with-tartaric" in codes(notes)


def test_four_per_cent_citric_and_two_malic_by_volume():
    notes = Notes()
    citric, malic = AcidPart("citric", 4.0, form="citric-monohydrate"), AcidPart("malic", 2.0)
    found = solution(citric, malic, basis="w/v", size=LITRE, notes=notes)
    assert found.mix.volume_ml == pytest.approx(1000.0)
    assert found.mix.meq_per_l == pytest.approx(1000 * (3 * 40.0 / CITRIC + 2 * 20.0 / MALIC), rel=1e-5)
    monohydrate_g = 40.0 * (CITRIC + 18.015) / CITRIC  # CRC: water 18.015 g/mol
    water_g = WATER_20C * (1000.0 - 40.0 * 114.5 / CITRIC - 20.0 * 81.0 / MALIC)
    assert found.totals_g["citric acid"] == pytest.approx(monohydrate_g, rel=1e-5)
    assert found.totals_g["water"] == pytest.approx(water_g - (monohydrate_g - 40.0), rel=2e-5)
    assert "equal-percent-is-not-equal-acid" not in codes(notes)


def test_a_target_acidity_sets_the_strength_of_a_blend():
    # 937 meq/l, the acidity of 60 g/l citric acid, by equal masses of lactic and tartaric acid
    parts = AcidPart("lactic", share=1.0), AcidPart("tartaric", share=1.0)
    found = solution(*parts, basis="ta", target_meq_per_l=3000 * 60.0 / CITRIC, size=LITRE)
    acid_g = sum(found.mix.acid_g.values())
    assert acid_g == pytest.approx(3 * 60.0 / CITRIC / (0.5 / LACTIC + 0.5 * 2 / TARTARIC), rel=1e-5)
    assert found.mix.meq_per_l == pytest.approx(3000 * 60.0 / CITRIC, rel=1e-9)


def test_a_product_of_lower_assay_brings_more_of_itself_and_less_water():
    whole = solution(AcidPart("lactic", 5.0, form="lactic-80"))
    half = solution(AcidPart("lactic", 5.0, form="lactic-80", purity_percent=50.0))
    assert whole.totals_g["lactic acid"] == pytest.approx(50.0 / 0.8)
    assert half.totals_g["lactic acid"] == pytest.approx(50.0 / 0.4)
    assert half.mix.meq == pytest.approx(whole.mix.meq)
    assert half.mix.mass_g == pytest.approx(whole.mix.mass_g)


# Against print


@pytest.mark.parametrize("acid", sorted(PURE))
def test_density_matches_print(acid):
    # the tolerances are the model's stated ones, in the table
    rows = published("acid_density.csv", "percent_ww", "density_g_per_ml", "tolerance", acid=acid, temperature_c="20")
    for percent, density, tolerance in rows:
        found = solution(AcidPart(acid, percent, form=PURE[acid])).mix
        assert found.mass_g / found.volume_ml == pytest.approx(density, abs=tolerance)


@pytest.mark.parametrize(
    "acid, temperature_c, printed",
    [("citric", 20.0, 1.7), ("tartaric", 25.0, 1.6)],  # suppliers' data sheets, 100 g/l, one decimal
)
def test_ph_matches_print(acid, temperature_c, printed):
    ph = solution(AcidPart(acid, 10.0), basis="w/v", temperature_c=temperature_c).ph
    assert ph is not None
    assert ph.low <= printed <= ph.high
    assert ph.typical == pytest.approx(printed, abs=0.1)  # half a digit of the reading and half a digit of ours


def test_spirit_keeps_its_density_and_strength():
    # CRC Handbook: 10 % w/w ethanol has 0.9819 g/ml at 20 degC; pure ethanol has 0.7892
    ((percent, density),) = [
        row for row in published("ethanol_density.csv", "mass_percent", "density_kg_m3", source="crc") if row[0] == 10.0
    ]
    strength = percent * density / 789.2
    mix = solution(AcidPart("citric", 0.0001), solvent_abv=strength).mix
    assert mix.mass_g / mix.volume_ml == pytest.approx(density / 1000.0, abs=0.00006)  # half a digit, and the acid
    assert mix.abv == pytest.approx(strength, abs=0.02)  # half a digit of both densities


def test_spirit_widens_the_ph():
    water, spirit = (solution(AcidPart("citric", 5.0), solvent_abv=abv).ph for abv in (0.0, 20.0))
    assert water is not None
    assert spirit is not None
    assert spirit.high - spirit.low >= 0.6 > water.high - water.low  # +-0.3 at 20 %vol


def test_more_acid_than_the_cold_holds_is_refused():
    # succinic acid: 8.3 g in 100 g of water at 25 degC (from memory), 7.7 % w/w
    notes = Notes()
    assert solution(AcidPart("succinic", 7.5), coldest_storage_c=25.0, notes=notes).solubility[0].ok is False
    assert "near-saturation" in codes(notes)
    with pytest.raises(Refused) as refused:
        solution(AcidPart("succinic", 8.0), coldest_storage_c=25.0)
    assert [fault.pointer for fault in refused.value.faults] == ["/acids/0/percent"]
    assert refused.value.nearest[0].value == pytest.approx(7.7, abs=0.05)  # half a digit of 8.3


def test_where_the_cold_is_not_tabulated_only_half_is_sure():
    # citric acid: 54 % w/w at 10 degC is the coldest printed value
    notes = Notes()
    one = solution(AcidPart("citric", 6.0), coldest_storage_c=4.0, notes=notes).solubility[0]
    assert (one.saturation_percent_ww, one.known_at_c, one.ok) == (54.0, 10.0, True)
    assert any("saturation of citric" in a.name for a in notes.assumptions)
    assert solution(AcidPart("citric", 28.0), coldest_storage_c=4.0).solubility[0].ok is False
    assert solution(AcidPart("citric", 28.0), coldest_storage_c=10.0).solubility[0].ok is True


# The scale


def test_a_tenth_of_a_gram_weighs_one_per_cent_of_ten_grams_to_half_a_per_cent():
    found = solution(AcidPart("citric", 3.0))
    assert found.scale.ta_error_percent == pytest.approx(100 * 0.05 / 30.0)
    assert found.scale.smallest_batch_g == pytest.approx(0.05 / 0.01 / 0.03)  # 5 g of acid at 3 % of the batch
    finer = solution(AcidPart("citric", 3.0), scale=Scale(0.01))
    assert finer.scale.smallest_batch_g == pytest.approx(found.scale.smallest_batch_g / 10.0)


def test_a_batch_that_does_not_suit_the_scale_is_said():
    small, large = Notes(), Notes()
    solution(AcidPart("citric", 3.0), size=Amount(Quantity("mass", 160.0), "g"), notes=small)
    solution(AcidPart("citric", 3.0), scale=Scale(0.1, 500.0), notes=large)
    assert "scale-too-coarse" in codes(small)
    assert codes(large) & {"scale-too-coarse", "over-scale-capacity"} == {"over-scale-capacity"}


def test_measures_are_steps_of_the_scale():
    for line in solution(AcidPart("citric", 3.0, form="citric-monohydrate"), scale=Scale(0.5)).weigh:
        assert line.measure_g % 0.5 == 0.0
        assert abs(line.measure_g - line.mass_g) <= 0.25


# Handling


@pytest.mark.parametrize("form", ["lactic-80", "lactic-88", "acetic-glacial", "phosphoric-85"])
def test_corrosive_products_are_poured_into_water(form):
    # GHS statement H314, from the notifications and data sheets named in the service's table of forms
    notes = Notes()
    found = solution(AcidPart(form.split("-")[0], 2.0, form=form), notes=notes)
    assert found.weigh[0].name == "water"
    danger = {c.code for c in notes.cautions if c.severity == "danger"}
    assert danger == {"handling-h314"}  # and not H318 beside it: Regulation (EC) 1272/2008, Article 27


def test_liquid_lactic_acid_rests():
    liquid, strong = Notes(), Notes()
    solution(AcidPart("lactic", 5.0, form="lactic-88"), notes=liquid)
    solution(AcidPart("lactic", 40.0, form="lactic-88"), notes=strong)
    texts = [next(c.text for c in notes.cautions if c.code == "lactic-rests") for notes in (liquid, strong)]
    assert texts[0] != texts[1]
    assert "ph-not-known" in codes(strong)


def test_haze_is_for_tartaric_acid_alone():
    assert solution(AcidPart("citric", 5.0)).haze is None
    cold, warm = (solution(AcidPart("tartaric", 1.0), coldest_storage_c=t).haze for t in (4.0, 20.0))
    assert cold is not None
    assert warm is not None
    assert cold.saturation.typical > warm.saturation.typical
    notes = Notes()
    assert solution(AcidPart("tartaric", 1.0), coldest_storage_c=40.0, notes=notes).haze is None
    assert "haze-not-known" in codes(notes)


# What cannot be made


@pytest.mark.parametrize(
    "parts, code",
    [
        ((AcidPart("citric", 60.0), AcidPart("malic", 40.0)), "no-room-for-water"),
        ((AcidPart("acetic", 6.0, form="vinegar-5"),), "products-bring-too-much-water"),
        ((AcidPart("citric", 12.0), AcidPart("malic", 12.0)), "too-strong"),
    ],
)
def test_impossible_strengths_are_refused_with_one_that_works(parts, code):
    with pytest.raises(Refused) as refused:
        solution(*parts)
    assert [fault.code for fault in refused.value.faults] == [code]
    weaker = [
        AcidPart(part.acid, near.value, form=part.form) for part, near in zip(parts, refused.value.nearest, strict=True)
    ]
    assert sum(solution(*weaker).mix.acid_g.values()) > 45.0  # vinegar itself holds 50 g in a kilogram


def test_a_target_no_acid_reaches_is_refused_with_one_that_works():
    with pytest.raises(Refused) as refused:
        solution(AcidPart("citric"), basis="ta", target_meq_per_l=20_000.0)
    (near,) = refused.value.nearest
    assert near.pointer == "/target"
    assert isinstance(near.value, Quantity)
    assert solution(AcidPart("citric"), basis="ta", target_meq_per_l=near.value.value).mix.meq_per_l > 9000.0


# What cannot be otherwise

STRENGTHS = st.floats(0.01, 3.0)
BLENDS = st.dictionaries(st.sampled_from(["citric", "malic", "tartaric", "lactic", "phosphoric", "ascorbic"]),
                         STRENGTHS, min_size=1, max_size=4)  # fmt: skip


def parts_of(blend):
    return tuple(AcidPart(acid, percent) for acid, percent in blend.items())


@given(BLENDS, st.sampled_from(["w/w", "w/v"]), st.floats(0.0, 20.0), st.floats(1.0, 1e5))
def test_weighings_add_up_to_the_batch(blend, basis, abv, size):
    by_mass = solution(*parts_of(blend), basis=basis, solvent_abv=abv, size=Amount(Quantity("mass", size), "g"))
    by_volume = solution(*parts_of(blend), basis=basis, solvent_abv=abv, size=Amount(Quantity("volume", size), "ml"))
    assert sum(line.mass_g for line in by_mass.weigh) == pytest.approx(size, rel=1e-9)
    assert by_volume.mix.volume_ml == pytest.approx(size, rel=1e-9)
    assert by_mass.mix.meq_per_l == pytest.approx(by_volume.mix.meq_per_l, rel=1e-9)
    if basis == "w/v":
        for acid, percent in blend.items():
            assert by_volume.mix.acid_g[acid] / size == pytest.approx(percent / 100.0, rel=1e-9)


@given(BLENDS, st.floats(0.01, 100.0))
def test_size_scales_the_masses_and_nothing_else(blend, times):
    one = solution(*parts_of(blend))
    more = solution(*parts_of(blend), size=Amount(Quantity("mass", 1000.0 * times), "g"))
    for a, b in zip(one.weigh, more.weigh, strict=True):
        assert b.mass_g == pytest.approx(a.mass_g * times, rel=1e-9)
    assert more.ph == one.ph
    assert more.mix.meq_per_l == pytest.approx(one.mix.meq_per_l, rel=1e-9)
    assert more.scale.smallest_batch_g == pytest.approx(one.scale.smallest_batch_g, rel=1e-9)


@given(BLENDS)
def test_titratable_acidity_adds_up(blend):
    together = solution(*parts_of(blend), basis="w/v", size=LITRE).mix.meq_per_l
    apart = [solution(part, basis="w/v", size=LITRE).mix.meq_per_l for part in parts_of(blend)]
    assert together == pytest.approx(sum(apart), rel=1e-9)


@given(
    BLENDS, st.floats(1.0, 1000.0), st.floats(0.0, 20.0)
)  # the weakest, ascorbic, is then 17 %, in the table's range
def test_a_target_is_met(blend, target, abv):
    parts = tuple(AcidPart(acid, share=share) for acid, share in blend.items())
    found = solution(*parts, basis="ta", target_meq_per_l=target, solvent_abv=abv)
    assert found.mix.meq_per_l == pytest.approx(target, rel=1e-9)


# For the prep sheet


def test_a_component_gets_its_solution_with_pointers_into_the_spec():
    notes = Notes()
    recipe = AcidRecipe((AcidPart("citric", 4.0), AcidPart("malic", 2.0)), "w/v")
    with notes.within({"": "/spec/components/2/acid_solution", "/size": "/size", "/scale": "/site/scale"}):
        found = for_component(recipe, 250.0, notes)
    assert found.mix.volume_ml == pytest.approx(250.0)
    assert found.mix.acid_g == pytest.approx({"citric": 10.0, "malic": 5.0})
    pointers = {p for note in (*notes.assumptions, *notes.cautions) for p in note.pointers}
    assert pointers == {
        "/site/scale",
        "/spec/components/2/acid_solution/acids/0",  # the saturation of citric acid is not known for the cold
        *(f"/spec/components/2/acid_solution/acids/{i}/{name}" for i in (0, 1) for name in ("form", "purity_percent")),
    }
