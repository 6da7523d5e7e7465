"""Findings against print, and against what the rest of the service makes of the same spec."""

from dataclasses import replace
from itertools import product

import pytest

from service.drink import AcidPart, AcidRecipe, Amount, Component, Spec, Sugar, Syrup, mix, portions
from service.notes import Notes
from service.science.ingredients import INGREDIENTS
from service.science.units import Quantity
from service.site import Scale
from service.spec_check import Smallest, check, smallest_of

AT = "/items/3/spec"
BOTTLE = Smallest(batch_ml=800.0, step_g=1.0)
HOUR, DAY = 3600.0, 86400.0


def ml(value: float) -> Amount:
    return Amount(Quantity("volume", value), "ml")


def g(value: float) -> Amount:
    return Amount(Quantity("mass", value), "g")


def found(*components: Component, smallest: Smallest = BOTTLE, code: str | None = None):
    """Verdict and findings, those of one code where one is named."""
    checked = check(Spec("any, invented", components), smallest, Notes(), at=AT)
    return checked.carbonate, [f for f in checked.findings if code in (None, f.code)]


def codes(*components: Component, **more) -> set[str]:
    return {finding.code for finding in found(*components, **more)[1]}


NONE = Sugar(0.0, "g/l")
GIN = Component("gin", ml(45.0), abv=40.0, sugar=NONE, acidity_meq_per_l=0.0, allergens=())
WATER = Component("water", ml(110.0), reference="water")
CORDIAL = Component("cordial", ml(20.0), abv=0.0, sugar=Sugar(600.0, "g/l"), acidity_meq_per_l=400.0, ph=2.9,
                    allergens=(), keeps_s=14 * DAY)  # fmt: skip
HIGHBALL = (GIN, CORDIAL, WATER)


def test_a_spec_that_says_all_is_carbonated_and_only_told_about():
    verdict, findings = found(*HIGHBALL)
    assert verdict == "yes"
    assert {(f.code, f.severity) for f in findings} == {("usual-level", "info"), ("shelf-life", "info")}


def test_every_pointer_is_into_the_spec_and_every_sentence_has_its_values():
    sour = (
        replace(GIN, amount=ml(60.0), abv=47.0),
        Component("juice", ml(9.0), clarity="pulpy"),
        Component("culture", ml(9.0), live_culture=True, ph=5.0),
        Component("tonic", g(1.0), reference="tonic-water"),
    )
    for finding in found(*sour)[1] + found(*HIGHBALL)[1]:
        assert finding.pointer.startswith(AT)
        assert finding.text.format(**finding.params)


# Strength, sweetness and cold


@pytest.mark.parametrize(
    "water_ml, code, low, high",
    [
        (110.0, "usual-level", 6.0, 8.0),  # 10 %vol; highball, soda style: common practice, no source
        (60.0, "usual-level", 5.0, 7.0),  # 14 %vol; short, 12 to 18 %vol: common practice, no source
    ],
)
def test_the_level_that_a_strength_is_charged_to(water_ml, code, low, high):
    (level,) = found(GIN, CORDIAL, replace(WATER, amount=ml(water_ml)), code=code)[1]
    assert [level.params[name].value for name in ("low", "high")] == [low, high]


def test_water_that_is_named_makes_a_strong_drink_as_weak_as_short_ones():
    """18 %vol: common practice, no source. The water is tried."""
    verdict, (strong,) = found(GIN, CORDIAL, code="stronger-than-usual")
    assert (verdict, strong.severity, strong.carbonate) == ("care", "warning", "care")
    assert found(GIN, CORDIAL, code="usual-level")[1] == []
    drink = mix(portions(Spec("x", (GIN, CORDIAL, replace(WATER, amount=ml(strong.params["water"].value)))), Notes()))
    assert drink.abv == pytest.approx(18.0, abs=1e-6)


@pytest.mark.parametrize("abv, verdict, codes_", [(39.9, "care", {"strong-drink", "stronger-than-usual"}),
                                                   (40.1, "no", {"outside-validity"})])  # fmt: skip
def test_what_is_known_of_co2_in_alcohol_ends_at_40(abv, verdict, codes_):
    """The data that the solubility was fitted to end at 40 %vol."""
    given, findings = found(replace(GIN, abv=abv))
    assert given == verdict
    assert {f.code for f in findings if f.carbonate is not None} - {"low-acid", "use-by-needs-ph"} == codes_
    assert all(f.text[0].isupper() or f.text[0] == "{" for f in findings)


def test_a_strength_is_told_to_the_tenth_as_a_label_has_it():
    (finding,) = found(GIN, CORDIAL, WATER, code="usual-level")[1]
    drink = mix(portions(Spec("x", (GIN, CORDIAL, WATER)), Notes()))
    assert finding.params["abv"] == pytest.approx(drink.abv, abs=0.05)
    assert f"{finding.params['abv']:.1f}" == f"{finding.params['abv']:g}"


def test_a_sweet_drink_takes_up_less_co2_as_usher_measured():
    """Between Usher 1910, J. Chem. Soc. 97:66, from memory, 0.756 of 0.877 at 171.2 g/l, and the factor for wine of
    Regulation (EEC) 2676/90, 0.784 at 150 g/l: the two disagree, and the model stands between them."""
    sweet = Component("x", ml(100.0), abv=0.0, sugar=Sugar(171.2, "g/l"), acidity_meq_per_l=100.0, allergens=())
    verdict, (finding,) = found(sweet, code="sweeter-than-usual")
    assert verdict == "care"
    assert 100.0 * (1.0 - 0.756 / 0.877) < finding.params["percent"] < 100.0 * (1.0 - 0.784 ** (171.2 / 150.0))
    assert "sweeter-than-usual" not in codes(replace(sweet, sugar=Sugar(108.0, "g/l")))  # as sweet as cola


# What is alive, seeds bubbles, holds foam; what no liquid can be


@pytest.mark.parametrize(
    "change, verdict, code, field",
    [
        ({"live_culture": True}, "no", "live-culture", "live_culture"),
        ({"clarity": "hazy"}, "care", "gushing", "clarity"),
        ({"clarity": "pulpy"}, "care", "gushing", "clarity"),
        ({"foams": True}, "care", "foams", "foams"),
        ({"abv": 80.0, "sugar": Sugar(600.0, "g/l")}, "no", "impossible-composition", ""),
        ({"density_g_per_ml": 1.6}, "no", "impossible-composition", "density_g_per_ml"),
    ],
)
def test_what_the_trade_refuses_or_warns_of(change, verdict, code, field):
    """Common practice, no source; egg, dairy and haze with care, a live culture never."""
    given, (finding,) = found(GIN, replace(CORDIAL, **change), WATER, code=code)
    assert (given, finding.carbonate) == (verdict, verdict)
    assert finding.pointer == f"{AT}/components/1/{field}".rstrip("/")


def test_no_level_is_named_for_what_is_never_charged():
    assert "usual-level" in codes(GIN, CORDIAL, WATER)
    assert "usual-level" not in codes(GIN, replace(CORDIAL, live_culture=True), WATER)


def test_inside_a_spec_of_its_own_too():
    inner = Spec("shrub, invented", (replace(CORDIAL, live_culture=True), replace(WATER, name="more water")))
    shrub = Component("shrub", ml(20.0), made_from=inner)
    verdict, (alive,) = found(GIN, shrub, WATER, code="live-culture")
    assert verdict == "no"
    assert alive.pointer == f"{AT}/components/1/made_from/components/0/live_culture"


def test_nothing_at_all_is_a_finding_too():
    nothing = Component("x", ml(5e-324), abv=8.0)
    verdict, findings = found(nothing)
    assert verdict == "no"
    assert findings[0].code == "outside-validity"


# What is not stated


def test_what_is_not_stated_counts_as_water_unless_it_is_said_to_be_water():
    unknown = Component("cordial", ml(20.0), allergens=())
    verdict, (finding,) = found(GIN, unknown, WATER, code="counts-as-water")
    assert (verdict, finding.severity, finding.pointer) == ("care", "warning", f"{AT}/components/1/abv")
    assert finding.params == {"components": "cordial"}
    assert "counts-as-water" not in codes(*HIGHBALL)


def test_each_strength_that_is_not_stated_is_a_finding_of_its_own():
    syrup = Component("cordial", ml(20.0), sugar=Sugar(600.0, "g/l"), acidity_meq_per_l=400.0, ph=2.9, allergens=())
    verdict, findings = found(GIN, syrup, Component("bitters", ml(1.0), allergens=()), code="counts-as-water")
    assert verdict == "care"
    assert [(f.pointer, f.params["components"]) for f in findings] == [
        (f"{AT}/components/1/abv", "cordial"),
        (f"{AT}/components/2/abv", "bitters"),
    ]


@pytest.mark.parametrize("name", ["Water", "soda water", "Agua con gas", "Eau gazeuse", "Sodawasser"])
def test_plain_water_by_its_name_is_not_asked_what_it_holds(name):
    plain = Component(name, ml(110.0), allergens=())
    assert not {"counts-as-water", "counts-as-none", "ph-unstated"} & codes(GIN, CORDIAL, plain)


@pytest.mark.parametrize(
    "known",
    [
        {"acid_solution": AcidRecipe((AcidPart("citric", 6.0),), "w/v")},
        {"syrup": Syrup(1.0, "mass")},
        {"made_from": Spec("x", (GIN, WATER))},
        {"reference": "simple-syrup-1-1"},
    ],
)
def test_what_describes_itself_states_enough(known):
    assert not {"counts-as-water", "counts-as-none"} & codes(*HIGHBALL, Component("x", ml(10.0), **known))


def test_part_of_an_analysis_is_told_with_what_is_missing():
    (finding,) = found(replace(GIN, sugar=None, acidity_meq_per_l=None), CORDIAL, WATER, code="counts-as-none")[1]
    assert (finding.severity, finding.params["fields"]) == ("info", "sugar, acidity")


def test_by_mass_the_volume_rests_on_a_density():
    assert "density-unstated" in codes(replace(GIN, amount=g(40.0)), CORDIAL, WATER)
    assert "density-unstated" not in codes(replace(GIN, amount=g(40.0), density_g_per_ml=0.948), CORDIAL, WATER)


def test_a_reference_says_which_of_its_values_are_not_verified():
    (finding,) = found(*HIGHBALL, Component("x", ml(10.0), reference="apple-juice"), code="reference-unverified")[1]
    bases = INGREDIENTS["apple-juice"].bases
    assert {bases[f] for f in ("abv", "sugar", "acidity_meq_per_l")} == {"unverified"}
    assert finding.params["fields"] == "strength, sugar, acidity"
    assert finding.pointer == f"{AT}/components/3/reference"


# Allergens: Regulation (EU) No 1169/2011, Annex II: eggs point 3, milk point 7, sulphites point 12


@pytest.mark.parametrize(
    "component, code, allergens",
    [
        (Component("cordial", ml(20.0), abv=0.0), "allergens-unstated", None),
        (Component("juice", ml(20.0), reference="lemon-juice-fresh"), "allergens-unstated", None),
        (Component("foam", ml(20.0), reference="egg-white"), "allergens-by-reference", "eggs"),
        (Component("foam", ml(20.0), reference="egg-white", allergens=()), "allergen-undeclared", "eggs"),
        (Component("cream", ml(20.0), reference="heavy-cream", allergens=("soybeans",)), "allergen-undeclared", "milk"),
    ],
)
def test_allergens_that_nobody_declared(component, code, allergens):
    (finding,) = found(GIN, component, WATER, code=code)[1]
    assert finding.pointer == f"{AT}/components/1/allergens"
    assert finding.params.get("allergens") == allergens


def test_allergens_that_are_declared_are_not_asked_for():
    stated = Component("foam", ml(20.0), reference="egg-white", allergens=("eggs",))
    assert not {c for c in codes(*HIGHBALL, stated) if c.startswith("allergen")}


# Little acid: 21 CFR 114.3 draws the line at pH 4.6


def test_little_acid_asks_for_the_ph_of_what_may_feed_germs():
    flat = replace(CORDIAL, acidity_meq_per_l=0.0, ph=None)
    verdict, findings = found(GIN, flat, WATER)
    by_code = {f.code: f.pointer for f in findings if f.carbonate == "care"}
    assert verdict == "care"
    assert by_code == {"use-by-needs-ph": f"{AT}/components", "ph-unstated": f"{AT}/components/1/ph"}


@pytest.mark.parametrize("ph, expected", [(4.5, set()), (4.6, set()), (4.7, {"use-by-needs-ph", "ph-high"})])
def test_a_low_ph_throughout_is_enough(ph, expected):
    flat = replace(CORDIAL, acidity_meq_per_l=0.0, ph=ph)
    assert codes(GIN, flat, WATER) & {"low-acid", "use-by-needs-ph", "ph-high", "ph-unstated"} == expected


def test_hardly_any_acid_and_alcohol_is_a_danger():
    """From memory: Clostridium botulinum grows over pH 4.6, and not from 6 %vol on."""
    verdict, (finding,) = found(replace(CORDIAL, acidity_meq_per_l=0.0, ph=None), WATER, code="low-acid")
    assert (verdict, finding.severity) == ("care", "danger")


# Shelf life: fresh juice 24 h, common practice, no source


def test_the_shortest_keeping_time_is_that_of_the_batch():
    lemon = Component("lemon", ml(10.0), reference="lemon-juice-fresh", allergens=())
    (finding,) = found(*HIGHBALL, lemon, code="shelf-life")[1]
    assert finding.params["keeps"] == Quantity("duration", 24 * HOUR)
    assert (finding.severity, finding.pointer) == ("warning", f"{AT}/components/3/keeps")
    (longer,) = found(*HIGHBALL, code="shelf-life")[1]
    assert (longer.severity, longer.params["component"]) == ("info", "cordial")


def test_what_looks_fresh_without_a_keeping_time_is_told():
    hazy = Component("verjus", ml(20.0), abv=0.0, acidity_meq_per_l=300.0, clarity="hazy", allergens=())
    (finding,) = found(*HIGHBALL, hazy, code="keeps-unstated")[1]
    assert finding.params["fresh"] == Quantity("duration", 24 * HOUR)
    assert "keeps-unstated" not in codes(*HIGHBALL, replace(hazy, keeps_s=3 * DAY))


def test_no_keeping_time_at_all_is_told():
    assert "shelf-life-unstated" in codes(GIN, WATER)


# Rounding where the least is made


STRONG_ACID = Component("acid", ml(1.5), acid_solution=AcidRecipe((AcidPart("citric", 30.0),), "w/v"))
WEAK = (replace(GIN, amount=ml(6.0), abv=60.0), replace(CORDIAL, acidity_meq_per_l=0.0), STRONG_ACID, WATER)


def worst_corner(components, smallest: Smallest, value) -> float:
    """The farthest that a value comes off where every component is half a step more or less; computed anew."""
    parts = portions(Spec("x", components), Notes())
    k = smallest.batch_ml / mix(parts).volume_ml
    exact = value(mix(parts))
    corners = product(
        *[[1.0 + sign * 0.5 * smallest.step_g / (p.masses.total_g * k) for sign in (-1, 1)] for p in parts]
    )
    return max(abs(value(mix([p.times(s) for p, s in zip(parts, c, strict=True)])) - exact) for c in corners)


@pytest.mark.parametrize(
    "code, step_g, value, per_cent",
    [
        ("rounding-acidity", 3.0, lambda drink: drink.acid_meq_per_l, True),
        ("rounding-strength", 10.0, lambda drink: drink.abv, False),
    ],
)
def test_what_a_coarse_scale_does_is_what_the_mixture_itself_says(code, step_g, value, per_cent):
    """To first order, contraction left out: off by the share of the half steps in the batch, up to 3 %, and by the
    contraction of a spirit in water, up to 4 % of its volume (OIML R 22)."""
    smallest = replace(BOTTLE, step_g=step_g)
    (finding,) = found(*WEAK, smallest=smallest, code=code)[1]
    off = worst_corner(WEAK, smallest, value)
    exact = value(mix(portions(Spec("x", WEAK), Notes())))
    assert finding.params["drift"] == pytest.approx(100.0 * off / exact if per_cent else off, rel=0.05)


@pytest.mark.parametrize("code, step_g", [("rounding-acidity", 3.0), ("rounding-strength", 10.0)])
def test_the_least_batch_that_is_offered_is_enough_and_hardly_more(code, step_g):
    smallest = replace(BOTTLE, step_g=step_g)
    (finding,) = found(*WEAK, smallest=smallest, code=code)[1]
    least = finding.params["least"].value
    assert code not in codes(*WEAK, smallest=replace(smallest, batch_ml=1.0001 * least))
    assert code in codes(*WEAK, smallest=replace(smallest, batch_ml=0.999 * least))


@pytest.mark.parametrize("step_g, expected", [(0.1, set()), (1.0, {"coarse-scale"}), (10.0, {"under-half-a-step"})])
def test_a_few_drops_are_too_little_for_a_kitchen_scale(step_g, expected):
    """4 g of bitters in the bottle: half a step of 1 g is 13 %, half of 10 g more than all of it. 2 %: common practice,
    no source."""
    bitters = Component("bitters", ml(1.0), abv=45.0, sugar=NONE, acidity_meq_per_l=0.0, allergens=())
    findings = found(*HIGHBALL, bitters, smallest=replace(BOTTLE, step_g=step_g))[1]
    assert {f.code for f in findings if f.pointer == f"{AT}/components/3/amount"} - {"rounding-strength"} == expected


def test_a_trace_makes_no_number_that_is_not_one():
    for trace in (5e-324, 1e-310, 1e-200, 1e-9):
        for finding in found(*HIGHBALL, Component("x", ml(trace), abv=90.0, acidity_meq_per_l=9e3, allergens=()))[1]:
            for value in finding.params.values():
                number = value.value if isinstance(value, Quantity) else value
                assert isinstance(number, str) or abs(number) < 1e12


def test_the_smallest_venue_unless_stated_is_one_bottle_and_whole_grams():
    """80 % of a litre and 1 g; common practice, no source."""
    notes = Notes()
    assert smallest_of(None, None, notes) == BOTTLE
    assert [a.pointers for a in notes.assumptions] == [("/smallest_batch",), ("/scale",)]
    notes = Notes()
    assert smallest_of(5000.0, Scale(0.1), notes) == Smallest(5000.0, 0.1)
    assert notes.assumptions == []
