"""Batches of whole serves: each a whole pour from one vessel. Expected values are worked by hand beside each check."""

from math import ceil

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.batching import Loss, Rounding, Size, SizedVessel, WholeServes, fills_for
from service.drink import Component, Spec
from service.errors import Refused
from service.notes import Notes
from service.vessel import Vessel, VesselGiven
from tests.batches import codes, ml, scale, spirit, water

GLASS = Spec("a glass of 185 ml, invented", (water(185.0),))
LITRE = VesselGiven("pet-1-l")


def made(count, *, vessel=LITRE, fill=0.8, notes=None, spec=GLASS, **more):
    return scale(spec, Size(whole_serves=WholeServes(count, vessel, fill)), notes or Notes(), **more)


@pytest.mark.parametrize(
    "count, fill, bottles, each, heel_ml",
    [
        (60, 0.8, 15, 4, 60.0),  # 800 = 4 x 185 + 60
        (500, 0.8, 125, 4, 60.0),  # 125 x 800 ml are 100 l
        (61, 0.8, 16, 4, 60.0),  # the last serve takes a bottle of its own
        (1, 0.8, 1, 4, 60.0),
        (60, 0.74, 15, 4, 0.0),  # 740 = 4 x 185: nothing is left, and binary fractions take no serve away
        (60, 0.739, 20, 3, 184.0),  # a millilitre less holds three
        (60, 0.185, 60, 1, 0.0),
    ],
)
def test_the_batch_fills_the_vessels_that_pour_it(count, fill, bottles, each, heel_ml):
    batch = made(count, fill=fill)
    (found,) = batch.fills
    assert (found.count, batch.whole_serves, batch.serves) == (bottles, bottles * each, bottles * each)
    assert batch.heel_ml == pytest.approx(heel_ml, abs=1e-6)
    assert found.liquid_ml == pytest.approx(1000.0 * fill)  # every one to the line, the last as well
    assert batch.volume_ml == pytest.approx(1000.0 * fill * bottles)


def test_the_usual_bottle_and_fill_are_assumptions():
    notes = Notes()
    batch = made(60, vessel=None, fill=None, notes=notes)
    assert (batch.fills[0].count, batch.whole_serves) == (15, 60)
    at = {pointer for a in notes.assumptions for pointer in a.pointers}
    assert {"/size/whole_serves/vessel", "/size/whole_serves/fill"} <= at


def test_793_ml_hold_four_and_a_heel():
    """60 x 185 ml = 11.1 l by volume alone go into 14 bottles of 792.9 ml, which pour 56 serves, not 60."""
    filled = fills_for(60 * 185.0, Vessel("litre", "pet", 1000.0, 3.0, 5.0, True), 0.8)
    assert (filled.count, filled.pours(185.0)) == (14, 4)
    assert filled.liquid_ml == pytest.approx(793.0, abs=0.5)
    assert filled.heel_ml(185.0) == pytest.approx(53.0, abs=0.5)


def test_a_keg_pours_many():
    """18.927 l at 0.85 are 16 088 ml: 86 x 185 = 15 910, and a heel of 178; 100 serves take two kegs."""
    notes = Notes()
    batch = made(100, vessel=VesselGiven("keg-19-l"), fill=0.85, notes=notes)
    assert (batch.fills[0].count, batch.whole_serves) == (2, 172)
    assert batch.heel_ml == pytest.approx(178.0, abs=0.5)
    assert "more-than-asked" in codes(notes)  # 72 more than asked for


def test_few_more_than_asked_are_not_told_of():
    notes = Notes()
    made(61, notes=notes)  # 64
    assert "more-than-asked" not in codes(notes)


def test_a_serve_is_the_glass_with_its_dilution_and_its_losses():
    """A tenth of what is made is lost: a serve takes 185 / 0.9 = 205.6 ml; 800 hold three and leave 183.3."""
    batch = made(60, loss=Loss(10.0, "made"))
    assert (batch.fills[0].count, batch.whole_serves) == (20, 60)
    assert batch.heel_ml == pytest.approx(800.0 - 3 * 185.0 / 0.9)
    assert made(60, loss=Loss(10.0, "served")).heel_ml == pytest.approx(800.0 - 3 * 185.0 * 1.1)


def test_a_batch_that_may_vary_keeps_its_serves():
    """Downwards only, and never by a serve: four of 185 stay in each bottle, whatever fits the jug best."""
    batch = made(60, rounding=Rounding(volume_ml=1000.0, batch_may_vary_percent=20.0))
    assert (batch.fills[0].count, batch.whole_serves) == (15, 60)
    assert 740.0 * (1.0 - 1e-9) <= batch.fills[0].liquid_ml <= 800.0


def test_a_serve_larger_than_the_vessel_is_refused():
    """Half a litre at 0.8 holds 400 ml, less than 440, and 450 at the most: 0.88 holds one. 470 ml it never holds."""
    jug = Spec("a jug to share, invented", (water(440.0),))
    with pytest.raises(Refused) as refused:
        made(10, spec=jug, vessel=VesselGiven("pet-500-ml"))
    (fault,), (nearest,) = refused.value.faults, refused.value.nearest
    assert (fault.pointer, fault.code) == ("/size/whole_serves/vessel/capacity", "under-one-serve")
    assert (nearest.pointer, nearest.value) == ("/size/whole_serves/fill", 0.88)
    assert made(10, spec=jug, vessel=VesselGiven("pet-500-ml"), fill=0.88).fills[0].count == 10
    with pytest.raises(Refused) as refused:
        made(10, spec=Spec("more, invented", (water(470.0),)), vessel=VesselGiven("pet-500-ml"))
    assert refused.value.nearest == ()


def test_more_than_the_largest_batch_is_refused_with_what_is_not():
    """100 000 l are the most; one glass of 1.9 l to a bottle of 0.9 x 2.2 = 1.98 l makes 50 505 bottles."""
    spec = Spec("nearly two litres, invented", (water(1900.0),))
    vessel = VesselGiven("pet-2-l", capacity_ml=2200.0)
    with pytest.raises(Refused) as refused:
        made(90_000, spec=spec, vessel=vessel, fill=0.9)
    (fault,), (nearest,) = refused.value.faults, refused.value.nearest
    assert (fault.pointer, fault.code) == ("/size/whole_serves/count", "too-large")
    assert (nearest.pointer, nearest.value) == (fault.pointer, 50_505)  # 1e8 ml / 1980 ml
    assert made(50_505, spec=spec, vessel=vessel, fill=0.9).serves == 50_505


def test_named_vessels_tell_their_whole_serves():
    """3 x 800 ml hold twelve of 185, 2 x 1600 hold sixteen (1600 = 8 x 185 + 120); the heel differs by kind."""
    groups = (SizedVessel(LITRE, 3, 0.8), SizedVessel(VesselGiven("pet-2-l"), 2, 0.8))
    batch = scale(GLASS, Size(vessels=groups), Notes())
    assert (batch.whole_serves, batch.heel_ml) == (28, None)
    assert batch.serves == 30  # 5600 ml / 185, as if the heels could be poured together
    alone = scale(GLASS, Size(vessels=groups[1:]), Notes())
    assert (alone.whole_serves, round(alone.heel_ml or 0.0)) == (16, 120)


def test_without_vessels_there_are_none_to_tell_of():
    batch = scale(GLASS, Size(serves=60), Notes())
    assert (batch.whole_serves, batch.heel_ml) == (None, None)


@settings(max_examples=100, deadline=None)
@given(
    count=st.integers(1, 2000),
    serve_ml=st.floats(30.0, 700.0),
    fill=st.floats(0.75, 0.9),
    abv=st.floats(0.0, 40.0),
)
def test_each_vessel_pours_its_serves_and_no_more(count, serve_ml, fill, abv):
    spec = Spec("any", (spirit(serve_ml / 2, abv), water(serve_ml / 2), Component("salt", ml(1.0), salt_g_per_l=9.0)))
    batch = made(count, spec=spec, fill=fill)
    (found,) = batch.fills
    each = batch.serves // found.count
    assert batch.serves == each * found.count == batch.whole_serves
    assert found.count == ceil(count / each)  # no vessel more than is needed
    assert each * batch.serve_ml + batch.heel_ml == pytest.approx(found.liquid_ml)
    assert 0.0 <= batch.heel_ml < batch.serve_ml
    assert found.count * found.liquid_ml == pytest.approx(batch.volume_ml, rel=1e-9)
