"""Declarations of the fields of requests and answers: once each, on the dataclass that has the field, in `Annotated`.

    capacity_ml: Annotated[float | None, volume(low=20.0, high=60_000.0), "Brimful."] = None

The type says what it is: a Literal is a choice, a tuple a list, a dataclass an object, and what may be None may be left
out. Beside the type stand its quantity and bounds, and one line that describes it. On the wire it goes by its name less
the unit of its quantity: `capacity`. A property may be declared on what it returns. What is not declared stays inside.
`service.api.wire` reads declarations; nothing here knows of JSON.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import MISSING, dataclass, field, fields, is_dataclass
from functools import cache, cached_property
from types import NoneType, UnionType
from typing import Annotated, Any, Literal, TypeVar, Union, get_args, get_origin, get_type_hints

from service.errors import Fault
from service.limits.requests import LARGEST

T = TypeVar("T")
SUFFIXES: dict[str, tuple[str, ...]] = {
    "volume": ("_ml",),
    "mass": ("_g",),
    "pressure": ("_bar_gauge", "_bar"),
    "temperature": ("_c",),
    "duration": ("_s",),
    "co2": ("_g_per_l",),
    "sugar": ("_g_per_l",),
    "length": ("_m",),
    "acidity": ("_meq_per_l",),
    "salt": ("_g_per_l",),
}
"""Kind of quantity -> how names in its base unit end; the wire has the unit beside the value instead."""


@dataclass(frozen=True)
class Bounds:
    """A number without a unit, from low (or over above) to high; None where an answer has no bound of its own."""

    low: float | None = None
    high: float | None = None
    above: float | None = None


@dataclass(frozen=True)
class Quantified(Bounds):
    """A quantity of one kind; bounds are in the base unit of the kind."""

    kind: str = ""


@dataclass(frozen=True)
class Words:
    """A text of bounded length, of a form that has a name where it is not any text."""

    longest: int
    shortest: int = 1
    form: Literal["", "locale", "time-zone"] = ""


@dataclass(frozen=True)
class Choice:
    """One of words that are data; a choice that the code knows is a Literal.

    otherwise: the fault of a value that is none of them, where there is more to say than the list
    """

    words: tuple[str, ...]
    otherwise: Callable[[object], Fault] | None = field(default=None, compare=False)


@dataclass(frozen=True)
class Items:
    """A list of so many items."""

    most: int
    least: int = 1


class Marker:
    """Marks a field as declared, and says how it is written where that is not plain from its type."""

    def __init__(self, meaning: str) -> None:
        self.meaning = meaning

    def __repr__(self) -> str:
        return self.meaning


DECLARED = Marker("declared")
INLINE = Marker("its own fields stand in place of the object")
SENTENCE = Marker("a template, filled in from the params of the same object")
PARAMS = Marker("what templates of the same object hold")
THREE_WAYS = Marker("titratable acidity, expressed as three things")
FIGURE = Marker("a value as a number, with its unit where it has one")
PROBLEM = Marker("a problem document that is written already")
JOINED = Marker("the sentences of these objects in one")
TERM = Marker("words of ours, told in the language of the answer")
WORDED = Marker("a sentence of ours without params, or a name of ours, told in the language of the answer")
AS_STATED = Marker("a moment with the fraction of a second that it was stated with")
TENTHS = Marker("told to a tenth, the ends of a band outward")
EXACT = Marker("a number to its last digit, as it is defined")
AS_SENT = Marker("the object as it was received; not a field of it")
Declared = Annotated[T, DECLARED]
"""A field whose type says everything about it."""
Inline = Annotated[T, INLINE]
"""An object whose fields stand in the object that has it."""


def _positive(kind: str, low: float | None, high: float, above: float | None) -> Quantified:
    over = 0.0 if low is None and above is None else above
    return Quantified(low, high, over, kind)


def _any(kind: str, low: float | None, high: float, above: float | None) -> Quantified:
    return Quantified(-LARGEST if low is None and above is None else low, high, above, kind)


Sentence = Annotated[str, SENTENCE]
"""A sentence whose {names} are filled in from the params of its object."""
Params = Annotated[Mapping[str, Any], PARAMS]
"""The parameters that the templates of an object hold."""
CODE = Words(100)
BASIS = Words(40)
KNOWN = "published, library, common-practice, estimate (or a fit to what is named), or unverified (from memory)."
"""Description of the basis of a referenced value, which is one of a list that may grow."""


def volume(*, low: float | None = None, high: float = LARGEST, above: float | None = None) -> Quantified:
    """A volume [ml]; over nothing unless stated."""
    return _positive("volume", low, high, above)


def mass(*, low: float | None = None, high: float = LARGEST, above: float | None = None) -> Quantified:
    """A mass [g]; over nothing unless stated."""
    return _positive("mass", low, high, above)


def amount(*, low: float | None = None, high: float = LARGEST, above: float | None = None) -> Quantified:
    """A volume [ml] or a mass [g]; over nothing unless stated."""
    return _positive("amount", low, high, above)


def duration(*, low: float | None = None, high: float = LARGEST, above: float | None = None) -> Quantified:
    """A time [s]; over nothing unless stated."""
    return _positive("duration", low, high, above)


def pressure(*, low: float | None = None, high: float = LARGEST, above: float | None = None) -> Quantified:
    """A pressure [bar]."""
    return _any("pressure", low, high, above)


def temperature(*, low: float | None = None, high: float = LARGEST, above: float | None = None) -> Quantified:
    """A temperature [degC]."""
    return _any("temperature", low, high, above)


def co2(*, low: float | None = None, high: float = LARGEST, above: float | None = None) -> Quantified:
    """A CO2 level [g/l]."""
    return _any("co2", low, high, above)


def length(*, low: float | None = None, high: float = LARGEST, above: float | None = None) -> Quantified:
    """A length [m]."""
    return _any("length", low, high, above)


def salt(*, low: float | None = None, high: float = LARGEST, above: float | None = None) -> Quantified:
    """Salt [g/l]."""
    return _any("salt", low, high, above)


def sugar(*, low: float = 0.0, high: float = 1200.0) -> Quantified:
    """Sugar [g/l], or degrees Brix."""
    return Quantified(low, high, None, "sugar")


def acidity(*, low: float = 0.0, high: float = 20_000.0) -> Quantified:
    """Titratable acidity [meq/l]."""
    return Quantified(low, high, None, "acidity")


def number(*, low: float = -LARGEST, high: float = LARGEST, above: float | None = None) -> Bounds:
    """A number without a unit."""
    return Bounds(None if above is not None else low, high, above)


whole = number
"""A whole number: the type of the field says so."""


def choice(words: Iterable[str], otherwise: Callable[[object], Fault] | None = None) -> Choice:
    """One of words that are data. otherwise: the fault of another, where there is more to say than the list"""
    return Choice(tuple(words), otherwise)


def items(most: int, *, least: int = 1) -> Items:
    """A list of so many items."""
    return Items(most, least)


def text(longest: int, *, shortest: int = 1) -> Words:
    """A text of so many characters."""
    return Words(longest, shortest)


LOCALE = Words(35, 2, "locale")
TIME_ZONE = Words(64, 1, "time-zone")
VOLUME, MASS, AMOUNT, DURATION = volume(), mass(), amount(), duration()
PRESSURE, TEMPERATURE, CO2, LENGTH = pressure(), temperature(), co2(), length()
SALT, SUGAR, ACIDITY = salt(), sugar(), acidity()
"""Quantities as answers have them, which no bound refuses."""

Rule = Callable[[Mapping[str, Any]], Iterable[Fault]]
"""Yields the faults of an object as it was sent, also of fields wrong in themselves; pointers are into the object."""


@dataclass(frozen=True)
class Shape:
    """The rules and the name of an object, beside its fields.

    name: in the OpenAPI document
    exactly_one: the object is a choice, and has exactly one of its fields
    elsewhere: fault of a field that callers look for here, in place of that of an unknown one
    asked: an answer holds it just as a request does
    """

    name: str
    rules: tuple[Rule, ...] = ()
    exactly_one: bool = False
    elsewhere: Mapping[str, Fault] = field(default_factory=dict)
    asked: bool = False


def shape(
    name: str = "",
    *,
    rules: Iterable[Rule] = (),
    exactly_one: bool = False,
    elsewhere: Iterable[Fault] = (),
    asked: bool = False,
) -> Callable[[type[T]], type[T]]:
    """Declare the rules and the name of an object, see `Shape`; the rules of its bases hold too."""

    def declare(cls: type[T]) -> type[T]:
        inherited = [rule for base in cls.__bases__ for rule in shape_of(base).rules]
        refused = {fault.pointer.removeprefix("/"): fault for fault in elsewhere}
        made = Shape(name or cls.__name__, (*inherited, *rules), exactly_one, refused, asked)
        cls.__shape__ = made  # type: ignore[attr-defined]
        return cls

    return declare


def shape_of(cls: type) -> Shape:
    """Return the shape of an object; of a class that declares none, its name and the rules of its bases."""
    own: Shape | None = cls.__dict__.get("__shape__")
    if own is not None:
        return own
    return Shape(cls.__name__, tuple(rule for base in cls.__bases__ for rule in shape_of(base).rules))


@dataclass(frozen=True)
class Member:
    """One declared field or property.

    wire: its name on the wire
    type: without None, and without what was declared beside it
    item: of a list, what is in it
    default: MISSING where a request must state it
    computed: a property, which no request has
    """

    name: str
    wire: str
    type: Any
    optional: bool
    default: Any
    computed: bool
    measure: Bounds | None = None
    words: Words | None = None
    choice: Choice | None = None
    items: Items | None = None
    item: "Member | None" = None
    markers: tuple[Marker, ...] = ()
    description: str = ""
    others: tuple[Any, ...] = ()

    @cached_property
    def kind(self) -> str | None:
        """Kind of quantity, None where it has no unit."""
        return self.measure.kind if isinstance(self.measure, Quantified) else None


@cache
def members(cls: Any) -> tuple[Member, ...]:
    """Return the declared members of a dataclass: its fields in their order, then its properties."""
    hints = get_type_hints(cls, include_extras=True)
    found = [
        _member(one.name, hints[one.name], _default(one), computed=False)
        for one in fields(cls)
        if get_origin(hints[one.name]) is Annotated
    ]
    return (*found, *_computed(cls))


def _computed(cls: type) -> Iterator[Member]:
    seen = set()
    for base in reversed(cls.__mro__):
        for name in base.__dict__:
            getter = getattr(cls, name, None)
            function = getattr(getter, "fget", None) or getattr(getter, "func", None)
            if name in seen or not isinstance(getter, property | cached_property):
                continue
            returned = get_type_hints(function, include_extras=True).get("return")
            if get_origin(returned) is Annotated:
                seen.add(name)
                yield _member(name, returned, MISSING, computed=True)


def _default(one: Any) -> Any:
    return one.default if one.default_factory is MISSING else one.default_factory


def _member(name: str, hint: Any, default: Any, *, computed: bool) -> Member:
    known, beside = hint, []
    if get_origin(hint) is Annotated:
        known, *beside = get_args(hint)
    optional = False
    if get_origin(known) in (Union, UnionType) and NoneType in get_args(known):
        optional = True
        rest = [one for one in get_args(known) if one is not NoneType]
        known = rest[0] if len(rest) == 1 else Union[tuple(rest)]  # noqa: UP007 - built at run time
        if get_origin(known) is Annotated:  # declared under a name, and here it may be left out
            known, *inner = get_args(known)
            beside = [*inner, *beside]
    if isinstance(known, TypeVar):
        raise TypeError(f"{name} declares no type")
    item = None
    if get_origin(known) in (tuple, frozenset) or _is_sequence(known):
        item = _member(name, get_args(known)[0], MISSING, computed=computed)
    picked: dict[type, Any] = {}
    markers, others, line = [], [], ""
    for one in beside:
        if isinstance(one, str):
            line = one
        elif isinstance(one, Marker):
            markers.append(one)
        elif isinstance(one, Bounds | Words | Choice | Items):
            picked[Bounds if isinstance(one, Bounds) else type(one)] = one
        else:
            others.append(one)
    measure = picked.get(Bounds)
    kind = measure.kind if isinstance(measure, Quantified) else item.kind if item is not None else None
    return Member(
        name, _wire_name(name, kind), known, optional, default, computed, measure, picked.get(Words),
        picked.get(Choice), picked.get(Items), item, tuple(markers), line, tuple(others),
    )  # fmt: skip


def _is_sequence(known: Any) -> bool:
    return getattr(get_origin(known), "__name__", "") == "Sequence"


def _wire_name(name: str, kind: str | None) -> str:
    ends = SUFFIXES.get(kind or "", ())
    wire = next((name.removesuffix(end) for end in ends if name.endswith(end)), name)
    return wire.removesuffix("_")  # of a name that is a word of Python


def is_shape(kind: Any) -> bool:
    """Tell whether a type is a dataclass with declared members."""
    return isinstance(kind, type) and is_dataclass(kind) and bool(members(kind))
