"""Causes of gushing and foam in a drink, and their remedies."""

import pytest

from service.drink import Amount, Component, Drink, DrinkGiven, Spec, caution_bubbles, drink_of
from service.notes import Notes
from service.science.mixture import masses_of
from service.science.units import Quantity


def drink(**more: object) -> Drink:
    return Drink(masses_of(1000.0, abv=9.0, sugar_g_per_l=70.0), 0.0, **more)  # type: ignore[arg-type]


@pytest.mark.parametrize("made, code, helps", [
    (drink(clarity="hazy"), "gushing", ("settle", "filter", "enzyme", "agar", "centrifuge")),
    (drink(clarity="pulpy"), "gushing", ("strain", "centrifuge", "agar", "enzyme", "filter")),
    (drink(foams=True), "foams", ("egg", "dairy", "tea", "coffee", "gum", "headspace", "slowly")),
])  # fmt: skip
def test_what_gushes_says_what_helps(made: Drink, code: str, helps: tuple[str, ...]) -> None:
    """Common practice, no source; and no figure, since there is none to be had."""
    notes = Notes()
    caution_bubbles(made, notes)
    (said,) = (c.text.lower() for c in notes.cautions if c.code == code)
    assert all(word in said for word in helps)
    assert not any(c.isdigit() for c in said)


def test_what_gushes_is_pointed_at() -> None:
    amount = Amount(Quantity("volume", 30.0), "ml")
    spec = Spec("house", (Component("gin", amount, abv=40.0), Component("juice", amount, abv=0.0, clarity="pulpy"),
                          Component("white", amount, abv=0.0, foams=True)))  # fmt: skip
    notes = Notes()
    caution_bubbles(drink_of(DrinkGiven(spec=spec), notes), notes, at="/drink")
    assert {c.code: c.pointers for c in notes.cautions if c.pointers} == {
        "gushing": ("/drink/spec/components/1/clarity",),
        "foams": ("/drink/spec/components/2/foams",),
    }
