"""Declarations: an invented request, read as the module says it is; and every request and answer that there is.

Expected values are written out by hand from the declaration above them. What Python itself says of a dataclass
(PEP 557: fields in their order, those of bases first) and of Annotated (PEP 593: nested ones are flattened) is its
language reference.
"""

import dataclasses
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import MISSING, dataclass, field
from datetime import datetime
from functools import cached_property
from typing import Annotated, Any, Generic, Literal, TypeVar, get_type_hints

import pytest

from service import declared
from service.api.app import OPERATIONS
from service.api.references import REFERENCES
from service.declared import (
    AS_SENT,
    INLINE,
    LARGEST,
    LOCALE,
    Bounds,
    Choice,
    Declared,
    Inline,
    Items,
    Member,
    Quantified,
    Rule,
    Words,
    acidity,
    amount,
    choice,
    co2,
    duration,
    is_shape,
    items,
    length,
    mass,
    members,
    number,
    pressure,
    salt,
    shape,
    shape_of,
    sugar,
    temperature,
    text,
    volume,
    whole,
)
from service.errors import Fault
from service.science.band import Band

T = TypeVar("T")
Garnish = Literal["none", "twist", "olive"]
Counted = Annotated[int, whole(low=1, high=9), "Under a name."]
Share = Annotated[float | None, number(low=0.0, high=1.0), "Under a name."]


def _odd(sent: Mapping[str, Any]) -> Iterator[Fault]:
    if sent.get("count", 0) % 2:
        yield Fault("/count", "odd", "Must be even.")


def _full(sent: Mapping[str, Any]) -> Iterator[Fault]:
    if sent.get("full"):
        yield Fault("/full", "too-full", "Must not be full.")


@dataclass(frozen=True)
class Straw:
    """An invented part."""

    length_m: Annotated[float, length(low=0.05, high=0.5)]
    bent: Declared[bool] = False


@shape("Stem", rules=[_odd])
@dataclass(frozen=True)
class Base:
    """An invented base."""

    count: Annotated[int, whole(low=0, high=12), "How many."]
    stays_inside: int = 0


@shape("Glass", rules=[_full], elsewhere=[Fault("/colour", "of-the-shelf", "Stated by the shelf.")])
@dataclass(frozen=True)
class Glass(Base):
    """An invented request with one of everything."""

    capacity_ml: Annotated[float | None, volume(low=20.0, high=2000.0), "Brimful."] = None
    garnish: Annotated[Garnish, "What lies on it."] = "none"
    straws: Annotated[tuple[Straw, ...], items(4)] = ()
    chills_c: Annotated[Sequence[Annotated[float, temperature()]], items(3, least=2)] = (1.0, 2.0)
    etched: Declared[str | None] = None
    share: Share = None
    kind: Annotated[str | None, choice(["flute", "coupe"])] = None
    straw: Inline[Straw | None] = None
    kept: Annotated[dict[str, Any], AS_SENT] = field(default_factory=dict)
    hidden: float = 1.0

    @property
    def brim_ml(self) -> Annotated[float, volume(), "Computed."]:
        return 2.0

    @cached_property
    def weight_g(self) -> Annotated[float | None, mass()]:
        return None

    @property
    def inner(self) -> float:
        return 1.0


BY_NAME = {one.name: one for one in members(Glass)}


# Members


def test_what_is_declared_is_found_in_its_order_and_nothing_else() -> None:
    """Fields of the base first, then its own (PEP 557), then properties; what declares nothing stays inside."""
    assert [one.name for one in members(Glass)] == [
        "count", "capacity_ml", "garnish", "straws", "chills_c", "etched", "share", "kind", "straw", "kept", "brim_ml",
        "weight_g",
    ]  # fmt: skip


def test_the_wire_leaves_out_the_unit() -> None:
    assert {one.name: one.wire for one in members(Glass) if one.name != one.wire} == {
        "capacity_ml": "capacity", "chills_c": "chills", "brim_ml": "brim", "weight_g": "weight",
    }  # fmt: skip


@pytest.mark.parametrize("declares, name, wire", [
    (volume, "capacity_ml", "capacity"), (mass, "weighed_g", "weighed"), (pressure, "dial_bar_gauge", "dial"),
    (pressure, "barometer_bar", "barometer"), (temperature, "goal_c", "goal"), (duration, "lasts_s", "lasts"),
    (co2, "start_co2_g_per_l", "start_co2"), (sugar, "sugar_g_per_l", "sugar"), (length, "altitude_m", "altitude"),
    (acidity, "ta_meq_per_l", "ta"), (salt, "salt_g_per_l", "salt"),
    # Not its unit, or none: the name stays
    (amount, "content", "content"), (number, "share_c", "share_c"), (volume, "ml", "ml"),
    (mass, "weighed_ml", "weighed_ml"), (pressure, "bar_count", "bar_count"), (temperature, "serves", "serves"),
])  # fmt: skip
def test_every_kind_of_quantity_goes_without_its_own_unit(declares: Callable[[], Any], name: str, wire: str) -> None:
    made = dataclasses.make_dataclass("Made", [(name, Annotated[float, declares()])])
    (one,) = members(made)
    assert (one.name, one.wire) == (name, wire)


def test_what_may_be_none_may_be_left_out_and_says_its_default() -> None:
    optional = {name for name, one in BY_NAME.items() if one.optional}
    assert optional == {"capacity_ml", "etched", "share", "kind", "straw", "weight_g"}
    assert BY_NAME["count"].default is MISSING
    assert (BY_NAME["garnish"].default, BY_NAME["capacity_ml"].default) == ("none", None)
    assert BY_NAME["kept"].default is dict


def test_the_type_is_told_without_none_and_without_what_stands_beside_it() -> None:
    types = {name: BY_NAME[name].type for name in ("count", "capacity_ml", "garnish", "etched", "share", "straw")}
    assert types == {
        "count": int, "capacity_ml": float, "garnish": Garnish, "etched": str, "share": float, "straw": Straw,
    }  # fmt: skip


def test_bounds_lists_choices_and_lines_are_those_that_were_declared() -> None:
    assert BY_NAME["count"].measure == Bounds(0, 12)
    assert BY_NAME["capacity_ml"].measure == Quantified(20.0, 2000.0, None, "volume")
    assert BY_NAME["straws"].items == Items(4, 1)
    assert BY_NAME["chills_c"].items == Items(3, 2)
    assert BY_NAME["kind"].choice == Choice(("flute", "coupe"))
    assert BY_NAME["share"].measure == Bounds(0.0, 1.0)  # declared under a name, and so flattened (PEP 593)
    lines = {name: one.description for name, one in BY_NAME.items() if one.description}
    assert lines == {
        "count": "How many.", "capacity_ml": "Brimful.", "garnish": "What lies on it.", "share": "Under a name.",
        "brim_ml": "Computed.",
    }  # fmt: skip


def test_a_list_tells_what_is_in_it() -> None:
    straws, chills = BY_NAME["straws"].item, BY_NAME["chills_c"].item
    assert straws is not None
    assert straws.type is Straw
    assert chills is not None
    assert (chills.type, chills.kind) == (float, "temperature")
    assert BY_NAME["count"].item is None


def test_markers_are_kept() -> None:
    assert INLINE in BY_NAME["straw"].markers
    assert AS_SENT in BY_NAME["kept"].markers
    assert BY_NAME["count"].markers == ()


def test_properties_are_computed_and_fields_are_not() -> None:
    assert {one.name for one in members(Glass) if one.computed} == {"brim_ml", "weight_g"}
    assert BY_NAME["brim_ml"].measure == Quantified(None, LARGEST, 0.0, "volume")


def test_a_property_that_is_declared_anew_stands_once() -> None:
    @dataclass(frozen=True)
    class Other(Glass):
        @property
        def brim_ml(self) -> Annotated[float, volume(), "Told otherwise."]:
            return 3.0

    assert [one.name for one in members(Other)].count("brim_ml") == 1
    (told,) = (one for one in members(Other) if one.name == "brim_ml")
    assert told.description == "Told otherwise."


def test_a_later_line_takes_the_place_of_one_under_a_name() -> None:
    """Beside the type the last of each kind counts: PEP 593 keeps the order in which they are written."""

    @dataclass(frozen=True)
    class Made:
        share: Annotated[Share, "Its own.", number(low=0.5, high=1.0)] = None
        other: Annotated[Counted | None, "Its own.", whole(low=2, high=3)] = None

    for one, bounds in zip(members(Made), (Bounds(0.5, 1.0), Bounds(2, 3)), strict=True):
        assert (one.description, one.measure, one.optional) == ("Its own.", bounds, True)


def test_what_may_be_one_of_several_or_none_keeps_the_several() -> None:
    @dataclass(frozen=True)
    class Made:
        either: Declared[int | str | None] = None

    (one,) = members(Made)
    assert one.optional
    assert one.type == int | str


def test_a_type_that_is_not_filled_in_is_a_fault_of_the_program() -> None:
    @dataclass(frozen=True)
    class Made(Generic[T]):
        anything: Declared[T]

    with pytest.raises(TypeError, match="anything declares no type"):
        members(Made)


def test_only_dataclasses_that_declare_something_are_objects() -> None:
    @dataclass(frozen=True)
    class Silent:
        inside: int = 0

    assert is_shape(Glass)
    assert not any(map(is_shape, (Silent, int, str, Glass(1), list[int], datetime)))


# Bounds, by the docstrings: over nothing unless stated, or from the least number to the largest


@pytest.mark.parametrize("declares", [volume, mass, amount, duration])
def test_what_cannot_be_nothing_is_over_nothing_unless_stated(declares: Callable[..., Quantified]) -> None:
    assert (declares().low, declares().above, declares().high) == (None, 0.0, 1e7)
    assert (declares(low=0.0).low, declares(low=0.0).above) == (0.0, None)
    assert (declares(above=5.0).low, declares(above=5.0).above) == (None, 5.0)
    assert declares(high=3.0).high == 3.0


@pytest.mark.parametrize("declares", [pressure, temperature, co2, length, salt])
def test_what_may_be_under_nothing_has_no_bound_of_its_own(declares: Callable[..., Quantified]) -> None:
    assert (declares().low, declares().above, declares().high) == (-1e7, None, 1e7)
    assert (declares(low=-2.0).low, declares(low=-2.0).above) == (-2.0, None)
    assert (declares(above=0.0).low, declares(above=0.0).above) == (None, 0.0)


def test_numbers_sugar_and_acidity() -> None:
    assert number() == Bounds(-1e7, 1e7, None)
    assert number(above=0.0) == Bounds(None, 1e7, 0.0)
    assert (sugar().low, sugar().high, sugar().kind) == (0.0, 1200.0, "sugar")
    assert (acidity().low, acidity().high, acidity().kind) == (0.0, 20_000.0, "acidity")


def test_texts_and_choices() -> None:
    assert text(200) == Words(200, 1, "")
    assert (LOCALE.longest, LOCALE.form) == (35, "locale")
    one = choice(["a"], lambda wrong: Fault("", "no", str(wrong)))
    assert one == choice(["a"])  # what is said of another word does not tell two choices apart
    assert one.otherwise is not None
    assert one.otherwise(3).text == "3"


# Shapes


def faults(rules: tuple[Rule, ...], sent: dict[str, Any]) -> list[str]:
    return [fault.code for rule in rules for fault in rule(sent)]


def test_rules_of_a_base_come_before_its_own() -> None:
    assert faults(shape_of(Glass).rules, {"count": 3, "full": True}) == ["odd", "too-full"]
    assert faults(shape_of(Base).rules, {"count": 3, "full": True}) == ["odd"]


def test_what_declares_nothing_has_the_rules_of_all_its_bases_and_its_own_name() -> None:
    @dataclass(frozen=True)
    class Silent(Glass):
        pass

    @dataclass(frozen=True)
    class Quiet:
        pass

    assert shape_of(Silent).name == "Silent"
    assert faults(shape_of(Silent).rules, {"count": 3, "full": True}) == ["odd", "too-full"]
    assert shape_of(Quiet) == declared.Shape("Quiet")


def test_a_shape_that_is_declared_anew_keeps_the_rules() -> None:
    def never(sent: Mapping[str, Any]) -> Iterator[Fault]:
        yield Fault("", "never", "Never.")

    @shape(rules=[never])
    @dataclass(frozen=True)
    class More(Glass):
        pass

    assert faults(shape_of(More).rules, {"count": 3}) == ["odd", "never"]
    assert (shape_of(More).name, shape_of(Glass).name) == ("More", "Glass")
    assert faults(shape_of(Glass).rules, {"count": 3}) == ["odd"]  # what a child declares is not its base's


def test_a_choice_and_what_stands_elsewhere_are_of_the_shape_itself() -> None:
    @shape(exactly_one=True, asked=True)
    @dataclass(frozen=True)
    class Either:
        one: Declared[int | None] = None
        other: Declared[int | None] = None

    assert shape_of(Either).exactly_one
    assert shape_of(Either).asked
    assert not shape_of(Glass).exactly_one
    assert set(shape_of(Glass).elsewhere) == {"colour"}
    assert shape_of(Glass).elsewhere["colour"].code == "of-the-shelf"


# Every request and every answer that there is


def every(kind: Any, seen: set[Any]) -> Iterator[tuple[Any, Member]]:
    """Each declared member of a shape and of all that stands in it, with the shape that has it."""
    if kind in seen or not is_shape(kind):
        return
    seen.add(kind)
    for one in members(kind):
        yield kind, one
        within: Member | None = one
        while within is not None:
            yield from every(within.type, seen)
            within = within.item


ASKED = [pair for seen in [set[Any]()] for operation in OPERATIONS for pair in every(operation.request, seen)]
ANSWERED = [
    pair for seen in [set[Any]()] for one in (*OPERATIONS, *REFERENCES) for pair in every(one.answer, seen)
]  # fmt: skip


def test_the_walk_reaches_the_parts() -> None:
    assert len(ASKED) > 200
    assert len(ANSWERED) > 200


def test_no_two_members_of_an_object_have_one_name_on_the_wire() -> None:
    for kind in {kind for kind, _ in (*ASKED, *ANSWERED)}:
        wire = [one.wire for one in members(kind)]
        assert len(set(wire)) == len(wire), kind


def test_names_on_the_wire_are_in_snake_case_and_never_a_unit() -> None:
    """Contract of the wire: lower case with underscores; a quantity has its unit beside the value."""
    for kind, one in (*ASKED, *ANSWERED):
        assert one.wire == one.wire.lower(), (kind, one)
        assert one.wire.isidentifier(), (kind, one)
        if one.kind is not None and one.type in (float, Band):
            assert not one.wire.endswith(("_ml", "_bar", "_c", "_g", "_g_per_l", "_bar_gauge")), (kind, one)


def test_every_list_of_a_request_is_bounded() -> None:
    """OWASP API4 (2023): unrestricted resource consumption. 5000 events are a month of a busy bottle."""
    for kind, one in ASKED:
        if one.item is not None and not one.computed:
            assert one.items is not None, (kind, one.name)
            assert 0 <= one.items.least <= one.items.most <= 5000, (kind, one.name)


def test_every_bound_of_a_request_leaves_room_and_is_finite() -> None:
    for kind, one in ASKED:
        if one.measure is None or one.computed:
            continue
        lowest = one.measure.above if one.measure.low is None else one.measure.low
        assert lowest is not None, (kind, one.name)
        assert one.measure.high is not None, (kind, one.name)
        assert -1e7 <= lowest < one.measure.high <= 1e11, (kind, one.name)


def test_what_a_request_may_leave_out_has_a_default_that_its_class_takes() -> None:
    """A dataclass makes nothing of a field that it was not given but its default."""
    for kind, one in ASKED:
        if one.optional and not one.computed:
            assert one.default is not MISSING or AS_SENT in one.markers, (kind, one.name)


def test_a_rule_is_kept_once_however_many_bases_have_it() -> None:
    """Whoever inherits twice from one base would hear of one fault twice."""
    for kind in {kind for kind, _ in ASKED}:
        rules = shape_of(kind).rules
        assert len(set(rules)) == len(rules), kind


def test_every_pointer_that_stands_elsewhere_is_no_field_of_its_own() -> None:
    for kind in {kind for kind, _ in ASKED}:
        assert shape_of(kind).elsewhere.keys().isdisjoint(one.wire for one in members(kind)), kind


def test_nothing_is_declared_that_python_does_not_see() -> None:
    """Beside `members`: every field whose type is Annotated, by typing.get_type_hints alone."""
    for kind in {kind for kind, _ in ASKED}:
        hints = get_type_hints(kind, include_extras=True)
        plain = [one.name for one in dataclasses.fields(kind) if hasattr(hints[one.name], "__metadata__")]
        assert [one.name for one in members(kind) if not one.computed] == plain
