"""One spec in many venues, as a library."""

from dataclasses import replace
from decimal import Decimal
from importlib import import_module

import pytest

from service import batching, carbonation, regas
from service.batching import BatchRequest, Rounding, Size
from service.carbonation import ChargesAsked, ReadingAsked, StandardCarbonation
from service.drink import Amount, Component, Spec, Sugar, drink_of
from service.drink.spec import DrinkGiven
from service.errors import Refused, SeveralRefused
from service.money import Money
from service.notes import Notes
from service.rollout import RolloutRequest, Spreads, Standard, begin, begin_with_offer, check, venue
from service.science.constants import ATMOSPHERE_BAR
from service.science.units import Quantity
from service.site import Air, Price, Scale, Shift, Site
from service.vessel import SizedVessel, VesselGiven

PET = (SizedVessel(VesselGiven("pet-1-l"), 6, 0.8),)
ONE = (SizedVessel(VesselGiven("pet-1-l"), 1, 0.8),)
SHIFT = Shift(6.0, lasts_s=4 * 3600.0, floor_g_per_l=4.5, holding_temperature_c=4.0)


def asking(spec, sites, standard=None):
    return RolloutRequest(spec=spec, sites=tuple(sites), standard=standard or Standard())


def component(name, ml, **known):
    return Component(name, Amount(Quantity("volume", float(ml)), "ml"), **known)


SPEC = Spec("invented highball", (
    component("spirit", 40, abv=40.0),
    component("cordial", 20, sugar=Sugar(500.0, "g/l"), acidity_meq_per_l=180.0, keeps_s=14 * 86400.0),
    component("water", 120, abv=0.0),
))  # fmt: skip


def standard(**known):
    plan = StandardCarbonation(target_g_per_l=6.0, temperature_c=1.0, air=Air("none"))
    return Standard(**{"carbonation": plan, "shift": SHIFT, **known})


def site(name="here", **known):
    return Site(**{"id": name, "vessels": PET, "warmest_room_c": 25.0, **known})


def at(where, **known):
    return venue(begin(asking(SPEC, (where,), standard(**known)), Notes()), where)


def iso_2533_bar(altitude_m):
    """ISO 2533:1975, clause 2: p = pb (1 + beta (H - Hb)/Tb)^(-gn/(beta R)), from its own constants."""
    gn, r, beta, tb, pb = 9.80665, 287.05287, -0.0065, 288.15, 1.01325
    return pb * (1.0 + beta * altitude_m / tb) ** (-gn / (beta * r))


@pytest.mark.parametrize("altitude_m", [0.0, 250.0, 500.0, 1000.0, 1600.0, 2240.0])
def test_the_gauge_shifts_by_what_the_air_presses_less_as_iso_2533_has_it(altitude_m):
    """Without air in the vessel the same absolute pressure holds the same level; the standard prints 0.01 hPa."""
    sea, here = at(site(altitude_m=0.0)), at(site(altitude_m=altitude_m))
    shift = here.vessels[0].gauge_pressure_bar.typical - sea.vessels[0].gauge_pressure_bar.typical
    assert shift == pytest.approx(ATMOSPHERE_BAR - iso_2533_bar(altitude_m), abs=0.5e-5)


@pytest.mark.parametrize("air", [Air("none"), Air("squeezed", 20.0), Air("purged", None, 3, 1.0), Air("left")])
def test_every_set_point_reads_as_the_same_level(air):
    """By the reading operation: the gauge at rest at each venue's set-point shows the target, air counted off."""
    cool = {"warmest_room_c": 15.0}
    plan = StandardCarbonation(target_g_per_l=4.5, temperature_c=1.0, air=air)
    kegs = (SizedVessel(VesselGiven("keg-19-l"), 1, 0.85),)
    places = [site("a", altitude_m=0.0, **cool), site("b", altitude_m=1600.0, **cool),
              site("c", barometer_bar=0.97, **cool)]  # fmt: skip
    if air.method != "squeezed":
        places.append(site("d", altitude_m=800.0, vessels=kegs, **cool))
    asked = begin(asking(SPEC, places, standard(carbonation=plan)), Notes())
    drink = drink_of(DrinkGiven(spec=SPEC), Notes())
    for place in places:
        one, vessel = venue(asked, place).vessels[0], place.vessels[0]
        gauged = ReadingAsked(
            vessel=vessel.vessel, fill=vessel.fill, gauge_pressure_bar=one.gauge_pressure_bar.typical,
            temperature_c=1.0,
            site=place, air=one.charging.planned.setting.air, target_g_per_l=4.5,
        )  # fmt: skip
        read = carbonation.read(drink, gauged, Notes())
        assert read.co2_g_per_l.typical == pytest.approx(4.5, rel=1e-6)


def test_a_venue_is_told_what_the_operations_tell_it_one_by_one():
    """The batch, the charges and the re-gas interval are those of scale, charge and forecast for the same request."""
    where = site(altitude_m=900.0, scale=Scale(1.0))
    found, drink = at(where), drink_of(DrinkGiven(spec=SPEC), Notes())
    (one,) = found.vessels
    asked = BatchRequest(spec=SPEC, size=Size(vessels=PET), scale=Scale(1.0), rounding=Rounding())
    batch = batching.scale(asked, Notes())
    assert found.batch.made.components == batch.components
    assert found.batch.made.weighing == batch.weighing
    assert found.batch.made.fills == batch.fills
    alone = ChargesAsked(
        vessel=PET[0].vessel, fill=0.8, temperature_c=1.0, target_g_per_l=6.0, air=Air("none"), site=where
    )
    charging = carbonation.charge(drink, alone, Notes())
    assert one.co2_g_per_l.typical == pytest.approx(charging.charges[-1].co2_g_per_l.typical, rel=1e-12)
    assert one.charging.never_over_bar_gauge == pytest.approx(charging.never_over_bar_gauge, rel=1e-9)
    made = found.batch.made
    shift = regas.ForecastAsked(
        vessel=PET[0].vessel, vessel_count=6, fill=0.8, temperature_c=1.0, co2_g_per_l=one.co2_g_per_l.typical,
        air=Air("none"), pour=regas.Pour(made.drink.volume_ml / made.glasses), shift=SHIFT, site=where,
    )  # fmt: skip
    forecast = regas.forecast(drink, shift, Notes(), charged=one.co2_g_per_l)
    assert one.regas_after == forecast.regas_after
    assert one.glass_g_per_l.typical == pytest.approx(forecast.pours[0].glass.typical, rel=1e-12)
    assert one.glass_g_per_l.low == pytest.approx(forecast.pours[0].glass.low, rel=1e-12)


def test_the_level_is_the_same_and_the_glass_is_not():
    """At altitude an open bottle holds less: the air presses less on it (Henry's law)."""
    places = [site("low", altitude_m=0.0), site("high", altitude_m=2000.0)]
    asked, spreads = begin(asking(SPEC, places, standard()), Notes()), Spreads()
    for place in places:
        spreads.add(venue(asked, place))
    found = spreads.found()
    assert found.co2.highest.figure.value - found.co2.lowest.figure.value < 1e-3
    assert found.glass.lowest.site == "high"
    assert found.glass.highest.figure.value - found.glass.lowest.figure.value > 0.02
    assert found.abv.lowest.figure <= found.abv.median <= found.abv.highest.figure


def test_what_differs_is_told_with_its_reason():
    differs = {one.code: one for one in at(site(altitude_m=1600.0, scale=Scale(20.0), vessels=ONE)).differs}
    altitude = differs["altitude"]
    assert altitude.pointer == "/site/altitude"
    assert altitude.params["altitude"] == Quantity("length", 1600.0)
    assert altitude.here.value - altitude.standard.value == pytest.approx(altitude.params["change"].value)
    acidity = differs["acidity"]
    assert acidity.pointer == "/site/scale"
    share = 100.0 * (acidity.here.value / acidity.standard.value - 1.0)
    assert abs(share) == pytest.approx(acidity.params["percent"], rel=0.05)  # two digits are shown
    cordial, *_ = (line for line in at(site(vessels=ONE)).batch.made.components if line.name == "cordial")
    whole_g = sum(line.mass_g for line in at(site(vessels=ONE)).batch.made.components)
    # half a step of what brings the acid, and three halves of the whole, are the most that it can be off
    assert abs(share) < 100.0 * (10.0 / cordial.mass_g + 30.0 / whole_g)


def test_a_scale_that_leaves_nothing_of_a_component_is_told_so():
    found = at(site(scale=Scale(500.0), vessels=ONE))
    assert [one.code for one in found.differs if one.pointer == "/site/scale"] == ["nothing-left"]
    assert (found.batch.abv, found.batch.titratable_acidity_meq_per_l) == (None, None)


def test_the_standard_itself_does_not_differ():
    assert at(site(altitude_m=0.0, scale=Scale(0.001))).differs == ()


def test_an_unstated_target_is_one_for_all():
    """What the standard's vessel stands, not what each venue's does: the guest gets the same drink."""
    plan = StandardCarbonation(temperature_c=1.0, air=Air("none"))
    cool = site("cool", altitude_m=0.0, warmest_room_c=18.0)
    asked = begin(asking(SPEC, (cool,), standard(carbonation=plan)), Notes())
    assert venue(asked, cool).vessels[0].charging.planned.target_g_per_l == asked.target_g_per_l
    assert asked.target_g_per_l == asked.reference.charging.planned.target_g_per_l


def test_a_standard_that_is_refused_at_its_own_place_refuses_no_venue():
    """The usual bottle takes under 8.3 g/l of it at fill 0.80; filled to 0.75 it stands that; first computation."""
    plan = StandardCarbonation(target_g_per_l=8.3, temperature_c=1.0)
    less = (SizedVessel(VesselGiven("pet-1-l"), 6, 0.75),)
    low, notes = site("filled lower", vessels=less), Notes()
    asked = begin(asking(SPEC, (low,), standard(carbonation=plan)), notes)
    assert asked.reference is None
    (told,) = (c for c in notes.cautions if c.pointers == ("/standard",))
    assert told.code == "standard-refused"
    assert "Do not charge: " in told.text  # why, in words and not in codes
    assert told.params.keys() >= {"vessel", "reached", "closed_limit"}
    assert venue(asked, low).vessels[0].gauge_pressure_bar.typical > 0.0
    with pytest.raises(Refused, match="closed-limit"):
        venue(asked, site("as usual"))
    with pytest.raises(Refused, match="closed-limit"):  # a cool room lets nothing through that 30 degC does not
        venue(asked, site("cool", warmest_room_c=15.0))


@pytest.mark.parametrize(
    "change, pointer, code",
    [
        ({"altitude_m": 1600.0, "barometer_bar": 1.01}, "/site/barometer", "contradicts-altitude"),
        ({"altitude_m": 2500.0, "warmest_room_c": 40.0}, "/standard/carbonation/target", "closed-limit"),
        ({"regulator_max_bar": 100.0}, "/site/relief_set", "relief-missing"),
        ({"vessels": (SizedVessel(VesselGiven("pet-1-l", condition="bulged"), 2),)},
         "/site/vessels/0/vessel/condition", "unsound"),
        ({"vessels": (SizedVessel(VesselGiven("pet-1-l"), 2), SizedVessel(VesselGiven("pet-1-l"), 2, 0.95))},
         "/site/vessels/1/fill", "no-headspace"),
        ({"scale": Scale(10.0, 5.0)}, "/site/scale/capacity", "under-resolution"),
        ({"prices": (Price("rum", Amount(Quantity("volume", 700.0), "ml"), Money(Decimal(20), "EUR")),)},
         "/site/prices/0/component", "unknown-component"),
    ],
)  # fmt: skip
def test_a_venue_is_refused_alone(change, pointer, code):
    """7 g/l come to 6.96 bar in a room of 38 degC; first computation, common practice."""
    places = (site("right"), replace(site("wrong"), **change))
    plan = StandardCarbonation(target_g_per_l=7.0, temperature_c=1.0)
    asked = begin(asking(SPEC, places, standard(carbonation=plan)), Notes())
    with pytest.raises((Refused, SeveralRefused)) as refused:
        venue(asked, places[1])
    each = getattr(refused.value, "refusals", (refused.value,))
    assert (pointer, code) in [(fault.pointer, fault.code) for one in each for fault in one.faults]
    assert venue(asked, places[0]).vessels
    with pytest.raises(type(refused.value)) as checked:
        check(begin_with_offer(asked, asked.asked.standard), places[1])
    assert str(checked.value) == str(refused.value)
    check(begin_with_offer(asked, asked.asked.standard), places[0])


def test_a_standard_that_is_only_tried_is_judged_like_one_that_is_asked_for():
    warm = site(altitude_m=2000.0, warmest_room_c=33.0)
    strong = standard(carbonation=StandardCarbonation(target_g_per_l=9.0, temperature_c=1.0))
    asked = begin(asking(SPEC, (warm,), standard()), Notes())
    begun = begin_with_offer(asked, strong)
    with pytest.raises(Refused) as one:
        check(begun, warm)
    with pytest.raises(Refused) as other:
        venue(begin(asking(SPEC, (warm,), strong), Notes()), warm)
    assert (one.value.faults, one.value.nearest) == (other.value.faults, other.value.nearest)
    assert begun.glass is asked.glass
    assert begun.target_g_per_l == 9.0


def test_what_belongs_to_the_spec_is_worked_out_once(monkeypatch):
    """Portions, fingerprint and allergens once; a batch and a vessel once for all venues that are alike in it."""
    making, module = import_module("service.batching.making"), import_module("service.rollout.shared_work")
    counted = {}

    def counting(owner, name):
        original = getattr(owner, name)

        def count(*args, **kwargs):
            counted[name] = counted.get(name, 0) + 1
            return original(*args, **kwargs)

        monkeypatch.setattr(owner, name, count)

    counting(making, "portions")
    counting(module.batching, "spec_id")
    counting(module.batching, "allergens_of")
    counting(module.batching, "make")
    counting(module, "chilled_in")
    counting(module, "charged_in")
    places = [site(f"no {i}", altitude_m=float(100 * (i % 5)), scale=Scale(1.0)) for i in range(50)]
    asked = begin(asking(SPEC, places, standard()), Notes())
    for place in places:
        venue(asked, place)
    assert counted["portions"] == counted["spec_id"] == counted["allergens_of"] == 1
    assert counted["make"] == 1 + 1  # and once for what is assumed of every batch
    assert counted["chilled_in"] == 1 + 1  # and the standard's own
    assert counted["charged_in"] == 5 + 1


def test_notes_of_a_venue_are_its_own():
    notes = Notes()
    where = site(altitude_m=300.0, warmest_room_c=25.0)
    found = venue(begin(asking(SPEC, (where,), standard()), notes), where)
    assert not set(found.notes.assumptions) & set(notes.assumptions)
    assert "allergens-unstated" in [c.code for c in notes.cautions]  # of the spec
    assert "allergens-unstated" not in [c.code for c in found.notes.cautions]
    assert "cool-room" in [c.code for c in found.notes.cautions]  # of the venue
    assert "cool-room" not in [c.code for c in notes.cautions]
    every = [p for one in (*notes.assumptions, *notes.cautions, *found.notes.assumptions, *found.notes.cautions)
             for p in one.pointers]  # fmt: skip
    assert all(pointer.split("/")[1] in ("spec", "standard", "site") for pointer in every)
