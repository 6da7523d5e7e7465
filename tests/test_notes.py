import pytest

from service.errors import Fault, Nearest, Refusals, Refused, SeveralRefused
from service.notes import Notes


def test_pointers_of_a_part_become_pointers_of_the_whole():
    notes = Notes()
    with notes.within({"": "/carbonation", "/vessel": "/vessel"}):
        notes.assume("target", 7.0, "default", at="/target")
        notes.caution("x", "info", "x", at=("/vessel/preset", "/vesselx"))
    assert notes.assumptions[0].pointers == ("/carbonation/target",)
    assert notes.cautions[0].pointers == ("/vessel/preset", "/carbonation/vesselx")


def test_parts_within_parts_move_twice():
    notes = Notes()
    with notes.within({"": "/outer"}), notes.within({"": "/inner"}):
        notes.assume("x", 1.0, "default", at="/x")
    assert notes.assumptions[0].pointers == ("/outer/inner/x",)


def test_refusals_inside_move_with_their_nearest():
    with pytest.raises(Refused) as caught, Notes().within({"/target": "/carbonation/target"}):
        raise Refused("unreachable", [Fault("/target", "x", "x")], nearest=[Nearest("/target", 1.0)])
    assert caught.value.faults[0].pointer == "/carbonation/target"
    assert caught.value.nearest[0].pointer == "/carbonation/target"


def test_the_same_note_is_kept_once():
    notes = Notes()
    for _ in range(2):
        notes.assume("x", 1.0, "default", at="/x")
        notes.caution("y", "info", "y", n=1.0)
    assert (len(notes.assumptions), len(notes.cautions)) == (1, 1)


def test_refusals_are_raised_together():
    refusals = Refusals()
    for slug in ("too-warm", "live-culture"):
        with refusals.gather():
            raise Refused(slug, [Fault("/x", slug, slug)])
    with pytest.raises(SeveralRefused) as caught:
        refusals.raise_any()
    assert [r.slug for r in caught.value.refusals] == ["too-warm", "live-culture"]


def test_one_refusal_stays_itself():
    refusals = Refusals()
    with refusals.gather():
        raise Refused("too-warm", [Fault("/x", "x", "x")])
    with pytest.raises(Refused):
        refusals.raise_any()


def test_what_is_said_of_several_components_is_said_once():
    notes = Notes()
    notes.caution_for_all("x", "warning", "x {components}", {"/a/abv": "A", "/b/abv": "B"})
    with notes.within({"/a": "/outer"}):
        notes.caution_for_all("x", "warning", "x {components}", {"/a/abv": "A", "/c/abv": "C"})
    notes.caution("x-not", "info", "x")
    (caution, _) = notes.cautions
    assert caution.pointers == ("/a/abv", "/b/abv", "/outer/abv", "/c/abv")
    assert (caution.about, caution.params) == (("A", "B", "C"), {"components": "A, B, C"})


def test_of_many_components_the_first_are_named():
    notes = Notes()
    notes.caution_for_all("x", "warning", "x {components}", {f"/{i}": f"n{i}" for i in range(8)})
    assert notes.cautions[0].params["components"] == "n0, n1, n2, n3, n4 and 3 more"


def test_what_is_said_once_joins_with_what_was_gathered_elsewhere():
    notes, other = Notes(), Notes()
    notes.caution_for_all("x", "warning", "x {components}", {"/a": "A"})
    other.caution_for_all("x", "warning", "x {components}", {"/b": "B"})
    notes.join(other)
    assert [caution.pointers for caution in notes.cautions] == [("/a", "/b")]
