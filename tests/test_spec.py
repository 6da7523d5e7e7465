"""Components of a spec: references, specs of their own, yields, allergens, stock; and the standard of a spec."""

import struct
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from math import nextafter
from unicodedata import normalize

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.batching import Dilution, Loss, Size, StockLimit, canonical
from service.drink import AcidPart, AcidRecipe, Amount, Component, DrinkGiven, Spec, Sugar, Syrup, drink_of, portions
from service.drink.allergens import ALLERGENS, EU_GROUPS, FININGS, eu_groups, us_major
from service.errors import Measure, Refused, SeveralRefused
from service.money import Money
from service.notes import Notes
from service.science.ingredients import INGREDIENTS
from service.science.mixture import MOST_BRIX
from service.science.units import FACTORS, Quantity
from tests.batches import codes, g, line, ml, price, scale, water

MADE = datetime(2026, 11, 28, 14, 0, tzinfo=UTC)
HOUR, DAY = 3600.0, 86400.0


def glass(*components: Component) -> Spec:
    return Spec("any, invented", components)


def made(*components: Component, notes: Notes | None = None, serves: int = 1, **more):
    return scale(glass(*components), Size(serves=serves), notes or Notes(), **more)


GIN = Component("gin", ml(45.0), abv=40.0, allergens=())
WATER = Component("water", ml(100.0), abv=0.0, allergens=())
ACIDS = AcidRecipe((AcidPart("citric", 20.0),), "w/v")


# References


@pytest.mark.parametrize("reference", INGREDIENTS)
def test_every_reference_is_a_liquid(reference):
    """By volume and by mass; where a printed density stands beside the contents they agree within the model's 2 %."""
    notes = Notes()
    batch = made(
        Component("x", ml(100.0), reference=reference), Component("y", g(100.0), reference=reference), notes=notes
    )
    assert batch.components[0].volume_ml == pytest.approx(100.0)
    assert batch.components[1].mass_g == pytest.approx(100.0)
    assert batch.drink.abv == pytest.approx(INGREDIENTS[reference].abv, rel=0.02, abs=1e-9)
    assert "alcohol of components that state none, %vol" not in {a.name for a in notes.assumptions}


@pytest.mark.parametrize(
    "reference, density_g_per_ml, within",
    [  # of the contents alone, from tables that the references were not taken from
        ("spirit-40", 0.9480, 0.00005),  # OIML R 22, table IVa: 948.05 kg/m3 at 40 %vol, from memory
        ("spirit-96", 0.8074, 0.00005),  # OIML R 22: 807.42 at 96 %vol, from memory
        ("simple-syrup-1-1", 1.2295, 0.00015),  # CRC Handbook, sucrose 50 %; SPS-4 differs by 0.0001
        ("water", 0.9982, 0.00005),  # CRC Handbook
    ],
)
def test_density_of_references(reference, density_g_per_ml, within):
    batch = made(Component("x", ml(1000.0), reference=reference))
    assert batch.totals.density_g_per_ml == pytest.approx(density_g_per_ml, abs=within)


@pytest.mark.parametrize("reference, brix", [("simple-syrup-1-1", 50.0), ("rich-syrup-2-1", 66.67)])
def test_syrups_by_reference_have_the_brix_of_their_ratio(reference, brix):
    """1/(1 + 1) and 2/(2 + 1); half the last digit of their g/l is 0.005."""
    assert made(Component("x", ml(10.0), reference=reference)).totals.brix == pytest.approx(brix, abs=0.01)


@pytest.mark.parametrize(
    "reference, meq_per_l",
    [  # grams a litre over the equivalent mass, IUPAC atomic weights
        ("lemon-juice-fresh", 48.0 / 192.124 * 3000.0),  # Penniston et al. 2008: 48.0 g/l citric
        ("lime-juice-fresh", 45.9 / 192.124 * 3000.0),  # the same: 45.9
        ("whole-milk", 1.7 / 90.078 * 1000.0),  # 0.17 % as lactic, from memory
        ("still-wine-dry-white", 6.0 / 150.087 * 2000.0),  # 6 g/l as tartaric
    ],
)
def test_acidity_of_references(reference, meq_per_l):
    drink = made(Component("x", ml(10.0), reference=reference)).drink
    assert drink.acid_meq_per_l == pytest.approx(meq_per_l, rel=0.015)  # a density that counts as water moves volumes


def test_honey_is_as_acid_as_honey_may_be():
    """Codex CXS 12-1981, 1.5: at most 50 meq of free acid in 1000 g."""
    line = made(Component("x", g(1000.0), reference="honey")).components[0]
    assert 10.0 < line.whole.acid_meq < 50.0


def test_what_is_stated_overrides_the_reference():
    known = Component("lemon", ml(30.0), reference="lemon-juice-fresh", sugar=Sugar(50.0, "g/l"), clarity="clear")
    notes = Notes()
    drink = made(known, notes=notes).drink
    assert drink.sugar_g_per_l == pytest.approx(50.0)
    assert drink.clarity == "clear"
    pointers = {p for a in notes.assumptions if "by reference" in a.name for p in a.pointers}
    assert pointers == {f"/spec/components/0/{name}" for name in ("abv", "acidity", "hexose_share", "keeps")}


def test_what_a_reference_fills_in_is_said_with_basis_and_source():
    notes = Notes()
    made(Component("lemon", ml(30.0), reference="lemon-juice-fresh"), notes=notes)
    (acidity,) = [a for a in notes.assumptions if a.name == "acidity, by reference lemon-juice-fresh"]
    assert (acidity.basis, acidity.pointers) == ("published", ("/spec/components/0/acidity",))
    assert "Penniston" in acidity.source


def test_a_reference_is_hazy_pulpy_foaming_where_it_is():
    drink = drink_of(DrinkGiven(spec=glass(GIN, Component("egg", ml(20.0), reference="egg-white"))), Notes())
    assert (drink.clarity, drink.foams) == ("hazy", True)
    assert drink.foams_at == ("/spec/components/1/foams",)


def test_what_is_sold_sparkling_is_asked_for_its_co2():
    notes = Notes()
    made(GIN, Component("tonic", ml(100.0), reference="tonic-water"), notes=notes)
    (caution,) = [c for c in notes.cautions if c.code == "co2-unstated"]
    assert caution.pointers == ("/spec/components/1/co2",)


# A spec within a spec

CORDIAL = glass(
    Component("peel", ml(40.0), sugar=Sugar(20.0, "g/l"), keeps_s=2 * DAY, allergens=("celery",), clarity="hazy"),
    Component("spirit", ml(100.0), abv=40.0, allergens=(), foams=True),
    Component("soda", ml(60.0), abv=0.0, co2_g_per_l=5.0, allergens=()),
)


def made_from(amount: Amount | None = None, **more) -> Component:
    return Component("cordial", amount or ml(20.0), made_from=CORDIAL, **more)


def test_a_component_made_from_a_spec_is_the_mix_of_it():
    mixed, inner = made(made_from(ml(150.0))), made(*CORDIAL.components)
    assert mixed.drink.abv == pytest.approx(inner.drink.abv, rel=1e-12)
    assert mixed.drink.sugar_g_per_l == pytest.approx(inner.drink.sugar_g_per_l, rel=1e-12)
    assert mixed.totals.density_g_per_ml == pytest.approx(inner.totals.density_g_per_ml, rel=1e-12)
    assert mixed.drink.co2_g == pytest.approx(inner.drink.co2_g * 150.0 / inner.volume_ml)
    assert (mixed.drink.clarity, mixed.drink.foams) == ("hazy", True)


@settings(max_examples=40, deadline=None)
@given(serves=st.integers(1, 300), amount=st.floats(1.0, 500.0), kept=st.floats(1.0, 100.0))
def test_what_it_is_made_of_adds_up(serves, amount, kept):
    """All that is mixed weighs what is kept over its yield, in the proportions of the inner spec."""
    (line,) = made(made_from(g(amount), yield_percent=kept), serves=serves).components
    parts = [part.masses.total_g for part in line.whole.made_of]
    assert sum(parts) == pytest.approx(line.mass_g * 100.0 / kept, rel=1e-9)
    inner = [part.masses.total_g for part in portions(CORDIAL, Notes())]
    assert parts == pytest.approx([m * sum(parts) / sum(inner) for m in inner], rel=1e-9)


def test_what_is_alive_within_is_named_where_it_is():
    live = glass(WATER, Component("kombucha", ml(50.0), live_culture=True))
    for stated in (None, False):
        drink = drink_of(
            DrinkGiven(spec=glass(GIN, Component("mix", ml(50.0), made_from=live, live_culture=stated))), Notes()
        )
        assert drink.live_culture_at == ("/spec/components/1/made_from/components/1/live_culture",)


def test_a_mix_may_be_clarified():
    drink = made(made_from(clarity="clear", foams=False, co2_g_per_l=0.0)).drink
    assert (drink.clarity, drink.foams, drink.co2_g) == ("clear", False, 0.0)


def test_what_cannot_be_is_named_within():
    inner = glass(Component("peel", ml(40.0), sugar=Sugar(20.0, "g/l"), density_g_per_ml=1.3))
    with pytest.raises(Refused) as refused:
        made(GIN, Component("cordial", ml(20.0), made_from=inner))
    assert [f.pointer for f in refused.value.faults] == ["/spec/components/1/made_from/components/0/density_g_per_ml"]


# Stated densities

WATER_G_PER_ML = 0.9982
"""CRC Handbook, 102nd ed.: water at 20 degC."""


def dense(density_g_per_ml: float, amount: Amount | None = None, **more) -> Spec:
    return Spec(
        "dense", (Component("base", amount or ml(50.0), density_g_per_ml=density_g_per_ml, **more), water(50.0))
    )


@pytest.mark.parametrize("density", [0.7, 0.95, 1.019, 1.3, 1.7])
def test_a_density_that_the_contents_do_not_have_is_refused(density):
    """Without strength, sugar, acid or salt a liquid is water; the offer is its density, rounded up."""
    with pytest.raises(Refused) as refused:
        scale(dense(density), Size(serves=1), Notes())
    (fault,), (fact,), (nearest,) = refused.value.faults, refused.value.facts, refused.value.nearest
    assert (refused.value.slug, fault.pointer) == ("impossible-composition", "/spec/components/0/density_g_per_ml")
    assert fact.value.value == pytest.approx(WATER_G_PER_ML, abs=0.00005)
    assert nearest.value == pytest.approx(WATER_G_PER_ML, abs=0.00015)
    offered = scale(dense(nearest.value), Size(serves=1), Notes())
    assert offered.volume_ml == pytest.approx(100.0, rel=1e-4)


@pytest.mark.parametrize("density", [0.979, 1.018])
def test_a_density_within_two_per_cent_is_carried(density):
    """50 mL weigh what is stated and stay 50 mL; what they weigh beyond water counts as water in the whole."""
    notes = Notes()
    batch = scale(dense(density), Size(serves=1), notes)
    assert (line(batch, "base").volume_ml, line(batch, "base").mass_g) == pytest.approx((50.0, 50.0 * density))
    assert batch.totals.mass_g == pytest.approx(50.0 * density + 50.0 * WATER_G_PER_ML, abs=0.003)
    assert batch.volume_ml == pytest.approx(batch.totals.mass_g / WATER_G_PER_ML, rel=0.00005 / WATER_G_PER_ML)
    assert ("/spec/components/0/density_g_per_ml",) in [a.pointers for a in notes.assumptions]
    (said,) = [caution for caution in notes.cautions if caution.code == "density-differs"]
    assert said.params["percent"] == pytest.approx(100.0 * abs(density / WATER_G_PER_ML - 1.0), abs=0.006)


def test_a_mass_is_a_volume_by_the_stated_density():
    batch = scale(dense(1.01, g(50.5)), Size(serves=1), Notes())
    assert (line(batch, "base").volume_ml, line(batch, "base").mass_g) == pytest.approx((50.0, 50.5))


def test_a_density_as_printed_agrees():
    """CRC Handbook, 102nd ed.: 26 % sucrose by mass is 1.1082 g/mL, so 288.1 g/L; half the last digit."""
    syrup = dense(1.1082, sugar=Sugar(288.1, "g/l")).components[0]
    notes = Notes()
    batch = scale(Spec("syrup", (syrup,)), Size(serves=1), notes)
    assert "density-differs" not in codes(notes)
    assert batch.volume_ml == pytest.approx(50.0, rel=0.00005)


def test_pure_alcohol_lighter_than_it_is_gets_an_offer_that_works():
    """0.789 g/mL as often printed is less than the 0.78924 of OIML R 22, and leaves less than no water."""
    with pytest.raises(Refused) as refused:
        scale(dense(0.789, abv=100.0), Size(serves=1), Notes())
    (nearest,) = refused.value.nearest
    assert nearest.value == pytest.approx(0.78924, abs=0.0001)
    scale(dense(nearest.value, abv=100.0), Size(serves=1), Notes())


def test_contradictions_are_named_together():
    spec = Spec("two", (*dense(1.3).components[:1], Component("other", ml(1.0), density_g_per_ml=0.8)))
    with pytest.raises(Refused) as refused:
        scale(spec, Size(serves=1), Notes())
    assert [f.pointer for f in refused.value.faults] == [f"/spec/components/{i}/density_g_per_ml" for i in (0, 1)]
    assert [n.pointer for n in refused.value.nearest] == [f.pointer for f in refused.value.faults]


def test_an_acid_solution_by_mass_is_the_one_by_volume():
    by_volume = scale(Spec("a", (Component("acids", ml(1000.0), acid_solution=ACIDS),)), Size(serves=1), Notes())
    mass_g = line(by_volume, "acids").mass_g
    by_mass = scale(Spec("a", (Component("acids", g(mass_g), acid_solution=ACIDS),)), Size(serves=1), Notes())
    assert line(by_mass, "acids").volume_ml == pytest.approx(1000.0, rel=1e-12)


def test_acid_without_water_is_no_solution():
    spec = Spec("a", (Component("acids", g(1.0), acid_solution=AcidRecipe((AcidPart("lactic", 100.0),), "w/w")),))
    with pytest.raises(Refused, match="/spec/components/0 impossible-composition"):
        scale(spec, Size(serves=1), Notes())


@pytest.mark.parametrize("percent, dissolves", [(6.0, True), (8.0, False)])
def test_an_acid_solution_holds_its_acid(percent, dissolves):
    """Succinic acid: 6.9 g in 100 g of water at 20 degC (a handbook value, from memory), 6.5 % w/w."""
    recipe = AcidRecipe((AcidPart("succinic", percent),), "w/w")
    spec = Spec("a", (Component("acids", g(100.0), acid_solution=recipe), water(100.0)))
    if dissolves:
        scale(spec, Size(serves=1), Notes())
        return
    with pytest.raises(Refused, match="/spec/components/0 impossible-composition"):
        scale(spec, Size(serves=1), Notes())


def test_a_syrup_by_the_cup():
    """A US cup of granulated sugar is 200 g (USDA SR 169655), of water 236.588 ml (NIST Handbook 44) at 0.9982 g/ml."""
    cup = Component("syrup", ml(10.0), syrup=Syrup(1.0, "volume"))
    batch = scale(Spec("s", (cup,)), Size(serves=1), Notes())
    assert batch.totals.brix == pytest.approx(100.0 * 200.0 / (200.0 + 236.588 * 0.9982), abs=0.15)  # 0.5 g of the 200


def test_the_strongest_syrup():
    syrup = Component("syrup", ml(10.0), sugar=Sugar(MOST_BRIX, "brix"))
    batch = scale(Spec("s", (syrup,)), Size(serves=1), Notes())
    assert batch.totals.brix == pytest.approx(MOST_BRIX)
    beyond = Component("syrup", ml(10.0), sugar=Sugar(nextafter(MOST_BRIX, 100.0), "brix"))
    with pytest.raises(Refused, match="impossible-composition"):
        scale(Spec("s", (beyond,)), Size(serves=1), Notes())


# Yields, shopping and stock


def test_a_yield_says_what_to_start_from():
    """450 g of juice from 1 kg of fruit: 90 g of it take 200 g, 0.2 of a bag of 1 kg at 4.00."""
    juice = Component("rhubarb", g(90.0), abv=0.0, yield_percent=45.0, stock_code="QL-7", stock_unit="kg")
    batch = made(GIN, juice, serves=10, prices=[price("rhubarb", g(1000.0), "4.00")])
    assert batch.cost.batch.amount == Decimal(8)
    assert (batch.cost.purchases[0].packages, batch.cost.outlay.amount) == (2, Decimal(8))
    bought = next(line for line in batch.shopping if line.component == "rhubarb")
    assert bought.amount == Quantity("mass", pytest.approx(2000.0))
    (depletion,) = batch.depletion
    assert (depletion.per_serve, depletion.per_batch) == (
        Measure(pytest.approx(0.2), "kg"), Measure(pytest.approx(2.0), "kg"),
    )  # fmt: skip
    assert batch.components[1].mass_g == pytest.approx(900.0)  # what the drink takes is what is kept


def test_what_is_stocked_ready_made_takes_nothing_of_its_parts():
    """500 ml of cordial at 20 ml a glass are 25 serves; the peel that more could be made of is not touched."""
    inner = glass(Component("peel", ml(40.0), abv=0.0), WATER)
    house = (StockLimit("cordial", ml(500.0)), StockLimit("peel", g(900.0)))
    batch = scale(glass(GIN, Component("cordial", ml(20.0), made_from=inner)), Size(on_hand=house), Notes(),
                  on_hand=house)  # fmt: skip
    cordial, peel = batch.on_hand
    assert (batch.serves, cordial.runs_out_first, cordial.left_over.value) == (25, True, 0.0)
    assert (peel.needed.value, peel.left_over.value, peel.runs_out_first) == (0.0, 900.0, False)


def test_dilution_water_is_not_missed_among_the_prices():
    notes = Notes()
    prices = [price("gin", ml(700.0), "21.00"), price("water", ml(1000.0), "0")]
    made(GIN, WATER, dilution=Dilution(percent=20.0, of="finished"), prices=prices, notes=notes)
    assert "cost-incomplete" not in codes(notes)


def test_a_yield_counts_by_volume_too():
    """450 ml of a litre are kept: 90 ml take 200, a fifth of a bottle of a litre at 4.00."""
    juice = Component("rhubarb", ml(90.0), abv=0.0, yield_percent=45.0, stock_code="QL-7", stock_unit="ml")
    batch = made(juice, GIN, prices=[price("rhubarb", ml(1000.0), "4.00")])
    assert float(batch.cost.batch.amount) == pytest.approx(0.80, rel=1e-9)
    assert batch.depletion[0].per_serve == Measure(pytest.approx(200.0), "ml")


def test_a_yield_changes_no_drink():
    one, other = (made(Component("juice", ml(50.0), sugar=Sugar(80.0, "g/l"), yield_percent=y)) for y in (None, 50.0))
    assert one.drink.masses == other.drink.masses


def test_what_is_made_in_the_house_is_bought_by_its_parts_or_as_such():
    prices = [price("spirit", ml(1000.0), "20.00")]
    by_parts = made(made_from(ml(200.0)), GIN, prices=prices)
    assert [s.component for s in by_parts.shopping] == ["peel", "spirit", "soda", "gin"]
    spirit = by_parts.components[0].whole.made_of[1]
    assert float(by_parts.cost.batch.amount) == pytest.approx(20.0 * spirit.volume_ml / 1000.0, rel=1e-9)
    as_such = made(made_from(ml(200.0)), GIN, prices=[price("cordial", ml(500.0), "5.00")])
    assert [s.component for s in as_such.shopping] == ["cordial", "gin"]
    assert as_such.cost.batch.amount == Decimal(2)
    notes = Notes()
    made(made_from(ml(200.0)), GIN, prices=[price("cordial", ml(500.0), "5.00"), *prices], notes=notes)
    assert "price-unused" in codes(notes)


def test_one_name_in_two_places_is_bought_once():
    inner = glass(Component("water", ml(100.0), abv=0.0), Component("spirit", ml(100.0), abv=40.0))
    batch = made(Component("mix", ml(100.0), made_from=inner), WATER, prices=[price("water", g(1000.0), "1.00")])
    water_g = batch.components[0].whole.made_of[0].masses.total_g + batch.components[1].mass_g
    assert float(batch.cost.batch.amount) == pytest.approx(water_g / 1000.0, rel=1e-9)


@pytest.mark.parametrize(
    "stock_unit, unit, kind",
    [
        ("cl", "cl", "volume"),
        ("L", "l", "volume"),
        ("KG", "kg", "mass"),
        ("bottle", None, "volume"),
        (None, None, "volume"),
    ],
)
def test_depletion_is_in_the_unit_of_the_stock_where_it_is_one(stock_unit, unit, kind):
    notes = Notes()
    coded = Component("gin", ml(45.0), abv=40.0, stock_code="QL-1", stock_unit=stock_unit)
    (depletion,) = made(coded, WATER, notes=notes, serves=8, loss=Loss(20.0, "made")).depletion
    told = depletion.per_serve
    assert told.kind == kind if unit is None else told.unit == unit in FACTORS[kind]
    assert depletion.per_batch.value == pytest.approx(10.0 * depletion.per_serve.value)  # 8/0.8 glasses are made
    assert ("stock-unit-unknown" in codes(notes)) == (stock_unit == "bottle")


def test_depletion_takes_what_is_coded_or_else_what_it_is_made_of():
    inner = glass(Component("peel", ml(40.0), abv=0.0, stock_code="QL-3"), WATER)
    house = Component("cordial", ml(20.0), made_from=inner)
    assert [d.stock_code for d in made(house, GIN).depletion] == ["QL-3"]
    coded = Component("cordial", ml(20.0), made_from=inner, stock_code="QL-9")
    assert [d.stock_code for d in made(coded, GIN).depletion] == ["QL-9"]


# Allergens

ANNEX_II = "gluten crustaceans eggs fish peanuts soybeans milk nuts celery mustard sesame sulphites lupin molluscs"
US_MAJOR = {"milk", "eggs", "fish", "crustaceans", "nuts", "peanuts", "wheat", "soybeans", "sesame"}


def test_the_groups_of_annex_ii():
    """Regulation (EU) No 1169/2011, Annex II, points 1 to 14."""
    assert " ".join(EU_GROUPS) == ANNEX_II
    assert eu_groups(ALLERGENS) == EU_GROUPS
    assert eu_groups(("oats", "wheat")) == ("gluten",)


def test_the_major_allergens_of_the_united_states():
    """21 USC 321(qq): eight by FALCPA 2004, and sesame by the FASTER Act of 2021; barley, rye and oats are none."""
    assert set(us_major(ALLERGENS)) == US_MAJOR
    assert us_major(("barley", "rye", "oats", "celery", "mustard", "sulphites", "lupin", "molluscs")) == ()


@pytest.mark.parametrize(
    "fining, eu, us",
    [  # what each is made of: OIV International Oenological Codex
        ("isinglass", ("fish",), ("fish",)),
        ("egg-white", ("eggs",), ("eggs",)),
        ("lysozyme", ("eggs",), ("eggs",)),
        ("casein", ("milk",), ("milk",)),
        ("milk-washing", ("milk",), ("milk",)),
        ("chitosan-shellfish", ("crustaceans",), ("crustaceans",)),
        ("chitosan-fungal", (), ()),
        ("wheat-protein", ("gluten",), ("wheat",)),
        ("bentonite", (), ()),
    ],
)
def test_finings_come_through(fining, eu, us):
    notes = Notes()
    allergens = made(
        GIN, Component("juice", ml(20.0), abv=0.0, allergens=(), finings=(fining,)), notes=notes
    ).to_declare
    assert (allergens.allergens, allergens.allergens_us) == (eu, us)
    assert "allergens of finings and washes" in {a.name for a in notes.assumptions}


def test_every_fining_brings_an_allergen_that_may_be_declared():
    assert {allergen for allergen in FININGS.values() if allergen} <= set(ALLERGENS)


def test_allergens_come_out_of_a_spec_within():
    washed = glass(Component("tea", ml(100.0), abv=0.0, allergens=("sulphites",), finings=("milk-washing",)))
    batch = made(GIN, Component("punch", ml(50.0), made_from=washed))
    assert (batch.to_declare.allergens, batch.to_declare.allergens_us) == (("milk", "sulphites"), ("milk",))
    sources = {one.allergen: one.components for one in batch.to_declare.allergen_sources}
    assert sources == {"sulphites": ("tea",), "milk": ("tea",)}
    assert batch.drink.allergens == ("sulphites", "milk")


def test_gluten_without_its_cereal_counts_as_wheat():
    notes = Notes()
    assert made(
        GIN, Component("beer", ml(50.0), abv=5.0, allergens=("gluten",)), notes=notes
    ).to_declare.allergens_us == ("wheat",)
    assert "cereal-unstated" in codes(notes)
    assert made(GIN, Component("beer", ml(50.0), abv=5.0, allergens=("barley",))).to_declare.allergens_us == ()


def test_sulphites_say_from_where_they_are_declared():
    """10 mg/kg or 10 mg/l as total SO2: Annex II, point 12."""
    notes = Notes()
    made(GIN, Component("wine", ml(50.0), abv=12.0, allergens=("sulphites",)), notes=notes)
    assert [a.value for a in notes.assumptions if a.name.startswith("sulphites")] == [10.0]


def test_allergens_of_a_reference_are_taken_and_flagged():
    notes = Notes()
    assert made(GIN, Component("milk", ml(50.0), reference="whole-milk"), notes=notes).to_declare.allergens == ("milk",)
    assert "allergens-by-reference" in codes(notes)
    notes = Notes()
    assert (
        made(GIN, Component("milk", ml(50.0), reference="whole-milk", allergens=()), notes=notes).to_declare.allergens
        == ()
    )
    assert "allergen-undeclared" in codes(notes)
    notes = Notes()
    assert made(GIN, Component("juice", ml(50.0), reference="lemon-juice-fresh"), notes=notes).to_declare.unstated == (
        "juice",
    )
    assert "allergens-unstated" in codes(notes)


# How long it keeps

ACID = Component("acid", ml(20.0), acid_solution=ACIDS)


def use_by(*components: Component, notes: Notes | None = None, **more):
    return made(*components, notes=notes, made_at=MADE, **more).use_by


def test_the_shortest_lived_of_all_keeps():
    long = Component("gin", ml(45.0), abv=40.0, keeps_s=100 * DAY)
    fresh = Component("lime", ml(20.0), reference="lime-juice-fresh")
    assert use_by(long, fresh) == MADE + timedelta(hours=24)  # fresh juice: common practice, no source
    assert use_by(long, ACID) == MADE + timedelta(days=100)
    assert use_by(long, ACID, house_maximum_s=3 * DAY) == MADE + timedelta(days=3)
    assert use_by(ACID, made_from()) == MADE + timedelta(days=2)
    assert use_by(ACID, made_from(keeps_s=5 * DAY)) == MADE + timedelta(days=5)


def test_the_label():
    batch = made(GIN, ACID, made_at=MADE, house_maximum_s=DAY)
    label = batch.label
    assert (label.statement, label.made_at, label.use_by) == ("In-house, not for sale.", MADE, MADE + timedelta(days=1))
    undated = made(GIN, ACID, house_maximum_s=DAY).label
    assert (undated.made_at, undated.use_by) == (None, None)


@pytest.mark.parametrize(
    "milk_ph, water_ph, given",
    [(None, None, False), (4.6, None, True), (4.7, None, False), (4.0, 4.6, True), (4.0, 7.0, False)],
)
def test_no_use_by_for_a_low_acid_drink_of_unknown_ph(milk_ph, water_ph, given):
    """pH 4.6: 21 CFR 114.3; water and spirit need none stated."""
    milk = Component("soured milk", ml(50.0), abv=0.0, sugar=Sugar(40.0, "g/l"), ph=milk_ph)
    water = Component("water", ml(50.0), abv=0.0, ph=water_ph)
    notes = Notes()
    assert (use_by(milk, water, GIN, notes=notes, house_maximum_s=DAY) is not None) == given
    assert ("use-by-needs-ph" in codes(notes)) != given


@pytest.mark.parametrize("abv, given", [(19.0, False), (21.0, True), (40.0, True)])
def test_alcohol_keeps_a_strong_drink_whatever_its_acid(abv, given):
    """From 20 %vol: common practice, no source."""
    notes = Notes()
    aperitif = Component("aperitif", ml(60.0), abv=abv, sugar=Sugar(100.0, "g/l"))
    assert (use_by(aperitif, notes=notes, house_maximum_s=DAY) is not None) == given
    assert ("use-by-needs-ph" in codes(notes)) != given


def test_one_known_ph_does_not_speak_for_what_has_none():
    notes = Notes()
    sour = Component("sour", ml(5.0), abv=0.0, sugar=Sugar(40.0, "g/l"), ph=3.0)
    assert use_by(sour, Component("milk", ml(95.0), reference="whole-milk"), notes=notes, house_maximum_s=DAY) is None
    assert "use-by-needs-ph" in codes(notes)


# Against the standard


def differences(here: Spec, standard: Spec, **more):
    return scale(here, Size(serves=3), more.pop("notes", Notes()), against=standard, **more).differences


def test_nothing_differs_from_itself_in_other_units():
    ounces = glass(Component("gin", Amount(Quantity("volume", 1.5 * 29.5735295625), "oz"), abv=40.0), WATER)
    millilitres = glass(Component("gin", ml(44.36029434375), abv=40.0), WATER)
    assert differences(ounces, millilitres) == ()
    assert scale(ounces, Size(serves=1), Notes()).differences is None


def test_what_no_jug_shows_is_no_difference():
    """45 and 45.02 ml are 0.04 % apart; 5 ml of 40 %vol for as much water contract by less than 0.1 % of the glass."""
    assert differences(glass(Component("gin", ml(45.02), abv=40.0), WATER), glass(GIN, WATER)) == ()
    swapped = glass(Component("gin", ml(50.0), abv=40.0), Component("water", ml(95.0), abv=0.0, allergens=()))
    codes_found = [d.code for d in differences(swapped, glass(GIN, WATER))]
    assert codes_found == ["amount-differs", "amount-differs", "abv-differs"]


def test_differences_line_by_line_and_in_the_glass():
    """60 ml of 40 %vol in 160 ml against 45 ml in 145 ml: by volume 15 and 12.4 %vol, contraction aside (0.5 %)."""
    here = glass(Component("gin", ml(60.0), abv=40.0), WATER)
    standard = glass(GIN, WATER, Component("bitters", ml(1.0), abv=44.0))
    prices = [price("gin", ml(700.0), "21.00"), price("bitters", ml(100.0), "10.00")]
    found = {(d.code, d.component): d for d in differences(here, standard, prices=prices)}
    assert set(found) == {("amount-differs", "gin"), ("component-missing", "bitters"), ("volume-differs", None),
                          ("abv-differs", None), ("cost-differs", "gin"), ("cost-differs", "bitters"),
                          ("cost-differs", None)}  # fmt: skip
    amount = found["amount-differs", "gin"]
    assert (amount.ours, amount.theirs) == (Quantity("volume", 60.0), Quantity("volume", 45.0))
    strength = found["abv-differs", None]
    assert (strength.ours, strength.theirs) == (pytest.approx(15.0, rel=0.005), pytest.approx(12.6, rel=0.01))
    costs = {"gin": ("1.8000", "1.3500"), "bitters": ("0.0000", "0.1000"), None: ("1.8000", "1.4500")}
    for component, (one, other) in costs.items():
        cost = found["cost-differs", component]
        assert (cost.ours, cost.theirs) == (Money(Decimal(one), "EUR"), Money(Decimal(other), "EUR"))


def test_the_standard_is_diluted_alike_and_its_faults_are_its_own():
    strong, weak = glass(Component("gin", ml(50.0), abv=40.0), WATER), glass(Component("gin", ml(50.0), abv=4.0), WATER)
    diluted = differences(strong, glass(GIN, WATER), dilution=Dilution(to_abv=5.0))
    assert "abv-differs" not in {d.code for d in diluted}
    with pytest.raises(Refused) as refused:
        differences(strong, weak, dilution=Dilution(to_abv=5.0))
    assert refused.value.faults[0].pointer == "/dilution/to_abv"
    impossible = glass(Component("gin", ml(50.0), abv=40.0, density_g_per_ml=1.4))
    with pytest.raises((Refused, SeveralRefused)) as both:
        differences(impossible, impossible)
    pointers = {f.pointer for r in getattr(both.value, "refusals", [both.value]) for f in r.faults}
    assert pointers == {f"/{at}/components/0/density_g_per_ml" for at in ("spec", "against")}


# The canonical form

APPENDIX_B = {  # RFC 8785, appendix B: IEEE 754 bits and the JSON of them
    "0000000000000000": "0", "8000000000000000": "0",
    "0000000000000001": "5e-324", "8000000000000001": "-5e-324",
    "7fefffffffffffff": "1.7976931348623157e+308", "ffefffffffffffff": "-1.7976931348623157e+308",
    "4340000000000000": "9007199254740992", "c340000000000000": "-9007199254740992",
    "4430000000000000": "295147905179352830000",
    "44b52d02c7e14af5": "9.999999999999997e+22", "44b52d02c7e14af6": "1e+23",
    "44b52d02c7e14af7": "1.0000000000000001e+23",
    "444b1ae4d6e2ef4e": "999999999999999700000", "444b1ae4d6e2ef4f": "999999999999999900000",
    "444b1ae4d6e2ef50": "1e+21",
    "3eb0c6f7a0b5ed8c": "9.999999999999997e-7", "3eb0c6f7a0b5ed8d": "0.000001",
    "41b3de4355555553": "333333333.3333332", "41b3de4355555554": "333333333.33333325",
    "41b3de4355555555": "333333333.3333333", "41b3de4355555556": "333333333.3333334",
    "41b3de4355555557": "333333333.33333343",
    "becbf647612f3696": "-0.0000033333333333333333", "43143ff3c1cb0959": "1424953923781206.2",
}  # fmt: skip


@pytest.mark.parametrize("bits, text", APPENDIX_B.items())
def test_numbers_as_in_appendix_b(bits, text):
    (number,) = struct.unpack(">d", bytes.fromhex(bits))
    assert canonical(number).decode() == text


@pytest.mark.parametrize("text", ["Café", "Cafe\u0301", "\ufb33", "\u0301 alone", "plain"])
def test_strings_are_in_normalization_form_c(text):
    """Unicode Standard Annex 15; as by the general library, string for string."""
    import rfc8785

    assert canonical({"name": [text, 1]}) == rfc8785.dumps({"name": [normalize("NFC", text), 1]})


COMPOSED = st.text().map(lambda text: normalize("NFC", text)) | st.text(st.characters(codec="ascii"))
ANY_JSON = st.recursive(
    st.none() | st.booleans() | st.integers(-(2**53) + 1, 2**53 - 1) | st.floats(allow_nan=False, allow_infinity=False)
    | st.floats(-1000, 1000).map(lambda number: round(number, 1)) | COMPOSED,
    lambda inner: st.lists(inner) | st.dictionaries(COMPOSED, inner),
)  # fmt: skip


@given(ANY_JSON)
def test_any_document_is_written_as_the_library_writes_it(document):
    """Against rfc8785, a general library of RFC 8785."""
    import rfc8785

    assert canonical(document) == rfc8785.dumps(document)
